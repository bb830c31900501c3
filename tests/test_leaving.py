"""Leaving in mid-work: nothing half-made stays, and nothing is lost."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from window import Driver

from tablesim.view.controls.keys import CTRL
from tablesim.view.pages.overlays import QuestionPage

Open = Callable[..., Driver]


def making(w: Driver, file: Path) -> None:
    """A long clip is being made, and its file is begun."""
    w.app.hand_out.wishes.speed, w.app.hand_out.wishes.length = "1/50", "40 s"
    w.app.hand_out.make("Clip (MP4)", file)
    until = time.monotonic() + 60.0
    while not list(file.parent.glob(f".{file.name}*")):
        assert time.monotonic() < until
        time.sleep(0.01)


def test_leaving_while_a_clip_is_made_is_asked_about_and_leaves_nothing(window: Open, tmp_path: Path) -> None:
    w = window()
    made = tmp_path / "made"
    made.mkdir()
    making(w, made / "a.mp4")
    w.key(pygame.K_q, CTRL)
    assert w.app.running
    assert isinstance(w.app.overlay, QuestionPage)
    w.key(pygame.K_ESCAPE)
    assert w.app.hand_out.job is not None
    assert not w.app.hand_out.job.stop.is_set()
    w.send(pygame.Event(pygame.QUIT))
    assert w.app.running
    w.press("Leave all the same")
    assert not w.app.running
    w.close()
    assert list(made.iterdir()) == []


WINDOW = """
import os, signal, sys
from pathlib import Path
from tablesim.interrupts import obeyed
from tablesim.view.window import app, run

frame, folder, number = app.App.frame, Path(sys.argv[1]), int(sys.argv[2])

def ended(self):
    painted = frame(self)
    if self.hand_out.job is None:
        self.hand_out.wishes.speed, self.hand_out.wishes.length = "1/50", "40 s"
        self.hand_out.make("Clip (MP4)", folder / "a.mp4")
        self.editor.set_pace(3.0)
    elif any(folder.iterdir()):
        os.kill(os.getpid(), number)
    return painted

app.App.frame = ended
with obeyed():
    run.run("two-cues")
"""


@pytest.mark.skipif(os.name != "posix", reason="signals are sent the POSIX way")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP", "SIGINT"])
def test_being_ended_by_the_system_leaves_no_half_a_clip_and_keeps_the_work(tmp_path: Path, name: str) -> None:
    number = int(getattr(signal, name))
    places = {place: str(tmp_path / "kept") for place in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "HOME")}
    made = tmp_path / "made"
    made.mkdir()
    done = subprocess.run(
        [sys.executable, "-c", WINDOW, str(made), str(number)], capture_output=True, timeout=120,
        env={**os.environ, **places, "SDL_VIDEODRIVER": "dummy"},
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip
    assert done.returncode == 128 + number
    assert b"Traceback" not in done.stderr
    assert list(made.iterdir()) == []
    assert len(list(tmp_path.rglob("unsaved-*.json"))) == 1


@pytest.mark.skipif(os.name != "posix", reason="signals are sent the POSIX way")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_clip_by_command_that_is_ended_leaves_nothing(tmp_path: Path, number: signal.Signals) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "tablesim", "clip", "two-cues", "--seconds", "60", "--speed", "1/50",
         str(tmp_path / "a.mp4")],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    while not any(file.stat().st_size for file in tmp_path.iterdir()):
        assert process.poll() is None
        time.sleep(0.01)
    process.send_signal(number)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 128 + number
    assert b"Traceback" not in said
    assert list(tmp_path.iterdir()) == []
