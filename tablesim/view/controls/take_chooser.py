"""The takes where there is no room for their list: the chosen one's line and name, and how many there are."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from .dials import sample
from .fields import Choice
from .widgets import BODY, SMALL, Pos, Ui


class TakeChooser(Choice):
    """The chosen take; its two arrows, the arrow keys and the wheel go to the next, a click between them lists all."""

    ARROW = 20  # points

    def __init__(
        self, key: str, names: Callable[[], list[str]], at: Callable[[], int], choose: Callable[[int], object]
    ):
        super().__init__(
            key, "", names, lambda: (names() or [""])[at()], lambda name: choose(names().index(name)), term="take"
        )  # fmt: skip
        self.at = at

    def press(self, pos: Pos, ui: Ui) -> None:
        """The arrow there; between them the list."""
        reach = 1.4 * ui.px(self.ARROW)
        at_end = min(pos[0] - self.rect.x, self.rect.right - pos[0]) < reach
        if at_end and self.list is None:
            self._step(-1 if pos[0] < self.rect.centerx else 1)
        else:
            super().press(pos, ui)

    def _arrows(self, ui: Ui) -> None:
        """One at each end."""
        r, inside = ui.px(4), ui.px(0.5 * self.ARROW)
        for sign, x in ((-1, self.rect.x + inside), (1, self.rect.right - inside)):
            y = self.rect.centery
            ui.polygon(ui.look.muted, [(x + sign * r, y), (x - sign * r, y - r), (x - sign * r, y + r)])

    def draw(self, ui: Ui) -> None:
        """Arrows at the ends; the name over a sample of the line and the count."""
        ui.panel(self.rect, ui.look.raised, ui.look.edge)
        self._arrows(ui)
        inner = self.rect.inflate(-2 * ui.px(self.ARROW), 0)
        upper, lower = inner.y + round(0.32 * inner.h), inner.y + round(0.72 * inner.h)
        ui.write(self.value(), (inner.centerx, upper), BODY, None, True, 0.5, 0.5, room=inner.w)
        count = f"{self.at() + 1} of {len(self.values())}"
        end = ui.write(count, (inner.right - ui.px(2), lower), SMALL, ui.look.muted, across=1.0, up=0.5)
        sample(ui, pygame.Rect(inner.x, lower - ui.px(8), max(end.x - ui.px(8) - inner.x, 1), ui.px(16)), self.at())
        self.ring(ui)
