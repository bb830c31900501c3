"""The strip below the table: the takes, what is going on in words, and the bars."""

from __future__ import annotations

import re

import pygame

from tablesim.scene.words import in_unit
from tablesim.study.change import change_words
from tablesim.study.reading import correction_words
from tablesim.study.setup import gate_of
from tablesim.units import pace_word

from ..answers.steps import ANSWERS, EXPLANATION
from ..controls.dials import Bars, TakeList
from ..controls.take_chooser import TakeChooser
from ..controls.widgets import NOWHERE, Label, Widget
from .desk import Desk

PACE_NUMBER = re.compile(r" \([0-9.]+ m/s\)")  # left out where there are to be few numbers
ROOM = re.compile(r"(\d+) mm of room on the left and (\d+) mm on the right")
CHOOSER_POINTS = 184


def few_numbers(words: str) -> str:
    """A reading without the pace's figure, and with the side on which an aim has more room instead of both figures."""
    roomy = ROOM.sub(lambda m: f"more room on the {'left' if int(m[1]) > int(m[2]) else 'right'}", words)
    return PACE_NUMBER.sub("", roomy)


class Strip:
    """The strip of a window."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        e = desk.editor
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

    @property
    def widgets(self) -> list[Widget]:
        """Everything in it, from the left."""
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
        ui, pad = self.desk.ui, self.desk.ui.px(12)
        inner = strip.inflate(-2 * pad, -pad)
        if strip.h < ui.px(100):
            self.take_list.rect = self.bars.rect = NOWHERE.copy()
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
