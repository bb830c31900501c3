"""The cushion's law: frictions at nose and bed, the rates they give, and whether a contact holds; see cushion.py."""

from __future__ import annotations

import math
from typing import NamedTuple

from .constants import K
from .jit import kernel

ZERO_SLIP = 1e-8  # of the speed into the rail: rubbing has stopped
LEAVING_SLIP = 3e-5  # same unit: up to here a slip that begins points where balance puts it

# How the nose's slip is being carried.
RUBBING, HOLDING, LEAVING = 0, 1, 2


class Nose(NamedTuple):
    """Where the nose meets the ball, S, C = sin, cos theta, and the frictions of nose and cloth."""

    s: float
    c: float
    mu_w: float
    mu_s: float


class Impact(NamedTuple):
    """What is integrated, or its rates: the nose's slip, v_X, R w_Y, the normal work and sigma."""

    slip_x: float
    slip_y: float
    v_x: float
    w_y: float
    work: float
    sigma: float


class Slips(NamedTuple):
    """How the contacts carry their slips: the nose's mode, 1 if the bed holds, and the ways (unit vectors) in which
    nose and bed begin to slip, for slips that have no direction of their own."""

    nose: int
    bed_holds: int
    nose_way: tuple[float, float]
    bed_way: tuple[float, float]


@kernel
def unit_or(x: float, y: float, otherwise: tuple[float, float]) -> tuple[float, float]:
    """The direction of a slip, or the one given where there is no slip."""
    size = math.sqrt(x * x + y * y)
    return (x / size, y / size) if size > ZERO_SLIP else otherwise


@kernel
def bed_slip(q: Impact, s: float) -> tuple[float, float]:
    """(t_X, t_Y) of the bed: v_X - R w_Y and R w_X - sigma, where R w_X = s_Y - sigma S."""
    return q.v_x - q.w_y, q.slip_y - q.sigma * (1.0 + s)


@kernel
def cushion_friction(
    nose: tuple[float, float], bed: tuple[float, float], law: Nose, nose_holds: int, bed_holds: int
) -> tuple[float, float, float, float]:
    """Friction (f_X, f_Y) at the nose and (g_X, g_Y) at the bed, per unit normal impulse.

    ``nose`` and ``bed`` are the unit slip directions, unused where the contact
    holds.
    """
    s, c, mu_s = law.s, law.c, law.mu_s
    if nose_holds and bed_holds:
        # Both slips stay zero: no force along the rail, two equations across it.
        f_yy, f_yg, g_yg = s * s + K, K - s, 1.0 + K
        det = f_yy * g_yg - f_yg * f_yg
        return 0.0, (s * c * g_yg + c * f_yg) / det, 0.0, (-c * f_yy - s * c * f_yg) / det
    if nose_holds:
        if s <= 0.0:  # a nose below the centre lifts the ball off the bed
            return 0.0, s * c / (s * s + K), 0.0, 0.0
        f_y = (s * c + (s - K) * mu_s * s * bed[1]) / (s * s + K - (s - K) * mu_s * c * bed[1])
        grip = mu_s * (s + f_y * c)
        return -grip * bed[0] * (1.0 - K * s) / (1.0 + K), f_y, grip * bed[0], grip * bed[1]
    f_x, f_y = law.mu_w * nose[0], law.mu_w * nose[1]
    if bed_holds:
        return f_x, f_y, -f_x * (1.0 - K * s) / (1.0 + K), (-c + f_y * (s - K)) / (1.0 + K)
    grip = mu_s * max(0.0, s + f_y * c)
    return f_x, f_y, grip * bed[0], grip * bed[1]


@kernel
def nose_slip_rate(friction: tuple[float, float, float, float], push: float, law: Nose) -> tuple[float, float]:
    """(ds_X, ds_Y) for a normal impulse ``push`` and the frictions that go with it."""
    f_x, f_y, g_x, g_y = friction
    s = law.s
    return -f_x * (1.0 + K) - g_x * (1.0 - K * s), s * law.c * push - f_y * (s * s + K) + g_y * (s - K)


@kernel
def nose_turning(angle: float, bed: tuple[float, float], law: Nose, bed_holds: int) -> float:
    """Angle [rad] by which the nose slip's rate points away from ``angle``, the slip's own direction."""
    d_x, d_y = math.cos(angle), math.sin(angle)
    rate_x, rate_y = nose_slip_rate(cushion_friction((d_x, d_y), bed, law, 0, bed_holds), 1.0, law)
    # Adding a pull along the slip itself does not move the balance and makes the iteration contract.
    rate_x, rate_y = rate_x + law.mu_w * (1.0 + K) * d_x, rate_y + law.mu_w * (1.0 + K) * d_y
    return math.atan2(d_x * rate_y - d_y * rate_x, d_x * rate_x + d_y * rate_y)


