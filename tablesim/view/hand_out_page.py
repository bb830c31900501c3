"""The page that asks what is to be handed out, and how pictures, clips and sheets are wanted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

import pygame

from .fields import Choice, TextField
from .overlays import Overlay
from .widgets import Button, Label, Ui, Widget


class Wishes(Protocol):
    """How pictures, clips and sheets are wanted."""

    speed: str
    shape: str
    caption: str
    sheet: str


class HandOutPage(Overlay):
    """Kinds of things to make on the left; on the right how they are made, and what else can be done."""

    width, height = 600, 416
    ROW = 36

    def __init__(
        self, title: str, kinds: dict[str, Callable[[], object]], rest: dict[str, Callable[[], object]],
        wishes: Wishes, speeds: Sequence[str], shapes: Sequence[str], sheets: Sequence[str],
    ) -> None:  # fmt: skip
        super().__init__(title)

        def put(name: str) -> Callable[[str], None]:
            return lambda value: setattr(wishes, name, value)

        offered = list(dict.fromkeys((*speeds, wishes.speed)))  # the speed of the playing is among them
        options: list[Widget] = [
            Label("picture label", "Pictures and clips", 12, True),
            TextField("caption", lambda: wishes.caption, put("caption"), "none", label="caption"),
            Choice("shape", "shape", lambda: list(shapes), lambda: wishes.shape, put("shape")),
            Choice(
                "clip speed",
                "clip's speed",
                lambda: offered,
                lambda: wishes.speed,
                put("speed"),
                shown=lambda speed: "full" if speed == "1" else speed,
            ),
            Label("sheet label", "Sheets", 12, True),
            Choice("sheet", "with", lambda: list(sheets), lambda: wishes.sheet, put("sheet")),
        ]
        self.left: list[Widget] = [self._button(words, do) for words, do in kinds.items()]
        self.right = options + [self._button(words, do) for words, do in rest.items()]
        self.widgets = self.left + self.right

    def _button(self, words: str, do: Callable[[], object]) -> Button:
        def chosen() -> None:
            self.close()
            do()

        return Button(words, words, chosen)

    def layout(self, ui: Ui) -> None:
        """Two columns, their rows as low as the window makes them."""
        super().layout(ui)
        top, pad = self.rect.y + ui.px(46), ui.px(20)
        most = max(len(self.left), len(self.right))
        row = min(ui.px(self.ROW), (self.rect.bottom - ui.px(8) - top) // most)
        wide = (self.rect.w - 3 * pad) * 2 // 5
        for x, w, column in (
            (self.rect.x + pad, wide, self.left),
            (self.rect.x + 2 * pad + wide, self.rect.w - 3 * pad - wide, self.right),
        ):
            for k, widget in enumerate(column):
                widget.rect = pygame.Rect(x, top + k * row, w, row - max(2, row // 6))
