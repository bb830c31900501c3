"""Figures of mechanics, and figures that the engine is built from, against the engine; see checks.py."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from tablesim.physics.roots import narrowed
from tablesim.physics.strike import contact_offset, miscue_offset, pivot_length, stroke_speed
from tablesim.units import MPH_M_S

from .laws import BALLS, CUE, RADIUS_M, StrikeGear, ball_ball_law, cloth_law, cushion_law, strike_law
from .published import Check

R = RADIUS_M
MECHANICS = "rigid-body mechanics"
SHEPARD = "rigid-body mechanics; form of Shepard 2001, Alciatore TP A.31 (from memory)"
CORIOLIS = "Coriolis 1835"
TP_A14 = "Alciatore TP A.14, fitted to Marlow 1995 (from memory)"
EXACT = 5e-19  # as near as floats allow
PROPERTIES = "Alciatore, Physics of Pool and Billiards, property list"


def squirt(offset: float, ball_to_end_mass: float) -> float:
    """Squirt [deg] of a level stroke with sideways contact offset."""
    return abs(strike_law(1.0, offset, 0.0, 0.0, ball_to_end_mass).squirt_deg)


def ball_to_cue_speed(offset: float) -> float:
    """Ball speed over cue speed for a heavy shaft (no sideways give), 19 oz cue, 170 g ball, leather tip."""
    launch = strike_law(1.0, offset, 0.0, 0.0, 1e9)
    return math.hypot(*launch.velocity_m_s) / stroke_speed(1.0, BALLS.mass_kg / CUE.mass_kg, CUE.tip_restitution)


def swerve(offset: float, elevation_deg: float, up: float = 0.0) -> float:
    """Final direction [deg] off the cue's line with no squirt (stroke factor 0)."""
    launch = strike_law(1.0, offset, up, elevation_deg, CUE.ball_to_end_mass, StrikeGear(stroke_factor=0.0))
    roll = cloth_law(launch.velocity_m_s, launch.spin_rad_s).roll_velocity_m_s
    return abs(math.degrees(math.atan2(roll[1], roll[0])))


def throw(
    cut_deg: float, speed: float, rolling: bool = False, english_percent: float = 0.0, restitution: float = 1.0
) -> float:
    """Throw [deg], + in the direction the cue ball travels across the line of centres.

    ``english_percent`` of the half-radius maximum, outside +.
    """
    phi = math.radians(cut_deg)
    vx, vy = speed * math.cos(phi), speed * math.sin(phi)
    # The cue ball passes to the left of the line of centres and cuts the object ball right: outside english is left.
    wz = english_percent / 100.0 * 1.25 * speed / R
    wx, wy = (-vy / R, vx / R) if rolling else (0.0, 0.0)
    return ball_ball_law((vx, vy), (wx, wy, -wz), restitution=restitution).throw_deg


def straight_throw(speed: float, english_percent: float) -> float:
    """Throw [deg] of a straight stun shot away from the side of the english."""
    return -throw(0.0, speed, False, english_percent)


def gripping_throw(cut_deg: float) -> float:
    """Throw [deg] of a stun shot whose balls grip: friction enough to end all rubbing, e = 1."""
    phi = math.radians(cut_deg)
    return ball_ball_law((math.cos(phi), math.sin(phi)), (0, 0, 0), restitution=1.0, friction=5.0).throw_deg


def spin_over_speed(right: float, up: float) -> float:
    """R w / v off a heavy shaft: the sidespin for a hit ``right`` of centre, the topspin for one above."""
    launch = strike_law(1.0, right, up, 0.0, 1e9)
    return R * (launch.spin_rad_s[2] if right else launch.spin_rad_s[1]) / launch.velocity_m_s[0]


def stun_separation(cut_deg: float, restitution: float) -> float:
    """Angle [deg] between the balls after a stun shot without ball friction."""
    phi = math.radians(cut_deg)
    after = ball_ball_law((math.cos(phi), math.sin(phi)), (0, 0, 0), restitution=restitution, friction=0.0)
    return math.degrees(math.atan2(after.first_velocity_m_s[1], after.first_velocity_m_s[0]))


