"""The takes where there is no room for their list: the chosen one's line and name, and how many there are."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from .dials import sample
from .fields import Choice
from .widgets import Ui


class TakeChooser(Choice):
    """The chosen take; its two arrows, the arrow keys and the wheel go to the next."""

    ARROW = 20  # points

    def __init__(
        self, key: str, names: Callable[[], list[str]], at: Callable[[], int], choose: Callable[[int], object]
    ):
        super().__init__(
            key, "", names, lambda: (names() or [""])[at()], lambda name: choose(names().index(name)), term="take"
        )  # fmt: skip
        self.at = at

    def _area(self) -> pygame.Rect:
        return self.rect

    def draw(self, ui: Ui) -> None:
        """Arrows at the ends; the name over a sample of the line and the count."""
        ui.panel(self.rect, ui.look.raised, ui.look.edge)
        self.arrows(ui, ui.px(0.5 * self.ARROW))
        inner = self.rect.inflate(-2 * ui.px(self.ARROW), 0)
        upper, lower = inner.y + round(0.32 * inner.h), inner.y + round(0.72 * inner.h)
        ui.write(self.value(), (inner.centerx, upper), 12.5, None, True, 0.5, 0.5, room=inner.w)
        count = f"{self.at() + 1} of {len(self.values())}"
        end = ui.write(count, (inner.right - ui.px(2), lower), 11.5, ui.look.muted, across=1.0, up=0.5)
        sample(ui, pygame.Rect(inner.x, lower - ui.px(8), max(end.x - ui.px(8) - inner.x, 1), ui.px(16)), self.at())
        self.ring(ui)
