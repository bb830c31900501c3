"""Past a cut of 90 degrees: how far throw can carry a target ball, and which stroke pots it.

The cue ball can push along the line of centres only, at less than 90 degrees to
its way; what carries the target ball farther is friction.  Outside english, a
little more than makes the surfaces roll past each other, rubs it backwards, the
more the slower they rub (common practice, no source: a cut of about 88 degrees
goes to 92, even 95).  But so thin a hit passes on a few hundredths of the pace,
so the target ball must lie close to its pocket.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take, Tip
from tablesim.physics.aim import turn_within
from tablesim.physics.cloth import free_course
from tablesim.physics.potting import LEAST_RUN, SOLVED
from tablesim.physics.records import BallState
from tablesim.physics.roots import narrowed
from tablesim.physics.strike import miscue_offset
from tablesim.units import english_percent

from .setup import gate_of, plain_cut, plain_heading, target_distance, target_of
from .shooter import Shooter
from .stroke import level_launch, why_unplayable
from .went import side_word

THIN_DEG = 85.0  # a plain cut from which friction decides whether the ball goes
SIDES = (0.28, 0.33, 0.38, 0.43, 0.48)  # outside english tried [ball radii], as far as the tip holds it
PACES_M_S = (0.8, 1.2, 1.8, 2.7, 4.0, 6.0)
POCKET_TAKES_DEG = 25.0  # a pocket takes a ball so far off the line to its centre at most, off a jaw
THICKEST = math.radians(60.0)  # of the hits among which the thinnest that reaches the pocket is sought
BEYOND = 1.1  # half widths off full: no hit, nor near one
FINER = 2**12  # than that stretch the thinnest is found
TRIED = 8  # strokes that throw farthest, of which the one with the widest window is told


class Thrown(NamedTuple):
    """A stroke that sends the target ball ``cut`` [rad] off the cue ball's way and to its pocket."""

    cut: float
    right: float
    pace_m_s: float


class Potting(NamedTuple):
    """A stroke that pots the target ball, and the width [rad] of its window."""

    width: float
    right: float
    pace_m_s: float


def is_thin(scenario: Scenario) -> bool:
    """True if the plain cut is so thin that friction decides whether the target ball goes to its pocket."""
    return abs(math.degrees(plain_cut(scenario))) >= THIN_DEG


def is_past_square(scenario: Scenario) -> bool:
    """True if the plain cut passes 90 degrees."""
    return abs(plain_cut(scenario)) > 0.5 * math.pi


def outside(scenario: Scenario, size: float) -> float:
    """English [ball radii, right +] on the outside of the plain cut: right on a cut to the left."""
    return math.copysign(size, plain_cut(scenario))


def sides_that_hold(scenario: Scenario, take: Take) -> list[float]:
    """Outside english [ball radii, right +] that a take's cue can give at the take's height of strike."""
    limit = miscue_offset(scenario.cue_of(take).tip_friction)
    sides = [outside(scenario, s) for s in SIDES if math.hypot(s, take.tip.up) < limit]
    line = plain_heading(scenario)
    return [right for right in sides if why_unplayable(scenario, struck_so(take, right, 1.0), line) is None]


def struck_so(take: Take, right: float, pace_m_s: float) -> Take:
    """The take with another sidespin and pace."""
    return take.model_copy(update={"tip": Tip(right=right, up=take.tip.up), "pace_m_s": pace_m_s})


def free_run(ball: BallState, scenario: Scenario) -> float:
    """Distance [m] from where a target ball is set going to where it comes to rest, if nothing is in its way."""
    radius = scenario.ball_set.radius_m(target_of(scenario).ball)
    *_, (_, end, _) = free_course(ball, radius, scenario.cloth.law)
    return math.hypot(end.x - ball.x, end.y - ball.y)


