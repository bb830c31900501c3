"""A ball's present piece of motion, what is written of it, and what it will meet next."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .ball_ball import contact_distance
from .cloth import drift, motion
from .columns import (
    AX,
    AY,
    BX,
    BY,
    E_BEFORE,
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
    GRAVITY,
    LENGTH,
    MU_R,
    MU_S,
    NOSE_DISTANCE,
    PHASE,
    PIECES,
    RADIUS,
    SPIN_DECELERATION,
    STATE_COLUMNS,
    T0,
    T_END,
    VX,
    VY,
    WIDTH,
    WX,
    WY,
    WZ,
    X,
    Y,
)
from .constants import POTTED, REST, SPINNING
from .contact_time import meeting_time
from .jit import kernel
from .pocket import edge_time

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

MAX_TIME_S = 600.0  # nothing is looked for farther ahead


@kernel("UniTuple(f8,7)(f8[:,:],i8,f8,f8)")
def ball_at(state: Array, i: int, t: float, spin_deceleration: float) -> tuple[float, ...]:
    """(x, y, v_x, v_y, w_x, w_y, w_z) of ball i at time t of its present piece."""
    return drift(
        float(state[i, X]), float(state[i, Y]), float(state[i, VX]), float(state[i, VY]),
        float(state[i, AX]), float(state[i, AY]), float(state[i, WX]), float(state[i, WY]), float(state[i, WZ]),
        float(state[i, BX]), float(state[i, BY]), spin_deceleration, t - float(state[i, T0]),
    )  # fmt: skip


@kernel("void(f8[:,:],i8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,i8,f8,f8[:,:],i8[:])")
def write_piece(
    state: Array,
    i: int,
    t: float,
    x: float,
    y: float,
    vx: float,
    vy: float,
    ax: float,
    ay: float,
    wx: float,
    wy: float,
    wz: float,
    bx: float,
    by: float,
    phase: int,
    t_end: float,
    pieces: Array,
    counts: IntArray,
) -> None:
    """Set ball i's state row and append it to the track."""
    state[i, T0], state[i, X], state[i, Y], state[i, VX], state[i, VY] = t, x, y, vx, vy
    state[i, AX], state[i, AY], state[i, WX], state[i, WY], state[i, WZ] = ax, ay, wx, wy, wz
    state[i, BX], state[i, BY], state[i, PHASE], state[i, T_END] = bx, by, phase, t_end
    row = counts[PIECES]
    pieces[row, 0] = i
    for column in range(STATE_COLUMNS):
        pieces[row, 1 + column] = state[i, column]
    counts[PIECES] += 1


@kernel("void(f8[:,:],i8,f8,f8,f8,f8,f8,f8,f8,f8,f8[:,:],f8[:],f8[:,:],i8[:])")
def begin_piece(
    state: Array,
    i: int,
    t: float,
    x: float,
    y: float,
    vx: float,
    vy: float,
    wx: float,
    wy: float,
    wz: float,
    balls: Array,
    laws: Array,
    pieces: Array,
    counts: IntArray,
) -> None:
    """Anchor ball i at time t with this state, and write the piece into the track."""
    phase, ax, ay, bx, by, duration = motion(
        vx, vy, wx, wy, wz, float(balls[i, RADIUS]),
        float(laws[MU_S]), float(laws[MU_R]), float(laws[SPIN_DECELERATION]), float(laws[GRAVITY]),
    )  # fmt: skip
    if phase == REST or phase == SPINNING:
        vx = vy = wx = wy = 0.0
    if phase == REST:
        wz = 0.0
    write_piece(state, i, t, x, y, vx, vy, ax, ay, wx, wy, wz, bx, by, phase, t + duration, pieces, counts)


@kernel("f8(f8[:,:],i8,i8,f8,f8[:,:],f8[:])")
def pair_time(state: Array, i: int, j: int, t: float, balls: Array, laws: Array) -> float:
    """Time of the next contact of balls i and j as their pieces stand at time t; inf if none."""
    if state[i, PHASE] == POTTED or state[j, PHASE] == POTTED:
        return math.inf
    if (state[i, PHASE] == REST or state[i, PHASE] == SPINNING) and (
        state[j, PHASE] == REST or state[j, PHASE] == SPINNING
    ):
        return math.inf
    spin = float(laws[SPIN_DECELERATION])
    a, b = ball_at(state, i, t, spin), ball_at(state, j, t, spin)
    horizon = min(float(state[i, T_END]), float(state[j, T_END]), t + MAX_TIME_S) - t
    wait = meeting_time(
        b[0] - a[0], b[1] - a[1], b[2] - a[2], b[3] - a[3],
        float(state[j, AX]) - float(state[i, AX]), float(state[j, AY]) - float(state[i, AY]),
        contact_distance(float(balls[i, RADIUS]), float(balls[j, RADIUS])), horizon,
    )  # fmt: skip
    return t + wait


@kernel("void(f8[:,:],i8,f8,f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],f8[:,:])")
def look_ahead(
    state: Array,
    i: int,
    t: float,
    balls: Array,
    laws: Array,
    lines: Array,
    arcs: Array,
    drops: Array,
    pair_times: Array,
    edge_times: Array,
) -> None:
    """Renew what is known of ball i's future: its contacts with each ball and with the edge."""
    for j in range(state.shape[0]):
        if j != i:
            when = pair_time(state, i, j, t, balls, laws)
            pair_times[i, j] = when
            pair_times[j, i] = when
    edge_times[i, 0] = math.inf
    if state[i, VX] != 0.0 or state[i, VY] != 0.0 or state[i, AX] != 0.0 or state[i, AY] != 0.0:
        x, y, vx, vy, _, _, _ = ball_at(state, i, t, float(laws[SPIN_DECELERATION]))
        wait, kind, row = edge_time(
            x, y, vx, vy, float(state[i, AX]), float(state[i, AY]), float(balls[i, NOSE_DISTANCE]),
            float(laws[LENGTH]), float(laws[WIDTH]), lines, arcs, drops,
            min(float(state[i, T_END]), t + MAX_TIME_S) - t,
        )  # fmt: skip
        edge_times[i, 0], edge_times[i, 1], edge_times[i, 2] = t + wait, kind, row


@kernel("void(f8[:,:],i8,i8,UniTuple(f8,7))")
def log_ball(events: Array, row: int, column: int, ball: tuple[float, ...]) -> None:
    """Write a ball's seven numbers into an event row from ``column`` on."""
    for n in range(7):
        events[row, column + n] = ball[n]


@kernel("void(f8[:,:],i8[:],f8,i8,i8,i8,i8,i8,f8,f8)")
def open_event(
    events: Array,
    counts: IntArray,
    t: float,
    kind: int,
    first: int,
    second: int,
    edge_kind: int,
    edge_row: int,
    nx: float,
    ny: float,
) -> None:
    """Begin the next event row with everything but the states."""
    row = counts[EVENTS]
    events[row, E_TIME], events[row, E_KIND], events[row, E_FIRST], events[row, E_SECOND] = t, kind, first, second
    events[row, E_EDGE], events[row, E_ROW], events[row, E_NX], events[row, E_NY] = edge_kind, edge_row, nx, ny
    for column in range(E_BEFORE, EVENT_COLUMNS):
        events[row, column] = 0.0
    counts[EVENTS] += 1
