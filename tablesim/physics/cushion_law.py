"""The cushion's law: frictions at nose and bed, the rates they give, and whether a contact holds; see cushion.py."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .constants import K
from .jit import kernel

Array = NDArray[np.float64]

ZERO_SLIP = 1e-8  # of the speed into the rail: rubbing has stopped
LEAVING_SLIP = 3e-5  # same unit: up to here a slip that begins points where balance puts it

# How the nose's slip is being carried.
RUBBING, HOLDING, LEAVING = 0, 1, 2
# Entries of the integrated state: the nose slip, v_X, R w_Y, the normal work and sigma.
SLIP_X, SLIP_Y, V_X, W_Y, WORK, SIGMA = range(6)


@kernel("UniTuple(f8,4)(f8,f8,f8,f8,f8,f8,f8,f8,i8,i8)")
def cushion_friction(
    nose_x: float,
    nose_y: float,
    bed_x: float,
    bed_y: float,
    s: float,
    c: float,
    mu_w: float,
    mu_s: float,
    nose_holds: int,
    bed_holds: int,
) -> tuple[float, float, float, float]:
    """Friction (f_X, f_Y) at the nose and (g_X, g_Y) at the bed, per unit normal impulse.

    ``nose_x`` .. ``bed_y`` are the unit slip directions, unused where the
    contact holds.
    """
    if nose_holds and bed_holds:
        # Both slips stay zero: no force along the rail, two equations across it.
        f_yy, f_yg, g_yg = s * s + K, K - s, 1.0 + K
        det = f_yy * g_yg - f_yg * f_yg
        return 0.0, (s * c * g_yg + c * f_yg) / det, 0.0, (-c * f_yy - s * c * f_yg) / det
    if nose_holds:
        f_y = (s * c + (s - K) * mu_s * s * bed_y) / (s * s + K - (s - K) * mu_s * c * bed_y)
        grip = mu_s * max(0.0, s + f_y * c)
        return -grip * bed_x * (1.0 - K * s) / (1.0 + K), f_y, grip * bed_x, grip * bed_y
    f_x, f_y = mu_w * nose_x, mu_w * nose_y
    if bed_holds:
        return f_x, f_y, -f_x * (1.0 - K * s) / (1.0 + K), (-c + f_y * (s - K)) / (1.0 + K)
    grip = mu_s * max(0.0, s + f_y * c)
    return f_x, f_y, grip * bed_x, grip * bed_y


@kernel("UniTuple(f8,2)(f8,f8,f8,f8,f8,f8,f8)")
def nose_slip_rate(
    f_x: float, f_y: float, g_x: float, g_y: float, push: float, s: float, c: float
) -> tuple[float, float]:
    """(ds_X, ds_Y) for a normal impulse ``push`` and the frictions that go with it."""
    return -f_x * (1.0 + K) - g_x * (1.0 - K * s), s * c * push - f_y * (s * s + K) + g_y * (s - K)


@kernel("f8(f8,f8,f8,f8,f8,f8,f8,i8)")
def nose_turning(
    angle: float, bed_x: float, bed_y: float, s: float, c: float, mu_w: float, mu_s: float, bed_holds: int
) -> float:
    """Angle [rad] by which the nose slip's rate points away from ``angle``, the slip's own direction."""
    d_x, d_y = math.cos(angle), math.sin(angle)
    f_x, f_y, g_x, g_y = cushion_friction(d_x, d_y, bed_x, bed_y, s, c, mu_w, mu_s, 0, bed_holds)
    rate_x, rate_y = nose_slip_rate(f_x, f_y, g_x, g_y, 1.0, s, c)
    # Adding a pull along the slip itself does not move the balance and makes the iteration contract.
    rate_x, rate_y = rate_x + mu_w * (1.0 + K) * d_x, rate_y + mu_w * (1.0 + K) * d_y
    return math.atan2(d_x * rate_y - d_y * rate_x, d_x * rate_x + d_y * rate_y)


@kernel("void(f8[:],f8,f8,f8,f8,f8,f8,i8)")
def leaving_direction(
    direction: Array, bed_x: float, bed_y: float, s: float, c: float, mu_w: float, mu_s: float, bed_holds: int
) -> None:
    """Turn ``direction``'s nose part to where a slip leaving zero must point: along its own rate."""
    angle = math.atan2(direction[1], direction[0])
    turn = nose_turning(angle, bed_x, bed_y, s, c, mu_w, mu_s, bed_holds)
    for _secant in range(20):
        if abs(turn) < 1e-12:
            break
        slope = (nose_turning(angle + 1e-6, bed_x, bed_y, s, c, mu_w, mu_s, bed_holds) - turn) / 1e-6
        angle += turn if slope > -0.1 else -turn / slope
        turn = nose_turning(angle, bed_x, bed_y, s, c, mu_w, mu_s, bed_holds)
    direction[0], direction[1] = math.cos(angle), math.sin(angle)


