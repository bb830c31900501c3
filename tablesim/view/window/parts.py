"""The parts of the window round the table: the bar, the panel, the strip; where they go, and how they look."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial

import pygame

from tablesim.model.base import longest
from tablesim.model.scenario import Scenario
from tablesim.scene.words import in_unit
from tablesim.study.change import change_words
from tablesim.study.reading import correction_words
from tablesim.study.setup import gate_of
from tablesim.units import pace_word

from ..answers.steps import ANSWERS, EXPLANATION
from ..controls.dials import Bars, TakeList
from ..controls.fields import TextField
from ..controls.take_chooser import TakeChooser
from ..controls.widgets import SMALLEST_LETTERS, Button, Label, Ui, Widget, letters_width
from ..document.document import Document
from ..pages.host import Row
from ..pages.overlays import More, scroll_bar
from ..pages.panel import PAGES
from ..table.playback import PlayBar
from . import showing
from .desk import Desk

PACE_NUMBER = re.compile(r" \([0-9.]+ m/s\)")  # left out where there are to be few numbers
ROOM = re.compile(r"(\d+) mm of room on the left and (\d+) mm on the right")
NARROW = 360  # points: with less for the table, the panel lies over it when asked for
# The first to go in a narrow bar.
SPARED = ("redo", "undo", "look", "growth", "details", "save", "hand_out", "play", "help")
BUTTON_POINTS = {"growth": 96, "hand_out": 80, "look": 84, "more": 60}
NOWHERE = pygame.Rect(0, 0, 0, 0)
CHOOSER_POINTS = 184
FILE_POINTS = 260  # of the bar, at most, for the file's name; none where the title itself has no more


def few_numbers(words: str) -> str:
    """A reading without the pace's figure, and with the side on which an aim has more room instead of both figures."""
    roomy = ROOM.sub(lambda m: f"more room on the {'left' if int(m[1]) > int(m[2]) else 'right'}", words)
    return PACE_NUMBER.sub("", roomy)


class FileLabel(Label):
    """Which file is open and whether it is changed: where there is little room the name is cut, never that."""

    def __init__(self, key: str, document: Document) -> None:
        super().__init__(key, lambda: document.file_words, 12, True)
        self.document = document

    def draw(self, ui: Ui) -> None:
        """The name, then the rest of the words, as small as they have to be."""
        name, changed, size = self.document.which_file, self.document.whether_changed, self.size
        while size > SMALLEST_LETTERS and letters_width(name + changed, ui.px(size)) > self.rect.w:
            size -= 0.5
        rest = letters_width(changed, ui.px(size))
        y = self.rect.centery - ui.px(0.72 * size)
        end = ui.write(name, (self.rect.x, y), size, ui.look.muted, room=max(self.rect.w - rest, 0)).right
        if changed:
            ui.write(changed, (end, y), size, ui.look.muted, room=self.rect.w)


