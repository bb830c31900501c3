"""A distance and a cut as a teacher says them: 2 ft, 1.5 diamonds; 30 left, half ball, straight in."""

from __future__ import annotations

import math
import re

from tablesim.errors import TablesimError
from tablesim.model.scenario import Scenario
from tablesim.study.setup import plain_cut, target_distance, target_of
from tablesim.units import STRAIGHT_DEG, far_unit, lengths_m, number_of

LENGTH = re.compile(r"([^a-z'\"]+)([a-z'\"]+)")  # 2 ft, 5' or 6 in: pieces of a length
LIKED = {"mm": "mm", "cm": "mm", "m": "mm", "in": "inch", "ft": "inch", "d": "diamond"}  # who writes it likes that unit
SIDES = {"left": 1.0, "l": 1.0, "right": -1.0, "r": -1.0}
SIDE = re.compile(r"\b(left|right|[lr])\b")
DEGREES = re.compile(r"(°|degrees?|deg)$")
HIT = re.compile(r"(.+?)[ -]ball( hit)?$")
FRACTIONS = {"full": 1.0, "three-quarter": 0.75, "three quarter": 0.75, "half": 0.5, "quarter": 0.25}
STRAIGHT = ("straight", "straight in", "full")


def distance_said(text: str, scenario: Scenario, unit: str | None = None) -> tuple[float, str]:
    """A distance [m] as people write it, with its unit or units, and which unit (mm, inch, diamond) its writer likes.

    A number alone is in the unit that distances are told in to who likes ``unit``.  TablesimError if it is no length
    that is greater than 0.
    """
    diamond = scenario.table.diamond_m
    plain = text.strip().lower().replace("’", "'").replace("′", "'").replace("”", '"').replace("″", '"')
    if unit is not None and not math.isnan(number_of(plain)):
        plain += " " + far_unit(unit, diamond)[0]
    sizes, pieces = lengths_m(diamond), LENGTH.findall(plain)
    parts = [number_of(count) * sizes.get(name, math.nan) for count, name in pieces]
    whole = sum(part if part >= 0.0 else math.nan for part in parts)
    if LENGTH.sub("", plain).strip() or not 0.0 < whole < math.inf:
        rule = "must be a length with its unit, as 2 ft, 24 in, 60 cm or 1.5 diamonds"
        raise TablesimError(f"distance: {rule}; got {text[:40]!r}")
    short = min((name for name in LIKED if sizes[name] == sizes[pieces[0][1]]), key=len)
    return whole, LIKED[short]


def cut_said(text: str, scenario: Scenario) -> float:
    """A cut [degrees, left +] as people say it: 30, 30 degrees left, half ball, quarter ball right, straight in.

    A sign is a side: + left, - right.  Without a side the cut stays on the side it is
    on, and from straight in goes to the left.  TablesimError if it is none of these.
    """
    plain = " ".join(text.lower().replace("to the", " ").replace("−", "-").split())
    sides = SIDE.findall(plain)
    size = _size_said(SIDE.sub("", plain).strip(" ,"), scenario)
    signed = plain[:1] in ("+", "-") and plain[:1] != ""
    if math.isnan(size) or len(sides) > 1 or (sides and signed):
        rule = "must be said as 30 left, 30 degrees, half ball or straight in"
        raise TablesimError(f"cut: {rule}; got {text[:40]!r}")
    if signed or size == 0.0:
        return size
    now = math.degrees(plain_cut(scenario))
    side = SIDES[sides[0]] if sides else 1.0 if abs(now) < STRAIGHT_DEG else math.copysign(1.0, now)
    return side * size


def _size_said(plain: str, scenario: Scenario) -> float:
    """The cut [degrees] without its side; nan if it is none."""
    if plain in STRAIGHT:
        return 0.0
    if hit := HIT.fullmatch(plain):
        covered = FRACTIONS.get(hit[1], number_of(hit[1]))
        return cut_of_hit(scenario, covered) if 0.0 < covered <= 1.0 else math.nan
    return number_of(DEGREES.sub("", plain).strip())


def cut_of_hit(scenario: Scenario, covered: float) -> float:
    """The cut [degrees, at least 0] of a hit by fractions of the target ball: half ball is 0.5.

    The cue ball's centre goes toward a point so much of the target ball's width off its rim, 0.5 toward the rim itself:
    30 degrees between balls of one size.  nan if it passes by.
    """
    off = 2.0 * (1.0 - covered) * scenario.ball_set.radius_m(target_of(scenario).ball)
    sine = off / target_distance(scenario)
    return math.degrees(math.asin(sine)) if sine < 1.0 else math.nan
