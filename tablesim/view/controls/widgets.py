"""The window's own controls, drawn in the looks of the scene, all of them usable by mouse and by keyboard.

A control reads its value through a function and reports changes through
another: it holds nothing of the document.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any, Self

import pygame

from tablesim.scene.drawable import drawable
from tablesim.scene.lettering import Measure, shortened, wrapped
from tablesim.scene.look import Look
from tablesim.scene.words import said

from ..document.places import BODY_LETTERS

Pos = tuple[int, int]
Stroke = tuple[Callable[..., object], tuple[Any, ...]]  # what is called with the surface, and its other arguments
SMALL, BODY, LARGE, TITLE = 12.0, BODY_LETTERS, 18.0, 24.0  # points of letters: of asides, all else, heads, captions
SWITCH = (26, 14)  # points: a switch's track
LINE = 1.45  # from line to line, in letters
NOWHERE = pygame.Rect(0, 0, 0, 0)  # of a control that is not in sight; hand out copies
FINE, COARSE = 0.1, 10.0  # what Ctrl and Shift do to a step
MOST_LETTERS = 2000  # of a text that is shown
MOST_PIXELS = 8000  # width of a line of letters
DOTS = "…"  # in place of what is cut off


@lru_cache(maxsize=64)
def font(pixels: int, bold: bool) -> pygame.font.Font:
    """Letters of a height; pygame's own where matplotlib's are missing."""
    try:
        import matplotlib

        name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
        return pygame.font.Font(str(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / name), pixels)
    except (OSError, ImportError):
        return pygame.font.Font(None, round(1.25 * pixels))


@lru_cache(maxsize=4096)
def letters_width(text: str, pixels: int, bold: bool = False) -> int:
    """Width [pixels] of any words in letters of a height."""
    return font(pixels, bold).size(drawable(text[:MOST_LETTERS]))[0]


def _measure(pixels: int, bold: bool) -> Measure:
    return lambda words: letters_width(words, pixels, bold)


@lru_cache(maxsize=4096)
def cut(text: str, room: int, pixels: int, bold: bool) -> str:
    """Any words as letters can show them, as far as they fit in ``room`` pixels, with dots for the rest."""
    more = DOTS if len(text) > MOST_LETTERS else ""
    return shortened(drawable(text[:MOST_LETTERS]) + more, room, _measure(pixels, bold))


@lru_cache(maxsize=4096)
def letters(text: str, pixels: int, colour: str, bold: bool) -> pygame.Surface:
    """Any words as a picture, no wider than a picture may be."""
    words = cut(text, MOST_PIXELS, pixels, bold)
    return font(pixels, bold).render(words if letters_width(words, pixels, bold) else "", True, pygame.Color(colour))


@lru_cache(maxsize=512)
def in_lines(text: str, width: int, pixels: int, bold: bool) -> tuple[str, ...]:
    """Any words in lines no wider than ``width`` pixels, in letters of a height; what is wider is broken."""
    shown = drawable(text[:MOST_LETTERS]) + (DOTS if len(text) > MOST_LETTERS else "")
    return tuple(filter(None, wrapped(shown, min(width, MOST_PIXELS), _measure(pixels, bold), breaking=True)))


@lru_cache(maxsize=512)
def box(width: int, height: int, radius: int, fill: str, edge: str, weight: int) -> pygame.Surface:
    """A smooth rounded box, drawn four times as large and shrunk."""
    big = pygame.Surface((4 * width, 4 * height), pygame.SRCALPHA)
    pygame.draw.rect(big, pygame.Color(edge if weight else fill), big.get_rect(), border_radius=4 * radius)
    if weight:
        inside = big.get_rect().inflate(-8 * weight, -8 * weight)
        pygame.draw.rect(big, pygame.Color(fill), inside, border_radius=max(0, 4 * (radius - weight)))
    return pygame.transform.smoothscale(big, (width, height))


class Ui:
    """What controls need to draw themselves: surface, look, scale, words.

    All drawing is strokes.  Those of a part of the window are gathered first, and
    left undone where the frame before has drawn the very same ones.
    """

    def __init__(self, surface: pygame.Surface, look: Look, scale: float, british: bool) -> None:
        self.surface, self.look, self.scale, self.british = surface, look, scale, british
        self.from_afar = False  # no letters are smaller than BODY
        self.focus: Widget | None = None
        self.hover: Widget | None = None
        self.mouse: Pos = (0, 0)
        self._clip: pygame.Rect | None = None
        self._strokes: list[Stroke] | None = None  # of the part being drawn
        self._before: dict[str, list[Stroke]] = {}  # of each part, by the frame before
        self._parts: dict[str, list[Stroke]] = {}

    def begin(self) -> None:
        """A frame begins."""
        self._before, self._parts = self._parts, {}

    def forget(self) -> None:
        """The parts may not stand any more as they were drawn: the next frame draws all of them."""
        self._parts = {}

    @contextmanager
    def part(self, name: str, ground: pygame.Rect) -> Iterator[None]:
        """Draw a part of the window on its ground, beyond which nothing of it is seen."""
        strokes = self._strokes = list[Stroke]()
        try:
            with self.inside(ground):
                self.rect(self.look.panel, ground)
                yield
        finally:
            self._strokes = None
        self._parts[name] = strokes
        if self._before.get(name) != strokes:
            for stroke, arguments in strokes:
                stroke(self.surface, *arguments)

    def _stroke(self, stroke: Callable[..., object], *arguments: Any) -> None:
        if self._strokes is None:
            stroke(self.surface, *arguments)
        else:
            self._strokes.append((stroke, arguments))

    def rect(self, colour: str, rect: pygame.Rect, radius: int = 0, weight: int = 0) -> None:
        """A filled rectangle, or with a weight [pixels] its outline."""
        self._stroke(pygame.draw.rect, colour, tuple(rect), weight, radius)

    def disc(self, colour: str, at: Pos, radius: int) -> None:
        """A filled circle."""
        self._stroke(pygame.draw.aacircle, colour, at, radius)

    def polygon(self, colour: str, points: Sequence[Pos]) -> None:
        """A filled outline."""
        self._stroke(pygame.draw.polygon, colour, tuple(points))

    def line(self, colour: str, start: Pos, end: Pos) -> None:
        """A thin line."""
        self._stroke(pygame.draw.line, colour, start, end)

    def picture(self, picture: pygame.Surface, at: Pos) -> None:
        """A picture that stays as it is, by its top left corner."""
        self._stroke(pygame.Surface.blit, picture, at)

    @contextmanager
    def inside(self, rect: pygame.Rect) -> Iterator[None]:
        """Draw nothing outside of a rectangle."""
        around = self._clip
        self._clip = rect if around is None else rect.clip(around)
        self._stroke(pygame.Surface.set_clip, tuple(self._clip))
        try:
            yield
        finally:
            self._clip = around
            self._stroke(pygame.Surface.set_clip, None if around is None else tuple(around))

    def px(self, points: float) -> int:
        """Pixels of so many points."""
        return round(points * self.scale)

    def tall(self, points: float) -> int:
        """Pixels of letters of so many points; to be read from afar they are no smaller than BODY."""
        return self.px(max(points, BODY) if self.from_afar else points)

    def say(self, text: str) -> str:
        """The words in the person's English."""
        return said(text, self.british)

    def write(
        self, text: str, at: Pos, size: float = BODY, colour: str | None = None, bold: bool = False,
        across: float = 0.0, up: float = 0.0, room: int | None = None,
    ) -> pygame.Rect:  # fmt: skip
        """Write words; ``across`` and ``up`` (0 to 1) say which part of them lies at the place; cut to ``room``."""
        words, pixels = self.say(text), self.tall(size)
        if room is not None:
            words = cut(words, room, pixels, bold)
        picture = letters(words, pixels, colour or self.look.text, bold)
        place = picture.get_rect()
        place.x, place.y = round(at[0] - across * place.w), round(at[1] - up * place.h)
        self.picture(picture, place.topleft)
        return place

    def wrap(self, text: str, width: int, size: float = BODY, bold: bool = False) -> list[str]:
        """The words in lines no wider than ``width`` pixels."""
        return list(in_lines(self.say(text), width, self.tall(size), bold))

    def panel(self, rect: pygame.Rect, fill: str, edge: str | None = None, radius: float = 6, weight: int = 1) -> None:
        """A rounded box."""
        if rect.w > 0 and rect.h > 0:
            picture = box(rect.w, rect.h, self.px(radius), fill, edge or fill, weight if edge else 0)
            self.picture(picture, rect.topleft)


