"""A small part of the long runs: random shots, mutated files, storms of input events.  Seeds may be changed freely."""

from __future__ import annotations

import json
import os
import random
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pygame
import pytest
import soak
from window import Driver

from tablesim.errors import TablesimError
from tablesim.model.lesson import lesson_from_json
from tablesim.model.scenario import from_json, to_json
from tablesim.physics import jit
from tablesim.resources import ready_scenarios

SEED = int(os.environ.get("TABLESIM_SEED", "20261125"))
FILES = int(os.environ.get("TABLESIM_MUTANTS", "1500"))
EVENTS = int(os.environ.get("TABLESIM_STORM", "1200"))
SHOTS = int(os.environ.get("TABLESIM_SHOTS", "1500"))


@pytest.mark.skipif(not jit.wanted(), reason="plain Python takes a hundred times as long")
def test_random_shots_break_no_invariant() -> None:
    jit.prepare()
    seen = soak.run(SEED, SHOTS)
    assert seen.broken == []
    assert seen.shots == SHOTS
    assert seen.gain < soak.ENERGY_SLACK
    assert seen.overlap < soak.OVERLAP_M


def mutated(rng: random.Random, text: str) -> str:
    """The text of a file with something wrong or odd in it."""
    kind = rng.randrange(9)
    at = rng.randrange(len(text))
    if kind == 0:
        return text[:at]  # cut off
    if kind == 1:
        return text[:at] + rng.choice(["}", "{", "[", ",", '"', "\\", "\x00", "é", "\u202e", "😀"]) + text[at:]
    if kind == 2:
        return text[:at] + text[at + rng.randrange(1, 40) :]
    if kind == 3:
        return text.replace(
            str(rng.choice([2, 3, 0.5, 1])), rng.choice(["1e999", "-1e308", "NaN", "1" * 400, "null", "true"]), 1
        )
    data = json.loads(text)
    place, key = _somewhere(rng, data)
    odd: Any = rng.choice(
        [None, True, -1, 1e300, 10**30, "", "x" * 5000, [], {}, [[[]]], {"a": {}}, "\ud83d", float("1e-320")]
    )
    if kind == 4:
        place[key] = odd
    elif kind == 5 and isinstance(place, dict):
        place[rng.choice(["paec", "blals", "", "é", "tip"])] = odd
    elif kind == 6 and isinstance(place, dict):
        del place[key]
    elif kind == 7:
        for _ in range(rng.randrange(1, 300)):
            odd = [odd]
        place[key] = odd
    else:
        return text.replace('"takes"', '"balls"', 1)  # a key twice
    return json.dumps(data, ensure_ascii=bool(rng.randrange(2)))


def _somewhere(rng: random.Random, data: Any) -> tuple[Any, Any]:
    """A container somewhere in the data, and a key or index in it."""
    place = data
    while True:
        choices = list(place) if isinstance(place, dict) else range(len(place))
        if not len(choices):
            return data, rng.choice(list(data))
        key = rng.choice(choices)
        inner = place[key]
        if not isinstance(inner, dict | list) or rng.random() < 0.3:
            return place, key
        place = inner


def attempt(read: Callable[[str], Any], text: str) -> tuple[Any, str | None]:
    """What reading gives, or the message of its refusal."""
    try:
        return read(text), None
    except TablesimError as error:
        return None, str(error)


def test_mutated_files_are_valid_or_refused_in_plain_words() -> None:
    rng = random.Random(SEED)
    texts = [path.read_text(encoding="utf-8") for path in ready_scenarios().values()]
    valid, slowest = 0, 0.0
    for k in range(FILES):
        text = mutated(rng, rng.choice(texts))
        begun = time.perf_counter()
        for read in (from_json, lesson_from_json):
            found, message = attempt(read, text)
            if message is not None:
                assert 0 < len(message) < 1000, f"mutant {k}"
                assert "\n" not in message.strip(), f"mutant {k}"
            elif read is from_json:
                valid += 1
                assert from_json(to_json(found)) == found
        slowest = max(slowest, time.perf_counter() - begun)
    assert 0 < valid < FILES
    assert slowest < 30.0  # nothing hangs; some milliseconds are usual
    print(f"slowest file {slowest:.3f} s")


