"""Ball to ball: restitution along the line of centres, rubbing across it (throw).

Rigid instantaneous impact.  The friction coefficient falls with rubbing speed:
mu(v) = a + b exp(-c v) with a = 0.00995, b = 0.108, c = 1.088 s/m (from memory:
D. Alciatore, TP A.14, fitted to W. Marlow, The Physics of Pocket Billiards,
1995), times the balls' condition; with b = 0 it is one friction at all speeds
(R. Cross, Am. J. Phys. 76 (2008) 205: typically 0.06).  The two disagree: the
falling one leaves the range 0.03 to 0.08 of Alciatore's property list at both
ends (0.107 at 0.1 m/s, 0.014 at 3 m/s).  The balls stay on the bed: an impulse with a
vertical part changes spin, not vertical velocity.  Masses and radii may differ;
for unequal radii the centres differ in height and the line of centres is tilted.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .constants import K
from .jit import kernel
from .records import BallLaw, BallState


class Contact(NamedTuple):
    """Two touching balls: unit vector from the first to the second seen from above, masses [kg], radii [m]."""

    nx: float
    ny: float
    mass_1: float
    mass_2: float
    radius_1: float
    radius_2: float


@kernel
def ball_friction(slip: float, law: BallLaw) -> float:
    """Friction coefficient between two balls rubbing at ``slip`` m/s."""
    return law.condition * (law.a + law.b * math.exp(-law.c * slip))


@kernel
def contact_distance(radius_1: float, radius_2: float) -> float:
    """Distance [m], seen from above, between the centres of two touching balls: 2 sqrt(R1 R2)."""
    return 2.0 * math.sqrt(radius_1 * radius_2)


@kernel
def line_of_centres(contact: Contact) -> tuple[float, float, float]:
    """Unit vector (x, y, z) from the first ball's centre to the second's; level for equal radii."""
    reach = contact.radius_1 + contact.radius_2
    level = contact_distance(contact.radius_1, contact.radius_2) / reach
    return contact.nx * level, contact.ny * level, (contact.radius_2 - contact.radius_1) / reach


@kernel
def contact_slip(first: BallState, second: BallState, contact: Contact) -> tuple[float, float, float]:
    """Velocity (x, y, z) [m/s] of the first ball's contact point over the second's, across the line of centres."""
    n0, n1, n2 = line_of_centres(contact)
    # Both spins carry their own contact point: w1 x R1 n and w2 x (-R2 n).
    r1, r2 = contact.radius_1, contact.radius_2
    sx, sy, sz = r1 * first.wx + r2 * second.wx, r1 * first.wy + r2 * second.wy, r1 * first.wz + r2 * second.wz
    ux = first.vx - second.vx + sy * n2 - sz * n1
    uy = first.vy - second.vy + sz * n0 - sx * n2
    uz = sx * n1 - sy * n0
    along = ux * n0 + uy * n1 + uz * n2
    return ux - along * n0, uy - along * n1, uz - along * n2


@kernel
def friction_impulse(
    slip: tuple[float, float, float], normal_impulse: float, contact: Contact, law: BallLaw, share: float
) -> tuple[float, float, float]:
    """Impulse (x, y, z) [N s] on the first ball from rubbing at ``slip`` [m/s] under ``normal_impulse``.

    The smaller of mu N and of the impulse that stops the rubbing,
    |u| / ((1+k)(1/m1+1/m2)); for equal balls m |u| / 7.  ``share`` <= 1 divides
    that second limit among contacts struck together.  ``normal_impulse`` is the
    level one: the one along a tilted line of centres is larger.
    """
    ux, uy, uz = slip
    speed = math.sqrt(ux * ux + uy * uy + uz * uz)
    if speed <= 0.0:
        return 0.0, 0.0, 0.0
    level = contact_distance(contact.radius_1, contact.radius_2) / (contact.radius_1 + contact.radius_2)
    grip = share * speed / ((1.0 + K) * (1.0 / contact.mass_1 + 1.0 / contact.mass_2))
    rub = ball_friction(speed, law) * normal_impulse / level
    size = -min(grip, rub) / speed
    return size * ux, size * uy, size * uz


@kernel
def push_contact(
    ball: BallState, impulse: tuple[float, float, float], n: tuple[float, float, float], mass: float, radius: float
) -> BallState:
    """The ball after ``impulse`` [N s] at its surface point R n (n a 3-D unit vector): v += J/m, w += k/(mR) n x J."""
    jx, jy, jz = impulse
    spin = K / (mass * radius)
    return BallState(
        ball.x,
        ball.y,
        ball.vx + jx / mass,
        ball.vy + jy / mass,
        ball.wx + spin * (n[1] * jz - n[2] * jy),
        ball.wy + spin * (n[2] * jx - n[0] * jz),
        ball.wz + spin * (n[0] * jy - n[1] * jx),
    )


@kernel
def rub_balls(
    first: BallState, second: BallState, contact: Contact, normal_impulse: float, law: BallLaw, share: float
) -> tuple[BallState, BallState]:
    """Both balls after the friction that goes with ``normal_impulse`` [N s]."""
    n0, n1, n2 = line_of_centres(contact)
    slip = contact_slip(first, second, contact)
    jx, jy, jz = friction_impulse(slip, normal_impulse, contact, law, share)
    return (
        push_contact(first, (jx, jy, jz), (n0, n1, n2), contact.mass_1, contact.radius_1),
        push_contact(second, (-jx, -jy, -jz), (-n0, -n1, -n2), contact.mass_2, contact.radius_2),
    )


@kernel
def pushed_along(ball: BallState, change: float, nx: float, ny: float) -> BallState:
    """The ball with ``change`` [m/s] of velocity added along n."""
    return BallState(ball.x, ball.y, ball.vx + change * nx, ball.vy + change * ny, ball.wx, ball.wy, ball.wz)


@kernel
def closing_along(first: BallState, second: BallState, nx: float, ny: float) -> float:
    """Speed [m/s] at which two balls approach along n, the direction from the first to the second."""
    return (first.vx - second.vx) * nx + (first.vy - second.vy) * ny


@kernel
def normal_impulse_of(closing: float, parting: float, mass_1: float, mass_2: float) -> float:
    """Impulse [N s] that turns a closing speed into a parting speed: (closing + parting) / (1/m1 + 1/m2)."""
    return (closing + parting) / (1.0 / mass_1 + 1.0 / mass_2)


@kernel
def part_balls(
    first: BallState, second: BallState, contact: Contact, parting: float, law: BallLaw
) -> tuple[BallState, BallState]:
    """Both balls after an impact that lets them part at ``parting`` [m/s] along the line of centres."""
    closing = closing_along(first, second, contact.nx, contact.ny)
    impulse = normal_impulse_of(closing, parting, contact.mass_1, contact.mass_2)
    first = pushed_along(first, -impulse / contact.mass_1, contact.nx, contact.ny)
    second = pushed_along(second, impulse / contact.mass_2, contact.nx, contact.ny)
    return rub_balls(first, second, contact, impulse, law, 1.0)


@kernel
def collide_balls(first: BallState, second: BallState, contact: Contact, law: BallLaw) -> tuple[BallState, BallState]:
    """Both balls after an impact; they part at restitution times the speed at which they closed."""
    closing = closing_along(first, second, contact.nx, contact.ny)
    return part_balls(first, second, contact, law.restitution * closing, law)