@kernel("UniTuple(f8,6)(f8,f8,f8,f8,f8,i8,i8,i8,f8[:],f8,f8,f8,f8)")
def cushion_rates(
    slip_x: float,
    slip_y: float,
    v_x: float,
    w_y: float,
    sigma: float,
    sign: int,
    nose: int,
    bed_holds: int,
    direction: Array,
    s: float,
    c: float,
    mu_w: float,
    mu_s: float,
) -> tuple[float, float, float, float, float, float]:
    """Rates of the six integrated numbers, per tau while the nose rubs, per P otherwise.

    ``direction`` holds the directions (nose, bed) for slips that have none of
    their own.  ``sign`` is -1 in compression, +1 in release: work counts up in both.
    """
    bed_x, bed_y = v_x - w_y, slip_y - sigma * (1.0 + s)  # s_Y = sigma S + R w_X, t_Y = R w_X - sigma
    bed = math.sqrt(bed_x * bed_x + bed_y * bed_y)
    if bed > ZERO_SLIP:
        per_bed = 1.0 / bed
        bed_x, bed_y = bed_x * per_bed, bed_y * per_bed
    else:
        bed_x, bed_y = direction[2], direction[3]
    if nose == RUBBING:
        # Everything times the slip: f = mu_w s needs no direction.
        size = math.sqrt(slip_x * slip_x + slip_y * slip_y)
        f_x, f_y = mu_w * slip_x, mu_w * slip_y
        if bed_holds:
            g_x, g_y = -f_x * (1.0 - K * s) / (1.0 + K), (-c * size + f_y * (s - K)) / (1.0 + K)
        else:
            grip = mu_s * max(0.0, s * size + f_y * c)
            g_x, g_y = grip * bed_x, grip * bed_y
    else:
        size = 1.0
        if nose == LEAVING:
            leaving_direction(direction, bed_x, bed_y, s, c, mu_w, mu_s, bed_holds)
        holds = 1 if nose == HOLDING else 0
        f_x, f_y, g_x, g_y = cushion_friction(
            direction[0], direction[1], bed_x, bed_y, s, c, mu_w, mu_s, holds, bed_holds
        )
    ds_x, ds_y = nose_slip_rate(f_x, f_y, g_x, g_y, size, s, c)
    if nose == HOLDING:
        ds_x, ds_y = 0.0, 0.0
    return ds_x, ds_y, -(f_x + g_x), -K * (s * f_x - g_x), c * sign * sigma * size, c * size - s * f_y + g_y


@kernel("UniTuple(f8,2)(f8[:],f8)")
def bed_slip(q: Array, s: float) -> tuple[float, float]:
    """(t_X, t_Y) of the bed: v_X - R w_Y and R w_X - sigma, where R w_X = s_Y - sigma S."""
    return q[V_X] - q[W_Y], q[SLIP_Y] - q[SIGMA] * (1.0 + s)


@kernel("i8(f8,f8,f8,f8,f8,f8,f8,f8,i8,i8,i8,f8[:])")
def contact_holds(
    nose_x: float,
    nose_y: float,
    bed_x: float,
    bed_y: float,
    s: float,
    c: float,
    mu_w: float,
    mu_s: float,
    nose_holds: int,
    bed_holds: int,
    which: int,
    direction: Array,
) -> int:
    """1 if a contact without slip can hold, else 0; then ``direction`` gets the way it starts to slip.

    ``which`` 0 asks for the nose, 1 for the bed; the other's unit slip direction
    and mode are given.
    """
    if which == 0:
        need_x, need_y, _, _ = cushion_friction(0.0, 0.0, bed_x, bed_y, s, c, mu_w, mu_s, 1, bed_holds)
        limit = mu_w
    else:
        _, f_y, need_x, need_y = cushion_friction(nose_x, nose_y, 0.0, 0.0, s, c, mu_w, mu_s, nose_holds, 1)
        limit = mu_s * max(0.0, s + f_y * c)
    need = math.sqrt(need_x * need_x + need_y * need_y)
    if need <= limit:
        return 1
    direction[2 * which], direction[2 * which + 1] = need_x / need, need_y / need
    return 0


@kernel("UniTuple(i8,2)(f8[:],i8,i8,f8[:],f8,f8,f8,f8)")
def contact_modes(
    q: Array, nose: int, bed_holds: int, direction: Array, s: float, c: float, mu_w: float, mu_s: float
) -> tuple[int, int]:
    """(mode of the nose, does the bed hold) at state q, given what they were."""
    size = math.sqrt(q[SLIP_X] * q[SLIP_X] + q[SLIP_Y] * q[SLIP_Y])
    nose_x, nose_y = direction[0], direction[1]
    if nose == RUBBING and size > ZERO_SLIP:
        nose_x, nose_y = q[SLIP_X] / size, q[SLIP_Y] / size
    bed_x, bed_y = bed_slip(q, s)
    bed = math.sqrt(bed_x * bed_x + bed_y * bed_y)
    bed_still = bed_holds == 1 or bed <= ZERO_SLIP
    if bed > ZERO_SLIP:
        bed_x, bed_y = bed_x / bed, bed_y / bed
    else:
        bed_x, bed_y = direction[2], direction[3]
    nose_still = nose == HOLDING or (nose == RUBBING and size <= ZERO_SLIP)
    bed_holds = 0
    if bed_still:
        bed_holds = contact_holds(nose_x, nose_y, bed_x, bed_y, s, c, mu_w, mu_s, 0, 0, 1, direction)
        if bed <= ZERO_SLIP:
            bed_x, bed_y = direction[2], direction[3]
    if nose_still:
        holds = contact_holds(nose_x, nose_y, bed_x, bed_y, s, c, mu_w, mu_s, 0, bed_holds, 0, direction)
        if bed_still and holds:  # the nose's answer changes the bed's
            bed_holds = contact_holds(nose_x, nose_y, bed_x, bed_y, s, c, mu_w, mu_s, 1, 0, 1, direction)
        nose = HOLDING if holds else LEAVING
    elif nose == LEAVING and size > LEAVING_SLIP:
        nose = RUBBING
    return nose, bed_holds
