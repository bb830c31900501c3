"""Ball to cushion: the impact integrated along its impulse, rubbing at the nose and at the cloth.

Source: S. Mathavan, M. R. Jackson, R. M. Parkin, "A theoretical analysis of
billiard ball dynamics under cushion impacts", Proc. IMechE Part C 224 (2010)
1863.  A rigid nose touches the ball above its centre, sin(theta) = (h - R)/R.
During the impact both contacts rub with Coulomb friction; compression lasts
until the velocity into the rail is zero, release until the normal work given
back is e^2 of the work done.  Rigid up to about 2.5 m/s into the rail (same
paper); faster, a real cushion gives way more than this one.

Axes of this file: X along the rail, Y into it, Z up; S, C = sin, cos theta.
Everything scales with speed, so the integration runs on velocities over the
speed into the rail, with spins times R.  sigma = -v_Y grows from -1 through 0 to
the rebound.  Rates per unit normal impulse P, with f and g
the frictions (fractions of it) opposite to the slips s of the nose and t of the
bed, and N_b = S + f_Y C the bed's normal force (none where the nose would lift the
ball):

    ds_X = -f_X (1+k) - g_X (1-kS)           dv_X = -(f_X + g_X)
    ds_Y = S C - f_Y (S^2+k) + g_Y (S-k)     d(R w_Y) = -k (S f_X - g_X)
    dW = C v_Y (the normal work)             d(sigma) = C - S f_Y + g_Y

The nose slip often dies during the impact, turning ever faster as it shrinks;
so while the nose rubs, the steps are in tau, dP = |s| d(tau), in which that
turning is slow (and the nose's friction is a constant times its slip).  A contact
that has stopped rubbing holds while the friction it needs is within the limit
(the needed friction follows from "slip stays zero").  When a hold breaks, the
new slip leaves in the direction of balance, along its own rate, and is stepped
in sigma until it is large enough to be followed.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .constants import K
from .cushion_law import (
    HOLDING,
    RUBBING,
    SIGMA,
    SLIP_X,
    SLIP_Y,
    V_X,
    W_Y,
    WORK,
    ZERO_SLIP,
    bed_slip,
    contact_modes,
    cushion_rates,
)
from .jit import kernel

Array = NDArray[np.float64]

STEP_ERROR = 5e-8  # the engine's allowed error of one integration step, same unit: results good to 3e-7
FINE_STEP_ERROR = 1e-12  # for looking at the law alone: results good to 1e-8
BREAK_STEP = 1e-7  # the end of a hold is located this closely
MAX_STEPS = 2000

# Dormand and Prince's embedded Runge-Kutta pair of order 5(4), J. Comput. Appl. Math. 6 (1980) 19.
A21 = 1 / 5
A31, A32 = 3 / 40, 9 / 40
A41, A42, A43 = 44 / 45, -56 / 15, 32 / 9
A51, A52, A53, A54 = 19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729
A61, A62, A63, A64, A65 = 9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656
B1, B3, B4, B5, B6 = 35 / 384, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84
E1, E3, E4, E5, E6, E7 = 71 / 57600, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40


@kernel("f8(f8[:],i8,f8,f8[:],f8[:,:],i8,i8,f8[:],f8,f8,f8,f8)")
def cushion_step(
    q: Array,
    sign: int,
    h: float,
    q_new: Array,
    rates: Array,
    nose: int,
    bed_holds: int,
    direction: Array,
    s: float,
    c: float,
    mu_w: float,
    mu_s: float,
) -> float:
    """One Dormand-Prince step of size h from q into q_new; returns its error.

    rates[0] holds the rates at the start, rates[1] gets those at the end.
    """
    k1 = (rates[0, 0], rates[0, 1], rates[0, 2], rates[0, 3], rates[0, 4], rates[0, 5])
    k2 = cushion_rates(
        q[0] + h * A21 * k1[0],
        q[1] + h * A21 * k1[1],
        q[2] + h * A21 * k1[2],
        q[3] + h * A21 * k1[3],
        q[5] + h * A21 * k1[5],
        sign, nose, bed_holds, direction, s, c, mu_w, mu_s,
    )  # fmt: skip
    k3 = cushion_rates(
        q[0] + h * (A31 * k1[0] + A32 * k2[0]),
        q[1] + h * (A31 * k1[1] + A32 * k2[1]),
        q[2] + h * (A31 * k1[2] + A32 * k2[2]),
        q[3] + h * (A31 * k1[3] + A32 * k2[3]),
        q[5] + h * (A31 * k1[5] + A32 * k2[5]),
        sign, nose, bed_holds, direction, s, c, mu_w, mu_s,
    )  # fmt: skip
    k4 = cushion_rates(
        q[0] + h * (A41 * k1[0] + A42 * k2[0] + A43 * k3[0]),
        q[1] + h * (A41 * k1[1] + A42 * k2[1] + A43 * k3[1]),
        q[2] + h * (A41 * k1[2] + A42 * k2[2] + A43 * k3[2]),
        q[3] + h * (A41 * k1[3] + A42 * k2[3] + A43 * k3[3]),
        q[5] + h * (A41 * k1[5] + A42 * k2[5] + A43 * k3[5]),
        sign, nose, bed_holds, direction, s, c, mu_w, mu_s,
    )  # fmt: skip
    k5 = cushion_rates(
        q[0] + h * (A51 * k1[0] + A52 * k2[0] + A53 * k3[0] + A54 * k4[0]),
        q[1] + h * (A51 * k1[1] + A52 * k2[1] + A53 * k3[1] + A54 * k4[1]),
        q[2] + h * (A51 * k1[2] + A52 * k2[2] + A53 * k3[2] + A54 * k4[2]),
        q[3] + h * (A51 * k1[3] + A52 * k2[3] + A53 * k3[3] + A54 * k4[3]),
        q[5] + h * (A51 * k1[5] + A52 * k2[5] + A53 * k3[5] + A54 * k4[5]),
        sign, nose, bed_holds, direction, s, c, mu_w, mu_s,
    )  # fmt: skip
    k6 = cushion_rates(
        q[0] + h * (A61 * k1[0] + A62 * k2[0] + A63 * k3[0] + A64 * k4[0] + A65 * k5[0]),
        q[1] + h * (A61 * k1[1] + A62 * k2[1] + A63 * k3[1] + A64 * k4[1] + A65 * k5[1]),
        q[2] + h * (A61 * k1[2] + A62 * k2[2] + A63 * k3[2] + A64 * k4[2] + A65 * k5[2]),
        q[3] + h * (A61 * k1[3] + A62 * k2[3] + A63 * k3[3] + A64 * k4[3] + A65 * k5[3]),
        q[5] + h * (A61 * k1[5] + A62 * k2[5] + A63 * k3[5] + A64 * k4[5] + A65 * k5[5]),
        sign, nose, bed_holds, direction, s, c, mu_w, mu_s,
    )  # fmt: skip
    for i in range(6):
        q_new[i] = q[i] + h * (B1 * k1[i] + B3 * k3[i] + B4 * k4[i] + B5 * k5[i] + B6 * k6[i])
    k7 = cushion_rates(
        q_new[0], q_new[1], q_new[2], q_new[3], q_new[5], sign, nose, bed_holds, direction, s, c, mu_w, mu_s
    )
    error = 0.0
    for i in range(6):
        rates[1, i] = k7[i]
        part = h * (E1 * k1[i] + E3 * k3[i] + E4 * k4[i] + E5 * k5[i] + E6 * k6[i] + E7 * k7[i])
        error = max(error, abs(part) / (1.0 + abs(q_new[i])))
    return error


@kernel("f8(f8,f8,f8,f8,f8)")
def step_to_zero_slip(old_x: float, old_y: float, new_x: float, new_y: float, h: float) -> float:
    """The part of step h after which a slip that reversed comes nearest to zero; h if it did not reverse."""
    dot = old_x * new_x + old_y * new_y
    if dot >= 0.0:
        return h
    old2 = old_x * old_x + old_y * old_y
    return h * old2 / (old2 - dot)


@kernel("void(f8[:],i8,i8,f8[:,:],i8,i8,f8[:],f8,f8,f8,f8)")
def first_rates(
    q: Array,
    sign: int,
    row: int,
    rates: Array,
    nose: int,
    bed_holds: int,
    direction: Array,
    s: float,
    c: float,
    mu_w: float,
    mu_s: float,
) -> None:
    """Fill rates[row] at state q."""
    k = cushion_rates(q[0], q[1], q[2], q[3], q[5], sign, nose, bed_holds, direction, s, c, mu_w, mu_s)
    for i in range(6):
        rates[row, i] = k[i]


@kernel("Tuple((i8,i8,f8))(f8[:],i8,f8,i8,i8,f8,f8[:],f8,f8,f8,f8,f8)")
def cushion_stage(
    q: Array,
    sign: int,
    target: float,
    nose: int,
    bed_holds: int,
    h: float,
    direction: Array,
    s: float,
    c: float,
    mu_w: float,
    mu_s: float,
    step_error: float,
) -> tuple[int, int, float]:
    """Integrate q in place: compression (sign -1) until sigma = 0, release until ``target`` work is returned.

    Takes and returns the modes of the contacts and the size of the steps.
    """
    goal, entry = (0.0, SIGMA) if sign < 0 else (target, WORK)
    rates, q_new = np.zeros((2, 6)), np.zeros(6)
    fresh = True
    # A dying slip shrinks like exp(-mu_w (1+k) tau): steps that keep the method from swinging about zero.
    steady = 1.0 / (mu_w * (1.0 + K)) if mu_w > 0.0 else math.inf
    last_h, last_error = h, step_error
    for _ in range(MAX_STEPS):
        t_x, t_y = bed_slip(q, s)
        bed2, nose2 = t_x * t_x + t_y * t_y, q[SLIP_X] * q[SLIP_X] + q[SLIP_Y] * q[SLIP_Y]
        modes = (nose, bed_holds)
        if nose != RUBBING or bed_holds or min(bed2, nose2) <= ZERO_SLIP * ZERO_SLIP:
            modes = contact_modes(q, nose, bed_holds, direction, s, c, mu_w, mu_s)
        if fresh or modes[0] != nose or modes[1] != bed_holds:
            nose, bed_holds = modes
            first_rates(q, sign, 0, rates, nose, bed_holds, direction, s, c, mu_w, mu_s)
            fresh = False
        if nose == RUBBING:
            h = min(h, steady)
        error = cushion_step(q, sign, h, q_new, rates, nose, bed_holds, direction, s, c, mu_w, mu_s)
        if error > step_error and h > 1e-14:
            # Reaching past a bed slip that reverses is the likely cause: step to where it comes nearest to zero.
            b_x, b_y = bed_slip(q_new, s)
            shorter = h if bed_holds or bed2 <= ZERO_SLIP * ZERO_SLIP else step_to_zero_slip(t_x, t_y, b_x, b_y, h)
            h = min(shorter, h * max(0.2, 0.9 * (step_error / error) ** 0.2)) if shorter > 0.9 * h else shorter
            continue
        if (nose == HOLDING or bed_holds) and h > BREAK_STEP:
            # A hold that breaks within the step: halve until the break is found.
            modes = contact_modes(q_new, nose, bed_holds, direction, s, c, mu_w, mu_s)
            if modes[0] != nose or modes[1] != bed_holds:
                h *= 0.5
                continue
        if q_new[entry] >= goal:
            # The last step: shorten it until it ends exactly there.
            for _newton in range(20):
                excess = q_new[entry] - goal
                if abs(excess) <= 1e-2 * step_error or rates[1, entry] <= 0.0:
                    break
                h = max(0.0, h - excess / rates[1, entry])
                cushion_step(q, sign, h, q_new, rates, nose, bed_holds, direction, s, c, mu_w, mu_s)
            for i in range(6):
                q[i] = q_new[i]
            break
        for i in range(6):
            q[i] = q_new[i]
            rates[0, i] = rates[1, i]
        # Gustafsson's predictive controller: where the steps keep shrinking, expect the next to shrink too.
        error = max(error, 1e-6 * step_error)
        growth = step_error / error
        trend = h / last_h
        if trend * trend * trend * trend * trend * last_error < error:
            growth *= trend * trend * trend * trend * trend * last_error / error
        last_h, last_error = h, error
        h *= min(5.0, 0.9 * growth**0.2)
    return nose, bed_holds, last_h


@kernel("UniTuple(f8,5)(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8)")
def bounce_cushion(
    v_along: float,
    v_into: float,
    w_along: float,
    w_into: float,
    w_up: float,
    radius: float,
    sin_theta: float,
    restitution: float,
    mu_w: float,
    mu_s: float,
    step_error: float,
) -> tuple[float, float, float, float, float]:
    """(v_X, v_Y, w_X, w_Y, w_Z) after the impact: X along the rail, Y into it, Z up (right-handed).

    Velocities [m/s] with ``v_into`` > 0, spins [rad/s], radius [m];
    ``sin_theta`` = (h - R)/R of the nose; ``restitution`` is energetic;
    frictions of nose and cloth; ``step_error`` of the integration (STEP_ERROR).
    """
    s, c = sin_theta, math.sqrt(1.0 - sin_theta * sin_theta)
    scale = radius / v_into
    v_x, w_x, w_y, w_z = v_along / v_into, w_along * scale, w_into * scale, w_up * scale
    q, direction = np.zeros(6), np.zeros(4)
    q[SLIP_X], q[SLIP_Y] = v_x + w_y * s - w_z * c, w_x - s
    q[V_X], q[W_Y], q[SIGMA] = v_x, w_y, -1.0
    size = math.sqrt(q[SLIP_X] * q[SLIP_X] + q[SLIP_Y] * q[SLIP_Y])
    nose = HOLDING if size <= ZERO_SLIP else RUBBING
    nose, bed_holds, h = cushion_stage(q, -1, 0.0, nose, 0, 0.1, direction, s, c, mu_w, mu_s, step_error)
    target = restitution * restitution * q[WORK]
    q[WORK] = 0.0
    if target > 0.0:
        nose, bed_holds, _ = cushion_stage(q, 1, target, nose, bed_holds, h, direction, s, c, mu_w, mu_s, step_error)
    # Back from the nose slip to the spins: s_Y = sigma S + R w_X, s_X = v_X + R w_Y S - R w_Z C.
    w_x = q[SLIP_Y] - q[SIGMA] * s
    w_z = (q[V_X] + q[W_Y] * s - q[SLIP_X]) / c
    return q[V_X] * v_into, -q[SIGMA] * v_into, w_x / scale, q[W_Y] / scale, w_z / scale
