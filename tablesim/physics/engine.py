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

from .ball_ball import collide_balls, contact_distance, rub_balls
from .cloth import cloth_slip, drift, finish_slip_along, motion, phase_end
from .constants import PART_M_S, POTTED, REST, SETTLE_M_S, SPINNING, TOUCH_M
from .contact_time import meeting_time
from .cushion import STEP_ERROR, bounce_cushion
from .jit import kernel
from .pocket import DROP, NOTHING, edge_normal, edge_time

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Columns of the state, one row a ball: its present piece of motion, anchored at T0.
T0, X, Y, VX, VY, AX, AY, WX, WY, WZ, BX, BY, PHASE, T_END = range(14)
STATE_COLUMNS = 14
# Columns of the track's pieces: the ball, then its state row.
PIECE_COLUMNS = 1 + STATE_COLUMNS
# Columns of ``balls``.
MASS, RADIUS, NOSE_DISTANCE, SIN_THETA = range(4)
# Entries of ``laws``.
(
    MU_S, MU_R, SPIN_DECELERATION, GRAVITY,
    BALL_RESTITUTION, FRICTION_A, FRICTION_B, FRICTION_C, CONDITION,
    RAIL_RESTITUTION, RAIL_FRICTION, LENGTH, WIDTH,
) = range(13)  # fmt: skip
LAW_COUNT = 13

# Kinds of event.
PHASE_EVENT, EDGE_EVENT, BALL_EVENT, DROP_EVENT = 0, 1, 2, 3
# Columns of an event: time, kind, first ball, second ball (or -1), edge kind, edge row, unit normal,
# then the seven-number states of first and second ball before, and after.
E_TIME, E_KIND, E_FIRST, E_SECOND, E_EDGE, E_ROW, E_NX, E_NY, E_BEFORE, E_AFTER = 0, 1, 2, 3, 4, 5, 6, 7, 8, 22
EVENT_COLUMNS = 36

# Entries of ``counts``.
PIECES, EVENTS, HANDLED = 0, 1, 2
# What advance() answers.
REACHED, AT_REST, WATCHED, BUFFER_FULL, CUT_OFF = 0, 1, 2, 3, 4

MAX_EVENTS = 50_000
MAX_TIME_S = 600.0
IMPACT_ROUNDS = 400  # iterations of the simultaneous impact, far more than it takes


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


@kernel("f8(f8[:,:],i8,i8,f8[:,:],f8)")
def closing_speed(now: Array, i: int, j: int, balls: Array, touch: float) -> float:
    """Speed [m/s] at which touching balls i and j approach; -1 if they do not touch or part.

    ``now`` holds each ball's seven numbers.
    """
    dx, dy = now[j, 0] - now[i, 0], now[j, 1] - now[i, 1]
    distance = contact_distance(float(balls[i, RADIUS]), float(balls[j, RADIUS]))
    size2 = dx * dx + dy * dy
    if size2 > (distance + touch) * (distance + touch):
        return -1.0
    closing = ((now[i, 2] - now[j, 2]) * dx + (now[i, 3] - now[j, 3]) * dy) / math.sqrt(size2)
    return closing if closing > 0.0 else -1.0


@kernel("void(f8[:,:],i8,i8,f8,f8,f8[:,:])")
def settle_pair(now: Array, i: int, j: int, nx: float, ny: float, balls: Array) -> None:
    """Take up at once the slips with which the cloth drives two all but resting balls together."""
    for side in range(2):
        ball = i if side == 0 else j
        towards = 1.0 if side == 0 else -1.0
        radius = float(balls[ball, RADIUS])
        vx, vy, wx, wy = float(now[ball, 2]), float(now[ball, 3]), float(now[ball, 4]), float(now[ball, 5])
        ux, uy = cloth_slip(vx, vy, wx, wy, radius)
        if towards * (ux * nx + uy * ny) < 0.0:
            now[ball, 2], now[ball, 3], now[ball, 4], now[ball, 5] = finish_slip_along(vx, vy, wx, wy, radius, nx, ny)


