"""Cue to ball: one impulse in three dimensions gives speed, squirt and spin together.

Derived from rigid-body impulse mechanics; the form agrees with R. Shepard,
"Everything you always wanted to know about cue ball squirt" (2001) and
D. Alciatore, TP A.31 (both from memory).  The tip does not slip on the ball;
along the cue the whole cue pushes, across it only the end mass m_e of the shaft.
Assumes an instantaneous, frictionally gripping hit; the vertical velocity is
taken up by the bed, so hops and jumps are not modelled.
"""

from __future__ import annotations

import math

from .constants import K
from .jit import kernel
from .records import BallState


@kernel
def forward_resistance(offset_left: float, offset_up: float, ball_to_end_mass: float) -> float:
    """A in J_f = (1+e) V / (m/M + A): 1 on a centre hit, more off centre.

    A = 1 + k - k c^2 (1+k+q) / (1+q+k c^2), c^2 = 1 - s_l^2 - s_u^2, q = m/m_e.
    """
    c2 = 1.0 - offset_left * offset_left - offset_up * offset_up
    q = ball_to_end_mass
    return 1.0 + K - K * c2 * (1.0 + K + q) / (1.0 + q + K * c2)


@kernel
def deflection_slope(offset_left: float, offset_up: float, ball_to_end_mass: float) -> float:
    """Across-to-forward impulse per unit offset: k c / (1 + q + k c^2), so tan(squirt) = s times this."""
    c2 = 1.0 - offset_left * offset_left - offset_up * offset_up
    return K * math.sqrt(c2) / (1.0 + ball_to_end_mass + K * c2)


@kernel
def strike_ball(
    pace: float,
    offset_left: float,
    offset_up: float,
    elevation: float,
    ball_to_end_mass: float,
    ball_to_cue_mass: float,
    stroke_factor: float,
    radius: float,
) -> BallState:
    """The struck cue ball in the cue's level frame (x forward, y left, z up), from the origin.

    ``pace`` [m/s] is the ball speed that the same stroke gives on a level centre
    hit; offsets are the contact point's, in ball radii, left + and up + of the
    cue's line through the centre; ``elevation`` [rad] of the butt;
    ``stroke_factor`` multiplies the impulse across the cue (1 for a smooth
    stroke).
    """
    q = ball_to_end_mass
    c = math.sqrt(1.0 - offset_left * offset_left - offset_up * offset_up)
    # Impulse per ball mass in the cue's own frame: forward along the cue, left, up.
    forward = pace * (ball_to_cue_mass + 1.0) / (ball_to_cue_mass + forward_resistance(offset_left, offset_up, q))
    across = -stroke_factor * deflection_slope(offset_left, offset_up, q) * forward
    left, up = across * offset_left, across * offset_up
    # w = (k/R) n x J, n = (-c, s_l, s_u) from the ball's centre to the tip
    spin = K / radius
    w_forward = spin * (offset_left * up - offset_up * left)
    w_left = spin * (offset_up * forward + c * up)
    w_up = spin * (-c * left - offset_left * forward)
    # Tilt: forward points down by the elevation; the bed takes the vertical velocity.
    cos_e, sin_e = math.cos(elevation), math.sin(elevation)
    return BallState(
        0.0,
        0.0,
        forward * cos_e + up * sin_e,
        left,
        w_forward * cos_e + w_up * sin_e,
        w_left,
        w_up * cos_e - w_forward * sin_e,
    )


@kernel
def along_heading(launch: BallState, heading: float, x: float, y: float) -> BallState:
    """A ball struck in the cue's level frame, as it leaves (x, y) [m] when the cue points along ``heading`` [rad]."""
    c, s = math.cos(heading), math.sin(heading)
    return BallState(
        x,
        y,
        c * launch.vx - s * launch.vy,
        s * launch.vx + c * launch.vy,
        c * launch.wx - s * launch.wy,
        s * launch.wx + c * launch.wy,
        launch.wz,
    )


def stroke_speed(pace: float, ball_to_cue_mass: float, tip_restitution: float) -> float:
    """Cue speed V [m/s] just before impact that gives ``pace``: pace (1 + m/M) / (1 + e)."""
    return pace * (1.0 + ball_to_cue_mass) / (1.0 + tip_restitution)


def miscue_offset(tip_friction: float) -> float:
    """Largest contact offset [ball radii] that the tip can hold: sin(atan(mu)).

    The friction needed at offset b is tan(asin(b/R)): 0.577 at 0.5 R
    (Alciatore, "Physics of Pool and Billiards" property list).
    """
    return math.sin(math.atan(tip_friction))


def slipping_squirt(offset: float, tip_friction: float) -> float:
    """Angle [rad] off the cue's line, away from the tip's side, when the tip slips on the ball.

    The impulse lies on the edge of the friction cone about the line from the
    contact to the ball's centre: asin(b) - atan(mu).  0 while the tip grips; the
    cue's own give is left out, so it is a least value.
    """
    return max(0.0, math.asin(abs(offset)) - math.atan(tip_friction))


def slipping_spin_share(offset: float, tip_friction: float) -> float:
    """Spin per impulse of a slipping tip, as a share of what a gripping one gives: sin(atan(mu)) / b, at most 1."""
    return min(1.0, miscue_offset(tip_friction) / abs(offset)) if offset else 1.0


def pivot_length(offset: float, ball_to_end_mass: float, radius: float) -> float:
    """Bridge length [m] from the ball's centre at which a pivot by the back hand cancels squirt.

    b / sin(squirt) for a sideways contact offset ``offset`` [ball radii]; in the
    small-offset limit (2R/5)(q + 7/2).
    """
    if offset == 0.0:
        return 2.0 * radius / 5.0 * (ball_to_end_mass + 3.5)
    squirt = math.atan(abs(offset) * deflection_slope(offset, 0.0, ball_to_end_mass))
    return abs(offset) * radius / math.sin(squirt)


def contact_offset(cue_shift_m: float, radius: float, tip_radius: float) -> float:
    """Contact offset [ball radii] when the cue is moved sideways by ``cue_shift_m`` from centre.

    The contact moves less than the cue by 1 / (1 + r_tip / R).
    """
    return cue_shift_m / (radius + tip_radius)
