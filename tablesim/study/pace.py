"""Pace on the table's own scale: lags and table lengths, from the engine and this cloth and these rails."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.physics import jit
from tablesim.physics.records import Setup
from tablesim.physics.roots import narrowed
from tablesim.physics.simulation import Simulation

from .setup import setup_of

FASTEST_M_S = 12.0
CLOSE_M_S = 1e-4
LENGTHS = (0.5, 1.0, 2.0, 3.0, 4.0)


@dataclass(frozen=True)
class PaceScale:
    """Paces [m/s] of a lag, and of rolling so many table lengths, as (lengths, pace)."""

    lag: float | None
    lengths: tuple[tuple[float, float], ...]


def travelled_m(setup: Setup, pace_m_s: float) -> float:
    """How far [m] a ball struck centrally from the head spot rolls along the table, rails and all."""
    start = np.zeros((1, 7))
    start[0, :3] = setup.edge.length / 4.0, setup.edge.width / 2.0, pace_m_s
    simulation = Simulation(setup, start)
    simulation.advance(60.0)
    track = simulation.track()
    places = [start[0, 0], *(event.before[0].x for event in track.events if event.kind == "edge")]
    places.append(track.state_of(0, track.end_time).x)
    return float(sum(abs(b - a) for a, b in itertools.pairwise(places)))


def pace_scale(scenario: Scenario) -> PaceScale:
    """The lag's pace (from the head spot to the foot rail and back to the head rail) and those of whole lengths."""
    odd = {name: ball for name, ball in scenario.ball_set.odd.items() if name == CUE_BALL}
    alone = scenario.change(
        balls={CUE_BALL: scenario.balls[CUE_BALL]}, target=None, takes=[],
        ball_set=scenario.ball_set.model_copy(update={"odd": odd}),
    )  # fmt: skip
    setup = setup_of(alone)
    length, nose = setup.edge.length, alone.nose_distance_m(CUE_BALL)
    lag_m = 0.75 * length - nose + length - 2.0 * nose

    def pace_for(distance_m: float) -> float | None:
        return _inverse(lambda pace: travelled_m(setup, pace), distance_m)

    with jit.using(jit.at_hand()):  # asked between two frames of a window
        lengths = [(n, pace_for(n * length)) for n in LENGTHS]
        return PaceScale(pace_for(lag_m), tuple((n, pace) for n, pace in lengths if pace is not None))


def _inverse(f: Callable[[float], float], wanted: float) -> float | None:
    """Where an increasing function reaches a value, to 0.1 mm/s; None beyond the fastest pace."""
    if f(FASTEST_M_S) < wanted:
        return None
    return narrowed(lambda pace: f(pace) >= wanted, 0.0, FASTEST_M_S, CLOSE_M_S)[1]
