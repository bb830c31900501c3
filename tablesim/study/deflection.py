"""How far off the cue's line the cue ball is along its way: it grows with distance.

The free cue ball, with no ball or cushion in its way: squirt is the straight
line on which the tip sends it, swerve what the cloth makes of that, from the
strike on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tablesim.errors import NameUnknown, unknown_name
from tablesim.model.scenario import CUE_BALL, Scenario, Which
from tablesim.model.shot import Take
from tablesim.physics.cloth import drift, free_course
from tablesim.physics.constants import SLIDING
from tablesim.physics.contact_time import quadratic_fall
from tablesim.physics.strike import Stroke, strike_ball
from tablesim.units import DIAMONDS_LONG, FOOT_M

from .stroke import line_before, squirt_of, stroke_of

STEPS = ("foot", "diamond")


@dataclass(frozen=True)
class OffLine:
    """At ``distance_m`` along the cue's line: how far off it [mm], left +, and its two parts."""

    distance_m: float
    squirt_mm: float
    swerve_mm: float
    net_mm: float


@dataclass(frozen=True)
class Deflection:
    """A take's way off the cue's line; ``curve_ends_m`` along it the path is straight again; it ends at ``reach_m``."""

    take: str
    cue: str
    squirt_deg: float
    curve_ends_m: float
    reach_m: float
    points: tuple[OffLine, ...]


def deflection_of(
    scenario: Scenario, take: Take, distances_m: tuple[float, ...], stroke: Stroke | None = None
) -> Deflection:
    """Net deflection of a take at some distances along the cue's line [m], as far as the ball rolls.

    ``stroke``: another than the take's own.
    """
    stroke = stroke_of(scenario, take, line_before(scenario, take)) if stroke is None else stroke
    radius, law = scenario.ball_set.radius_m(CUE_BALL), scenario.cloth.law
    launch, squirt = strike_ball(stroke, radius, law.mu_s), squirt_of(stroke, radius)
    phases = list(free_course(launch, radius, law))
    _, rolling, _ = next(phase for phase in phases if phase[2].phase != SLIDING)
    points: list[OffLine] = []
    wanted = sorted(distances_m)
    for _, ball, rates in phases:
        while len(points) < len(wanted):
            at = wanted[len(points)]
            wait = quadratic_fall(at - ball.x, -ball.vx, -0.5 * rates.ax, rates.duration)
            if wait == math.inf:
                break
            net = drift(ball, rates, law.spin_deceleration, wait).y
            straight = at * math.tan(squirt)
            points.append(OffLine(at, 1000.0 * straight, 1000.0 * (net - straight), 1000.0 * net))
    curve_ends, reach = rolling.x, phases[-1][1].x
    return Deflection(take.name, scenario.cue_name_of(take), math.degrees(squirt), curve_ends, reach, tuple(points))


def marks_along(scenario: Scenario, every: str) -> tuple[float, ...]:
    """Distances [m] at each ``foot`` or ``diamond`` up to the table's diagonal."""
    if every not in STEPS:
        raise NameUnknown("every: " + unknown_name("step", every, STEPS))
    size = scenario.table.surface
    step = FOOT_M if every == "foot" else size.length_m / DIAMONDS_LONG
    count = int(math.hypot(size.length_m, size.width_m) / step)
    return tuple(step * k for k in range(1, count + 1))


def deflection(scenario: Scenario, take: Which = None, every: str = "foot") -> tuple[Deflection, ...]:
    """How far off the cue's line [mm, left +] the free cue ball is at each ``foot`` or ``diamond`` of its way.

    Of every take, or of the one that is named or stated; NameUnknown for another
    step or a take that is not there.

    >>> found = ts.deflection(ts.open_scenario("two-cues"), "wood, hard", every="diamond")[0]
    >>> [round(point.net_mm, 1) for point in found.points[:4]]
    [-8.6, -16.7, -24.1, -30.8]
    """
    distances = marks_along(scenario, every)
    return tuple(deflection_of(scenario, t, distances) for t in scenario.takes_for(take))
