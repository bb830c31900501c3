"""The window of headings that pot the target ball, and its middle: trials (aim.py), bracketed.

Angles in radians.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from .aim import (
    CUE_BALL_BLOCKED,
    MISSES,
    NOT_REACHED,
    POTS,
    Mouth,
    Shot,
    Trial,
    mouth_of,
    try_heading,
    turn_within,
)
from .cloth import drift, motion, phase_end
from .columns import RADIUS
from .constants import ROLLING, SLIDING
from .contact_time import quartic_fall
from .jit import kernel
from .pieces import contact_reach
from .records import BallState, ClothLaw, Motion, Run, Setup, Vector

# Codes of an answer: a trial's code where every hit ends that way, or
SOLVED, TOO_THIN, REFUSED = 10, 11, 12
HITS = 16  # hits tried over the whole width of the target ball
THINNEST = 16  # halvings between the thinnest hit and a miss
PROBE = 0.3  # where an end is sought between a pot and a miss: nearer the pot, as a rattle costs ten times as long
BESIDE = 8  # steps to either side of a root in which a heading that pots is sought
WIDEST = 60  # steps out from there in which a heading that does not is sought
NEVER = Trial(NOT_REACHED, math.nan, math.nan, -1, 0)


class Reach(NamedTuple):
    """How the layout lies: [m] between the centres and at their contact; angles [rad] of the full hit and the edge.

    ``step`` [rad] is how far the cue turns for a quarter of the pocket's half width.
    """

    distance: float
    apart: float
    full: float
    widest: float
    step: float


class Bracket(NamedTuple):
    """Two headings between which a miss changes sign, low < high, and the miss [rad] at each."""

    low: float
    miss_low: float
    high: float
    miss_high: float


class Hits(NamedTuple):
    """What hits of all thicknesses did, in order of their headings: the miss [rad] of each, nan without contact.

    How many of them another ball kept from the target, how many did not reach
    it, and the last ball in the way, -1 for none.
    """

    headings: Vector
    misses: Vector
    blocked: int
    short: int
    obstacle: int


class Solution(NamedTuple):
    """The answer: its code, the heading in the middle of the window, the window's ends, the heading for the
    mouth's centre, and the trial at the middle (or of the refusal); nan where there is none."""

    code: int
    heading: float
    low: float
    high: float
    centre: float
    trial: Trial


@kernel
def leaving_time(ball: BallState, rates: Motion, distance: float) -> float:
    """First time within a piece at which a ball gets ``distance`` away from the origin; inf if it does not."""
    x, y, vx, vy, ax, ay = ball.x, ball.y, ball.vx, ball.vy, rates.ax, rates.ay
    return quartic_fall(
        distance * distance - x * x - y * y,
        -2.0 * (x * vx + y * vy),
        -(vx * vx + vy * vy + x * ax + y * ay),
        -(vx * ax + vy * ay),
        -0.25 * (ax * ax + ay * ay),
        rates.duration,
    )


@kernel
def bearing_at(launch: BallState, radius: float, law: ClothLaw, distance: float) -> float:
    """Angle [rad, left +] off the cue's line at which the free cue ball is ``distance`` from its start.

    nan if it stops short of it.
    """
    ball = launch
    for _ in range(3):
        rates = motion(ball, radius, law)
        if rates.phase != SLIDING and rates.phase != ROLLING:
            return math.nan
        wait = leaving_time(ball, rates, distance)
        if wait <= rates.duration:
            there = drift(ball, rates, law.spin_deceleration, wait)
            return math.atan2(there.y, there.x)
        ball = phase_end(rates.phase, drift(ball, rates, law.spin_deceleration, rates.duration), radius)
    return math.nan


@kernel
def to_mouth(shot: Shot, mouth: Mouth) -> float:
    """Distance [m] of the target ball from the mouth's centre."""
    return math.hypot(mouth.x - float(shot.layout[shot.target, 0]), mouth.y - float(shot.layout[shot.target, 1]))


