"""A take's stroke: how its butt can be held, whether it can be played at all, and the cue ball it gives."""

from __future__ import annotations

import math
from typing import NamedTuple

from tablesim.errors import AimImpossible
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import LEVEL_DEG, MAX_ELEVATION_DEG, Take
from tablesim.physics.aim import turn_within
from tablesim.physics.cue_reach import Held, ball_behind, least_elevation, rails_behind
from tablesim.physics.records import BallState
from tablesim.physics.strike import Stroke, along_heading, miscue_offset, off_the_tip, strike_ball

from .setup import Array, plain_heading, resting

NEAR_PLAIN = math.radians(30.0)


class Launch(NamedTuple):
    """The cue ball just after the strike: angles [rad], speed [m/s], spin [rad/s] in table axes.

    ``heading`` is the cue's; ``squirt`` the direction off it, left +, in which
    the tip sends the ball, before the bed begins to turn it back.
    """

    heading: float
    squirt: float
    speed: float
    velocity: tuple[float, float]
    spin: tuple[float, float, float]


class Butt(NamedTuple):
    """How a take's butt is held: its elevation and the least that its place allows [deg], and what forces that."""

    deg: float
    least_deg: float
    what: str


def miscues(scenario: Scenario, take: Take) -> bool:
    """True if the tip strikes beyond what it can hold."""
    return take.tip.offset > miscue_offset(scenario.cue_of(take).tip_friction)


def level_deg(take: Take) -> float:
    """Elevation [deg] of the butt that a take asks for: its own, or an ordinary level stroke's."""
    return LEVEL_DEG if take.elevation_deg is None else take.elevation_deg


def line_before(scenario: Scenario, take: Take) -> float | None:
    """Heading [rad] along which the cue is held before its aim is solved; None where the aim names no line."""
    if take.aim.heading_deg is not None:
        return math.radians(take.aim.heading_deg)
    return None if scenario.target is None else plain_heading(scenario, take.aim.offset_mm or 0.0)


def held_along(scenario: Scenario, heading: float) -> float:
    """The line [rad] for which the butt of a cue along ``heading`` is held: the plain aim's where that is near."""
    plain = heading if scenario.target is None else plain_heading(scenario)
    return plain if abs(turn_within(heading - plain)) <= NEAR_PLAIN else heading


def least_butt(scenario: Scenario, take: Take, heading: float | None, up: float) -> tuple[float, str]:
    """The least elevation [deg] of a cue along ``heading`` [rad] with its tip ``up`` above centre, and what forces it.

    See cue_reach.py; nothing forces a cue whose line is not known.  Within
    NEAR_PLAIN of the plain aim the butt is that of the plain aim: a stroke is set
    up for the shot, and a correction turns the cue, not the hand.
    """
    if heading is None:
        return 0.0, ""
    heading = held_along(scenario, heading)
    cue, radius, (x, y) = scenario.cue_of(take), scenario.ball_set.radius_m(CUE_BALL), scenario.balls[CUE_BALL]
    held = Held(radius, -take.tip.right, up, cue.tip_radius_m, 0.5 * cue.tip_diameter_m)
    size, nose = scenario.table.surface, scenario.rails.nose_height * scenario.ball_set.diameter_m
    balls = [
        ball_behind(bx - x, by - y, heading, scenario.ball_set.radius_m(name), f"ball {name}")
        for name, (bx, by) in scenario.balls.items()
        if name != CUE_BALL
    ]
    rails = rails_behind(x, y, heading, size.length_m, size.width_m, nose)
    least, what = least_elevation(held, rails, balls)
    return math.degrees(least), what if what.startswith("ball") or not what else f"the {what}"


def why_unplayable(scenario: Scenario, take: Take, heading: float | None) -> str | None:
    """miscue where the tip cannot hold, out_of_reach where the cue cannot get there; None for a stroke that can be."""
    if miscues(scenario, take):
        return "miscue"
    return "out_of_reach" if least_butt(scenario, take, heading, take.tip.up)[0] > MAX_ELEVATION_DEG else None


def butt_along(scenario: Scenario, take: Take, heading: float | None) -> Butt:
    """How a take's butt is held along ``heading`` [rad]: as it asks, or by tenths of a degree the least that clears.

    AimImpossible where that is more than a take can have.
    """
    least, what = least_butt(scenario, take, heading, take.tip.up)
    if least > MAX_ELEVATION_DEG:
        raise AimImpossible(f"take {take.name!r}: {out_of_reach_words(scenario, take, heading)}")
    least = math.ceil(10.0 * least - 1e-6) / 10.0
    return Butt(max(level_deg(take), least), least, what)


