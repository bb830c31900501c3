"""Throw is one figure; its halves come on request, with what the order makes of them."""

from __future__ import annotations

import json

import pytest
from test_cli import run

from tablesim.resources import open_scenario
from tablesim.study.explain import CAUSES, explain_take
from tablesim.study.halves import halves, throw_halves


def test_throw_is_one_part_and_the_sum_of_its_halves() -> None:
    scenario = open_scenario("two-cues")
    for take, split in zip(scenario.takes, halves(scenario), strict=True):
        found = explain_take(scenario, take)
        assert tuple(p.cause for p in found.parts) == CAUSES == ("squirt", "swerve", "throw")
        assert split.side is not None
        assert split.cut is not None
        assert split.side.mm + split.cut.mm == pytest.approx(found.parts[2].mm, abs=1e-9)
        for half in (split.side, split.cut):
            assert half.low_mm <= half.mm <= half.high_mm


def test_the_order_makes_the_halves() -> None:
    """As an audit apart from this code found on the soft shot: side -31 to 0 mm, cut -34 to -3."""
    scenario = open_scenario("two-cues")
    found = throw_halves(scenario, scenario.take_named("low-squirt, soft"))
    assert found.side is not None
    assert found.cut is not None
    assert (found.side.low_mm, found.side.high_mm) == pytest.approx((-31.0, 0.0), abs=1.0)
    assert (found.cut.low_mm, found.cut.high_mm) == pytest.approx((-34.0, -3.0), abs=1.0)


def test_a_shot_that_some_order_loses_has_no_halves() -> None:
    """With swerve alone the cue ball passes the object ball."""
    scenario = open_scenario("two-cues")
    far = scenario.change(balls={**scenario.balls, "cue": (0.1, 0.25)})
    take = scenario.take_named("low-squirt, soft").model_copy(update={"elevation_deg": 12.0})
    assert throw_halves(far, take).side is None
    assert (
        throw_halves(scenario, take.model_copy(update={"tip": take.tip.model_copy(update={"right": 0.6})})).cut is None
    )


def test_the_command() -> None:
    plain = run("explain", "two-cues", "--take", "wood, hard")
    assert "throw from" not in plain.stdout
    told = run("explain", "two-cues", "--take", "wood, hard", "--halves").stdout
    assert "throw from side" in told
    assert "+8.2   0.0 to +8.2" in told
    data = json.loads(run("explain", "two-cues", "--take", "wood, hard", "--halves", "--json").stdout)
    assert data["takes"][0]["halves"]["cut"]["mm"] == pytest.approx(-18.2, abs=0.1)
    assert "halves" not in json.loads(run("explain", "two-cues", "--json").stdout)["takes"][0]
