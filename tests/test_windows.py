"""The window is the headings that pot: a part of tests/windows.py, and cases in which it was not."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest
from conftest import many_shots
from windows import Player, fault_of, run

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.model.table import Table
from tablesim.physics import jit
from tablesim.physics.potting import LEAST_RUN
from tablesim.study.correct import correct, correct_take
from tablesim.study.predict import predict


@many_shots
@pytest.mark.parametrize("seed", range(4))
def test_windows_agree_with_a_scan(seed: int) -> None:
    """On random layouts, half of them with cue ball or target ball at a rail or in the jaws."""
    jit.prepare()
    seen = run(20_000_000 + seed, 25)
    assert seen.layouts == 25
    assert seen.solved >= 10
    assert seen.wrong == []


@pytest.fixture
def at_the_rail() -> Scenario:
    """A target ball frozen to the left rail of a 9-ft table; centre ball, 2 m/s."""
    return Scenario(
        balls={"cue": (1.2, 0.95), "1": (1.8, 1.241425)}, target=Target(ball="1", pocket="foot-left"),
        takes=[Take(name="t", pace_m_s=2.0)],
    )  # fmt: skip


def test_a_ball_at_the_rail_has_the_window_that_it_has(at_the_rail: Scenario, fast: SimpleNamespace) -> None:
    """It was said to be 0.021 degrees wide; heading by heading the ball goes in over an unbroken 0.74."""
    found = correct_take(at_the_rail, at_the_rail.takes[0])
    assert found.window_deg == pytest.approx(0.74, abs=0.02)
    assert found.heart_mm is not None
    assert found.correction_deg is not None
    assert fault_of(at_the_rail, found) is None


def test_a_scan_would_see_a_window_that_is_wrong(at_the_rail: Scenario, fast: SimpleNamespace) -> None:
    from dataclasses import replace

    found = correct_take(at_the_rail, at_the_rail.takes[0])
    assert found.heading_deg is not None
    assert "window" in (fault_of(at_the_rail, replace(found, window_deg=0.5)) or "")
    assert "off the middle" in (fault_of(at_the_rail, replace(found, heading_deg=found.heading_deg + 0.2)) or "")
    assert "misses" in (fault_of(at_the_rail, replace(found, heading_deg=found.heading_deg + 1.0)) or "")


def test_a_scratch_after_the_pot_is_told(fast: SimpleNamespace) -> None:
    """Straight in, rolling: the cue ball follows into the pocket, long after the object ball."""
    place = Scenario(
        balls={"cue": (1.6, 0.33), "1": (2.0, 0.73)}, target=Target(ball="1", pocket="foot-left"),
        takes=[Take(name="t", pace_m_s=3.0, tip=Tip(up=0.3))],
    )  # fmt: skip
    found = correct(place)[0]
    aimed = place.takes[0].model_copy(update={"aim": Aim(heading_deg=found.heading_deg)})
    played = predict(place.change(takes=[aimed]))
    assert played[0].cue_ball.outcome == "potted"
    assert "the cue ball drops too" in (found.warning or "")


TWO_RUNS = (
    ("8ft", (1.841627, 0.362472), (0.778092, 0.038851), "head-right", 2.0, Tip(right=0.3, up=0.2), 2.0),
    ("9ft", (2.173826, 0.199385), (2.485283, 1.212052), "foot-left", 2.0, Tip(up=-0.3), 4.0),
)


@pytest.mark.parametrize(("size", "cue", "ball", "pocket", "pace", "tip", "butt"), TWO_RUNS)
def test_of_two_runs_the_wider_one_is_told_if_it_is_not_taken(
    size: Any, cue: Any, ball: Any, pocket: Any, pace: float, tip: Tip, butt: float, fast: SimpleNamespace
) -> None:
    """The run nearest the plain aim is taken; a wider one is named, with its side, and is there."""
    place = Scenario(
        table=Table(size=size), balls={"cue": cue, "1": ball}, target=Target(ball="1", pocket=pocket),
        takes=[Take(name="t", pace_m_s=pace, tip=tip, elevation_deg=butt)],
    )  # fmt: skip
    found = correct_take(place, place.takes[0])
    words = (found.warning or "").split("another window, ")[1]
    width, turn = float(words.split("°")[0]), float(words.split("lies ")[1].split("°")[0])
    side = 1.0 if "to the left" in words else -1.0
    assert found.heading_deg is not None
    around = Player(place).run_around(found.heading_deg + side * turn)
    assert around is not None
    assert around[1] - around[0] == pytest.approx(width, abs=0.03)
    assert LEAST_RUN < math.radians(found.window_deg) < math.radians(width)  # type: ignore[arg-type]
