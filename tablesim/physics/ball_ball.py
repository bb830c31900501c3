"""Ball to ball: restitution along the line of centres, rubbing across it (throw).

Rigid instantaneous impact.  The friction coefficient falls with rubbing speed:
mu(v) = a + b exp(-c v) with a = 0.00995, b = 0.108, c = 1.088 s/m (from memory:
D. Alciatore, TP A.14, fitted to W. Marlow, The Physics of Pocket Billiards,
1995), times the balls' condition.  The balls stay on the bed: an impulse with a
vertical part changes spin, not vertical velocity.  Masses and radii may differ;
for unequal radii the centres differ in height and the line of centres is tilted.
"""

from __future__ import annotations

import math

from .constants import K
from .jit import kernel


@kernel("f8(f8,f8,f8,f8,f8)")
def ball_friction(slip: float, a: float, b: float, c: float, condition: float) -> float:
    """Friction coefficient between two balls rubbing at ``slip`` m/s; condition 1 is clean."""
    return condition * (a + b * math.exp(-c * slip))


@kernel("f8(f8,f8)")
def contact_distance(radius_1: float, radius_2: float) -> float:
    """Distance [m], seen from above, between the centres of two touching balls: 2 sqrt(R1 R2)."""
    return 2.0 * math.sqrt(radius_1 * radius_2)


@kernel("UniTuple(f8,3)(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8)")
def contact_slip(
    vx1: float,
    vy1: float,
    wx1: float,
    wy1: float,
    wz1: float,
    vx2: float,
    vy2: float,
    wx2: float,
    wy2: float,
    wz2: float,
    nx: float,
    ny: float,
    radius_1: float,
    radius_2: float,
) -> tuple[float, float, float]:
    """Velocity (x, y, z) [m/s] of ball 1's contact point over ball 2's, across the line of centres.

    (n_x, n_y) is the unit vector from ball 1 to ball 2 seen from above.
    """
    reach = radius_1 + radius_2
    level = contact_distance(radius_1, radius_2) / reach
    n0, n1, n2 = nx * level, ny * level, (radius_2 - radius_1) / reach
    # Both spins carry their own contact point: w1 x R1 n and w2 x (-R2 n).
    sx, sy, sz = radius_1 * wx1 + radius_2 * wx2, radius_1 * wy1 + radius_2 * wy2, radius_1 * wz1 + radius_2 * wz2
    ux = vx1 - vx2 + sy * n2 - sz * n1
    uy = vy1 - vy2 + sz * n0 - sx * n2
    uz = sx * n1 - sy * n0
    along = ux * n0 + uy * n1 + uz * n2
    return ux - along * n0, uy - along * n1, uz - along * n2


@kernel("UniTuple(f8,3)(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8)")
def friction_impulse(
    ux: float,
    uy: float,
    uz: float,
    normal_impulse: float,
    mass_1: float,
    mass_2: float,
    a: float,
    b: float,
    c: float,
    condition: float,
    share: float,
    tilt: float,
) -> tuple[float, float, float]:
    """Impulse (x, y, z) [N s] on ball 1 from rubbing at slip u under ``normal_impulse``.

    The smaller of mu N and of the impulse that stops the rubbing,
    |u| / ((1+k)(1/m1+1/m2)); for equal balls m |u| / 7.  ``share`` <= 1 divides
    that second limit among contacts struck together; ``tilt`` is the level part
    of the line of centres (1 for equal radii).
    """
    slip = math.sqrt(ux * ux + uy * uy + uz * uz)
    if slip <= 0.0:
        return 0.0, 0.0, 0.0
    grip = share * slip / ((1.0 + K) * (1.0 / mass_1 + 1.0 / mass_2))
    rub = ball_friction(slip, a, b, c, condition) * normal_impulse / tilt
    size = -min(grip, rub) / slip
    return size * ux, size * uy, size * uz


