"""The words under the table of a picture: title, note, what is told of each take, and a room left empty."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from tablesim.scene.lettering import Measure, shortened, wrapped
from tablesim.scene.look import CORRECTED, Look, pattern
from tablesim.scene.shapes import Path, Pen, Scene, Text

from .painter import DASHED_FOR, width_of

CAPTION_LINES = 3
TOLD_LINES = 2  # of what is told of a take
LONGEST_LINE = 400  # letters
PAD = 14.0  # points round the strip's words
CAPTION = 1.25  # letters of the title, in those of the look, in a strip that is wide enough
CAPTION_FOR = 24.0  # letters of width from which on it has them
LEADING = 1.35  # from line to line, in letters
NARROW = 480.0  # points of room for a caption, below which nothing stands at its left
WIDEST_NOTE = 0.45  # of the strip's width; a longer note stands under the caption
SAMPLE = 54.0  # points of line before a take's name
GAP = 2.0  # letters between columns
LEAST_COLUMN = 12.0  # letters
DOTS = -1  # stands for the corrected ways among the takes of a legend


class TakeWords(NamedTuple):
    """What is told of a take: its name beside its line (empty: neither), how it is played, what became of it."""

    name: str = ""
    played: str = ""
    outcome: str = ""


@dataclass(frozen=True)
class Below:
    """What stands under the table: caption, a note at the right, what is told of takes, and a room left empty.

    ``free`` (width, height): points at the left, or under a caption that needs all the width.
    """

    caption: str | None = None
    takes: Mapping[int, TakeWords] = field(default_factory=dict)
    note: str = ""
    free: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, eq=False)
class StripWords:
    """Shapes in points from the strip's upper left corner: what always stands, how takes are played, the outcomes.

    ``height`` of the strip, ``down``: where the free room begins [points].
    """

    lasting: Scene
    played: Scene
    outcome: Scene
    height: float
    down: float


def strip(wide: float, look: Look, under: Below, highest: float = math.inf) -> StripWords:
    """The strip in ``wide`` points of room; takes are told so shortly that, if it can be, it is no higher than that."""
    note, free = under.note, under.free
    size = look.letters * (CAPTION if wide >= CAPTION_FOR * look.letters else 1.0)
    start = free[0] if wide - free[0] >= NARROW else 0.0
    apart = width_of(note, look.letters) + 2.0 * PAD if note else 0.0
    beside = apart if apart <= WIDEST_NOTE * wide else 0.0
    lines = caption_lines(under.caption or "", wide - start - beside, size)
    shapes: Scene = [Text(start, 0.6 * PAD + (1.4 * k + 1.0) * size, line, size, look.text, 0.0, 0.0)
                     for k, line in enumerate(lines)]  # fmt: skip
    rows = max(len(lines), 1 if beside else 0)
    if note:
        down = 0 if beside else rows
        words = shortened(note, wide, measured(look.letters))
        shapes.append(Text(wide, 0.6 * PAD + (1.4 * down + 1.0) * size, words, look.letters, look.muted, 1.0, 0.0))
        rows = max(rows, down + 1)
    y = 0.6 * PAD + 1.4 * size * rows
    below = y if rows and start < free[0] else 0.0
    aside = free[0] if wide - free[0] >= _needed(under.takes, look) else 0.0
    top = max(y, below + (0.0 if aside else free[1]))
    cells = _cells(under.takes, (top, aside, wide), look, highest - top)
    height = cells.height + PAD if shapes or under.takes else 0.0
    return StripWords(shapes + cells.lasting, cells.played, cells.outcome, max(height, below + free[1]), below)


def _before_name(look: Look) -> float:
    """Points that the sample of a take's line and the gap after it take."""
    return SAMPLE * max(1.0, look.line / DASHED_FOR) + 0.6 * look.letters


def _name_width(index: int, words: TakeWords, look: Look) -> float:
    return _before_name(look) + width_of(words.name, look.letters) if words.name else 0.0


