"""Sheets to take to a table that is to be measured: a card for each test, and a protractor for throw at true size."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass
from pathlib import Path

from tablesim.errors import TablesimError
from tablesim.model.gear import BallSet
from tablesim.model.whole import write_whole

from . import sheet_parts as parts
from .page import CAPITAL, MARGIN, MM_PER_POINT, Page
from .sheet_parts import GREY, PALE, SMALL, TINY

TITLE = "Measuring a table"
BODY = 8.5
ROWS, ROW_MM, HEAD_MM = 5, 5.8, 4.6
MOST_DEG, LONG_MM, SHORT_MM = 20, 118.0, 3.0  # of the protractor: its lines, how far they reach, its other marks
EVERY_DEG = 5  # a degree with its number
LAST_DEG = 120  # the last number about the ball; beyond lies the other ball's circle


@dataclass(frozen=True)
class MeasuringCard:
    """A test at the table: how it is made, what is set beforehand, what is written down each time, who reads it.

    ``setting``: (what, unit, usual number); ``columns``: heads of the blank table.
    """

    test: str
    steps: tuple[str, ...]
    setting: tuple[tuple[str, str, float], ...]
    columns: tuple[str, ...]
    command: str


BUTT = ("butt", "°", 3.0)
CARDS = (
    MeasuringCard(
        "squirt: the cue",
        (
            "Lay a line on the cloth with chalk or thread. Place the ball on it, the cue along it and level, and"
            " move the cue sideways until its tip touches the ball beside its centre.",
            "Strike firmly along the line. At the distance read how far the ball's centre is off the line,"
            " away from the side of the english.",
            "As often with right as with left english: what leans to one side is then seen for itself.",
        ),
        (("offset", "mm", 7.0), ("distance", "m", 1.8), ("pace", "m/s", 4.0), ("seconds", "s", 0.0), BUTT),
        ("english, r or l", "off, mm", "jabbed, mm"),
        "tablesim calibrate cue --offset MM --distance M --pace M/S --elevation DEG --off 34r,36l",
    ),
    MeasuringCard(
        "pivot: the cue",
        (
            "Aim centre ball at a ball straight ahead. Keep the bridge where it is, turn the back hand so that the tip"
            " comes to one side, and strike firmly.",
            "Move the bridge nearer or farther until the ball is met full again. Measure from the bridge to the centre"
            " of the cue ball.",
        ),
        (),
        ("pivot, m",),
        "tablesim calibrate cue --pivot 0.29,0.31",
    ),
    MeasuringCard(
        "slow roll: the cloth",
        (
            "Make a mark across the way and let a ball roll slowly past it, so that it stops before any rail.",
            "Start the watch as it passes the mark, stop it as the ball stops; measure from the mark to the ball.",
            "Half of the rolls the other way: a slope adds to one and takes from the other.",
        ),
        (("distance", "m", 2.0),),
        ("distance, m", "seconds"),
        "tablesim calibrate cloth --roll 2.00,6.4 --roll 2.10,6.3",
    ),
    MeasuringCard(
        "stop shot: the cloth",
        (
            "Place two balls in line with free cloth between them. Strike the cue ball under its centre, full at the"
            " other, at such a pace that it stops dead where it was.",
            "Write down the gap and how far the other ball ran; it must pass no rail. Tries in which the cue ball"
            " moves on or back do not count.",
        ),
        (("low", "mm", 10.0), ("gap", "m", 0.2), BUTT),
        ("gap, m", "runs, m"),
        "tablesim calibrate cloth --low MM --elevation DEG --stop 0.20,1.70",
    ),
    MeasuringCard(
        "ramp: the rails",
        (
            "Let a ball roll down a ramp, always from the same height, past a mark with no rail in its way, and"
            " measure from the mark how far it rolls: free.",
            "Move ramp and mark straight before a rail, measure from the mark to the rail, and let it roll again: back"
            " is how far off the rail it stops.",
        ),
        (("to the rail", "m", 0.9),),
        ("free, m", "back, m"),
        "tablesim calibrate rails --free 2.2 --rail M --back 0.39,0.41",
    ),
    MeasuringCard(
        "throw: the balls",
        (
            "Freeze cue ball and object ball together; the protractor gives the line of centres. Strike centre ball"
            " along a line that makes the cut with it.",
            "Where the object ball stops, measure along the line of centres, and from that line to the side to which"
            " the cue ball goes.",
        ),
        (("cut", "°", 50.0), ("along", "mm", 1500.0)),
        ("along, mm", "off, mm"),
        "tablesim calibrate balls --cut DEG --stop 1500,62",
    ),
)


def measuring_sheets(out_path: str | os.PathLike[str], *, paper: str = "a4", balls: BallSet | None = None) -> int:
    """Write the cards and the protractor, for ``balls`` (ordinary ones if None), as PDF; returns the number of pages.

    TablesimError for an unknown paper, a name that does not end in .pdf, or a place that cannot be written.
    """
    suffix = Path(out_path).suffix
    if suffix.lower() != ".pdf":
        raise TablesimError(f"{os.fspath(out_path)[-60:]!r}: the name must end in .pdf; got {suffix or 'no ending'!r}")
    page = measuring_pages(paper, balls or BallSet())
    write_whole(out_path, page.data())
    return int(page.pdf.pages_count)


def measuring_pages(paper: str, balls: BallSet, *, compress: bool = True) -> Page:
    """The finished pages; ``compress`` False leaves their drawing operators readable."""
    page = Page(paper, title=TITLE, compress=compress)
    page.paragraph(TITLE, 18.0, bold=True, lead=1.25)
    parts.blanks(page, (("Table", 0.45), ("Cue", 0.3), ("Date", 0.25)))
    page.y += 2.0
    for card in CARDS:
        page.room(card_height(page, card))
        _card(page, card)
    page.new_page()
    protractor(page, 1000.0 * balls.diameter_m)
    return page


def card_height(page: Page, card: MeasuringCard) -> float:
    """How high [mm] a card is, measured on a page without end."""
    with page.endless() as trial:
        start = trial.y
        _card(trial, card)
        return trial.y - start


def _card(page: Page, card: MeasuringCard) -> None:
    page.rule(page.left, page.y, page.right, page.y, 0.7)
    page.words(page.left, page.y + 5.2, f"{card.test[:1].upper()}{card.test[1:]}", parts.HEAD, bold=True)
    page.y += 7.4
    for k, step in enumerate(card.steps, 1):
        page.words(page.left + 1.0, page.y + 0.8 * 1.35 * BODY * MM_PER_POINT, str(k), BODY, bold=True)
        page.paragraph(step, BODY, indent=5.0)
    _settings(page, card)
    _blank_table(page, card.columns)
    page.paragraph(f"Then: {card.command}", TINY, colour="#333333")
    page.y += 4.0


def _settings(page: Page, card: MeasuringCard) -> None:
    """What is set beforehand, with its usual number, and a line to write one's own on."""
    if not card.setting:
        return
    page.y += 5.6
    wide, x = page.across / max(len(card.setting), 3), page.left
    for what, unit, usual in card.setting:
        words = f"{what}, {unit}" + (f" ({usual:g})" if usual else "")
        end = page.words(x, page.y, words, SMALL)
        page.rule(end + 1.5, page.y + 0.4, x + wide - 3.0, page.y + 0.4, 0.4, GREY)
        x += wide
    page.y += 1.6


