"""The page on which a series of takes is made."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from ..controls.fields import TextField
from ..controls.ticks import TickList
from ..controls.widgets import Button, Label, Ui
from ..document.series_maker import STROKES_OFFERED, SeriesMaker
from .overlays import Overlay


class SeriesPage(Overlay):
    """Lists to type on the left, cues and strokes to tick on the right, below them what would come of it."""

    width, height = 640, 420

    def __init__(self, maker: SeriesMaker) -> None:
        super().__init__("A series of takes")
        self.maker = maker
        self.fields = [
            self._field("pace", "paces", "as the take: 1.5, 3, 4.5 or soft, hard"),
            self._field("side", "english", "as the take: 60 left, none, half a tip right"),
            self._field("height", "height", "as the take: 40 low, 1/2 tip high"),
        ]
        cues = list(maker.editor.scenario.cues)
        self.ticks = [
            TickList("series cues", cues, maker.cues),
            TickList("series strokes", STROKES_OFFERED, maker.strokes),
        ]
        self.labels = [
            Label("series aim", lambda: maker.aim_words, 12, True, lines=2),
            Label("series words", lambda: maker.words, 12.5, lines=6),
        ]

        def able() -> bool:
            return maker.able

        self.buttons = [
            Button("replace takes", "In place of all takes", self._make(False), None, able, "one step of undo"),
            Button("add takes", "After the takes there are", self._make(True), None, able, "one step of undo"),
            Button("cancel", "Cancel", lambda: self.close()),
        ]
        self.widgets = [*self.fields, *self.ticks, *self.labels, *self.buttons]

    def _field(self, name: str, label: str, hint: str) -> TextField:
        texts = self.maker.texts

        def put(text: str) -> None:
            texts[name] = text

        return TextField(f"series {name}", lambda: texts[name], put, hint, label=label)

    def _make(self, adding: bool) -> Callable[[], None]:
        def make() -> None:
            self.maker.make(adding)
            self.close()

        return make

    def layout(self, ui: Ui) -> None:
        """Fields and lists over the words, buttons at the bottom."""
        super().layout(ui)
        pad, gap = ui.px(20), ui.px(10)
        x, top, whole = self.rect.x + pad, self.rect.y + ui.px(48), self.rect.w - 2 * pad
        left = (whole - gap) * 62 // 100
        for k, field in enumerate(self.fields):
            field.rect = pygame.Rect(x, top + k * ui.px(38), left, ui.px(30))
        cues, strokes = self.ticks
        right, low = whole - gap - left, ui.px(2 * TickList.ROW + 6)
        high = 3 * ui.px(38) + ui.px(36)
        strokes.rect = pygame.Rect(x + left + gap, top + high - low, right, low)
        cues.rect = pygame.Rect(x + left + gap, top, right, high - low - ui.px(8))
        aim, words = self.labels
        aim.rect = pygame.Rect(x, top + 3 * ui.px(38), left, ui.px(36))
        bottom = self.rect.bottom - ui.px(50)
        words.rect = pygame.Rect(x, top + high + gap, whole, max(ui.px(20), bottom - gap - top - high - gap))
        wide = (whole - 2 * gap) // 3
        for k, button in enumerate(self.buttons):
            button.rect = pygame.Rect(x + k * (wide + gap), bottom, wide, ui.px(32))
