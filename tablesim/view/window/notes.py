"""What is written over the table for a while: what a change did, what happens, messages, what a control means."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import pygame

from tablesim.scene.words import TERMS, events_words

from ..controls.fields import TextField
from ..controls.widgets import width_of

if TYPE_CHECKING:
    from .app import App

SIZE = 12.5  # letters, in points
STEP = 1.44  # from line to line, in letters
MOST_LINES = 3


class Note(NamedTuple):
    """Words, whether they warn, and whether they are as large as the reading."""

    text: str
    warns: bool = False
    large: bool = False


def notes_of(app: App) -> list[Note]:
    """What there is to say, the lowest first."""
    notes = []
    if app.editor.former is not None and not app.editor.shown.growth and app.table.player is None:
        changed = app.parts.change_text()
        if changed:
            notes.append(Note(changed, large=True))
        if not changed or app.table.rect.h > app.ui.px(500):
            notes.append(Note("Faint: the shot before your change. Esc lets it go."))
    if app.table.player is not None and app.table.player.happening():
        notes.append(Note(events_words(app.table.player.happening())))
    if app.worker.engine == "preparing":
        notes.append(Note("The fast engine is being prepared, once; until then answers take a moment longer."))
    if app.hand_out.job is not None:
        notes.append(Note(app.hand_out.job.words))
    if app.message:
        notes.append(Note(app.message, app.message_warns))
    return notes


def draw(app: App) -> None:
    """The notes in boxes, one over the other, on the table's lower edge."""
    ui, table = app.ui, app.table.rect
    y, room = table.bottom - ui.px(8), max(table.w - ui.px(60), 80)
    for note in notes_of(app):
        size = _on_one_line(app, note.text, room) if note.large else SIZE
        words = ui.wrap(note.text, room, size)[:MOST_LINES]
        wide = max((width_of(ui.say(line), ui.px(size)) for line in words), default=0)
        box = pygame.Rect(0, 0, wide + ui.px(24), ui.px(STEP * size * len(words) + 8))
        box.midbottom = (table.centerx, y)
        ui.panel(box, app.look.panel, app.look.warning if note.warns else app.look.edge)
        for k, line in enumerate(words):
            ui.write(line, (box.centerx, box.y + ui.px(4 + STEP * size * k)), size, app.look.text, across=0.5)
        if not table.contains(box):
            ui.forget()
        y = box.y - ui.px(6)


def _on_one_line(app: App, text: str, room: int) -> float:
    """Letters as large as the reading, or a little smaller if the words then stand on one line."""
    size = largest = app.parts.reading.size
    while size > 0.8 * largest and len(app.ui.wrap(text, room, size)) > 1:
        size -= 0.5
    return size


def draw_definition(app: App) -> None:
    """What the control under the mouse means."""
    ui, widget = app.ui, app.ui.hover
    if widget is None or (isinstance(ui.focus, TextField) and ui.focus.text is not None):
        return
    if app.overlay is not None and widget not in app.overlay.widgets:
        return
    text = widget.note or TERMS.get(widget.term, "")
    if not text:
        return
    lines = ui.wrap(text, ui.px(270), 12)
    box = pygame.Rect(0, 0, ui.px(290), ui.px(17 * len(lines) + 14))
    box.topleft = (ui.mouse[0] + ui.px(14), ui.mouse[1] + ui.px(18))
    box.clamp_ip(app.surface.get_rect())
    if box.collidepoint(ui.mouse):
        box.bottom = ui.mouse[1] - ui.px(10)
    ui.panel(box, app.look.raised, app.look.accent)
    ui.forget()
    for k, line in enumerate(lines):
        ui.write(line, (box.x + ui.px(10), box.y + ui.px(7 + 17 * k)), 12)
