"""Controls that hold a number: typed and stepped, or on a track."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from tablesim.units import number_of

from ..numbers import Range
from .fields import LABEL_SHARE, TextField
from .widgets import BODY, COARSE, FINE, Pos, Ui, Widget


class NumberField(TextField):
    """A number: typed, stepped by arrow keys or the wheel (Shift ten steps, Ctrl a tenth), kept in its range."""

    def __init__(
        self, key: str, label: str, number: Callable[[], float], change_number: Callable[[float], object],
        limits: Range, unit: str = "", term: str = "", trouble: Callable[[str], object] = lambda text: None,
    ) -> None:  # fmt: skip
        super().__init__(key, self._written, self._read, term=term, label=label)
        self.units: dict[str, float] = {}  # other units that may be typed: how much of the field's own they are
        self.number, self.change_number = number, change_number
        self.limits, self.unit, self.trouble = limits, unit, trouble

    def _written(self) -> str:
        value = round(self.number(), self.limits.digits) + 0.0
        return f"{value:.{self.limits.digits}f}{' ' + self.unit if self.unit else ''}"

    def begin(self) -> None:
        """Start editing with the unit left out."""
        if self.text is None:
            self.text, self.whole = self._written().removesuffix(self.unit).strip(), True
            self.caret = len(self.text)

    def leave(self) -> None:
        """Report the number if it was changed."""
        if self.text is not None:
            text, self.text, self.whole = self.text, None, False
            if text != self._written().removesuffix(self.unit).strip():
                self._read(text)

    def _read(self, text: str) -> None:
        value = self._with_unit(text.strip())
        r = self.limits
        if not r.low <= value <= r.high:
            limits = f"{r.low:g} to {r.high:g} {self.unit}".rstrip()
            self.trouble(f"{self.label or self.key}: must be a number from {limits}; got {text[:20]!r}")
            return
        self.change_number(value)

    def _with_unit(self, text: str) -> float:
        """The number in the field's own unit, whatever unit was typed behind it."""
        text = text.removesuffix(self.unit).strip()
        for unit, factor in sorted(self.units.items(), key=lambda item: -len(item[0])):
            if text.lower().endswith(unit):
                return number_of(text[: -len(unit)]) * factor
        return number_of(text)

    def _step(self, steps: float) -> None:
        mods = pygame.key.get_mods()
        factor = COARSE if mods & pygame.KMOD_SHIFT else FINE if mods & pygame.KMOD_CTRL else 1.0
        self.change_number(self.limits.stepped(self.number(), steps * factor))

    def wheel(self, steps: float) -> bool:
        """Step."""
        self._step(steps)
        return True

    def pressed(self, event: pygame.Event) -> bool:
        """Up and down step; the rest as in a text."""
        if event.key in (pygame.K_UP, pygame.K_DOWN):
            self.text, self.whole = None, False
            self._step(1 if event.key == pygame.K_UP else -1)
            return True
        return super().pressed(event)


class Slider(Widget):
    """A number without its digits: a track and a handle; arrow keys step."""

    def __init__(
        self, key: str, label: str, number: Callable[[], float], change: Callable[[float], object], limits: Range,
        done: Callable[[], object], term: str = "",
    ) -> None:  # fmt: skip
        super().__init__(key, term)
        self.label, self.number, self.change, self.limits, self.done = label, number, change, limits, done

    def _track(self) -> pygame.Rect:
        left = self.rect.x + round(LABEL_SHARE * self.rect.w)
        return pygame.Rect(left + 8, self.rect.centery - 2, self.rect.right - left - 16, 4)

    def draw(self, ui: Ui) -> None:
        """Label, track and handle."""
        ui.write(self.label, (self.rect.x, self.rect.centery), BODY, ui.look.muted, up=0.5)
        track, r = self._track(), self.limits
        ui.rect(ui.look.edge, track, 2)
        x = track.x + round((self.number() - r.low) / (r.high - r.low) * track.w)
        ui.disc(ui.look.accent, (x, track.centery), ui.px(7))
        self.ring(ui)

    def press(self, pos: Pos, ui: Ui) -> None:
        """The handle goes there."""
        track, r = self._track(), self.limits
        share = min(1.0, max(0.0, (pos[0] - track.x) / max(track.w, 1)))
        self.change(round(r.low + share * (r.high - r.low), r.digits))

    def drag(self, pos: Pos, ui: Ui) -> None:
        """The handle follows."""
        self.press(pos, ui)

    def release(self, ui: Ui) -> None:
        """The movement is done."""
        self.done()

    def _step(self, by: float) -> bool:
        self.change(min(self.limits.high, max(self.limits.low, round(self.number() + by * self.limits.step, 6))))
        return True

    def wheel(self, steps: float) -> bool:
        """A step."""
        return self._step(steps)

    def pressed(self, event: pygame.Event) -> bool:
        """Arrow keys step."""
        signs = {pygame.K_LEFT: -1, pygame.K_DOWN: -1, pygame.K_RIGHT: 1, pygame.K_UP: 1}
        return event.key in signs and self._step(signs[event.key])
