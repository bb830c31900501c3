"""Which heading of the cue pots the target ball?  The engine asked again and again.

:func:`try_heading` plays one stroke along one heading until the target ball's
fate is known; window.py finds the headings that pot it.  The cue ball has to
reach the target ball straight, with no ball or cushion before it.

A target ball in the jaws is aimed at a line deeper than the mouth
(:func:`gate_of`); one frozen to balls or a rail first parts from them
(:func:`part_from_neighbours`), and its direction is the one it then has.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .cloth import drift, motion, phase_end
from .columns import (
    BALL_EVENT,
    DROP_EVENT,
    E_EDGE,
    E_FIRST,
    E_KIND,
    E_ROW,
    E_SECOND,
    E_TIME,
    EVENTS,
    NOSE_DISTANCE,
    PHASE,
    RADIUS,
    T0,
    WATCHED,
)
from .constants import FROZEN_M, POTTED, ROLLING, SLIDING, TOUCH_M
from .contact_time import quadratic_fall
from .edge import NOSES
from .engine import advance, set_going
from .jit import kernel
from .pieces import begun, contact_reach, put_ball, row_ball
from .pocket import DROP, LINE, foot_on_line
from .records import BallState, ClothLaw, Counts, Edge, Matrix, Motion, Run, Setup
from .strike import along_heading

# Codes of a trial.
POTS, MISSES, SHORT, TARGET_BLOCKED, CUE_BALL_BLOCKED, NOT_REACHED = range(6)

JAW_CONTACTS = 6  # contacts of the target ball that are followed before the shot counts as missed
NEAR_MOUTH = 4.0  # half mouths from the mouth's centre within which a ball that met the edge may still drop
LAST_MOMENT = 0.999999  # of a phase: when a ball that stops still has a direction


class Mouth(NamedTuple):
    """A pocket's mouth line, or the gate that stands for it: centre, unit vector into the pocket, half its width."""

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

    Its ``code``; ``crossing``, where the target ball crosses its gate (:func:`gate_of`)
    [m, left + as it sees it] or would cross it on the line on which it left the
    cue ball and what it was frozen to; ``direction`` off the line to the gate's
    centre [rad, left +]; both nan where the target ball is not met or stays
    where it is.  ``obstacle`` is the ball in the way, -1 for none; ``scratch`` 1
    if the cue ball had dropped by then.
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
def depth_in(mouth: Mouth, x: float, y: float) -> float:
    """How far [m] a ball's centre is beyond the mouth line; negative before it."""
    return (x - mouth.x) * mouth.into_x + (y - mouth.y) * mouth.into_y


@kernel
def gate_of(edge: Edge, pocket: int, x: float, y: float, nose_distance: float) -> Mouth:
    """The line at which a ball that lies at (x, y) is aimed for a pocket, and on which its miss is measured.

    The mouth line; but once the ball's front, ``nose_distance`` [m] before its
    centre as a nose would meet it, is over that line, a line parallel to it and
    twice as deep as the front.  So the gate is never nearer to the centre than
    ``nose_distance``, and moves without a jump; no ball at a rail beside the
    pocket reaches over the line.
    """
    mouth = mouth_of(edge, pocket)
    front = depth_in(mouth, x, y) + nose_distance - TOUCH_M
    if front <= 0.0:
        return mouth
    x, y = mouth.x + 2.0 * front * mouth.into_x, mouth.y + 2.0 * front * mouth.into_y
    return Mouth(x, y, mouth.into_x, mouth.into_y, mouth.half_width)


