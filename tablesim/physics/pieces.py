"""A ball's present piece of motion, what is written of it, and what it will meet next."""

from __future__ import annotations

import math

from .ball_ball import contact_distance
from .cloth import drift, motion
from .columns import (
    AX,
    AY,
    BX,
    BY,
    E_EDGE,
    E_FIRST,
    E_KIND,
    E_NX,
    E_NY,
    E_ROW,
    E_SECOND,
    E_TIME,
    EVENT_COLUMNS,
    EVENTS,
    NOSE_DISTANCE,
    PHASE,
    PIECES,
    RADIUS,
    STATE_COLUMNS,
    T0,
    T_END,
    VX,
    VY,
    WX,
    WY,
    WZ,
    X,
    Y,
)
from .constants import POTTED, REST, SPINNING
from .contact_time import Course, meeting_time
from .jit import kernel
from .pocket import edge_time
from .records import BallState, Matrix, Motion, Run, Setup

MAX_TIME_S = 7200.0  # nothing is looked for farther ahead: the slowest gear lets a ball spin for half an hour
STOPPED = Motion(POTTED, 0.0, 0.0, 0.0, 0.0, math.inf)  # of a ball that has dropped


@kernel
def row_ball(rows: Matrix, row: int, column: int) -> BallState:
    """The ball whose seven numbers stand in a row from ``column`` on."""
    r, i, k = rows, row, column
    return BallState(
        float(r[i, k]), float(r[i, k + 1]), float(r[i, k + 2]), float(r[i, k + 3]), float(r[i, k + 4]),
        float(r[i, k + 5]), float(r[i, k + 6]),
    )  # fmt: skip


@kernel
def put_ball(rows: Matrix, row: int, column: int, ball: BallState) -> None:
    """Write a ball's seven numbers into a row from ``column`` on."""
    for k in range(7):
        rows[row, column + k] = ball[k]


@kernel
def begun(state: Matrix, i: int) -> BallState:
    """Ball i at the beginning of its piece."""
    return BallState(
        float(state[i, X]), float(state[i, Y]), float(state[i, VX]), float(state[i, VY]),
        float(state[i, WX]), float(state[i, WY]), float(state[i, WZ]),
    )  # fmt: skip


@kernel
def rates_of(state: Matrix, i: int) -> Motion:
    """The rates of ball i's piece."""
    return Motion(
        int(state[i, PHASE]), float(state[i, AX]), float(state[i, AY]), float(state[i, BX]), float(state[i, BY]),
        float(state[i, T_END] - state[i, T0]),
    )  # fmt: skip


@kernel
def ball_at(state: Matrix, i: int, t: float, spin_deceleration: float) -> BallState:
    """Ball i at time t of its present piece."""
    return drift(begun(state, i), rates_of(state, i), spin_deceleration, t - float(state[i, T0]))


@kernel
def write_piece(run: Run, i: int, t: float, ball: BallState, rates: Motion) -> None:
    """Make this ball i's present piece, from time t on, and add it to the track."""
    state, pieces, row = run.state, run.pieces, run.counts[PIECES]
    state[i, T0], state[i, X], state[i, Y], state[i, VX], state[i, VY] = t, ball.x, ball.y, ball.vx, ball.vy
    state[i, AX], state[i, AY], state[i, WX], state[i, WY], state[i, WZ] = rates.ax, rates.ay, ball.wx, ball.wy, ball.wz
    state[i, BX], state[i, BY], state[i, PHASE], state[i, T_END] = rates.bx, rates.by, rates.phase, t + rates.duration
    pieces[row, 0] = i
    for column in range(STATE_COLUMNS):
        pieces[row, 1 + column] = state[i, column]
    run.counts[PIECES] += 1


