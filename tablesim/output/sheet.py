"""A practice sheet to hand out: the layout to scale, where to aim, how to strike, what to watch for, boxes to tick."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from tablesim.errors import TablesimError
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.model.whole import write_whole
from tablesim.scene.look import PAPER
from tablesim.scene.shot import Shown, balls_scene, take_scene
from tablesim.scene.table import table_scene
from tablesim.study.landing import zones_of
from tablesim.study.stroke import shown_butt

from . import sheet_parts as parts
from . import sheet_results
from . import sheet_watch as watch
from . import sheet_words as words
from .page import MARGIN, MM_PER_POINT, Page, paper_size
from .sheet_drawing import DRAWING, OUTSIDE_M, drawing, frame_at, samples
from .sheet_one import one_take
from .sheet_parts import GREY, HEAD, SMALL, TINY, Column
from .sheet_words import Told

BODY, POINTS, TITLE = 9.0, 8.5, 18.0
THUMB_MM = 58.0
ZONE_MM = 4.0  # more room on a card for the words about a zone, below the pace bar
CORRECTIONS = (
    Column("", 6.0), Column("take", 38.0), Column("cue", 24.0), Column("pace m/s", 18.0, True),
    Column("turn deg", 18.0, True), Column("aim mm", 18.0, True), Column("side", 19.0),
    Column("window mm", 20.0, True), Column("bridge m", 17.0, True),
)  # fmt: skip


def sheet(
    scenario: Scenario,
    out_path: str | os.PathLike[str],
    *,
    paper: str = "a4",
    takes: Sequence[str] | None = None,
    student: bool = True,
    results: bool = False,
    caption: str = "",
) -> int:
    """Write a practice sheet as PDF, whole or not at all; returns its number of pages.

    ``paper`` is "a4" or "letter"; ``takes`` names the takes on it, all if none
    is named, in that order; ``caption`` stands under the title;
    ``student`` adds lines for name and date and boxes to tick, ``results`` the
    student's page for what comes of it before and after practice.
    TablesimError for an unknown paper or take, results without a student or a
    take, a name that does not end in .pdf, or a place that cannot be written.

    >>> ts.sheet(ts.open_scenario("two-cues"), "two-cues.pdf", takes=["wood, hard"])
    1
    """
    suffix = Path(out_path).suffix
    if suffix.lower() != ".pdf":
        raise TablesimError(f"{os.fspath(out_path)[-60:]!r}: the name must end in .pdf; got {suffix or 'no ending'!r}")
    page = lay_out(scenario, paper=paper, takes=takes, student=student, results=results, caption=caption)
    write_whole(out_path, page.data())
    return int(page.pdf.pages_count)


def lay_out(
    scenario: Scenario,
    *,
    paper: str = "a4",
    takes: Sequence[str] | None = None,
    student: bool = True,
    results: bool = False,
    caption: str = "",
    compress: bool = True,
) -> Page:
    """The finished pages; ``compress`` False leaves their drawing operators readable."""
    chosen = scenario.takes_for(takes)
    paper_size(paper)
    if results and not (student and chosen):
        raise TablesimError(
            "results: stand on the student's sheet of one take or more; ask for that, or leave them out"
        )
    told = words.told_takes(scenario, chosen)
    page = Page(paper, title=scenario.title or "Practice sheet", compress=compress)
    _heading(page, scenario, student, caption)
    if len(told) == 1:
        one_take(page, scenario, told[0], student, watch.softest(scenario, told, "this stroke"))
    else:
        _takes(page, scenario, told, student)
    if results:
        sheet_results.results(page, scenario, chosen)
    _feet(page, scenario)
    return page


def _takes(page: Page, scenario: Scenario, told: list[Told], student: bool) -> None:
    """Several takes, or none: layout and tables, what to watch for, a card a take, all their tips on one face."""
    drawing(page, scenario, told, DRAWING * page.height)
    parts.positions(page, scenario)
    _corrections(page, scenario, told)
    _watch_for(page, scenario, told)
    for one in told:
        _card(page, scenario, one, student)
    _template(page, scenario, [one.take for one in told])


def _heading(page: Page, scenario: Scenario, student: bool, caption: str) -> None:
    page.paragraph(
        scenario.title or "Practice sheet", TITLE if len(scenario.title) < 60 else 13.0, bold=True, lead=1.25
    )
    if caption.strip() and caption.strip() != scenario.title.strip():
        page.paragraph(caption, parts.HEAD)
    if student:
        parts.blanks(page, (("Name", 0.65), ("Date", 0.35)))
    page.y += 1.0
    if scenario.notes.strip():
        page.paragraph(scenario.notes, BODY)
        page.y += 2.0


def _corrections(page: Page, scenario: Scenario, told: list[Told]) -> None:
    if scenario.target is None or not told:
        return
    rows, notes = [], []
    for one in told:
        found = one.answer.correction
        if found is not None:
            rows.append(words.correction_row(one.number, one.take, found))
            notes.append(words.correction_note(one))
    parts.section(page, f"Where to aim: ball {scenario.target.ball} to {scenario.target.pocket}", 24.0)
    parts.table(page, CORRECTIONS, rows, notes)
    page.paragraph(words.signs(told), TINY, colour="#333333")


def _watch_for(page: Page, scenario: Scenario, told: list[Told]) -> None:
    found = watch.watch_for(scenario, told)
    if found:
        parts.section(page, "What to watch for", 4.06 * min(len(found), 6))
    for line in found:
        page.words(page.left + 1.0, page.y + 3.2, "•", POINTS)
        page.paragraph(line, POINTS, indent=5.0)
    page.y += 4.0


def _card(page: Page, scenario: Scenario, told: Told, student: bool) -> None:
    """A take: its lines in small, the ball's face, the pace, what happens, and boxes to tick."""
    high = 54.0 + _zone_mm(scenario) if student else 45.0
    page.room(high)
    take, top, x = told.take, page.y, page.left
    page.rule(page.left, top, page.right, top, 0.7)
    end = page.words(x, top + 5.0, page.shortened(f"{told.number}  {take.name}", 100.0, HEAD, True), HEAD, bold=True)
    how = f"cue {scenario.cue_name_of(take)}, butt {shown_butt(scenario, take):g}°, {take.stroke} stroke"
    page.words(page.right, top + 5.0, page.shortened(how, page.right - end - 4.0, SMALL), SMALL, across=1.0)
    _thumbnail(page, scenario, told, x, top + 8.0)
    boxes = parts.BOXES_MM if student else 0.0
    inner = page.right - boxes - (5.0 if student else 0.0)
    _stroke(page, scenario, told, x + THUMB_MM + 4.0, inner, top + 8.0)
    if student:
        parts.tick_boxes(page, page.right - boxes, top + 7.5, parts.box_names(scenario, told.cushions))
    page.y = top + high


