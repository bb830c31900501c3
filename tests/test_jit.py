"""One source, two ways to run it: caching, healing, and doing without."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tablesim.physics import jit

pytestmark = pytest.mark.skipif(not jit.wanted(), reason="plain Python was asked for")
SMALL = "from tablesim.physics import jit; print(jit.compiled() is not None)"


def run(code: str, **environment: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env={**os.environ, **environment}, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_helper_fills_the_cache_once() -> None:
    jit.prepare()
    named: list[str] = []

    assert jit.prepare(named.append)
    assert named == []  # nothing left to do


def test_cache_directory_changes_with_the_sources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """numba does not notice an edited callee in another file: the directory's name must."""
    before = jit.source_hash()
    copy = tmp_path / "physics"
    copy.mkdir()
    for path in Path(jit.__file__).parent.glob("*.py"):
        (copy / path.name).write_bytes(path.read_bytes())
    monkeypatch.setattr(jit, "__file__", str(copy / "jit.py"))
    assert jit.source_hash() == before

    (copy / "cloth.py").write_text((copy / "cloth.py").read_text() + "\n# edited\n")
    assert jit.source_hash() != before


def test_damaged_cache_heals_itself(tmp_path: Path) -> None:
    """A power cut can truncate numba's files; they are wiped and made again."""
    code = (
        "import tablesim.physics.jit as j; j.KERNEL_MODULES = ('cloth',);"
        "import importlib; importlib.import_module('tablesim.physics.cloth');"
        "k = j.compiled(); print(k.sidespin_after(10.0, 5.0, 1.0))"
    )
    assert run(code, TABLESIM_CACHE=str(tmp_path)) == "5.0"
    damaged = [p for p in tmp_path.rglob("*") if p.suffix in (".nbi", ".nbc")]
    assert damaged
    for path in damaged:
        path.write_bytes(path.read_bytes()[:20])

    assert run(code, TABLESIM_CACHE=str(tmp_path)) == "5.0"


def test_unwritable_cache_means_plain_python(tmp_path: Path) -> None:
    blocker = tmp_path / "a-file"
    blocker.write_text("not a directory")

    assert run(SMALL, TABLESIM_CACHE=str(blocker / "inside")) == "False"


def test_plain_python_on_request() -> None:
    assert run(SMALL, TABLESIM_PLAIN="1") == "False"


def test_kernels_are_never_half_registered() -> None:
    with pytest.raises(ValueError, match="already registered"):

        @jit.kernel
        def quartic(x: float) -> float:
            return x
