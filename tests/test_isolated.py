"""What runs is what is installed: nothing of the current folder, nothing that others may have put into the cache."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tablesim.physics import jit

CONSOLE = "import sys; del sys.path[0]; from tablesim.cli import main; main()"  # as the console script starts it
posix = pytest.mark.skipif(os.name != "posix", reason="folders have owners and modes the POSIX way")
compiling = pytest.mark.skipif(not jit.wanted(), reason="plain Python was asked for")


def trap(folder: Path, *modules: str) -> Path:
    """Put modules into a folder that leave a mark in it when they run; the mark is returned."""
    mark = folder / "ran"
    for name in modules:
        (folder / f"{name}.py").write_text(f"open({str(mark)!r}, 'a').write({name!r})\n")
    return mark


def in_folder(folder: Path, *command: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command, cwd=folder, capture_output=True, text=True, errors="replace", check=False, stdin=subprocess.DEVNULL,
        env={**os.environ, **environment},
    )  # fmt: skip


@pytest.mark.parametrize("module", ["tablesim.view.answers.serving", "tablesim.physics.jit"])
def test_helpers_are_started_apart_from_the_current_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, module: str
) -> None:
    mark = trap(tmp_path, "pickle", "numpy", "numba", "platformdirs", "tablesim")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(jit.PLAIN_ENV, "1")
    monkeypatch.setenv(jit.CACHE_ENV, str(tmp_path / "a-file" / "inside"))
    (tmp_path / "a-file").touch()
    started: list[list[str]] = []

    class Noted(subprocess.Popen):  # type: ignore[type-arg]
        def __init__(self, command: list[str], **how: object) -> None:
            started.append(command)
            super().__init__(command, **how)  # type: ignore[call-overload]

    monkeypatch.setattr(subprocess, "Popen", Noted)
    start(module, monkeypatch)

    assert [module in command for command in started] == [True]
    done = in_folder(tmp_path, *started[0])
    assert not mark.exists(), done.stderr


def start(module: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Have the helper started that runs a module."""
    if module == "tablesim.physics.jit":
        monkeypatch.setattr(jit, "wanted", lambda: True)
        jit.prepare()
        return
    from tablesim.view.answers.worker import Helper

    Helper().stop()


def test_a_helper_runs_the_very_package_that_starts_it(tmp_path: Path) -> None:
    """Also from a source tree that is not installed, in whose folder other modules lie."""
    mark = trap(tmp_path, "pickle")
    package = tmp_path / "tablesim"
    for name in ("__init__.py", "physics/__init__.py", "physics/jit.py"):
        (package / name).parent.mkdir(exist_ok=True)
        (package / name).write_bytes((Path(jit.__file__).parents[1] / name).read_bytes())
    (package / "physics" / "told.py").write_text("import pickle, tablesim; print(tablesim.__file__)")
    code = (
        "import sys; sys.path.insert(0, ''); from tablesim.physics import jit;"
        "print(*jit.helper_command('x')[:-1], sep='\\n')"
    )
    command = in_folder(tmp_path, sys.executable, "-P", "-c", code).stdout.split("\n")[:-1]
    done = in_folder(tmp_path, *command, "tablesim.physics.told")

    assert done.stdout.strip() == str(package / "__init__.py"), done.stderr
    assert not mark.exists()


@pytest.mark.parametrize("how", [("-P", "-m", "tablesim"), ("-m", "tablesim"), ("-c", CONSOLE)])
def test_a_command_imports_nothing_of_the_current_folder(tmp_path: Path, how: tuple[str, ...]) -> None:
    """``python -m tablesim`` too, but for what Python itself loads from there before it comes to us."""
    mark = trap(tmp_path, "numpy", "pickle", "pydantic", "typer", "rich", "platformdirs")
    done = in_folder(tmp_path, sys.executable, *how, "sweep", "two-cues", "--over", "pace=2", TABLESIM_PLAIN="1")

    assert done.returncode == 0, done.stderr
    assert not mark.exists()


@posix
@compiling
@pytest.mark.parametrize("open_to_all", ["root", "directory", "above"])
def test_a_cache_that_others_may_write_into_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, open_to_all: str
) -> None:
    root = tmp_path / "above" / "cache"
    monkeypatch.setenv(jit.CACHE_ENV, str(root))
    directory = jit.cache_directory()
    directory.mkdir(mode=0o700, parents=True)
    (directory / "complete").touch()
    assert jit.is_prepared()
    folder = {"root": root, "directory": directory, "above": root.parent}[open_to_all]
    folder.chmod(0o777)

    assert not jit.is_prepared()
    assert not jit.prepare()
    assert jit._compiled_once.__wrapped__() is None
    assert str(folder) in (jit.refusal() or "")
    folder.chmod(0o1777)  # sticky, as /tmp is: others can neither replace nor remove what is ours
    assert (jit.refusal() is None) == (folder != directory)


@posix
@compiling
def test_a_cache_of_somebody_else_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(jit.CACHE_ENV, str(tmp_path / "cache"))
    jit.cache_directory().mkdir(mode=0o700, parents=True)
    (jit.cache_directory() / "complete").touch()
    monkeypatch.setattr(os, "geteuid", lambda: tmp_path.stat().st_uid + 1)

    assert not jit.is_prepared()


@posix
@compiling
def test_a_refused_cache_is_one_hint_and_plain_python(tmp_path: Path) -> None:
    tmp_path.chmod(0o777)
    done = in_folder(tmp_path, sys.executable, "-P", "-m", "tablesim", "sweep", "two-cues", "--over", "pace=2",
                     TABLESIM_CACHE=str(tmp_path))  # fmt: skip

    assert done.returncode == 0
    assert done.stderr.count("\n") == 1
    assert "may write into it" in done.stderr
    assert jit.CACHE_ENV in done.stderr
    assert list(tmp_path.iterdir()) == []


@posix
@compiling
def test_the_window_says_why_it_is_slow(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, window: Callable[..., Any]
) -> None:
    w = window()
    (tmp_path / "cache").mkdir()
    (tmp_path / "cache").chmod(0o777)
    monkeypatch.setenv(jit.CACHE_ENV, str(tmp_path / "cache"))
    w.app.worker.engine = "plain"
    w.app.frame()
    assert w.app.message.startswith(f"Answers take longer: {tmp_path / 'cache'}: others")


@posix
@compiling
def test_the_cache_is_made_for_its_user_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(jit.CACHE_ENV, str(tmp_path / "cache"))
    monkeypatch.setattr(jit, "_load_registry", dict)
    jit._build(lambda name: None)

    assert {path.stat().st_mode & 0o777 for path in (tmp_path / "cache", jit.cache_directory())} == {0o700}
    assert jit.is_prepared()


def test_another_installation_has_a_cache_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """numba finds its files by the path of the source and by its own version: what one left is of no use to another."""
    here = jit.cache_directory()
    copy = tmp_path / "physics"
    copy.mkdir()
    for path in Path(jit.__file__).parent.glob("*.py"):
        (copy / path.name).write_bytes(path.read_bytes())
        os.utime(copy / path.name, ns=(path.stat().st_atime_ns, path.stat().st_mtime_ns))
    with monkeypatch.context() as elsewhere:
        elsewhere.setattr(jit, "__file__", str(copy / "jit.py"))
        assert jit.cache_directory() != here
    with monkeypatch.context() as another:
        another.setattr(jit, "_numba_version", lambda: "0.0")
        assert jit.cache_directory() != here

    assert jit.cache_directory() == here
