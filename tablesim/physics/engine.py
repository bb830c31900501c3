"""The engine: exact events, any number of balls, any frame length.

Between events every ball moves in closed form (cloth.py).  An event is the end
of a phase, a ball meeting the table's edge (pocket.py, cushion.py) or balls
meeting each other (contact_time.py, ball_ball.py).  Events are found ahead, in
absolute time, and taken in order; :func:`advance` goes up to any given time and
stops there without touching a ball, so how a shot is cut into frames cannot
change it, not by one bit.

Simultaneous contacts.  Balls nearer than TOUCH_M count as touching.  All
touching pairs that are closing at the instant of an impact are struck together
(Moreau's impact law: every pair parts at e times its closing speed or faster,
impulses only push); pairs that come to close as a result are struck in the next
round, at the same instant.  So a shock runs through a line of frozen balls and
a symmetric rack breaks symmetrically.

Settling.  A contact that closes slower than SETTLE_M_S does not bounce, so that
the endless shrinking bounces of exact contacts come to an end.  A slip with which
the cloth drives a ball into the contact is taken up at once; then the bodies
keep a common speed along the normal, the chasing ball SETTLE_M_S less, or none
if that speed is below SETTLE_M_S; and a ball slower than SETTLE_M_S stands
still (it would have rolled a few micrometres).  Settling takes energy out; the
parting speed PART_M_S that keeps rounding from joining the bodies again puts
back less than 1e-18 J.

The end.  A shot is over when every ball rests or is potted.  It is cut off, with
a status that says so, after MAX_EVENTS events or MAX_TIME_S seconds.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .cloth import cloth_slip, finish_slip_along, phase_end
from .columns import (
    AT_REST,
    BALL_EVENT,
    BUFFER_FULL,
    CUT_OFF,
    DROP_EVENT,
    E_AFTER,
    E_BEFORE,
    EDGE_EVENT,
    EVENTS,
    HANDLED,
    MU_S,
    PHASE,
    PHASE_EVENT,
    PIECES,
    RADIUS,
    RAIL_FRICTION,
    RAIL_RESTITUTION,
    REACHED,
    SIN_THETA,
    SPIN_DECELERATION,
    T0,
    T_END,
    VX,
    VY,
    WATCHED,
    WX,
    WZ,
)
from .constants import PART_M_S, POTTED, REST, SETTLE_M_S, SPINNING
from .cushion import STEP_ERROR, bounce_cushion
from .jit import kernel
from .pieces import MAX_TIME_S, ball_at, begin_piece, log_ball, look_ahead, open_event, write_piece
from .pocket import DROP, NOTHING, edge_normal
from .together import gather_pairs, strike_pair, strike_together

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

MAX_EVENTS = 50_000


@kernel("void(f8[:,:],i8,f8,f8[:,:],f8[:],f8[:,:],i8[:],f8[:,:])")
def end_phase(
    state: Array, i: int, t: float, balls: Array, laws: Array, pieces: Array, counts: IntArray, events: Array
) -> None:
    """Ball i's phase is over: drop the rounding left of its slip or speed, and begin the next phase."""
    x, y, vx, vy, wx, wy, wz = ball_at(state, i, t, float(laws[SPIN_DECELERATION]))
    phase = int(state[i, PHASE])
    row = counts[EVENTS]
    open_event(events, counts, t, PHASE_EVENT, i, -1, NOTHING, phase, 0.0, 0.0)
    log_ball(events, row, E_BEFORE, (x, y, vx, vy, wx, wy, wz))
    vx, vy, wx, wy = phase_end(phase, vx, vy, wx, wy, float(balls[i, RADIUS]))
    if phase == SPINNING:
        wz = 0.0
    begin_piece(state, i, t, x, y, vx, vy, wx, wy, wz, balls, laws, pieces, counts)
    log_ball(events, row, E_AFTER, (x, y, vx, vy, wx, wy, float(state[i, WZ])))


