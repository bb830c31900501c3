"""Which heading of the cue pots the target ball?  The engine asked again and again.

:func:`try_heading` plays one stroke along one heading until the target ball's
fate is known; window.py finds the headings that pot it.  The cue ball has to
reach the target ball straight, with no ball or cushion before it.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .cloth import drift, motion, phase_end
from .columns import (
    BALL_EVENT,
    DROP_EVENT,
    E_FIRST,
    E_KIND,
    E_ROW,
    E_SECOND,
    E_TIME,
    EVENTS,
    PHASE,
    RADIUS,
    T0,
    WATCHED,
)
from .constants import POTTED, ROLLING, SLIDING
from .contact_time import quadratic_fall
from .engine import advance, set_going
from .jit import kernel
from .pieces import begun, put_ball
from .records import BallState, ClothLaw, Counts, Edge, Matrix, Motion, Run, Setup
from .strike import along_heading

# Codes of a trial.
POTS, MISSES, SHORT, TARGET_BLOCKED, CUE_BALL_BLOCKED, NOT_REACHED = range(6)

JAW_CONTACTS = 6  # contacts of the target ball that are followed before the shot counts as missed
NEAR_MOUTH = 4.0  # half mouths from the mouth's centre within which a ball that met the edge may still drop
LAST_MOMENT = 0.999999  # of a phase: when a ball that stops still has a direction


class Mouth(NamedTuple):
    """A pocket's mouth line: its centre, the unit vector into the pocket, and half its width."""

    x: float
    y: float
    into_x: float
    into_y: float
    half_width: float

    @property
    def into(self) -> tuple[float, float]:
        """Unit vector into the pocket."""
        return self.into_x, self.into_y

    @property
    def left(self) -> tuple[float, float]:
        """Unit vector along the mouth, to the left of a ball that enters."""
        return -self.into_y, self.into_x


class Shot(NamedTuple):
    """A stroke on a layout and where the target ball is to go.

    ``launch`` is the struck cue ball in the cue's level frame (x forward, y
    left), its place aside; ``layout`` (n, 7) the balls at rest, the cue ball
    first; ``start`` (n, 7) room for the starting numbers; ``target`` a ball,
    ``pocket`` a row of the edge's mouths.
    """

    launch: BallState
    layout: Matrix
    start: Matrix
    target: int
    pocket: int


class Trial(NamedTuple):
    """What a stroke along one heading does.

    Its ``code``; ``crossing``, where the target ball crosses the mouth line [m,
    left + as it sees it] or would cross it on the line it left the cue ball on;
    ``direction`` off the line to the mouth's centre [rad, left +]; both nan where
    the target ball is not met.  ``obstacle`` is the ball in the way, -1 for none;
    ``scratch`` 1 if the cue ball had dropped by then.
    """

    code: int
    crossing: float
    direction: float
    obstacle: int
    scratch: int


@kernel
def turn_within(angle: float) -> float:
    """The same angle within (-pi, pi]."""
    return math.atan2(math.sin(angle), math.cos(angle))


@kernel
def mouth_of(edge: Edge, pocket: int) -> Mouth:
    """The mouth line of a pocket."""
    m = edge.mouths[pocket]
    return Mouth(float(m[0]), float(m[1]), float(m[2]), float(m[3]), float(m[4]))


@kernel
def depth_in(mouth: Mouth, ball: BallState) -> float:
    """How far [m] a ball's centre is beyond the mouth line; negative before it."""
    return (ball.x - mouth.x) * mouth.into_x + (ball.y - mouth.y) * mouth.into_y


@kernel
def speed_into(mouth: Mouth, ball: BallState) -> float:
    """Speed [m/s] of a ball into the pocket."""
    return ball.vx * mouth.into_x + ball.vy * mouth.into_y


@kernel
def crossing_ahead(mouth: Mouth, ball: BallState) -> float:
    """Where [m, left +] the straight line a ball moves on crosses the mouth line; nan if it leads away from it."""
    toward = speed_into(mouth, ball)
    if toward <= 0.0:
        return math.nan
    gap = (mouth.x - ball.x) * mouth.into_x + (mouth.y - ball.y) * mouth.into_y
    x, y = ball.x + ball.vx / toward * gap, ball.y + ball.vy / toward * gap
    return -(x - mouth.x) * mouth.into_y + (y - mouth.y) * mouth.into_x


@kernel
def crossing_within(mouth: Mouth, ball: BallState, rates: Motion, law: ClothLaw, length: float) -> tuple[bool, float]:
    """Whether a ball crosses the mouth line within ``length`` [s] of a piece, and where.

    If it does not, where the line on which it last moved would cross.
    """
    depth = depth_in(mouth, ball)
    half_rate = 0.5 * (rates.ax * mouth.into_x + rates.ay * mouth.into_y)
    wait = quadratic_fall(-depth, -speed_into(mouth, ball), -half_rate, length) if depth < 0.0 else math.inf
    crosses = wait <= length
    at = drift(ball, rates, law.spin_deceleration, wait if crosses else LAST_MOMENT * length)
    return crosses, crossing_ahead(mouth, at)


