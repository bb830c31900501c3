"""Readings of a squirt test by the side of the english: both sides together tell the cue from the tip and the eye."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from tablesim.errors import ScenarioError

from .measured import Reading, reading_of, some

WORD = re.compile(r"([-+]?[0-9.]+(?:e[-+]?[0-9]+)?)\s*([rl]?)", re.IGNORECASE)


@dataclass(frozen=True)
class Off:
    """How far off the cue's line the ball was [mm], away from the side of the english +, in one shot after another.

    By the side of the english, or ``plain`` where it is not said.
    """

    plain: tuple[float, ...] = ()
    right: tuple[float, ...] = ()
    left: tuple[float, ...] = ()

    @property
    def all(self) -> tuple[float, ...]:
        """Every reading."""
        return (*self.plain, *self.right, *self.left)

    @property
    def both(self) -> bool:
        """True if there are readings with right and with left english."""
        return bool(self.right and self.left)

    @property
    def bias_mm(self) -> float | None:
        """How far to the left (+) of the line that was meant all went, whatever the english; None from one side.

        Right english sends the ball left: away from it is left.  What the cue
        does goes away from the english, what the eye or a tip off centre does
        stays on its side: (right - left) / 2.
        """
        return 0.5 * (fmean(self.right) - fmean(self.left)) if self.both else None

    def reading(self, each: float) -> Reading:
        """Mean and standard error, each side counted alike; ``each``: uncertainty of one reading [mm]."""
        if not self.both:
            return reading_of(self.all, each)
        right, left = reading_of(self.right, each), reading_of(self.left, each)
        return Reading(0.5 * (right.mean + left.mean), 0.5 * math.hypot(right.error, left.error))


def off_of(readings: Sequence[float] | Off, name: str) -> Off:
    """Readings as :class:`Off`; ScenarioError for none, for a mixture, and for plain ones of opposite signs."""
    off = readings if isinstance(readings, Off) else Off(tuple(readings))
    some(name, off.all)
    if off.plain and (off.right or off.left):
        raise ScenarioError(f"{name}: must have a side with every reading, or with none: 34r 36l; got both kinds")
    if off.plain and min(off.plain) < 0.0 < max(off.plain):
        raise ScenarioError(
            f"{name}: must be counted away from the english, and then all have one sign; got {min(off.plain):g} and"
            f" {max(off.plain):g}. With both sides of english write the side with each: 34r 36l"
        )
    return off


def parse_off(words: Sequence[str], name: str) -> Off:
    """Readings from words such as 34, 34r (with right english) and 36l; ScenarioError names a word that is none."""
    sides: dict[str, list[float]] = {"": [], "r": [], "l": []}
    for word in words:
        match = WORD.fullmatch(word.strip())
        try:
            value = float(match[1]) if match else math.nan
        except ValueError:
            value = math.nan
        if match is None or not math.isfinite(value):
            raise ScenarioError(
                f"{name}: must be numbers, each with the side of its english or none: 34r, 36l or 35; got {word[:20]!r}"
            )
        sides[match[2].lower()].append(value)
    return Off(tuple(sides[""]), tuple(sides["r"]), tuple(sides["l"]))
