"""Conversions at the edge: inside, everything is SI and radians.

Names say both ends.  Sources stand beside the factors; where a unit is the
trade's own, its definition is stated.
"""

from __future__ import annotations

import math
from fractions import Fraction

from tablesim.physics.constants import INCH_M as INCH_M

MPH_M_S = 0.44704  # exact: 1609.344 m / 3600 s
FOOT_M = 0.3048  # exact
OUNCE_KG = 0.028349523125  # exact, avoirdupois
STANDARD_GRAVITY_M_S2 = 9.81  # rounded; varies by 0.5 % over the Earth

DIAMONDS_LONG, DIAMONDS_SHORT = 8, 4  # the sights divide the nose rectangle 8 x 4 (WPA equipment specification)
STRAIGHT_DEG = 0.5  # a cut below this is called straight in
HALF_RADIUS = 0.5  # the trade's 100 % of english: a contact half-way from centre to edge


def diamonds_from_m(distance_m: float, table_length_m: float) -> float:
    """Distance in diamonds, one eighth of the table's length."""
    return distance_m / (table_length_m / DIAMONDS_LONG)


def m_from_diamonds(diamonds: float, table_length_m: float) -> float:
    """Distance [m] of that many diamonds."""
    return diamonds * table_length_m / DIAMONDS_LONG


def lengths_m(diamond_m: float) -> dict[str, float]:
    """How many metres each unit of length is that people write, by its names; a diamond is ``diamond_m`` long."""
    names = (
        (0.001, "mm"), (0.01, "cm"), (1.0, "m metre metres meter meters"), (INCH_M, 'in inch inches "'),
        (FOOT_M, "ft foot feet '"), (diamond_m, "d diamond diamonds"),
    )  # fmt: skip
    return {name: size_m for size_m, words in names for name in words.split()}


def far_unit(unit: str, diamond_m: float) -> tuple[str, float]:
    """In what distances between balls are told to who likes mm, inch or diamond: (its name, how many metres it is)."""
    return {"inch": ("ft", FOOT_M), "diamond": ("diamonds", diamond_m)}.get(unit, ("m", 1.0))


def far_words(distance_m: float, unit: str, diamond_m: float, digits: int = 2) -> str:
    """A distance between balls to who likes mm, inch or diamond: in metres, feet or diamonds."""
    name, size_m = far_unit(unit, diamond_m)
    return f"{distance_m / size_m:.{digits}f} {name}"


def cut_told(cut_deg: float, short: bool = False) -> str:
    """The trade's words for a cut [degrees, left +]; ``short`` where it is plain that a cut is meant."""
    if abs(cut_deg) < STRAIGHT_DEG:
        return "straight in"
    size, side = f"{abs(cut_deg):.0f}°", "left" if cut_deg > 0.0 else "right"
    return f"{size} {side}" if short else f"a cut of {size} to the {side}"


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


PACES_SAID = {"soft": 1.2, "medium": 1.9, "firm": 3.0, "hard": 4.5, "power": 7.0}  # m/s, well within each word's


def pace_word(speed_m_s: float) -> str:
    """The trade's word for a pace."""
    return next(word for limit, word in PACE_WORDS if speed_m_s <= limit)


def number(value: float | None, digits: int = 1, sign: bool = False) -> str:
    """A number for a table: never '-0', '-' where there is none."""
    if value is None:
        return "-"
    rounded = round(value, digits) + 0.0
    return f"{rounded:{'+' if sign and rounded else ''}.{digits}f}"


def number_of(text: str) -> float:
    """A number as people write it: 3.5, 3,5, 3 1/2 or 7/2; nan if it is none."""
    try:
        parts = text.replace(",", ".").replace("−", "-").replace("½", " 1/2").split()
        values = [Fraction(part) if "/" in part else float(part) for part in parts]
    except (ValueError, ZeroDivisionError):
        return math.nan
    if not 1 <= len(values) <= 2 or (len(values) == 2 and "/" not in parts[1]):
        return math.nan
    sign = -1.0 if parts[0].startswith("-") else 1.0
    return sign * sum(abs(float(value)) for value in values)