@kernel
def reach_of(shot: Shot, mouth: Mouth, setup: Setup) -> Reach:
    """The layout as the cue sees it; the full hit allows for squirt and swerve on the way."""
    cue_ball, target = shot.layout[0], shot.layout[shot.target]
    dx, dy = float(target[0] - cue_ball[0]), float(target[1] - cue_ball[1])
    distance = math.hypot(dx, dy)
    apart = contact_reach(setup.balls, 0, shot.target)
    way = math.sqrt(max(distance * distance - apart * apart, 1e-12))
    bearing = bearing_at(shot.launch, float(setup.balls[0, RADIUS]), setup.laws.cloth, way)
    if math.isnan(bearing):
        bearing = math.atan2(shot.launch.vy, shot.launch.vx)
    step = 0.25 * mouth.half_width * apart / (distance * to_mouth(shot, mouth))
    return Reach(distance, apart, math.atan2(dy, dx) - bearing, math.asin(min(1.0, apart / distance)), step)


@kernel
def hit(reach: Reach, k: int) -> float:
    """Heading of hit number k of 0..HITS: from a miss on the right over full to a miss on the left.

    Thin hits need the finer steps: the direction turns fastest there.
    """
    part = math.sin(math.pi * (k / HITS - 0.5)) * 1.02
    return reach.full + math.asin(min(1.0, max(-1.0, part * math.sin(reach.widest))))


@kernel
def zero_direction(run: Run, shot: Shot, bracket: Bracket, setup: Setup) -> float:
    """The heading within a bracket that sends the target ball across the mouth's centre; nan if that is lost.

    Illinois' form of false position, on the direction of the target ball until
    it crosses the mouth line and on the crossing from then on.
    """
    mouth = mouth_of(setup.edge, shot.pocket)
    low, f_low, high, f_high = bracket
    side, mid = 0, low
    for _ in range(60):
        mid = (low * f_high - high * f_low) / (f_high - f_low) if f_high != f_low else 0.5 * (low + high)
        if not low < mid < high:
            mid = 0.5 * (low + high)
        trial = try_heading(run, shot, mid, False, setup)
        miss = trial.direction
        if math.isnan(miss):
            return math.nan
        if abs(trial.crossing) < 4.0 * mouth.half_width:
            miss = trial.crossing / to_mouth(shot, mouth)
        if abs(miss) < 1e-10 or high - low < 1e-13:
            return mid
        if (miss > 0.0) == (f_high > 0.0):
            high, f_high = mid, miss
            f_low *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            low, f_low = mid, miss
            f_high *= 0.5 if side == -1 else 1.0
            side = -1
    return mid


@kernel
def thinner(run: Run, shot: Shot, heading: float, miss: float, beyond: float, setup: Setup) -> float:
    """The heading for the mouth's centre between the thinnest hit tried and ``beyond``, where the balls miss.

    ``miss`` is that hit's; nan if none is found.
    """
    for _ in range(THINNEST):
        mid = 0.5 * (heading + beyond)
        now = try_heading(run, shot, mid, False, setup).direction
        if math.isnan(now):
            beyond = mid
            continue
        if now * miss <= 0.0:
            rising = heading < mid
            low, f_low = (heading, miss) if rising else (mid, now)
            high, f_high = (mid, now) if rising else (heading, miss)
            return zero_direction(run, shot, Bracket(low, f_low, high, f_high), setup)
        heading, miss = mid, now
    return math.nan


@kernel
def try_hits(run: Run, shot: Shot, reach: Reach, setup: Setup) -> Hits:
    """Try hits over the whole width of the target ball."""
    headings, misses = np.empty(HITS + 1), np.empty(HITS + 1)
    blocked, short, obstacle = 0, 0, -1
    for k in range(HITS + 1):
        headings[k] = hit(reach, k)
        trial = try_heading(run, shot, float(headings[k]), False, setup)
        misses[k] = trial.direction
        blocked += trial.code == CUE_BALL_BLOCKED
        short += trial.code == NOT_REACHED
        obstacle = trial.obstacle if trial.obstacle >= 0 else obstacle
    return Hits(headings, misses, blocked, short, obstacle)


