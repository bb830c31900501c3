"""The layout of a practice sheet, to scale: table, balls, a take's lines, what they mean, the diamonds' numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.scene.aim_here import aim_here
from tablesim.scene.look import CORRECTED, PAPER, Look
from tablesim.scene.shapes import BOTTOM_UP, Dot, Frame, Path, Pen, Scene, Text, without_words
from tablesim.scene.shot import Shown, balls_scene, crossing_scene, marks_scene, mouth_scene, take_scene
from tablesim.scene.table import RAIL_M, table_scene
from tablesim.study.answer import Answer
from tablesim.units import DIAMONDS_LONG

from . import sheet_words as words
from .page import CAPITAL, MM_PER_POINT, Page
from .sheet_parts import GREY, SMALL, TINY
from .sheet_words import Told

OUTSIDE_M = RAIL_M + 0.012  # drawn beyond the noses
NUMBERS_MM = 5.0  # kept for the diamonds' numbers below and left of the table
LEGEND_MM = 45.0  # beside the table, with the gap before it
DRAWING = 0.345  # of the page's height, at most


def scale_for(scenario: Scenario, width_mm: float, height_mm: float) -> int:
    """The largest scale 1 : n, n whole, at which the table with its rails fits."""
    size = scenario.table.surface
    along, across = size.length_m + 2.0 * OUTSIDE_M, size.width_m + 2.0 * OUTSIDE_M
    return math.ceil(1000.0 * max(along / width_mm, across / height_mm) - 1e-9)


def frame_at(scenario: Scenario, mm_per_m: float, left: float, top: float, point: float = MM_PER_POINT) -> Frame:
    """The table on the page with its rails' outer corner at (left, top) mm, the head rail left."""
    matrix = mm_per_m * BOTTOM_UP
    corner = np.array([-OUTSIDE_M, scenario.table.surface.width_m + OUTSIDE_M])
    return Frame(matrix, np.array([left, top]) - matrix @ corner, point)


def drawing(page: Page, scenario: Scenario, told: Sequence[Told], high_mm: float, beside: bool = False) -> None:
    """The layout to scale with its first take, the table with its rails at most ``high_mm`` high.

    Its legend stands below, or ``beside`` it.
    """
    room = page.across - NUMBERS_MM - (LEGEND_MM if beside else 0.0)
    n = scale_for(scenario, room, high_mm)
    size, scale = scenario.table.surface, 1000.0 / n
    wide, high = scale * (size.length_m + 2.0 * OUTSIDE_M), scale * (size.width_m + 2.0 * OUTSIDE_M)
    page.room(high + NUMBERS_MM + 12.0)
    left = page.left + NUMBERS_MM + (0.0 if beside else (room - wide) / 2.0)
    frame = frame_at(scenario, scale, left, page.y)
    scene = table_scene(scenario.table.edge, PAPER) + marks_scene(scenario, PAPER) + mouth_scene(scenario, PAPER)
    if told:
        direct = not told[0].cushions
        scene += take_scene(scenario, told[0].answer, 0, Shown(chosen=0, corrected=direct, labels=direct), PAPER)
        scene += aim_mark(scenario, told[0].answer) if direct else []
    with page.clipped(left, page.y, wide, high):
        page.paint(without_words(scene) + balls_scene(scenario), frame)
        page.paint([shape for shape in scene if isinstance(shape, Text)], frame)  # no line lies over them
    page.paint(diamond_numbers(scenario), frame)
    page.paint(ball_labels(scenario), frame)
    top, page.y = page.y, page.y + high + NUMBERS_MM
    if not beside:
        legend(page, scenario, told, n)
        return
    low, page.y = page.y, top
    with page.column(left + wide + 4.0, page.right):
        _legend_beside(page, scenario, told[0], n)
    page.y = max(low, page.y)


def diamond_numbers(scenario: Scenario) -> Scene:
    """The diamonds counted along the right rail and the head rail, outside the table."""
    size = scenario.table.surface
    step, out = size.length_m / DIAMONDS_LONG, -OUTSIDE_M
    up = range(1, int(size.width_m / step + 1e-6) + 1)
    return [
        *(Text(k * step, out, str(k), 7.0, GREY, 0.5, 1.0, dy=-2.0) for k in range(DIAMONDS_LONG + 1)),
        *(Text(out, k * step, str(k), 7.0, GREY, 1.0, 0.5, dx=-3.0) for k in up),
    ]


