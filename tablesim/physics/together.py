"""Touching balls struck together at one instant, or settled against each other; see engine.py.

``now`` (n, 7) holds each ball's seven numbers at that instant.
"""

from __future__ import annotations

import math

import numpy as np

from .ball_ball import (
    Contact,
    closing_along,
    collide_balls,
    normal_impulse_of,
    part_balls,
    pushed_along,
    rub_balls,
)
from .cloth import cloth_slip, finish_slip_along
from .columns import MASS, PHASE, RADIUS
from .constants import PART_M_S, POTTED, SETTLE_M_S, TOUCH_M
from .jit import kernel
from .pieces import contact_reach, put_ball, row_ball
from .records import BallLaw, BallState, Matrix, Pairs, Run, Vector

IMPACT_ROUNDS = 400  # iterations of the simultaneous impact, far more than it takes


@kernel
def touching(now: Matrix, i: int, j: int, balls: Matrix) -> Contact:
    """Balls i and j as two that touch."""
    dx, dy = float(now[j, 0] - now[i, 0]), float(now[j, 1] - now[i, 1])
    size = math.sqrt(dx * dx + dy * dy)
    return Contact(
        dx / size, dy / size, float(balls[i, MASS]), float(balls[j, MASS]), float(balls[i, RADIUS]),
        float(balls[j, RADIUS]),
    )  # fmt: skip


@kernel
def closing_speed(now: Matrix, i: int, j: int, balls: Matrix) -> float:
    """Speed [m/s] at which touching balls i and j approach; -1 if they do not touch or part."""
    dx, dy = float(now[j, 0] - now[i, 0]), float(now[j, 1] - now[i, 1])
    reach = contact_reach(balls, i, j) + TOUCH_M
    size2 = dx * dx + dy * dy
    if size2 > reach * reach:
        return -1.0
    closing = float((now[i, 2] - now[j, 2]) * dx + (now[i, 3] - now[j, 3]) * dy) / math.sqrt(size2)
    return closing if closing > 0.0 else -1.0


@kernel
def settled(ball: BallState, radius: float, nx: float, ny: float) -> BallState:
    """The ball with the slip taken up with which the cloth would drive it along n, towards its neighbour."""
    ux, uy = cloth_slip(ball, radius)
    return finish_slip_along(ball, radius, nx, ny) if ux * nx + uy * ny < 0.0 else ball


@kernel
def crept(ball: BallState, change: float, nx: float, ny: float) -> BallState:
    """The ball with its speed changed along n; at a standstill if hardly any is left."""
    after = pushed_along(ball, change, nx, ny)
    if after.vx * after.vx + after.vy * after.vy < SETTLE_M_S * SETTLE_M_S:
        return BallState(ball.x, ball.y, 0.0, 0.0, 0.0, 0.0, ball.wz)
    return after


@kernel
def creep_changes(common: float) -> tuple[float, float]:
    """What a settled pair's common speed along n, from first to second, changes by: for the first, the second."""
    if common > SETTLE_M_S:
        return -SETTLE_M_S, 0.0
    if common < -SETTLE_M_S:
        return 0.0, SETTLE_M_S
    return -common - 0.5 * PART_M_S, -common + 0.5 * PART_M_S


@kernel
def parting_speed(closing: float, restitution: float) -> float:
    """Speed [m/s] at which two balls part: e times the closing speed, next to nothing when they settle."""
    return PART_M_S if closing < SETTLE_M_S else max(restitution * closing, PART_M_S)


@kernel
def settled_pair(first: BallState, second: BallState, contact: Contact, law: BallLaw) -> tuple[BallState, BallState]:
    """Two touching balls that hardly close, after they have settled against each other."""
    nx, ny = contact.nx, contact.ny
    first = settled(first, contact.radius_1, nx, ny)
    second = settled(second, contact.radius_2, -nx, -ny)
    closing = closing_along(first, second, nx, ny)
    if closing <= -PART_M_S:
        return first, second
    first, second = part_balls(first, second, contact, parting_speed(closing, law.restitution), law)
    if closing >= SETTLE_M_S:
        return first, second
    change_1, change_2 = creep_changes(second.vx * nx + second.vy * ny)
    return crept(first, change_1, nx, ny), crept(second, change_2, nx, ny)


@kernel
def strike_pair(now: Matrix, i: int, j: int, balls: Matrix, law: BallLaw) -> None:
    """Impact of one touching, closing pair; changes ``now``."""
    first, second, contact = row_ball(now, i, 0), row_ball(now, j, 0), touching(now, i, j, balls)
    if closing_along(first, second, contact.nx, contact.ny) < SETTLE_M_S:
        first, second = settled_pair(first, second, contact, law)
    else:
        first, second = collide_balls(first, second, contact, law)
    put_ball(now, i, 0, first)
    put_ball(now, j, 0, second)


