"""Killed at any moment: a file is the old or the new one, whole.  TABLESIM_KILLS=200 for the long run."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from tablesim.model.scenario import load, save
from tablesim.resources import open_scenario

KILLS = int(os.environ.get("TABLESIM_KILLS", "9"))
SEED = int(os.environ.get("TABLESIM_SEED", "20261125"))

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals are sent the POSIX way")

SAVING = """
import sys
from tablesim.model.scenario import save
from tablesim.resources import open_scenario
one, two = open_scenario("two-cues"), open_scenario("opening-break")
print("ready", flush=True)
while True:
    save(one, sys.argv[1]); save(two, sys.argv[1])
"""
KEEPING = """
import sys
from pathlib import Path
from tablesim.resources import open_scenario
from tablesim.view.document.document import Work
from tablesim.view.document.places import Places
places = Places(Path(sys.argv[1]))
one, two = open_scenario("two-cues"), open_scenario("opening-break")
print("ready", flush=True)
while True:
    places.keep_unsaved(Work(one)); places.keep_unsaved(Work(two))
"""
EDITING = """
import random, sys, time
from pathlib import Path
import os
os.environ["SDL_VIDEODRIVER"] = "dummy"
import pygame
from tablesim.resources import open_scenario
from tablesim.view.window.app import App
from tablesim.view.document.places import Places
from tablesim.view.window.run import start_display
from tablesim.view.answers.worker import Solver
rng = random.Random(sys.argv[2])
app = App(start_display((800, 500)), Places(Path(sys.argv[1])), open_scenario("two-cues"), worker=Solver())
edit, due = 0, 0.0
print("ready", flush=True)
while True:
    if time.monotonic() >= due:
        edit, due = edit + 1, time.monotonic() + rng.uniform(0.02, 0.9)
        app.editor.rename(f"edit {edit}")
        print(edit, time.monotonic(), flush=True)
    app.events(pygame.event.get())
    app.frame()
    time.sleep(0.01)
"""
COUNTING = """
import sys
from pathlib import Path
from tablesim.errors import FileChanged
from tablesim.model.scenario import load
from tablesim.view.document.document import Document
file, left = Path(sys.argv[1]), int(sys.argv[2])
document = Document(load(file), file)
while left:
    document.read(file)
    count = int(document.scenario.title.split()[0]) + 1
    document.change(document.scenario.change(title=f"{count} by {sys.argv[3]}"), "count")
    try:
        document.save()
    except FileChanged:
        continue
    left -= 1
"""
FILMING = """
import sys
from tablesim.output.clip import ClipWishes, clip
from tablesim.resources import open_scenario
scenario = open_scenario("throw-at-thirty")
print("ready", flush=True)
while True:
    clip(scenario, sys.argv[1], ClipWishes(size=(320, 240), seconds=0.4))
