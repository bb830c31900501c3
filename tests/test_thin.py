"""Cuts past 90 degrees: the aim goes on, and the answer says how far throw carries the ball and what pots it."""

from __future__ import annotations

import itertools
import math
import re
from types import SimpleNamespace

import pytest
from conftest import known, many_shots

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.physics.potting import LEAST_RUN
from tablesim.resources import open_scenario
from tablesim.study.correct import correct_take
from tablesim.study.explain import explain_take
from tablesim.study.predict import predict_take
from tablesim.study.setup import plain_cut, plain_heading
from tablesim.study.shooter import Shooter
from tablesim.study.thin import struck_so, throws


def turned(degrees: float, distance: float = 0.6) -> Scenario:
    """A cut to the left of so many degrees to the left foot pocket, the cue ball turned about the ghost ball."""
    tx, ty = 1.9, 0.6
    line = math.atan2(1.27 - ty, 2.54 - tx)
    gx, gy = tx - 0.05715 * math.cos(line), ty - 0.05715 * math.sin(line)
    heading = line - math.radians(degrees)
    return Scenario(
        balls={"cue": (gx - distance * math.cos(heading), gy - distance * math.sin(heading)), "1": (tx, ty)},
        target=Target(ball="1", pocket="foot-left"),
        takes=[Take(name="t", pace_m_s=2.0, tip=Tip(right=0.4))],
    )


def test_the_plain_aim_goes_on_smoothly_past_90() -> None:
    """Its heading turns with the cut by the same steps on both sides of 90, and every answer is there."""
    cuts = [88.0 + 0.5 * k for k in range(12)]
    headings = [math.degrees(plain_heading(turned(c))) for c in cuts]
    for cut, (before, after) in zip(cuts[1:], itertools.pairwise(headings), strict=True):
        assert after - before == pytest.approx(-0.5, abs=0.02)
        scenario = turned(cut)
        assert math.degrees(plain_cut(scenario)) == pytest.approx(cut, abs=0.6)
        assert predict_take(scenario, scenario.takes[0]).contact is not None


@many_shots
def test_too_thin_says_cut_and_how_far_throw_carries(fast: SimpleNamespace) -> None:
    scenario = turned(100.0)
    found = correct_take(scenario, scenario.takes[0])
    assert found.cut_deg == pytest.approx(100.0, abs=0.7)
    assert found.reason is not None
    assert found.reason.startswith("cut too thin: 100° to the pocket's centre")
    assert "and throw carries ball 1 to" in found.reason
    assert found.reason[:20] in explain_take(scenario, scenario.takes[0], found).reading


def test_a_cut_that_no_throw_reaches_is_told_at_once() -> None:
    scenario = turned(140.0, 0.3)
    found = correct_take(scenario, scenario.takes[0])
    assert (
        found.reason
        == "cut too thin: 140° to the pocket's centre, and throw carries a ball a few degrees past 90 at most"
    )


@many_shots
def test_the_stroke_that_is_said_to_pot_pots(fast: SimpleNamespace) -> None:
    scenario = open_scenario("thin-cut-outside")
    take = scenario.take_named("no english")
    found = correct_take(scenario, take)
    told = re.search(r"; (\d+) % left english at ([\d.]+) m/s pots it, window ([\d.]+)°", found.reason or "")
    assert told is not None
    stroke = struck_so(take, -0.5 * int(told[1]) / 100.0, float(told[2]))
    again = correct_take(scenario, stroke)
    assert again.window_deg == pytest.approx(float(told[3]), abs=0.03)
    assert known(again.window_deg) > math.degrees(LEAST_RUN)
    played = predict_take(scenario, stroke.model_copy(update={"aim": Aim(heading_deg=again.heading_deg)}))
    assert played.target.outcome == "potted"


@many_shots
def test_farthest_throw_is_what_hits_tried_one_by_one_give(fast: SimpleNamespace) -> None:
    """By brute force: every heading of one stroke played, those on which ball 3 gets as far as the mouth kept."""
    scenario = open_scenario("thin-cut-outside")
    take, shooter = scenario.take_named("outside"), Shooter(scenario)
    best = next(s for s in throws(shooter, take) if s.pace_m_s == 4.0)
    stroke = struck_so(take, best.right, best.pace_m_s)
    seen = []
    for k in range(300):
        aim = Aim(heading_deg=0.0 + 0.006 * k)
        found = predict_take(scenario, stroke.model_copy(update={"aim": aim}))
        if found.contact is not None and found.target.outcome == "potted":
            seen.append(abs(found.contact.cut_deg + found.contact.throw_deg))
    assert math.degrees(best.cut) == pytest.approx(max(seen), abs=1.0)