def scroll_bar(ui: Ui, area: pygame.Rect, first: int, fits: int, whole: int) -> None:
    """How much of a list is in sight, at the right edge; nothing if all of it is."""
    if whole > fits:
        bar = pygame.Rect(area.right - ui.px(6), area.y, ui.px(4), max(ui.px(12), round(area.h * fits / whole)))
        bar.y += round((area.h - bar.h) * first / (whole - fits))
        ui.rect(ui.look.muted, bar, ui.px(2))


def draw_switch(ui: Ui, track: pygame.Rect, on: bool) -> None:
    """A knob in its track, right where it is on."""
    look, r = ui.look, track.h // 2
    ui.panel(track, look.accent if on else look.raised, look.accent if on else look.muted, track.h / 2 / ui.scale)
    x = track.right - r if on else track.left + r
    ui.disc(look.panel if on else look.muted, (x, track.centery), max(2, r - ui.px(3)))


class Widget:
    """A control: a place, a term that explains it, and what it does with mouse and keys."""

    focusable = True
    keeps_keys = True  # a click on it gives it the focus

    def __init__(self, key: str, term: str = "") -> None:
        self.key, self.term = key, term
        self.rect = pygame.Rect(0, 0, 0, 0)
        self.weight = 1.0  # its share of the row's width
        self.note = ""  # shown on hover in place of the term's definition
        self.over = NOWHERE  # where it has opened something over the window; it is drawn last

    def share(self, weight: float) -> Self:
        """The same control, with another share of its row's width."""
        self.weight = weight
        return self

    def height(self, ui: Ui) -> int:
        """Height [pixels] it asks for."""
        return ui.px(30)

    def least(self, ui: Ui) -> int:
        """Width [pixels] that it needs, where a row has room enough."""
        return 0

    def draw(self, ui: Ui) -> None:
        """Draw it."""

    def press(self, pos: Pos, ui: Ui) -> None:
        """The left button goes down on it."""

    def drag(self, pos: Pos, ui: Ui) -> None:
        """The mouse moves with the button held."""

    def release(self, ui: Ui) -> None:
        """The button goes up."""

    def wheel(self, steps: float) -> bool:
        """The wheel turns over it; True if it took it."""
        return False

    def pressed(self, event: pygame.Event) -> bool:
        """A key goes down while it has the focus; True if it took it."""
        return False

    def typed(self, text: str) -> bool:
        """Text comes while it has the focus; True if it took it."""
        return False

    def leave(self) -> None:
        """It loses the focus."""

    def draw_over(self, ui: Ui) -> None:
        """Draw what it has opened over the window."""

    def ring(self, ui: Ui) -> None:
        """Show that it has the focus."""
        if ui.focus is self:
            ui.rect(ui.look.accent, self.rect.inflate(ui.px(4), ui.px(4)), ui.px(7), max(1, ui.px(1.5)))


