"""Killed at any moment: a file is the old or the new one, whole.  TABLESIM_KILLS=200 for the long run."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

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
from tablesim.view.places import Places
places = Places(Path(sys.argv[1]))
one, two = open_scenario("two-cues"), open_scenario("opening-break")
print("ready", flush=True)
while True:
    places.keep_unsaved(one, None); places.keep_unsaved(two, None)
"""
FILMING = """
import sys
from tablesim.output.clip import clip
from tablesim.resources import open_scenario
scenario = open_scenario("throw-at-thirty")
print("ready", flush=True)
while True:
    clip(scenario, sys.argv[1], size=(320, 240), seconds=0.4)
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
    from tablesim.view.places import Places

    rng = random.Random(SEED + 1)
    known = [open_scenario("two-cues"), open_scenario("opening-break")]
    for _ in range(KILLS):
        killed(KEEPING, tmp_path, rng.uniform(0.001, 0.03))
        for work in Places(tmp_path).left_behind():
            assert work.scenario in known
    assert Places(tmp_path).left_behind()


def test_a_clip_is_whole_or_not_there(tmp_path: Path) -> None:
    import av

    rng, file = random.Random(SEED + 2), tmp_path / "shot.mp4"
    for _ in range(max(2, KILLS // 3)):
        killed(FILMING, file, rng.uniform(0.05, 0.8))
        if file.exists():
            with av.open(str(file)) as film:
                assert sum(1 for _ in film.decode(video=0)) == 24


def test_damaged_settings_and_leavings_cost_nothing(tmp_path: Path) -> None:
    from tablesim.view.places import Places

    places = Places(tmp_path)
    for text in ("", "{", "[]", "null", json.dumps({"scale": 99, "recent": [1, 2], "look": 5}), "\x00"):
        (tmp_path / "settings.json").write_text(text)
        assert places.settings().scale in (1.0, 2.0)
        (tmp_path / "unsaved-999999999.json").write_text(text)
        assert places.left_behind() == []


@pytest.mark.skipif(os.name != "posix", reason="paths are written the POSIX way")
def test_a_place_that_cannot_be_written_costs_memory_only() -> None:
    from tablesim.view.places import Places, Settings

    places = Places(Path("/dev/null/nowhere"))
    places.keep_settings(Settings())
    assert places.settings() == Settings()
    assert places.left_behind() == []
