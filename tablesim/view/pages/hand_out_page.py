"""The page that asks what is to be handed out, and how pictures, clips and sheets are wanted."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import pygame

from ..controls.fields import Choice, TextField
from ..controls.widgets import Button, Label, Ui, Widget
from ..document.wishes import Wishes
from .overlays import Overlay


class HandOutPage(Overlay):
    """Kinds of things to make on the left; on the right how they are made, and what else can be done."""

    width, height = 600, 488
    ROW = 36

    def __init__(
        self, title: str, kinds: dict[str, Callable[[], object]], rest: dict[str, Callable[[], object]],
        wishes: Wishes, offered: Mapping[str, Sequence[str]],
    ) -> None:  # fmt: skip
        super().__init__(title)

        def put(name: str) -> Callable[[str], None]:
            return lambda value: setattr(wishes, name, value)

        def choice(key: str, label: str, name: str, shown: Callable[[str], str] = str) -> Choice:
            """One of what is offered, or what is wished already (the speed of the playing)."""
            values = list(dict.fromkeys((*offered[name], getattr(wishes, name))))
            return Choice(key, label, lambda: values, lambda: getattr(wishes, name), put(name), shown=shown)

        options: list[Widget] = [
            Label("picture label", "Pictures and clips", 12, True),
            TextField("caption", lambda: wishes.caption, put("caption"), "none", label="caption"),
            choice("shape", "shape", "shape"),
            choice("clip speed", "clip's speed", "speed", lambda speed: "full" if speed == "1" else speed),
            choice("contact speed", "at the contact", "contact_speed"),
            choice("clip length", "clip's length", "length"),
            Label("sheet label", "Sheets", 12, True),
            choice("sheet", "with", "sheet"),
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
