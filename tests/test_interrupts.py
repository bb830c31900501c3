"""Ctrl-C at any moment of a command: 130, one line, nothing half-written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import IO

import pytest

from tablesim.interrupts import EXIT_CODE, WORDS

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals are sent the POSIX way")

SWEEP = ["sweep", "two-cues", "--over", "pace=1:6:0.01", "--over", "side=-0.4:0.4:0.005", "--csv"]
CLIP = ["clip", "two-cues", "--seconds", "60", "--speed", "1/50"]


def start(arguments: list[str], *options: str, err: int | IO[bytes] = subprocess.PIPE) -> subprocess.Popen[bytes]:
    """The command in a process of its own, with SIGINT as in a terminal: where tests run it may be ignored."""
    return subprocess.Popen(
        [sys.executable, *options, "-m", "tablesim", *arguments], stdout=subprocess.PIPE, stderr=err,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip


def interrupted(process: subprocess.Popen[bytes]) -> tuple[int, str]:
    """Exit code, and what is still said on stderr, of a command that gets a Ctrl-C now."""
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=60)
    return process.returncode, (said or b"").decode()


def rest_of(terminal: int) -> bytes:
    """What is still said on a terminal, until no one holds its other end."""
    said = b""
    with suppress(OSError):  # so Linux tells the end
        while part := os.read(terminal, 4096):
            said += part
    return said


def test_of_a_clip_nothing_is_left(tmp_path: Path) -> None:
    """Once the encoder has written: its file lies beside the one meant."""
    process = start([*CLIP, str(tmp_path / "a.mp4")])
    while not any(file.stat().st_size for file in tmp_path.iterdir()):
        assert process.poll() is None
        time.sleep(0.01)

    assert interrupted(process) == (EXIT_CODE, WORDS)
    assert list(tmp_path.iterdir()) == []


def test_of_a_sweep_nothing_is_left_and_the_terminal_has_its_cursor_back(tmp_path: Path) -> None:
    """Once its progress bar tells of solved cells, which it does in a terminal."""
    ours, theirs = os.openpty()
    with os.fdopen(theirs, "wb") as terminal:
        process = start([*SWEEP, str(tmp_path / "cells.csv")], err=terminal)
    said = b""
    try:
        while b"0:" not in said:  # the time that is left is known once some cells are done
            said += os.read(ours, 4096)
        process.send_signal(signal.SIGINT)
        said += rest_of(ours)
    finally:
        os.close(ours)

    process.communicate(timeout=60)
    assert process.returncode == EXIT_CODE
    assert said.decode().endswith(WORDS.replace("\n", "\r\n"))
    assert said.rindex(b"\x1b[?25h") > said.rindex(b"\x1b[?25l")
    assert b"Traceback" not in said
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("arguments", "module"),
    [
        (SWEEP, "difflib"),  # the first thing loaded once Ctrl-C is heard
        (SWEEP, "typing_extensions"),
        (SWEEP, "numpy._core._exceptions"),  # within numpy's extension module
        (SWEEP, "tablesim.study.shooter"),
        (CLIP, "matplotlib"),
        (CLIP, "PIL.Image"),
    ],
)
def test_while_modules_are_loaded(arguments: list[str], module: str, tmp_path: Path) -> None:
    """The interpreter itself tells of each module that it has loaded."""
    process = start([*arguments, str(tmp_path / ("a.csv" if arguments is SWEEP else "a.mp4"))], "-X", "importtime")
    assert process.stderr is not None
    while (line := process.stderr.readline().decode()).rpartition("|")[2].strip() != module:
        assert line, f"{module} is not loaded any more: name another"
    code, said = interrupted(process)

    assert code == EXIT_CODE
    assert [line + "\n" for line in said.splitlines() if not line.startswith("import time:")] == [WORDS]
    assert list(tmp_path.iterdir()) == []


def ended(code: str, folder: Path) -> tuple[int, str, str]:
    """Exit code, stdout and stderr of a piece of code under the command's care; ``strike()`` is a Ctrl-C."""
    whole = (
        "import os, signal, sys, time\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "from tablesim.interrupts import hand_over, obeyed, unwound\n"
        "from tablesim.model.whole import aside\n"
        "def strike():\n os.kill(os.getpid(), signal.SIGINT); time.sleep(0.1)\n"
        f"{code}"
    )
    done = subprocess.run([sys.executable, "-c", whole], cwd=folder, capture_output=True, text=True, timeout=60)
    return done.returncode, done.stdout, done.stderr


LOST = """
with obeyed(), aside("a.txt") as file:
    file.write_text("half")
    try:
        {strike}
    except BaseException:
        pass
"""
FINALIZER = """
class Sly:
    def __del__(self):
        strike()
with obeyed(), aside("a.txt") as file:
    Sly()
"""
TWICE = """
with obeyed(), aside("a.txt") as file:
    try:
        strike()
    finally:
        strike()
"""
EXEC = "with obeyed(), unwound():\n exec('strike()')"
TRIED = "\n{0}try:\n{0} strike()\n{0}except BaseException:\n{0} pass\n print('went on', flush=True)"
AT_ONCE = "with obeyed():" + TRIED.format(" ")
AT_THE_END = "with obeyed():\n with unwound():" + TRIED.format("  ")


@pytest.mark.parametrize("code", [LOST.format(strike="strike()"), FINALIZER, TWICE, EXEC, AT_ONCE, AT_THE_END])
def test_one_that_is_lost_is_insisted_on(code: str, tmp_path: Path) -> None:
    assert ended(code, tmp_path) == (EXIT_CODE, "", WORDS)
    assert list(tmp_path.iterdir()) == []


def test_without_one_the_file_is_written(tmp_path: Path) -> None:
    assert ended(LOST.format(strike="pass"), tmp_path) == (0, "", "")
    assert [file.name for file in tmp_path.iterdir()] == ["a.txt"]


def test_what_comes_after_the_end_changes_nothing(tmp_path: Path) -> None:
    assert ended("with obeyed():\n pass\nstrike()", tmp_path) == (0, "", "")


def test_in_the_background_it_stays_ignored(tmp_path: Path) -> None:
    code = "with obeyed(), unwound():\n strike()\n print('done')"
    assert ended("signal.signal(signal.SIGINT, signal.SIG_IGN)\n" + code, tmp_path) == (0, "done\n", "")


def test_the_window_answers_for_itself(tmp_path: Path) -> None:
    code = "with obeyed():\n hand_over()\n try:\n  strike()\n except KeyboardInterrupt:\n  print('kept')"
    assert ended(code, tmp_path) == (0, "kept\n", "")


WINDOW = """
import os, signal
from tablesim.view.window import app, run

frame = app.App.frame

def interrupted(self):
    self.editor.set_pace(3.0)
    painted = frame(self)
    os.kill(os.getpid(), signal.SIGINT)
    return painted

app.App.frame = interrupted
run.run("two-cues")
"""


def test_the_window_keeps_its_work(tmp_path: Path) -> None:
    """A Ctrl-C in its terminal, while something is unsaved."""
    places = {name: str(tmp_path) for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "HOME")}
    done = subprocess.run(
        [sys.executable, "-c", WINDOW], capture_output=True, timeout=120,
        env={**os.environ, **places, "SDL_VIDEODRIVER": "dummy"},
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip

    assert done.returncode == EXIT_CODE
    assert b"Traceback" not in done.stderr
    kept = list(tmp_path.rglob("unsaved-*.json"))
    assert len(kept) == 1
    assert '"pace_m_s": 3.0' in kept[0].read_text(encoding="utf-8")