class Label(Widget):
    """Words that change by themselves; ``lines`` of them at most."""

    focusable = False

    def __init__(
        self, key: str, text: Callable[[], str] | str, size: float = BODY, muted: bool = False, bold: bool = False,
        lines: int = 1, term: str = "",
    ) -> None:  # fmt: skip
        super().__init__(key, term)
        self.text = text if callable(text) else lambda: text
        self.size, self.muted, self.bold, self.lines = size, muted, bold, lines

    def height(self, ui: Ui) -> int:
        """A line of letters each."""
        return ui.px(self.size * LINE) * self.lines

    def draw(self, ui: Ui) -> None:
        """Write them."""
        colour, size = ui.look.muted if self.muted else ui.look.text, self.size
        lines = ui.wrap(self.text(), self.rect.w, size, self.bold)
        while len(lines) * ui.px(size * LINE) > max(self.rect.h, ui.px(size * LINE)) and size > SMALL:
            size = max(size - 1.0, SMALL)  # smaller, so that nothing is cut off
            lines = ui.wrap(self.text(), self.rect.w, size, self.bold)
        fits = max(1, self.rect.h // ui.px(size * LINE))
        if len(lines) > fits:
            lines = [*lines[: fits - 1], " ".join(lines[fits - 1 :])]
        high = ui.px(size * LINE)
        top = self.rect.y if self.lines > 1 else self.rect.centery - ui.px(size * 0.72)
        for k, words in enumerate(lines):
            ui.write(words, (self.rect.x, top + k * high), size, colour, self.bold, room=self.rect.w)


class Button(Widget):
    """Does something when pressed; ``on`` shows it as switched on. After a click the keys stay the table's."""

    keeps_keys = False

    def __init__(
        self, key: str, text: Callable[[], str] | str, do: Callable[[], object],
        on: Callable[[], bool] | None = None, enabled: Callable[[], bool] | None = None, note: str = "",
    ) -> None:  # fmt: skip
        super().__init__(key)
        self.text = text if callable(text) else lambda: text
        self.do, self.on, self.enabled, self.note = do, on, enabled, note

    def least(self, ui: Ui) -> int:
        """Its words, and its switch."""
        switch = ui.px(SWITCH[0] + 8) if self.on is not None else 0
        return letters_width(ui.say(self.text()), ui.tall(BODY)) + switch + ui.px(12)

    def draw(self, ui: Ui) -> None:
        """A box with words; before them a switch, if it can be on."""
        able = self.enabled is None or self.enabled()
        look, middle, room = ui.look, self.rect.centerx, self.rect.w - ui.px(8)
        ui.panel(self.rect, look.edge if ui.hover is self and able else look.raised, look.edge)
        if self.on is not None:
            wide, high = map(ui.px, SWITCH)
            aside = wide + ui.px(8)
            words = min(letters_width(ui.say(self.text()), ui.tall(BODY)), room - aside)
            track = pygame.Rect(middle - (words + aside) // 2, self.rect.centery - high // 2, wide, high)
            draw_switch(ui, track, self.on())
            middle, room = track.right + ui.px(8) + words // 2, words
        ui.write(self.text(), (middle, self.rect.centery), BODY, look.text if able else look.edge, False, 0.5, 0.5,
                 room=room)  # fmt: skip
        self.ring(ui)

    def press(self, pos: Pos, ui: Ui) -> None:
        """Do it."""
        self._go()

    def _go(self) -> None:
        if self.enabled is None or self.enabled():
            self.do()

    def pressed(self, event: pygame.Event) -> bool:
        """Return and space press it."""
        if event.key in (pygame.K_RETURN, pygame.K_KP_ENTER, pygame.K_SPACE):
            self._go()
            return True
        return False
