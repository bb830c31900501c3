"""The drawn parts of a practice sheet: tables, the ball's face, the pace bar, boxes to tick, the true-size template."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics.strike import miscue_offset
from tablesim.study.landing import zones_of
from tablesim.units import MPH_M_S, PACE_WORDS

from .page import CAPITAL, MM_PER_POINT, Page
from .sheet_words import cut_deg, named, position_rows, thickness

HEAD, SMALL, TINY = 11.0, 7.5, 6.5  # letters [points]
GREY, PALE = "#666666", "#bbbbbb"
SLOWEST, FASTEST = 0.4, 13.0  # ends of the pace bar [m/s]
TRIES = 10
PRINT_TRUE = (
    "Print at 100 % (“actual size”, not “fit to page”): this line is 150 mm long. If it is not, the circle is not true"
    " either."
)
RULER_MM = 150.0
BOXES_MM, BOXES_HIGH_MM = 42.0, 42.4  # ten rows of boxes to tick
TEMPLATE_TOP, TEMPLATE_BELOW = 15.0, 29.0  # room over and under the true-size face [mm]


@dataclass(frozen=True)
class Column:
    """A column of a table: its heading, width [mm], and whether it holds numbers."""

    head: str
    width: float
    numeric: bool = False


POSITIONS = (
    Column("diamonds", 14.5, True), Column("diamonds", 14.5, True), Column("mm", 14.5, True), Column("mm", 14.5, True),
)  # fmt: skip


def middle(y: float, size: float) -> float:
    """Base line [mm] of letters of ``size`` points whose capitals stand about ``y``."""
    return y + 0.5 * CAPITAL * size * MM_PER_POINT


def table(
    page: Page, columns: Sequence[Column], rows: Sequence[Sequence[str]], notes: Sequence[str] = (), left: float = 0.0
) -> None:
    """A table from the page's ``y`` on, ``left`` mm in; its head stands again on each page; a note goes below a row."""
    step = 4.2
    page.room(3.0 * step)
    _head(page, columns, left, step)
    for k, row in enumerate(rows):
        cells = [page.wrapped(t, c.width - 2.0, SMALL) for t, c in zip(row, columns, strict=True)]
        note = page.wrapped(notes[k], sum(c.width for c in columns) - 14.0, TINY) if notes and notes[k] else []
        high = step * max(len(c) for c in cells) + 3.4 * len(note)
        if page.room(high):
            _head(page, columns, left, step)
        x = page.left + left
        for lines, column in zip(cells, columns, strict=True):
            for i, line in enumerate(lines):
                at = x + column.width - 2.0 if column.numeric else x
                base = middle(page.y + (i + 0.5) * step, SMALL)
                page.words(at, base, line, SMALL, across=1.0 if column.numeric else 0.0)
            x += column.width
        below = page.y + high - 3.4 * len(note)
        for i, line in enumerate(note):
            page.words(page.left + left + 7.0, middle(below + (i + 0.4) * 3.4, TINY), line, TINY, colour="#333333")
        page.y += high
        page.rule(page.left + left, page.y, x - 2.0, page.y, 0.25, PALE)
    page.y += 1.0


def _head(page: Page, columns: Sequence[Column], left: float, step: float) -> None:
    x = page.left + left
    for column in columns:
        at = x + column.width - 2.0 if column.numeric else x
        base = middle(page.y + 0.5 * step, TINY)
        page.words(at, base, column.head, TINY, bold=True, across=1.0 if column.numeric else 0.0)
        x += column.width
    page.y += step
    page.rule(page.left + left, page.y, x - 2.0, page.y, 0.7)


def section(page: Page, text: str, room: float) -> None:
    """A heading that does not stand alone at the foot of a page."""
    page.y += 1.5
    page.room(room + 7.5)
    page.words(page.left, page.y + 5.0, text, HEAD, bold=True)
    page.y += 7.5


