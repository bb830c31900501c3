"""The program as a person starts it: a real window under Xvfb, driven from outside with xdotool.

Needs the commands Xvfb, xdotool and xwininfo; TABLESIM_NEEDS_SCREEN=1 makes
their absence a failure instead of a skip.
"""

from __future__ import annotations

import contextlib
import math
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from window import Driver

from tablesim.model.lesson import load_lesson
from tablesim.model.scenario import load, save
from tablesim.physics import jit
from tablesim.resources import open_scenario
from tablesim.study.predict import predict

COMMANDS = ("Xvfb", "xdotool", "xwininfo")
SIZE = (1280, 800)
MISSING = [c for c in COMMANDS if shutil.which(c) is None]


@pytest.fixture
def screen() -> Iterator[dict[str, str]]:
    """The environment of a virtual screen."""
    if MISSING:
        if os.environ.get("TABLESIM_NEEDS_SCREEN"):
            pytest.fail(f"missing commands: {', '.join(MISSING)}")
        pytest.skip(f"needs {', '.join(MISSING)}")
    read, write = os.pipe()
    # -noreset: else the server begins anew when its last client leaves and turns away whoever comes meanwhile;
    # with xwininfo coming and going, that was now and then the program.
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(write), "-screen", "0", "1400x900x24", "-nolisten", "tcp", "-noreset"],
        pass_fds=(write,), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(write)
    with os.fdopen(read) as pipe:
        number = pipe.readline().strip()
    environment = {k: v for k, v in os.environ.items() if k not in ("SDL_VIDEODRIVER", "WAYLAND_DISPLAY")}
    yield {**environment, "DISPLAY": f":{number}", "SDL_VIDEODRIVER": "x11", "SDL_FRAMEBUFFER_ACCELERATION": "0"}
    server.terminate()
    server.wait(10)


class Hand:
    """A hand on the mouse and keys of the virtual screen."""

    def __init__(self, environment: dict[str, str]) -> None:
        self.environment = environment
        self.left, self.top = 0, 0

    def do(self, *words: object) -> str:
        """Run xdotool."""
        return subprocess.run(
            ["xdotool", *(str(w) for w in words)], env=self.environment, check=True, capture_output=True, text=True
        ).stdout

    def find(self, title: str, program: subprocess.Popen[bytes], seconds: float = 60.0) -> None:
        """Wait for the program's window and remember where it is."""
        until = time.monotonic() + seconds
        while program.poll() is None and time.monotonic() < until:
            tree = subprocess.run(["xwininfo", "-root", "-tree"], env=self.environment, capture_output=True, text=True)
            line = next((ln for ln in tree.stdout.splitlines() if title in ln), None)
            found = re.search(r"\+(-?\d+)\+(-?\d+)$", line.strip()) if line else None
            if line and found:
                self.left, self.top = int(found[1]), int(found[2])
                self.do("windowfocus", line.split()[0])
                return
            time.sleep(0.1)
        pytest.fail(f"no window titled {title!r}, the program's exit code is {program.returncode}")

    def click(self, at: tuple[int, int]) -> None:
        """Go there, press and let go."""
        self.do("mousemove", self.left + at[0], self.top + at[1])
        time.sleep(0.1)
        self.do("click", 1)
        time.sleep(0.2)

    def drag(self, start: tuple[int, int], end: tuple[int, int]) -> None:
        """Press, move in steps, let go."""
        self.do("mousemove", self.left + start[0], self.top + start[1], "mousedown", 1)
        for k in range(1, 11):
            at = [round(a + (b - a) * k / 10) for a, b in zip(start, end, strict=True)]
            self.do("mousemove", self.left + at[0], self.top + at[1])
            time.sleep(0.03)
        self.do("mouseup", 1)


