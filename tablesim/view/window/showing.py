"""The lesson shown full screen: the caption, the table and the reading, for the back of the room."""

from __future__ import annotations

import pygame

from ..controls.dials import sample
from ..controls.widgets import BODY, LARGE, TITLE, Label, Ui
from .desk import Desk

LEADING = 1.3  # from line to line of a caption, in letters
MOST_LINES = 3  # of a caption
ASIDE = 90  # points of the caption's line that are left to the scene's number


def caption_in_lines(ui: Ui, caption: str, width: int) -> tuple[float, list[str]]:
    """Letters [points] and lines of a caption: large on one line, else smaller on up to three; the rest is cut."""
    room = width - ui.px(ASIDE)
    for size, most in ((TITLE, 1), (LARGE, MOST_LINES), (BODY, MOST_LINES)):
        lines = ui.wrap(caption, room, size, True)
        if len(lines) <= most:
            break
    return size, [*lines[: MOST_LINES - 1], " ".join(lines[MOST_LINES - 1 :])] if len(lines) > MOST_LINES else lines


def places(desk: Desk) -> list[int]:
    """Places of the takes in sight."""
    return sorted({desk.editor.chosen, *desk.editor.shown.takes})


def layout(desk: Desk, reading: Label, w: int, h: int) -> int:
    """Find table, playing and reading their places; the caption's is alike for all scenes, so that no table jumps.

    Returns where the table begins [pixels from above].
    """
    ui = desk.ui
    several = len(places(desk)) > 1
    captions = (caption_in_lines(ui, scene.caption, w) for scene in desk.book.lesson.scenes)
    high = max((size * max(len(lines), 1) for size, lines in captions), default=TITLE)
    top, bottom = ui.px(LEADING * high + 24), ui.px(92 if several else 68)
    table = pygame.Rect(0, top, w, max(h - top - bottom, 16))
    desk.table.place(table, desk.look, ui.scale)
    reading.rect = pygame.Rect(ui.px(24), h - bottom + ui.px(8), w - ui.px(48), bottom - ui.px(12))
    if several:
        reading.rect.y += ui.px(26)
        reading.rect.h -= ui.px(26)
    reading.size, reading.lines = LARGE, 2
    if desk.play_bar is not None:  # in place of the reading: the table stays where it is
        room = pygame.Rect(0, reading.rect.y - ui.px(2), w, h - reading.rect.y + ui.px(2))
        desk.play_bar.place(room, ui)
        reading.rect.w = 0
    return top


def draw_caption(desk: Desk) -> None:
    """The scene's caption and its number, while the lesson is shown."""
    ui, width, middle = desk.ui, desk.surface.get_width(), desk.table.rect.y // 2
    if not desk.book.showing or desk.book.scene is None:
        return
    size, lines = caption_in_lines(ui, desk.book.scene.caption, width)
    for k, line in enumerate(lines):
        y = middle + ui.px(LEADING * size * (k - 0.5 * (len(lines) - 1)))
        ui.write(line, (ui.px(24), y), size, None, True, up=0.5, room=width - ui.px(ASIDE))
    count = f"{desk.book.place + 1} / {len(desk.book.lesson.scenes)}"
    ui.write(count, (width - ui.px(24), middle), BODY, ui.look.muted, across=1.0, up=0.5)


def draw_legend(desk: Desk, reading: Label) -> None:
    """While the lesson is shown: which line is which take, over the reading."""
    ui, takes = desk.ui, desk.editor.scenario.takes
    if not desk.book.showing or desk.book.scene is None or len(places(desk)) < 2:
        return
    x, y = ui.px(24), reading.rect.y - ui.px(13)
    for i in places(desk):
        if i < len(takes):
            sample(ui, pygame.Rect(x, y - ui.px(8), ui.px(56), ui.px(16)), i)
            x = ui.write(takes[i].name, (x + ui.px(66), y), BODY, up=0.5).right + ui.px(28)
