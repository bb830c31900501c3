"""The sheet of a single take: on one page, with all that a sheet has, at true size, in letters as large as ever."""

from __future__ import annotations

import re
from typing import Any

import pytest
from test_sheet import boxes_mm, circles_mm, crowd, drawing_of, lines_mm, reader_of, text_of

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.output.page import FOOT, MARGIN, Page
from tablesim.output.sheet import lay_out
from tablesim.output.sheet_one import SMALLEST, heights_of
from tablesim.output.sheet_words import figure
from tablesim.resources import open_scenario, ready_scenarios
from tablesim.study.correct import correct

MM = 25.4 / 72.0
PAPERS = pytest.mark.parametrize("paper", ["a4", "letter"])
STUDENT = pytest.mark.parametrize("student", [True, False])
BREAK = "opening-break"  # sixteen balls to list: a second page on Letter with boxes to tick


def one_of(name: str, place: int = -1) -> Scenario:
    """A ready scenario that keeps one take only."""
    scenario = open_scenario(name)
    return scenario.change(takes=[scenario.takes[place]])


def letters(drawing: str) -> set[float]:
    """Sizes [points] of the letters."""
    return {float(size) for size in re.findall(r"/F\d+ ([\d.]+) Tf", drawing)}


@PAPERS
@STUDENT
@pytest.mark.parametrize("name", sorted(ready_scenarios()))
def test_a_take_has_its_sheet_on_one_page(name: str, paper: str, student: bool) -> None:
    scenario = one_of(name)
    page = lay_out(scenario, paper=paper, student=student, compress=False)
    reader = reader_of(page)
    assert len(reader.pages) == (2 if (name, paper, student) == (BREAK, "letter", True) else 1)
    drawing = drawing_of(reader)
    assert min(abs(length - 150.0) for length in lines_mm(drawing)) < 0.02
    assert min(abs(size - 57.15) for size in circles_mm(drawing)) < 0.02
    assert min(abs(size - 12.7) for size in circles_mm(drawing)) < 0.02
    stated = re.search(r"1 : (\d+); one", text_of(reader).replace("\n", " "))
    assert stated is not None
    assert int(stated[1]) <= SMALLEST
    assert min(abs(size - 57.15 / int(stated[1])) for size in circles_mm(drawing)) < 0.02
    places = re.findall(r"BT ([\d.-]+) ([\d.-]+) Td", drawing)
    low = [y for _, y in places if float(y) * MM < MARGIN + FOOT - 0.1]
    assert len(low) == 4 * len(reader.pages)  # caution in two lines, title, page: nothing else


@PAPERS
@pytest.mark.parametrize("name", ["two-cues", "three-rails", BREAK])
def test_results_make_it_two_pages_at_most(name: str, paper: str) -> None:
    reader = reader_of(lay_out(one_of(name), paper=paper, results=True, compress=False))
    assert len(reader.pages) == 2
    text = reader.pages[-1].extract_text().replace("\n", " ")
    assert text.count("1 2 3 4 5 6 7 8 9 10 total") == 2
    tries = [box for box in boxes_mm(drawing_of(reader, 1)) if box[2] == pytest.approx(3.6, abs=0.02)]
    assert len(tries) == 2 * 10 * (2 if name == BREAK else 3)
    assert all(y > MARGIN + FOOT for _, y, _, _ in tries)


@PAPERS
def test_every_part_stands_on_the_page(paper: str) -> None:
    scenario = one_of("two-cues")
    reader = reader_of(lay_out(scenario, paper=paper, compress=False))
    text = text_of(reader).replace("\n", " ")
    (found,) = correct(scenario)
    figures = [figure(found.turn_deg, 3, sign=True), figure(found.aim_offset_mm, 1, sign=True), "opposite",
               figure(found.window_mm, 1), figure(found.bridge_m, 2)]  # fmt: skip
    for part in (
        scenario.title, "Name", "Date", "cue ball 2.96 1.50 939.3 477.3", "3 5.51 2.36 1750.0 750.0", " ".join(figures),
        "Where to aim: ball 3 to foot-left", "Turn: of the cue, from the plain aim", "corrected (◇)",
        "where to aim at the pocket", "wood, hard", "cue wood, butt 3°, smooth stroke", "60 % left, 0.9 tips",
        "9:00 on the clock", "hard: 4.50 m/s, 10.1 mph", "squirt wins", "354 mm left of centre, thin", "9-foot table",
        "Softest pace that still brings the ball in, with this stroke:", "try in left, thin right, thick", "True size.",
        "57.15 mm across", "12.7 mm across", "Print at 100 %", "A model is a guide", "page 1 of 1",
    ):  # fmt: skip
        assert " ".join(part.split()) in " ".join(text.split()), part
    assert "take 1" not in text.lower()  # there is no other
    ticks = [box for box in boxes_mm(drawing_of(reader)) if box[2] == pytest.approx(2.8, abs=0.02)]
    assert len(ticks) == 10 * 3
    bare = text_of(reader_of(lay_out(scenario, paper=paper, student=False)))
    assert "Date" not in bare
    assert "right, thick" not in bare