def carom(cut_deg: float) -> float:
    """Final direction [deg] of a rolling cue ball off its line: no ball friction, e = 1."""
    phi = math.radians(cut_deg)
    vx, vy = math.cos(phi), math.sin(phi)
    after = ball_ball_law((vx, vy), (-vy / R, vx / R, 0.0), restitution=1.0, friction=0.0)
    roll = cloth_law(after.first_velocity_m_s, after.first_spin_rad_s).roll_velocity_m_s
    return math.degrees(math.atan2(roll[1], roll[0])) - cut_deg


def _strike() -> Iterator[Check]:
    half = (3.466, 2.709, 2.224, 1.886, 1.446, 1.173, 0.796)
    quarter = (1.889, 1.485, 1.223, 1.040, 0.800, 0.650, 0.443)
    for q, at_half, at_quarter in zip((15, 20, 25, 30, 40, 50, 75), half, quarter, strict=True):
        for offset, figure in ((0.5, at_half), (0.25, at_quarter)):
            yield Check(
                f"squirt, m/m_e {q}, {offset} R", "derived", SHEPARD, figure, 6e-4, "deg",
                partial(squirt, offset, q),
            )  # fmt: skip
    yield Check("ball / cue speed, centre", "derived", MECHANICS, 1.315, 6e-4, "", lambda: ball_to_cue_speed(0.0))
    yield Check("ball / cue speed, 0.5 R", "derived", MECHANICS, 0.891, 6e-4, "", lambda: ball_to_cue_speed(0.5))
    yield Check(
        "R w / v at 0.4 R above centre, heavy shaft", "derived", CORIOLIS, 1.0, 1e-6, "",
        partial(spin_over_speed, 0.0, 0.4),
    )  # fmt: skip
    yield Check(
        "R w / v at 0.5 R side, heavy shaft", "derived", MECHANICS, 1.25, 1e-6, "",
        partial(spin_over_speed, 0.5, 0.0),
    )  # fmt: skip
    yield Check(
        "pivot length at small offset, m/m_e 25: (2R/5)(q + 7/2)", "derived", SHEPARD,
        1000 * 2 * R / 5 * 28.5, 0.01, "mm", lambda: 1000 * pivot_length(1e-4, 25.0, R),
    )  # fmt: skip
    yield Check(
        "miscue limit for tip friction 0.577",
        "derived",
        "tan(asin(b)), Alciatore TP 2.1",
        0.5,
        6e-4,
        "R",
        lambda: miscue_offset(0.577),
    )
    yield Check(
        "miscue limit for tip friction 0.659",
        "derived",
        "tan(asin(b)), Alciatore TP 2.1",
        0.55,
        6e-4,
        "R",
        lambda: miscue_offset(0.659),
    )
    yield Check(
        "contact offset for a 12.7 mm cue shift, 9 mm tip", "derived", "geometry R/(R + r)", 9.7, 0.2, "mm",
        lambda: 1000 * R * contact_offset(0.0127, R, 0.009),
    )  # fmt: skip


