"""A series of takes as people write it: 1.5, 3, 4.5 or soft, hard; -60, 0, 60 %; half a tip left, centre."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from tablesim.errors import ScenarioError
from tablesim.model.gear import StrokeKind
from tablesim.units import MPH_M_S, PACES_SAID, number_of

from .series import English

PACE_UNITS = {"m/s": 1.0, "mph": MPH_M_S}
STROKES: dict[str, StrokeKind] = {"smooth": "smooth", "jab": "jab", "jabbed": "jab"}
SIDES = {"left": -1.0, "right": 1.0}
HEIGHTS = {"low": -1.0, "high": 1.0}
NO_ENGLISH = ("0", "none", "centre", "center", "no english", "level")
NUMBERS = {"half a": "1/2", "half": "1/2", "a quarter": "1/4", "quarter": "1/4", "one": "1"}
IN_UNIT = re.compile(r"(?P<number>.*?)\s*(?P<unit>%|tips?)?")


def pieces_of(text: str) -> list[str]:
    """The pieces of a list: commas between, or semicolons, and commas then may be decimal ones."""
    return [piece.strip() for piece in text.split(";" if ";" in text else ",") if piece.strip()]


def paces_said(text: str) -> tuple[float, ...]:
    """Paces [m/s] from numbers in m/s or mph and the trade's words; ScenarioError if one is neither.

    A unit at the end is that of all numbers without one.
    """
    pieces = [piece.lower() for piece in pieces_of(text)]
    usual = next((size for unit, size in PACE_UNITS.items() if pieces and pieces[-1].endswith(unit)), 1.0)
    return tuple(_pace_said(piece, usual) for piece in pieces)


def _pace_said(piece: str, usual: float) -> float:
    if piece in PACES_SAID:
        return PACES_SAID[piece]
    unit = next((unit for unit in PACE_UNITS if piece.endswith(unit)), "")
    pace = number_of(piece.removesuffix(unit)) * PACE_UNITS.get(unit, usual)
    if not math.isfinite(pace):
        rule = f"must be paces in m/s, or {', '.join(PACES_SAID)}, with commas between"
        raise ScenarioError(f"pace: {rule}; got {piece[:40]!r}")
    return pace


def strokes_said(text: str) -> tuple[StrokeKind, ...]:
    """Strokes by their names; ScenarioError for another one."""
    pieces = pieces_of(text.lower())
    for piece in pieces:
        if piece not in STROKES:
            raise ScenarioError(f"stroke: must be smooth or jabbed, with commas between; got {piece[:40]!r}")
    return tuple(STROKES[piece] for piece in pieces)


def cues_said(texts: Sequence[str], known: Sequence[str]) -> tuple[str, ...]:
    """Names of cues from texts that are a known name each, or several names with commas between."""
    return tuple(name for text in texts for name in ([text] if text in known else pieces_of(text)))


def sides_said(text: str) -> tuple[English, ...]:
    """English to the side: -60 %, 60 left, half a tip right, none; left is -, and per cent is meant without a unit.

    A unit at the end is that of all signed numbers without one.  ScenarioError if a piece is none of these, or
    has no side where others have.
    """
    return _english(text, SIDES, "side", "-60, 0, 60 %; 60 left; half a tip right; none")


def heights_said(text: str) -> tuple[English, ...]:
    """The tip up or down: -40 %, 40 low, half a tip high, level; low is -, the rest as in `sides_said`."""
    return _english(text, HEIGHTS, "height", "-40, 0, 40 %; 40 low; half a tip high; level")


def _english(text: str, ways: dict[str, float], what: str, such_as: str) -> tuple[English, ...]:
    pieces = [piece.lower().replace("−", "-").removesuffix(" english").strip() for piece in pieces_of(text)]
    parts = [_parts(piece, ways) for piece in pieces]
    with_sides = any(way is not None for way, _, _ in parts)
    found = []
    for piece, (way, number, unit) in zip(pieces, parts, strict=True):
        amount = 0.0 if number in NO_ENGLISH else number_of(number)
        no_side = with_sides and way is None and amount != 0.0  # is 1 in "1, 2 left" right or left?
        if not math.isfinite(amount) or no_side or (way is not None and amount < 0.0):
            raise ScenarioError(f"{what}: must be such as {such_as}; got {piece[:40]!r}")
        meant = unit or (parts[-1][2] if way is None else "")
        found.append(English((way or 1.0) * amount + 0.0, meant.startswith("tip") and amount != 0.0))
    return tuple(found)


def _parts(piece: str, ways: dict[str, float]) -> tuple[float | None, str, str]:
    """To which side, how much, and of what; None and empty where it is not said."""
    if piece in NO_ENGLISH:
        return None, piece, ""
    words = piece.rsplit(maxsplit=1)
    way = ways.get(words[-1]) if words else None
    said = IN_UNIT.fullmatch(piece if way is None else " ".join(words[:-1]))
    assert said is not None  # it takes anything
    return way, NUMBERS.get(said["number"], said["number"]), said["unit"] or ""
