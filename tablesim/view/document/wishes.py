"""How pictures, clips and sheets are wanted, and what can be wished."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

SPEEDS = ("1", "1/2", "1/4", "1/5", "1/10", "1/20", "1/50")
SAME = "as the rest"
CONTACT_SPEEDS = (SAME, "1/5", "1/10", "1/20", "1/50")
WHOLE = "until all lies still"
LENGTHS = (WHOLE, "3 s", "5 s", "8 s", "12 s", "20 s", "40 s")
SHAPES = ("wide", "portrait", "square")
SHEETS = ("boxes to tick", "results before, after")


@dataclass
class Wishes:
    """How pictures, clips and sheets are wanted."""

    speed: str
    caption: str
    shape: str = SHAPES[0]
    contact_speed: str = SAME
    length: str = WHOLE
    sheet: str = SHEETS[0]

    @property
    def contact_share(self) -> float | None:
        """The speed at the contact, None for that of the rest."""
        return None if self.contact_speed == SAME else float(Fraction(self.contact_speed))

    @property
    def seconds(self) -> float | None:
        """The length of a clip, None for all of the shot."""
        return None if self.length == WHOLE else float(self.length.removesuffix(" s"))

    def size(self, wide: tuple[int, int]) -> tuple[int, int]:
        """Pixels in this shape of what is ``wide`` otherwise."""
        w, h = wide
        return {"wide": (w, h), "portrait": (h, w), "square": (h, h)}[self.shape]