def _cloth() -> Iterator[Check]:
    stun = (2.0, 0.0), (0.0, 0.0, 0.0)
    yield Check("slide time from 2 m/s", "derived", CORIOLIS, 0.2912, 6e-5, "s", lambda: cloth_law(*stun).slide_time_s)
    yield Check(
        "slide distance from 2 m/s", "derived", CORIOLIS, 0.4993, 6e-5, "m", lambda: cloth_law(*stun).slide_end_m[0]
    )
    yield Check(
        "speed left by sliding", "derived", CORIOLIS, 10 / 7, 1e-12, "m/s",
        lambda: cloth_law(*stun).roll_velocity_m_s[0],
    )  # fmt: skip
    yield Check(
        "roll from 1 m/s", "derived", MECHANICS, 5.10, 6e-3, "m",
        lambda: cloth_law((1.0, 0.0), (0.0, 1.0 / R, 0.0)).stop_m[0],
    )  # fmt: skip
    yield Check("swerve, 0.5 R at 5 deg", "derived", MECHANICS, 2.505, 6e-4, "deg", lambda: swerve(0.5, 5.0))

    def half_side() -> tuple[float, float, float]:
        # 0.5 R right english, 5 deg, heavy shaft: w = (k v/R)(0, s_u, -s_l) turned by the elevation.
        el = math.radians(5.0)
        w = 2.5 * 2.0 * 0.5 / R
        found = cloth_law((2.0 * math.cos(el), 0.0), (w * math.sin(el), 0.0, w * math.cos(el)))
        return found.slide_time_s, found.slide_end_m[0], abs(found.slide_end_m[1])

    yield Check("slip of that swerve ends", "derived", MECHANICS, 0.2919, 6e-5, "s", lambda: half_side()[0])
    yield Check("  forward", "derived", MECHANICS, 0.4984, 6e-5, "m", lambda: half_side()[1])
    yield Check("  aside", "derived", MECHANICS, 9.08, 6e-3, "mm", lambda: 1000 * half_side()[2])
    yield Check(
        "final rolling speed, hit 0.8 R above: 9/7", "derived", CORIOLIS, 9 / 7, 1e-9, "",
        lambda: cloth_law((1.0, 0.0), (0.0, 2.5 * 0.8 / R, 0.0)).roll_velocity_m_s[0],
    )  # fmt: skip


def _ball_ball() -> Iterator[Check]:
    for cut_deg, figure in ((10.0, 1.44), (20.0, 2.98), (30.0, 4.72)):
        yield Check(
            f"throw, gripping stun, {cut_deg:.0f} deg: tan = tan(cut)/7", "derived", MECHANICS, figure, 6e-3, "deg",
            partial(gripping_throw, cut_deg),
        )  # fmt: skip
    yield Check(
        "gearing: throw at half ball, 40 % outside", "derived", "R w = v sin(cut); Alciatore's 40 % rule", 0.0, 1e-9,
        "deg", lambda: throw(30.0, 1.0, english_percent=40.0),
    )  # fmt: skip
    for fraction, cut_deg, figure in (("3/4", 14.4775, 27.63), ("1/2", 30.0, 33.67), ("1/4", 48.5904, 27.27)):
        yield Check(
            f"rolling cue ball off a {fraction} hit", "derived", "rigid-body mechanics; Alciatore, 30-degree rule",
            figure, 6e-3, "deg", partial(carom, cut_deg),
        )  # fmt: skip
    yield Check("  its greatest angle", "derived", MECHANICS, 33.749, 6e-4, "deg", lambda: carom(28.126))
    yield Check(
        "equal ball speeds, rolling: sin^2(cut)", "derived", "rigid-body mechanics; 'a little over 30 deg', Alciatore",
        0.3, 1e-6, "", _equal_speeds,
    )  # fmt: skip
    yield Check(
        "stun at 45 deg, no ball friction, e = 1: speed of each",
        "derived",
        MECHANICS,
        0.7071,
        6e-3,
        "",
        lambda: _stun_45()[0],
    )
    yield Check("  distance of each", "derived", MECHANICS, 0.5, 6e-3, "", lambda: _stun_45()[1])
    yield Check(
        "stun with e 0.9, 30 deg: separation", "derived", MECHANICS,
        math.degrees(math.atan2(math.tan(math.radians(30)), 0.05)), 1e-9, "deg",
        partial(stun_separation, 30.0, 0.9),
    )  # fmt: skip