@kernel
def push_apart(now: Matrix, i: int, j: int, contact: Contact, target: float, given: float) -> float:
    """One step of projected Gauss-Seidel on a pair that is to part at ``target`` [m/s]; changes ``now``.

    Takes the normal impulse [N s] ``given`` so far and returns what is added:
    never so little that the whole would pull.
    """
    nx, ny = contact.nx, contact.ny
    closing = float((now[i, 2] - now[j, 2]) * nx + (now[i, 3] - now[j, 3]) * ny)
    step = max(normal_impulse_of(closing, target, contact.mass_1, contact.mass_2), -given)
    now[i, 2] -= step / contact.mass_1 * nx
    now[i, 3] -= step / contact.mass_1 * ny
    now[j, 2] += step / contact.mass_2 * nx
    now[j, 3] += step / contact.mass_2 * ny
    return step


@kernel
def push_all_apart(now: Matrix, pairs: Pairs, n_pairs: int, balls: Matrix, restitution: float) -> Vector:
    """Normal impulses J >= 0 [N s] such that every pair parts at no less than e times its closing speed.

    Projected Gauss-Seidel; changes ``now``.
    """
    target, impulse = np.zeros(n_pairs), np.zeros(n_pairs)
    for p in range(n_pairs):
        i, j = pairs[p, 0], pairs[p, 1]
        contact = touching(now, i, j, balls)
        closing = closing_along(row_ball(now, i, 0), row_ball(now, j, 0), contact.nx, contact.ny)
        target[p] = parting_speed(closing, restitution)
    for _round in range(IMPACT_ROUNDS):
        change = 0.0
        for p in range(n_pairs):
            i, j = pairs[p, 0], pairs[p, 1]
            contact = touching(now, i, j, balls)
            step = push_apart(now, i, j, contact, float(target[p]), float(impulse[p]))
            impulse[p] += step
            change = max(change, abs(step) / contact.mass_1)
        if change < 1e-15:
            break
    return impulse


@kernel
def strike_together(now: Matrix, pairs: Pairs, n_pairs: int, balls: Matrix, law: BallLaw) -> None:
    """Impact of several touching, closing pairs at one instant; changes ``now``.

    The normal impulses first; then the friction that goes with each, its grip
    limit shared among the contacts of the busier ball, so that together they
    take energy out, never put it in.
    """
    impulse = push_all_apart(now, pairs, n_pairs, balls, law.restitution)
    contacts = np.zeros(now.shape[0])
    for p in range(n_pairs):
        contacts[pairs[p, 0]] += 1.0
        contacts[pairs[p, 1]] += 1.0
    rubbed = now.copy()
    for p in range(n_pairs):
        i, j = pairs[p, 0], pairs[p, 1]
        first, second = row_ball(now, i, 0), row_ball(now, j, 0)
        share = 1.0 / float(max(contacts[i], contacts[j]))
        after = rub_balls(first, second, touching(now, i, j, balls), float(impulse[p]), law, share)
        for k in range(2, 7):
            rubbed[i, k] += after[0][k] - first[k]
            rubbed[j, k] += after[1][k] - second[k]
    for i in range(now.shape[0]):
        for k in range(2, 7):
            now[i, k] = rubbed[i, k]


@kernel
def is_listed(pairs: Pairs, count: int, i: int, j: int) -> bool:
    """True if (i, j) is among the first ``count`` pairs."""
    for p in range(count):
        if pairs[p, 0] == i and pairs[p, 1] == j:
            return True
    return False


@kernel
def gather_pairs(run: Run, first: int, second: int, balls: Matrix) -> int:
    """Fill the run's pairs with (first, second) and all touching, closing pairs linked to it; return how many.

    Pairs that are to settle are no impacts: they are taken alone.
    """
    now, pairs, state = run.now, run.pairs, run.state
    pairs[0, 0], pairs[0, 1] = first, second
    count = 1
    if closing_speed(now, first, second, balls) < SETTLE_M_S:
        return count
    known = 0
    while known < count:
        for side in range(2):
            member = pairs[known, side]
            for other in range(now.shape[0]):
                if other == member or state[other, PHASE] == POTTED or count == pairs.shape[0]:
                    continue
                i, j = min(member, other), max(member, other)
                if not is_listed(pairs, count, i, j) and closing_speed(now, i, j, balls) >= SETTLE_M_S:
                    pairs[count, 0], pairs[count, 1] = i, j
                    count += 1
        known += 1
    return count
