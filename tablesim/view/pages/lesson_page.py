"""The page of the lesson: views kept in order, to be shown one after the other."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from tablesim.model.base import longest
from tablesim.model.lesson import Lesson, Scene
from tablesim.scene.look import Look

from ..controls.fields import TextField
from ..controls.lines_field import LinesField
from ..controls.widgets import BODY, SMALL, Button, Label, Pos, Ui, Widget, scroll_bar
from .host import Host, PanelPage, Row

CAPTION_LINES = 4


class SceneList(Widget):
    """The scenes in order; a click or the arrow keys choose and show one, Shift with them moves it."""

    ROW, PICTURE = 48, (76, 43)  # points
    ROWS = 4  # always, so that nothing below moves when there is one more

    def __init__(
        self, captions: Callable[[], list[str]], at: Callable[[], int], show: Callable[[int], object],
        move: Callable[[int], object], picture: Callable[[int, tuple[int, int], Look], pygame.Surface | None],
    ) -> None:  # fmt: skip
        super().__init__("scenes")
        self.captions, self.at, self.show, self.move, self.picture = captions, at, show, move, picture
        self.first = 0

    def height(self, ui: Ui) -> int:
        """A few rows."""
        return ui.px(self.ROW) * self.ROWS + ui.px(8)

    def draw(self, ui: Ui) -> None:
        """The rows that fit: number, picture, the first words of the caption."""
        ui.panel(self.rect, ui.look.raised, ui.look.edge)
        captions, at = self.captions(), self.at()
        if not captions:
            ui.write("no scenes yet", (self.rect.x + ui.px(10), self.rect.y + ui.px(10)), BODY, ui.look.muted)
        fits = max(1, (self.rect.h - ui.px(8)) // ui.px(self.ROW))
        self.first = max(min(self.first, at, max(len(captions) - fits, 0)), at - fits + 1, 0)
        for k, caption in enumerate(captions[self.first : self.first + fits]):
            i, y = self.first + k, self.rect.y + ui.px(4) + k * ui.px(self.ROW)
            row = pygame.Rect(self.rect.x + ui.px(4), y, self.rect.w - ui.px(12), ui.px(self.ROW))
            if i == at:
                ui.panel(row, ui.look.panel, ui.look.accent, 4)
            self._draw_row(ui, row, i, caption)
        scroll_bar(ui, self.rect, self.first, fits, len(captions))
        self.ring(ui)

    def _draw_row(self, ui: Ui, row: pygame.Rect, i: int, caption: str) -> None:
        chosen, look = i == self.at(), ui.look
        ui.write(f"{i + 1}", (row.x + ui.px(24), row.centery), SMALL, look.muted, chosen, 1.0, 0.5)
        size = (ui.px(self.PICTURE[0]), ui.px(self.PICTURE[1]))
        place = pygame.Rect((row.x + ui.px(30), row.centery - size[1] // 2), size)
        picture = self.picture(i, size, look)
        if picture is None:
            ui.panel(place, look.panel, look.edge, 4)
        else:
            ui.picture(picture, place.topleft)
        left, step = place.right + ui.px(8), ui.px(16)
        lines = ui.wrap(caption, row.right - left - ui.px(4), SMALL)
        shown = [*lines[:2], " ".join(lines[2:])] if len(lines) > 2 else lines
        top = row.centery - step * len(shown) // 2
        for k, words in enumerate(shown):
            ui.write(words, (left, top + k * step), SMALL, look.text, room=row.right - left - ui.px(4))

    def press(self, pos: Pos, ui: Ui) -> None:
        """Show that scene."""
        i = self.first + (pos[1] - self.rect.y - ui.px(4)) // ui.px(self.ROW)
        if 0 <= i < len(self.captions()):
            self.show(i)

    def pressed(self, event: pygame.Event) -> bool:
        """Up and down show, with Shift move."""
        if event.key not in (pygame.K_UP, pygame.K_DOWN):
            return False
        by = -1 if event.key == pygame.K_UP else 1
        if event.mod & pygame.KMOD_SHIFT:
            self.move(by)
        else:
            self.show(self.at() + by)
        return True


def lesson_page(host: Host) -> list[Row]:
    """The rows of the page."""
    book = host.book

    def some() -> bool:
        return bool(book.lesson.scenes)

    def is_open() -> bool:
        return host.editor.document.lesson_open

    def caption() -> str:
        return book.scene.caption if book.scene is not None else ""

    def button(key: str, words: str, do: Callable[[], object], note: str = "") -> Widget:
        return Button(key, words, do, None, some, note)

    def picture(at: int, size: tuple[int, int], look: Look) -> pygame.Surface | None:
        path = host.editor.document.lesson_path
        return host.thumbnails.picture(book.lesson.scenes[at], path.parent if path else None, size, look)

    scenes = SceneList(lambda: [s.caption for s in book.lesson.scenes], lambda: book.place, host.show_scene, book.move,
                       picture)  # fmt: skip
    return [
        [TextField("lesson title", lambda: book.lesson.title, book.title, "title of the lesson",
                   most=longest(Lesson, "title"))],
        [Button("keep", "Keep this view", lambda: host.act("keep"), note="as a scene after the one chosen (Ctrl K)"),
         button("renew", "Renew", book.renew, "put this view in its place").share(0.6)],
        [LinesField("caption", caption, book.rename, "caption of the scene", CAPTION_LINES, longest(Scene, "caption"))],
        [scenes],
        [button("scene up", "Up", lambda: book.move(-1)), button("scene down", "Down", lambda: book.move(1)),
         button("scene copy", "Copy", book.copy), button("scene remove", "Remove", book.remove)],
        [button("same", "The same in all scenes…", lambda: host.act("same"),
                "gear, cues and places of balls, as they are on the screen")],
        [button("show lesson", "Show the lesson", lambda: host.act("show"), "full screen; arrow keys step (F5)")],
        [Button("open lesson", "Open", lambda: host.act("open"), note="a lesson, or a scenario for it (Ctrl O)"),
         button("save lesson", "Save", lambda: host.act("save"), "write the lesson (Ctrl S)"),
         Button("close lesson", "Close", lambda: host.act("close_lesson"), None, is_open, "put the lesson away")],
        [Label("lesson note", "A lesson keeps its own copies of what it shows.", SMALL, True, lines=2)],
    ]  # fmt: skip


LESSON = PanelPage(lesson_page)