@kernel
def gate_for(shot: Shot, setup: Setup) -> Mouth:
    """The gate of a stroke's target ball."""
    place = shot.layout[shot.target]
    nose_distance = float(setup.balls[shot.target, NOSE_DISTANCE])
    return gate_of(setup.edge, shot.pocket, float(place[0]), float(place[1]), nose_distance)


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
    depth = depth_in(mouth, ball.x, ball.y)
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
    return depth_in(mouth, ball.x, ball.y) < 0.0 and speed_into(mouth, ball) < 0.0


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
def last_partner(events: Matrix, counts: Counts, ball: int, rather: int, since: int) -> int:
    """The ball that ``ball`` has just met, -1 if its last event was no ball; only events from row ``since`` on count.

    Of several met at one instant ``rather``, if it is one of them, else the
    first listed; there may be pairs without ``ball`` among them.
    """
    row = counts[EVENTS] - 1
    t, partner = events[row, E_TIME], -1
    while row >= since and events[row, E_TIME] == t and events[row, E_KIND] == BALL_EVENT:
        first, second = int(events[row, E_FIRST]), int(events[row, E_SECOND])
        if (first == ball or second == ball) and (partner < 0 or partner != rather):
            partner = second if first == ball else first
        row -= 1
    return partner


@kernel
def rail_beside(edge: Edge, x: float, y: float, nose_distance: float) -> int:
    """The row of the nose to which a ball at (x, y) is frozen, or as good; -1 for none."""
    for row in range(len(NOSES)):
        nx, ny = edge.lines[row, 5], edge.lines[row, 6]
        gap = (x - edge.lines[row, 0]) * nx + (y - edge.lines[row, 1]) * ny - nose_distance
        if gap <= FROZEN_M and foot_on_line(x, y, edge.lines, row):
            return row
    return -1


@kernel
def rail_for(shot: Shot, setup: Setup) -> int:
    """The row of the nose to which a stroke's target ball is frozen; -1 for none."""
    place = shot.layout[shot.target]
    return rail_beside(setup.edge, float(place[0]), float(place[1]), float(setup.balls[shot.target, NOSE_DISTANCE]))


@kernel
def are_frozen(first: BallState, second: BallState, apart: float) -> bool:
    """True if two balls, ``apart`` from centre to centre [m] when they touch, are frozen, or as good."""
    return math.hypot(second.x - first.x, second.y - first.y) - apart <= FROZEN_M


@kernel
def parts_next(run: Run, shot: Shot, until: float, rail: int, setup: Setup) -> bool:
    """True if the target ball, as far as is known, next meets a ball or rail to which it was frozen.

    A jaw counts if it comes by ``until``, the cue ball if it comes at once.
    """
    target, other, touch = shot.target, -1, math.inf
    for ball in range(run.state.shape[0]):
        if run.pair_times[target, ball] < touch:
            other, touch = ball, float(run.pair_times[target, ball])
    edge, kind, row = float(run.edge_times[target, 0]), int(run.edge_times[target, 1]), int(run.edge_times[target, 2])
    if edge <= touch:
        return bool(edge < math.inf and kind != DROP and (edge <= until or (kind == LINE and row == rail)))
    if other == 0:
        return touch <= float(run.clock[0])
    apart = contact_reach(setup.balls, target, other)
    return are_frozen(row_ball(shot.layout, target, 0), row_ball(shot.layout, other, 0), apart)


@kernel
def part_from_neighbours(run: Run, shot: Shot, rail: int, setup: Setup) -> int:
    """Let the target ball, just struck, push off what it was frozen to; returns the ball last pushed, -1 for none."""
    ball, pushed = begun(run.state, shot.target), -1
    speed = math.hypot(ball.vx, ball.vy)
    until = float(run.clock[0]) + (FROZEN_M / speed if speed > 0.0 else 0.0)
    since = int(run.counts[EVENTS])
    while parts_next(run, shot, until, rail, setup) and advance(run, math.inf, shot.target, setup) == WATCHED:
        other = last_partner(run.events, run.counts, shot.target, -1, since)
        since = int(run.counts[EVENTS])
        pushed = other if other > 0 else pushed
    return pushed


@kernel
def is_lost(mouth: Mouth, ball: BallState) -> bool:
    """True if a ball that has just bounced will not drop: far from the mouth, or leaving it."""
    return math.hypot(ball.x - mouth.x, ball.y - mouth.y) > NEAR_MOUTH * mouth.half_width or leaves_mouth(mouth, ball)


