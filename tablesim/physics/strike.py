"""Cue to ball: one impulse in three dimensions gives speed, squirt and spin together.

Derived from rigid-body impulse mechanics; the form agrees with R. Shepard,
"Everything you always wanted to know about cue ball squirt" (2001) and
D. Alciatore, TP A.31 (both from memory).  The tip does not slip on the ball;
along the cue the whole cue pushes, across it only the end mass m_e of the shaft.
Assumes an instantaneous, frictionally gripping hit, on a ball that the bed does
not hold.

A raised butt drives the ball into the bed, and the bed rubs at once, while the
tip still pushes (:func:`rubbed_on_bed`); what the bed throws up again, the ball
hops (:func:`rise_speed`), while its path is computed as if it stayed down.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .cloth import cloth_slip
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


class Stroke(NamedTuple):
    """How a ball is struck.

    ``pace`` [m/s] is the ball speed that the same stroke gives on a level centre
    hit; offsets are the contact point's, in ball radii, left + and up + of the
    cue's line through the centre; ``elevation`` [rad] of the butt; the masses of
    the ball over the shaft's end mass, and over the cue's; ``stroke_factor``
    multiplies the impulse across the cue (1 for a smooth stroke).
    """

    pace: float
    offset_left: float
    offset_up: float
    elevation: float
    ball_to_end_mass: float
    ball_to_cue_mass: float
    stroke_factor: float


@kernel
def tip_impulse(stroke: Stroke) -> tuple[float, float, float]:
    """Impulse of the tip per ball mass [m/s] in the cue's own frame: forward along the cue, left, up."""
    m, q = stroke.ball_to_cue_mass, stroke.ball_to_end_mass
    s_l, s_u = stroke.offset_left, stroke.offset_up
    forward = stroke.pace * (m + 1.0) / (m + forward_resistance(s_l, s_u, q))
    across = -stroke.stroke_factor * deflection_slope(s_l, s_u, q) * forward
    return forward, across * s_l, across * s_u


@kernel
def off_the_tip(stroke: Stroke, radius: float) -> BallState:
    """The ball as the tip alone would send it, in the cue's level frame (x forward, y left, z up), from the origin.

    Its vertical velocity is left out: :func:`vertical_impulse`.
    """
    forward, left, up = tip_impulse(stroke)
    s_l, s_u = stroke.offset_left, stroke.offset_up
    c = math.sqrt(1.0 - s_l * s_l - s_u * s_u)
    # w = (k/R) n x J, n = (-c, s_l, s_u) from the ball's centre to the tip
    spin = K / radius
    w_forward = spin * (s_l * up - s_u * left)
    w_left = spin * (s_u * forward + c * up)
    w_up = spin * (-c * left - s_l * forward)
    cos_e, sin_e = math.cos(stroke.elevation), math.sin(stroke.elevation)  # forward points down by the elevation
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
def vertical_impulse(stroke: Stroke) -> float:
    """The tip's impulse per ball mass [m/s] along the table's upward normal: negative into the bed."""
    forward, _, up = tip_impulse(stroke)
    return up * math.cos(stroke.elevation) - forward * math.sin(stroke.elevation)


@kernel
def rubbed_on_bed(ball: BallState, radius: float, press: float, mu_s: float) -> BallState:
    """The ball after the bed has rubbed it under a ``press`` [m/s], the impulse per ball mass with which it pushes up.

    Derived here.  Slip of the ball on the bed and push of the bed grow together
    while the tip pushes, and friction acts along the slip, so the slip u keeps
    its direction, and the impulse is mu_s times the press along it, at most
    2/7 |u|, which ends the slip.  Like all friction at that point it leaves
    v - (2/7) u alone, the velocity with which the ball will roll: where a
    stroke leads in the end (Coriolis 1835, the masse theorem) is not changed,
    only how soon it gets there.  Left out: that the rubbing also gives the tip
    a little more to push against.
    """
    ux, uy = cloth_slip(ball, radius)
    slip = math.sqrt(ux * ux + uy * uy)
    size = min(mu_s * press, 2.0 / 7.0 * slip)
    if size <= 0.0:
        return ball
    dx, dy, spin = -size * ux / slip, -size * uy / slip, K / radius
    return BallState(
        ball.x, ball.y, ball.vx + dx, ball.vy + dy, ball.wx + spin * dy, ball.wy - spin * dx, ball.wz
    )  # fmt: skip


@kernel
def strike_ball(stroke: Stroke, radius: float, mu_s: float) -> BallState:
    """The struck ball of ``radius`` [m] in the cue's level frame, from the origin, on a bed of friction ``mu_s``."""
    return rubbed_on_bed(off_the_tip(stroke, radius), radius, max(0.0, -vertical_impulse(stroke)), mu_s)


def rise_speed(vertical: float, bed_restitution: float) -> float:
    """Speed [m/s] at which a ball leaves the bed after a strike of :func:`vertical_impulse` ``vertical`` [m/s].

    What drives it into the bed comes back by the bed's restitution; a low hit on
    a level cue lifts the ball itself.
    """
    return vertical if vertical > 0.0 else -bed_restitution * vertical


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
