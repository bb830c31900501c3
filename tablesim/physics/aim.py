"""Which heading of the cue pots the target ball?  The engine asked again and again.

:func:`try_heading` plays one stroke along one heading until the target ball's
fate is known; window.py finds the headings that pot it.  The cue ball has to
reach the target ball straight, with no ball or cushion before it.

Numbers of a trial (``TRIAL_NUMBERS``): its code, where the target ball crosses
the mouth line of its pocket [m, left + as it sees it] or would cross it on the
line it left the cue ball on, its direction off the line to the mouth's centre
[rad, left +], the ball or rail in the way (-1 none), and whether the cue ball
had dropped by then.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .cloth import drift, motion, phase_end
from .columns import (
    AX,
    AY,
    BALL_EVENT,
    DROP_EVENT,
    E_FIRST,
    E_KIND,
    E_ROW,
    E_SECOND,
    EVENTS,
    GRAVITY,
    HANDLED,
    MU_R,
    MU_S,
    PHASE,
    PIECES,
    RADIUS,
    SPIN_DECELERATION,
    T0,
    T_END,
    VX,
    VY,
    WATCHED,
    WX,
    WY,
    WZ,
    X,
    Y,
)
from .constants import POTTED, ROLLING, SLIDING
from .contact_time import quadratic_fall
from .engine import advance, set_going
from .jit import kernel
from .pieces import ball_at

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Codes of a trial.
POTS, MISSES, SHORT, TARGET_BLOCKED, CUE_BALL_BLOCKED, NOT_REACHED = range(6)
# Numbers of a trial.
CODE, CROSSING, DIRECTION, OBSTACLE, SCRATCH = range(5)
TRIAL_NUMBERS = 5
# Entries of ``mouth``: centre x, y; unit vector into the pocket x, y; half width (pocket.py).

JAW_CONTACTS = 6  # contacts of the target ball that are followed before the shot counts as missed
NEAR_MOUTH = 4.0  # half mouths from the mouth's centre within which a ball that met the edge may still drop


@kernel("f8(f8)")
def turn_within(angle: float) -> float:
    """The same angle within (-pi, pi]."""
    return math.atan2(math.sin(angle), math.cos(angle))


@kernel("f8(f8[:,:],i8,i8,i8,f8,f8[:],f8)")
def mouth_crossing(
    pieces: Array, first: int, last: int, ball: int, end: float, mouth: Array, spin_deceleration: float
) -> float:
    """Where [m, left +] a ball crosses a mouth line, from its pieces among rows first..last-1 up to time ``end``.

    The true crossing if it comes by then; else that of the straight line on
    which the ball last moved; nan if it never heads there.
    """
    ix, iy = mouth[2], mouth[3]
    crossing = math.nan
    for row in range(first, last):
        if pieces[row, 0] != ball or pieces[row, 1 + T0] >= end:
            continue
        if pieces[row, 1 + PHASE] != SLIDING and pieces[row, 1 + PHASE] != ROLLING:
            continue
        stop = min(end, float(pieces[row, 1 + T_END]))
        for later in range(row + 1, last):
            if pieces[later, 0] == ball:
                stop = min(stop, float(pieces[later, 1 + T0]))
                break
        length = stop - pieces[row, 1 + T0]
        if length <= 0.0:
            continue
        depth = (pieces[row, 1 + X] - mouth[0]) * ix + (pieces[row, 1 + Y] - mouth[1]) * iy
        speed = pieces[row, 1 + VX] * ix + pieces[row, 1 + VY] * iy
        half_rate = 0.5 * (pieces[row, 1 + AX] * ix + pieces[row, 1 + AY] * iy)
        wait = quadratic_fall(-depth, -speed, -half_rate, length) if depth < 0.0 else math.inf
        crosses = wait <= length
        if not crosses:
            wait = 0.999999 * length  # the last moment at which a ball that stops has a direction
        x, y, vx, vy, _, _, _ = ball_at(
            pieces[row : row + 1, 1:], 0, float(pieces[row, 1 + T0]) + wait, spin_deceleration
        )
        toward = vx * ix + vy * iy
        crossing = math.nan
        if toward > 0.0:
            gap = (mouth[0] - x) * ix + (mouth[1] - y) * iy
            crossing = -(x + vx / toward * gap - mouth[0]) * iy + (y + vy / toward * gap - mouth[1]) * ix
        if crosses:
            break
    return crossing


@kernel("b1(f8[:,:],i8,f8[:])")
def leaves_mouth(state: Array, ball: int, mouth: Array) -> bool:
    """True if a ball that has just bounced is outside the mouth line and moving away from it."""
    depth = (state[ball, X] - mouth[0]) * mouth[2] + (state[ball, Y] - mouth[1]) * mouth[3]
    return bool(depth < 0.0 and state[ball, VX] * mouth[2] + state[ball, VY] * mouth[3] < 0.0)


@kernel("f8(f8[:,:],i8,f8[:],f8,f8[:])")
def free_crossing(state: Array, ball: int, mouth: Array, radius: float, laws: Array) -> float:
    """Where [m, left +] a ball, left alone from its state row, crosses a mouth line; nan if it never heads there.

    On the line it is on when it stops, if it stops short.
    """
    ix, iy = mouth[2], mouth[3]
    x, y, vx, vy = state[ball, X], state[ball, Y], state[ball, VX], state[ball, VY]
    wx, wy, wz = state[ball, WX], state[ball, WY], state[ball, WZ]
    spin = laws[SPIN_DECELERATION]
    crossing = math.nan
    for _ in range(2):
        phase, ax, ay, bx, by, duration = motion(
            vx, vy, wx, wy, wz, radius, laws[MU_S], laws[MU_R], spin, laws[GRAVITY]
        )
        if phase != SLIDING and phase != ROLLING:
            break
        depth = (x - mouth[0]) * ix + (y - mouth[1]) * iy
        half_rate = -0.5 * (ax * ix + ay * iy)
        wait = quadratic_fall(-depth, -(vx * ix + vy * iy), half_rate, duration) if depth < 0.0 else math.inf
        crosses = wait <= duration
        if not crosses:
            wait = 0.999999 * duration
        sx, sy, sv, su, _, _, _ = drift(x, y, vx, vy, ax, ay, wx, wy, wz, bx, by, spin, wait)
        toward = sv * ix + su * iy
        crossing = math.nan
        if toward > 0.0:
            gap = (mouth[0] - sx) * ix + (mouth[1] - sy) * iy
            crossing = -(sx + sv / toward * gap - mouth[0]) * iy + (sy + su / toward * gap - mouth[1]) * ix
        if crosses:
            break
        x, y, vx, vy, wx, wy, wz = drift(x, y, vx, vy, ax, ay, wx, wy, wz, bx, by, spin, duration)
        vx, vy, wx, wy = phase_end(phase, vx, vy, wx, wy, radius)
    return crossing


@kernel(
    "void(f8,i8,f8[:],f8[:,:],i8,i8,f8[:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],"
    "f8[:,:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],i8[:],f8[:])"
)
def try_heading(
    heading: float,
    full: int,
    launch: Array,
    layout: Array,
    target: int,
    pocket: int,
    mouth: Array,
    balls: Array,
    laws: Array,
    lines: Array,
    arcs: Array,
    drops: Array,
    start: Array,
    state: Array,
    clock: Array,
    pair_times: Array,
    edge_times: Array,
    pieces: Array,
    events: Array,
    counts: IntArray,
    trial: Array,
) -> None:
    """Play the stroke along ``heading`` [rad] and fill ``trial``.

    ``full`` 0 stops at the balls' contact, with the crossing that the free
    target ball would have: enough to find a root; 1 follows the target ball to
    its fate.
    ``launch`` holds the cue ball's v_x, v_y, w_x, w_y, w_z in the cue's level
    frame, ``layout`` (n, 7) the balls at rest, the cue ball first.  The rest is
    the engine's world and work space.
    """
    ch, sh = math.cos(heading), math.sin(heading)
    for i in range(layout.shape[0]):
        for k in range(7):
            start[i, k] = layout[i, k]
    start[0, 2], start[0, 3] = ch * launch[0] - sh * launch[1], sh * launch[0] + ch * launch[1]
    start[0, 4], start[0, 5] = ch * launch[2] - sh * launch[3], sh * launch[2] + ch * launch[3]
    start[0, 6] = launch[4]
    counts[PIECES] = counts[EVENTS] = counts[HANDLED] = 0
    clock[0] = 0.0
    trial[CODE], trial[CROSSING], trial[DIRECTION], trial[OBSTACLE], trial[SCRATCH] = (
        NOT_REACHED,
        math.nan,
        math.nan,
        -1.0,
        0.0,
    )
    set_going(start, state, balls, laws, lines, arcs, drops, pair_times, edge_times, pieces, counts)
    status = advance(
        state, clock, math.inf, 0, balls, laws, lines, arcs, drops, pair_times, edge_times, pieces, events, counts
    )
    row = counts[EVENTS] - 1
    if status != WATCHED or events[row, E_KIND] != BALL_EVENT:
        return
    other = int(events[row, E_SECOND] if events[row, E_FIRST] == 0 else events[row, E_FIRST])
    if other != target:
        trial[CODE], trial[OBSTACLE] = CUE_BALL_BLOCKED, other
        return
    trial[DIRECTION] = turn_within(
        math.atan2(float(state[target, VY]), float(state[target, VX]))
        - math.atan2(mouth[1] - layout[target, 1], mouth[0] - layout[target, 0])
    )
    trial[CODE] = MISSES
    if not full:
        trial[CROSSING] = free_crossing(state, target, mouth, float(balls[target, RADIUS]), laws)
        return
    first = int(counts[PIECES]) - 2  # both balls have just begun a piece
    for contact in range(JAW_CONTACTS):
        status = advance(
            state, clock, math.inf, target, balls, laws, lines, arcs, drops,
            pair_times, edge_times, pieces, events, counts,
        )  # fmt: skip
        row = counts[EVENTS] - 1
        if contact == 0:
            trial[CROSSING] = mouth_crossing(
                pieces, first, int(counts[PIECES]), target, float(clock[0]), mouth, float(laws[SPIN_DECELERATION])
            )
        if status != WATCHED:
            trial[CODE] = SHORT if contact == 0 else MISSES
            break
        if events[row, E_KIND] == DROP_EVENT:
            if events[row, E_ROW] == pocket:
                trial[CODE] = POTS
            break
        if events[row, E_KIND] == BALL_EVENT:
            other = int(events[row, E_SECOND] if events[row, E_FIRST] == target else events[row, E_FIRST])
            if contact == 0 and other != 0:
                trial[CODE], trial[OBSTACLE] = TARGET_BLOCKED, other
                break
        elif math.hypot(state[target, X] - mouth[0], state[target, Y] - mouth[1]) > NEAR_MOUTH * mouth[4]:
            break
        elif leaves_mouth(state, target, mouth):
            break
    trial[SCRATCH] = 1.0 if state[0, PHASE] == POTTED else 0.0
