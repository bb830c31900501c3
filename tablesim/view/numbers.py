"""Numbers as people write them, and the ranges of those that a control takes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Range:
    """Least, greatest and step of a number, and how many decimals are shown."""

    low: float
    high: float
    step: float
    digits: int


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
