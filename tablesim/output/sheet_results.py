"""The student's results before and after practice, beside each other: boxes to tick, totals, the change."""

from __future__ import annotations

from collections.abc import Sequence

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.study.landing import zones_of
from tablesim.units import pace_word

from .page import Page
from .sheet_parts import GREY, PALE, SMALL, TINY, TRIES, blanks, middle

HOW = (
    "Ten tries of each take before you practise, ten when you have practised; tick one box a try{zone}. {misses}Then"
    " sum up: the change is after less before."
)
ZONE = ", and that of the zone if the cue ball stops in it"
MISSES = "Left and right: of the pocket, as the ball travels. "
LABELS_MM, STEP_MM, TOTAL_MM, CHANGE_MM = 22.0, 5.4, 11.0, 15.0
ROW_MM, BOX_MM = 4.7, 3.6
HEAD_MM, TITLE_MM, BELOW_MM = 14.0, 5.0, 2.2
ONE_MM, ABOVE_MM = 75.0, 10.0  # room for one take with all that stands over it, and the gap before that
BLOCK_MM = TRIES * STEP_MM + TOTAL_MM


def results(page: Page, scenario: Scenario, takes: Sequence[Take]) -> None:
    """Two blocks of ten tries a take, what became of them, totals and the change: on a page of its own, or more.

    One take's go below what there is if there is room.
    """
    names: tuple[str, ...] = ("in", "left", "right") if scenario.target is not None else ("as planned", "not")
    zone = bool(zones_of(scenario))
    if zone:
        names = (*names, "in the zone")
    if len(takes) > 1:
        page.new_page()
    elif not page.room(ONE_MM + (ROW_MM if zone else 0.0)):
        page.y += ABOVE_MM
    page.paragraph(f"Before and after: {scenario.title or 'results'}", 13.0, bold=True, lead=1.25)
    blanks(page, (("Name", 1.0),))
    page.y += 1.5
    page.paragraph(HOW.format(misses=MISSES if scenario.target is not None else "", zone=ZONE if zone else ""), SMALL)
    _heads(page)
    high = TITLE_MM + ROW_MM * len(names) + BELOW_MM
    for k, take in enumerate(takes, 1):
        if page.room(high):
            _heads(page)
        how = f"cue {scenario.cue_name_of(take)}, {pace_word(take.pace_m_s)} pace, {take.pace_m_s:.2f} m/s"
        _rows(page, f"{k}  {take.name}" if len(takes) > 1 else take.name, how, names, TRIES)
    if len(takes) > 1:
        if page.room(high):
            _heads(page)
        _rows(page, "all takes", "", names, 0)


def _blocks(page: Page) -> tuple[float, float, float]:
    """Left edges [mm] of the block before, the block after and the column of the change."""
    before, change = page.left + LABELS_MM, page.right - CHANGE_MM
    return before, 0.5 * (before + change), change


def _heads(page: Page) -> None:
    """Names and date lines of the blocks, numbers of the tries."""
    before, after, change = _blocks(page)
    top, low = page.y + 5.5, page.y + HEAD_MM - 2.5
    for word, left in (("Before", before), ("After", after)):
        end = page.words(left, top, word, 9.0, bold=True)
        end = page.words(end + 5.0, top, "Date", SMALL)
        page.rule(end + 1.5, top + 0.4, left + BLOCK_MM - 1.0, top + 0.4, 0.4, GREY)
        for i in range(TRIES):
            page.words(left + (i + 0.5) * STEP_MM, low, str(i + 1), 6.0, across=0.5)
        page.words(left + BLOCK_MM - 0.5 * TOTAL_MM, low, "total", 6.0, bold=True, across=0.5)
    page.words(change + 0.5 * CHANGE_MM, low, "change", 6.0, bold=True, across=0.5)
    page.y += HEAD_MM


def _rows(page: Page, title: str, how: str, names: Sequence[str], tries: int) -> None:
    """The boxes of one take: a row for each thing that can become of a try."""
    before, after, change = _blocks(page)
    page.rule(page.left, page.y, change + CHANGE_MM, page.y, 0.5, PALE)
    end = page.words(page.left, page.y + 3.6, page.shortened(title, 90.0, SMALL, True), SMALL, bold=True)
    room = change + CHANGE_MM - end - 3.0
    page.words(change + CHANGE_MM, page.y + 3.6, page.shortened(how, room, TINY), TINY, colour=GREY, across=1.0)
    page.y += TITLE_MM
    for name in names:
        y = page.y + 0.5 * ROW_MM
        page.words(before - 3.0, middle(y, SMALL), name, SMALL, across=1.0)
        for left in (before, after):
            for i in range(tries):
                page.box(left + (i + 0.5) * STEP_MM - 0.5 * BOX_MM, y - 0.5 * BOX_MM, BOX_MM, BOX_MM, 0.4, GREY)
            page.box(left + BLOCK_MM - TOTAL_MM + 1.0, y - 0.5 * BOX_MM, TOTAL_MM - 2.0, BOX_MM, 0.8)
        page.box(change + 1.0, y - 0.5 * BOX_MM, CHANGE_MM - 2.0, BOX_MM, 0.8)
        page.y += ROW_MM
    page.y += BELOW_MM
