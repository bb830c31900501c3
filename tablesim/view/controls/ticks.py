"""A list of things of which some are ticked."""

from __future__ import annotations

from collections.abc import Sequence

import pygame

from .widgets import Pos, Ui, Widget


class TickList(Widget):
    """Lines with a box each; a click or Space turns it, arrow keys and the wheel go through them."""

    ROW = 24

    def __init__(self, key: str, names: Sequence[str], ticked: list[str], none: str = "") -> None:
        """``ticked`` are those of ``names`` that are ticked, changed in place; ``none``: said of no names."""
        super().__init__(key)
        self.names, self.ticked, self.none = list(names), ticked, none
        self.at = self.first = 0

    def _fits(self, ui: Ui) -> int:
        return max(1, (self.rect.h - ui.px(6)) // ui.px(self.ROW))

    def draw(self, ui: Ui) -> None:
        """The lines that fit, about the one the keys are at; what is left out above or below is told by arrows."""
        ui.panel(self.rect, ui.look.raised, ui.look.edge)
        if not self.names:
            ui.write(self.none, (self.rect.x + ui.px(10), self.rect.y + ui.px(8)), 12.5, ui.look.muted,
                     room=self.rect.w - ui.px(20))  # fmt: skip
        fits = self._fits(ui)
        self.first = max(min(self.first, self.at, max(len(self.names) - fits, 0)), self.at - fits + 1, 0)
        for k, name in enumerate(self.names[self.first : self.first + fits]):
            y = self.rect.y + ui.px(3) + k * ui.px(self.ROW)
            row = pygame.Rect(self.rect.x + ui.px(3), y, self.rect.w - ui.px(6), ui.px(self.ROW))
            self._draw_row(ui, row, name, ui.focus is self and self.first + k == self.at)
        if len(self.names) > fits:
            bar = pygame.Rect(self.rect.right - ui.px(6), self.rect.y, ui.px(4), self.rect.h * fits // len(self.names))
            bar.y += (self.rect.h - bar.h) * self.first // (len(self.names) - fits)
            ui.rect(ui.look.muted, bar, ui.px(2))
        self.ring(ui)

    def _draw_row(self, ui: Ui, row: pygame.Rect, name: str, here: bool) -> None:
        if here:
            ui.panel(row, ui.look.edge, None, 4)
        on = name in self.ticked
        box = pygame.Rect(row.x + ui.px(6), row.centery - ui.px(6), ui.px(12), ui.px(12))
        ui.rect(ui.look.accent if on else ui.look.muted, box, ui.px(2), 0 if on else max(1, ui.px(1)))
        ui.write(name, (box.right + ui.px(8), row.centery), 12.5, None if on else ui.look.muted, up=0.5,
                 room=row.right - box.right - ui.px(18))  # fmt: skip

    def _turn(self, at: int) -> None:
        self.at = at
        name = self.names[at]
        if name in self.ticked:
            self.ticked.remove(name)
        else:
            self.ticked.append(name)

    def press(self, pos: Pos, ui: Ui) -> None:
        """Turn the box of that line."""
        at = self.first + (pos[1] - self.rect.y - ui.px(3)) // ui.px(self.ROW)
        if 0 <= at < min(len(self.names), self.first + self._fits(ui)):
            self._turn(at)

    def wheel(self, steps: float) -> bool:
        """Go through them."""
        self.at = max(0, min(self.at - round(steps), len(self.names) - 1))
        return True

    def pressed(self, event: pygame.Event) -> bool:
        """Arrow keys go through them, Space turns a box."""
        moves = {pygame.K_UP: 1.0, pygame.K_DOWN: -1.0}
        if event.key in moves:
            return self.wheel(moves[event.key])
        if event.key in (pygame.K_SPACE, pygame.K_RETURN, pygame.K_KP_ENTER) and self.names:
            self._turn(self.at)
            return True
        return False