@kernel("UniTuple(f8,5)(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8[:])")
def meet_cushion(
    vx: float,
    vy: float,
    wx: float,
    wy: float,
    wz: float,
    nx: float,
    ny: float,
    radius: float,
    sin_theta: float,
    laws: Array,
) -> tuple[float, float, float, float, float]:
    """(v_x, v_y, w_x, w_y, w_z) after meeting a cushion of unit normal n (towards the bed): bounced or settled."""
    if -(vx * nx + vy * ny) < SETTLE_M_S:
        ux, uy = cloth_slip(vx, vy, wx, wy, radius)
        if ux * nx + uy * ny > 0.0:  # the cloth drives the ball into the cushion
            vx, vy, wx, wy = finish_slip_along(vx, vy, wx, wy, radius, nx, ny)
        closing = -(vx * nx + vy * ny)
        if closing < SETTLE_M_S:
            vx, vy = vx + (closing + PART_M_S) * nx, vy + (closing + PART_M_S) * ny
            if vx * vx + vy * vy < SETTLE_M_S * SETTLE_M_S:
                return 0.0, 0.0, 0.0, 0.0, wz
            return vx, vy, wx, wy, wz
    # Along the rail X = (-n_y, n_x) turned so that X, Y = -n into it, Z up is right-handed.
    along_x, along_y = -ny, nx
    v_along, v_into, w_along, w_into, w_up = bounce_cushion(
        vx * along_x + vy * along_y, -(vx * nx + vy * ny), wx * along_x + wy * along_y, -(wx * nx + wy * ny), wz,
        radius, sin_theta, float(laws[RAIL_RESTITUTION]), float(laws[RAIL_FRICTION]), float(laws[MU_S]), STEP_ERROR,
    )  # fmt: skip
    return (
        v_along * along_x - v_into * nx,
        v_along * along_y - v_into * ny,
        w_along * along_x - w_into * nx,
        w_along * along_y - w_into * ny,
        w_up,
    )


@kernel("void(f8[:,:],i8,f8,i8,i8,f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],i8[:],f8[:,:])")
def strike_edge(
    state: Array,
    i: int,
    t: float,
    kind: int,
    edge_row: int,
    balls: Array,
    laws: Array,
    lines: Array,
    arcs: Array,
    pieces: Array,
    counts: IntArray,
    events: Array,
) -> None:
    """Ball i meets the edge at time t: it bounces, or drops and is out of play."""
    x, y, vx, vy, wx, wy, wz = ball_at(state, i, t, float(laws[SPIN_DECELERATION]))
    row = counts[EVENTS]
    if kind == DROP:
        open_event(events, counts, t, DROP_EVENT, i, -1, kind, edge_row, 0.0, 0.0)
        log_ball(events, row, E_BEFORE, (x, y, vx, vy, wx, wy, wz))
        log_ball(events, row, E_AFTER, (x, y, 0.0, 0.0, 0.0, 0.0, 0.0))
        write_piece(state, i, t, x, y, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, POTTED, math.inf, pieces, counts)
        return
    nx, ny = edge_normal(x, y, kind, edge_row, lines, arcs)
    open_event(events, counts, t, EDGE_EVENT, i, -1, kind, edge_row, nx, ny)
    log_ball(events, row, E_BEFORE, (x, y, vx, vy, wx, wy, wz))
    vx, vy, wx, wy, wz = meet_cushion(
        vx, vy, wx, wy, wz, nx, ny, float(balls[i, RADIUS]), float(balls[i, SIN_THETA]), laws
    )
    log_ball(events, row, E_AFTER, (x, y, vx, vy, wx, wy, wz))
    begin_piece(state, i, t, x, y, vx, vy, wx, wy, wz, balls, laws, pieces, counts)


@kernel("i8(f8[:,:],i8,i8,f8,f8[:,:],f8[:],f8[:,:],i8[:],f8[:,:],f8[:,:],i8[:,:])")
def strike_balls(
    state: Array,
    first: int,
    second: int,
    t: float,
    balls: Array,
    laws: Array,
    pieces: Array,
    counts: IntArray,
    events: Array,
    now: Array,
    pairs: IntArray,
) -> int:
    """Balls first and second meet at time t, and with them every pair struck at that instant.

    Returns the number of pairs, listed in ``pairs``; writes an event for each.
    """
    spin = float(laws[SPIN_DECELERATION])
    for i in range(state.shape[0]):
        here = ball_at(state, i, t, spin)
        for k in range(7):
            now[i, k] = here[k]
    n_pairs = gather_pairs(now, first, second, pairs, balls, state)
    begun = counts[EVENTS]
    for p in range(n_pairs):
        i, j = pairs[p, 0], pairs[p, 1]
        dx, dy = now[j, 0] - now[i, 0], now[j, 1] - now[i, 1]
        size = math.sqrt(dx * dx + dy * dy)
        open_event(events, counts, t, BALL_EVENT, i, j, NOTHING, -1, float(dx / size), float(dy / size))
        for k in range(7):
            events[begun + p, E_BEFORE + k], events[begun + p, E_BEFORE + 7 + k] = now[i, k], now[j, k]
    if n_pairs == 1:
        strike_pair(now, first, second, balls, laws)
    else:
        strike_together(now, pairs, n_pairs, balls, laws)
    for p in range(n_pairs):
        i, j = pairs[p, 0], pairs[p, 1]
        for k in range(7):
            events[begun + p, E_AFTER + k], events[begun + p, E_AFTER + 7 + k] = now[i, k], now[j, k]
        for side in range(2):
            ball = pairs[p, side]
            same = state[ball, T0] == t and state[ball, VX] == now[ball, 2] and state[ball, VY] == now[ball, 3]
            for k in range(4, 7):
                same = same and state[ball, WX + k - 4] == now[ball, k]
            if not same:
                begin_piece(
                    state, ball, t, float(now[ball, 0]), float(now[ball, 1]), float(now[ball, 2]),
                    float(now[ball, 3]), float(now[ball, 4]), float(now[ball, 5]), float(now[ball, 6]),
                    balls, laws, pieces, counts,
                )  # fmt: skip
    return n_pairs


