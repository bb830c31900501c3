"""A practice sheet to hand out: the layout to scale, where to aim, how to strike, what to watch for, boxes to tick."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from types import SimpleNamespace

import numpy as np

from tablesim.errors import TablesimError
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.model.whole import write_whole
from tablesim.physics import jit
from tablesim.scene.look import CORRECTED, PAPER, Look
from tablesim.scene.shapes import BOTTOM_UP, Dot, Frame, Path, Pen, Scene, Text
from tablesim.scene.shot import Shown, balls_scene, crossing_scene, marks_scene, mouth_scene, take_scene
from tablesim.scene.table import RAIL_M, table_scene
from tablesim.study.answer import Answer
from tablesim.study.setup import gate_of
from tablesim.units import DIAMONDS_LONG

from . import sheet_parts as parts
from . import sheet_results
from . import sheet_words as words
from .page import CAPITAL, MARGIN, MM_PER_POINT, Page, paper_size
from .sheet_parts import GREY, SMALL, TINY, Column
from .sheet_words import Told

BODY, POINTS, HEAD, TITLE = 9.0, 8.5, 11.0, 18.0
OUTSIDE_M = RAIL_M + 0.012  # drawn beyond the noses
NUMBERS_MM = 5.0  # kept for the diamonds' numbers below and left of the table
THUMB_MM = 58.0
DRAWING = 0.345  # of the page's height, at most
MANY = 8  # takes from which loading the compiled kernels pays
CORRECTIONS = (
    Column("", 6.0), Column("take", 38.0), Column("cue", 24.0), Column("pace m/s", 18.0, True),
    Column("turn deg", 18.0, True), Column("aim mm", 18.0, True), Column("side", 19.0),
    Column("window mm", 20.0, True), Column("bridge m", 17.0, True),
)  # fmt: skip
POSITIONS = (
    Column("diamonds", 14.5, True), Column("diamonds", 14.5, True), Column("mm", 14.5, True), Column("mm", 14.5, True),
)  # fmt: skip


def sheet(
    scenario: Scenario,
    out_path: str | os.PathLike[str],
    *,
    paper: str = "a4",
    takes: Sequence[str] | None = None,
    student: bool = True,
    results: bool = False,
) -> int:
    """Write a practice sheet as PDF, whole or not at all; returns its number of pages.

    ``paper`` is "a4" or "letter"; ``takes`` names the takes on it, all if none
    is named; ``student`` adds lines for name and date and boxes to tick,
    ``results`` the student's page for what comes of it before and after
    practice.  TablesimError for an unknown paper or take, results without a
    student or a take, or a place that cannot be written.
    """
    page = lay_out(scenario, paper=paper, takes=takes, student=student, results=results)
    write_whole(out_path, page.data())
    return int(page.pdf.pages_count)


def lay_out(
    scenario: Scenario,
    *,
    paper: str = "a4",
    takes: Sequence[str] | None = None,
    student: bool = True,
    results: bool = False,
    compress: bool = True,
    kernels: SimpleNamespace | None = None,
) -> Page:
    """The finished pages; ``compress`` False leaves their drawing operators readable."""
    chosen = [scenario.take_named(name) for name in dict.fromkeys(takes)] if takes else list(scenario.takes)
    paper_size(paper)
    if results and not (student and chosen):
        raise TablesimError(
            "results: stand on the student's sheet of one take or more; ask for that, or leave them out"
        )
    kernels = kernels or (jit.many() if len(chosen) > MANY and jit.is_prepared() else jit.few())
    told = words.told_takes(scenario, chosen, kernels)
    page = Page(paper, title=scenario.title or "Practice sheet", compress=compress)
    _heading(page, scenario, student)
    _drawing(page, scenario, told)
    _positions(page, scenario)
    _corrections(page, scenario, told)
    _watch_for(page, scenario, told, kernels)
    for one in told:
        _card(page, scenario, one, student)
    _template(page, scenario, chosen)
    if results:
        sheet_results.results(page, scenario, chosen)
    _feet(page, scenario)
    return page


def _heading(page: Page, scenario: Scenario, student: bool) -> None:
    page.paragraph(
        scenario.title or "Practice sheet", TITLE if len(scenario.title) < 60 else 13.0, bold=True, lead=1.25
    )
    if student:
        parts.blanks(page, (("Name", 0.65), ("Date", 0.35)))
    page.y += 1.0
    if scenario.notes.strip():
        page.paragraph(scenario.notes, BODY)
        page.y += 2.0


def _section(page: Page, text: str, room: float) -> None:
    """A heading that does not stand alone at the foot of a page."""
    page.y += 1.5
    page.room(room + 7.5)
    page.words(page.left, page.y + 5.0, text, HEAD, bold=True)
    page.y += 7.5


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


def _drawing(page: Page, scenario: Scenario, told: list[Told]) -> None:
    """The layout to scale with its first take."""
    n = scale_for(scenario, page.across - NUMBERS_MM, DRAWING * page.height)
    size, scale = scenario.table.surface, 1000.0 / n
    wide, high = scale * (size.length_m + 2.0 * OUTSIDE_M), scale * (size.width_m + 2.0 * OUTSIDE_M)
    page.room(high + NUMBERS_MM + 12.0)
    left = page.left + NUMBERS_MM + (page.across - NUMBERS_MM - wide) / 2.0
    frame = frame_at(scenario, scale, left, page.y)
    scene = table_scene(scenario.table.edge, PAPER) + marks_scene(scenario, PAPER) + mouth_scene(scenario, PAPER)
    if told:
        direct = not told[0].cushions
        scene += take_scene(scenario, told[0].answer, 0, Shown(chosen=0, corrected=direct, labels=direct), PAPER)
        scene += aim_mark(scenario, told[0].answer) if direct else []
    with page.clipped(left, page.y, wide, high):
        page.paint(scene + balls_scene(scenario), frame)
    page.paint(diamond_numbers(scenario), frame)
    page.paint(ball_labels(scenario), frame)
    page.y += high + NUMBERS_MM
    _legend(page, scenario, told, n, scale * size.length_m / DIAMONDS_LONG, words.gear_line(scenario))


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
    found = answer.correction
    if found is None or found.aim_offset_mm is None or scenario.target is None:
        return []
    mouth = gate_of(scenario)
    at = np.array([mouth.x, mouth.y]) + found.aim_offset_mm / 1000.0 * np.array(mouth.left)
    start = np.array(scenario.balls[scenario.target.ball])
    return [
        Path(np.array([start, at]), Pen(look.ink_soft, 0.6, (1.5, 1.5))),
        Dot(float(at[0]), float(at[1]), 3.0, look.ink, corners=3),
    ]


def _legend(page: Page, scenario: Scenario, told: list[Told], n: int, diamond_mm: float, gear: str) -> None:
    y = page.y + 3.0
    scale = f"To scale, 1 : {n}; one diamond is {diamond_mm:.1f} mm on paper. Head rail on the left."
    if told:
        one = told[0]
        x = page.words(page.left, y, f"Take 1, {page.shortened(one.take.name, 34.0, SMALL)}:", SMALL, bold=True) + 2.5
        _samples(page, x, y, one, SMALL, *(bool(m) for m in _crossings(scenario, one)))
        y += 4.2
    page.words(page.left, y, f"{scale} Ball with a dot: the cue ball.", SMALL)
    page.y = y + 1.4
    page.paragraph(gear, TINY, colour="#333333")


def _crossings(scenario: Scenario, told: Told) -> tuple[Scene, Scene]:
    """The marks at the pocket's mouth as aimed and as corrected, each perhaps none."""
    both = (told.answer.aimed, told.answer.corrected)
    one, two = ([] if found is None else crossing_scene(scenario, found, "#000000", True) for found in both)
    return one, two


