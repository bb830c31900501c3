"""Pace on the table's own scale, and presets of gear: common practice, no source, unless named."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tablesim.model.gear import CLOTHS, CONDITIONS, RAILS
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim
from tablesim.physics.simulation import Simulation
from tablesim.resources import open_scenario
from tablesim.study.neutral import neutral, pace_marks
from tablesim.study.pace import pace_scale, travelled_m
from tablesim.study.predict import predict_take
from tablesim.study.setup import setup_of
from tablesim.units import MPH_M_S

ALONE = Scenario(balls={"cue": (0.635, 0.635)})


def test_a_lag_returns_to_the_near_end_rail() -> None:
    """A: the ruler's lag, struck from the head spot, ends at the head rail's nose, and scale steps rise."""
    scale = pace_scale(ALONE)
    assert scale.lag is not None
    setup = setup_of(ALONE)
    start = np.zeros((1, 7))
    start[0, :3] = 0.635, 0.635, scale.lag
    simulation = Simulation(setup, start)
    simulation.advance(60.0)
    end = simulation.track().state_of(0, 60.0)
    assert end.x == pytest.approx(ALONE.nose_distance_m("cue"), abs=0.002)
    paces = [pace for _, pace in scale.lengths]
    assert paces == sorted(paces)
    assert scale.lengths[2][1] > scale.lag > scale.lengths[1][1]


def test_nineteen_diamonds_take_the_trades_pace() -> None:
    """B: 19 diamonds from the head string need 3.5 to 8 mph off the tip over ordinary cloth and rails."""
    setup = setup_of(ALONE)
    diamond = ALONE.table.surface.length_m / 8
    assert travelled_m(setup, 3.5 * MPH_M_S) < 19 * diamond < travelled_m(setup, 8.0 * MPH_M_S)


def test_the_rulers_neutral_pace_is_that_of_the_question() -> None:
    scenario = open_scenario("two-cues")
    take = scenario.take_named("low-squirt, medium")
    marks = pace_marks(scenario, take)
    assert marks is not None
    assert marks.neutral == pytest.approx(neutral(scenario, take.name)[0].pace.zeros)


def test_dead_weight_just_brings_the_ball_in() -> None:
    scenario = open_scenario("throw-at-thirty")
    take = scenario.takes[0]
    marks = pace_marks(scenario, take)
    assert marks is not None
    assert marks.dying is not None
    for pace, outcome in ((1.005 * marks.dying, "potted"), (0.97 * marks.dying, None)):
        slower = take.model_copy(update={"pace_m_s": pace, "aim": Aim(corrected=True)})
        if outcome is None:
            with pytest.raises(ValueError, match="soft"):
                predict_take(scenario, slower)
        else:
            assert predict_take(scenario, slower).target.outcome == outcome


def test_leaving_early_gives_no_marks() -> None:
    scenario = open_scenario("two-cues")
    assert pace_marks(scenario, scenario.takes[0], lambda: True) is None


def roll(scenario: Scenario, pace: float) -> float:
    return travelled_m(setup_of(scenario), pace)


def test_new_and_humid_cloth() -> None:
    """C: on new cloth the slide lasts longer and the ball rolls farther; on humid cloth it rolls shorter."""
    by_name = {name: ALONE.change(cloth=cloth) for name, cloth in CLOTHS.items()}
    assert roll(by_name["humid"], 2.0) < roll(by_name["worn"], 2.0) < roll(by_name["ordinary"], 2.0)
    assert roll(by_name["ordinary"], 2.0) < roll(by_name["new"], 2.0)
    # A sliding ball rolls after 2 v / (7 mu g).
    slides = {name: 2 * 2.0 / (7 * cloth.sliding_friction * 9.81) for name, cloth in CLOTHS.items()}
    assert slides["new"] > slides["ordinary"] > slides["humid"]


def test_rails_and_balls() -> None:
    """C: lively rails send a ball farther; dirty balls throw more."""
    by_name = {name: ALONE.change(rails=rails) for name, rails in RAILS.items()}
    assert roll(by_name["dead"], 3.0) < roll(by_name["ordinary"], 3.0) < roll(by_name["lively"], 3.0)
    base = open_scenario("throw-at-thirty")
    throws = []
    for value in CONDITIONS.values():
        ball_set = base.ball_set.model_copy(update={"condition": value})
        contact = predict_take(base.change(ball_set=ball_set), base.takes[0]).contact
        assert contact is not None
        throws.append(abs(contact.throw_deg))
    assert throws == sorted(throws)
    assert not math.isclose(throws[0], throws[-1], rel_tol=0.2)