class Parts:
    """Bar, panel and strip of a window."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.page = next(iter(PAGES))
        self.panel_on, self.panel_asked = True, False
        self.panel_rect = NOWHERE.copy()
        self.scroll = 0
        self.widgets: list[Widget] = []
        self._rows: list[Row] = []
        self._end = 0
        self._shape: object = None
        self._build()

    def _build(self) -> None:
        """The controls that are always there: the bar on top and the strip below."""
        desk = self.desk
        e, act, doc, settings = desk.editor, desk.act, desk.document, desk.settings
        self.title = TextField(
            "title", lambda: e.scenario.title, lambda text: self.desk.guard(lambda: e.rename(text)), "untitled",
            most=longest(Scenario, "title"),
        )  # fmt: skip
        self.file = FileLabel("file", doc)
        self.file.note = "what saving writes, and whether it is changed"
        buttons = (
            ("open", "Open", None, None, "a file or a ready scenario (Ctrl O)"),
            ("save", "Save", None, lambda: doc.unsaved or doc.lesson_unsaved or doc.file is None,
             "write the lesson if one is open, else the scenario (Ctrl S)"),
            ("hand_out", "Hand out", None, None, "picture, clip, sheet, layout as text (Ctrl E)"),
            ("undo", "Undo", None, lambda: doc.can_undo, "Ctrl Z"),
            ("redo", "Redo", None, lambda: doc.can_redo, "Ctrl Y"),
            ("play", "Play", lambda: desk.play_bar is not None, None, "the shown takes, from the strike (Space)"),
            ("growth", "Off the line", lambda: e.shown.growth > 0, None, "distance off the cue's line (L)"),
            ("details", "Details", lambda: settings.details, None, "all numbers, or few (I)"),
            ("look", "Projector", lambda: settings.look == "projector", None, "to be read from far away (V)"),
            ("panel", "Panel", lambda: self.panel_rect.w > 0, None, "stroke, layout and gear, on or off (F4)"),
            ("help", "Help", None, None, "keys, mouse and words (F1)"),
        )  # fmt: skip
        self.more = Button("more", "More", self._show_more, note="what this window has no room for")
        self.bar: list[Widget] = [
            *(Button(k, text, partial(act, k), on, able, note) for k, text, on, able, note in buttons), self.more,
        ]  # fmt: skip
        self.tabs: list[Widget] = [
            Button(f"page {p}", p, partial(self.desk.open_page, p), partial(self._on_page, p)) for p in PAGES
        ]
        self.strip = self._build_strip()

    def _build_strip(self) -> list[Widget]:
        """The takes, what is going on in words, and the bars."""
        e = self.desk.editor
        self.take_list = TakeList(
            "takes", self._take_rows,
            lambda: e.chosen, lambda: e.shown.takes, e.choose, e.toggle_shown,
        )  # fmt: skip
        self.chooser = TakeChooser("take", lambda: [take.name for take in e.scenario.takes], lambda: e.chosen, e.choose)
        self.reading = Label("reading", self.reading_text, 15, lines=3, term="correction")
        self.bars = Bars(
            "ledger", lambda: e.findings.get(EXPLANATION) if e.findings else None, lambda: self.desk.settings.details,
            self._half_mouth_mm,
        )  # fmt: skip
        return [self.take_list, self.chooser, self.reading, self.bars]

    def _half_mouth_mm(self) -> float:
        scenario = self.desk.editor.scenario
        return 0.0 if scenario.target is None else 1000.0 * gate_of(scenario).half_width

    def _take_rows(self) -> list[tuple[str, str]]:
        """Name of each take, and how it is played; with details also the correction of those shown."""
        editor, details = self.desk.editor, self.desk.settings.details
        s, found = editor.scenario, editor.findings
        rows = []
        for i, take in enumerate(s.takes):
            told = [s.cue_name_of(take), pace_word(take.pace_m_s), *(["jabbed"] if take.stroke == "jab" else [])]
            how = ", ".join(word for word in told if word not in take.name)
            answer = found[ANSWERS].get(i) if details and found is not None else None
            if answer is not None and answer.correction is not None:
                how = (
                    f"{in_unit(correction_words(answer.correction), self.desk.settings.unit)}, {take.pace_m_s:.1f} m/s"
                )
            rows.append((take.name, how))
        return rows

    def _on_page(self, page: str) -> bool:
        return self.page == page

    def reading_text(self) -> str:
        """What is going on, in the trade's words."""
        e = self.desk.editor
        found = e.findings
        if found is None:
            return "Working it out…"
        answer = found[ANSWERS].get(found.question.chosen)
        if answer is not None and answer.trouble:
            return answer.trouble[:1].upper() + answer.trouble[1:] + "."
        remarks = answer.remarks if answer is not None else ""
        if e.scenario.target is None:
            words = "Pick a ball and a pocket to see the correction."
        else:
            explanation = found.get(EXPLANATION)
            words = explanation.reading if explanation is not None else ""
        words = f"{words} {remarks}".strip()
        return in_unit(words if self.desk.settings.details else few_numbers(words), self.desk.settings.unit)

    def change_text(self) -> str:
        """What the latest change has done to the shot; empty without a trace of the shot before it."""
        e = self.desk.editor
        former, found = e.former, e.findings
        if former is None or found is None or found.question.chosen not in former.answers:
            return ""
        chosen = found.question.chosen
        words = change_words(former.scenario, former.answers[chosen], found.question.scenario, found[ANSWERS][chosen])
        return in_unit(words, self.desk.settings.unit)

    def leave_out(self, panel: pygame.Rect) -> None:
        """Leave only the table and the reading in sight; ``panel``: where the panel would begin."""
        for widget in (self.title, self.file, *self.bar, *self.tabs, self.take_list, self.chooser, self.bars):
            widget.rect = NOWHERE.copy()
        self.widgets, self._rows, self._shape = [], [], None
        self.panel_rect = panel

    def layout(self) -> None:
        """Find every part its place; build the panel's controls anew where what they show has changed."""
        ui, w, h = self.desk.ui, *self.desk.surface.get_size()
        ui.scale = self.desk.settings.scale_in(w, h)
        if self.desk.book.showing:
            top = showing.layout(self.desk, self.reading, w, h)
            self.leave_out(pygame.Rect(w, top, 0, h))
            return
        bar_h = ui.px(46)
        strip_h = ui.px(184 if h >= ui.px(980) else 134) if h >= ui.px(470) else ui.px(66)
        panel_w = min(ui.px(318), w)
        over = w - panel_w < ui.px(NARROW)
        on = self.panel_on and (not over or self.panel_asked)
        inside = w if over or not on else w - panel_w
        self.panel_rect = pygame.Rect(w - panel_w, bar_h, panel_w if on else 0, h - bar_h)
        self._place_bar(w, bar_h)
        play_h = ui.px(PlayBar.POINTS) if self.desk.play_bar is not None else 0
        table = pygame.Rect(0, bar_h, inside, max(h - bar_h - strip_h - play_h, 16))
        self.desk.table.place(table, self.desk.look, ui.scale)
        if self.desk.play_bar is not None:
            self.desk.play_bar.place(pygame.Rect(0, table.bottom, inside, play_h), ui)
        self._place_strip(pygame.Rect(0, h - strip_h, inside, strip_h))
        shape = (self.page, on, (w, h), ui.scale, PAGES[self.page].shows(self.desk))
        if shape != self._shape:
            self._shape = shape
            self._build_panel(on)
        settings = self.desk.settings
        self.desk.table.all_numbers, self.desk.table.unit = settings.details, settings.unit
        self.desk.table.marking = self.page == "Layout" and on

    def _place_bar(self, w: int, bar_h: int) -> None:
        """The title left, buttons right; those that a narrow bar has no room for are behind "More"."""
        ui = self.desk.ui
        wide = {b.key: ui.px(BUTTON_POINTS.get(b.key, 64)) for b in self.bar}
        buttons = [b for b in self.bar if b is not self.more]
        room = w - ui.px(110) - ui.px(8)
        kept = {b.key for b in buttons}
        for key in SPARED:
            if sum(wide[k] for k in kept) + (wide["more"] if len(kept) < len(buttons) else 0) > room:
                kept.discard(key)
        x = w - ui.px(8)
        for b in reversed(self.bar):
            if b.key not in kept and not (b is self.more and len(kept) < len(buttons)):
                b.rect = NOWHERE.copy()
                continue
            x -= wide[b.key]
            b.rect = pygame.Rect(x, (bar_h - ui.px(30)) // 2, wide[b.key] - ui.px(5), ui.px(30))
        self.title.rect = pygame.Rect(ui.px(10), (bar_h - ui.px(30)) // 2, max(x - ui.px(20), ui.px(60)), ui.px(30))
        told = min(ui.px(FILE_POINTS), self.title.rect.w // 2) if self.title.rect.w > ui.px(FILE_POINTS) else 0
        self.title.rect.w -= told
        self.file.rect = pygame.Rect(self.title.rect.right + ui.px(10), self.title.rect.y, told, self.title.rect.h)

    def _show_more(self) -> None:
        """A page with what is not in the bar, and the takes where their list has no room."""
        desk = self.desk
        hidden = [b for b in self.bar if b.rect.w == 0 and isinstance(b, Button) and b is not self.more]
        choices: list[tuple[str, Callable[[], object]]] = [(b.text(), b.do) for b in hidden]
        if self.take_list.rect.w == 0:
            names = [take.name for take in desk.editor.scenario.takes[:8]]
            choices += [(f"Take: {name}", partial(desk.editor.choose, i)) for i, name in enumerate(names)]
        desk.open_overlay(More(choices))

    def _place_strip(self, strip: pygame.Rect) -> None:
        ui, pad = self.desk.ui, self.desk.ui.px(12)
        inner = strip.inflate(-2 * pad, -pad)
        if strip.h < ui.px(100):
            self.take_list.rect = self.bars.rect = pygame.Rect(0, 0, 0, 0)
            several = len(self.desk.editor.scenario.takes) > 1
            chooser = min(ui.px(CHOOSER_POINTS), inner.w // 3) if several else 0
            self.chooser.rect = pygame.Rect(inner.x, inner.y, chooser, inner.h)
            aside = chooser + (pad if several else 0)
            self.reading.rect = pygame.Rect(inner.x + aside, inner.y, inner.w - aside, inner.h)
            self.reading.lines, self.reading.size = 2, 13.5
            return
        self.chooser.rect = NOWHERE.copy()
        big = 1.0 if self.desk.settings.look != "projector" else 1.3
        third = inner.w // 3
        bars = third if inner.w > ui.px(720) else 0
        self.take_list.rect = pygame.Rect(inner.x, inner.y, third, inner.h)
        self.bars.rect = pygame.Rect(inner.right - bars, inner.y, bars, inner.h)
        self.reading.rect = pygame.Rect(inner.x + third + pad, inner.y, inner.w - third - bars - 2 * pad, inner.h)
        self.reading.size = 15 * big
        self.reading.lines = max(1, inner.h // ui.px(15 * big * 1.45))

    def _build_panel(self, on: bool) -> None:
        focus = self.desk.ui.focus.key if self.desk.ui.focus is not None and self.desk.overlay is None else None
        self.widgets = []
        if on:
            self._rows = PAGES[self.page].rows(self.desk)
            for row in self._rows:
                self.widgets += row
        self._place_panel()
        if focus is not None:
            everything = {w.key: w for w in self.controls()}
            self.desk.ui.focus = everything.get(focus)

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
            whole = sum(widget.weight for widget in row)
            x, high = float(area.x + pad), max(widget.height(ui) for widget in row)
            room = area.w - 2 * pad - gap * (len(row) - 1)
            for widget in row:
                wide = room * widget.weight / whole
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
        every = [*playing, self.title, self.file, *self.bar, *self.tabs, *self.widgets, *self.strip]
        return [w for w in every if w.rect.w > 0]

    def draw(self, ui: Ui) -> None:
        """The bar above the table, the strip below it, the panel beside or over it."""
        (w, h), table = self.desk.surface.get_size(), self.desk.table.rect
        with ui.part("bar", pygame.Rect(0, 0, w, table.y)):
            self._draw_widgets(ui, self.title, self.file, *self.bar)
            showing.draw_caption(self.desk)
        with ui.part("strip", pygame.Rect(0, table.bottom, table.w, max(0, h - table.bottom))):
            self._draw_widgets(ui, *self.strip)
            showing.draw_legend(self.desk, self.reading)
            if self.desk.play_bar is not None:
                self.desk.play_bar.draw(ui)
        with ui.part("panel", self.panel_rect):
            self._draw_panel(ui)
        if self.panel_rect.colliderect(table):
            ui.forget()

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
        inner = self.panel_rect.y + self.desk.ui.px(44)
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
