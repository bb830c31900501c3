"""Ball on cloth: sliding, rolling and spinning in closed form.

Source: G.-G. Coriolis, Theorie mathematique des effets du jeu de billard (1835);
rederived here from rigid-body mechanics.  Assumes a level bed, Coulomb
friction, a rigid ball that never leaves the bed, and sidespin that decays at a
constant rate of its own in every phase.

While a ball slides, the direction of its slip at the cloth is constant, so its
acceleration is constant and its path a parabola; the slip ends after
``2 |u0| / (7 mu_s g)``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from .constants import REST, ROLLING, SLIDING, SLIP_ZERO_M_S, SPEED_ZERO_M_S, SPIN_ZERO_RAD_S, SPINNING, K
from .jit import kernel
from .records import BallState, ClothLaw, Motion


@kernel
def cloth_slip(ball: BallState, radius: float) -> tuple[float, float]:
    """Velocity [m/s] of the ball's lowest point over the cloth: (v_x - R w_y, v_y + R w_x)."""
    return ball.vx - radius * ball.wy, ball.vy + radius * ball.wx


@kernel
def sidespin_after(wz: float, deceleration: float, t: float) -> float:
    """Sidespin [rad/s] left after ``t`` seconds of constant ``deceleration`` [rad/s^2]."""
    left = abs(wz) - deceleration * t
    if left <= 0.0:
        return 0.0
    return left if wz > 0.0 else -left


@kernel
def motion(ball: BallState, radius: float, law: ClothLaw) -> Motion:
    """Phase of a ball of ``radius`` [m] and its constant rates until that phase ends."""
    g = law.gravity
    ux, uy = cloth_slip(ball, radius)
    slip = math.sqrt(ux * ux + uy * uy)
    if slip > SLIP_ZERO_M_S and law.mu_s > 0.0:
        # a = -mu_s g u/|u|, dw/dt = (k mu_s g / R) z x u/|u|
        ax, ay = -law.mu_s * g * ux / slip, -law.mu_s * g * uy / slip
        spin_up = K / radius
        return Motion(SLIDING, ax, ay, spin_up * ay, -spin_up * ax, 2.0 * slip / (7.0 * law.mu_s * g))
    speed = math.sqrt(ball.vx * ball.vx + ball.vy * ball.vy)
    if speed > SPEED_ZERO_M_S:
        if slip > SLIP_ZERO_M_S or law.mu_r <= 0.0:  # frictionless cloth: nothing ever changes
            return Motion(SLIDING if slip > SLIP_ZERO_M_S else ROLLING, 0.0, 0.0, 0.0, 0.0, math.inf)
        # deceleration mu_r g along v, and R w = z x v throughout
        ax, ay = -law.mu_r * g * ball.vx / speed, -law.mu_r * g * ball.vy / speed
        return Motion(ROLLING, ax, ay, -ay / radius, ax / radius, speed / (law.mu_r * g))
    if abs(ball.wz) > SPIN_ZERO_RAD_S:
        if law.spin_deceleration <= 0.0:
            return Motion(SPINNING, 0.0, 0.0, 0.0, 0.0, math.inf)
        return Motion(SPINNING, 0.0, 0.0, 0.0, 0.0, abs(ball.wz) / law.spin_deceleration)
    return Motion(REST, 0.0, 0.0, 0.0, 0.0, math.inf)


@kernel
def drift(ball: BallState, rates: Motion, spin_deceleration: float, t: float) -> BallState:
    """The ball after ``t`` seconds at the rates of :func:`motion`."""
    return BallState(
        ball.x + (ball.vx + 0.5 * rates.ax * t) * t,
        ball.y + (ball.vy + 0.5 * rates.ay * t) * t,
        ball.vx + rates.ax * t,
        ball.vy + rates.ay * t,
        ball.wx + rates.bx * t,
        ball.wy + rates.by * t,
        sidespin_after(ball.wz, spin_deceleration, t),
    )


@kernel
def phase_end(phase: int, ball: BallState, radius: float) -> BallState:
    """The ball with the rounding of a finished phase removed: its slip, speed or sidespin exactly zero."""
    if phase == SLIDING:
        return BallState(ball.x, ball.y, ball.vx, ball.vy, -ball.vy / radius, ball.vx / radius, ball.wz)
    return BallState(ball.x, ball.y, 0.0, 0.0, 0.0, 0.0, 0.0 if phase == SPINNING else ball.wz)


@kernel
def finish_slip_along(ball: BallState, radius: float, nx: float, ny: float) -> BallState:
    """The ball after the cloth has taken up, at once, the slip along unit vector n.

    The same change that sliding would bring in time: v loses 2/7 of that slip,
    the spin takes the other 5/7.  The kinetic energy falls by m u_n^2 / 7.
    """
    ux, uy = cloth_slip(ball, radius)
    along = ux * nx + uy * ny
    dv, dw = -2.0 / 7.0 * along, 5.0 / 7.0 * along / radius
    return BallState(
        ball.x, ball.y, ball.vx + dv * nx, ball.vy + dv * ny, ball.wx - dw * ny, ball.wy + dw * nx, ball.wz
    )


def free_course(ball: BallState, radius: float, law: ClothLaw) -> Iterator[tuple[float, BallState, Motion]]:
    """Every phase of a ball left alone, until it rests: when it begins [s], the ball then, its rates.

    The last never ends: at rest, or moving for ever on a frictionless cloth.
    """
    t = 0.0
    while True:
        rates = motion(ball, radius, law)
        yield t, ball, rates
        if rates.duration == math.inf:
            return
        ball = phase_end(rates.phase, drift(ball, rates, law.spin_deceleration, rates.duration), radius)
        t += rates.duration
