"""Tests of the table: slow roll and stop shot (cloth), ramp (rails), frozen throw (balls).

Closed forms where there are any, else the engine inverted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import zip_longest
from statistics import fmean

from tablesim.errors import ScenarioError
from tablesim.model.base import Model, bounds_of
from tablesim.model.gear import BallSet, Cloth, Cue, Rails
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import MAX_ELEVATION_DEG
from tablesim.physics.ball_ball import Contact, collide_balls
from tablesim.physics.constants import K
from tablesim.physics.cushion import STEP_ERROR, bounce_cushion
from tablesim.physics.records import BallState
from tablesim.physics.strike import Stroke, miscue_offset, strike_ball
from tablesim.units import STANDARD_GRAVITY_M_S2 as G

from .laws import within
from .measured import (
    OFFSET_MM,
    TAPE_M,
    Law,
    Measured,
    Reading,
    positive,
    propagated,
    radius_m,
    reading_of,
    some,
)

STOPWATCH_S = 0.2  # how well a person stops one; this and the next: common practice, no source
CUT_DEG = 1.0
ROUNDS = 20  # until cloth friction and what it does in the strike agree; each takes nine tenths of the error


@dataclass(frozen=True)
class ClothFinding:
    """A cloth as measured, by whichever of the two tests was made."""

    rolling_resistance: Measured | None = None
    sliding_friction: Measured | None = None


@dataclass(frozen=True)
class RailsFinding:
    """Rails as measured; ``rebound``: speed off the rail over speed into it, of a rolling ball straight on."""

    restitution: Measured
    rebound: Measured


@dataclass(frozen=True)
class BallsFinding:
    """Balls as measured; ``throw_deg`` off the line of centres; ``pace_m_s`` of the struck ball."""

    condition: Measured
    throw_deg: Measured
    pace_m_s: float


def calibrate_roll(rolls: Sequence[tuple[float, float]], time_error_s: float = STOPWATCH_S) -> ClothFinding:
    """Rolling resistance of the cloth from slow rolls: (distance from a mark to the stop [m], seconds).

    mu_r = 2 d / (g t^2), for a ball that rolls already at the mark (cloth.py:
    deceleration mu_r g).  Roll both ways along the table: a slope adds to one
    and takes from the other.

    >>> found = ts.calibrate_roll([(2.0, 6.4), (2.1, 6.3)]).rolling_resistance
    >>> round(found.value, 4), round(found.low, 4), round(found.high, 4)
    (0.0104, 0.0099, 0.0108)
    """
    some("rolls", rolls)
    for distance, seconds in rolls:
        positive(distance=distance, seconds=seconds)

    def resistance(distance: float, seconds: float) -> float:
        return 2.0 * distance / (G * seconds * seconds)

    typical = [fmean(column) for column in zip(*rolls, strict=True)]
    each = propagated(resistance, typical, [TAPE_M, time_error_s])
    found = _read_off(Cloth, "rolling_resistance", [resistance(*roll) for roll in rolls], each,
                      "Roll it slowly, start the watch at the mark, and let it pass no rail.")  # fmt: skip
    return ClothFinding(rolling_resistance=found)


def calibrate_slide(
    scenario: Scenario, low_mm: float, stops: Sequence[tuple[float, float]], cue: Cue, elevation_deg: float = 0.0
) -> ClothFinding:
    """Sliding friction of the cloth from stop shots: (gap between the balls [m], way the object ball runs [m]).

    A ball struck low by b (backspin R w = k b v) has lost its spin after the gap
    D = v^2 (2 b - b^2) / (2 mu_s g), at v (1 - b); straight into a ball alike it
    stops, and that one, at v (1 - b)(1 + e)/2, slides and rolls
    L = v'^2 (24/mu_s + 25/mu_r) / (98 g).  Without v:
    mu_s = mu_r (98 c L/D - 24)/25, c = 2 (2 b - b^2) / ((1 + e)(1 - b))^2.
    Derived from Coriolis 1835 and cloth.py; b by strike.py for this cue.
    ``low_mm`` under the centre; ScenarioError for readings that no cloth explains.

    >>> two_cues = ts.open_scenario("two-cues")
    >>> found = ts.calibrate_slide(two_cues, 10.0, [(0.20, 1.70)], two_cues.cues["wood"], elevation_deg=4.0)
    >>> round(found.sliding_friction.value, 2)
    0.19
    """
    some("stop shots", stops)
    for gap, run in stops:
        positive(gap=gap, run=run)
    most = 1000.0 * miscue_offset(cue.tip_friction) * radius_m(scenario)
    if not OFFSET_MM < low_mm <= most:
        raise ScenarioError(f"low: must lie from {OFFSET_MM:g} to {most:.1f} mm, where the tip holds; got {low_mm:g}")
    within("elevation, deg", elevation_deg, 0.0, MAX_ELEVATION_DEG)
    e, mu_r = scenario.ball_set.restitution, scenario.cloth.rolling_resistance

    def friction(low: float, gap: float, run: float) -> float:
        mu_s = scenario.cloth.sliding_friction
        for _ in range(ROUNDS):  # a little of it acts in the strike already
            b = _backspin(scenario, cue, low, elevation_deg, mu_s) / K
            c = 2.0 * (2.0 * b - b * b) / ((1.0 + e) * (1.0 - b)) ** 2
            mu_s = mu_r * (98.0 * c * run / gap - 24.0) / 25.0
        return mu_s

    typical = [fmean(column) for column in zip(*stops, strict=True)]
    each = propagated(friction, [low_mm, *typical], [OFFSET_MM, TAPE_M, 2.0 * TAPE_M])
    found = _read_off(Cloth, "sliding_friction", [friction(low_mm, *stop) for stop in stops], each,
                      "The cue ball must stop dead, the object ball pass no rail; measure the roll first.")  # fmt: skip
    return ClothFinding(sliding_friction=found)


def _backspin(scenario: Scenario, cue: Cue, low_mm: float, elevation_deg: float, mu_s: float) -> float:
    """Backspin over speed, -R w / v, of a ball struck ``low_mm`` under its centre on a cloth of friction ``mu_s``."""
    radius, ball_kg = radius_m(scenario), scenario.ball_set.mass_of_kg(CUE_BALL)
    stroke = Stroke(
        1.0, 0.0, -low_mm / 1000.0 / radius, math.radians(elevation_deg), cue.mass_ratio_to_end(ball_kg),
        ball_kg / cue.mass_kg, 1.0,
    )  # fmt: skip
    ball = strike_ball(stroke, radius, max(mu_s, 0.0))
    return -radius * ball.wy / ball.vx


def calibrate_rails(
    scenario: Scenario, free_m: Sequence[float], rail_m: float, back_m: Sequence[float]
) -> RailsFinding:
    """Restitution of the rails from a ball rolled down a ramp straight at one.

    ``free_m``: how far it rolls with no rail in its way; ``rail_m``: the way to
    the rail from the same mark, once the ramp is moved; ``back_m``: how far off
    the rail it stops.  All of the ball, which rolls at the mark.  With r = v'/v
    at the rail (cushion.py, engine inverted) and f its share once rolling again,
    back / (free - rail) = f^2 + (r^2 - f^2) mu_r / mu_s, whatever the pace.

    >>> found = ts.calibrate_rails(ts.open_scenario("two-cues"), free_m=[2.2], rail_m=0.9, back_m=[0.39, 0.41])
    >>> round(found.restitution.value, 2), round(found.rebound.value, 2)
    (0.84, 0.84)
    """
    some("free rolls", free_m)
    some("ways back", back_m)
    for free_roll, way_back in zip_longest(free_m, back_m, fillvalue=rail_m):
        positive(rail=rail_m, free_roll=free_roll, way_back=way_back)
    free, back = reading_of(free_m, TAPE_M), reading_of(back_m, TAPE_M)
    if free.mean - rail_m <= 2.0 * math.hypot(free.error, TAPE_M):
        raise ScenarioError(f"rail: must be nearer than the free roll of {free.mean:.3f} m; got {rail_m:g}")

    def share(free: float, rail: float, back: float) -> float:
        return back / (free - rail)

    slides = scenario.cloth.rolling_resistance / scenario.cloth.sliding_friction

    def comes_back(restitution: float) -> float:
        r, f = straight_rebound(scenario, restitution)
        return f * f + (r * r - f * f) * slides

    way_out = "The ball must roll when it passes the mark, and meet the rail straight."
    law = Law(comes_back, *bounds_of(Rails, "restitution"), "restitution", "back over what was left of the roll", "",
              way_out)  # fmt: skip
    ways = [free.mean, rail_m, back.mean]
    found = law.measured(Reading(share(*ways), propagated(share, ways, [free.error, TAPE_M, back.error])))
    return RailsFinding(found, found.through(lambda e: straight_rebound(scenario, e)[0]))


def straight_rebound(scenario: Scenario, restitution: float) -> tuple[float, float]:
    """Speed of a rolling cue ball straight off a rail, and once it rolls again, as shares of its speed into it."""
    radius = radius_m(scenario)
    rolling = BallState(0.0, 0.0, 0.0, 1.0, -1.0 / radius, 0.0, 0.0)
    off = bounce_cushion(
        rolling, radius, scenario.nose_sine(CUE_BALL), restitution, scenario.rails.friction,
        scenario.cloth.sliding_friction, STEP_ERROR,
    )  # fmt: skip
    return -off.vy, -(5.0 * off.vy - 2.0 * radius * off.wx) / 7.0


def calibrate_balls(scenario: Scenario, cut_deg: float, stops_mm: Sequence[tuple[float, float]]) -> BallsFinding:
    """Condition of the balls (factor on their friction) from throw.

    The cue ball, frozen to the object ball, is struck without side along a line
    ``cut_deg`` off the line of centres.  ``stops_mm``: where the object ball
    stops, (along, off) the line of centres [mm], off + toward the side to which
    the cue ball goes.  Throw by ball_ball.py, engine inverted; the pace from
    the way: v'^2 = 98 g L / (24/mu_s + 25/mu_r) for a ball that slides, then rolls.

    >>> found = ts.calibrate_balls(ts.open_scenario("two-cues"), cut_deg=50.0, stops_mm=[(1500.0, 80.0)])
    >>> round(found.condition.value, 2), round(found.throw_deg.value, 1)
    (1.06, 3.1)
    """
    some("stops", stops_mm)
    for along, off in stops_mm:
        positive(along=along, off=off)
    within("cut, deg", cut_deg, 5.0, 80.0)
    along = fmean(a for a, _ in stops_mm)
    slope = fmean(off / a for a, off in stops_mm)
    cloth = scenario.cloth
    drag = 24.0 / cloth.sliding_friction + 25.0 / cloth.rolling_resistance
    # Speed along the line of centres: its share of the speed that the way, slope and all, asks for.
    ahead = math.sqrt(98.0 * G * along / 1000.0 / drag / math.sqrt(1.0 + slope * slope))

    def throw(condition: float, cut: float) -> float:
        return thrown(scenario, cut, ahead, condition)

    law = Law(
        partial(throw, cut=cut_deg), *bounds_of(BallSet, "condition"), "condition", "off over along", "",
        "Balls that grip show no more than that: take a larger cut, or play firmer.",
    )  # fmt: skip
    error = math.hypot(1000.0 * TAPE_M / along, propagated(partial(throw, law.solve(slope)), [cut_deg], [CUT_DEG]))
    reading = reading_of([off / a for a, off in stops_mm], error)
    thrown_deg = [math.degrees(math.atan(s)) for s in (slope, slope - reading.error, slope + reading.error)]
    return BallsFinding(law.measured(reading), Measured(*thrown_deg), _struck_pace(scenario, cut_deg, ahead))


def thrown(scenario: Scenario, cut_deg: float, ahead_m_s: float, condition: float) -> float:
    """Object ball's speed across over along the line of centres after a stun hit that sends it along at so much."""
    balls, cut = scenario.ball_set, math.radians(cut_deg)
    v = _struck_pace(scenario, cut_deg, ahead_m_s)
    struck = BallState(0.0, 0.0, v * math.cos(cut), v * math.sin(cut), 0.0, 0.0, 0.0)
    frozen = BallState(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    masses, radii = (balls.mass_of_kg(CUE_BALL), balls.mass_kg), (radius_m(scenario), balls.diameter_m / 2.0)
    law = balls.law._replace(condition=condition)
    _, sent = collide_balls(struck, frozen, Contact(1.0, 0.0, *masses, *radii), law)
    return sent.vy / sent.vx


def _struck_pace(scenario: Scenario, cut_deg: float, ahead_m_s: float) -> float:
    """Cue ball's speed [m/s] that sends the object ball along the line of centres at so much."""
    balls = scenario.ball_set
    share = (1.0 + balls.restitution) / (1.0 + balls.mass_kg / balls.mass_of_kg(CUE_BALL))
    return ahead_m_s / (share * math.cos(math.radians(cut_deg)))


def _read_off(kind: type[Model], field: str, values: Sequence[float], each: float, way_out: str) -> Measured:
    """A number that the readings give directly; ScenarioError if it lies beyond the model's bounds."""
    low, high = bounds_of(kind, field)
    found = reading_of(values, each)
    if not low <= found.mean <= high:
        raise ScenarioError(
            f"{field.replace('_', ' ')}: must lie from {low:g} to {high:g};"
            f" the readings give {found.mean:.4g}. {way_out}"
        )
    return Measured(found.mean, max(low, found.mean - found.error), min(high, found.mean + found.error))
