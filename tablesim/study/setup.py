"""From a scenario to the engine's arrays, and from a take to a struck cue ball."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tablesim.errors import AimImpossible
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Target
from tablesim.physics import aim
from tablesim.physics.aim import Mouth, turn_within
from tablesim.physics.ball_ball import contact_distance
from tablesim.physics.edge import POCKETS
from tablesim.physics.records import Laws, Setup

Array = NDArray[np.float64]


def setup_of(scenario: Scenario) -> Setup:
    """The engine's arrays for a scenario's table, gear and balls, in the order of ``ball_names``."""
    balls = scenario.ball_set
    rows = np.array(
        [
            [balls.mass_of_kg(n), balls.radius_m(n), scenario.nose_distance_m(n), scenario.nose_sine(n)]
            for n in scenario.ball_names
        ]
    )
    return Setup(
        rows, Laws(scenario.cloth.law, balls.law, scenario.rails.law, scenario.rails.facing_law), scenario.table.edge
    )


def resting(scenario: Scenario) -> Array:
    """Starting numbers (n, 7) of the layout with every ball at rest."""
    start = np.zeros((len(scenario.ball_names), 7))
    start[:, :2] = [scenario.balls[n] for n in scenario.ball_names]
    return start


def target_of(scenario: Scenario) -> Target:
    """The target of a scenario; AimImpossible where it has none."""
    if scenario.target is None:
        raise AimImpossible("target: an aim toward a pocket needs a target ball and pocket; the scenario names none")
    return scenario.target


def gate_of(scenario: Scenario) -> Mouth:
    """The line at which the target ball is aimed: its pocket's mouth line, or deeper if it hangs in the jaws."""
    target = target_of(scenario)
    nose_distance = scenario.nose_distance_m(target.ball)
    return aim.gate_at(scenario.table.edge, POCKETS.index(target.pocket), *scenario.balls[target.ball], nose_distance)


def hangs_in_jaws(scenario: Scenario) -> bool:
    """True if the target ball reaches over its pocket's mouth line, so that its gate lies deeper."""
    return gate_of(scenario) != aim.mouth_of(scenario.table.edge, POCKETS.index(target_of(scenario).pocket))


def target_distance(scenario: Scenario) -> float:
    """Distance [m] from above between the centres of cue ball and target ball when they touch."""
    ball = target_of(scenario).ball
    return contact_distance(scenario.ball_set.radius_m(CUE_BALL), scenario.ball_set.radius_m(ball))


def apart_m(scenario: Scenario) -> float:
    """How far [m] the target ball is from the cue ball as they lie, seen from above, from centre to centre."""
    return math.dist(scenario.balls[CUE_BALL], scenario.balls[target_of(scenario).ball])


def plain_line(scenario: Scenario, offset_mm: float = 0.0) -> tuple[float, float, float, float]:
    """The ghost ball's place x, y [m], and the way x, y [m] that the target ball is to take.

    It leads to the point of its gate ``offset_mm`` left (+) of the centre.
    """
    gate = gate_of(scenario)
    tx, ty = scenario.balls[target_of(scenario).ball]
    px, py = gate.x + gate.left[0] * offset_mm / 1000.0, gate.y + gate.left[1] * offset_mm / 1000.0
    ux, uy = px - tx, py - ty
    size = math.hypot(ux, uy)
    apart = target_distance(scenario)
    return tx - ux / size * apart, ty - uy / size * apart, ux, uy


def plain_heading(scenario: Scenario, offset_mm: float = 0.0) -> float:
    """Heading [rad] of the plain aim: the ghost-ball line that knows no squirt, swerve or throw.

    It would send the target ball across its gate, ``offset_mm`` left (+) of the
    centre.  Past a cut of 90 degrees it still is the line to the ghost ball,
    though the balls meet before: at a cut of 90 + d as thick as at 90 - d.
    """
    cx, cy = scenario.balls[CUE_BALL]
    gx, gy, ux, uy = plain_line(scenario, offset_mm)
    hx, hy = gx - cx, gy - cy
    if math.hypot(hx, hy) < 1e-9:  # frozen in line: the cue points where the ball is to go
        return math.atan2(uy, ux)
    return math.atan2(hy, hx)


def plain_cut(scenario: Scenario) -> float:
    """Cut [rad, left +] of the plain aim: from its heading to the way the target ball is to take; may pass 90 degrees.

    The same to either side of a straight-back shot, pi.
    """
    _, _, ux, uy = plain_line(scenario)
    return turn_within(math.atan2(uy, ux) - plain_heading(scenario))
