"""Conversions at the edge: inside, everything is SI and radians.

Names say both ends.  Sources stand beside the factors; where a unit is the
trade's own, its definition is stated.
"""

from __future__ import annotations

import math

from tablesim.physics.constants import INCH_M as INCH_M

MPH_M_S = 0.44704  # exact: 1609.344 m / 3600 s
OUNCE_KG = 0.028349523125  # exact, avoirdupois
STANDARD_GRAVITY_M_S2 = 9.81  # rounded; varies by 0.5 % over the Earth

DIAMONDS_LONG, DIAMONDS_SHORT = 8, 4  # the sights divide the nose rectangle 8 x 4 (WPA equipment specification)
HALF_RADIUS = 0.5  # the trade's 100 % of english: a contact half-way from centre to edge


def diamonds_from_m(distance_m: float, table_length_m: float) -> float:
    """Distance in diamonds, one eighth of the table's length."""
    return distance_m / (table_length_m / DIAMONDS_LONG)


def m_from_diamonds(diamonds: float, table_length_m: float) -> float:
    """Distance [m] of that many diamonds."""
    return diamonds * table_length_m / DIAMONDS_LONG


def mph_from_m_s(speed_m_s: float) -> float:
    """Speed in miles an hour."""
    return speed_m_s / MPH_M_S


def english_percent(offset: float) -> float:
    """Contact offset [ball radii] in per cent of the half-radius maximum."""
    return 100.0 * offset / HALF_RADIUS


def tips_from_offset(offset: float, ball_radius_m: float, tip_radius_m: float, tip_diameter_m: float) -> float:
    """Tips of english for a contact offset [ball radii].

    One tip moves the cue sideways by one tip diameter; the contact moves less,
    by 1 / (1 + r_tip / R).
    """
    return offset * (ball_radius_m + tip_radius_m) / tip_diameter_m


def offset_from_tips(tips: float, ball_radius_m: float, tip_radius_m: float, tip_diameter_m: float) -> float:
    """Contact offset [ball radii] for that many tips of english."""
    return tips * tip_diameter_m / (ball_radius_m + tip_radius_m)


def clock_from_offset(right: float, up: float) -> str:
    """Where the tip strikes, as an hour hand on the ball's face: '12:00' is straight up, '3:00' right."""
    if math.hypot(right, up) < 1e-9:
        return "centre"
    minutes = round(math.degrees(math.atan2(right, up)) % 360.0 * 2.0) % 720
    hour, minute = divmod(minutes, 60)
    return f"{hour or 12}:{minute:02d}"


PACE_WORDS = (  # up to this many m/s; common practice, no source, and lists contradict: show the number beside it
    (1.4, "soft"),
    (2.4, "medium"),
    (3.6, "firm"),
    (6.0, "hard"),
    (math.inf, "power"),
)


def pace_word(speed_m_s: float) -> str:
    """The trade's word for a pace."""
    return next(word for limit, word in PACE_WORDS if speed_m_s <= limit)


def number(value: float | None, digits: int = 1, sign: bool = False) -> str:
    """A number for a table: never '-0', '-' where there is none."""
    if value is None:
        return "-"
    rounded = round(value, digits) + 0.0
    return f"{rounded:{'+' if sign and rounded else ''}.{digits}f}"
