"""A text in several lines: it wraps, up and down go from line to line, Return reports it."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from .fields import TextField
from .widgets import BODY, LINE, Pos, Ui, letters, letters_width

EDGE = 6  # points from the box to the words


def line_spans(text: str, room: int, width: Callable[[str], int]) -> list[tuple[int, int]]:
    """(first, end) of the letters of each line no wider than ``room`` pixels, together all of them.

    A line ends behind a space, or within a word that is too long; one without a letter is one of its own.
    """
    spans, first = list[tuple[int, int]](), 0
    while first < len(text):
        end = first + 1
        while end < len(text) and width(text[first : end + 1].rstrip()) <= room:
            end += 1
        space = text.rfind(" ", first, end) + 1
        if end < len(text) and text[end] != " " and space > first:
            end = space
        spans.append((first, end))
        first = end
    return spans or [(0, 0)]


class LinesField(TextField):
    """A text field of several lines, always as high; the line with the caret is in sight."""

    def __init__(
        self, key: str, value: Callable[[], str], change: Callable[[str], object], hint: str, lines: int, most: int
    ) -> None:
        super().__init__(key, value, change, hint, most=most)
        self.lines = lines
        self._spans = [(0, 0)]  # as drawn
        self._first = 0  # line at the top
        self._pixels = 0

    def height(self, ui: Ui) -> int:
        """So many lines of letters."""
        return ui.px(LINE * BODY) * self.lines + 2 * ui.px(EDGE)

    def _inner(self, ui: Ui) -> pygame.Rect:
        return self.rect.inflate(-2 * ui.px(EDGE), -2 * ui.px(EDGE))

    def _line_of(self, caret: int) -> int:
        return max(k for k, (first, _) in enumerate(self._spans) if first <= caret)

    def draw(self, ui: Ui) -> None:
        """A box with the lines that fit, the caret in view while editing."""
        editing, look, inner, step = self.text is not None, ui.look, self._inner(ui), ui.px(LINE * BODY)
        ui.panel(self.rect, look.panel if editing else look.raised, look.accent if editing else look.edge)
        words = self.shown() if editing else ui.say(self.shown())
        if not words and not editing:
            ui.write(self.hint, inner.topleft, colour=look.muted, room=inner.w)
        self._pixels = ui.tall(BODY)
        self._spans = line_spans(words, inner.w - 2, lambda part: letters_width(part, self._pixels))
        at = self._line_of(self.caret) if editing else 0
        self._first = max(min(self._first, at), at - self.lines + 1, 0) if editing else 0
        with ui.inside(self.rect.inflate(-ui.px(EDGE), -ui.px(EDGE) // 2)):
            for k, (first, end) in enumerate(self._spans[self._first : self._first + self.lines]):
                picture = letters(words[first:end], self._pixels, look.text, False)
                place = pygame.Rect(inner.x, inner.y + k * step, picture.get_width(), step)
                if self.whole and words:
                    ui.rect(look.edge, place)
                ui.picture(picture, (place.x, place.centery - picture.get_height() // 2))
            if editing:
                x = inner.x + letters_width(words[self._spans[at][0] : self.caret], self._pixels)
                y = inner.y + (at - self._first) * step
                ui.line(look.text, (x, y + ui.px(2)), (x, y + step - ui.px(2)))
        self.ring(ui)

    def _nearest(self, line: int, x: int) -> int:
        """The caret in a line that is nearest to so many pixels from its beginning."""
        assert self.text is not None
        first, end = self._spans[line]
        last = end if line == len(self._spans) - 1 else max(first, end - 1)
        text = self.text
        return min(range(first, last + 1), key=lambda k: abs(letters_width(text[first:k], self._pixels) - x))

    def press(self, pos: Pos, ui: Ui) -> None:
        """Start editing; once editing, put the caret there."""
        if self.text is None:
            self.begin()
            return
        inner = self._inner(ui)
        line = self._first + (pos[1] - inner.y) // ui.px(LINE * BODY)
        self.whole = False
        self.caret = self._nearest(max(0, min(line, len(self._spans) - 1)), pos[0] - inner.x)

    def _edit(self, key: int) -> None:
        """Up and down go from line to line, the rest as in any text."""
        assert self.text is not None
        if key not in (pygame.K_UP, pygame.K_DOWN):
            super()._edit(key)
            return
        line = self._line_of(self.caret)
        x = letters_width(self.text[self._spans[line][0] : self.caret], self._pixels)
        to = line + (1 if key == pygame.K_DOWN else -1)
        self.whole = False
        if 0 <= to < len(self._spans):
            self.caret = self._nearest(to, x)
        else:
            self.caret = 0 if to < 0 else len(self.text)
