"""Controls that hold a value: one of several, a text."""

from __future__ import annotations

import contextlib
from collections.abc import Callable

import pygame

from tablesim.errors import TablesimError

from .clipboard import copy_text, pasted_text
from .keys import CTRL
from .offers import DropList, draw_aside, fit_aside, place_aside
from .widgets import BODY, NOWHERE, Pos, Ui, Widget, cut, letters, letters_width

LABEL_SHARE = 0.34  # of a control's width
SMALLEST = 9.5  # points of a text in a narrow field
LETTERS_BEFORE = 300  # at most before the caret, of those that are drawn
MOST_TYPED = 1000  # letters in a field, where no model says fewer


class Choice(Widget):
    """One of some values: up to three side by side, more in a list that opens; arrow keys and the wheel step."""

    def __init__(
        self, key: str, label: str, values: Callable[[], list[str]], value: Callable[[], str],
        change: Callable[[str], object], term: str = "", shown: Callable[[str], str] = str,
    ) -> None:  # fmt: skip
        super().__init__(key, term)
        self.label, self.values, self.value, self.change, self.shown = label, values, value, change, shown
        self.list: DropList | None = None  # while it is open

    def draw(self, ui: Ui) -> None:
        """Label on the left; on the right the values, or the value with a mark that there is a list."""
        room = max(self._area().x - self.rect.x - ui.px(6), 0)
        ui.write(self.label, (self.rect.x, self.rect.centery), BODY, ui.look.muted, up=0.5, room=room)
        area, values = self._area(), self.values()
        ui.panel(area, ui.look.raised, ui.look.accent if self.list is not None else ui.look.edge)
        if self._fits_aside(ui, values):
            draw_aside(ui, area, [self.shown(v) for v in values], values.index(self.value()))
        else:
            r, x = ui.px(4), area.right - area.h // 2
            ui.write(self.shown(self.value()), (area.x + ui.px(10), area.centery), up=0.5, room=area.w - area.h)
            y = area.centery - r // 2
            ui.polygon(ui.look.muted, [(x - r, y), (x + r, y), (x, y + 2 * r)])
        self.ring(ui)

    def _fits_aside(self, ui: Ui, values: list[str]) -> bool:
        """True if the value is one of few, and their words fit side by side."""
        return self.value() in values and fit_aside(ui, self._area(), [self.shown(v) for v in values])

    def _area(self) -> pygame.Rect:
        left = self.rect.x + (round(LABEL_SHARE * self.rect.w) if self.label else 0)
        return pygame.Rect(left, self.rect.y, self.rect.right - left, self.rect.h)

    def _step(self, by: int) -> None:
        if values := self.values():
            self.change(values[(self._at(values) + by) % len(values)])

    def _at(self, values: list[str]) -> int:
        return values.index(self.value()) if self.value() in values else 0

    def press(self, pos: Pos, ui: Ui) -> None:
        """Take the value under the mouse; open the list, or close it."""
        if self.list is not None:
            if self.list.place.collidepoint(pos):
                self.list.pick(self.list.row_at(pos, self.list.at))
            else:
                self.leave()
        elif self._fits_aside(ui, values := self.values()):
            for k, value in enumerate(values):
                if value != self.value() and place_aside(self._area(), k, len(values)).collidepoint(pos):
                    self.change(value)
        else:
            self.open()

    def open(self) -> None:
        """Open the list at the value."""
        values = self.values()

        def pick(at: int) -> None:
            self.leave()
            if values[at] != self.value():
                self.change(values[at])

        if values:
            self.list = DropList([self.shown(v) for v in values], self._at(values), pick)

    def draw_over(self, ui: Ui) -> None:
        """The open list."""
        if self.list is not None:
            self.list.draw(ui, self._area())
            self.over = self.list.place

    def leave(self) -> None:
        """Close the list; the value stays."""
        self.list, self.over = None, NOWHERE

    def wheel(self, steps: float) -> bool:
        """Step through."""
        by = -1 if steps > 0 else 1
        if self.list is not None:
            self.list.step(by)
        else:
            self._step(by)
        return True

    def pressed(self, event: pygame.Event) -> bool:
        """Arrow keys step, Return opens; while the list is open all keys but commands are its own."""
        step = {pygame.K_LEFT: -1, pygame.K_UP: -1, pygame.K_RIGHT: 1, pygame.K_DOWN: 1}
        if self.list is not None and event.key != pygame.K_ESCAPE:
            if self.list.pressed(event):
                return True
            self.leave()
            return False
        if self.list is not None:
            self.leave()
        elif event.key in step:
            self._step(step[event.key])
        elif event.key in (pygame.K_RETURN, pygame.K_KP_ENTER):
            self.open()
        else:
            return False
        return True

    def typed(self, text: str) -> bool:
        """Letters look for a value in the open list."""
        if self.list is not None:
            self.list.typed(text)
        return self.list is not None


