"""The strip below the table: the takes, what is going on in words, and the bars."""

from __future__ import annotations

import re

import pygame

from tablesim.scene.result_words import Manner, result_rows
from tablesim.scene.words import in_unit
from tablesim.study.change import change_words
from tablesim.study.setup import gate_of

from ..answers.steps import ANSWERS, EXPLANATION, RESULTS
from ..controls.dials import Bars
from ..controls.results_table import BOX, HIGH, SAMPLE, ResultsTable
from ..controls.take_chooser import TakeChooser
from ..controls.widgets import BODY, NOWHERE, Button, Label, Widget
from .desk import Desk

PACE_NUMBER = re.compile(r" \([0-9.]+ m/s\)")  # left out where there are to be few numbers
ROOM = re.compile(r"(\d+) mm of room on the left and (\d+) mm on the right")
CHOOSER_POINTS = 184
LEAST_TABLE, LEAST_CHOOSER, LEAST_LINE = 100, 34, 16  # heights in points, below which a smaller thing takes the place
LEAST_BARS = 60
TABLE_SHARE, PROJECTED_SHARE = 0.7, 0.75  # of the width; the greater for large letters
NARROW = 40  # a table of a width of fewer of its letters has all of it
LEAST_ROWS, ROWS_OVER = 4, 3  # of the table for a projector; with the reading under it
READABLE = 45  # letters of the table for a projector: one of so many parts of the window's height at least


def few_numbers(words: str) -> str:
    """A reading without the pace's figure, and with the side on which an aim has more room instead of both figures."""
    roomy = ROOM.sub(lambda m: f"more room on the {'left' if int(m[1]) > int(m[2]) else 'right'}", words)
    return PACE_NUMBER.sub("", roomy)


class Strip:
    """The strip of a window."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        e = desk.editor
        self.results = ResultsTable(
            "takes", self._rows, lambda: e.chosen, lambda: e.shown.takes, e.choose, e.toggle_shown
        )
        self.copy = Button(
            "copy results", "Copy", lambda: desk.act("copy_results"), note="the table as text (Ctrl Shift C)"
        )
        self.chooser = TakeChooser("take", lambda: [take.name for take in e.scenario.takes], lambda: e.chosen, e.choose)
        self.reading = Label("reading", self.reading_text, 15, lines=3, term="correction")
        self.bars = Bars(
            "ledger", lambda: e.findings.get(EXPLANATION) if e.findings else None, lambda: self.desk.settings.details,
            self._half_mouth_mm,
        )  # fmt: skip

    @property
    def widgets(self) -> list[Widget]:
        """Everything in it, from the left; the button lies over the table's headings."""
        return [self.copy, self.results, self.chooser, self.reading, self.bars]

    def _half_mouth_mm(self) -> float:
        scenario = self.desk.editor.scenario
        return 0.0 if scenario.target is None else 1000.0 * gate_of(scenario).half_width

    def _rows(self) -> tuple[tuple[str, ...], ...]:
        """The table's rows, as far as they are known."""
        editor, settings = self.desk.editor, self.desk.settings
        found = editor.findings.get(RESULTS) if editor.findings is not None else None
        return result_rows(editor.scenario, found or {}, Manner(settings.unit, settings.details))

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

    def place(self, strip: pygame.Rect) -> None:
        """Find everything its place: the table, beside it the reading and the bars; a chooser where it is low."""
        ui, pad = self.desk.ui, self.desk.ui.px(12)
        inner = strip.inflate(-2 * pad, -pad if strip.h >= ui.px(LEAST_CHOOSER) + pad else -ui.px(2))
        for widget in self.widgets:
            widget.rect = NOWHERE.copy()
        if inner.h < ui.px(LEAST_LINE):
            return
        if strip.h < ui.px(LEAST_TABLE):
            self._place_low(inner)
            return
        self.reading.size = 15
        self.results.letters = self._letters
        wide = round((PROJECTED_SHARE if self._projected else TABLE_SHARE) * inner.w)
        narrow = wide < NARROW * ui.px(self._letters)
        wide = inner.w if narrow else self.results.wished(ui, wide)
        self.results.rect = pygame.Rect(inner.x, inner.y, wide, inner.h)
        high = self.results.row_height(ui)
        self.copy.rect = pygame.Rect(inner.x, inner.y, ui.px(BOX + SAMPLE), min(high, ui.px(22)) - 1)
        if narrow:
            self._place_under()
        else:
            self._place_beside(pygame.Rect(inner.x + wide + pad, inner.y, inner.w - wide - pad, inner.h))

    @property
    def _projected(self) -> bool:
        return self.desk.settings.look == "projector"

    @property
    def _letters(self) -> float:
        """Size of the table's letters [points]."""
        least = self.desk.surface.get_height() / (READABLE * self.desk.ui.scale) if self._projected else 0.0
        return max(12.5, least)

    def least_height(self) -> int:
        """Height [pixels] that it has in any window with room for the table."""
        ui, h = self.desk.ui, self.desk.surface.get_height()
        rows = 1 + LEAST_ROWS if self._projected else 0
        least = 184 if h >= ui.px(980) else 156 if h >= ui.px(800) else 134
        return max(ui.px(least), ui.px(HIGH * self._letters) * rows + ui.px(14))

    def _place_under(self) -> None:
        """The reading under a table that is too narrow for anything beside it, if there is the height."""
        self.reading.size = BODY
        table, lines = self.results.rect, 2 * self.desk.ui.px(self.reading.size * 1.45)
        if table.h - lines >= (1 + ROWS_OVER) * self.results.row_height(self.desk.ui):
            self.reading.rect = pygame.Rect(table.x, table.bottom - lines, table.w, lines)
            self.reading.lines = 2
            table.h -= lines

    def _place_beside(self, area: pygame.Rect) -> None:
        """Reading and bars: one over the other where it is high enough, else side by side, else the reading alone."""
        ui, gap = self.desk.ui, self.desk.ui.px(8)
        line = ui.px(self.reading.size * 1.45)
        if area.h >= 3 * line + gap + ui.px(LEAST_BARS):
            bars = max(round(0.34 * area.h), ui.px(LEAST_BARS))
            self.reading.rect = pygame.Rect(area.x, area.y, area.w, area.h - bars - gap)
            self.bars.rect = pygame.Rect(area.x, area.bottom - bars, area.w, bars)
        elif area.w >= ui.px(400):
            half = (area.w - gap) // 2
            self.reading.rect = pygame.Rect(area.x, area.y, half, area.h)
            self.bars.rect = pygame.Rect(area.right - half, area.y, half, area.h)
        else:
            self.reading.rect = area
        self.reading.lines = max(1, self.reading.rect.h // line)

    def _place_low(self, inner: pygame.Rect) -> None:
        """The chosen take and the reading."""
        ui, pad = self.desk.ui, self.desk.ui.px(12)
        several = len(self.desk.editor.scenario.takes) > 1 and inner.h >= ui.px(LEAST_CHOOSER)
        chooser = min(ui.px(CHOOSER_POINTS), inner.w // 3) if several else 0
        if several:
            self.chooser.rect = pygame.Rect(inner.x, inner.y, chooser, inner.h)
        aside = chooser + (pad if several else 0)
        self.reading.rect = pygame.Rect(inner.x + aside, inner.y, inner.w - aside, inner.h)
        self.reading.size = 13.5
        self.reading.lines = 2 if inner.h >= ui.px(LEAST_CHOOSER) else 1