@kernel("UniTuple(f8,5)(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8)")
def push_contact(
    vx: float,
    vy: float,
    wx: float,
    wy: float,
    wz: float,
    jx: float,
    jy: float,
    jz: float,
    n0: float,
    n1: float,
    n2: float,
    mass: float,
    radius: float,
) -> tuple[float, float, float, float, float]:
    """A ball's (v_x, v_y, w_x, w_y, w_z) after impulse J [N s] at its surface point R n (n a 3-D unit vector)."""
    spin = K / (mass * radius)
    return (
        vx + jx / mass,
        vy + jy / mass,
        wx + spin * (n1 * jz - n2 * jy),
        wy + spin * (n2 * jx - n0 * jz),
        wz + spin * (n0 * jy - n1 * jx),
    )


@kernel("UniTuple(f8,10)(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8)")
def rub_balls(
    vx1: float,
    vy1: float,
    wx1: float,
    wy1: float,
    wz1: float,
    vx2: float,
    vy2: float,
    wx2: float,
    wy2: float,
    wz2: float,
    nx: float,
    ny: float,
    normal_impulse: float,
    mass_1: float,
    mass_2: float,
    radius_1: float,
    radius_2: float,
    a: float,
    b: float,
    c: float,
    condition: float,
    share: float,
) -> tuple[float, float, float, float, float, float, float, float, float, float]:
    """Both balls' (v_x, v_y, w_x, w_y, w_z) after the friction that goes with ``normal_impulse`` [N s]."""
    reach = radius_1 + radius_2
    tilt = contact_distance(radius_1, radius_2) / reach
    n0, n1, n2 = nx * tilt, ny * tilt, (radius_2 - radius_1) / reach
    ux, uy, uz = contact_slip(vx1, vy1, wx1, wy1, wz1, vx2, vy2, wx2, wy2, wz2, nx, ny, radius_1, radius_2)
    jx, jy, jz = friction_impulse(ux, uy, uz, normal_impulse, mass_1, mass_2, a, b, c, condition, share, tilt)
    first = push_contact(vx1, vy1, wx1, wy1, wz1, jx, jy, jz, n0, n1, n2, mass_1, radius_1)
    second = push_contact(vx2, vy2, wx2, wy2, wz2, -jx, -jy, -jz, -n0, -n1, -n2, mass_2, radius_2)
    return (
        first[0], first[1], first[2], first[3], first[4],
        second[0], second[1], second[2], second[3], second[4],
    )  # fmt: skip


@kernel("f8(f8,f8,f8,f8)")
def normal_impulse_of(closing: float, parting: float, mass_1: float, mass_2: float) -> float:
    """Impulse [N s] that turns a closing speed into a parting speed: (closing + parting) / (1/m1 + 1/m2)."""
    return (closing + parting) / (1.0 / mass_1 + 1.0 / mass_2)


@kernel("UniTuple(f8,10)(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8,f8)")
def collide_balls(
    vx1: float,
    vy1: float,
    wx1: float,
    wy1: float,
    wz1: float,
    vx2: float,
    vy2: float,
    wx2: float,
    wy2: float,
    wz2: float,
    nx: float,
    ny: float,
    parting: float,
    mass_1: float,
    mass_2: float,
    radius_1: float,
    radius_2: float,
    a: float,
    b: float,
    c: float,
    condition: float,
    share: float,
) -> tuple[float, float, float, float, float, float, float, float, float, float]:
    """Both balls' (v_x, v_y, w_x, w_y, w_z) after an impact; n = unit vector from ball 1 to ball 2.

    ``parting`` [m/s] is the speed at which they part along n: restitution times
    the closing speed.
    """
    closing = (vx1 - vx2) * nx + (vy1 - vy2) * ny
    impulse = normal_impulse_of(closing, parting, mass_1, mass_2)
    d1, d2 = impulse / mass_1, impulse / mass_2
    return rub_balls(
        vx1 - d1 * nx, vy1 - d1 * ny, wx1, wy1, wz1,
        vx2 + d2 * nx, vy2 + d2 * ny, wx2, wy2, wz2,
        nx, ny, impulse, mass_1, mass_2, radius_1, radius_2, a, b, c, condition, share,
    )  # fmt: skip