@contextlib.contextmanager
def started(screen: dict[str, str], folder: Path, file: Path) -> Iterator[Hand]:
    """The program with a file open, and a hand on it; it has to have ended well by itself at the end."""
    jit.prepare()
    home = {"HOME": str(folder), "XDG_CONFIG_HOME": str(folder / "c"), "XDG_STATE_HOME": str(folder / "s")}
    cache = {"TABLESIM_CACHE": str(jit.cache_directory().parent)}
    said = folder / "said.txt"
    with said.open("wb") as out:
        program = subprocess.Popen(
            [sys.executable, "-m", "tablesim", str(file)],
            env={**screen, **home, **cache}, stdout=out, stderr=subprocess.STDOUT,
        )  # fmt: skip
    try:
        hand = Hand(screen)
        hand.find("The same shot with two cues", program)
        time.sleep(3.0)
        yield hand
        program.wait(20)
    finally:
        program.kill()
        program.wait(20)
        print(said.read_text("utf-8"))  # shown with a failure
    assert program.returncode == 0


def test_a_person_aims_corrects_and_saves(screen: dict[str, str], tmp_path: Path) -> None:
    file = tmp_path / "shot.json"
    save(open_scenario("two-cues"), file)
    before = load(file)
    with started(screen, tmp_path, file) as hand:
        hand.drag((400, 550), (430, 500))  # on the cloth: turns the cue
        hand.do("key", "plus", "key", "plus", "key", "d")
        time.sleep(1.5)
        hand.do("key", "u")
        time.sleep(0.5)
        hand.do("key", "ctrl+s")
        time.sleep(1.0)
        hand.do("key", "ctrl+q")
    after = load(file)
    take = after.takes[0]
    assert take.pace_m_s == pytest.approx(before.takes[0].pace_m_s + 0.1)
    assert take.tip.right == pytest.approx(before.takes[0].tip.right + 0.02)
    assert take.aim.heading_deg is not None
    assert predict(after, take.name)[0].target.outcome == "potted"


def test_a_lesson_is_staged_by_numbers_kept_up_close_and_shown_slowly(
    screen: dict[str, str], tmp_path: Path, window: Callable[..., Driver]
) -> None:
    """Two feet and eight takes, the lenses over the shot, the table of takes copied, full screen at a tenth."""
    file, lesson = tmp_path / "shot.json", tmp_path / "lesson.json"
    save(open_scenario("two-cues"), file)
    twin = window(size=SIZE)  # the same window, to know where its controls are
    twin.app.open_page("Layout")
    twin.settle()
    field = twin.control("staged distance").rect
    with started(screen, tmp_path, file) as hand:
        hand.do("key", "F2")
        time.sleep(0.5)
        hand.click((field.centerx, field.centery))
        hand.do("key", "ctrl+a", "type", "2 ft")
        hand.do("key", "Return")
        time.sleep(0.5)
        hand.do("key", "t", "key", "t", "key", "y")  # two takes more, all shown
        time.sleep(1.0)
        hand.do("key", "3", "key", "1")
        time.sleep(0.5)
        hand.do("key", "space", "key", "bracketleft", "key", "bracketleft", "key", "bracketleft")
        time.sleep(0.5)
        hand.do("key", "Escape")
        hand.do("key", "ctrl+k")
        time.sleep(0.5)
        hand.do("key", "ctrl+s")
        time.sleep(0.5)
        hand.do("key", "ctrl+a", "type", str(lesson))
        hand.do("key", "Return")
        time.sleep(1.0)
        hand.do("key", "F5")
        time.sleep(1.5)
        hand.do("key", "space")
        time.sleep(1.5)
        hand.do("key", "ctrl+q")
    (scene,) = load_lesson(lesson).scenes
    assert scene.scenario is not None
    (x, y), (u, v) = scene.scenario.balls["cue"], scene.scenario.balls["3"]
    assert math.hypot(x - u, y - v) == pytest.approx(2 * 0.3048, abs=1e-6)
    assert len(scene.scenario.takes) == 8
    assert len({scene.take, *scene.with_takes}) == 8
    assert scene.lens
    assert scene.closer is not None
    assert scene.speed == pytest.approx(0.1)