def _throw() -> Iterator[Check]:
    yield Check("ball friction at 1 m/s", "built in", TP_A14, 0.0463, 5e-4, "", lambda: BALLS.friction_at(1.0))
    mph = {1: 1.0 * MPH_M_S, 3: 3.0 * MPH_M_S, 7: 7.0 * MPH_M_S}
    stun = {1: (4.72, 4.86, 4.62), 3: (3.55, 2.64, 2.32), 7: (1.70, 1.05, 0.89)}
    roll = {1: (2.19, 3.28, 3.78), 3: (1.00, 1.51, 1.74), 7: (0.39, 0.58, 0.67)}
    spin = {1: (2.56, 5.10, 3.93), 3: (2.56, 3.05, 1.57), 7: (2.56, 1.31, 0.66)}
    for speed, v in mph.items():
        for i, cut_deg in enumerate((30.0, 48.5904, 60.0)):
            for word, rolling, figures in (("stun", False, stun), ("rolling", True, roll)):
                yield Check(
                    f"throw, {word}, {cut_deg:.1f} deg, {speed} mph", "built in", TP_A14, figures[speed][i], 6e-3,
                    "deg", partial(throw, cut_deg, v, rolling),
                )  # fmt: skip
        for i, percent in enumerate((25.0, 50.0, 100.0)):
            yield Check(
                f"throw, straight stun, {percent:.0f} % english, {speed} mph", "built in", TP_A14,
                spin[speed][i], 6e-3, "deg", partial(straight_throw, v, percent),
            )  # fmt: skip
    half_ball = (1.05, 1.77, 3.55, 2.36, 0.0, -2.36, -3.83, -2.64)
    for percent, figure in zip((-100.0, -50.0, 0.0, 20.0, 40.0, 60.0, 75.0, 100.0), half_ball, strict=True):
        yield Check(
            f"throw, half-ball stun, 3 mph, {percent:.0f} % (outside +)", "built in", TP_A14, figure, 6e-3, "deg",
            partial(throw, 30.0, mph[3], False, percent),
        )  # fmt: skip


def _equal_speeds() -> float:
    """sin^2(cut) at which a rolling cue ball and its object ball end rolling at equal speeds, by bisection."""

    def object_ball_is_slower(share: float) -> bool:
        phi = math.asin(math.sqrt(share))
        vx, vy = math.cos(phi), math.sin(phi)
        after = ball_ball_law((vx, vy), (-vy / R, vx / R, 0.0), restitution=1.0, friction=0.0)
        cue = cloth_law(after.first_velocity_m_s, after.first_spin_rad_s).roll_velocity_m_s
        other = cloth_law(after.second_velocity_m_s, after.second_spin_rad_s).roll_velocity_m_s
        return math.hypot(*cue) >= math.hypot(*other)

    return narrowed(object_ball_is_slower, 0.1, 0.6, EXACT)[0]


def _stun_45() -> tuple[float, float]:
    """Object ball's share of speed and of stopping distance at a 45-degree stun, no ball friction, e = 1."""
    h = math.sqrt(0.5)
    after = ball_ball_law((h, h), (0, 0, 0), restitution=1.0, friction=0.0)
    whole = cloth_law((1.0, 0.0), (0, 0, 0)).stop_m[0]
    part = cloth_law(after.second_velocity_m_s, (0, 0, 0)).stop_m
    return math.hypot(*after.second_velocity_m_s), math.hypot(*part) / whole


def _cushion() -> Iterator[Check]:
    yield Check(
        "rebound of a rolling ball straight into the rail, 1.5 m/s", "built in",
        f"the default restitution was chosen for it, within {PROPERTIES}: 0.6-0.9", 0.85, 0.01, "",
        lambda: -cushion_law((0.0, 1.5), (-1.5 / R, 0.0, 0.0)).velocity_m_s[1] / 1.5,
    )  # fmt: skip

    def side(wz: float) -> float:
        v = cushion_law((0.0, 1.5), (-1.5 / R, 0.0, wz)).velocity_m_s
        return math.degrees(math.atan2(v[0], -v[1]))

    yield Check(
        "left english straight into the rail: as far left as right english right", "derived", "mirror symmetry", 0.0,
        1e-9, "deg", lambda: side(30.0) + side(-30.0),
    )  # fmt: skip


def mechanics() -> Iterator[Check]:
    """Every figure of mechanics, and every one that is built in, in the order of the laws."""
    for part in (_strike, _cloth, _ball_ball, _throw, _cushion):
        yield from part()
