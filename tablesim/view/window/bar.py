"""The bar on top of the window: the title, the file, and buttons, as many as there is room for."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import pygame

from tablesim.model.base import longest
from tablesim.model.scenario import Scenario

from ..controls.bar_buttons import BarButton
from ..controls.fields import TextField
from ..controls.widgets import NOWHERE, SMALL, Label, Ui, Widget, letters_width
from ..document.document import Document
from ..pages.overlays import More
from .desk import Desk

# Groups, told apart by a divider; and what goes first in a narrow bar: words of buttons, then buttons.
GROUPS = (("open", "save", "hand_out"), ("undo", "redo"), ("growth", "details", "look", "panel"), ("play",), ("help",))
WORDS_SPARED = ("undo", "redo", "help", "open", "save", "hand_out", "panel", "look", "details", "growth", "play")
SPARED = ("redo", "undo", "look", "growth", "details", "save", "hand_out", "help")
DIVIDER = 17  # points between groups, with the divider in their middle
TITLE_POINTS = 110  # of the title at least
FILE_POINTS = 260  # of the bar, at most, for the file's name; none where the title itself has no more
TOLD_POINTS = 180  # for the file's name while there are buttons with words
TITLE_MOST = 320  # points of the title's field at most


class FileLabel(Label):
    """Which file is open and whether it is changed: where there is little room the name is cut, never that."""

    def __init__(self, key: str, document: Document) -> None:
        super().__init__(key, lambda: document.file_words, SMALL, True)
        self.document = document

    def draw(self, ui: Ui) -> None:
        """The name, then the rest of the words."""
        name, changed = self.document.which_file, self.document.whether_changed
        rest = letters_width(changed, ui.tall(self.size))
        y = self.rect.centery - ui.px(0.72 * self.size)
        end = ui.write(name, (self.rect.x, y), self.size, ui.look.muted, room=max(self.rect.w - rest, 0)).right
        if changed:
            ui.write(changed, (end, y), self.size, ui.look.muted, room=self.rect.w)


class Bar:
    """The bar of a window; whether the panel and the list of takes are in sight is asked of its other parts."""

    def __init__(self, desk: Desk, panel_is_open: Callable[[], bool], list_is_open: Callable[[], bool]) -> None:
        self.desk, self._list_is_open = desk, list_is_open
        e = desk.editor
        self.title = TextField(
            "title", lambda: e.scenario.title, lambda text: desk.guard(lambda: e.rename(text)), "untitled",
            most=longest(Scenario, "title"),
        )  # fmt: skip
        self.file = FileLabel("file", desk.document)
        self.file.note = "what saving writes, and whether it is changed"
        self.buttons = [*self._doing(desk), *self._modes(desk, panel_is_open), *self._others(desk)]
        self.more = self.buttons[-1]
        self._dividers: list[int] = []

    def _doing(self, desk: Desk) -> list[BarButton]:
        doc = desk.document
        buttons = (
            ("open", "Open", None, "a file or a ready scenario (Ctrl O)"),
            ("save", "Save", lambda: doc.unsaved or doc.lesson_unsaved or doc.file is None,
             "write the lesson if one is open, else the scenario (Ctrl S)"),
            ("hand_out", "Hand out", None, "picture, clip, sheet, layout as text (Ctrl E)"),
            ("undo", "Undo", lambda: doc.can_undo, "undo (Ctrl Z)"),
            ("redo", "Redo", lambda: doc.can_redo, "redo (Ctrl Y)"),
        )  # fmt: skip
        return [
            BarButton(key, text, partial(desk.act, key), enabled=able, note=note) for key, text, able, note in buttons
        ]

    def _modes(self, desk: Desk, panel_is_open: Callable[[], bool]) -> list[BarButton]:
        editor, settings = desk.editor, desk.settings
        buttons = (
            ("growth", "Off the line", lambda: editor.shown.growth > 0, "distance off the cue's line (L)"),
            ("details", "Details", lambda: settings.details, "all numbers, or few (I)"),
            ("look", "Projector", lambda: settings.look == "projector", "projector: to be read from far away (V)"),
            ("panel", "Panel", panel_is_open, "panel: stroke, layout and gear, on or off (F4)"),
        )  # fmt: skip
        return [BarButton(key, text, partial(desk.act, key), "mode", on, note=note) for key, text, on, note in buttons]

    def _others(self, desk: Desk) -> list[BarButton]:
        play = BarButton(
            "play", "Play", partial(desk.act, "play"), "first", note="the shown takes, from the strike (Space)"
        )
        play.icon = lambda: "pause" if desk.table.player is not None and desk.table.player.playing else "play"
        return [
            play, BarButton("help", "Help", partial(desk.act, "help"), note="help: keys, mouse and words (F1)"),
            BarButton("more", "More", self._show_more, note="what this window has no room for"),
        ]  # fmt: skip

    @property
    def widgets(self) -> list[Widget]:
        """Everything in it, from the left."""
        return [self.title, self.file, *self.buttons]

    def _width(self, keys: set[str], worded: set[str]) -> int:
        """Pixels that some buttons take, some of them with words."""
        ui = self.desk.ui
        groups = sum(1 for group in GROUPS if keys & set(group))
        wide = sum(b.width(ui, b.key in worded) for b in self.buttons if b.key in keys)
        return wide + ui.px(DIVIDER) * max(0, groups - 1)

    def _kept(self, room: int) -> tuple[set[str], set[str]]:
        """The buttons that have room, and those of them that have it for their words."""
        ui, keys = self.desk.ui, {b.key for b in self.buttons if b is not self.more}
        worded = set(keys)
        for key in WORDS_SPARED:
            if self._width(keys, worded) > room - ui.px(TOLD_POINTS):
                worded.discard(key)
        for key in SPARED:
            if self._width(keys, worded) > room:
                keys = (keys - {key}) | {"more"}
        return keys, worded & keys

    def place(self, w: int, bar_h: int) -> None:
        """The title left, buttons right; those that a narrow bar has no room for are behind "More"."""
        ui, high = self.desk.ui, self.desk.ui.px(30)
        y = (bar_h - high) // 2
        keys, worded = self._kept(w - ui.px(TITLE_POINTS + 28))
        start = x = w - ui.px(8) - self._width(keys, worded)
        self._dividers = []
        for b in self.buttons:
            b.rect = NOWHERE.copy()
            if b.key in keys:
                if x > start and any(b.key == next((k for k in group if k in keys), None) for group in GROUPS):
                    self._dividers.append(x + ui.px(DIVIDER) // 2)
                    x += ui.px(DIVIDER)
                b.worded = b.key in worded
                b.rect = pygame.Rect(x, y, b.width(ui, b.worded), high)
                x = b.rect.right
        room = max(start - ui.px(28), ui.px(60))
        words = letters_width(self.desk.document.file_words, ui.tall(SMALL))
        told = min(ui.px(FILE_POINTS), room // 2, words + ui.px(12))
        told = told if room >= ui.px(TOLD_POINTS + TITLE_POINTS) else 0
        self.title.rect = pygame.Rect(ui.px(12), y, min(room - told, ui.px(TITLE_MOST)), high)
        self.file.rect = pygame.Rect(self.title.rect.right + ui.px(10), y, max(told - ui.px(10), 0), high)

    def draw_dividers(self, ui: Ui) -> None:
        """A thin line between groups."""
        for x in self._dividers:
            ui.line(ui.look.edge, (x, self.title.rect.y + ui.px(4)), (x, self.title.rect.bottom - ui.px(4)))

    def _show_more(self) -> None:
        """A page with what is not in the bar, and the takes where their list has no room."""
        desk = self.desk
        hidden = [b for b in self.buttons if b.rect.w == 0 and b is not self.more]
        choices: list[tuple[str, Callable[[], object]]] = [(b.text(), b.do) for b in hidden]
        if not self._list_is_open():
            names = [take.name for take in desk.editor.scenario.takes[:8]]
            choices += [(f"Take: {name}", partial(desk.editor.choose, i)) for i, name in enumerate(names)]
        desk.open_overlay(More(choices))
