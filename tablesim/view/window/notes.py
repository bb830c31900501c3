"""What is written over the table for a while: what a change did, what happens, messages, what a control means."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import pygame

from tablesim.scene.words import TERMS

from ..controls.fields import TextField
from ..controls.widgets import Ui, letters_width
from ..pages.overlays import Overlay

SIZE = 12.5  # letters, in points
STEP = 1.44  # from line to line, in letters
MOST_LINES = 3


class Note(NamedTuple):
    """Words, whether they warn, and whether they are as large as the reading."""

    text: str
    warns: bool = False
    large: bool = False


def draw(ui: Ui, table: pygame.Rect, notes: Sequence[Note], largest: float) -> None:
    """The notes in boxes, one over the other, on the table's lower edge; large ones in letters of so many points."""
    y, room = table.bottom - ui.px(8), max(table.w - ui.px(60), 80)
    for note in notes:
        size = _on_one_line(ui, note.text, room, largest) if note.large else SIZE
        words = ui.wrap(note.text, room, size)[:MOST_LINES]
        wide = max((letters_width(ui.say(line), ui.px(size)) for line in words), default=0)
        box = pygame.Rect(0, 0, wide + ui.px(24), ui.px(STEP * size * len(words) + 8))
        box.midbottom = (table.centerx, y)
        ui.panel(box, ui.look.panel, ui.look.warning if note.warns else ui.look.edge)
        for k, line in enumerate(words):
            ui.write(line, (box.centerx, box.y + ui.px(4 + STEP * size * k)), size, ui.look.text, across=0.5)
        if not table.contains(box):
            ui.forget()
        y = box.y - ui.px(6)


def _on_one_line(ui: Ui, text: str, room: int, largest: float) -> float:
    """Letters as large as may be, or a little smaller if the words then stand on one line."""
    size = largest
    while size > 0.8 * largest and len(ui.wrap(text, room, size)) > 1:
        size -= 0.5
    return size


def draw_definition(ui: Ui, overlay: Overlay | None) -> None:
    """What the control under the mouse means; one below a page that lies over the window says nothing."""
    widget = ui.hover
    if widget is None or (isinstance(ui.focus, TextField) and ui.focus.text is not None):
        return
    if overlay is not None and widget not in overlay.widgets:
        return
    text = widget.note or TERMS.get(widget.term, "")
    if not text:
        return
    lines = ui.wrap(text, ui.px(270), 12)
    box = pygame.Rect(0, 0, ui.px(290), ui.px(17 * len(lines) + 14))
    screen = ui.surface.get_rect()
    box.midtop = (widget.rect.centerx, widget.rect.bottom + ui.px(6))
    box.clamp_ip(screen)
    if box.colliderect(widget.rect):  # no room below it
        box.bottom = widget.rect.top - ui.px(6)
    ui.panel(box, ui.look.raised, ui.look.accent)
    ui.forget()
    for k, line in enumerate(lines):
        ui.write(line, (box.x + ui.px(10), box.y + ui.px(7 + 17 * k)), 12)