@kernel("void(f8[:,:],i8,i8,f8,f8,f8)")
def rest_together(now: Array, i: int, j: int, nx: float, ny: float, common: float) -> None:
    """Finish a settled pair whose common speed along n, from i to j, is ``common``."""
    # The change of each ball's speed along n.
    if common > SETTLE_M_S:
        first, second = -SETTLE_M_S, 0.0
    elif common < -SETTLE_M_S:
        first, second = 0.0, SETTLE_M_S
    else:
        first, second = -common - 0.5 * PART_M_S, -common + 0.5 * PART_M_S
    for side in range(2):
        ball, change = (i, first) if side == 0 else (j, second)
        now[ball, 2] += change * nx
        now[ball, 3] += change * ny
        if now[ball, 2] * now[ball, 2] + now[ball, 3] * now[ball, 3] < SETTLE_M_S * SETTLE_M_S:
            for k in range(2, 6):
                now[ball, k] = 0.0


@kernel("f8(f8,f8)")
def parting_speed(closing: float, restitution: float) -> float:
    """Speed [m/s] at which two balls part: e times the closing speed, next to nothing when they settle."""
    return PART_M_S if closing < SETTLE_M_S else max(restitution * closing, PART_M_S)


@kernel("void(f8[:,:],i8,i8,f8[:,:],f8[:])")
def strike_pair(now: Array, i: int, j: int, balls: Array, laws: Array) -> None:
    """Impact of one touching, closing pair; changes ``now``."""
    dx, dy = float(now[j, 0] - now[i, 0]), float(now[j, 1] - now[i, 1])
    size = math.sqrt(dx * dx + dy * dy)
    nx, ny = dx / size, dy / size
    closing = float((now[i, 2] - now[j, 2]) * nx + (now[i, 3] - now[j, 3]) * ny)
    settled = closing < SETTLE_M_S
    if settled:
        settle_pair(now, i, j, nx, ny, balls)
        closing = float((now[i, 2] - now[j, 2]) * nx + (now[i, 3] - now[j, 3]) * ny)
        settled = closing < SETTLE_M_S
        if closing <= -PART_M_S:
            return
    after = collide_balls(
        float(now[i, 2]), float(now[i, 3]), float(now[i, 4]), float(now[i, 5]), float(now[i, 6]),
        float(now[j, 2]), float(now[j, 3]), float(now[j, 4]), float(now[j, 5]), float(now[j, 6]),
        nx, ny, parting_speed(closing, float(laws[BALL_RESTITUTION])),
        float(balls[i, MASS]), float(balls[j, MASS]), float(balls[i, RADIUS]), float(balls[j, RADIUS]),
        float(laws[FRICTION_A]), float(laws[FRICTION_B]), float(laws[FRICTION_C]), float(laws[CONDITION]), 1.0,
    )  # fmt: skip
    for n in range(5):
        now[i, 2 + n], now[j, 2 + n] = after[n], after[5 + n]
    if settled:
        rest_together(now, i, j, nx, ny, float(now[j, 2] * nx + now[j, 3] * ny))


