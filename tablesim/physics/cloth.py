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

from .constants import REST, ROLLING, SLIDING, SLIP_ZERO_M_S, SPEED_ZERO_M_S, SPIN_ZERO_RAD_S, SPINNING, K
from .jit import kernel


@kernel("UniTuple(f8,2)(f8,f8,f8,f8,f8)")
def cloth_slip(vx: float, vy: float, wx: float, wy: float, radius: float) -> tuple[float, float]:
    """Velocity [m/s] of the ball's lowest point over the cloth: (v_x - R w_y, v_y + R w_x)."""
    return vx - radius * wy, vy + radius * wx


@kernel("f8(f8,f8,f8)")
def sidespin_after(wz: float, deceleration: float, t: float) -> float:
    """Sidespin [rad/s] left after ``t`` seconds of constant ``deceleration`` [rad/s^2]."""
    left = abs(wz) - deceleration * t
    if left <= 0.0:
        return 0.0
    return left if wz > 0.0 else -left


@kernel("Tuple((i8,f8,f8,f8,f8,f8))(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8)")
def motion(
    vx: float,
    vy: float,
    wx: float,
    wy: float,
    wz: float,
    radius: float,
    mu_s: float,
    mu_r: float,
    spin_deceleration: float,
    g: float,
) -> tuple[int, float, float, float, float, float]:
    """Phase of a ball and its constant rates until that phase ends.

    Velocity [m/s], spin [rad/s], radius [m], sliding friction, rolling
    resistance (deceleration / g), sidespin deceleration [rad/s^2], gravity.
    Returns (phase, a_x, a_y, dw_x/dt, dw_y/dt, duration): m/s^2, rad/s^2, s;
    the duration of a phase that never ends is inf.
    """
    ux, uy = cloth_slip(vx, vy, wx, wy, radius)
    slip = math.sqrt(ux * ux + uy * uy)
    if slip > SLIP_ZERO_M_S and mu_s > 0.0:
        # a = -mu_s g u/|u|, dw/dt = (k mu_s g / R) z x u/|u|
        ax, ay = -mu_s * g * ux / slip, -mu_s * g * uy / slip
        spin_up = K / radius
        return SLIDING, ax, ay, spin_up * ay, -spin_up * ax, 2.0 * slip / (7.0 * mu_s * g)
    speed = math.sqrt(vx * vx + vy * vy)
    if speed > SPEED_ZERO_M_S:
        if slip > SLIP_ZERO_M_S or mu_r <= 0.0:  # frictionless cloth: nothing ever changes
            return SLIDING if slip > SLIP_ZERO_M_S else ROLLING, 0.0, 0.0, 0.0, 0.0, math.inf
        # deceleration mu_r g along v, and R w = z x v throughout
        ax, ay = -mu_r * g * vx / speed, -mu_r * g * vy / speed
        return ROLLING, ax, ay, -ay / radius, ax / radius, speed / (mu_r * g)
    if abs(wz) > SPIN_ZERO_RAD_S:
        if spin_deceleration <= 0.0:
            return SPINNING, 0.0, 0.0, 0.0, 0.0, math.inf
        return SPINNING, 0.0, 0.0, 0.0, 0.0, abs(wz) / spin_deceleration
    return REST, 0.0, 0.0, 0.0, 0.0, math.inf


@kernel("UniTuple(f8,7)(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8)")
def drift(
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
    spin_deceleration: float,
    t: float,
) -> tuple[float, float, float, float, float, float, float]:
    """State (x, y, v_x, v_y, w_x, w_y, w_z) after ``t`` seconds at the rates of :func:`motion`."""
    return (
        x + (vx + 0.5 * ax * t) * t,
        y + (vy + 0.5 * ay * t) * t,
        vx + ax * t,
        vy + ay * t,
        wx + bx * t,
        wy + by * t,
        sidespin_after(wz, spin_deceleration, t),
    )


@kernel("UniTuple(f8,4)(i8,f8,f8,f8,f8,f8)")
def phase_end(
    phase: int, vx: float, vy: float, wx: float, wy: float, radius: float
) -> tuple[float, float, float, float]:
    """(v_x, v_y, w_x, w_y) with the rounding of a finished phase removed: slip or speed exactly zero."""
    if phase == SLIDING:
        return vx, vy, -vy / radius, vx / radius
    return 0.0, 0.0, 0.0, 0.0


@kernel("UniTuple(f8,4)(f8,f8,f8,f8,f8,f8,f8)")
def finish_slip_along(
    vx: float, vy: float, wx: float, wy: float, radius: float, nx: float, ny: float
) -> tuple[float, float, float, float]:
    """(v_x, v_y, w_x, w_y) after the cloth has taken up, at once, the slip along unit vector n.

    The same change that sliding would bring in time: v loses 2/7 of that slip,
    the spin takes the other 5/7.  The kinetic energy falls by m u_n^2 / 7.
    """
    ux, uy = cloth_slip(vx, vy, wx, wy, radius)
    along = ux * nx + uy * ny
    dv, dw = -2.0 / 7.0 * along, 5.0 / 7.0 * along / radius
    return vx + dv * nx, vy + dv * ny, wx - dw * ny, wy + dw * nx
