"""One law at a time, vectors in and out, so that anyone can check it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tablesim.errors import ScenarioError
from tablesim.model.gear import BallSet, Cloth, Cue, Rails
from tablesim.physics.ball_ball import Contact, collide_balls
from tablesim.physics.cloth import drift, free_course
from tablesim.physics.constants import REST, SLIDING, SPINNING
from tablesim.physics.cushion import FINE_STEP_ERROR, bounce_cushion
from tablesim.physics.records import BallLaw, BallState, ClothLaw
from tablesim.physics.simulation import PHASE_NAMES
from tablesim.physics.strike import Stroke, miscue_offset, off_the_tip, strike_ball, vertical_impulse
from tablesim.units import STANDARD_GRAVITY_M_S2

Vector2 = tuple[float, float]
Vector3 = tuple[float, float, float]

BALLS, CLOTH, RAILS, CUE = BallSet(), Cloth(), Rails(), Cue()
RADIUS_M = BALLS.diameter_m / 2.0
MOST = 1e6  # m/s and rad/s
LEAST_M_S = 1e-9  # into a ball or a rail


@dataclass(frozen=True)
class StrikeFinding:
    """The cue ball in the cue's level frame: velocity [forward, left], spin [forward, left, up], once the bed has
    rubbed it.

    ``squirt_deg`` (left +) is the direction in which the tip alone sends it,
    ``bed_turn_deg`` (left +) by how much the bed has turned that already;
    ``vertical_impulse_m_s`` what the tip gives per ball mass along the upward
    normal, negative into the bed.
    """

    squirt_deg: float
    velocity_m_s: Vector2
    spin_rad_s: Vector3
    bed_turn_deg: float
    vertical_impulse_m_s: float


@dataclass(frozen=True)
class ClothState:
    """A ball at an instant: position from the start, velocity, spin, phase."""

    position_m: Vector2
    velocity_m_s: Vector2
    spin_rad_s: Vector3
    phase: str


@dataclass(frozen=True)
class CourseFinding:
    """A ball alone on the cloth, from the origin: where and when sliding ends, and where and when it stops."""

    slide_time_s: float
    slide_end_m: Vector2
    roll_velocity_m_s: Vector2
    stop_time_s: float
    stop_m: Vector2
    after: ClothState | None


@dataclass(frozen=True)
class CollisionFinding:
    """Two balls after their impact; ``throw_deg`` is the second's direction off the line of centres, left +."""

    first_velocity_m_s: Vector2
    first_spin_rad_s: Vector3
    second_velocity_m_s: Vector2
    second_spin_rad_s: Vector3
    throw_deg: float


@dataclass(frozen=True)
class CushionFinding:
    """A ball after meeting a rail along x from its -y side."""

    velocity_m_s: Vector2
    spin_rad_s: Vector3


def finite(name: str, *values: float) -> None:
    """ScenarioError unless every value is a finite number, and no speed or spin out of this world."""
    for value in values:
        if not math.isfinite(value):
            raise ScenarioError(f"{name}: must be finite; got {value}")
        if abs(value) > MOST:
            raise ScenarioError(f"{name}: must lie within {MOST:g}; got {value:g}")


def within(name: str, value: float, low: float, high: float) -> None:
    """ScenarioError unless ``value`` is finite and within [low, high]."""
    if not (math.isfinite(value) and low <= value <= high):
        raise ScenarioError(f"{name}: must lie from {low:g} to {high:g}; got {value:g}")


@dataclass(frozen=True)
class StrikeGear:
    """The gear of a strike, but for the shaft's end mass."""

    stroke_factor: float = 1.0
    ball_mass_kg: float = BALLS.mass_kg
    cue_mass_kg: float = CUE.mass_kg
    radius_m: float = RADIUS_M
    sliding_friction: float = CLOTH.sliding_friction
    tip_friction: float = CUE.tip_friction


def strike_law(
    pace_m_s: float,
    right: float,
    up: float,
    elevation_deg: float,
    ball_to_end_mass: float,
    gear: StrikeGear = StrikeGear(),
) -> StrikeFinding:
    """The cue-to-ball law; offsets in ball radii, ``ball_to_end_mass`` of the ball that is struck.

    ScenarioError beyond the offset that the tip can hold: there is a miscue, and no law.
    """
    within("--pace", pace_m_s, 1e-6, 100.0)
    finite("--right", right)
    finite("--up", up)
    if math.hypot(right, up) >= 1.0:
        raise ScenarioError(f"--right, --up: must touch the ball, offset under 1; got {math.hypot(right, up):.3f}")
    within("--elevation", elevation_deg, 0.0, 89.0)
    within("--ball-to-end-mass", ball_to_end_mass, 0.0, 1e9)
    _gear_within(gear)
    if math.hypot(right, up) > miscue_offset(gear.tip_friction):
        raise ScenarioError(
            f"--right, --up: beyond {miscue_offset(gear.tip_friction):.3f} ball radii off centre a tip of friction"
            f" {gear.tip_friction:g} slips, a miscue; got {math.hypot(right, up):.3f}. --tip-friction changes the limit"
        )
    stroke = Stroke(
        pace_m_s, -right, up, math.radians(elevation_deg), ball_to_end_mass, gear.ball_mass_kg / gear.cue_mass_kg,
        gear.stroke_factor,
    )  # fmt: skip
    tipped = off_the_tip(stroke, gear.radius_m)
    ball = strike_ball(stroke, gear.radius_m, gear.sliding_friction)
    squirt = math.atan2(tipped.vy, tipped.vx)
    turn = math.degrees(math.remainder(math.atan2(ball.vy, ball.vx) - squirt, math.tau))
    velocity, spin = (ball.vx, ball.vy), (ball.wx, ball.wy, ball.wz)
    return StrikeFinding(math.degrees(squirt), velocity, spin, turn, vertical_impulse(stroke))


