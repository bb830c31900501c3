"""How values are offered: a few side by side, more in a list over the window, picked by mouse, wheel, keys, letters."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pygame

from .keys import CTRL
from .widgets import BODY, NOWHERE, Pos, Ui, letters_width, scroll_bar

MOST_ASIDE = 3  # values side by side
ROW = 28  # points
MARGIN = 4  # points round the rows, and between the list and its control
TAKES = (pygame.K_RETURN, pygame.K_KP_ENTER, pygame.K_SPACE)


def place_aside(area: pygame.Rect, k: int, count: int) -> pygame.Rect:
    """The place of one of so many values side by side."""
    left, right = area.x + k * area.w // count, area.x + (k + 1) * area.w // count
    return pygame.Rect(left, area.y, right - left, area.h)


def fit_aside(ui: Ui, area: pygame.Rect, words: Sequence[str]) -> bool:
    """True if there are few values, and their words fit in their places."""
    if not 2 <= len(words) <= MOST_ASIDE:
        return False
    room = area.w // len(words) - ui.px(8)
    return all(letters_width(ui.say(one), ui.tall(BODY), True) <= room for one in words)


def draw_aside(ui: Ui, area: pygame.Rect, words: Sequence[str], at: int) -> None:
    """Each value in its place; the chosen one's is framed."""
    for k, one in enumerate(words):
        place, colour = place_aside(area, k, len(words)), ui.look.text if k == at else ui.look.muted
        if k == at:
            ui.panel(place.inflate(-ui.px(4), -ui.px(4)), ui.look.panel, ui.look.accent, 5)
        ui.write(one, place.center, BODY, colour, k == at, 0.5, 0.5)


def list_place(control: pygame.Rect, rows: int, high: int, margin: int, window: pygame.Rect) -> pygame.Rect:
    """Where a list of rows ``high`` pixels each lies: below its control, or above, where more rows fit; in the window.

    It has as many whole rows as there is room for, one at least.
    """
    below, above = window.bottom - control.bottom - 3 * margin, control.top - window.top - 3 * margin
    wanted = rows * high
    under = below >= wanted or below >= above
    fits = max(1, min(rows, (below if under else above) // high))
    place = pygame.Rect(control.x, 0, control.w, fits * high + 2 * margin)
    if under:
        place.top = control.bottom + margin
    else:
        place.bottom = control.top - margin
    return place.clamp(window)


def found_by(words: Sequence[str], letters: str, at: int) -> int | None:
    """The place of the first words, from ``at`` on and round again, that begin with these letters; None if none do."""
    for k in range(len(words)):
        place = (at + k) % len(words)
        if words[place].lower().startswith(letters.lower()):
            return place
    return None


class DropList:
    """The open list of a control: the row marked, and what is picked."""

    def __init__(self, words: Sequence[str], at: int, pick: Callable[[int], object]) -> None:
        self.words, self.at, self.pick = words, at, pick
        self.first = 0
        self.place = NOWHERE
        self._letters = ""  # typed so far
        self._mouse: Pos | None = None  # where it was last seen
        self._high, self._margin = 1, 0

    def draw(self, ui: Ui, control: pygame.Rect) -> None:
        """Every row that fits, the marked one filled."""
        self._high, self._margin = ui.px(ROW), ui.px(MARGIN)
        margin = self._margin
        window = ui.surface.get_rect().inflate(-2 * margin, -2 * margin)
        self.place = list_place(control, len(self.words), self._high, margin, window)
        inner = self.place.inflate(-2 * margin, -2 * margin)
        fits = max(1, inner.h // self._high)
        self._follow(ui)
        self.first = max(min(self.first, self.at, len(self.words) - fits), self.at - fits + 1, 0)
        ui.panel(self.place, ui.look.panel, ui.look.accent)
        for k, words in enumerate(self.words[self.first : self.first + fits]):
            row = pygame.Rect(inner.x, inner.y + k * self._high, inner.w, self._high)
            marked = self.first + k == self.at
            if marked:
                ui.panel(row, ui.look.accent, None, 4)
            colour = ui.look.panel if marked else ui.look.text
            ui.write(words, (row.x + ui.px(8), row.centery), colour=colour, bold=marked, up=0.5, room=row.w - ui.px(22))
        scroll_bar(ui, self.place.inflate(0, -2 * margin), self.first, fits, len(self.words))

    def _follow(self, ui: Ui) -> None:
        """The mouse marks the row on which it moves."""
        if self._mouse is not None and ui.mouse != self._mouse:
            self.at = self.row_at(ui.mouse, self.at)
        self._mouse = ui.mouse

    def row_at(self, pos: Pos, otherwise: int) -> int:
        """The row under a pixel."""
        at = self.first + (pos[1] - self.place.y - self._margin) // self._high
        return at if self.place.collidepoint(pos) and 0 <= at < len(self.words) else otherwise

    def step(self, by: int) -> None:
        """Mark a row further on, as far as there are any."""
        self.at, self._letters = max(0, min(self.at + by, len(self.words) - 1)), ""

    def pressed(self, event: pygame.Event) -> bool:
        """Arrows and page keys mark, Return picks; commands and Tab are not the list's."""
        moves = {
            pygame.K_UP: -1, pygame.K_LEFT: -1, pygame.K_DOWN: 1, pygame.K_RIGHT: 1, pygame.K_PAGEUP: -8,
            pygame.K_PAGEDOWN: 8, pygame.K_HOME: -len(self.words), pygame.K_END: len(self.words),
        }  # fmt: skip
        if event.key in moves:
            self.step(moves[event.key])
        elif event.key in TAKES and not (event.key == pygame.K_SPACE and self._letters):
            self.pick(self.at)
        else:
            return not (event.mod & CTRL or event.key == pygame.K_TAB or pygame.K_F1 <= event.key <= pygame.K_F12)
        return True

    def typed(self, text: str) -> None:
        """Letters mark the next words that begin so; where none do, the last letter begins anew."""
        if text == " " and not self._letters:
            return  # it has picked
        for letters in (self._letters + text, text):
            place = found_by(self.words, letters, self.at if len(letters) > 1 else self.at + 1)
            if place is not None:
                self.at, self._letters = place, letters
                return