@PAPERS
@STUDENT
def test_letters_are_as_large_as_on_a_sheet_of_many_takes(paper: str, student: bool) -> None:
    """Pace bar 5 and 6 points, boxes and ruler 6, a ball's number 5.9 or more, words 6.5 or more."""
    many = letters(drawing_of(reader_of(lay_out(open_scenario("two-cues"), paper=paper, compress=False))))
    drawing = drawing_of(reader_of(lay_out(one_of("two-cues"), paper=paper, student=student, compress=False)))
    assert {5.0, 6.0, 6.5, 7.5, 11.0, 18.0} <= letters(drawing) & many
    in_balls = [float(size) for size in re.findall(r"/F\d+ ([\d.]+) Tf", drawing) if 5.0 < float(size) < 6.0]
    assert in_balls
    assert min(in_balls) >= 5.9
    assert all(size >= 6.5 for size in letters(drawing) - {5.0, 6.0, *in_balls})


def test_a_note_stands_below_the_aim() -> None:
    text = text_of(reader_of(lay_out(one_of("three-rails")))).replace("\n", " ")
    assert "the direct aim; this take goes by the cushions" in text
    assert "Point the cue at" in text


@PAPERS
@STUDENT
def test_a_crowd_with_one_take_stays_on_the_pages(paper: str, student: bool) -> None:
    scenario = crowd(takes=1)
    page = lay_out(scenario, paper=paper, student=student, compress=False)
    reader = reader_of(page)
    assert 2 <= len(reader.pages) <= 6
    places = re.findall(r"BT ([\d.-]+) ([\d.-]+) Td", drawing_of(reader))
    assert all(10.0 < float(x) * MM < page.width - 10.0 for x, _ in places)
    low = [y for _, y in places if float(y) * MM < MARGIN + FOOT - 0.1]
    assert len(low) == 4 * len(reader.pages)
    brief = reader_of(lay_out(scenario.change(notes="", title="22 balls"), paper=paper, student=student))
    assert len(brief.pages) == 2


def test_a_long_name_of_a_ball_has_the_whole_width(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its table would reach into the aim's: they stand below each other then, else side by side."""
    said: dict[str, float] = {}
    write = Page.words

    def words(page: Page, x: float, y: float, text: str, size: float, **how: Any) -> float:
        said.setdefault(text[:12], x)
        return write(page, x, y, text, size, **how)

    monkeypatch.setattr(Page, "words", words)
    scenario, long = one_of("two-cues"), "the object ball with a very long name"
    reader_of(lay_out(scenario))
    assert said["Where the ba"] == MARGIN
    assert said["Where to aim"] > MARGIN + 80.0
    said.clear()
    renamed = scenario.change(
        balls={"cue": scenario.balls["cue"], long: scenario.balls["3"]}, target=Target(ball=long, pocket="foot-left")
    )
    assert "very long name" in text_of(reader_of(lay_out(renamed)))
    assert said["Where the ba"] == said["Where to aim"] == MARGIN


@pytest.mark.parametrize("right", [-0.9, 0.9])
def test_a_tip_that_reaches_over_the_balls_edge_stays_on_the_page(right: float) -> None:
    scenario = Scenario(
        balls={"cue": (0.5, 0.5)},
        takes=[Take(name="out", pace_m_s=2.0, tip=Tip(right=right), aim=Aim(heading_deg=9.0))],
    )
    drawing = drawing_of(reader_of(lay_out(scenario, compress=False)))
    left = [
        float(match[1]) * MM - 12.7
        for match in re.finditer(r"([\d.]+) ([\d.]+) m ((?:\s*(?:[\d.]+ ){6}c)+)", drawing)
        if abs(circles_mm(match[0])[0] - 12.7) < 0.02
    ]
    assert left
    assert min(left) >= MARGIN - 0.02


def test_measuring_leaves_the_page_as_it_is() -> None:
    page = Page("letter")
    page.y = 100.0
    heights = heights_of(page, [lambda p: p.paragraph("words " * 3000, 9.0), lambda p: None])
    assert heights[0] > page.height
    assert heights[1] == 0.0
    assert (page.y, page.pdf.pages_count) == (100.0, 1)
    with page.column(20.0, 80.0), page.endless() as trial:
        assert page.across == trial.across == 60.0
    assert (page.left, page.right) == (MARGIN, page.width - MARGIN)
    assert page.data().startswith(b"%PDF")  # which also closes the fonts