@kernel
def begin_piece(run: Run, i: int, t: float, ball: BallState, setup: Setup) -> None:
    """Anchor ball i at time t, and write the piece into the track."""
    rates = motion(ball, float(setup.balls[i, RADIUS]), setup.laws.cloth)
    if rates.phase == REST:
        ball = BallState(ball.x, ball.y, 0.0, 0.0, 0.0, 0.0, 0.0)
    elif rates.phase == SPINNING:
        ball = BallState(ball.x, ball.y, 0.0, 0.0, 0.0, 0.0, ball.wz)
    write_piece(run, i, t, ball, rates)


@kernel
def stands(state: Matrix, i: int) -> bool:
    """True if ball i stays where it is for the rest of its piece."""
    return bool(state[i, PHASE] == REST or state[i, PHASE] == SPINNING)


@kernel
def contact_reach(balls: Matrix, i: int, j: int) -> float:
    """Distance [m], seen from above, between the centres of balls i and j when they touch."""
    return contact_distance(float(balls[i, RADIUS]), float(balls[j, RADIUS]))


@kernel
def pair_time(state: Matrix, i: int, j: int, t: float, distance: float, spin_deceleration: float) -> float:
    """Time at which balls i and j next come within ``distance``, as their pieces stand at time t; inf if not."""
    if state[i, PHASE] == POTTED or state[j, PHASE] == POTTED or (stands(state, i) and stands(state, j)):
        return math.inf
    a, b = ball_at(state, i, t, spin_deceleration), ball_at(state, j, t, spin_deceleration)
    apart = Course(
        b.x - a.x,
        b.y - a.y,
        b.vx - a.vx,
        b.vy - a.vy,
        float(state[j, AX]) - float(state[i, AX]),
        float(state[j, AY]) - float(state[i, AY]),
        min(float(state[i, T_END]), float(state[j, T_END]), t + MAX_TIME_S) - t,
    )
    return t + meeting_time(apart, distance)


@kernel
def course_of(state: Matrix, i: int, t: float, spin_deceleration: float) -> Course:
    """Where ball i goes from time t to the end of its piece."""
    ball = ball_at(state, i, t, spin_deceleration)
    horizon = min(float(state[i, T_END]), t + MAX_TIME_S) - t
    return Course(ball.x, ball.y, ball.vx, ball.vy, float(state[i, AX]), float(state[i, AY]), horizon)


@kernel
def look_ahead(run: Run, i: int, t: float, setup: Setup) -> None:
    """Renew what is known of ball i's future: its contacts with each ball and with the edge."""
    state, edge_times, pair_times, balls = run.state, run.edge_times, run.pair_times, setup.balls
    spin = setup.laws.cloth.spin_deceleration
    for j in range(state.shape[0]):
        if j != i:
            when = pair_time(state, i, j, t, contact_reach(balls, i, j), spin)
            pair_times[i, j] = when
            pair_times[j, i] = when
    edge_times[i, 0] = math.inf
    if state[i, VX] != 0.0 or state[i, VY] != 0.0 or state[i, AX] != 0.0 or state[i, AY] != 0.0:
        wait, kind, row = edge_time(course_of(state, i, t, spin), float(balls[i, NOSE_DISTANCE]), setup.edge)
        edge_times[i, 0], edge_times[i, 1], edge_times[i, 2] = t + wait, kind, row


@kernel
def open_event(
    run: Run, t: float, kind: int, first: int, second: int, edge: tuple[int, int], n: tuple[float, float]
) -> int:
    """Begin the next event row with everything but the states, and return the row.

    ``edge`` is what was met and its row in that table, ``n`` the unit normal.
    """
    events, row = run.events, int(run.counts[EVENTS])
    for column in range(EVENT_COLUMNS):
        events[row, column] = 0.0
    events[row, E_TIME], events[row, E_KIND], events[row, E_FIRST], events[row, E_SECOND] = t, kind, first, second
    events[row, E_EDGE], events[row, E_ROW], events[row, E_NX], events[row, E_NY] = edge[0], edge[1], n[0], n[1]
    run.counts[EVENTS] += 1
    return row
