"""Presses of the mouse in time: which of them is the second of a double click."""

from __future__ import annotations

from collections.abc import Callable

TWICE_S, TWICE_PIXELS = 0.4, 8  # a press so soon after another, and so near, is the second of a double click


class Clicks:
    """The press before."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._last, self._where = 0.0, (0, 0)
        self.spent = False  # the last press opened, closed or turned a page: a second one is not for what lies there

    def press(self, pos: tuple[int, int]) -> bool | None:
        """The button goes down: True for the second press of a double click; None for one that nothing is to take."""
        now, (x, y) = self._clock(), self._where
        twice = now - self._last < TWICE_S and abs(pos[0] - x) + abs(pos[1] - y) < TWICE_PIXELS
        self._last, self._where = now, pos
        return None if twice and self.spent else twice
