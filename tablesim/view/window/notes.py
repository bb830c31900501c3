"""What is written for a while: one line below the table, and what a control means beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import pygame

from tablesim.scene.staged import staged_words
from tablesim.scene.words import TERMS, events_words

from ..controls.fields import TextField
from ..controls.widgets import BODY, SMALL, Ui, letters_width
from ..pages.overlays import Overlay
from .desk import Desk

MOST_LINES = 4  # of words that do not fit in the line; it then grows downwards
FADE_S, FADES = 0.5, 5  # the last of a message's time, and in how many steps it goes
SHORTEST_S, LONGEST_S, LETTER_S = 3.0, 14.0, 0.06  # how long a message stays: to see it, and to read its letters
FAINT = "Faint: the shot before. Esc lets it go."
PREPARING = "The fast engine is being prepared, once; until then answers take a moment longer."
LINE = 1.25  # from line to line, in letters
EDGE = 14  # points left and right of the words


class Note(NamedTuple):
    """Words, whether they warn, what is added where there is room, and how much is left of them (0 to 1)."""

    text: str
    warns: bool = False
    aside: str = ""
    left: float = 1.0


def lasting_s(text: str) -> float:
    """How long words stay to be read [s]."""
    return min(LONGEST_S, max(SHORTEST_S, SHORTEST_S / 2 + LETTER_S * len(text)))


class Messages:
    """What the window has to tell: the latest, but a warning stays its time, and what came meanwhile follows it."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self.text, self.warns = "", False
        self._until = 0.0
        self._next = ""

    def tell(self, text: str, warns: bool = False) -> None:
        """Say it now, or after the warning that stands."""
        if self.text and self.warns and not warns and self._clock() < self._until:
            self._next = text
        else:
            self.text, self.warns, self._until = text, warns, self._clock() + lasting_s(text)

    def turn(self) -> bool:
        """Time goes on; True if what is seen is another."""
        if not self.text:
            return False
        left = self._until - self._clock()
        if left <= 0.0:
            self.text, self._next, said = "", "", self._next
            if said:
                self.tell(said)
            return True
        return left < FADE_S

    @property
    def note(self) -> Note:
        """The message as it stands, fainter towards its end."""
        left = (self._until - self._clock()) / FADE_S
        return Note(self.text, self.warns, left=min(1.0, max(0.0, round(FADES * left) / FADES)))


def blended(one: str, other: str, share: float) -> str:
    """The colour that is ``share`` (0 to 1) of the way to another one."""
    colour = pygame.Color(one).lerp(pygame.Color(other), share)
    return f"#{colour.r:02x}{colour.g:02x}{colour.b:02x}"


def to_say(desk: Desk, message: Note, changed: Callable[[], str], making: str, preparing: bool) -> list[Note]:
    """What there is to say, the most important first: it has the line, until it has been said.

    ``changed`` words what the latest change does, ``making`` what is being made, if anything.
    """
    editor, player = desk.editor, desk.table.player
    if desk.book.showing:
        return [message] if message.text and message.warns else []
    said = [message] if message.warns else []
    if desk.table.holding_ball:
        said.append(Note(staged_words(editor.scenario, desk.settings.unit)))
    said += [] if message.warns else [message]
    if player is not None and player.happening():
        said.append(Note(events_words(player.happening())))
    said.append(Note(making))
    if editor.former is not None and not editor.shown.growth and player is None:
        said += [Note(changed(), aside=FAINT), Note(FAINT)]
    if preparing:
        said.append(Note(PREPARING))
    return [note for note in said if note.text]


def draw(ui: Ui, line: pygame.Rect, notes: Sequence[Note]) -> None:
    """The most important note, the first, in its line; what does not fit in it goes on below."""
    note = notes[0] if notes else Note("")
    size, words = _set(ui, note.text, line.w - 2 * ui.px(EDGE))
    high = ui.px(LINE * size)
    with ui.part("line", line):
        ui.rect(ui.look.room, line)
        if high * len(words) <= line.h:
            _write(ui, note, words, size, line)
    if high * len(words) > line.h:
        place = pygame.Rect(line.x, line.y, line.w, high * len(words) + ui.px(8))
        place.bottom = min(place.bottom, ui.surface.get_height())
        ui.rect(ui.look.room, place)
        _write(ui, note, words, size, place)
        ui.forget()


def _set(ui: Ui, text: str, room: int) -> tuple[float, list[str]]:
    """Size and lines of the words: on one line if they fit, even if a little smaller."""
    for size in (BODY, SMALL):
        words = ui.wrap(text, max(room, 40), size)
        if len(words) <= 1:
            break
    if len(words) > MOST_LINES:
        words = [*words[: MOST_LINES - 1], " ".join(words[MOST_LINES - 1 :])]
    return size, words


def _write(ui: Ui, note: Note, words: list[str], size: float, place: pygame.Rect) -> None:
    """Words in the middle of their place; a warning in its colour with a mark, the aside behind the words."""
    look, gap = ui.look, ui.px(EDGE)
    colour = blended(look.room, look.warning if note.warns else look.text, note.left)
    step, room = ui.px(LINE * size), place.w - 2 * gap
    wide = max((letters_width(ui.say(line), ui.tall(size)) for line in words), default=0)
    more = letters_width(ui.say(note.aside), ui.tall(SMALL)) + gap if note.aside else 0
    more = more if len(words) == 1 and wide + more <= room else 0
    left, top = place.centerx - (min(wide, room) + more) // 2, place.centery - step * len(words) // 2
    if note.warns:
        ui.rect(colour, pygame.Rect(max(left - ui.px(9), place.x), top + ui.px(2), ui.px(3), step * len(words)))
    for k, line in enumerate(words):
        ui.write(line, (left, top + step * k + ui.px(2)), size, colour, room=room)
    if more:
        ui.write(note.aside, (left + wide + gap, place.centery), SMALL, look.muted, up=0.5)


def draw_definition(ui: Ui, overlay: Overlay | None) -> None:
    """What the control under the mouse means; one below a page that lies over the window says nothing."""
    widget = ui.hover
    if widget is None or widget.over or (isinstance(ui.focus, TextField) and ui.focus.text is not None):
        return
    if overlay is not None and widget not in overlay.widgets:
        return
    text = widget.note or TERMS.get(widget.term, "")
    if not text:
        return
    step, lines = ui.px(LINE * SMALL), ui.wrap(text, ui.px(270), SMALL)
    box = pygame.Rect(0, 0, ui.px(290), step * len(lines) + ui.px(14))
    screen = ui.surface.get_rect()
    box.midtop = (widget.rect.centerx, widget.rect.bottom + ui.px(6))
    box.clamp_ip(screen)
    if box.colliderect(widget.rect):  # no room below it
        box.bottom = widget.rect.top - ui.px(6)
    ui.panel(box, ui.look.raised, ui.look.accent)
    ui.forget()
    for k, line in enumerate(lines):
        ui.write(line, (box.x + ui.px(10), box.y + ui.px(7) + step * k), SMALL)
