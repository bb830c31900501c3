"""The lesson shown full screen: the caption, the table and the reading, for the back of the room."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pygame

from ..controls.dials import sample
from ..table.playback import PlayBar

if TYPE_CHECKING:
    from ..controls.widgets import Ui
    from .app import App
    from .parts import Parts

CAPTION, SMALLER = 28, 24  # letters of a caption that stands on one line, and of one that needs two, in points
ASIDE = 160  # points of the caption's line that are left to the scene's number


def caption_lines(ui: Ui, caption: str, width: int) -> list[str]:
    """A caption in one line or two; what does not fit in two is left to be cut."""
    room = width - ui.px(ASIDE)
    if len(ui.wrap(caption, room, CAPTION, True)) <= 1:
        return [caption]
    first, *rest = ui.wrap(caption, room, SMALLER, True)
    return [first, " ".join(rest)] if rest else [first]


def places(app: App) -> list[int]:
    """Places of the takes in sight."""
    return sorted({app.editor.chosen, *app.editor.shown.takes})


def layout(parts: Parts, w: int, h: int) -> None:
    """Find table, playing and reading their places; the caption's is alike for all scenes, so that no table jumps."""
    app, ui = parts.app, parts.app.ui
    several = len(places(app)) > 1
    two = any(len(caption_lines(ui, scene.caption, w)) > 1 for scene in app.book.lesson.scenes)
    top, bottom = ui.px(80 if two else 64), ui.px(104 if several else 76)
    parts.leave_out(pygame.Rect(w, top, 0, h))
    play_h = ui.px(PlayBar.POINTS) if app.play_bar is not None else 0
    table = pygame.Rect(0, top, w, max(h - top - bottom - play_h, 16))
    app.table.place(table, app.look, ui.scale)
    if app.play_bar is not None:
        app.play_bar.place(pygame.Rect(0, table.bottom, w, play_h), ui)
    parts.reading.rect = pygame.Rect(ui.px(24), h - bottom + ui.px(8), w - ui.px(48), bottom - ui.px(12))
    if several:
        parts.reading.rect.y += ui.px(26)
        parts.reading.rect.h -= ui.px(26)
    parts.reading.size, parts.reading.lines = 21.0, 2


def draw_caption(app: App) -> None:
    """The scene's caption and its number, while the lesson is shown."""
    ui, width, middle = app.ui, app.surface.get_width(), app.table.rect.y // 2
    if not app.book.showing or app.book.scene is None:
        return
    lines = caption_lines(ui, app.book.scene.caption, width)
    size = CAPTION if len(lines) == 1 else SMALLER
    for k, line in enumerate(lines):
        y = middle + ui.px(1.3 * size * (k - 0.5 * (len(lines) - 1)))
        ui.write(line, (ui.px(24), y), size, None, True, up=0.5, room=width - ui.px(ASIDE))
    count = f"{app.book.place + 1} / {len(app.book.lesson.scenes)}"
    ui.write(count, (width - ui.px(24), middle), 18, ui.look.muted, across=1.0, up=0.5)


def draw_legend(app: App) -> None:
    """While the lesson is shown: which line is which take, over the reading."""
    ui, takes = app.ui, app.editor.scenario.takes
    if not app.book.showing or app.book.scene is None or len(places(app)) < 2:
        return
    x, y = ui.px(24), app.parts.reading.rect.y - ui.px(13)
    for i in places(app):
        if i < len(takes):
            sample(ui, pygame.Rect(x, y - ui.px(8), ui.px(56), ui.px(16)), i)
            x = ui.write(takes[i].name, (x + ui.px(66), y), 16, up=0.5).right + ui.px(28)
