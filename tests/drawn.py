"""What is drawn on the pages of a sheet, as boxes and lines in millimetres: for tests, and to be looked at."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
import pytest

from tablesim.output.page import CAPITAL, MM_PER_POINT, Page

Box = tuple[float, float, float, float]


class Words(NamedTuple):
    """Words on a page, the box of their capitals [mm], and how many things were drawn before."""

    page: int
    box: Box
    text: str
    order: int


class Stroke(NamedTuple):
    """A straight line on a page, as far as it is seen, and how many things were drawn before."""

    page: int
    ends: tuple[float, float, float, float]
    seen: Box
    order: int


@dataclass
class Drawn:
    """All words, lines and what covers things drawn before (page, box, order)."""

    words: list[Words] = field(default_factory=list)
    strokes: list[Stroke] = field(default_factory=list)
    covers: list[tuple[int, Box, int]] = field(default_factory=list)

    @property
    def order(self) -> int:
        return len(self.words) + len(self.strokes) + len(self.covers)

    def clear(self) -> None:
        """Forget all, for another document."""
        self.words, self.strokes, self.covers = [], [], []

    def struck(self) -> list[str]:
        """Words that a line runs through: drawn over them, or under them with nothing between."""
        return [word.text for word in self.words if any(self._through(word, stroke) for stroke in self.strokes)]

    def _through(self, word: Words, stroke: Stroke) -> bool:
        if word.page != stroke.page or not crosses(stroke, word.box):
            return False
        between = (box for page, box, order in self.covers if page == word.page and stroke.order < order < word.order)
        return stroke.order > word.order or not any(
            box[0] <= word.box[0] and box[1] <= word.box[1] and box[2] >= word.box[2] and box[3] >= word.box[3]
            for box in between
        )


def crosses(stroke: Stroke, box: Box) -> bool:
    """True if a line runs through the inside of a box: seen at 200 places along it."""
    x1, y1, x2, y2 = stroke.ends
    s = np.linspace(0.0, 1.0, 200)
    x, y = x1 + s * (x2 - x1), y1 + s * (y2 - y1)
    (left, top, right, bottom), (a, b, c, d) = box, stroke.seen
    inside = (x > max(left, a)) & (x < min(right, c)) & (y > max(top, b)) & (y < min(bottom, d))
    return bool(inside.any())


def recorded(monkeypatch: pytest.MonkeyPatch) -> Drawn:
    """What is drawn from now on, on pages that end."""
    drawn = Drawn()
    real = {name: getattr(Page, name) for name in ("words", "rule", "box", "round", "outline")}

    def line(page: Page, x1: float, y1: float, x2: float, y2: float) -> None:
        drawn.strokes.append(Stroke(page.pdf.page, (x1, y1, x2, y2), page._seen, drawn.order))

    def words(page: Page, x: float, y: float, text: str, size: float, **how: Any) -> float:
        if math.isfinite(page.bottom) and text.strip():
            wide = page.width_of(text, size, how.get("bold", False))
            left = x - how.get("across", 0.0) * wide
            box = (left + 0.1, y - CAPITAL * size * MM_PER_POINT + 0.1, left + wide - 0.1, y - 0.1)
            drawn.words.append(Words(page.pdf.page, box, text, drawn.order))
        return float(real["words"](page, x, y, text, size, **how))

    def rule(page: Page, x1: float, y1: float, x2: float, y2: float, *how: Any) -> None:
        if math.isfinite(page.bottom):
            line(page, x1, y1, x2, y2)
        real["rule"](page, x1, y1, x2, y2, *how)

    def box(page: Page, x: float, y: float, w: float, h: float, *how: Any, **more: Any) -> None:
        if math.isfinite(page.bottom):
            if (how[2:] and how[2]) or more.get("fill"):
                drawn.covers.append((page.pdf.page, (x, y, x + w, y + h), drawn.order))
            for ends in ((x, y, x + w, y), (x + w, y, x + w, y + h), (x + w, y + h, x, y + h), (x, y + h, x, y)):
                line(page, *ends)
        real["box"](page, x, y, w, h, *how, **more)

    def circle(page: Page, x: float, y: float, radius: float, *how: Any, **more: Any) -> None:
        if math.isfinite(page.bottom) and more.get("fill"):
            drawn.covers.append((page.pdf.page, (x - radius, y - radius, x + radius, y + radius), drawn.order))
        real["round"](page, x, y, radius, *how, **more)

    def outline(page: Page, points: Sequence[Any], pen: Any, fill: Any = None, *how: Any, **more: Any) -> None:
        if math.isfinite(page.bottom):
            at = np.array(points, dtype=float)
            if fill:
                drawn.covers.append((page.pdf.page, (*at.min(axis=0), *at.max(axis=0)), drawn.order))
            for one, two in itertools.pairwise(at) if pen else ():
                line(page, *one, *two)
        real["outline"](page, points, pen, fill, *how, **more)

    for name, stand_in in (("words", words), ("rule", rule), ("box", box), ("round", circle), ("outline", outline)):
        monkeypatch.setattr(Page, name, stand_in)
    return drawn
