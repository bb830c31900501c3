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
in sigma until it is large enough to be followed.  A hit in which a slip stays
small for long uses up its steps; cushion_stiff.py takes it from there.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .constants import K
from .cushion_law import (
    HOLDING,
    RUBBING,
    ZERO_SLIP,
    Impact,
    Nose,
    Slips,
    bed_slip,
    cushion_rates,
    slips_at,
)
from .cushion_stiff import finish_stiff
from .jit import kernel
from .records import BallState

STEP_ERROR = 5e-8  # the engine's allowed error of one integration step, same unit: results good to 3e-7
FINE_STEP_ERROR = 1e-12  # for looking at the law alone: results good to 1e-8
REVERSED = 1e-7  # of the speed into the rail: no step carries the bed's slip farther past zero
BREAK_STEP = 1e-7  # the end of a hold is located this closely
EXPLICIT_STEPS = 250  # what has not come to its end by then is stiff (cushion_stiff.py); most hits take ten
SIGMA, WORK = Impact._fields.index("sigma"), Impact._fields.index("work")

# Dormand and Prince's embedded Runge-Kutta pair of order 5(4), J. Comput. Appl. Math. 6 (1980) 19.
A21 = 1 / 5
A31, A32 = 3 / 40, 9 / 40
A41, A42, A43 = 44 / 45, -56 / 15, 32 / 9
A51, A52, A53, A54 = 19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729
A61, A62, A63, A64, A65 = 9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656
B1, B3, B4, B5, B6 = 35 / 384, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84
E1, E3, E4, E5, E6, E7 = 71 / 57600, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40


class Phase(NamedTuple):
    """What is being integrated: whether the ball comes (-1) or goes (1), the law, how the contacts carry their slips,
    and the allowed error of a step."""

    sign: int
    law: Nose
    slips: Slips
    step_error: float


class ImpulseStep(NamedTuple):
    """Where a step ended, the rates there, and its error, relative to 1 + |number|."""

    q: Impact
    rates: Impact
    error: float


@kernel
def plus(a: Impact, weight: float, b: Impact) -> Impact:
    """a + weight b."""
    return Impact(
        a.slip_x + weight * b.slip_x,
        a.slip_y + weight * b.slip_y,
        a.v_x + weight * b.v_x,
        a.w_y + weight * b.w_y,
        a.work + weight * b.work,
        a.sigma + weight * b.sigma,
    )


@kernel
def times(weight: float, a: Impact) -> Impact:
    """Weight times a."""
    return Impact(
        weight * a.slip_x, weight * a.slip_y, weight * a.v_x, weight * a.w_y, weight * a.work, weight * a.sigma
    )


@kernel
def rates_at(q: Impact, phase: Phase) -> Impact:
    """:func:`cushion_rates` as the contacts now are."""
    return cushion_rates(q, phase.sign, phase.slips, phase.law)


@kernel
def step_on(q: Impact, k1: Impact, phase: Phase, h: float) -> ImpulseStep:
    """One step of size h from q, where the rates are k1."""
    k2 = rates_at(plus(q, h, times(A21, k1)), phase)
    k3 = rates_at(plus(q, h, plus(times(A31, k1), A32, k2)), phase)
    k4 = rates_at(plus(q, h, plus(plus(times(A41, k1), A42, k2), A43, k3)), phase)
    k5 = rates_at(plus(q, h, plus(plus(plus(times(A51, k1), A52, k2), A53, k3), A54, k4)), phase)
    k6 = rates_at(plus(q, h, plus(plus(plus(plus(times(A61, k1), A62, k2), A63, k3), A64, k4), A65, k5)), phase)
    end = plus(q, h, plus(plus(plus(plus(times(B1, k1), B3, k3), B4, k4), B5, k5), B6, k6))
    k7 = rates_at(end, phase)
    off = plus(plus(plus(plus(plus(times(E1, k1), E3, k3), E4, k4), E5, k5), E6, k6), E7, k7)
    error = 0.0
    for i in range(6):
        error = max(error, abs(h * off[i]) / (1.0 + abs(end[i])))
    return ImpulseStep(end, k7, error)


@kernel
def bed_reversal(q: Impact, tried: ImpulseStep, phase: Phase, h: float) -> float:
    """Where, of a step of size h, a rubbing bed slip that reverses comes nearest to zero; h if it does not reverse."""
    if phase.slips.bed_holds:
        return h
    t_x, t_y = bed_slip(q, phase.law.s)
    n_x, n_y = bed_slip(tried.q, phase.law.s)
    size2, dot = t_x * t_x + t_y * t_y, t_x * n_x + t_y * n_y
    if dot >= 0.0 or size2 <= ZERO_SLIP * ZERO_SLIP or n_x * n_x + n_y * n_y <= REVERSED * REVERSED:
        return h
    return h * size2 / (size2 - dot)


@kernel
def shorter_step(tried: ImpulseStep, nearest: float, step_error: float, h: float) -> float:
    """The step to try after one of size h whose error was too large, or whose bed slip reversed at ``nearest``."""
    by_error = float(h * max(0.2, 0.9 * (step_error / tried.error) ** 0.2)) if tried.error > step_error else h
    return min(nearest, by_error) if nearest > 0.9 * h else nearest


@kernel
def next_step(h: float, error: float, last_h: float, last_error: float, step_error: float) -> float:
    """The step after one of size h: Gustafsson's predictive controller.

    Where the steps keep shrinking, the next is expected to shrink too.
    """
    growth = step_error / error
    trend = h / last_h
    if trend * trend * trend * trend * trend * last_error < error:
        growth *= trend * trend * trend * trend * trend * last_error / error
    return float(h * min(5.0, 0.9 * growth**0.2))