@kernel
def heading_between(run: Run, shot: Shot, hits: Hits, near: float, setup: Setup) -> float:
    """The heading for the mouth's centre between two hits, of several the one nearest ``near``; nan if none."""
    best = math.nan
    for k in range(HITS):
        miss, following = float(hits.misses[k]), float(hits.misses[k + 1])
        if miss * following <= 0.0 and abs(following - miss) < 2.5:
            bracket = Bracket(float(hits.headings[k]), miss, float(hits.headings[k + 1]), following)
            root = zero_direction(run, shot, bracket, setup)
            if math.isnan(best) or abs(turn_within(root - near)) < abs(turn_within(best - near)):
                best = root
    return best


@kernel
def heading_beyond(run: Run, shot: Shot, hits: Hits, setup: Setup) -> float:
    """The heading for the mouth's centre of a hit thinner than all tried; nan if none."""
    for k in range(HITS):
        if math.isnan(hits.misses[k]) != math.isnan(hits.misses[k + 1]):
            inner, outer = (k + 1, k) if math.isnan(hits.misses[k]) else (k, k + 1)
            heading, miss, beyond = float(hits.headings[inner]), float(hits.misses[inner]), float(hits.headings[outer])
            found = thinner(run, shot, heading, miss, beyond, setup)
            if not math.isnan(found):
                return found
    return math.nan


@kernel
def unsolved(hits: Hits) -> Solution:
    """The answer where no hit sends the target ball to the pocket."""
    code = TOO_THIN
    if hits.blocked > 0 and hits.blocked + hits.short == HITS + 1:
        code = CUE_BALL_BLOCKED
    elif hits.short == HITS + 1:
        code = NOT_REACHED
    trial = Trial(code, math.nan, math.nan, hits.obstacle, 0)
    return Solution(code, math.nan, math.nan, math.nan, math.nan, trial)


@kernel
def window_end(run: Run, shot: Shot, inside: float, step: float, resolution: float, setup: Setup) -> float:
    """The heading at which the potting ends, from one that pots on in steps, then narrowed to ``resolution``.

    Windows are seldom narrower than the two steps begun with.
    """
    outside = inside + 2.0 * step
    for _ in range(WIDEST):
        if try_heading(run, shot, outside, True, setup).code != POTS:
            break
        inside, outside = outside, outside + step
    while abs(outside - inside) > resolution:
        mid = inside + PROBE * (outside - inside)
        if try_heading(run, shot, mid, True, setup).code == POTS:
            inside = mid
        else:
            outside = mid
    return 0.5 * (inside + outside)


@kernel
def solve_heading(run: Run, shot: Shot, near: float, resolution: float, setup: Setup) -> Solution:
    """Find the window of headings that pot the target ball, and its middle; ``near`` is the plain aim's heading.

    Where the direction of the target ball passes the mouth's centre between two
    hits there is a root; it, or a heading beside it where the pocket's heart is
    off the mouth's centre, pots.  ``resolution`` [rad] is how closely the
    window's ends are found.
    """
    reach = reach_of(shot, mouth_of(setup.edge, shot.pocket), setup)
    hits = try_hits(run, shot, reach, setup)
    centre = heading_between(run, shot, hits, near, setup)
    if math.isnan(centre):
        centre = heading_beyond(run, shot, hits, setup)
    if math.isnan(centre):
        return unsolved(hits)
    refusal = NEVER
    for k in range(2 * BESIDE + 1):
        inside = centre + (k + 1) // 2 * reach.step * (1.0 if k % 2 == 0 else -1.0)
        trial = try_heading(run, shot, inside, True, setup)
        if trial.code == POTS:
            low = window_end(run, shot, inside, -reach.step, resolution, setup)
            high = window_end(run, shot, inside, reach.step, resolution, setup)
            middle = 0.5 * (low + high)
            return Solution(SOLVED, middle, low, high, centre, try_heading(run, shot, middle, True, setup))
        if k == 0:
            refusal = trial
    code = REFUSED if refusal.code == MISSES else refusal.code
    return Solution(code, math.nan, math.nan, math.nan, centre, refusal)