def positions_width(page: Page, scenario: Scenario) -> float:
    """Width [mm] of a table of where balls and zones lie, in one set of columns."""
    longest = max(page.width_of(row[0], SMALL) for row in position_rows(scenario))
    return min(max(longest + 3.0, 16.0), 80.0) + sum(c.width for c in POSITIONS)


def positions(page: Page, scenario: Scenario) -> None:
    """All balls, then a drill's zones, in as many columns as fit the page, in the order of the file."""
    rows, wide = position_rows(scenario), positions_width(page, scenario) + 4.0
    columns = (Column("ball", wide - 4.0 - sum(c.width for c in POSITIONS)), *POSITIONS)
    rows = [[page.shortened(row[0], columns[0].width - 2.0, SMALL), *row[1:]] for row in rows]
    sets = max(1, min(int((page.across + 4.0) // wide), len(rows)))
    each = math.ceil(len(rows) / sets)
    section(
        page, f"Where the balls lie{', and the zones' if zones_of(scenario) else ''}", min(4.4 * each + 12.0, 120.0)
    )
    page.paragraph(
        "Centres, from the nose of the head rail, then from the nose of the right rail as seen from the head end.",
        SMALL,
    )
    top, lowest, number = page.y, page.y, page.pdf.page
    for k in range(sets):
        page.y = top
        table(page, columns, rows[k * each : (k + 1) * each], left=k * wide)
        lowest = max(lowest, page.y) if page.pdf.page == number else page.y
    page.y = lowest


def face(page: Page, x: float, y: float, radius: float, scenario: Scenario, take: Take) -> None:
    """The cue ball seen along the cue: cross lines, clock marks, the miscue ring, the contact and the tip about it."""
    blank_face(page, x, y, radius, miscue_offset(scenario.cue_of(take).tip_friction))
    right, up = take.tip.right, take.tip.up
    page.round(x + right * radius, y - up * radius, max(0.07 * radius, 0.8), 0.0, fill="#000000")


def blank_face(page: Page, x: float, y: float, radius: float, ring: float) -> None:
    """The ball's face without a contact."""
    page.rule(x - radius, y, x + radius, y, 0.3, PALE)
    page.rule(x, y - radius, x, y + radius, 0.3, PALE)
    for k in range(12):
        u, v = math.sin(math.radians(30.0 * k)), math.cos(math.radians(30.0 * k))
        page.rule(x + 0.92 * radius * u, y - 0.92 * radius * v, x + radius * u, y - radius * v, 0.4, GREY)
    page.round(x, y, ring * radius, 0.5, GREY, dash=0.8)
    page.round(x, y, radius, 0.9)


def pace_bar(page: Page, x: float, y: float, width: float, pace_m_s: float) -> None:
    """The trade's words for pace on a bar, with m/s above and mph below, and a mark at this pace; 13 mm high."""

    def at(pace: float) -> float:
        share = math.log(max(pace, SLOWEST) / SLOWEST) / math.log(FASTEST / SLOWEST)
        return x + width * min(max(share, 0.0), 1.0)

    low, top, high = SLOWEST, y + 5.0, 3.6
    for k, (limit, word) in enumerate(PACE_WORDS):
        left, right = at(low), at(min(limit, FASTEST))
        page.box(left, top, right - left, high, 0.4, GREY, "#eeeeee" if k % 2 else None)
        if page.width_of(word, 6.0) < right - left:
            page.words((left + right) / 2.0, middle(top + high / 2.0, 6.0), word, 6.0, across=0.5)
        low = limit
    for ticks, unit, base, factor in (
        ((0.5, 1.0, 2.0, 4.0, 8.0), "m/s", top - 3.4, 1.0),
        ((1.0, 2.0, 4.0, 8.0, 16.0), "mph", top + high + 2.4, MPH_M_S),
    ):
        for k, value in enumerate(ticks):
            words = f"{value:g} {unit}" if k == len(ticks) - 1 else f"{value:g}"
            page.words(at(value * factor), base, words, 5.0, colour=GREY, across=0.5)
    here = at(pace_m_s)
    page.pdf.set_fill_color("#000000")
    page.outline([(here - 1.3, top - 2.6), (here + 1.3, top - 2.6), (here, top - 0.3)], None, "#000000", True)


def box_names(scenario: Scenario, cushions: int) -> tuple[str, ...]:
    """What can become of a try: in, missed left or right, and which of these is thick or thin; the zone, if any.

    By ``cushions`` the cut is another one; without a target there is as planned, or not.
    """
    names: tuple[str, ...] = ("as planned", "not")
    if scenario.target is not None:
        cut = None if cushions else cut_deg(scenario)
        ways = (("left", thickness(cut, 1000.0)), ("right", thickness(cut, -1000.0)))
        names = ("in", *(f"{side}, {thick}" if thick else side for side, thick in ways))
    return (*names, "zone") if zones_of(scenario) else names


def tick_boxes(page: Page, x: float, y: float, names: Sequence[str]) -> None:
    """Boxes for ten tries in columns of those names, ``BOXES_MM`` wide in all."""
    names, row = ("try", *names), 3.9
    widths = [page.width_of(name, 6.0, k > 0) for k, name in enumerate(names)]
    gap = (BOXES_MM - sum(widths)) / len(names)
    ends = list(accumulate((wide + gap for wide in widths), initial=x))
    middles = [0.5 * (left + right) for left, right in pairwise(ends)]
    for k, name in enumerate(names):
        page.words(middles[k], y + 2.2, name, 6.0, across=0.5, bold=k > 0)
    for i in range(TRIES):
        middle_y = y + 3.4 + (i + 0.5) * row
        page.words(middles[0], middle(middle_y, 6.0), str(i + 1), 6.0, across=0.5)
        for at in middles[1:]:
            page.box(at - 1.4, middle_y - 1.4, 2.8, 2.8, 0.4, GREY)


def blanks(page: Page, labels: Sequence[tuple[str, float]]) -> None:
    """Blank lines to write on, side by side: (label, share of the width)."""
    page.y += 5.5
    x = page.left
    for label, share in labels:
        wide = share * page.across
        end = page.words(x, page.y, label, SMALL)
        page.rule(end + 1.5, page.y + 0.4, x + wide - 4.0, page.y + 0.4, 0.4, GREY)
        x += wide
    page.y += 2.4


@dataclass(frozen=True)
class TipContact:
    """Where one or more takes strike, by their numbers; ``tip_mm`` is the tip's radius, ``shift`` the cue's axis."""

    right: float
    up: float
    tip_mm: float
    shift: float
    numbers: tuple[int, ...]


def contacts(scenario: Scenario, takes: Sequence[Take]) -> list[TipContact]:
    """The takes' contacts, those at the same place with the same tip together, highest and outermost first."""
    found: dict[tuple[float, float, float, float], list[int]] = {}  # right, up, radius of tip, shift: takes
    radius = scenario.ball_set.radius_m(CUE_BALL)
    for k, take in enumerate(takes, 1):
        cue = scenario.cue_of(take)
        key = (take.tip.right, take.tip.up, 500.0 * cue.tip_diameter_m, 1.0 + cue.tip_radius_m / radius)
        found.setdefault(key, []).append(k)
    keys = sorted(found, key=lambda key: (-key[1], -abs(key[0])))
    return [TipContact(*key, tuple(found[key])) for key in keys]


def template_height(scenario: Scenario) -> float:
    """Room [mm] that the true-size template takes."""
    return TEMPLATE_TOP + 2000.0 * scenario.ball_set.radius_m(CUE_BALL) + TEMPLATE_BELOW


def template(page: Page, scenario: Scenario, takes: Sequence[Take]) -> None:
    """The cue ball's face at true size with the takes' contacts, and a line of 150 mm to check the print."""
    radius = 1000.0 * scenario.ball_set.radius_m(CUE_BALL)
    page.words(page.left, page.y + 5.0, "Tip positions at true size", 11.0, bold=True)
    page.words(page.left, page.y + 10.0, face_words(scenario), SMALL)
    page.y += TEMPLATE_TOP
    x, y = page.left + page.across / 2.0, page.y + radius
    rings = [miscue_offset(scenario.cue_of(take).tip_friction) for take in takes]
    blank_face(page, x, y, radius, min(rings, default=miscue_offset(next(iter(scenario.cues.values())).tip_friction)))
    found = contacts(scenario, takes)
    _label_contacts(page, x, y, radius, found)
    page.y += 2.0 * radius + 5.0
    page.words(page.left + page.across / 2.0, page.y, tip_words(found), SMALL, across=0.5)
    ruler(page)


def _label_contacts(page: Page, x: float, y: float, radius: float, found: Sequence[TipContact]) -> None:
    """Dots with the tips' outlines, and the takes' numbers beside the ball, a line leading to each."""
    for side in (-1.0, 1.0):
        mine = [c for c in found if (c.right < 0.0) == (side < 0.0)]
        gap = min(7.0, 2.0 * radius / max(len(mine), 1))
        place = y - radius
        for c in mine:
            cx, cy = x + c.right * radius, y - c.up * radius
            contact_mark(page, x, y, radius, c)
            place = max(cy, place)
            edge = x + side * (radius + 5.0)
            page.rule(cx, cy, edge, place, 0.3, GREY)
            words = page.shortened(named(list(c.numbers)), page.across / 2.0 - radius - 7.0, SMALL)
            page.words(
                edge + side * 1.0, middle(place, SMALL), words, SMALL, bold=True, across=0.0 if side > 0 else 1.0
            )
            place += gap


def contact_mark(page: Page, x: float, y: float, radius: float, c: TipContact) -> None:
    """A dot where the tip touches the face about (x, y), and the tip's outline."""
    page.round(x + c.shift * c.right * radius, y - c.shift * c.up * radius, c.tip_mm, 0.4, GREY)
    page.round(x + c.right * radius, y - c.up * radius, 0.9, 0.0, fill="#000000")


def face_words(scenario: Scenario) -> str:
    """What the true-size face shows, and how large it is."""
    diameter = f"{2000.0 * scenario.ball_set.radius_m(CUE_BALL):.2f}".rstrip("0").rstrip(".")
    return (
        f"The cue ball seen along the cue. The circle is {diameter} mm across, as the ball is. Dashes: the miscue ring."
    )


def tip_words(found: Sequence[TipContact]) -> str:
    """What the marks of the contacts mean; empty where there is none."""
    sizes = sorted({f"{2.0 * c.tip_mm:.1f}" for c in found})
    if not sizes:
        return ""
    return f"Dot: where the tip touches the ball. Circle: the tip's outline, {' and '.join(sizes)} mm across."


def ruler(page: Page) -> None:
    """A line of 150 mm with a mark each 5 mm, in the middle of the page."""
    x, y = page.left + (page.across - RULER_MM) / 2.0, page.y + 8.0
    page.rule(x, y, x + RULER_MM, y, 0.6)
    for k in range(int(RULER_MM / 5.0) + 1):
        long_one = k % 2 == 0
        page.rule(x + 5.0 * k, y, x + 5.0 * k, y - (3.0 if long_one else 1.8), 0.4)
        if long_one:
            page.words(x + 5.0 * k, y - 3.8, str(5 * k), 6.0, across=0.5)
    page.y = y + 2.5
    for line in page.wrapped(PRINT_TRUE, RULER_MM, SMALL):
        page.words(x, page.y + 2.5, line, SMALL)
        page.y += 4.0
