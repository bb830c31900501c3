"""Which heading of the cue pots the target ball?  The engine asked again and again.

:func:`try_heading` plays one stroke along one heading: it pots if the target
ball ends in its pocket, by any way.  :func:`begin_heading` is the direct way
alone, until the target ball's fate on it is known: the cue ball has to reach the
target ball straight, with no ball or cushion before it.  potting.py finds the
headings that pot.

A target ball frozen to balls or a rail first parts from them
(:func:`part_from_neighbours`), and its direction is the one it then has.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .aim import (
    Mouth,
    are_frozen,
    crossing_by,
    gate_at,
    is_lost,
    mouth_of,
    rail_beside,
    turn_within,
)
from .columns import (
    BALL_EVENT,
    BUFFER_FULL,
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
    PIECES,
    RADIUS,
    T0,
    WATCHED,
    X,
    Y,
)
from .constants import FROZEN_M, POTTED
from .engine import advance, set_going
from .jit import kernel
from .pieces import begun, contact_reach, put_ball, row_ball
from .pocket import DROP, LINE
from .records import BallState, Counts, Matrix, Run, Setup
from .strike import along_heading

# Codes of a trial.
POTS, MISSES, SHORT, TARGET_BLOCKED, CUE_BALL_BLOCKED, NOT_REACHED = range(6)

JAW_CONTACTS = 6  # contacts of the target ball that are followed before the direct way counts as missed


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

    Its ``code``; ``crossing``, where the target ball crosses its gate (:func:`gate_at`)
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
def gate_for(shot: Shot, setup: Setup) -> Mouth:
    """The gate of a stroke's target ball."""
    place = shot.layout[shot.target]
    nose_distance = float(setup.balls[shot.target, NOSE_DISTANCE])
    return gate_at(setup.edge, shot.pocket, float(place[0]), float(place[1]), nose_distance)


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
def rail_for(shot: Shot, setup: Setup) -> int:
    """The row of the nose to which a stroke's target ball is frozen; -1 for none."""
    place = shot.layout[shot.target]
    return rail_beside(setup.edge, float(place[0]), float(place[1]), float(setup.balls[shot.target, NOSE_DISTANCE]))


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
def play_on(run: Run, watch: int, setup: Setup) -> int:
    """To the next contact of ball ``watch`` or, for -1, to the end of the shot, over the old track if that is full."""
    status = advance(run, math.inf, watch, setup)
    while status == BUFFER_FULL:
        run.counts[PIECES] = run.counts[EVENTS] = 0
        status = advance(run, math.inf, watch, setup)
    return status


@kernel
def drops_in(run: Run, shot: Shot, setup: Setup) -> bool:
    """Whether the target ball ends in its pocket, by whatever way: the shot played on until it drops or all is over."""
    target, mouths = shot.target, setup.edge.mouths
    while run.state[target, PHASE] != POTTED:
        if play_on(run, target, setup) != WATCHED:
            return False
    x, y = run.state[target, X], run.state[target, Y]
    nearest, best = -1, math.inf
    for pocket in range(mouths.shape[0]):
        gap = math.hypot(x - mouths[pocket, 0], y - mouths[pocket, 1])
        if gap < best:
            nearest, best = pocket, gap
    return nearest == shot.pocket


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
def begin_heading(run: Run, shot: Shot, heading: float, full: bool, setup: Setup) -> Trial:
    """The direct way of :func:`try_heading`: no pot but by it, the code where it fails."""
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


@kernel
def try_heading(run: Run, shot: Shot, heading: float, full: bool, setup: Setup) -> Trial:
    """Play the stroke along ``heading`` [rad].

    It POTS if the target ball drops in its pocket by any way in the end: off a
    jaw, along a rail, the cue ball off a rail first.  Otherwise the code says
    where the direct way failed.  Unless ``full`` it stops when the target ball
    has left the cue ball and what it was frozen to, with the crossing that it
    would have if it were free: enough to find a root; its code is then MISSES,
    its obstacle the ball pushed.
    """
    trial = begin_heading(run, shot, heading, full, setup)
    if full and trial.code != POTS and drops_in(run, shot, setup):
        return Trial(POTS, trial.crossing, trial.direction, -1, scratched(run))
    return trial