@kernel
def crossing_by(mouth: Mouth, ball: BallState, radius: float, law: ClothLaw, length: float) -> float:
    """Where [m, left +] a ball, left alone for ``length`` [s], crosses the mouth line; nan if it never heads there.

    The true crossing if it comes by then; else that of the straight line on
    which the ball last moved.
    """
    crossing = math.nan
    for _ in range(2):
        rates = motion(ball, radius, law)
        if length <= 0.0 or (rates.phase != SLIDING and rates.phase != ROLLING):
            break
        crosses, crossing = crossing_within(mouth, ball, rates, law, min(length, rates.duration))
        if crosses:
            break
        length -= rates.duration
        ball = phase_end(rates.phase, drift(ball, rates, law.spin_deceleration, rates.duration), radius)
    return crossing


@kernel
def leaves_mouth(mouth: Mouth, ball: BallState) -> bool:
    """True if a ball that has just bounced is outside the mouth line and moving away from it."""
    return depth_in(mouth, ball) < 0.0 and speed_into(mouth, ball) < 0.0


@kernel
def strike_along(run: Run, shot: Shot, heading: float, setup: Setup) -> None:
    """Set the layout going with the cue ball struck along ``heading`` [rad]."""
    for i in range(shot.layout.shape[0]):
        for k in range(7):
            shot.start[i, k] = shot.layout[i, k]
    x, y = float(shot.layout[0, 0]), float(shot.layout[0, 1])
    put_ball(shot.start, 0, 0, along_heading(shot.launch, heading, x, y))
    set_going(run, shot.start, setup)


@kernel
def last_partner(events: Matrix, counts: Counts, ball: int) -> int:
    """The ball that ``ball`` has just met, -1 if its last event was no ball.

    Of several met at one instant the first listed; the others may be pairs
    without it.
    """
    row = counts[EVENTS] - 1
    t, partner = events[row, E_TIME], -1
    while row >= 0 and events[row, E_TIME] == t and events[row, E_KIND] == BALL_EVENT:
        first, second = int(events[row, E_FIRST]), int(events[row, E_SECOND])
        if first == ball or second == ball:
            partner = second if first == ball else first
        row -= 1
    return partner


@kernel
def fate_of_target(run: Run, shot: Shot, mouth: Mouth, setup: Setup, direction: float) -> Trial:
    """Follow the target ball, just met, to its fate: potted, or away from the pocket."""
    code, crossing, obstacle = MISSES, math.nan, -1
    target, state = shot.target, run.state
    met, met_at = begun(state, target), float(state[target, T0])
    for contact in range(JAW_CONTACTS):
        status = advance(run, math.inf, target, setup)
        if contact == 0:
            length = float(run.clock[0]) - met_at
            crossing = crossing_by(mouth, met, float(setup.balls[target, RADIUS]), setup.laws.cloth, length)
        if status != WATCHED:
            code = SHORT if contact == 0 else MISSES
            break
        event = run.events[run.counts[EVENTS] - 1]
        if event[E_KIND] == DROP_EVENT:
            code = POTS if event[E_ROW] == shot.pocket else MISSES
            break
        other = last_partner(run.events, run.counts, target)
        if other > 0 and contact == 0:
            code, obstacle = TARGET_BLOCKED, other
            break
        ball = begun(state, target)
        far = math.hypot(ball.x - mouth.x, ball.y - mouth.y) > NEAR_MOUTH * mouth.half_width
        if other < 0 and (far or leaves_mouth(mouth, ball)):
            break
    return Trial(code, crossing, direction, obstacle, 1 if state[0, PHASE] == POTTED else 0)


@kernel
def try_heading(run: Run, shot: Shot, heading: float, full: bool, setup: Setup) -> Trial:
    """Play the stroke along ``heading`` [rad].

    Unless ``full`` it stops at the balls' contact, with the crossing that the
    free target ball would have: enough to find a root.
    """
    strike_along(run, shot, heading, setup)
    status = advance(run, math.inf, 0, setup)
    other = last_partner(run.events, run.counts, 0) if status == WATCHED else -1
    if other < 0:
        return Trial(NOT_REACHED, math.nan, math.nan, -1, 0)
    if other != shot.target:
        return Trial(CUE_BALL_BLOCKED, math.nan, math.nan, other, 0)
    mouth = mouth_of(setup.edge, shot.pocket)
    ball = begun(run.state, other)
    x, y = float(shot.layout[other, 0]), float(shot.layout[other, 1])
    direction = turn_within(math.atan2(ball.vy, ball.vx) - math.atan2(mouth.y - y, mouth.x - x))
    if full:
        return fate_of_target(run, shot, mouth, setup, direction)
    crossing = crossing_by(mouth, ball, float(setup.balls[other, RADIUS]), setup.laws.cloth, math.inf)
    return Trial(MISSES, crossing, direction, -1, 0)
