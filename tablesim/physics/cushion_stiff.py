"""The same impact by a stiff method, for the hits in which a slip hardly dies or a hold hardly holds.

The explicit steps of cushion.py are as short as a slip is small.  Where a slip of
nose or bed stays small for long (the friction that would hold the contact is just
beyond its limit), they do not come to an end; this method does.

The four slips, of nose s and bed t, are a system of their own (C, S, f, g, k as
in cushion.py)::

    ds_X = -f_X (1+k) - g_X (1-kS)            dt_X = -f_X (1-kS) - g_X (1+k)
    ds_Y = S C - f_Y (S^2+k) + g_Y (S-k)      dt_Y = -C + f_Y (S-k) - g_Y (1+k)

and carry everything else: sigma = (s_Y - t_Y) / (1+S), and v_X changes by
(ds_X + dt_X) / (2+k-kS).  Coulomb's direction s/|s| is softened to
s / sqrt(|s|^2 + SOFT^2): a contact that holds creeps at about SOFT of the speed
into the rail, which is the error that makes.

The steps are linearly implicit Euler's, extrapolated: P. Deuflhard, "Recent
progress in extrapolation methods for ordinary differential equations", SIAM
Review 27 (1985) 505 (from memory).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from tablesim.errors import ImpactUnfinished

from .constants import K
from .cushion_law import Impact, Nose, bed_slip
from .jit import kernel
from .records import Matrix, Vector

SOFT = 1e-8  # of the speed into the rail
ROWS = 4  # of the extrapolation: 1 to 4 steps of Euler's over one of ours
MAX_STIFF_STEPS = 20_000  # a hundred thousand random hits on all gear took less than 5,000 each
MISFIT = 1e-5  # of the speed into the rail: how far a step may be from solving the implicit equation
SHORTEST = 1e-15  # of an impulse that stops the ball: no step gets shorter


class Push(NamedTuple):
    """Coulomb friction of a contact per unit of its normal force, and how it answers to its slip: d(n_i)/d(s_j)."""

    x: float
    y: float
    x_x: float
    x_y: float
    y_y: float


@kernel
def softened(x: float, y: float) -> Push:
    """The direction of a slip, softened, and its derivatives."""
    size = math.sqrt(x * x + y * y + SOFT * SOFT)
    n_x, n_y = x / size, y / size
    return Push(n_x, n_y, (1.0 - n_x * n_x) / size, -n_x * n_y / size, (1.0 - n_y * n_y) / size)


@kernel
def slip_rates(slips: Vector, law: Nose, rates: Vector, jacobian: Matrix, wants_jacobian: bool) -> None:
    """Fill ``rates`` (4,) of the slips (s_X, s_Y, t_X, t_Y) and, if wanted, their ``jacobian`` (4, 4)."""
    s, c, mu_w, mu_s = law.s, law.c, law.mu_w, law.mu_s
    nose, bed = softened(float(slips[0]), float(slips[1])), softened(float(slips[2]), float(slips[3]))
    f_x, f_y = mu_w * nose.x, mu_w * nose.y
    load = s + f_y * c  # N_b; the bed pushes, it cannot pull
    grip, grips = (mu_s * load, mu_s) if load > 0.0 else (0.0, 0.0)
    g_x, g_y = grip * bed.x, grip * bed.y
    across = 1.0 - K * s
    rates[0] = -f_x * (1.0 + K) - g_x * across
    rates[1] = s * c - f_y * (s * s + K) + g_y * (s - K)
    rates[2] = -f_x * across - g_x * (1.0 + K)
    rates[3] = -c + f_y * (s - K) - g_y * (1.0 + K)
    if not wants_jacobian:
        return
    for j in range(4):
        df_x = mu_w * (nose.x_x if j == 0 else nose.x_y) if j < 2 else 0.0
        df_y = mu_w * (nose.x_y if j == 0 else nose.y_y) if j < 2 else 0.0
        if j < 2:
            dg_x, dg_y = grips * c * df_y * bed.x, grips * c * df_y * bed.y
        else:
            dg_x, dg_y = grip * (bed.x_x if j == 2 else bed.x_y), grip * (bed.x_y if j == 2 else bed.y_y)
        jacobian[0, j] = -df_x * (1.0 + K) - dg_x * across
        jacobian[1, j] = -df_y * (s * s + K) + dg_y * (s - K)
        jacobian[2, j] = -df_x * across - dg_x * (1.0 + K)
        jacobian[3, j] = df_y * (s - K) - dg_y * (1.0 + K)


@kernel
def solve_four(matrix: Matrix, right: Vector) -> None:
    """Gaussian elimination with pivots: ``right`` (4,) becomes the solution; both arguments are used up."""
    for i in range(4):
        pivot = i
        for row in range(i + 1, 4):
            if abs(matrix[row, i]) > abs(matrix[pivot, i]):
                pivot = row
        for j in range(i, 4):
            held = matrix[i, j]
            matrix[i, j] = matrix[pivot, j]
            matrix[pivot, j] = held
        held = right[i]
        right[i] = right[pivot]
        right[pivot] = held
        for row in range(i + 1, 4):
            factor = matrix[row, i] / matrix[i, i]
            for j in range(i + 1, 4):
                matrix[row, j] -= factor * matrix[i, j]
            right[row] -= factor * right[i]
    for i in range(3, -1, -1):
        for j in range(i + 1, 4):
            right[i] -= matrix[i, j] * right[j]
        right[i] /= matrix[i, i]


@kernel
def sigma_of(numbers: Vector, law: Nose) -> float:
    """Speed off the rail: sigma of the slips."""
    return float((numbers[1] - numbers[3]) / (1.0 + law.s))


@kernel
def euler_steps(start: Vector, sign: int, law: Nose, h: float, steps: int, end: Vector) -> bool:
    """Fill ``end`` (5,), slips and work, from ``start`` after so many linearly implicit steps of ``h`` together.

    False, with nothing worth having, if one of them misses the implicit equation
    by more than MISFIT: where friction has a kink the straight line to it is not
    to be trusted, however smooth it looks to the extrapolation.
    """
    part, matrix, change, rates = h / steps, np.empty((4, 4)), np.empty(4), np.empty(4)
    for k in range(5):
        end[k] = start[k]
    slip_rates(end, law, rates, matrix, True)
    for _step in range(steps):
        for i in range(4):
            change[i] = part * rates[i]
            for j in range(4):
                matrix[i, j] = (1.0 if i == j else 0.0) - part * matrix[i, j]
        solve_four(matrix, change)
        for k in range(4):
            end[k] += change[k]
        end[4] += part * sign * law.c * sigma_of(end, law)
        slip_rates(end, law, rates, matrix, True)
        for k in range(4):
            if abs(change[k] - part * rates[k]) > MISFIT:
                return False
    return True


@kernel
def extrapolated(start: Vector, sign: int, law: Nose, h: float, end: Vector) -> float:
    """Fill ``end`` (5,) one step of impulse ``h`` after ``start``; returns its error relative to 1 + |number|."""
    table, error = np.empty((ROWS, 5)), 0.0
    for row in range(ROWS):
        if not euler_steps(start, sign, law, h, row + 1, end):
            return math.inf
        for k in range(5):
            value = float(end[k])
            for column in range(row):  # Aitken's and Neville's scheme, in place: table holds the row before
                before = float(table[column, k])
                table[column, k] = value
                value += (value - before) * (row - column) / (column + 1.0)
                if row == ROWS - 1 and column == row - 1:
                    error = max(error, abs(value - float(table[column, k])) / (1.0 + abs(value)))
            table[row, k] = value
    for k in range(5):
        end[k] = table[ROWS - 1, k]
    return error


@kernel
def goal_excess(numbers: Vector, sign: int, law: Nose, goal: float) -> float:
    """How far compression (sigma) or release (work) is beyond its ``goal``."""
    return (sigma_of(numbers, law) if sign < 0 else float(numbers[4])) - goal


@kernel
def goal_rate(numbers: Vector, sign: int, law: Nose) -> float:
    """The rate of :func:`goal_excess` with the impulse."""
    if sign > 0:
        return law.c * sigma_of(numbers, law)
    rates = np.empty(4)
    slip_rates(numbers, law, rates, np.empty((4, 4)), False)
    return sigma_of(rates, law)


@kernel
def finish_stiff(q: Impact, sign: int, law: Nose, goal: float, step_error: float) -> Impact:
    """Compression (``sign`` -1) until sigma = ``goal``, release (+1) until so much work is returned.

    Raises ImpactUnfinished if that does not come about.  Slips must be followed
    more closely than SOFT, or a contact that holds never comes to rest.
    """
    step_error = min(step_error, 0.1 * SOFT)
    start, end = np.empty(5), np.empty(5)
    t_x, t_y = bed_slip(q, law.s)
    start[0], start[1], start[2], start[3], start[4] = q.slip_x, q.slip_y, t_x, t_y, q.work
    along = q.slip_x + t_x
    h = 1e-3
    for _step in range(MAX_STIFF_STEPS):
        error = extrapolated(start, sign, law, h, end)
        if error > step_error and h > SHORTEST:
            h *= max(0.2, 0.8 * (step_error / error) ** (1.0 / ROWS))
            continue
        excess = goal_excess(end, sign, law, goal)
        if abs(excess) <= 1e-2 * step_error:
            v_x = q.v_x + (end[0] + end[2] - along) / (2.0 + K - K * law.s)
            return Impact(float(end[0]), float(end[1]), v_x, v_x - float(end[2]), float(end[4]), sigma_of(end, law))
        if excess > 0.0:
            shorter = h - excess / goal_rate(end, sign, law)
            h = shorter if 0.0 < shorter < h else 0.5 * h
            continue
        for k in range(5):
            start[k] = end[k]
        h *= min(4.0, 0.8 * (step_error / max(error, 1e-6 * step_error)) ** (1.0 / ROWS))
    raise ImpactUnfinished(
        "a ball's impact on a cushion cannot be computed to its end; change rails.friction or cloth.sliding_friction"
        " by a thousandth"
    )