@kernel("Tuple((f8,i8,i8,i8))(f8[:,:],f8[:,:],f8[:,:])")
def next_event(state: Array, pair_times: Array, edge_times: Array) -> tuple[float, int, int, int]:
    """The earliest event known: (time, kind, first ball, second ball or -1)."""
    best, kind, first, second = math.inf, PHASE_EVENT, -1, -1
    n = state.shape[0]
    for i in range(n):
        for j in range(i + 1, n):
            if pair_times[i, j] < best:
                best, kind, first, second = float(pair_times[i, j]), BALL_EVENT, i, j
        if edge_times[i, 0] < best:
            best, kind, first, second = float(edge_times[i, 0]), EDGE_EVENT, i, -1
        if state[i, T_END] < best:
            best, kind, first, second = float(state[i, T_END]), PHASE_EVENT, i, -1
    return best, kind, first, second


@kernel("i8(f8[:,:],f8[:],f8,i8,f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],i8[:])")
def advance(
    state: Array,
    clock: Array,
    t_stop: float,
    watch: int,
    balls: Array,
    laws: Array,
    lines: Array,
    arcs: Array,
    drops: Array,
    pair_times: Array,
    edge_times: Array,
    pieces: Array,
    events: Array,
    counts: IntArray,
) -> int:
    """Take every event up to ``t_stop`` [s]; ``clock[0]`` is the time reached.

    ``watch`` names a ball: stop right after its next contact, before t_stop; -1
    watches none.  Returns REACHED, AT_REST, WATCHED, CUT_OFF, or BUFFER_FULL
    when the track has no room for another event: give it more and call again.
    """
    n = state.shape[0]
    now, pairs = np.zeros((n, 7)), np.zeros((3 * n, 2), dtype=np.int64)
    while True:
        t, kind, first, second = next_event(state, pair_times, edge_times)
        if t == math.inf:
            clock[0] = max(float(clock[0]), t_stop) if t_stop < math.inf else float(clock[0])
            return AT_REST
        if t > t_stop:
            clock[0] = t_stop
            return REACHED
        if counts[HANDLED] >= MAX_EVENTS or t > MAX_TIME_S:
            return CUT_OFF
        if counts[PIECES] + 2 * n > pieces.shape[0] or counts[EVENTS] + 3 * n > events.shape[0]:
            return BUFFER_FULL
        counts[HANDLED] += 1
        clock[0] = t
        seen = False
        if kind == BALL_EVENT:
            n_pairs = strike_balls(state, first, second, t, balls, laws, pieces, counts, events, now, pairs)
            for p in range(n_pairs):
                seen = seen or pairs[p, 0] == watch or pairs[p, 1] == watch
                for side in range(2):
                    look_ahead(state, pairs[p, side], t, balls, laws, lines, arcs, drops, pair_times, edge_times)
        else:
            if kind == EDGE_EVENT:
                seen = first == watch
                strike_edge(
                    state, first, t, int(edge_times[first, 1]), int(edge_times[first, 2]),
                    balls, laws, lines, arcs, pieces, counts, events,
                )  # fmt: skip
            else:
                end_phase(state, first, t, balls, laws, pieces, counts, events)
            look_ahead(state, first, t, balls, laws, lines, arcs, drops, pair_times, edge_times)
        if seen:
            return WATCHED


@kernel("void(f8[:,:],f8[:,:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],i8[:])")
def set_going(
    start: Array,
    state: Array,
    balls: Array,
    laws: Array,
    lines: Array,
    arcs: Array,
    drops: Array,
    pair_times: Array,
    edge_times: Array,
    pieces: Array,
    counts: IntArray,
) -> None:
    """Put every ball at its starting numbers (x, y, v_x, v_y, w_x, w_y, w_z) at time 0 and look ahead."""
    n = start.shape[0]
    for i in range(n):
        begin_piece(
            state, i, 0.0, float(start[i, 0]), float(start[i, 1]), float(start[i, 2]), float(start[i, 3]),
            float(start[i, 4]), float(start[i, 5]), float(start[i, 6]), balls, laws, pieces, counts,
        )  # fmt: skip
        edge_times[i, 0] = math.inf
        for j in range(n):
            pair_times[i, j] = math.inf
    for i in range(n):
        if state[i, PHASE] != REST:
            look_ahead(state, i, 0.0, balls, laws, lines, arcs, drops, pair_times, edge_times)
