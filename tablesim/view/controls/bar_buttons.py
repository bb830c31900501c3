"""Buttons without a box: of the bar, by what they are for, and of the panel's pages."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import pygame

from .icons import icon_of
from .widgets import BODY, SWITCH, Button, Ui, draw_switch, letters_width

Kind = Literal["doing", "mode", "first"]  # does something; is on or off; what one most wants to do
ICON, GAP, PAD = 16, 7, 9  # points: an icon's side, from it to the words, and at either end


class BarButton(Button):
    """An icon and words, or the icon alone; a mode has a switch, the first thing to do is filled."""

    def __init__(
        self, key: str, text: str, do: Callable[[], object], kind: Kind = "doing",
        on: Callable[[], bool] | None = None, enabled: Callable[[], bool] | None = None, note: str = "",
    ) -> None:  # fmt: skip
        super().__init__(key, text, do, on, enabled, note)
        self.kind = kind
        self.worded = True  # its words are in sight
        self.icon: Callable[[], str] = lambda: key

    def width(self, ui: Ui, worded: bool) -> int:
        """Pixels it takes, with its words or without."""
        if not worded:
            return ui.px(ICON + 2 * PAD)
        mark = SWITCH[0] if self.kind == "mode" else ICON
        return ui.px(mark + GAP + 2 * PAD) + letters_width(ui.say(self.text()), ui.tall(BODY), self.kind == "first")

    def draw(self, ui: Ui) -> None:
        """Its ground, its mark, its words."""
        look, rect = ui.look, self.rect
        able, on = self.enabled is None or self.enabled(), self.on is not None and self.on()
        first, hovered = self.kind == "first", ui.hover is self and able
        if first:
            ui.panel(rect, look.accent, look.text if hovered else look.accent)
        elif hovered:
            ui.panel(rect, look.raised, look.edge)
        colour = look.panel if first else look.text if able else look.edge
        left = rect.x + ui.px(PAD)
        if self.kind == "mode" and self.worded:
            left = self._switch(ui, pygame.Rect(left, rect.centery - ui.px(SWITCH[1]) // 2, *map(ui.px, SWITCH)), on)
        else:
            side, lift = ui.px(ICON), ui.px(4) if self.kind == "mode" else 0
            ui.picture(icon_of(self.icon(), side, colour), (left, rect.centery - side // 2 - lift))
            if self.kind == "mode":
                self._switch(ui, pygame.Rect(left, rect.bottom - ui.px(10), side, ui.px(8)), on)
            left += side + ui.px(GAP)
        if self.worded:
            ui.write(self.text(), (left, rect.centery), BODY, colour, first, up=0.5)
        self.ring(ui)

    def _switch(self, ui: Ui, track: pygame.Rect, on: bool) -> int:
        """A switch in its place; where the words begin after it."""
        draw_switch(ui, track, on)
        return track.right + ui.px(GAP)


class Tab(Button):
    """A page's name; a bar under the one that is open."""

    def draw(self, ui: Ui) -> None:
        """The name over a thin line, thick where the page is open."""
        look, rect, on = ui.look, self.rect, self.on is not None and self.on()
        colour = look.text if on or ui.hover is self else look.muted
        ui.write(self.text(), (rect.centerx, rect.centery - ui.px(1)), BODY, colour, on, 0.5, 0.5, room=rect.w)
        high = ui.px(3) if on else max(1, ui.px(1))
        ui.rect(look.accent if on else look.edge, pygame.Rect(rect.x, rect.bottom - high, rect.w, high))
        self.ring(ui)
