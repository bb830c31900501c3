"""Words in lines: wrapped and cut; inside a round wrapped, then shrunk; on a surface shifted and wrapped."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from .shapes import Frame, Text

Box = tuple[float, float, float, float]  # left, top, right, bottom of what can be seen, in pixels
Measure = Callable[[str], float]  # width of words in letters of size 1

LEADING = 1.3  # from line to line, in sizes
TALL = 0.9  # of a line with its ascenders and descenders, in sizes
EDGE = 0.4  # of air at the ends of a line, in sizes
DEEP = 0.22  # of letters under their line, in sizes
SHRINK = 0.92
PIECE = 1.2  # widest piece of a broken word, in radii
SMALLEST = 6.0  # points; what does not fit even so is cut with three dots


def fitted(text: Text, radius: float, measure: Measure) -> tuple[Text, ...]:
    """The lines of a text that is to lie within ``radius`` points about its place.

    Where its own shift (``dy``) leaves room it is kept, else the lines are centred; letters as large as possible.
    """
    size = text.size
    while size >= SMALLEST:
        for first in (text.dy * size / text.size, None):
            lines = in_round(text.text.split(), size, radius, first, measure)
            if lines:
                return _set(text, size, lines)
        size *= SHRINK
    return _set(text, SMALLEST, cut_to_round(text.text, SMALLEST, radius, measure))


def laid(text: Text, frame: Frame, box: Box, measure: Measure) -> tuple[Text, ...]:
    """The lines in which a surface shows a text: those that fit its round, or, on the table, those that fit the box.

    Words with a halo lie among the shapes and would be cut at the edge; they are
    shifted inside, and wrapped if they are wider than the box.  Others have been
    given their room by whoever wrote them.
    """
    if text.within_m:
        return fitted(text, text.within_m * frame.pixels_a_metre / frame.point, measure)
    if not text.halo:
        return (text,)
    place = frame.matrix @ (text.x, text.y) + frame.origin
    left, top, right, bottom = ((side - place[k % 2]) / frame.point for k, side in enumerate(box))
    return inside(text, (left, -bottom, right, -top), measure)


def inside(text: Text, box: Box, measure: Measure) -> tuple[Text, ...]:
    """The text in lines inside a box about its place: left, lowest, right, highest [points, up +]."""
    left, low, right, high = box
    air = EDGE * text.size
    left, low, right, high = left + air, low + air + DEEP * text.size, right - air, high - air
    lines = _lines_of(text.text, right - left, lambda words: text.size * measure(words))
    step = LEADING * text.size
    spare = (len(lines) - 1) * step
    first = text.dy + (1.0 - text.up) * spare + (0.73 * (1.0 - text.up)) * text.size  # top of the first line's capitals
    down = min(max(first, low + spare + 0.73 * text.size), high) - first
    found = []
    for k, words in enumerate(lines):
        wide = text.size * measure(words)
        start = text.dx - text.across * wide
        over = max(left - start, 0.0) + min(right - start - wide, 0.0) if wide <= right - left else left - start
        dy = text.dy + (1.0 - text.up) * spare - k * step + down
        found.append(replace(text, text=words, dx=text.dx + over, dy=dy))
    return tuple(found)


def _lines_of(text: str, room: float, width: Measure) -> list[str]:
    """The text as it is if it fits, else wrapped."""
    return [text] if width(text) <= room else wrapped(text, room, width, breaking=True)


def wrapped(text: str, room: float, width: Measure, breaking: bool = False) -> list[str]:
    """The words of a text in lines no wider than ``room``; a word that is wider broken if wanted, else left so."""
    lines = [""]
    for word in text.split():
        line = f"{lines[-1]} {word}".strip()
        while breaking and len(word) > 1 and width(word) > room:
            begun = _beginning(line, room, width)
            lines[-1:] = [begun, ""]
            word = line = line[len(begun) :].strip()
        if lines[-1] and width(line) > room:
            lines.append(word)
        else:
            lines[-1] = line
    return lines


def _beginning(text: str, room: float, width: Measure) -> str:
    """The longest beginning of a text that fits, one letter at least."""
    return text[: most(1, len(text), lambda n: width(text[:n]) <= room)]


def shortened(text: str, room: float, width: Measure) -> str:
    """The text as it is if it fits, else as much of its beginning as does, with three dots."""
    if width(text) <= room:
        return text
    return text[: most(0, len(text), lambda n: width(text[:n] + "…") <= room)].rstrip() + "…"


def most(low: int, high: int, fits: Callable[[int], bool]) -> int:
    """The largest whole number above ``low`` and up to ``high`` that fits, as all smaller ones do; else ``low``."""
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if fits(middle) else (low, middle - 1)
    return low


def _set(text: Text, size: float, lines: list[tuple[float, str]]) -> tuple[Text, ...]:
    return tuple(
        replace(text, text=words, size=size, across=0.5, up=0.5, dx=0.0, dy=middle, within_m=0.0)
        for middle, words in lines
    )


def chord(middle: float, size: float, radius: float) -> float:
    """Room [points] for a line whose middle lies ``middle`` above the centre of the round."""
    reach = abs(middle) + 0.5 * TALL * size
    return 2.0 * math.sqrt(max(0.0, radius * radius - reach * reach)) - EDGE * size


def in_round(
    words: list[str], size: float, radius: float, first: float | None, measure: Measure
) -> list[tuple[float, str]]:
    """Lines as (height of the middle, words), the first at ``first`` or, if None, all centred; empty if too much."""
    most = max(1, int(2.0 * radius / (LEADING * size)))
    for count in range(1, most + 1):
        top = 0.5 * (count - 1) * LEADING * size if first is None else first
        middles = [top - k * LEADING * size for k in range(count)]
        lines = _filled(words, [chord(m, size, radius) for m in middles], lambda line: size * measure(line))
        if lines is not None:
            return list(zip(middles, lines, strict=False))
    return []


def _filled(words: list[str], rooms: list[float], width: Measure) -> list[str] | None:
    """The words in lines no wider than their rooms; None if they do not all fit."""
    lines, rest = list[str](), list(words)
    for room in rooms:
        line = ""
        while rest and width(f"{line} {rest[0]}".strip()) <= room:
            line = f"{line} {rest.pop(0)}".strip()
        lines.append(line)
    return None if rest else lines


def cut_to_round(text: str, size: float, radius: float, measure: Measure) -> list[tuple[float, str]]:
    """As much of the beginning of a text as fits, long words broken, with three dots."""

    def laid(count: int) -> list[tuple[float, str]]:
        begun = text[:count].strip() + ("…" if count < len(text) else "")
        return in_round(_pieces(begun, PIECE * radius / size, measure), size, radius, None, measure)

    return laid(most(0, len(text), lambda count: bool(laid(count))))


def _pieces(text: str, room: float, width: Measure) -> list[str]:
    """The words of a text, those wider than ``room`` broken."""
    found = list[str]()
    for word in text.split():
        while width(word) > room and len(word) > 1:
            found.append(_beginning(word, room, width))
            word = word[len(found[-1]) :]
        found.append(word)
    return found
