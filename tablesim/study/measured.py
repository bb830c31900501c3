"""From a reading at the table to a number of the gear, with an error bar: laws inverted.

Every test of study/calibrate.py says what the engine would read for a number of
the gear; here that is turned round.  Error bars are one standard error.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from tablesim.errors import ScenarioError
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.physics.roots import root

TAPE_M = 0.005  # how well a ball's place is read with a tape; this and the next: common practice, no source
OFFSET_MM = 1.0  # of the tip on the ball
READ = 1e-6, 1e6  # what can be read at a table in m, mm or s, and far more: beyond it numbers would over- or underflow


@dataclass(frozen=True)
class Measured:
    """A number as measured: its value, and the ends of its error bar, within the model's bounds."""

    value: float
    low: float
    high: float

    def through(self, law: Callable[[float], float]) -> Measured:
        """The same measurement of something else that is a monotone function of it."""
        ends = law(self.low), law(self.high)
        return Measured(law(self.value), min(ends), max(ends))


@dataclass(frozen=True)
class Reading:
    """The mean of several readings, and its standard error."""

    mean: float
    error: float


def reading_of(values: Sequence[float], each: float) -> Reading:
    """Mean and standard error of readings whose stated uncertainty is ``each``, one by one.

    Scatter and statement are two estimates of the same error; the larger is
    taken (R. T. Birge, Phys. Rev. 40 (1932) 207, from memory), over sqrt(n):
    every shot has to be set up anew.
    """
    scatter = stdev(values) if len(values) > 1 else 0.0
    return Reading(fmean(values), max(scatter, each) / math.sqrt(len(values)))


@dataclass(frozen=True)
class Law:
    """A reading as a monotone function of one number of the gear, between the model's bounds ``low`` and ``high``.

    ``number`` and ``reading`` name both in words, ``unit`` is the reading's, after a blank,
    ``way_out`` says what to do about a reading that no number explains.
    """

    gives: Callable[[float], float]
    low: float
    high: float
    number: str
    reading: str
    unit: str
    way_out: str

    def solve(self, reading: float) -> float:
        """The number that gives ``reading``; ScenarioError if none within the bounds does."""
        ends = self.gives(self.low), self.gives(self.high)
        if not min(ends) <= reading <= max(ends):
            raise ScenarioError(
                f"{self.reading}: must lie from {min(ends):.4g} to {max(ends):.4g}{self.unit} to be explained by"
                f" {self.number} from {self.low:g} to {self.high:g}; got {reading:.4g}. {self.way_out}"
            )
        return root(lambda x: self.gives(x) - reading, self.low, self.high)

    def measured(self, reading: Reading) -> Measured:
        """The number that gives the mean, and those at the ends of the reading's error, cut off at the bounds."""
        ends = sorted((self.gives(self.low), self.gives(self.high)))
        value = self.solve(reading.mean)
        bar = [
            self.solve(min(max(reading.mean + way * reading.error, ends[0]), ends[1])) for way in (-1.0, 1.0)
        ]  # fmt: skip
        return Measured(value, min(bar), max(bar))


def propagated(law: Callable[..., float], at: Sequence[float], errors: Sequence[float]) -> float:
    """Error of law(*at) from independent errors of its arguments, to first order, by central differences."""

    def half_change(k: int) -> float:
        up, down = list(at), list(at)
        up[k] += errors[k]
        down[k] -= errors[k]
        return 0.5 * (law(*up) - law(*down))

    return math.hypot(*(half_change(k) for k in range(len(at))))


def positive(**values: float) -> None:
    """ScenarioError unless every value is above 0 and can be a reading; ``_`` in a name stands for a blank."""
    least, most = READ
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ScenarioError(f"{name.replace('_', ' ')}: must be a number above 0; got {value:g}")
        if not least <= value <= most:
            raise ScenarioError(
                f"{name.replace('_', ' ')}: must lie from {least:g} to {most:g} to be a reading; got {value:g}"
            )


def some(name: str, readings: Sequence[object]) -> None:
    """ScenarioError unless there is a reading."""
    if not readings:
        raise ScenarioError(f"{name}: must have one reading or more; got none")


def radius_m(scenario: Scenario) -> float:
    """Radius of the cue ball, the one that is struck in every test."""
    return scenario.ball_set.radius_m(CUE_BALL)