def _needed(takes: Mapping[int, TakeWords], look: Look, lines: int = TOLD_LINES) -> float:
    """Points that the widest take needs: its line and name, or its words in so many lines."""
    told = [width_of(text, look.letters) for words in takes.values() for text in words[1:]] if lines else []
    names = [_name_width(index, words, look) for index, words in takes.items()]
    return max([*names, *(1.15 * width / lines for width in told)], default=0.0)


def _cells(takes: Mapping[int, TakeWords], room: tuple[float, float, float], look: Look, highest: float) -> StripWords:
    """The takes in columns in a room (top, left, right), with two, one or no lines of what is told of each."""
    for lines in range(TOLD_LINES, -1, -1):
        found = _columns(takes, room, look, lines, highest)
        if found.height - room[0] <= highest:
            break
    return found


def _columns(
    takes: Mapping[int, TakeWords], room: tuple[float, float, float], look: Look, lines: int, highest: float
) -> StripWords:
    top, left, right = room
    size, gap, count = look.letters, GAP * look.letters, len(takes)
    columns = int((right - left + gap) // max(_needed(takes, look, lines) + gap, 1.0))
    if not lines and highest < math.inf:  # names may be cut
        columns = max(columns, math.ceil(count * LEADING * size / max(highest, size)))
        columns = min(columns, int((right - left) // (LEAST_COLUMN * size)))
    columns = max(1, min(columns, count))
    wide = (right - left - (columns - 1) * gap) / columns
    places = list(takes.items())
    found = StripWords([], [], [], 0.0, 0.0)
    for k in range(0, count, columns):
        below = top
        for at, (index, words) in enumerate(places[k : k + columns]):
            x, y = left + at * (wide + gap), top
            if words.name:
                found.lasting.extend(_named(index, words.name, x, y + size, wide, look))
                y += LEADING * size
            below = max(below, y)
            for text, shapes, colour in (
                (words.played, found.played, look.muted), (words.outcome, found.outcome, look.text),
            ):  # fmt: skip
                told = told_lines(text, wide, size, lines)
                shapes.extend(
                    Text(x, y + (LEADING * n + 1.0) * size, line, size, colour, 0.0, 0.0) for n, line in enumerate(told)
                )
                below = max(below, y + LEADING * size * len(told))
        top = below + 0.3 * size
    return replace(found, height=top)


def _named(index: int, name: str, x: float, y: float, wide: float, look: Look) -> Scene:
    """A take's line and its name, or the dots of the corrected ways."""
    size, before = look.letters, _before_name(look)
    pen = Pen(look.take_colour(index), look.line, pattern(index))
    if index == DOTS:
        pen = Pen(look.text, look.line, CORRECTED)
    ends = np.array([[x, y - 0.36 * size], [x + before - 0.6 * size, y - 0.36 * size]])
    words = shortened(name, wide - before, measured(size))
    return [Path(ends, pen), Text(x + before, y, words, size, look.text, 0.0, 0.0)]


def caption_lines(text: str, wide: float, size: float) -> list[str]:
    """Words in lines of at most ``wide`` points; what does not fit in three lines is cut, with dots."""
    return told_lines(text, wide, size, CAPTION_LINES)


def told_lines(text: str, wide: float, size: float, most: int) -> list[str]:
    """Words in at most so many lines, each of at most ``wide`` points; what does not fit is cut, with dots."""
    if most < 1:
        return []
    lines = wrapped(text, wide, measured(size))
    lines[most - 1 :] = filter(None, [" ".join(lines[most - 1 :])])
    return [shortened(line, wide, measured(size)) for line in lines if line]


def measured(size: float) -> Measure:
    """How wide words are in letters of a size; too wide for any picture from so many letters on, which saves time."""
    return lambda words: width_of(words, size) if len(words) <= LONGEST_LINE else math.inf