@kernel
def follow_target(run: Run, shot: Shot, pushed: int, rail: int, setup: Setup) -> tuple[int, int, float]:
    """Follow the target ball until it is potted or lost: (code, ball in the way or -1, crossing).

    The first ball it meets stops it, unless it has just ``pushed`` that one; it
    may run along its ``rail``.
    """
    mouth, gate, target, state = mouth_of(setup.edge, shot.pocket), gate_for(shot, setup), shot.target, run.state
    crossing, obstacle, contact = math.nan, -1, 0
    met, met_at = begun(state, target), float(state[target, T0])
    while contact < JAW_CONTACTS:
        since = int(run.counts[EVENTS])
        status = advance(run, math.inf, target, setup)
        if contact == 0:
            length = float(run.clock[0]) - met_at
            crossing = crossing_by(gate, met, float(setup.balls[target, RADIUS]), setup.laws.cloth, length)
        if status != WATCHED:
            return SHORT if contact == 0 else MISSES, obstacle, crossing
        event = run.events[run.counts[EVENTS] - 1]
        if event[E_KIND] == DROP_EVENT:
            return POTS if event[E_ROW] == shot.pocket else MISSES, obstacle, crossing
        other = last_partner(run.events, run.counts, target, -1, since)
        if contact == 0 and int(event[E_EDGE]) == LINE and int(event[E_ROW]) == rail:
            met, met_at = begun(state, target), float(state[target, T0])
            continue
        if other > 0 and contact == 0:
            obstacle = other
            if other != pushed:
                return TARGET_BLOCKED, obstacle, crossing
        if other < 0 and is_lost(mouth, begun(state, target)):
            break
        contact += 1
    return MISSES, obstacle, crossing


@kernel
def scratched(run: Run) -> int:
    """1 if the cue ball has dropped, else 0."""
    return 1 if run.state[0, PHASE] == POTTED else 0


@kernel
def fate_of_target(run: Run, shot: Shot, pushed: int, rail: int, direction: float, setup: Setup) -> Trial:
    """What becomes of the target ball, just struck and parted from its neighbours.

    A neighbour it ``pushed`` is in its way if it then misses, and was not on
    its way between the jaws or met that neighbour again.
    """
    code, obstacle, crossing = follow_target(run, shot, pushed, rail, setup)
    on_its_way = abs(crossing) <= mouth_of(setup.edge, shot.pocket).half_width
    if pushed > 0 and (code == SHORT or code == MISSES) and (obstacle > 0 or not on_its_way):
        code, obstacle = TARGET_BLOCKED, pushed
    return Trial(code, crossing, direction, obstacle if code == TARGET_BLOCKED else -1, scratched(run))


@kernel
def try_heading(run: Run, shot: Shot, heading: float, full: bool, setup: Setup) -> Trial:
    """Play the stroke along ``heading`` [rad].

    Unless ``full`` it stops when the target ball has left the cue ball and what
    it was frozen to, with the crossing that it would have if it were free:
    enough to find a root; its code is then MISSES, its obstacle the ball pushed.
    """
    strike_along(run, shot, heading, setup)
    status, target = advance(run, math.inf, 0, setup), shot.target
    other = last_partner(run.events, run.counts, 0, target, 0) if status == WATCHED else -1
    if other < 0:
        return Trial(NOT_REACHED, math.nan, math.nan, -1, 0)
    if other != target:
        return Trial(CUE_BALL_BLOCKED, math.nan, math.nan, other, 0)
    x, y = float(shot.layout[target, 0]), float(shot.layout[target, 1])
    gate, rail = gate_for(shot, setup), rail_for(shot, setup)
    pushed = part_from_neighbours(run, shot, rail, setup)
    ball, direction = begun(run.state, target), math.nan
    if ball.vx != 0.0 or ball.vy != 0.0:
        direction = turn_within(math.atan2(ball.vy, ball.vx) - math.atan2(gate.y - y, gate.x - x))
    if full:
        return fate_of_target(run, shot, pushed, rail, direction, setup)
    crossing = crossing_by(gate, ball, float(setup.balls[target, RADIUS]), setup.laws.cloth, math.inf)
    return Trial(MISSES, crossing, direction, pushed, 0)
