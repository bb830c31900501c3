"""The headings that send the target ball to its gate's centre: trials (aim.py) over all thicknesses of hit, bracketed.

Angles in radians.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from .aim import Mouth, turn_within
from .cloth import drift, motion, phase_end
from .columns import RADIUS
from .constants import ROLLING, SLIDING
from .contact_time import quartic_fall
from .jit import kernel
from .pieces import contact_reach
from .records import BallState, ClothLaw, Motion, Run, Setup, Vector
from .trial import CUE_BALL_BLOCKED, MISSES, NOT_REACHED, Shot, gate_for, rail_for, try_heading

HITS = 16  # hits tried over the whole width of the target ball
THINNEST = 16  # halvings between the thinnest hit and a miss
GOLDEN = 0.5 * (math.sqrt(5.0) - 1.0)  # of an interval: its larger part
SECTIONS = 24  # of the golden section, each to that part


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
    """What hits of all thicknesses did, in order of their headings: the miss [rad] and crossing [m] of each.

    Both are nan without contact.  How many of them another ball kept from the target, how many did not reach
    it, the last ball in the way, -1 for none, and whether the target is frozen to a rail or pushed a ball.
    """

    headings: Vector
    misses: Vector
    crossings: Vector
    blocked: int
    short: int
    obstacle: int
    frozen: bool


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
def to_gate(shot: Shot, gate: Mouth) -> float:
    """Distance [m] of the target ball from its gate's centre."""
    return math.hypot(gate.x - float(shot.layout[shot.target, 0]), gate.y - float(shot.layout[shot.target, 1]))


@kernel
def reach_of(shot: Shot, setup: Setup) -> Reach:
    """The layout as the cue sees it; the full hit allows for squirt and swerve on the way."""
    gate = gate_for(shot, setup)
    cue_ball, target = shot.layout[0], shot.layout[shot.target]
    dx, dy = float(target[0] - cue_ball[0]), float(target[1] - cue_ball[1])
    distance = math.hypot(dx, dy)
    apart = contact_reach(setup.balls, 0, shot.target)
    way = math.sqrt(max(distance * distance - apart * apart, 1e-12))
    bearing = bearing_at(shot.launch, float(setup.balls[0, RADIUS]), setup.laws.cloth, way)
    if math.isnan(bearing):
        bearing = math.atan2(shot.launch.vy, shot.launch.vx)
    step = 0.25 * gate.half_width * apart / (distance * to_gate(shot, gate))
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
    """The heading within a bracket that sends the target ball across its gate's centre; nan if that is lost.

    Illinois' form of false position, on the direction of the target ball until
    it crosses the gate and on the crossing from then on.
    """
    gate = gate_for(shot, setup)
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
        if abs(trial.crossing) < 4.0 * gate.half_width:
            miss = trial.crossing / to_gate(shot, gate)
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
def heading_thinner(run: Run, shot: Shot, heading: float, miss: float, beyond: float, setup: Setup) -> float:
    """The heading for the gate's centre between the thinnest hit tried and ``beyond``, where the balls miss.

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
    headings, misses, crossings = np.empty(HITS + 1), np.empty(HITS + 1), np.empty(HITS + 1)
    blocked, short, obstacle, frozen = 0, 0, -1, rail_for(shot, setup) >= 0
    for k in range(HITS + 1):
        headings[k] = hit(reach, k)
        trial = try_heading(run, shot, float(headings[k]), False, setup)
        misses[k], crossings[k] = trial.direction, trial.crossing
        blocked += trial.code == CUE_BALL_BLOCKED
        short += trial.code == NOT_REACHED
        obstacle = trial.obstacle if trial.code == CUE_BALL_BLOCKED else obstacle
        frozen = frozen or (trial.code == MISSES and trial.obstacle >= 0)
    return Hits(headings, misses, crossings, blocked, short, obstacle, frozen)


@kernel
def is_nearer(heading: float, best: float, near: float) -> bool:
    """True if ``heading`` is a number and nearer ``near`` than ``best``, or ``best`` is none."""
    if math.isnan(heading) or math.isnan(best):
        return not math.isnan(heading)
    return abs(turn_within(heading - near)) < abs(turn_within(best - near))


@kernel
def headings_between(run: Run, shot: Shot, hits: Hits, near: float, setup: Setup) -> Vector:
    """The headings for the gate's centre between two hits, the one nearest ``near`` first."""
    roots, count = np.empty(HITS), 0
    for k in range(HITS):
        miss, following = float(hits.misses[k]), float(hits.misses[k + 1])
        if miss * following <= 0.0 and abs(following - miss) < 2.5:
            bracket = Bracket(float(hits.headings[k]), miss, float(hits.headings[k + 1]), following)
            root = zero_direction(run, shot, bracket, setup)
            if not math.isnan(root):
                place = count
                while place > 0 and is_nearer(root, float(roots[place - 1]), near):
                    roots[place] = roots[place - 1]
                    place -= 1
                roots[place] = root
                count += 1
    return roots[:count]


@kernel
def heading_beyond(run: Run, shot: Shot, hits: Hits, setup: Setup) -> float:
    """The heading for the gate's centre of a hit thinner than all tried; nan if none."""
    for k in range(HITS):
        if math.isnan(hits.misses[k]) != math.isnan(hits.misses[k + 1]):
            inner, outer = (k + 1, k) if math.isnan(hits.misses[k]) else (k, k + 1)
            heading, miss, beyond = float(hits.headings[inner]), float(hits.misses[inner]), float(hits.headings[outer])
            found = heading_thinner(run, shot, heading, miss, beyond, setup)
            if not math.isnan(found):
                return found
    return math.nan


@kernel
def last_contact(run: Run, shot: Shot, meets: float, lost: float, setup: Setup) -> float:
    """The heading that just meets the target ball, between one that does and one that does not."""
    for _ in range(THINNEST):
        mid = 0.5 * (meets + lost)
        if math.isnan(try_heading(run, shot, mid, False, setup).direction):
            lost = mid
        else:
            meets = mid
    return meets


@kernel
def is_least(misses: Vector, k: int) -> bool:
    """True if a hit met the target ball, and neither neighbour sends it off nearer its gate's centre."""
    size = abs(misses[k])
    return not (math.isnan(size) or abs(misses[k - 1]) < size or abs(misses[k + 1]) < size)


@kernel
def least_miss(run: Run, shot: Shot, low: float, high: float, setup: Setup) -> float:
    """The heading of the least miss between two, by golden section.

    Where the target begins to push a ball or rail it is frozen to, its miss turns round, perhaps short of zero.
    """
    for _ in range(SECTIONS):
        near, far = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
        miss_near, miss_far = math.inf, math.inf
        for at_near in (True, False):
            miss = abs(try_heading(run, shot, near if at_near else far, False, setup).direction)
            if at_near and not math.isnan(miss):
                miss_near = miss
            elif not math.isnan(miss):
                miss_far = miss
        if miss_near < miss_far:
            high = far
        else:
            low = near
    return 0.5 * (low + high)


@kernel
def roots_of(run: Run, shot: Shot, hits: Hits, near: float, setup: Setup) -> Vector:
    """The headings for the gate's centre, the one nearest ``near`` first; one thinner than all hits if no other."""
    roots = headings_between(run, shot, hits, near, setup)
    if roots.shape[0] > 0:
        return roots
    thin = heading_beyond(run, shot, hits, setup)
    return roots if math.isnan(thin) else np.full(1, thin)
