"""Numbers as people write them, and the ranges of those that a control takes."""

from __future__ import annotations

from dataclasses import dataclass

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