def thrown_to(shooter: Shooter, take: Take) -> float | None:
    """Cut [rad] between the cue ball's way at the contact and the target ball's, at a take's thinnest hit that reaches.

    The thinnest by which the target ball still runs as far as its gate; None if
    not even a thick hit makes it.
    """
    scenario, launch = shooter.scenario, level_launch(shooter.scenario, take, shooter.plain)
    (cx, cy), (tx, ty) = scenario.balls[CUE_BALL], scenario.balls[target_of(scenario).ball]
    gate, apart, distance = gate_of(scenario), target_distance(scenario), math.dist((cx, cy), (tx, ty))
    needed = math.hypot(gate.x - tx, gate.y - ty)
    masses = scenario.ball_set.mass_of_kg(target_of(scenario).ball) / scenario.ball_set.mass_of_kg(CUE_BALL)
    full = math.atan2(ty - cy, tx - cx) - math.atan2(launch.vy, launch.vx)
    to_edge = -math.copysign(math.asin(min(1.0, apart / distance)), plain_cut(scenario))

    def cut_at(share: float) -> float | None:
        """The cut at a hit ``share`` of the ball's half width off full; None if the target ball does not get there."""
        hit = shooter.hit(launch, full + share * to_edge)
        if hit is None or free_run(hit[1], scenario) < needed:
            return None
        cue_ball, target = hit
        way = math.atan2(cue_ball.vy + masses * target.vy, cue_ball.vx + masses * target.vx)
        return abs(turn_within(math.atan2(target.vy, target.vx) - way))

    thickest = math.sin(THICKEST)
    thick = cut_at(thickest)
    if thick is None:
        return None
    cuts = [thick]

    def falls_short(share: float) -> bool:
        cut = cut_at(share)
        cuts.extend(() if cut is None else (cut,))
        return cut is None

    narrowed(falls_short, thickest, BEYOND, (BEYOND - thickest) / FINER)
    return max(cuts)


def throws(shooter: Shooter, take: Take) -> list[Thrown]:
    """The strokes of a take's cue that throw the target ball to its pocket, the farthest first."""
    found = []
    for right in sides_that_hold(shooter.scenario, take):
        for pace in PACES_M_S:
            cut = thrown_to(shooter, struck_so(take, right, pace))
            if cut is not None:
                found.append(Thrown(cut, right, pace))
    return sorted(found, reverse=True)


def widest_pot(shooter: Shooter, take: Take, strokes: Sequence[Thrown]) -> Potting | None:
    """Of some strokes of a take's cue the one with the widest window; None if none can be hit."""
    best: Potting | None = None
    for _, right, pace in strokes:
        s = shooter.solve(level_launch(shooter.scenario, struck_so(take, right, pace), shooter.plain), others=False)
        if s.code == SOLVED and s.high - s.low >= (LEAST_RUN if best is None else best.width):
            best = Potting(s.high - s.low, right, pace)
    return best


def stroke_words(right: float, pace_m_s: float) -> str:
    """English and pace in words."""
    return f"{english_percent(abs(right)):.0f} % {side_word(-right)} english at {pace_m_s:.1f} m/s"


def cut_words(scenario: Scenario) -> str:
    """The plain cut, in words."""
    return f"{_degrees(plain_cut(scenario))} to the pocket's centre"


def reach_words(shooter: Shooter, strokes: Sequence[Thrown]) -> str:
    """The cut to the pocket's centre, and how far throw can carry the ball, by what :func:`throws` found."""
    ball, cut = target_of(shooter.scenario).ball, cut_words(shooter.scenario)
    if not strokes:
        return f"{cut}, and no thin hit carries ball {ball} so far"
    most = f"{_degrees(strokes[0].cut)} at most ({stroke_words(strokes[0].right, strokes[0].pace_m_s)})"
    return f"{cut}, and throw carries ball {ball} to {most}"


def thin_words(shooter: Shooter, take: Take) -> str:
    """Why a take's cut is too thin: the cut, how far throw can carry the ball, and which stroke pots it, if any."""
    if abs(plain_cut(shooter.scenario)) > math.radians(90.0 + POCKET_TAKES_DEG):
        return f"{cut_words(shooter.scenario)}, and throw carries a ball a few degrees past 90 at most"
    strokes = throws(shooter, take)
    words, pot = reach_words(shooter, strokes), widest_pot(shooter, take, strokes[:TRIED])
    if pot is None:
        return f"{words}; no outside english at any pace pots it"
    return f"{words}; {stroke_words(pot.right, pot.pace_m_s)} pots it, window {math.degrees(pot.width):.2f}°"


def _degrees(angle: float) -> str:
    return f"{abs(math.degrees(angle)):.0f}°"
