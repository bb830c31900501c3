"""The bar on top of the window: the title, the file, and buttons, as many as there is room for."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import pygame

from tablesim.model.base import longest
from tablesim.model.scenario import Scenario

from ..controls.fields import TextField
from ..controls.widgets import NOWHERE, SMALLEST_LETTERS, Button, Label, Ui, Widget, letters_width
from ..document.document import Document
from ..pages.overlays import More
from .desk import Desk

# The first to go in a narrow bar.
SPARED = ("redo", "undo", "look", "growth", "details", "save", "hand_out", "play", "help")
BUTTON_POINTS = {"growth": 96, "hand_out": 80, "look": 84, "more": 60}
FILE_POINTS = 260  # of the bar, at most, for the file's name; none where the title itself has no more


class FileLabel(Label):
    """Which file is open and whether it is changed: where there is little room the name is cut, never that."""

    def __init__(self, key: str, document: Document) -> None:
        super().__init__(key, lambda: document.file_words, 12, True)
        self.document = document

    def draw(self, ui: Ui) -> None:
        """The name, then the rest of the words, as small as they have to be."""
        name, changed, size = self.document.which_file, self.document.whether_changed, self.size
        while size > SMALLEST_LETTERS and letters_width(name + changed, ui.px(size)) > self.rect.w:
            size -= 0.5
        rest = letters_width(changed, ui.px(size))
        y = self.rect.centery - ui.px(0.72 * size)
        end = ui.write(name, (self.rect.x, y), size, ui.look.muted, room=max(self.rect.w - rest, 0)).right
        if changed:
            ui.write(changed, (end, y), size, ui.look.muted, room=self.rect.w)


class Bar:
    """The bar of a window; whether the panel and the list of takes are in sight is asked of its other parts."""

    def __init__(self, desk: Desk, panel_is_open: Callable[[], bool], list_is_open: Callable[[], bool]) -> None:
        self.desk, self._list_is_open = desk, list_is_open
        e, act, doc, settings = desk.editor, desk.act, desk.document, desk.settings
        self.title = TextField(
            "title", lambda: e.scenario.title, lambda text: desk.guard(lambda: e.rename(text)), "untitled",
            most=longest(Scenario, "title"),
        )  # fmt: skip
        self.file = FileLabel("file", doc)
        self.file.note = "what saving writes, and whether it is changed"
        buttons = (
            ("open", "Open", None, None, "a file or a ready scenario (Ctrl O)"),
            ("save", "Save", None, lambda: doc.unsaved or doc.lesson_unsaved or doc.file is None,
             "write the lesson if one is open, else the scenario (Ctrl S)"),
            ("hand_out", "Hand out", None, None, "picture, clip, sheet, layout as text (Ctrl E)"),
            ("undo", "Undo", None, lambda: doc.can_undo, "Ctrl Z"),
            ("redo", "Redo", None, lambda: doc.can_redo, "Ctrl Y"),
            ("play", "Play", lambda: desk.play_bar is not None, None, "the shown takes, from the strike (Space)"),
            ("growth", "Off the line", lambda: e.shown.growth > 0, None, "distance off the cue's line (L)"),
            ("details", "Details", lambda: settings.details, None, "all numbers, or few (I)"),
            ("look", "Projector", lambda: settings.look == "projector", None, "to be read from far away (V)"),
            ("panel", "Panel", panel_is_open, None, "stroke, layout and gear, on or off (F4)"),
            ("help", "Help", None, None, "keys, mouse and words (F1)"),
        )  # fmt: skip
        self.more = Button("more", "More", self._show_more, note="what this window has no room for")
        self.buttons: list[Widget] = [
            *(Button(k, text, partial(act, k), on, able, note) for k, text, on, able, note in buttons), self.more,
        ]  # fmt: skip

    @property
    def widgets(self) -> list[Widget]:
        """Everything in it, from the left."""
        return [self.title, self.file, *self.buttons]

    def place(self, w: int, bar_h: int) -> None:
        """The title left, buttons right; those that a narrow bar has no room for are behind "More"."""
        ui = self.desk.ui
        wide = {b.key: ui.px(BUTTON_POINTS.get(b.key, 64)) for b in self.buttons}
        buttons = [b for b in self.buttons if b is not self.more]
        room = w - ui.px(110) - ui.px(8)
        kept = {b.key for b in buttons}
        for key in SPARED:
            if sum(wide[k] for k in kept) + (wide["more"] if len(kept) < len(buttons) else 0) > room:
                kept.discard(key)
        x = w - ui.px(8)
        for b in reversed(self.buttons):
            if b.key not in kept and not (b is self.more and len(kept) < len(buttons)):
                b.rect = NOWHERE.copy()
                continue
            x -= wide[b.key]
            b.rect = pygame.Rect(x, (bar_h - ui.px(30)) // 2, wide[b.key] - ui.px(5), ui.px(30))
        self.title.rect = pygame.Rect(ui.px(10), (bar_h - ui.px(30)) // 2, max(x - ui.px(20), ui.px(60)), ui.px(30))
        told = min(ui.px(FILE_POINTS), self.title.rect.w // 2) if self.title.rect.w > ui.px(FILE_POINTS) else 0
        self.title.rect.w -= told
        self.file.rect = pygame.Rect(self.title.rect.right + ui.px(10), self.title.rect.y, told, self.title.rect.h)

    def _show_more(self) -> None:
        """A page with what is not in the bar, and the takes where their list has no room."""
        desk = self.desk
        hidden = [b for b in self.buttons if b.rect.w == 0 and isinstance(b, Button) and b is not self.more]
        choices: list[tuple[str, Callable[[], object]]] = [(b.text(), b.do) for b in hidden]
        if not self._list_is_open():
            names = [take.name for take in desk.editor.scenario.takes[:8]]
            choices += [(f"Take: {name}", partial(desk.editor.choose, i)) for i, name in enumerate(names)]
        desk.open_overlay(More(choices))
