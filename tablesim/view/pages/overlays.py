"""Pages that lie over the window until they are answered: help, files, questions."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from tablesim.scene.words import TERMS

from ..controls.keys import KEYS
from ..controls.widgets import BODY, LARGE, Button, Ui, Widget, scroll_bar

CAUTION = "A model is a guide: your cue, cloth and hand decide. Check a correction on the table before you teach it."


class Overlay:
    """A page with a title and controls; Escape closes it."""

    width, height = 560, 360

    def __init__(self, title: str) -> None:
        self.title = title
        self.turns = 0  # how often other things have taken the place of those that it showed
        self.widgets: list[Widget] = []
        self.rect = pygame.Rect(0, 0, 0, 0)
        self.close: Callable[[], None] = lambda: None

    def layout(self, ui: Ui) -> None:
        """Find the page's place and those of its controls."""
        screen = ui.surface.get_rect()
        self.rect = pygame.Rect(0, 0, min(ui.px(self.width), screen.w - 16), min(ui.px(self.height), screen.h - 16))
        self.rect.center = screen.center

    @property
    def first(self) -> Widget | None:
        """The control that gets the focus when the page opens."""
        return next((w for w in self.widgets if w.focusable), None)

    def draw(self, ui: Ui) -> None:
        """The window behind it dimmed, the page, its title and controls."""
        veil = pygame.Surface(ui.surface.get_size(), pygame.SRCALPHA)
        veil.fill((0, 0, 0, 130))
        ui.picture(veil, (0, 0))
        self.layout(ui)
        ui.panel(self.rect, ui.look.panel, ui.look.edge, 10)
        ui.write(
            self.title,
            (self.rect.x + ui.px(20), self.rect.y + ui.px(13)),
            LARGE,
            bold=True,
            room=self.rect.w - ui.px(40),
        )
        self.content(ui)
        for widget in self.widgets:
            widget.draw(ui)

    def content(self, ui: Ui) -> None:
        """What stands between title and controls."""

    def pressed(self, event: pygame.Event) -> bool:
        """A key that no control took; True if the page took it."""
        return False

    def wheel(self, steps: float) -> None:
        """The wheel turned over the page."""


class QuestionPage(Overlay):
    """A question with answers, of which Return takes ``default``; Escape takes the last one, which changes nothing."""

    height = 190

    def __init__(
        self, title: str, text: str, answers: list[tuple[str, Callable[[], object]]], default: int = 0
    ) -> None:
        super().__init__(title)
        self.text, self.default = text, default

        def chosen(do: Callable[[], object]) -> None:
            self.close()
            do()

        self.widgets = [Button(words, words, lambda do=do: chosen(do)) for words, do in answers]  # type: ignore[misc]

    @property
    def first(self) -> Widget:
        """The answer that Return takes."""
        return self.widgets[self.default]

    def layout(self, ui: Ui) -> None:
        """Answers in a row at the bottom."""
        super().layout(ui)
        gap = ui.px(10)
        wide = (self.rect.w - ui.px(40) - gap * (len(self.widgets) - 1)) // len(self.widgets)
        for k, widget in enumerate(self.widgets):
            widget.rect = pygame.Rect(
                self.rect.x + ui.px(20) + k * (wide + gap), self.rect.bottom - ui.px(50), wide, ui.px(32)
            )

    def content(self, ui: Ui) -> None:
        """The text."""
        for k, words in enumerate(ui.wrap(self.text, self.rect.w - ui.px(40), BODY)[:4]):
            ui.write(words, (self.rect.x + ui.px(20), self.rect.y + ui.px(52 + 20 * k)), BODY, ui.look.muted)


