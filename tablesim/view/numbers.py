"""Numbers as people write them, and the ranges of those that a control takes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from tablesim.model.base import Model, bounds_of
from tablesim.model.shot import Take
from tablesim.units import MPH_M_S


@dataclass(frozen=True)
class Range:
    """Least, greatest and step of a number, and how many decimals are shown."""

    low: float
    high: float
    step: float
    digits: int

    @classmethod
    def of(cls, model: type[Model], field: str, step: float, digits: int, unit: float = 1.0) -> Range:
        """The range that a model's field has, in a unit of so many of its own."""
        low, high = bounds_of(model, field)
        return cls(low / unit, high / unit, step, digits)

    def stepped(self, value: float, steps: float) -> float:
        """A value some steps on, kept in the range."""
        return round(min(self.high, max(self.low, value + steps * self.step)), 9)


PACE = Range.of(Take, "pace_m_s", 0.05, 2)
PACE_MPH = Range.of(Take, "pace_m_s", 0.1, 1, MPH_M_S)
BUTT = Range.of(Take, "elevation_deg", 0.5, 1)


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