def shown_butt(scenario: Scenario, take: Take) -> float:
    """Elevation [deg] of the butt as it is held, or as asked for where the stroke cannot be made."""
    heading = line_before(scenario, take)
    return level_deg(take) if why_unplayable(scenario, take, heading) else butt_along(scenario, take, heading).deg


def out_of_reach_words(scenario: Scenario, take: Take, heading: float | None) -> str:
    """Why the cue cannot reach where a take's tip is to strike, and where it can."""
    told = f"the cue cannot strike there: {least_butt(scenario, take, heading, take.tip.up)[1]} is in the way"
    steepest = f"with the butt at {MAX_ELEVATION_DEG:.0f} degrees"
    highest = math.sqrt(max(0.0, miscue_offset(scenario.cue_of(take).tip_friction) ** 2 - take.tip.right**2))
    up = take.tip.up
    while up + 0.01 < highest:
        up += 0.01
        if least_butt(scenario, take, heading, up)[0] <= MAX_ELEVATION_DEG:
            where = f"at most {-up:.2f} radii below" if up < 0.0 else f"at least {up:.2f} radii above"
            return f"{told}; {steepest} the tip must strike {where} centre"
    return f"{told}, {steepest}, too; turn the cue or move the cue ball"


def butt_words(scenario: Scenario, take: Take, heading: float | None) -> str:
    """That a butt is higher than the take asks for, and why; empty if it is not, or the stroke cannot be made."""
    if miscues(scenario, take):
        return ""
    try:
        butt = butt_along(scenario, take, heading)
    except AimImpossible:
        return ""
    if butt.deg <= level_deg(take):
        return ""
    asked = "" if take.elevation_deg is None else f", not {take.elevation_deg:g}"
    return f"the butt is at {butt.deg:.1f}°{asked}: the cue has to clear {butt.what}"


def butt_sentence(scenario: Scenario, take: Take, heading: float | None) -> str:
    """The same as a sentence."""
    words = butt_words(scenario, take, heading)
    return f"{words[:1].upper()}{words[1:]}." if words else ""


def stroke_at(scenario: Scenario, take: Take, elevation_deg: float) -> Stroke:
    """A take's stroke with the butt at an elevation [deg], as the law of the strike wants it."""
    cue, ball_kg = scenario.cue_of(take), scenario.ball_set.mass_of_kg(CUE_BALL)
    return Stroke(
        pace=take.pace_m_s,
        offset_left=-take.tip.right,
        offset_up=take.tip.up,
        elevation=math.radians(elevation_deg),
        ball_to_end_mass=cue.mass_ratio_to_end(ball_kg),
        ball_to_cue_mass=ball_kg / cue.mass_kg,
        stroke_factor=cue.stroke_factor(take.stroke),
    )


def stroke_of(scenario: Scenario, take: Take, heading: float | None) -> Stroke:
    """A take's stroke along ``heading`` [rad], its butt as it can be held; AimImpossible where the cue cannot reach."""
    return stroke_at(scenario, take, butt_along(scenario, take, heading).deg)


def level_launch(scenario: Scenario, take: Take, heading: float | None) -> BallState:
    """The ball struck along ``heading`` [rad] in the cue's level frame (x forward, y left), from the origin."""
    stroke, radius = stroke_of(scenario, take, heading), scenario.ball_set.radius_m(CUE_BALL)
    return strike_ball(stroke, radius, scenario.cloth.sliding_friction)


def squirt_of(stroke: Stroke, radius_m: float) -> float:
    """Squirt [rad, left +]: the direction off the cue's line that the tip alone gives a ball."""
    ball = off_the_tip(stroke, radius_m)
    return math.atan2(ball.vy, ball.vx)


def launch_of(scenario: Scenario, take: Take, heading: float, stroke: Stroke | None = None) -> Launch:
    """The struck cue ball when the cue points along ``heading`` [rad]; ``stroke``: another than the take's own."""
    stroke, radius = stroke or stroke_of(scenario, take, heading), scenario.ball_set.radius_m(CUE_BALL)
    level = strike_ball(stroke, radius, scenario.cloth.sliding_friction)
    ball = along_heading(level, heading, 0.0, 0.0)
    speed = math.hypot(level.vx, level.vy)
    return Launch(heading, squirt_of(stroke, radius), speed, (ball.vx, ball.vy), (ball.wx, ball.wy, ball.wz))


def struck(scenario: Scenario, launch: Launch) -> Array:
    """Starting numbers (n, 7) of the layout with the cue ball struck."""
    start = resting(scenario)
    start[0, 2:4] = launch.velocity
    start[0, 4:7] = launch.spin
    return start