@kernel
def end_at(q: Impact, rates: Impact, tried: ImpulseStep, phase: Phase, h: float, entry: int, goal: float) -> Impact:
    """Where the last step, of size h, ends if shortened so that ``entry`` comes to ``goal``: Newton, kept within it."""
    low, high = 0.0, h
    for _newton in range(60):
        excess, rate = tried.q[entry] - goal, tried.rates[entry]
        if abs(excess) <= 1e-2 * phase.step_error or high - low <= 1e-15 * high:
            break
        low, high = (low, h) if excess > 0.0 else (h, high)
        h = h - excess / rate if rate > 0.0 else low
        if not low < h < high:
            h = 0.5 * (low + high)
        tried = step_on(q, rates, phase, h)
    return tried.q


@kernel
def slips_now(q: Impact, phase: Phase) -> Slips:
    """:func:`slips_at` q, without asking while both contacts surely rub."""
    t_x, t_y = bed_slip(q, phase.law.s)
    least = min(t_x * t_x + t_y * t_y, q.slip_x * q.slip_x + q.slip_y * q.slip_y)
    if phase.slips.nose == RUBBING and not phase.slips.bed_holds and least > ZERO_SLIP * ZERO_SLIP:
        return phase.slips
    return slips_at(q, phase.slips, phase.law)


@kernel
def changed(a: Slips, b: Slips) -> bool:
    """True if a contact carries its slip in another way."""
    return a.nose != b.nose or a.bed_holds != b.bed_holds


@kernel
def integrate(q: Impact, phase: Phase, goal: float, h: float) -> tuple[Impact, Slips, float]:
    """Compression until sigma = ``goal``, or release until so much work is returned.

    Returns the end, how the contacts carry their slips and the size of the steps there.
    """
    entry = SIGMA if phase.sign < 0 else WORK
    # A dying slip shrinks like exp(-mu_w (1+k) tau): steps that keep the method from swinging about zero.
    steady = 1.0 / (phase.law.mu_w * (1.0 + K)) if phase.law.mu_w > 0.0 else math.inf
    last_h, last_error = h, phase.step_error
    rates = q
    for attempt in range(EXPLICIT_STEPS):
        slips = slips_now(q, phase)
        fresh = attempt == 0 or changed(slips, phase.slips)
        phase = Phase(phase.sign, phase.law, slips, phase.step_error)
        if fresh:
            rates = rates_at(q, phase)
        if phase.slips.nose == RUBBING:
            h = min(h, steady)
        tried = step_on(q, rates, phase, h)
        nearest = bed_reversal(q, tried, phase, h)
        if (tried.error > phase.step_error or nearest < h) and h > 1e-14:
            h = shorter_step(tried, nearest, phase.step_error, h)
            continue
        holds = phase.slips.nose == HOLDING or phase.slips.bed_holds
        if holds and h > BREAK_STEP and changed(slips_at(tried.q, phase.slips, phase.law), phase.slips):
            h *= 0.5  # a hold breaks within the step: halve until the break is found
            continue
        if tried.q[entry] >= goal:
            return end_at(q, rates, tried, phase, h, entry, goal), phase.slips, last_h
        error = max(tried.error, 1e-6 * phase.step_error)
        following = next_step(h, error, last_h, last_error, phase.step_error)
        q, rates, last_h, last_error, h = tried.q, tried.rates, h, error, following
    return finish_stiff(q, phase.sign, phase.law, goal, phase.step_error), phase.slips, last_h


@kernel
def bounce_cushion(
    ball: BallState, radius: float, sin_theta: float, restitution: float, mu_w: float, mu_s: float, step_error: float
) -> BallState:
    """The ball after the impact, in axes X along the rail, Y into it, Z up (right-handed).

    ``ball`` moves into the rail, v_Y > 0; radius [m]; ``sin_theta`` = (h - R)/R of
    the nose; ``restitution`` is energetic; frictions of nose and cloth;
    ``step_error`` of the integration (STEP_ERROR).
    """
    s, c = sin_theta, math.sqrt(1.0 - sin_theta * sin_theta)
    v_into, scale = ball.vy, radius / ball.vy
    v_x, w_x, w_y, w_z = ball.vx / v_into, ball.wx * scale, ball.wy * scale, ball.wz * scale
    q = Impact(v_x + w_y * s - w_z * c, w_x - s, v_x, w_y, 0.0, -1.0)
    slip = math.sqrt(q.slip_x * q.slip_x + q.slip_y * q.slip_y)
    slips = Slips(HOLDING if slip <= ZERO_SLIP else RUBBING, 0, (0.0, 0.0), (0.0, 0.0))
    law = Nose(s, c, mu_w, mu_s)
    q, slips, h = integrate(q, Phase(-1, law, slips, step_error), 0.0, 0.1)
    target = restitution * restitution * q.work
    q = Impact(q.slip_x, q.slip_y, q.v_x, q.w_y, 0.0, q.sigma)
    if target > 0.0:
        q, slips, h = integrate(q, Phase(1, law, slips, step_error), target, h)
    # Back from the nose slip to the spins: s_Y = sigma S + R w_X, s_X = v_X + R w_Y S - R w_Z C.
    w_x = q.slip_y - q.sigma * s
    w_z = (q.v_x + q.w_y * s - q.slip_x) / c
    return BallState(ball.x, ball.y, q.v_x * v_into, -q.sigma * v_into, w_x / scale, q.w_y / scale, w_z / scale)
