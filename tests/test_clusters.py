"""A small part of clusters.py, and the layouts that once made contacts without end."""

from __future__ import annotations

import math
from types import SimpleNamespace

import clusters
import pytest
import soak
from conftest import many_shots

from tablesim.model.gear import Cloth
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take
from tablesim.physics import jit
from tablesim.physics.columns import AT_REST
from tablesim.physics.simulation import Simulation, Track
from tablesim.study.setup import setup_of
from tablesim.study.stroke import launch_of, struck

D = 0.05715


def played(scenario: Scenario, take: Take) -> Track:
    launch = launch_of(scenario, take, math.radians(take.aim.heading_deg or 0.0), soak.as_asked(scenario, take))
    return Simulation(setup_of(scenario), struck(scenario, launch)).run()


@pytest.mark.parametrize("pace", [0.3, 0.6, 1.0, 3.0])
@pytest.mark.parametrize("count", [3, 5, 8])
def test_a_frozen_row_struck_askew_comes_to_rest(count: int, pace: float, fast: SimpleNamespace) -> None:
    """Eight balls at 0.6 m/s made 50,000 contacts at one instant: one ball wedged between two others."""
    balls = {"cue": (0.4, 0.645)} | {str(k + 1): (1.0 + k * D, 0.635) for k in range(count)}
    take = Take(name="t", pace_m_s=pace, aim=Aim(heading_deg=0.0))
    track = played(Scenario(balls=balls, takes=[take]), take)
    assert track.status == AT_REST
    assert len(track.event_rows) < 2000
    seen = soak.Seen()
    soak.check(track, Scenario(balls=balls, takes=[take]), seen, "row")
    assert seen.broken == []


def test_five_frozen_balls_by_a_rail(fast: SimpleNamespace) -> None:
    balls = {"cue": (0.9, 0.3)} | {str(k + 1): (1.0 + k * D, clusters.NOSE) for k in range(5)}
    heading = math.degrees(math.atan2(clusters.NOSE - 0.3, 1.0 + D - 0.9))
    for pace in (0.4, 0.6, 1.0, 2.0):
        take = Take(name="t", pace_m_s=pace, aim=Aim(heading_deg=heading))
        assert played(Scenario(balls=balls, takes=[take]), take).status == AT_REST


def test_sidespin_that_hardly_decays_comes_to_its_end(fast: SimpleNamespace) -> None:
    """0.5 rad/s per second is accepted: a spinning ball then turns for minutes."""
    from tablesim.model.shot import Tip

    take = Take(name="t", pace_m_s=20.0, tip=Tip(right=0.5), aim=Aim(heading_deg=0.0))
    scenario = Scenario(balls={"cue": (0.6, 0.635)}, cloth=Cloth(spin_deceleration_rad_s2=0.5), takes=[take])
    assert played(scenario, take).status == AT_REST


@many_shots
def test_random_clusters_break_no_invariant() -> None:
    jit.prepare()
    seen = clusters.run(77, 150)
    assert seen.broken == []
    assert seen.shots == 150
    assert seen.gain < soak.ENERGY_SLACK
