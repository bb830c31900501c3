"""The sheet of a single take, on one page if it fits: layout, where to aim, and the stroke beside the true-size tip."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.physics.strike import miscue_offset
from tablesim.study.stroke import shown_butt

from . import sheet_parts as parts
from . import sheet_words as words
from .page import MM_PER_POINT, Page
from .sheet_drawing import DRAWING, LEGEND_MM, NUMBERS_MM, drawing, legend, scale_for
from .sheet_parts import HEAD, SMALL, TINY, Column
from .sheet_words import Told

SMALLEST = 22  # the layout is drawn to 1 : 22 or larger: in smaller balls their numbers would need smaller letters
AIM = (
    Column("turn deg", 18.0, True), Column("aim mm", 18.0, True), Column("side", 19.0), Column("window mm", 20.0, True),
    Column("bridge m", 17.0, True),
)  # fmt: skip
AIM_MM = sum(column.width for column in AIM)
BESIDE = 6  # balls that are listed beside the aim, at most
BETWEEN = 5.0  # columns [mm]
BAR_MM = 71.0  # length of the pace bar, at most
LEAD = 1.3


def one_take(page: Page, scenario: Scenario, told: Told, student: bool, softest: str | None) -> None:
    """All but the heading: the layout as large as leaves room for the rest, or the stroke goes to a second page."""
    shares: list[Callable[[Page], None]] = [
        partial(_facts, scenario=scenario, told=told),
        partial(_card, scenario=scenario, told=told, student=student, softest=softest),
    ]
    legend_mm, *heights = heights_of(page, [partial(legend, scenario=scenario, told=[told], n=1), *shares])
    high, beside = _drawing_room(page, scenario, page.bottom - page.y - sum(heights) - NUMBERS_MM, legend_mm)
    drawing(page, scenario, [told], high, beside)
    for share, height in zip(shares, heights, strict=True):
        page.room(height - 0.01)
        share(page)


def _drawing_room(page: Page, scenario: Scenario, room: float, legend_mm: float) -> tuple[float, bool]:
    """Height [mm] for the table in ``room`` mm with its legend, and whether that stands beside it, the larger table.

    If neither leaves a table that is large enough, the height that it has on a page of its own.
    """
    most, across = DRAWING * page.height, page.across - NUMBERS_MM
    ways = [
        (scale_for(scenario, wide, min(most, high)), beside, min(most, high))
        for wide, high, beside in ((across, room - legend_mm, False), (across - LEGEND_MM, room, True))
        if high > 0.0
    ]
    n, beside, high = min(ways, default=(SMALLEST + 1, False, most))
    return (high, beside) if n <= SMALLEST else (most, False)


def heights_of(page: Page, shares: list[Callable[[Page], None]]) -> list[float]:
    """How much of the page's height [mm] each share takes, measured on a page without end."""
    heights = []
    with page.endless() as trial:
        for share in shares:
            start = trial.y
            share(trial)
            heights.append(trial.y - start)
    return heights


def _facts(page: Page, scenario: Scenario, told: Told) -> None:
    """Where the balls lie and, beside that if there is room, where to aim."""
    room = page.across - AIM_MM - BETWEEN
    if told.answer.correction is None or len(scenario.balls) > BESIDE or parts.positions_width(page, scenario) > room:
        parts.positions(page, scenario)
        _aim(page, scenario, told)
        return
    top = page.y
    with page.column(page.left, page.left + room):
        parts.positions(page, scenario)
    low, page.y = page.y, top
    with page.column(page.left + room + BETWEEN, page.right):
        _aim(page, scenario, told)
    page.y = max(low, page.y)


def _aim(page: Page, scenario: Scenario, told: Told) -> None:
    found = told.answer.correction
    if found is None or scenario.target is None:
        return
    heading = f"Where to aim: ball {scenario.target.ball} to {scenario.target.pocket}"
    parts.section(page, page.shortened(heading, page.across, HEAD, True), 24.0)
    parts.table(page, AIM, [words.correction_figures(found)], [words.correction_note(told)])
    page.paragraph(words.signs([told]), TINY, colour="#333333")


def _card(page: Page, scenario: Scenario, told: Told, student: bool, softest: str | None) -> None:
    """The ball's face at true size with the tip on it, the stroke in words, boxes to tick, and the ruler below."""
    page.y += 2.0
    top, take = page.y, told.take
    page.rule(page.left, top, page.right, top, 0.7)
    how = f"cue {scenario.cue_name_of(take)}, butt {shown_butt(scenario, take):g}°, {take.stroke} stroke"
    end = page.words(page.left, top + 5.0, page.shortened(take.name, 100.0, HEAD, True), HEAD, bold=True)
    page.words(page.right, top + 5.0, page.shortened(how, page.right - end - 4.0, SMALL), SMALL, across=1.0)
    page.y = top + 8.0
    beside = _face(page, scenario, told)
    low, right, page.y = page.y, page.right, top + 8.0
    if student:
        right -= parts.BOXES_MM + BETWEEN
        parts.tick_boxes(page, right + BETWEEN, top + 7.5, parts.box_names(scenario, told.cushions))
        low = max(low, top + 7.5 + parts.BOXES_HIGH_MM)
    with page.column(beside, right):
        _stroke(page, scenario, told, softest)
    page.y = max(low, page.y) + 1.0
    page.paragraph(
        f"True size. {parts.face_words(scenario)} {parts.tip_words(parts.contacts(scenario, [take]))}", SMALL
    )
    parts.ruler(page)


def _face(page: Page, scenario: Scenario, told: Told) -> float:
    """The face at true size at the left, with room for a tip that reaches over its edge; the right end of it [mm]."""
    radius, take = 1000.0 * scenario.ball_set.radius_m(CUE_BALL), told.take
    (contact,) = parts.contacts(scenario, [take])
    across, up = (contact.shift * radius * part for part in (contact.right, contact.up))
    left, right, over, under = (max(radius, contact.tip_mm + way) for way in (-across, across, up, -up))
    x, y = page.left + left, page.y + over
    parts.blank_face(page, x, y, radius, miscue_offset(scenario.cue_of(take).tip_friction))
    parts.contact_mark(page, x, y, radius, contact)
    page.y = y + under
    return x + right + BETWEEN


def _stroke(page: Page, scenario: Scenario, told: Told, softest: str | None) -> None:
    """Where the tip strikes, the pace, and what comes of it, down the column."""
    step = LEAD * SMALL * MM_PER_POINT
    for line in words.tip_lines(scenario, told.take):
        page.words(page.left, page.y + 2.6, page.shortened(line, page.across, SMALL), SMALL)
        page.y += step
    page.words(
        page.left, page.y + 3.6, page.shortened(words.pace_line(told.take), page.across, SMALL), SMALL, bold=True
    )
    page.y += 4.0
    parts.pace_bar(page, page.left, page.y, min(page.across, BAR_MM), told.take.pace_m_s)
    page.y += 12.6
    for text in filter(None, (told.sentence, told.watch, softest)):
        page.paragraph(text, SMALL, lead=LEAD)