def _thumbnail(page: Page, scenario: Scenario, told: Told, x: float, y: float) -> None:
    size = scenario.table.surface
    scale = min(THUMB_MM / (size.length_m + 2.0 * OUTSIDE_M), 34.0 / (size.width_m + 2.0 * OUTSIDE_M))
    wide, high = scale * (size.length_m + 2.0 * OUTSIDE_M), scale * (size.width_m + 2.0 * OUTSIDE_M)
    scene = table_scene(scenario.table.edge, PAPER)
    scene += take_scene(scenario, told.answer, 0, Shown(corrected=not told.cushions, labels=False), PAPER)
    with page.clipped(x, y, wide, high):
        page.paint(scene + balls_scene(scenario), frame_at(scenario, scale, x, y, 0.6 * MM_PER_POINT))
    samples(page, x, y + high + 3.0, told, TINY)


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
        y, room = y + 12.6, 14.6 + _zone_mm(scenario)
    text = [told.sentence, told.watch] if told.watch else [told.sentence]
    size = next(
        (s for s in (7.0, 6.5, 6.0, 5.5) if 1.3 * s * MM_PER_POINT * _count(page, text, right - left, s) <= room), 5.0
    )
    for line in (line for part in text for line in page.wrapped(part, right - left, size)):
        page.words(left, y + 0.9 * 1.3 * size * MM_PER_POINT, line, size)
        y += 1.3 * size * MM_PER_POINT


def _zone_mm(scenario: Scenario) -> float:
    return ZONE_MM if zones_of(scenario) else 0.0


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