def _gear_within(gear: StrikeGear) -> None:
    within("--stroke-factor", gear.stroke_factor, 0.0, 100.0)
    within("--ball-mass", gear.ball_mass_kg, 1e-3, 10.0)
    within("--cue-mass", gear.cue_mass_kg, 1e-3, 100.0)
    within("--radius", gear.radius_m, 1e-3, 1.0)
    within("--sliding-friction", gear.sliding_friction, 0.0, 10.0)
    within("--tip-friction", gear.tip_friction, 0.0, 100.0)


def cloth_law(
    velocity: Vector2,
    spin: Vector3,
    after_s: float | None = None,
    sliding_friction: float = CLOTH.sliding_friction,
    rolling_resistance: float = CLOTH.rolling_resistance,
    spin_deceleration: float = CLOTH.spin_deceleration_rad_s2,
    radius_m: float = RADIUS_M,
) -> CourseFinding:
    """The cloth law for one ball starting at the origin."""
    finite("--velocity", *velocity)
    finite("--spin", *spin)
    within("--sliding-friction", sliding_friction, 1e-6, 10.0)
    within("--rolling-resistance", rolling_resistance, 1e-6, 1.0)
    within("--spin-deceleration", spin_deceleration, 1e-6, 1e4)
    within("--radius", radius_m, 1e-3, 1.0)
    if after_s is not None:
        within("--after", after_s, 0.0, 1e6)
    law = ClothLaw(sliding_friction, rolling_resistance, spin_deceleration, STANDARD_GRAVITY_M_S2)
    phases = list(free_course(BallState(0.0, 0.0, *velocity, *spin), radius_m, law))
    slid, rolling, _ = next(phase for phase in phases if phase[2].phase != SLIDING)
    stopped, stop, _ = next(phase for phase in phases if phase[2].phase in (SPINNING, REST))
    sought = None
    if after_s is not None:
        begun, ball, rates = next(phase for phase in reversed(phases) if phase[0] <= after_s)
        s = drift(ball, rates, spin_deceleration, after_s - begun)
        sought = ClothState((s.x, s.y), (s.vx, s.vy), (s.wx, s.wy, s.wz), PHASE_NAMES[rates.phase])
    return CourseFinding(slid, (rolling.x, rolling.y), (rolling.vx, rolling.vy), stopped, (stop.x, stop.y), sought)


def ball_ball_law(
    velocity: Vector2,
    spin: Vector3,
    restitution: float = BALLS.restitution,
    condition: float = BALLS.condition,
    friction: float | None = None,
    mass_ratio: float = 1.0,
    radius_m: float = RADIUS_M,
) -> CollisionFinding:
    """The ball-to-ball law: the first moves into the second, at rest on its +x side.

    ``friction`` replaces the law of rubbing speed by a constant; ``mass_ratio``
    is the first ball's mass over the second's.
    """
    finite("--velocity", *velocity)
    finite("--spin", *spin)
    if velocity[0] < LEAST_M_S:
        raise ScenarioError(f"--velocity: the first ball must move toward the second, x > 0; got {velocity[0]:g}")
    within("--restitution", restitution, 0.0, 1.0)
    within("--condition", condition, 0.0, 100.0)
    within("--mass-ratio", mass_ratio, 1e-3, 1e3)
    within("--radius", radius_m, 1e-3, 1.0)
    if friction is not None:
        within("--friction", friction, 0.0, 10.0)
    a, b, c = (BALLS.friction_floor, BALLS.friction_rise, BALLS.friction_fall_s_m)
    if friction is not None:
        a, b = friction, 0.0
    mass = BALLS.mass_kg
    contact = Contact(1.0, 0.0, mass * mass_ratio, mass, radius_m, radius_m)
    first, second = BallState(0.0, 0.0, *velocity, *spin), BallState(2.0 * radius_m, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    law = BallLaw(restitution, a, b, c, condition)
    one, two = collide_balls(first, second, contact, law)
    throw = math.degrees(math.atan2(two.vy, two.vx))
    return CollisionFinding(
        (one.vx, one.vy), (one.wx, one.wy, one.wz), (two.vx, two.vy), (two.wx, two.wy, two.wz), throw
    )


def cushion_law(
    velocity: Vector2,
    spin: Vector3,
    restitution: float = RAILS.restitution,
    friction: float = RAILS.friction,
    nose_height: float = RAILS.nose_height,
    sliding_friction: float = CLOTH.sliding_friction,
    radius_m: float = RADIUS_M,
) -> CushionFinding:
    """The cushion law: a rail along x, the ball moving toward +y into it; nose height over ball diameter."""
    finite("--velocity", *velocity)
    finite("--spin", *spin)
    if velocity[1] < LEAST_M_S:
        raise ScenarioError(f"--velocity: the ball must move into the rail, y > 0; got {velocity[1]:g}")
    within("--restitution", restitution, 0.0, 1.0)
    within("--friction", friction, 0.0, 0.5)
    within("--nose-height", nose_height, 0.5, 0.75)
    within("--sliding-friction", sliding_friction, 0.0, 0.5)
    within("--radius", radius_m, 1e-3, 1.0)
    ball = bounce_cushion(
        BallState(0.0, 0.0, *velocity, *spin), radius_m, 2.0 * nose_height - 1.0, restitution, friction,
        sliding_friction, FINE_STEP_ERROR,
    )  # fmt: skip
    return CushionFinding((ball.vx, ball.vy), (ball.wx, ball.wy, ball.wz))
