"""Small pictures of what a button does, drawn by strokes: right and down are +, in a square of side 1."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

import pygame

Line = tuple[tuple[float, float], ...]
OVER = 4  # drawn so many times as large, then shrunk
WEIGHT = 0.09  # of a stroke, in sides


def arc(x: float, y: float, radius: float, start_deg: float, end_deg: float) -> Line:
    """A run of a circle, angles clockwise from the right."""
    steps = max(2, round(abs(end_deg - start_deg) / 15.0))
    angles = (math.radians(start_deg + (end_deg - start_deg) * k / steps) for k in range(steps + 1))
    return tuple((x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles)


def _frame(left: float, top: float, right: float, bottom: float) -> Line:
    return ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))


def _mirrored(lines: tuple[Line, ...]) -> tuple[Line, ...]:
    return tuple(tuple((1.0 - x, y) for x, y in line) for line in lines)


_TRAY: Line = ((0.12, 0.58), (0.12, 0.86), (0.88, 0.86), (0.88, 0.58))
_BACK: tuple[Line, ...] = (arc(0.52, 0.56, 0.32, 40.0, -165.0), ((0.08, 0.30), (0.20, 0.50), (0.42, 0.42)))
STROKES: dict[str, tuple[Line, ...]] = {
    "open": (_TRAY, ((0.5, 0.66), (0.5, 0.12)), ((0.30, 0.32), (0.5, 0.12), (0.70, 0.32))),
    "save": (_TRAY, ((0.5, 0.12), (0.5, 0.66)), ((0.30, 0.46), (0.5, 0.66), (0.70, 0.46))),
    "hand_out": (((0.56, 0.12), (0.14, 0.12), (0.14, 0.88), (0.56, 0.88)), ((0.36, 0.5), (0.92, 0.5)),
                 ((0.72, 0.30), (0.92, 0.5), (0.72, 0.70))),
    "undo": _BACK,
    "redo": _mirrored(_BACK),
    "growth": (((0.08, 0.84), (0.92, 0.30)), tuple((0.08 + 0.84 * t, 0.84 - 0.10 * t - 0.02 * t * t)
                                                  for t in (0.0, 0.5, 1.0))),
    "details": tuple(((left, y), (right, y)) for y in (0.22, 0.5, 0.78) for left, right in ((0.10, 0.24), (0.44, 0.9))),
    "look": (_frame(0.08, 0.36, 0.38, 0.64), ((0.50, 0.40), (0.92, 0.16)), ((0.50, 0.60), (0.92, 0.84))),
    "panel": (_frame(0.10, 0.18, 0.90, 0.82), ((0.62, 0.18), (0.62, 0.82))),
    "pause": (((0.34, 0.2), (0.34, 0.8)), ((0.66, 0.2), (0.66, 0.8))),
    "help": ((*arc(0.5, 0.32, 0.20, -180.0, 90.0), (0.5, 0.66)), ((0.5, 0.88), (0.5, 0.88))),
    "more": tuple(((x, 0.5), (x, 0.5)) for x in (0.18, 0.5, 0.82)),
}  # fmt: skip
FILLED: dict[str, Line] = {"play": ((0.26, 0.14), (0.86, 0.5), (0.26, 0.86))}


@lru_cache(maxsize=256)
def icon_of(name: str, side: int, colour: str) -> pygame.Surface:
    """The picture of an action, ``side`` pixels wide and high, in a colour on nothing."""
    whole = OVER * side
    big = pygame.Surface((whole, whole), pygame.SRCALPHA)
    ink, weight = pygame.Color(colour), max(1.0, WEIGHT * whole)
    big.fill((ink.r, ink.g, ink.b, 0))  # so that no other colour comes in at the edges
    for line in STROKES.get(name, ()):
        places = [(x * whole, y * whole) for x, y in line]
        for start, end in pairwise(places):
            pygame.draw.line(big, ink, start, end, round(weight))
        for place in places:
            pygame.draw.circle(big, ink, place, weight * (0.7 if len(set(places)) == 1 else 0.5))
    if name in FILLED:
        pygame.draw.polygon(big, ink, [(x * whole, y * whole) for x, y in FILLED[name]])
    return pygame.transform.smoothscale(big, (side, side))