KEYS = [
    *range(pygame.K_a, pygame.K_z + 1), pygame.K_RETURN, pygame.K_ESCAPE, pygame.K_TAB, pygame.K_SPACE, pygame.K_LEFT,
    pygame.K_RIGHT, pygame.K_UP, pygame.K_DOWN, pygame.K_DELETE, pygame.K_INSERT, pygame.K_HOME, pygame.K_END,
    pygame.K_F1, pygame.K_F2, pygame.K_F4, pygame.K_F5, pygame.K_PLUS, pygame.K_MINUS, pygame.K_COMMA, pygame.K_PERIOD,
]  # fmt: skip
FORBIDDEN = {pygame.K_q, pygame.K_e, pygame.K_s}  # with Ctrl: leaving, making and writing files


def storm(w: Driver, rng: random.Random, folder: Path) -> None:
    """One random thing that hands, or a window manager, can do."""
    size = w.app.surface.get_size()
    pos = (rng.randrange(size[0]), rng.randrange(size[1]))
    kind = rng.random()
    if kind < 0.45:
        code, mod = rng.choice(KEYS), rng.choice([0, 0, 0, pygame.KMOD_SHIFT, pygame.KMOD_CTRL, pygame.KMOD_ALT])
        if mod == pygame.KMOD_CTRL and code in FORBIDDEN:
            return
        text = chr(code) if 32 <= code < 127 and mod != pygame.KMOD_CTRL else ""
        w.key(code, mod, text)
    elif kind < 0.6:
        w.click(pos)
    elif kind < 0.75:
        w.drag(pos, (rng.randrange(size[0]), rng.randrange(size[1])), steps=3)
    elif kind < 0.85:
        w.move(pos)
        w.send(pygame.Event(pygame.MOUSEWHEEL, x=0, y=rng.choice([-1, 1]), precise_y=float(rng.choice([-1, 1]))))
    elif kind < 0.9:
        w.app.surface = pygame.display.set_mode((rng.randrange(60, 1400), rng.randrange(60, 900)), pygame.RESIZABLE)
        w.send(pygame.Event(pygame.VIDEORESIZE, size=w.app.surface.get_size(), w=0, h=0))
    elif kind < 0.95:
        w.now += rng.uniform(0.0, 3.0)
        w.app.frame()
    else:
        file = folder / f"drop-{rng.randrange(3)}.json"
        w.send(pygame.Event(pygame.DROPFILE, file=str(file)))


@pytest.mark.filterwarnings("ignore:re-creating window")
def test_a_storm_of_events_leaves_a_valid_document_and_undo_to_the_start(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rng = random.Random(SEED)
    monkeypatch.chdir(tmp_path)  # the storm may well save
    w = Driver(tmp_path / "kept", "throw-at-thirty", (1000, 640))
    (tmp_path / "drop-0.json").write_text("{not json")
    (tmp_path / "drop-1.json").write_text(to_json(w.scenario))
    try:
        for _ in range(EVENTS):
            storm(w, rng, tmp_path)
            assert w.app.running
        w.key(pygame.K_ESCAPE)
        assert from_json(to_json(w.scenario)) == w.scenario
        while w.app.document.can_undo:
            w.app.document.undo()
        first = w.scenario
        while w.app.document.can_redo:
            w.app.document.redo()
        while w.app.document.can_undo:
            w.app.document.undo()
        assert w.scenario == first
    finally:
        w.close()


def test_the_soak_notices_what_it_looks_for() -> None:
    """An engine that gives energy, or lets balls overlap, is caught."""
    rng = np.random.default_rng(5)
    scenario, take = soak.random_shot(rng)
    from tablesim.physics import columns as e
    from tablesim.physics.simulation import Simulation
    from tablesim.study.setup import setup_of
    from tablesim.study.stroke import launch_of, struck

    track = Simulation(
        setup_of(scenario), struck(scenario, launch_of(scenario, take, 0.3, soak.as_asked(scenario, take)))
    ).run()
    assert len(track.event_rows) > 0
    seen = soak.Seen()
    soak.check(track, scenario, seen, "good")
    assert seen.broken == []
    track.event_rows[0, e.E_AFTER + 2 : e.E_AFTER + 4] *= 3.0
    soak.check(track, scenario, seen, "bad")
    assert any("energy grew" in line for line in seen.broken)