"""


def killed(code: str, argument: Path, after_s: float) -> None:
    """Run code in a process of its own and kill it some time after it is ready."""
    process = subprocess.Popen([sys.executable, "-c", code, str(argument)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline().strip() == "ready"
    time.sleep(after_s)
    process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()


def test_a_file_being_saved_is_whole(tmp_path: Path) -> None:
    rng, file = random.Random(SEED), tmp_path / "shot.json"
    known = [open_scenario("two-cues"), open_scenario("opening-break")]
    save(known[0], file)
    for _ in range(KILLS):
        killed(SAVING, file, rng.uniform(0.0, 0.03))
        assert load(file) in known


def test_work_kept_aside_is_whole_and_offered(tmp_path: Path) -> None:
    from tablesim.view.document.places import Places

    rng = random.Random(SEED + 1)
    known = [open_scenario("two-cues"), open_scenario("opening-break")]
    for _ in range(KILLS):
        killed(KEEPING, tmp_path, rng.uniform(0.001, 0.03))
        left, damaged = Places(tmp_path).left_behind()
        assert all(one.work.scenario in known for one in left)
        assert not damaged
    assert Places(tmp_path).left_behind()[0]


def test_of_steady_editing_at_most_five_seconds_are_missing(tmp_path: Path) -> None:
    """A window, edited again and again until it is killed: what is offered lacks only edits of the last seconds."""
    from tablesim.view.document.places import Places

    def edited(k: int) -> None:
        rng, root = random.Random(SEED + 3 + k), tmp_path / str(k)
        command = [sys.executable, "-c", EDITING, str(root), str(SEED + k)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout is not None
            while process.stdout.readline().strip() != "ready":
                pass
            time.sleep(rng.uniform(0.3, 9.0))
            process.kill()
            killed_at = time.monotonic()
            lines = [line.split() for line in process.stdout]
        done = {int(line[0]): float(line[1]) for line in lines if len(line) == 2}
        left, _ = Places(root).left_behind()
        kept = int(left[0].work.scenario.title.split()[1]) if left else 0
        missing = [killed_at - at for edit, at in done.items() if edit > kept]
        assert max(missing, default=0.0) < 5.0, f"seed {SEED + k}: {missing}"
        if killed_at - min(done.values()) > 5.0:
            assert kept

    with ThreadPoolExecutor(3) as together:
        list(together.map(edited, range(max(3, KILLS // 3 if KILLS < 100 else KILLS))))


def test_two_programs_count_in_one_file(tmp_path: Path) -> None:
    """Each reads, adds one and saves, or is told that the file has changed: no count is lost."""
    file, rounds = tmp_path / "count.json", max(10, KILLS // 2)
    save(open_scenario("two-cues").change(title="0"), file)
    command = [sys.executable, "-c", COUNTING, str(file), str(rounds)]
    both = [subprocess.Popen([*command, name]) for name in ("one", "two")]
    assert [one.wait() for one in both] == [0, 0]
    assert load(file).title.split()[0] == str(2 * rounds)


def test_a_clip_is_whole_or_not_there(tmp_path: Path) -> None:
    import av

    rng, file = random.Random(SEED + 2), tmp_path / "shot.mp4"
    for _ in range(max(2, KILLS // 3)):
        killed(FILMING, file, rng.uniform(0.05, 0.8))
        if file.exists():
            with av.open(str(file)) as film:
                assert sum(1 for _ in film.decode(video=0)) == 24


def test_damaged_settings_and_leavings_cost_nothing(tmp_path: Path) -> None:
    from tablesim.view.document.places import Places

    places = Places(tmp_path)
    for text in ("", "{", "[]", "null", json.dumps({"scale": 99, "recent": [1, 2], "look": 5}), "\x00"):
        (tmp_path / "settings.json").write_text(text)
        assert places.settings().scale in (1.0, 2.0)
        (tmp_path / "unsaved-999999999.json").write_text(text)
        left, damaged = places.left_behind()
        assert left == []
        assert [kept.name for kept, _ in damaged] == ["unsaved-999999999.json"]


def test_kept_work_that_cannot_be_read_is_told_and_stays(window: Callable[..., Any], tmp_path: Path) -> None:
    from tablesim.view.document.document import Work
    from tablesim.view.document.places import Places

    places = Places(tmp_path / "kept")
    places.keep_unsaved(Work(open_scenario("two-cues"), Path("a.json")))
    places.release()
    text = places.unsaved_file.read_text(encoding="utf-8").replace("The same shot", "The\\u0000 same")
    places.unsaved_file.write_text(text, encoding="utf-8")
    w = window()
    assert w.app.message.startswith(
        f"Unsaved work was left behind in {places.unsaved_file} and cannot be read: texts must"
    )
    assert places.unsaved_file.is_file()


@pytest.mark.skipif(os.name != "posix", reason="paths are written the POSIX way")
def test_a_place_that_cannot_be_written_costs_memory_only() -> None:
    from tablesim.view.document.places import Places, Settings

    places = Places(Path("/dev/null/nowhere"))
    places.keep_settings(Settings())
    assert places.settings() == Settings()
    assert places.left_behind() == ([], [])