class Help(Overlay):
    """What keys and mouse do, and what the words mean."""

    width, height = 760, 680

    def __init__(self, first_steps: Callable[[], object]) -> None:
        super().__init__("Keys, mouse and words")
        self.first_line = 0
        self._room = self._count = 1
        self.widgets = [
            Button("close", "Close", lambda: self.close()), Button("first steps", "First steps", first_steps),
        ]  # fmt: skip

    def layout(self, ui: Ui) -> None:
        """The buttons beside the title."""
        super().layout(ui)
        right = self.rect.right - ui.px(20)
        for widget, points in zip(self.widgets, (90, 110), strict=True):
            right -= ui.px(points)
            widget.rect = pygame.Rect(right, self.rect.y + ui.px(12), ui.px(points - 8), ui.px(28))

    def _lines(self) -> list[tuple[str, str]]:
        mouse = [
            ("drag a ball", "move it; others give way, and return when it has passed"),
            ("drag the cloth", "turn the cue (Shift: ten times finer)"),
            ("double-click", "aim the cue there"), ("click a ball, a pocket", "pick the target"),
            ("wheel", "on the table: turn the cue; on a control: step it; on a long page of the panel: scroll"),
            ("drop a file", "open it"),
        ]  # fmt: skip
        lines: list[tuple[str, str]] = [("", "Mouse"), *mouse]
        group = ""
        for key in KEYS:
            if key.shown:
                if key.group != group:
                    group = key.group
                    lines.append(("", group))
                lines.append((key.shown, key.words))
        lines.append(("", "Words"))
        lines += [(term, words) for term, words in TERMS.items()]
        return [*lines, ("", CAUTION)]

    def content(self, ui: Ui) -> None:
        """Key and words, as many lines as fit."""
        area = self.rect.inflate(-ui.px(40), -ui.px(72)).move(0, ui.px(18))
        high = ui.px(21)
        rows: list[tuple[str, str, bool]] = []
        for left, words in self._lines():
            for k, line in enumerate(ui.wrap(words, area.w - ui.px(170 if left else 20), BODY)):
                rows.append((left if k == 0 else "", line, not left))
        self._room, self._count = max(1, area.h // high), len(rows)
        self.first_line = max(0, min(self.first_line, len(rows) - self._room))
        for k, (left, words, head) in enumerate(rows[self.first_line : self.first_line + self._room]):
            y = area.y + k * high
            if head:
                ui.write(words, (area.x, y), BODY, ui.look.accent, True)
            else:
                ui.write(left, (area.x, y), BODY, ui.look.text, True, room=ui.px(155))
                ui.write(words, (area.x + ui.px(160), y), BODY, ui.look.muted)
        scroll_bar(ui, area, self.first_line, self._room, len(rows))

    def pressed(self, event: pygame.Event) -> bool:
        """Arrow and page keys scroll; the key that opened the page closes it."""
        if event.key == pygame.K_F1:
            self.close()
            return True
        step = {
            pygame.K_UP: -1, pygame.K_DOWN: 1, pygame.K_PAGEUP: -self._room, pygame.K_PAGEDOWN: self._room,
            pygame.K_HOME: -self._count, pygame.K_END: self._count,
        }  # fmt: skip
        if event.key in step:
            self.first_line += step[event.key]
            return True
        return False

    def wheel(self, steps: float) -> None:
        """Scroll."""
        self.first_line -= round(3 * steps)


class More(Overlay):
    """A list of things to do, as buttons."""

    width = 360

    def __init__(self, choices: list[tuple[str, Callable[[], object]]], title: str = "More") -> None:
        super().__init__(title)

        def chosen(do: Callable[[], object]) -> None:
            self.close()
            do()

        self.widgets = [Button(words, words, lambda do=do: chosen(do)) for words, do in choices]  # type: ignore[misc]
        self.height = 66 + 36 * len(choices)

    def layout(self, ui: Ui) -> None:
        """One under the other; two columns where they do not fit."""
        super().layout(ui)
        rows = max(1, (self.rect.h - ui.px(56)) // ui.px(36))
        columns = -(-len(self.widgets) // rows)
        wide = (self.rect.w - ui.px(40)) // columns
        for k, widget in enumerate(self.widgets):
            x, y = self.rect.x + ui.px(20) + k // rows * wide, self.rect.y + ui.px(48) + k % rows * ui.px(36)
            widget.rect = pygame.Rect(x, y, wide - ui.px(6), ui.px(30))