@kernel("void(f8[:,:],i8[:,:],i8,f8[:,:],f8[:])")
def strike_together(now: Array, pairs: IntArray, n_pairs: int, balls: Array, laws: Array) -> None:
    """Impact of several touching, closing pairs at one instant; changes ``now``.

    Normal impulses J >= 0 such that every pair parts at no less than e times its
    closing speed, by projected Gauss-Seidel; then the friction that goes with
    each, its grip limit shared among the contacts of the busier ball, so that
    together they take energy out, never put it in.
    """
    n = now.shape[0]
    normal, target, impulse = np.zeros((n_pairs, 2)), np.zeros(n_pairs), np.zeros(n_pairs)
    contacts = np.zeros(n)
    for p in range(n_pairs):
        i, j = pairs[p, 0], pairs[p, 1]
        dx, dy = now[j, 0] - now[i, 0], now[j, 1] - now[i, 1]
        size = math.sqrt(dx * dx + dy * dy)
        normal[p, 0], normal[p, 1] = dx / size, dy / size
        closing = (now[i, 2] - now[j, 2]) * normal[p, 0] + (now[i, 3] - now[j, 3]) * normal[p, 1]
        target[p] = parting_speed(closing, float(laws[BALL_RESTITUTION]))
        contacts[i] += 1.0
        contacts[j] += 1.0
    for _round in range(IMPACT_ROUNDS):
        change = 0.0
        for p in range(n_pairs):
            i, j = pairs[p, 0], pairs[p, 1]
            nx, ny = normal[p, 0], normal[p, 1]
            closing = (now[i, 2] - now[j, 2]) * nx + (now[i, 3] - now[j, 3]) * ny
            step = (closing + target[p]) / (1.0 / balls[i, MASS] + 1.0 / balls[j, MASS])
            step = max(step, -impulse[p])
            impulse[p] += step
            change = max(change, abs(step) / balls[i, MASS])
            now[i, 2] -= step / balls[i, MASS] * nx
            now[i, 3] -= step / balls[i, MASS] * ny
            now[j, 2] += step / balls[j, MASS] * nx
            now[j, 3] += step / balls[j, MASS] * ny
        if change < 1e-15:
            break
    rubbed = now.copy()
    for p in range(n_pairs):
        i, j = pairs[p, 0], pairs[p, 1]
        after = rub_balls(
            float(now[i, 2]), float(now[i, 3]), float(now[i, 4]), float(now[i, 5]), float(now[i, 6]),
            float(now[j, 2]), float(now[j, 3]), float(now[j, 4]), float(now[j, 5]), float(now[j, 6]),
            float(normal[p, 0]), float(normal[p, 1]), float(impulse[p]),
            float(balls[i, MASS]), float(balls[j, MASS]), float(balls[i, RADIUS]), float(balls[j, RADIUS]),
            float(laws[FRICTION_A]), float(laws[FRICTION_B]), float(laws[FRICTION_C]), float(laws[CONDITION]),
            1.0 / float(max(contacts[i], contacts[j])),
        )  # fmt: skip
        for k in range(5):
            rubbed[i, 2 + k] += after[k] - now[i, 2 + k]
            rubbed[j, 2 + k] += after[5 + k] - now[j, 2 + k]
    for i in range(n):
        for k in range(2, 7):
            now[i, k] = rubbed[i, k]


@kernel("i8(f8[:,:],i8,i8,i8[:,:],f8[:,:],f8[:,:])")
def gather_pairs(now: Array, first: int, second: int, pairs: IntArray, balls: Array, state: Array) -> int:
    """Fill ``pairs`` with (first, second) and all touching, closing pairs linked to it; return how many.

    Pairs that are to settle are no impacts: they are taken alone.
    """
    n = now.shape[0]
    pairs[0, 0], pairs[0, 1] = first, second
    count = 1
    if closing_speed(now, first, second, balls, TOUCH_M) < SETTLE_M_S:
        return count
    known = 0
    while known < count:
        a, b = pairs[known, 0], pairs[known, 1]
        known += 1
        for side in range(2):
            member = a if side == 0 else b
            for other in range(n):
                if other == member or state[other, PHASE] == POTTED or count == pairs.shape[0]:
                    continue
                i, j = min(member, other), max(member, other)
                fresh = True
                for p in range(count):
                    if pairs[p, 0] == i and pairs[p, 1] == j:
                        fresh = False
                if fresh and closing_speed(now, i, j, balls, TOUCH_M) >= SETTLE_M_S:
                    pairs[count, 0], pairs[count, 1] = i, j
                    count += 1
    return count


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