class TextField(Widget):
    """A line of text; Return or leaving it reports the text, Escape lets it be."""

    def __init__(
        self, key: str, value: Callable[[], str], change: Callable[[str], object], hint: str = "", term: str = "",
        label: str = "", most: int = MOST_TYPED,
    ) -> None:  # fmt: skip
        super().__init__(key, term)
        self.value, self.change, self.hint, self.label = value, change, hint, label
        self.most = most  # letters that can be typed
        self.text: str | None = None  # while editing
        self.caret = 0
        self.whole = False  # all of it is marked: the next letter replaces it

    def shown(self) -> str:
        """What stands in the field."""
        return self.value() if self.text is None else self.text

    def _area(self) -> pygame.Rect:
        left = self.rect.x + (round(LABEL_SHARE * self.rect.w) if self.label else 0)
        return pygame.Rect(left, self.rect.y, self.rect.right - left, self.rect.h)

    def _letters(self, ui: Ui, words: str, room: int) -> int:
        """Size [pixels] of the letters: smaller where the words are too wide and are not being edited."""
        size = ui.tall(BODY)
        while self.text is None and size > ui.tall(SMALLEST) and letters_width(words, size) > room:
            size -= 1
        return size

    def draw(self, ui: Ui) -> None:
        """A box with the text, the caret in view while editing."""
        if self.label:
            ui.write(self.label, (self.rect.x, self.rect.centery), BODY, ui.look.muted, up=0.5)
        area, editing = self._area(), self.text is not None
        ui.panel(area, ui.look.panel if editing else ui.look.raised, ui.look.accent if editing else ui.look.edge)
        inner = area.inflate(-ui.px(12), 0)
        words = self.shown() if editing else self._cut(ui, ui.say(self.shown()), inner.w)
        if not words and not editing:
            ui.write(self.hint, (inner.x, inner.centery), BODY, ui.look.muted, up=0.5, room=inner.w)
        with ui.inside(inner):
            self._draw_words(ui, words, inner)
        self.ring(ui)

    def _cut(self, ui: Ui, words: str, room: int) -> str:
        """The text with dots for what does not fit."""
        return cut(words, room, self._letters(ui, words, room), False)

    def _draw_words(self, ui: Ui, words: str, inner: pygame.Rect) -> None:
        """The text, marked if all of it is, and the caret while editing."""
        editing, size = self.text is not None, self._letters(ui, words, inner.w)
        begin = self._begin
        before = letters_width(words[begin : self.caret], size) if editing else 0
        x = inner.x - max(0, before - inner.w + ui.px(8))
        if words:
            picture = letters(words[begin:], size, ui.look.text, False)
            if self.whole:
                mark = pygame.Rect(x, inner.y + ui.px(5), picture.get_width(), inner.h - ui.px(10))
                ui.rect(ui.look.edge, mark)
            ui.picture(picture, (x, inner.centery - picture.get_height() // 2))
        if editing:
            at = x + before
            ui.line(ui.look.text, (at, inner.y + ui.px(6)), (at, inner.bottom - ui.px(6)))

    @property
    def _begin(self) -> int:
        """The first letter that is drawn: more of them than fit before the caret need not be."""
        return max(0, self.caret - LETTERS_BEFORE) if self.text is not None else 0

    def begin(self) -> None:
        """Start editing with all of the text marked."""
        if self.text is None:
            self.text, self.whole = self.value(), True
            self.caret = len(self.text)

    def press(self, pos: Pos, ui: Ui) -> None:
        """Start editing; once editing, put the caret there."""
        if self.text is None:
            self.begin()
            return
        self.whole = False
        size, inner, words, begin = ui.tall(BODY), self._area().inflate(-ui.px(12), 0), self.text, self._begin
        left = inner.x - max(0, letters_width(words[begin : self.caret], size) - inner.w + ui.px(8))
        self.caret = min(
            range(begin, len(words) + 1), key=lambda k: abs(left + letters_width(words[begin:k], size) - pos[0])
        )

    def typed(self, text: str) -> bool:
        """Put it in at the caret, as much of it as there may be."""
        self.begin()
        assert self.text is not None
        clean = "".join(c for c in text if c.isprintable())
        if self.whole:
            self.text, self.caret, self.whole = "", 0, False
        clean = clean[: max(0, self.most - len(self.text))]
        self.text = self.text[: self.caret] + clean + self.text[self.caret :]
        self.caret += len(clean)
        return True

    def pressed(self, event: pygame.Event) -> bool:
        """Edit, report or let be; commands of the window leave the field first."""
        ctrl = bool(event.mod & CTRL)
        if self.text is None:
            if event.key in (pygame.K_RETURN, pygame.K_KP_ENTER):
                self.begin()
                return True
            return False
        if event.key in (pygame.K_RETURN, pygame.K_KP_ENTER):
            self.leave()
        elif event.key == pygame.K_ESCAPE:
            self.text, self.whole = None, False
        elif ctrl and event.key in (pygame.K_a, pygame.K_c, pygame.K_v):
            self._clipboard(event.key)
        elif ctrl or event.key == pygame.K_TAB or pygame.K_F1 <= event.key <= pygame.K_F12:
            self.leave()
            return False
        else:
            self._edit(event.key)
        return True

    def _clipboard(self, key: int) -> None:
        if key == pygame.K_a:
            self.whole = True
        elif key == pygame.K_c:
            with contextlib.suppress(TablesimError):
                copy_text(self.text or "")
        else:
            self.typed(pasted_text())

    def _edit(self, key: int) -> None:
        """Move the caret, or delete beside it."""
        assert self.text is not None
        moves = {
            pygame.K_LEFT: self.caret - 1, pygame.K_RIGHT: self.caret + 1, pygame.K_HOME: 0,
            pygame.K_END: len(self.text),
        }  # fmt: skip
        if key in moves:
            self.caret, self.whole = max(0, min(moves[key], len(self.text))), False
        elif key in (pygame.K_BACKSPACE, pygame.K_DELETE):
            at = self.caret - (key == pygame.K_BACKSPACE)
            if self.whole:
                self.text, self.caret, self.whole = "", 0, False
            elif 0 <= at < len(self.text):
                self.text, self.caret = self.text[:at] + self.text[at + 1 :], at

    def leave(self) -> None:
        """Report the text."""
        if self.text is not None:
            text, self.text, self.whole = self.text, None, False
            if text != self.value():
                self.change(text)
