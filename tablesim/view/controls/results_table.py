"""The takes in a table: which are shown, each one's line, how it is played and what becomes of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import pygame

from tablesim.scene.result_words import COLUMNS, alike

from .dials import sample
from .widgets import Pos, Ui, Widget, letters_width

Rows = tuple[tuple[str, ...], ...]
BOX, SAMPLE = 24, 38  # points at the left of a row, for the box and for the line
HEAD = 0.88  # letters of the headings, of those of the rows
HIGH, LEAST_ROW = 1.42, 20  # height of a row in its letters, and in points at least
WIDEST = 15.0  # of a column's cells, in its letters
SPARE = 2.0  # the most that a column gets beyond its words, in its letters


def kept_columns(wide: Sequence[int], rows: Rows, room: int) -> list[int]:
    """Places of the columns that fit in ``room`` pixels, each as wide as said; the first stays in any case.

    Those in which all takes are alike go first, then by their turn.
    """
    same = alike(rows)
    kept = [k for k in range(len(wide)) if any(row[k] for row in rows)]
    going = sorted(kept, key=lambda k: (not same[k], COLUMNS[k].goes))
    for k in going:
        if sum(wide[j] for j in kept) <= room or k == 0:
            break
        kept.remove(k)
    return kept


@lru_cache(maxsize=64)
def widths_wished(rows: Rows, letters: int, head: int) -> tuple[int, ...]:
    """Width [pixels] that each column asks for, its gap included; words and headings of such heights."""
    wide = []
    for k, column in enumerate(COLUMNS):
        longest = max((letters_width(row[k], letters, k == 0) for row in rows), default=0)
        wide.append(gap_of(letters) + max(letters_width(column.heading, head), min(longest, round(WIDEST * letters))))
    return tuple(wide)


def gap_of(letters: int) -> int:
    """Pixels between columns."""
    return round(0.9 * letters)


@lru_cache(maxsize=64)
def column_places(rows: Rows, room: int, letters: int, head: int) -> tuple[tuple[int, int, int], ...]:
    """The columns in sight: place among all, left edge and width [pixels]; words and headings of such heights."""
    gap, wide = gap_of(letters), widths_wished(rows, letters, head)
    kept = kept_columns(wide, rows, room) if rows else []
    spare = min(max(room - sum(wide[k] for k in kept), 0) // max(len(kept), 1), round(SPARE * letters))
    found, x = list[tuple[int, int, int]](), 0
    for k in kept:
        found.append((k, x, min(wide[k] + spare, room - x) - gap))
        x += wide[k] + spare
    return tuple(found)


class ResultsTable(Widget):
    """The takes as rows: a box says whether one is shown, a press elsewhere chooses it."""

    def __init__(
        self, key: str, rows: Callable[[], Rows], chosen: Callable[[], int], shown: Callable[[], tuple[int, ...]],
        choose: Callable[[int], object], toggle: Callable[[int], object],
    ) -> None:  # fmt: skip
        super().__init__(key, "take")
        self.rows, self.chosen, self.shown, self.choose, self.toggle = rows, chosen, shown, choose, toggle
        self.letters = 12.5  # points
        self.first, self._chosen = 0, -1

    def row_height(self, ui: Ui) -> int:
        """Height [pixels] of a row, and of the headings."""
        return max(1, ui.px(max(HIGH * self.letters, LEAST_ROW)))

    def fits(self, ui: Ui) -> int:
        """How many rows there is room for."""
        return max(1, self.rect.h // self.row_height(ui) - 1)

    def wished(self, ui: Ui, most: int) -> int:
        """Width [pixels] in which it shows all that it would show in ``most``."""
        rows, letters, heading = self.rows(), ui.px(self.letters), ui.tall(HEAD * self.letters)
        aside = ui.px(BOX + SAMPLE) + 2 * ui.px(8)
        wide = widths_wished(rows, letters, heading)
        kept = kept_columns(wide, rows, most - aside) if rows else range(len(wide))
        return min(most, aside + sum(wide[k] for k in kept))

    def draw(self, ui: Ui) -> None:
        """The headings, and the rows that fit; the take that has just been chosen is among them."""
        rows, chosen, fits = self.rows(), self.chosen(), self.fits(ui)
        self.first = max(0, min(self.first, len(rows) - fits))
        if chosen != self._chosen:
            self._chosen = chosen
            self.first = max(min(self.first, chosen), chosen - fits + 1, 0)
        left = self.rect.x + ui.px(BOX + SAMPLE) + ui.px(8)
        room, heading = self.rect.right - left - ui.px(8), ui.tall(HEAD * self.letters)
        places = column_places(rows, room, ui.px(self.letters), heading)
        self._explain(ui, rows, places, left)
        high = self.row_height(ui)
        for k, x, wide in places:
            at = (left + x, self.rect.y + high // 2)
            ui.write(COLUMNS[k].heading, at, HEAD * self.letters, ui.look.muted, up=0.5, room=max(wide, 1))
        for i in range(self.first, min(self.first + fits, len(rows))):
            row = pygame.Rect(self.rect.x, self.rect.y + high * (1 + i - self.first), self.rect.w - ui.px(6), high - 1)
            self._row(ui, row, i, [(rows[i][k], left + x, wide) for k, x, wide in places])
        self._bar(ui, len(rows), fits, high)
        self.ring(ui)

    def _row(self, ui: Ui, row: pygame.Rect, i: int, cells: list[tuple[str, int, int]]) -> None:
        look, chosen = ui.look, i == self.chosen()
        if chosen:
            ui.panel(row, look.raised, look.edge, 4)
        square = pygame.Rect(row.x + ui.px(6), row.centery - ui.px(6), ui.px(12), ui.px(12))
        ui.panel(square, look.panel, look.edge if chosen else look.muted, 3)
        if i in self.shown() or chosen:
            ui.rect(look.text, square.inflate(-ui.px(6), -ui.px(6)))
        sample(ui, pygame.Rect(row.x + ui.px(BOX), row.y, ui.px(SAMPLE), row.h), i)
        for k, (words, x, wide) in enumerate(cells):
            ui.write(words, (x, row.centery), self.letters, look.text, chosen and k == 0, up=0.5, room=max(wide, 1))

    def _bar(self, ui: Ui, many: int, fits: int, high: int) -> None:
        """Where these rows are among all, if there are more."""
        if many > fits:
            whole = fits * high
            part = pygame.Rect(self.rect.right - ui.px(3), 0, ui.px(3), max(round(whole * fits / many), ui.px(8)))
            part.y = self.rect.y + high + round((whole - part.h) * self.first / (many - fits))
            ui.rect(ui.look.edge, part, ui.px(2))

    def _explain(self, ui: Ui, rows: Rows, places: tuple[tuple[int, int, int], ...], left: int) -> None:
        """What a rest of the mouse tells: a heading's meaning, or the whole of a row."""
        i = self.at(ui.mouse[1], ui)
        if i is not None and i < len(rows):
            told = (f"{c.heading}: {words}" for c, words in zip(COLUMNS[1:], rows[i][1:], strict=True) if words)
            self.note = f"{rows[i][0]}. " + "; ".join(told)
            return
        under = [k for k, x, wide in places if left + x <= ui.mouse[0] < left + x + wide]
        self.note = COLUMNS[under[0]].says if under else "What becomes of the takes; Return shows or hides one."

    def at(self, y: int, ui: Ui) -> int | None:
        """Place of the take in the row at that height; None on the headings."""
        row = (y - self.rect.y) // self.row_height(ui) - 1
        return self.first + row if row >= 0 else None

    def press(self, pos: Pos, ui: Ui) -> None:
        """The box shows or hides, the rest chooses."""
        i = self.at(pos[1], ui)
        if i is not None and i < min(len(self.rows()), self.first + self.fits(ui)):
            (self.toggle if pos[0] < self.rect.x + ui.px(BOX) else self.choose)(i)

    def wheel(self, steps: float) -> bool:
        """Scroll."""
        self.first -= 1 if steps > 0 else -1
        return True

    def _go(self, by: int) -> bool:
        self.choose(min(max(self.chosen() + by, 0), max(len(self.rows()) - 1, 0)))
        return True

    def pressed(self, event: pygame.Event) -> bool:
        """Up and down choose, Return shows or hides; Space is left to the playing."""
        if event.key in (pygame.K_UP, pygame.K_DOWN):
            return self._go(-1 if event.key == pygame.K_UP else 1)
        if event.key in (pygame.K_RETURN, pygame.K_KP_ENTER):
            self.toggle(self.chosen())
            return True
        return False