@kernel
def leaving_way(near: tuple[float, float], bed: tuple[float, float], law: Nose, bed_holds: int) -> tuple[float, float]:
    """Where a slip of the nose leaving zero must point, along its own rate; ``near`` is where to look from."""
    angle = math.atan2(near[1], near[0])
    turn = nose_turning(angle, bed, law, bed_holds)
    for _secant in range(20):
        if abs(turn) < 1e-12:
            break
        slope = (nose_turning(angle + 1e-6, bed, law, bed_holds) - turn) / 1e-6
        angle += turn if slope > -0.1 else -turn / slope
        turn = nose_turning(angle, bed, law, bed_holds)
    return math.cos(angle), math.sin(angle)


@kernel
def rubbing_friction(
    slip_x: float, slip_y: float, size: float, bed: tuple[float, float], law: Nose, bed_holds: int
) -> tuple[float, float, float, float]:
    """:func:`cushion_friction` of a rubbing nose times its slip's ``size``: f = mu_w s needs no direction."""
    f_x, f_y = law.mu_w * slip_x, law.mu_w * slip_y
    if bed_holds:
        return f_x, f_y, -f_x * (1.0 - K * law.s) / (1.0 + K), (-law.c * size + f_y * (law.s - K)) / (1.0 + K)
    grip = law.mu_s * max(0.0, law.s * size + f_y * law.c)
    return f_x, f_y, grip * bed[0], grip * bed[1]


@kernel
def cushion_rates(q: Impact, sign: int, slips: Slips, law: Nose) -> Impact:
    """Rates of the integrated numbers q, per tau while the nose rubs, per P otherwise.

    ``sign`` is -1 in compression, +1 in release: work counts up in both.
    """
    bed_x, bed_y = bed_slip(q, law.s)
    bed = unit_or(bed_x, bed_y, slips.bed_way)
    if slips.nose == RUBBING:
        push = math.sqrt(q.slip_x * q.slip_x + q.slip_y * q.slip_y)
        friction = rubbing_friction(q.slip_x, q.slip_y, push, bed, law, slips.bed_holds)
    else:
        push, nose, holds = 1.0, slips.nose_way, 1 if slips.nose == HOLDING else 0
        if slips.nose == LEAVING:
            nose = leaving_way(nose, bed, law, slips.bed_holds)
        friction = cushion_friction(nose, bed, law, holds, slips.bed_holds)
    ds_x, ds_y = nose_slip_rate(friction, push, law)
    if slips.nose == HOLDING:
        ds_x, ds_y = 0.0, 0.0
    f_x, f_y, g_x, g_y = friction
    return Impact(
        ds_x,
        ds_y,
        -(f_x + g_x),
        -K * (law.s * f_x - g_x),
        law.c * sign * q.sigma * push,
        law.c * push - law.s * f_y + g_y,
    )


@kernel
def nose_grip(slips: Slips, bed: tuple[float, float], law: Nose, bed_holds: int) -> tuple[int, tuple[float, float]]:
    """1 if a nose without slip can hold, else 0, and the way in which it would begin to slip.

    ``bed`` is the bed's unit slip direction.
    """
    need_x, need_y, _, _ = cushion_friction((0.0, 0.0), bed, law, 1, bed_holds)
    need = math.sqrt(need_x * need_x + need_y * need_y)
    return (1, slips.nose_way) if need <= law.mu_w else (0, (need_x / need, need_y / need))


@kernel
def bed_grip(slips: Slips, nose: tuple[float, float], law: Nose, nose_holds: int) -> tuple[int, tuple[float, float]]:
    """1 if a bed without slip can hold, else 0, and the way in which it would begin to slip.

    ``nose`` is the nose's unit slip direction.
    """
    _, f_y, need_x, need_y = cushion_friction(nose, (0.0, 0.0), law, nose_holds, 1)
    need = math.sqrt(need_x * need_x + need_y * need_y)
    if need <= law.mu_s * max(0.0, law.s + f_y * law.c):
        return 1, slips.bed_way
    return 0, (need_x / need, need_y / need)


@kernel
def slips_at(q: Impact, slips: Slips, law: Nose) -> Slips:
    """How nose and bed carry their slips at state q, given how they did."""
    size = math.sqrt(q.slip_x * q.slip_x + q.slip_y * q.slip_y)
    nose = unit_or(q.slip_x, q.slip_y, slips.nose_way) if slips.nose == RUBBING else slips.nose_way
    bed_x, bed_y = bed_slip(q, law.s)
    bed_still = math.sqrt(bed_x * bed_x + bed_y * bed_y) <= ZERO_SLIP
    nose_still = slips.nose == HOLDING or (slips.nose == RUBBING and size <= ZERO_SLIP)
    bed_may_hold = slips.bed_holds == 1 or bed_still
    bed_holds, bed_way = bed_grip(slips, nose, law, 0) if bed_may_hold else (0, slips.bed_way)
    if not nose_still:
        mode = RUBBING if slips.nose == LEAVING and size > LEAVING_SLIP else slips.nose
        return Slips(mode, bed_holds, slips.nose_way, bed_way)
    bed = unit_or(bed_x, bed_y, bed_way)
    nose_holds, nose_way = nose_grip(slips, bed, law, bed_holds)
    if bed_may_hold and nose_holds:  # the nose's answer changes the bed's
        bed_holds, bed_way = bed_grip(slips, nose, law, 1)
    return Slips(HOLDING if nose_holds else LEAVING, bed_holds, nose_way, bed_way)