def _blank_table(page: Page, columns: tuple[str, ...]) -> None:
    """Rows to write on, two sets of them beside each other."""
    names, top = ("try", *columns), page.y + 1.0
    half = 0.5 * (page.across - 6.0)
    for side in range(2):
        left = page.left + side * (half + 6.0)
        wide = (half - 9.0) / len(columns)
        edges = [left, *(left + 9.0 + k * wide for k in range(len(names)))]
        for name, x in zip(names, edges, strict=False):
            page.words(x + 1.0, top + 3.6, name, TINY, bold=True)
        low = top + HEAD_MM + ROWS * ROW_MM
        for k in range(ROWS + 1):
            page.rule(left, top + HEAD_MM + k * ROW_MM, left + half, top + HEAD_MM + k * ROW_MM, 0.4, GREY)
        for x in edges[1:-1]:
            page.rule(x, top + HEAD_MM, x, low, 0.3, PALE)
        for k in range(ROWS):
            base = top + HEAD_MM + (k + 0.5) * ROW_MM + 0.5 * CAPITAL * TINY * MM_PER_POINT
            page.words(left + 1.0, base, str(side * ROWS + k + 1), TINY)
    page.y = top + HEAD_MM + ROWS * ROW_MM + 1.5


def protractor(page: Page, ball_mm: float) -> None:
    """A ball's circle at true size, with a mark each degree about it and lines to 20 degrees from the line of centres.

    ``ball_mm`` is its diameter; below it the circle of a ball frozen to it, and a ruler for the print's scale.
    """
    page.paragraph("Protractor for throw, true size", 18.0, bold=True, lead=1.25)
    page.paragraph(
        f"Lay the object ball on the solid circle, {ball_mm:.2f} mm across, and the cue ball on the dashed one: line 0"
        " is their line of centres. Take the sheet away without moving them, or draw line 0 on from its end. A"
        " ball that is thrown leaves along a line beside it; each is a degree.",
        BODY,
    )
    radius, x = 0.5 * ball_mm, page.left + 0.5 * page.across
    y = page.height - MARGIN - 24.0 - 1.5 * ball_mm
    for degree in range(-MOST_DEG, MOST_DEG + 1):
        whole = degree % EVERY_DEG == 0
        _ray(page, (x, y), degree, radius + 1.5, LONG_MM + (3.0 if whole else 0.0), 0.5 if whole else 0.2)
        if whole:
            at = _toward(x, y, degree, LONG_MM + 5.5)
            page.words(at[0], at[1], f"{abs(degree)}°", SMALL, bold=True, across=0.5)
    for degree in range(MOST_DEG + 1, 360 - MOST_DEG):
        long = SHORT_MM + (2.0 if degree % EVERY_DEG == 0 else 0.0)
        _ray(page, (x, y), degree, radius + 1.5, radius + 1.5 + long, 0.4 if degree % EVERY_DEG == 0 else 0.2)
        if degree % 30 == 0 and min(degree, 360 - degree) <= LAST_DEG:
            at = _toward(x, y, degree, radius + 11.0)
            base = at[1] + 0.5 * CAPITAL * SMALL * MM_PER_POINT
            page.words(at[0], base, f"{min(degree, 360 - degree)}°", SMALL, across=0.5)
    page.round(x, y, radius, 0.7)
    page.round(x, y + ball_mm, radius, 0.5, GREY, dash=1.0)
    page.rule(x - 3.0, y, x + 3.0, y, 0.3)
    page.rule(x, y - 3.0, x, y + 3.0, 0.3)
    page.words(x, y + 8.0, "object ball", SMALL, across=0.5)
    page.words(x, y + ball_mm + 8.0, "cue ball", SMALL, across=0.5)
    page.y = page.height - MARGIN - 20.0
    parts.ruler(page)


def _toward(x: float, y: float, degree: float, far: float) -> tuple[float, float]:
    """The place [mm] that far from another, so many degrees right of straight up the page."""
    a = math.radians(degree)
    return x + far * math.sin(a), y - far * math.cos(a)


def _ray(page: Page, centre: tuple[float, float], degree: float, start: float, end: float, width: float) -> None:
    page.rule(*_toward(*centre, degree, start), *_toward(*centre, degree, end), width)
