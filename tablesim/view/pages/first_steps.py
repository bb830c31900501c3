"""The page of the first start: three things to do, and what is ready to be opened."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pygame

from tablesim.scene.look import BALL_COLOURS, IVORY

from ..controls.widgets import BODY, LINE, SMALL, Button, Ui
from .file_page import FileEntry, FileList, ready_entries
from .overlays import Overlay

STEPS = (
    ("Drag on the cloth to aim.", "The hollow line leads to the place to aim at; the words below say why."),
    ("Click a ball, then a pocket.", "That is the shot whose squirt, swerve and throw are worked out."),
    ("Make a take, and compare.", "Change its cue, pace or english, and tick it to see both together."),
)
FIGURE = (92, 58)  # points


class FirstSteps(Overlay):
    """What to do first on the left; on the right the ready scenarios and lessons, which ``use`` opens."""

    width, height = 880, 430

    def __init__(self, use: Callable[[Path], object]) -> None:
        super().__init__("Three things to do")
        self.use = use
        self.list = FileList(self._picked)
        self.list.items = [replace(entry, note=entry.note.split()[1]) for entry in ready_entries()]
        self.begin = Button("begin", "Begin", lambda: self.close(), note="with what is on the table")
        self.widgets = [self.begin, self.list]
        self._steps = pygame.Rect(0, 0, 0, 0)

    def _picked(self, entry: FileEntry) -> None:
        self.close()
        self.use(entry.path)

    def layout(self, ui: Ui) -> None:
        """Steps and list side by side; the button under the steps."""
        super().layout(ui)
        pad, top = ui.px(20), self.rect.y + ui.px(56)
        half, bottom = (self.rect.w - 3 * pad) // 2, self.rect.bottom - pad
        high = ui.px(34)
        self._steps = pygame.Rect(self.rect.x + pad, top, half, bottom - high - pad // 2 - top)
        self.begin.rect = pygame.Rect(self.rect.x + pad, bottom - high, half, high)
        x = self._steps.right + pad
        self.list.rect = pygame.Rect(x, top + ui.px(24), half, max(bottom - top - ui.px(24), 1))

    def content(self, ui: Ui) -> None:
        """The steps, each with a figure, and the head of the list."""
        ui.write("Or open what is ready:", (self.list.rect.x, self._steps.y), BODY, ui.look.muted)
        row = self._steps.h // len(STEPS)
        for k, (head, words) in enumerate(STEPS):
            place = pygame.Rect(self._steps.x, self._steps.y + k * row, self._steps.w, row)
            figure = pygame.Rect(
                place.x, place.y, min(ui.px(FIGURE[0]), place.w // 4), min(ui.px(FIGURE[1]), row - ui.px(6))
            )
            _draw_figure(ui, figure, k)
            left = figure.right + ui.px(14)
            room, step = place.right - left, ui.px(LINE * SMALL)
            ui.write(head, (left, place.y), BODY, bold=True, room=room)
            under = place.y + ui.px(LINE * BODY) + ui.px(2)
            fits = max(0, (place.bottom - under) // step)
            lines = ui.wrap(words, room, SMALL)
            for n, line in enumerate(lines if len(lines) <= fits else []):
                ui.write(line, (left, under + n * step), SMALL, ui.look.muted, room=room)


def _draw_figure(ui: Ui, place: pygame.Rect, k: int) -> None:
    """A piece of the table: the cue turned, a ball and its pocket, two ways of one shot."""
    look, r = ui.look, max(3, place.h // 10)

    def at(x: float, y: float) -> tuple[int, int]:
        return round(place.x + x * place.w), round(place.y + y * place.h)

    def stroke(start: tuple[int, int], end: tuple[int, int], colour: str) -> None:
        weight = max(1, ui.px(1))
        ui.polygon(colour, [start, end, (end[0], end[1] + weight), (start[0], start[1] + weight)])

    ui.panel(place, look.cloth, look.edge, 6)
    cue, ball, pocket = at(0.34, 0.66), at(0.66, 0.44), at(0.90, 0.22)
    if k == 0:
        stroke(at(0.06, 0.86), cue, look.sight)
        stroke(cue, at(0.92, 0.20), look.takes[0])
        stroke(cue, at(0.92, 0.44), look.takes[1])
    if k == 1:
        ui.disc(look.pocket, pocket, r + ui.px(3))
        stroke(ball, pocket, look.takes[0])
    if k == 2:
        stroke(cue, ball, look.takes[0])
        stroke(ball, at(0.94, 0.10), look.takes[0])
        stroke(ball, at(0.94, 0.52), look.takes[1])
    if k != 0:
        ui.disc(BALL_COLOURS[3], ball, r)
    ui.disc(IVORY, cue, r)
