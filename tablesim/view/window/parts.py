"""The parts of the window round the table: the bar, the panel, the strip; where they go, and how they look."""

from __future__ import annotations

from functools import partial

import pygame

from tablesim.scene.closer import MARGIN_M

from ..controls.bar_buttons import Tab
from ..controls.fields import TextField
from ..controls.widgets import NOWHERE, Ui, Widget, scroll_bar
from ..pages.host import Row
from ..pages.panel import PAGES
from . import showing
from .bar import Bar
from .desk import Desk
from .strip import Strip

GROUND = 24  # points of the ground left free above and below a table
HIGHEST_STRIP = 240  # points
LINE_POINTS, LOW_LINE_POINTS = 34, 26  # of the line of messages; in a low window
PANEL, NARROWEST, PANEL_SHARE = 318, 264, 0.27  # points of the panel's width, and its share of the window
SCENE_LETTERS = 14.0  # points: the smallest letters on the table, in the look for a projector
LOW = 470  # points: so low a window has less of everything
NARROW = 400  # points: with less for the table, the panel lies over it when asked for


def shares(room: int, wishes: list[tuple[float, int]]) -> list[float]:
    """Room [pixels] for each (weight, least) of a row: by weight, but where that is less than its least, its least.

    By weight alone where there is not room enough for that.
    """
    held = set[int]()
    while len(held) < len(wishes):
        left = room - sum(wishes[k][1] for k in held)
        weights = sum(weight for k, (weight, _) in enumerate(wishes) if k not in held)
        found = [float(least) if k in held else left * weight / weights for k, (weight, least) in enumerate(wishes)]
        short = {k for k, (_, least) in enumerate(wishes) if k not in held and found[k] < least}
        if not short:
            return found
        held |= short
    return [room * weight / sum(one for one, _ in wishes) for weight, _ in wishes]


