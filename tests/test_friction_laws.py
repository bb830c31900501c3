"""Two published laws of ball friction to choose from, and what each says."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from tablesim.errors import NameUnknown, ScenarioError
from tablesim.model.gear import BallSet
from tablesim.resources import open_scenario
from tablesim.study.correct import correct_takes
from tablesim.study.laws import ball_ball_law
from tablesim.study.shooter import Shooter
from tablesim.study.sweep import parse_axis, sweep


def test_falling_as_fitted_and_constant_as_stated() -> None:
    """Alciatore TP A.14 (from memory) at 0.1, 1 and 3 m/s; Cross 2008: 0.06, whatever the speed."""
    falling, constant = BallSet(), BallSet(friction_law="constant")
    assert [falling.friction_at(v) for v in (0.1, 1.0, 3.0)] == pytest.approx([0.1068, 0.0463, 0.0141], abs=1e-4)
    assert [constant.friction_at(v) for v in (0.0, 0.1, 1.0, 3.0)] == pytest.approx([0.06] * 4)
    assert BallSet(friction_law="constant", friction_constant=0.03, condition=2.0).friction_at(1.0) == pytest.approx(
        0.06
    )


def test_a_constant_friction_caps_throw() -> None:
    """Balls that slide are thrown by atan(mu) at most, at any speed: 3.43 deg for 0.06 (rigid-body mechanics)."""
    for speed in (0.5, 2.0, 6.0):
        half = math.radians(45.0)
        found = ball_ball_law((speed * math.cos(half), speed * math.sin(half)), (0, 0, 0), friction=0.06)
        assert found.throw_deg == pytest.approx(math.degrees(math.atan(0.06)), abs=1e-9)


def test_where_to_aim_by_each(fast: SimpleNamespace) -> None:
    """Derived apart from this code, two-cue shot, low-squirt cue: the constant law moves it -9 mm soft, -42 hard."""
    scenario = open_scenario("two-cues")
    other = scenario.change(ball_set=BallSet(friction_law="constant"))
    moved = {}
    for name in ("low-squirt, soft", "low-squirt, hard"):
        take = scenario.take_named(name)
        falls, stays = (correct_takes(Shooter(place), [take])[0].aim_offset_mm for place in (scenario, other))
        moved[name] = falls - stays  # type: ignore[operator]
    assert moved["low-squirt, soft"] == pytest.approx(-9.0, abs=1.0)
    assert moved["low-squirt, hard"] == pytest.approx(-42.0, abs=3.0)


def test_the_laws_are_compared_in_a_sweep(fast: SimpleNamespace) -> None:
    scenario = open_scenario("two-cues")
    found = sweep(scenario, scenario.takes[0], (parse_axis("friction=falling,constant"),))
    one, two = (cell.correction.aim_offset_mm for cell in found.cells)
    assert one != two
    with pytest.raises(NameUnknown, match=r"--over friction: unknown law 'constnat'; did you mean 'constant'\?"):
        sweep(scenario, scenario.takes[0], (parse_axis("friction=constnat"),))
    with pytest.raises(ScenarioError, match="friction_law: must be 'falling' or 'constant'; got 'rising'"):
        BallSet(friction_law="rising")  # type: ignore[arg-type]