def _samples(
    page: Page, x: float, y: float, told: Told, size: float, filled: bool = False, hollow: bool = False
) -> None:
    """What the lines mean, each with a piece of it."""
    answer, middle = told.answer, y - 0.5 * CAPITAL * size * MM_PER_POINT
    colour = PAPER.take_colour(0)
    found: list[tuple[str, Pen]] = []
    if answer.aimed is not None and answer.aimed.track is not None:
        found.append(("as aimed" + " (● at the pocket)" * filled, Pen(colour, 1.0)))
    if answer.corrected is not None and not told.cushions:
        found.append(("corrected" + " (◇)" * hollow, Pen(colour, 1.0, CORRECTED)))
    for text, pen in found:
        page.outline([(x, middle), (x + 8.0, middle)], pen)
        x = page.words(x + 9.5, y, text, size) + 4.0
    correction = answer.correction
    if len(found) == 2 and size >= SMALL and correction is not None and correction.aim_offset_mm is not None:
        page.outline([(x, y), (x + 2.0, y), (x + 1.0, y - 1.9)], None, "#000000", True)
        page.words(x + 3.2, y, "where to aim at the pocket", size)


def _positions(page: Page, scenario: Scenario) -> None:
    """All balls in as many columns as fit the page, in the order of the file."""
    rows = words.position_rows(scenario)
    longest = max(page.width_of(row[0], SMALL) for row in rows)
    columns = (Column("ball", min(max(longest + 3.0, 16.0), 80.0)), *POSITIONS)
    rows = [[page.shortened(row[0], columns[0].width - 2.0, SMALL), *row[1:]] for row in rows]
    wide = sum(c.width for c in columns) + 4.0
    sets = max(1, min(int((page.across + 4.0) // wide), len(rows)))
    each = math.ceil(len(rows) / sets)
    _section(page, "Where the balls lie", min(4.4 * each + 12.0, 120.0))
    page.paragraph(
        "Centres, from the nose of the head rail, then from the nose of the right rail as seen from the head end.",
        SMALL,
    )
    top, lowest, number = page.y, page.y, page.pdf.page
    for k in range(sets):
        page.y = top
        parts.table(page, columns, rows[k * each : (k + 1) * each], left=k * wide)
        lowest = max(lowest, page.y) if page.pdf.page == number else page.y
    page.y = lowest


def _corrections(page: Page, scenario: Scenario, told: list[Told]) -> None:
    if scenario.target is None or not told:
        return
    rows, notes = [], []
    for one in told:
        found = one.answer.correction
        if found is not None:
            rows.append(words.correction_row(one.number, one.take, found))
            by = "the direct aim; this take goes by the cushions" if one.cushions else ""
            notes.append("; ".join(filter(None, (found.reason or found.warning, by))))
    _section(page, f"Where to aim: ball {scenario.target.ball} to {scenario.target.pocket}", 24.0)
    parts.table(page, CORRECTIONS, rows, notes)
    page.paragraph(words.SIGNS, TINY, colour="#333333")


def _watch_for(page: Page, scenario: Scenario, told: list[Told], kernels: SimpleNamespace) -> None:
    found = words.watch_for(scenario, told, kernels)
    if found:
        _section(page, "What to watch for", 4.06 * min(len(found), 6))
    for line in found:
        page.words(page.left + 1.0, page.y + 3.2, "•", POINTS)
        page.paragraph(line, POINTS, indent=5.0)
    page.y += 4.0


def _card(page: Page, scenario: Scenario, told: Told, student: bool) -> None:
    """A take: its lines in small, the ball's face, the pace, what happens, and boxes to tick."""
    high = 54.0 if student else 45.0
    page.room(high)
    take, top, x = told.take, page.y, page.left
    page.rule(page.left, top, page.right, top, 0.7)
    end = page.words(x, top + 5.0, page.shortened(f"{told.number}  {take.name}", 100.0, HEAD, True), HEAD, bold=True)
    how = f"cue {scenario.cue_name_of(take)}, butt {take.elevation_deg:g}°, {take.stroke} stroke"
    page.words(page.right, top + 5.0, page.shortened(how, page.right - end - 4.0, SMALL), SMALL, across=1.0)
    _thumbnail(page, scenario, told, x, top + 8.0)
    boxes = 42.0 if student else 0.0
    inner = page.right - boxes - (5.0 if student else 0.0)
    _stroke(page, scenario, told, x + THUMB_MM + 4.0, inner, top + 8.0)
    if student:
        parts.tick_boxes(page, page.right - boxes, top + 7.5, boxes, 3.9, scenario.target is not None)
    page.y = top + high


def _thumbnail(page: Page, scenario: Scenario, told: Told, x: float, y: float) -> None:
    size = scenario.table.surface
    scale = min(THUMB_MM / (size.length_m + 2.0 * OUTSIDE_M), 34.0 / (size.width_m + 2.0 * OUTSIDE_M))
    wide, high = scale * (size.length_m + 2.0 * OUTSIDE_M), scale * (size.width_m + 2.0 * OUTSIDE_M)
    scene = table_scene(scenario.table.edge, PAPER)
    scene += take_scene(scenario, told.answer, 0, Shown(corrected=not told.cushions, labels=False), PAPER)
    with page.clipped(x, y, wide, high):
        page.paint(scene + balls_scene(scenario), frame_at(scenario, scale, x, y, 0.6 * MM_PER_POINT))
    _samples(page, x, y + high + 3.0, told, TINY)


def _stroke(page: Page, scenario: Scenario, told: Told, left: float, right: float, top: float) -> None:
    """The face with its numbers, the pace bar, and the take in words, between ``left`` and ``right``."""
    radius = 9.0
    parts.face(page, left + radius, top + radius, radius, scenario, told.take)
    beside = left + 2.0 * radius + 4.0
    for k, line in enumerate(words.tip_lines(scenario, told.take)):
        page.words(beside, top + 2.6 + 3.4 * k, page.shortened(line, right - beside, SMALL), SMALL)
    page.words(beside, top + 2.0 * radius - 0.4, words.pace_line(told.take), SMALL, bold=True)
    y = top + 2.0 * radius + 0.6
    parts.pace_bar(page, left, y, min(right - left, 71.0), told.take.pace_m_s)
    if right - left > 100.0:  # no boxes: the words stand beside
        left, y, room = left + 76.0, top, 36.0
    else:
        y, room = y + 12.6, 14.6
    text = [told.sentence, told.watch] if told.watch else [told.sentence]
    size = next(
        (s for s in (7.0, 6.5, 6.0, 5.5) if 1.3 * s * MM_PER_POINT * _count(page, text, right - left, s) <= room), 5.0
    )
    for line in (line for part in text for line in page.wrapped(part, right - left, size)):
        page.words(left, y + 0.9 * 1.3 * size * MM_PER_POINT, line, size)
        y += 1.3 * size * MM_PER_POINT


def _count(page: Page, texts: Sequence[str], width: float, size: float) -> int:
    return sum(len(page.wrapped(text, width, size)) for text in texts)


def _template(page: Page, scenario: Scenario, takes: Sequence[Take]) -> None:
    page.y += 3.0
    page.room(parts.template_height(scenario))
    parts.template(page, scenario, takes)


def _feet(page: Page, scenario: Scenario) -> None:
    """The caution, the title and the page's number at the foot of each page."""
    count = page.pdf.pages_count
    for k in range(1, count + 1):
        page.back_to(k)
        y = page.height - MARGIN
        page.rule(page.left, y - 10.0, page.right, y - 10.0, 0.3, GREY)
        for i, line in enumerate(page.wrapped(words.CAUTION, page.across, TINY, True)):
            page.words(page.left, y - 7.2 + 2.9 * i, line, TINY, bold=True)
        title = page.shortened(scenario.title or "Practice sheet", page.across - 40.0, TINY)
        page.words(page.left, y, title, TINY, colour=GREY)
        page.words(page.right, y, f"page {k} of {count}", TINY, colour=GREY, across=1.0)
