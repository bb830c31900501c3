"""The page on which things are made the same in all scenes of a lesson."""

from __future__ import annotations

import pygame

from ..controls.ticks import TickList
from ..controls.widgets import Button, Label, Ui
from ..document.same_maker import SameMaker
from .overlays import Overlay


class SamePage(Overlay):
    """What differs, to be ticked; below it what becomes of it."""

    width, height = 680, 440

    def __init__(self, maker: SameMaker) -> None:
        super().__init__("The same in all scenes")
        self.maker = maker
        self.list = TickList(
            "differences", list(maker.found), maker.ticked, "All scenes have the same gear and places."
        )
        self.label = Label("same words", lambda: maker.words, 12.5, lines=3)
        self.buttons = [
            Button("make same", "Change what is ticked", self._make, None, lambda: maker.able, "one step of undo"),
            Button("cancel", "Cancel", lambda: self.close()),
        ]
        self.widgets = [self.list, self.label, *self.buttons]

    def _make(self) -> None:
        self.maker.make()
        self.close()

    def layout(self, ui: Ui) -> None:
        """The list over the words, buttons at the bottom."""
        super().layout(ui)
        pad, gap = ui.px(20), ui.px(10)
        x, whole, bottom = self.rect.x + pad, self.rect.w - 2 * pad, self.rect.bottom - ui.px(50)
        top, high = self.rect.y + ui.px(48), ui.px(56)
        self.label.rect = pygame.Rect(x, bottom - gap - high, whole, high)
        self.list.rect = pygame.Rect(x, top, whole, self.label.rect.y - gap - top)
        wide = (whole - gap) // 2
        for k, button in enumerate(self.buttons):
            button.rect = pygame.Rect(x + k * (wide + gap), bottom, wide, ui.px(32))
