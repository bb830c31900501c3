"""Touching balls struck together at one instant, or settled against each other; see engine.py."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .ball_ball import collide_balls, contact_distance, rub_balls
from .cloth import cloth_slip, finish_slip_along
from .columns import BALL_RESTITUTION, CONDITION, FRICTION_A, FRICTION_B, FRICTION_C, MASS, PHASE, RADIUS
from .constants import PART_M_S, POTTED, SETTLE_M_S, TOUCH_M
from .jit import kernel

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

IMPACT_ROUNDS = 400  # iterations of the simultaneous impact, far more than it takes


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