class Parts:
    """Bar, panel and strip of a window."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.page = next(iter(PAGES))
        self.panel_on, self.panel_asked = True, False
        self.panel_rect = NOWHERE.copy()
        self.line = NOWHERE.copy()  # of messages
        self.scroll = 0
        self.widgets: list[Widget] = []
        self._rows: list[Row] = []
        self._end = 0
        self._shape: object = None
        self.bar = Bar(desk, lambda: self.panel_rect.w > 0, lambda: self.strip.results.rect.w > 0)
        self.strip = Strip(desk)
        self.tabs: list[Widget] = [
            Tab(f"page {p}", p, partial(self.desk.open_page, p), partial(self._on_page, p)) for p in PAGES
        ]

    def _on_page(self, page: str) -> bool:
        return self.page == page

    def leave_out(self, w: int, h: int) -> None:
        """Leave only the table and the reading in sight."""
        for widget in (*self.bar.widgets, *self.tabs, *self.strip.widgets):
            widget.rect = NOWHERE.copy()
        self.widgets, self._rows, self._shape = [], [], None
        top = showing.layout(self.desk, self.strip.reading, w, h)
        self.panel_rect = pygame.Rect(w, top, 0, h)
        self.line = pygame.Rect(0, self.strip.reading.rect.y, w, self.desk.ui.px(LINE_POINTS))

    def layout(self) -> None:
        """Find every part its place; build the panel's controls anew where what they show has changed."""
        ui, w, h = self.desk.ui, *self.desk.surface.get_size()
        settings, showing_it = self.desk.settings, self.desk.book.showing
        ui.scale, ui.from_afar = settings.scale_in(w, h, showing_it), showing_it or settings.look == "projector"
        if showing_it:
            self.leave_out(w, h)
            return
        bar_h = ui.px(46)
        panel_w = min(max(ui.px(NARROWEST), min(ui.px(PANEL), round(PANEL_SHARE * w))), w)
        over = w - panel_w < ui.px(NARROW)
        on = self.panel_on and (not over or self.panel_asked)
        inside = w if over or not on else w - panel_w
        self.panel_rect = pygame.Rect(w - panel_w, bar_h, panel_w if on else 0, h - bar_h)
        self.bar.place(w, bar_h)
        line_h = ui.px(LINE_POINTS if h >= ui.px(LOW) else LOW_LINE_POINTS)
        strip_h = self._strip_height(inside, h - bar_h - line_h)
        table = pygame.Rect(0, bar_h, inside, max(h - bar_h - strip_h - line_h, 16))
        beside = w - self.panel_rect.w
        self.line = pygame.Rect(0, table.bottom, beside if beside >= ui.px(NARROW) // 2 else w, line_h)
        self.desk.table.place(table, self.desk.look, settings.scale_in(w, h, smallest=SCENE_LETTERS))
        playing = self.desk.play_bar
        play_h = playing.height(ui, strip_h) if playing is not None else 0
        if playing is not None:
            playing.place(pygame.Rect(0, self.line.bottom, inside, play_h), ui)
        self.strip.place(pygame.Rect(0, h - strip_h + play_h, inside, strip_h - play_h))
        shape = (self.page, on, (w, h), ui.scale, PAGES[self.page].shows(self.desk))
        if shape != self._shape:
            self._shape = shape
            self._build_panel(on)
        self.desk.table.all_numbers, self.desk.table.unit = settings.details, settings.unit
        self.desk.table.marking = self.page == "Layout" and on

    def _strip_height(self, inside: int, room: int) -> int:
        """Height [pixels] of the strip, of the ``room`` under the bar: what a lying table leaves, within bounds."""
        ui, h = self.desk.ui, self.desk.surface.get_height()
        if h < ui.px(LOW):
            return ui.px(66)
        bed = self.desk.editor.scenario.table.surface
        lying = inside * (bed.width_m + 2.0 * MARGIN_M) / (bed.length_m + 2.0 * MARGIN_M)
        return max(self.strip.least_height(), min(room - round(lying) - ui.px(GROUND), ui.px(HIGHEST_STRIP)))

    def _build_panel(self, on: bool) -> None:
        before = self.desk.ui.focus if self.desk.overlay is None else None
        self.widgets = []
        if on:
            self._rows = PAGES[self.page].rows(self.desk)
            for row in self._rows:
                self.widgets += row
        self._place_panel()
        if before is not None:
            after = {w.key: w for w in self.controls()}.get(before.key)
            if isinstance(before, TextField) and before.text is not None:  # what is typed stays the field's
                after = after if isinstance(after, TextField) else before
                after.text, after.caret, after.whole = before.text, before.caret, before.whole
            self.desk.ui.focus = after

    def _place_panel(self) -> None:
        ui, pad, gap = self.desk.ui, self.desk.ui.px(14), self.desk.ui.px(8)
        area = self.panel_rect
        tab_w = (area.w - 2 * pad) // max(len(self.tabs), 1)
        for k, tab in enumerate(self.tabs):
            tab.rect = (
                pygame.Rect(area.x + pad + k * tab_w, area.y + ui.px(8), tab_w - ui.px(4), ui.px(30))
                if area.w
                else pygame.Rect(0, 0, 0, 0)
            )
        if not self.widgets:
            return
        y = area.y + ui.px(48) - self.scroll
        for row in self._rows:
            x, high = float(area.x + pad), max(widget.height(ui) for widget in row)
            room = area.w - 2 * pad - gap * (len(row) - 1)
            for widget, wide in zip(row, shares(room, [(w.weight, w.least(ui)) for w in row]), strict=True):
                widget.rect = pygame.Rect(round(x), y, round(wide), high)
                x += wide + gap
            y += high + gap
        self._end = y + self.scroll
        self.scroll = max(0, min(self.scroll, self._end - area.bottom))

    def controls(self) -> list[Widget]:
        """Everything that can get the focus, in the order of Tab."""
        if self.desk.overlay is not None:
            return self.desk.overlay.widgets
        playing = self.desk.play_bar.widgets() if self.desk.play_bar is not None else []
        every = [*playing, *self.bar.widgets, *self.tabs, *self.widgets, *self.strip.widgets]
        return [w for w in every if w.rect.w > 0]

    def draw(self, ui: Ui) -> None:
        """The bar above the table, the strip below it, the panel beside or over it."""
        (w, h), table = self.desk.surface.get_size(), self.desk.table.rect
        with ui.part("bar", pygame.Rect(0, 0, w, table.y)):
            self._draw_widgets(ui, *self.bar.widgets)
            if not self.desk.book.showing:
                self.bar.draw_dividers(ui)
            showing.draw_caption(self.desk)
        with ui.part("strip", self._below(h)):
            self._draw_widgets(ui, *self.strip.widgets)
            showing.draw_legend(self.desk, self.strip.reading)
            if self.desk.play_bar is not None:
                self.desk.play_bar.draw(ui)
        with ui.part("panel", self.panel_rect):
            self._draw_panel(ui)
        if self.panel_rect.colliderect(table):
            ui.forget()

    def _below(self, h: int) -> pygame.Rect:
        """What lies below the table, and below the line of messages where it has a place of its own."""
        table = self.desk.table.rect
        top = table.bottom if self.desk.book.showing else self.line.bottom
        return pygame.Rect(0, top, table.w, max(0, h - top))

    def _draw_widgets(self, ui: Ui, *widgets: Widget) -> None:
        for widget in widgets:
            if widget.rect.w > 0:
                widget.draw(ui)

    def _draw_panel(self, ui: Ui) -> None:
        """The panel's page and tabs."""
        area = self.panel_rect
        if area.w == 0:
            return
        self._place_panel()
        inner = pygame.Rect(area.x, area.y + ui.px(44), area.w, area.h - ui.px(44))
        with ui.inside(inner):
            self._draw_widgets(ui, *(widget for widget in self.widgets if widget.rect.colliderect(inner)))
            scroll_bar(ui, inner, self.scroll, inner.h, self._end - inner.y)
        self._draw_widgets(ui, *self.tabs)

    def widget_at(self, pos: tuple[int, int]) -> Widget | None:
        """The control under a pixel."""
        inner, focus = self.panel_rect.y + self.desk.ui.px(44), self.desk.ui.focus
        if focus is not None and focus.over.collidepoint(pos):
            return focus
        for widget in self.controls():
            hidden = widget in self.widgets and pos[1] < inner
            if widget.rect.collidepoint(pos) and not hidden:
                return widget
        return None

    def scrolls_at(self, pos: tuple[int, int]) -> bool:
        """True over the panel while its page is longer than its room: the wheel then moves the page."""
        return self.panel_rect.collidepoint(pos) and self._end > self.panel_rect.bottom

    def scroll_by(self, pixels: int) -> None:
        """Move the panel's page, as far as it goes."""
        self.scroll = max(0, min(self.scroll + pixels, self._end - self.panel_rect.bottom))

    def forget(self) -> None:
        """Build the panel anew at the next frame."""
        self._shape = None