def ball_labels(scenario: Scenario, look: Look = PAPER) -> Scene:
    """Names too long to stand on the balls, above them."""
    return [
        Text(x, y + scenario.ball_set.radius_m(name), name[:24], 6.5, look.ink, 0.5, 0.0, look.halo, dy=2.0)
        for name, (x, y) in scenario.balls.items()
        if len(name) > 2 and name != CUE_BALL
    ]


def aim_mark(scenario: Scenario, answer: Answer, look: Look = PAPER) -> Scene:
    """The line to aim the target ball along for the correction, as far as the pocket's mouth."""
    aim = None if answer.correction is None else aim_here(scenario, answer.correction)
    if aim is None or scenario.target is None:
        return []
    way = np.array([scenario.balls[scenario.target.ball], aim.place])
    return [Path(way, Pen(look.ink_soft, 0.6, (1.5, 1.5))), Dot(*aim.place, 3.0, look.ink, corners=3)]


def legend(page: Page, scenario: Scenario, told: Sequence[Told], n: int) -> None:
    """What the drawing's lines mean, its scale 1 : n, and the table and gear it is of."""
    y = page.y + 3.0
    if told:
        one = told[0]
        name = f"{'Take 1, ' if len(told) > 1 else ''}{page.shortened(one.take.name, 34.0, SMALL)}:"
        x = page.words(page.left, y, name, SMALL, bold=True) + 2.5
        samples(page, x, y, one, SMALL, *(bool(m) for m in _crossings(scenario, one)))
        y += 4.2
    page.words(page.left, y, _scale_words(scenario, n), SMALL)
    page.y = y + 1.4
    page.paragraph(words.gear_line(scenario), TINY, colour="#333333")


def _legend_beside(page: Page, scenario: Scenario, told: Told, n: int) -> None:
    """The same for one take, down a narrow column."""
    page.words(
        page.left, page.y + 3.0, page.shortened(f"{told.take.name}:", page.across, SMALL, True), SMALL, bold=True
    )
    filled, hollow = (bool(marks) for marks in _crossings(scenario, told))
    page.y = 1.6 + samples(page, page.left, page.y + 7.2, told, SMALL, filled, hollow, down=4.2)
    for text, size, colour in (
        (_scale_words(scenario, n), SMALL, "#000000"),
        (words.gear_line(scenario), TINY, "#333333"),
    ):
        page.paragraph(text, size, colour=colour)
        page.y += 1.5


def _scale_words(scenario: Scenario, n: int) -> str:
    diamond_mm = 1000.0 * scenario.table.surface.length_m / DIAMONDS_LONG / n
    return (
        f"To scale, 1 : {n}; one diamond is {diamond_mm:.1f} mm on paper. Head rail on the left."
        " Ball with a dot: the cue ball."
    )


def _crossings(scenario: Scenario, told: Told) -> tuple[Scene, Scene]:
    """The marks at the pocket's mouth as aimed and as corrected, each perhaps none."""
    both = (told.answer.aimed, told.answer.corrected)
    one, two = ([] if found is None else crossing_scene(scenario, found, "#000000", True) for found in both)
    return one, two


def samples(
    page: Page,
    x: float,
    y: float,
    told: Told,
    size: float,
    filled: bool = False,
    hollow: bool = False,
    down: float = 0.0,
) -> float:
    """What the lines mean, each with a piece of it, in a row or ``down`` mm under each other; the last base line."""
    answer, colour = told.answer, PAPER.take_colour(0)
    found: list[tuple[str, Pen]] = []
    if answer.aimed is not None and answer.aimed.track is not None:
        found.append(("as aimed" + (" (● at the mouth)" if down else " (● at the pocket)") * filled, Pen(colour, 1.0)))
    if answer.corrected is not None and not told.cushions:
        found.append(("corrected" + " (◇)" * hollow, Pen(colour, 1.0, CORRECTED)))
    for text, pen in found:
        middle = y - 0.5 * CAPITAL * size * MM_PER_POINT
        page.outline([(x, middle), (x + 8.0, middle)], pen)
        end = page.words(x + 9.5, y, text, size) + 4.0
        x, y = (x, y + down) if down else (end, y)
    correction = answer.correction
    if len(found) == 2 and size >= SMALL and correction is not None and correction.aim_offset_mm is not None:
        page.outline([(x, y), (x + 2.0, y), (x + 1.0, y - 1.9)], None, "#000000", True)
        page.words(x + 3.2, y, "where to aim at the pocket", size)
        y += down
    return y - down
