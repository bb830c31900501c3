"""Cards and protractor for a table that is to be measured; zones, minus signs and lines on sheets."""

from __future__ import annotations

import io
import math
import re
from pathlib import Path

import pytest
from drawn import Drawn, Stroke, crosses, recorded
from pypdf import PdfReader
from typer.testing import CliRunner

from tablesim.commands import app
from tablesim.errors import TablesimError
from tablesim.model.gear import BallSet
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Mark
from tablesim.output.page import MM_PER_POINT, Page
from tablesim.output.sheet import lay_out
from tablesim.output.sheet_measuring import CARDS, measuring_pages, measuring_sheets
from tablesim.output.sheet_watch import watch_for
from tablesim.output.sheet_words import told_takes
from tablesim.resources import open_scenario, ready_scenarios
from tablesim.view.document.measuring import TESTS

TWO = open_scenario("two-cues")
ZONES = [
    Mark(kind="zone", at=(2.3004, 0.3127), radius_m=0.1873, text="landing"),
    Mark(kind="zone", at=(1.31, 0.9), radius_m=0.06),
    Mark(kind="label", at=(1.0, 1.0), text="a label"),
    Mark(kind="arrow", at=(0.4, 0.3), to=(0.9, 0.4), text="run here"),
]
ZONED = TWO.change(marks=ZONES)


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Drawn:
    return recorded(monkeypatch)


def text_of(page: Page) -> str:
    return "\n".join(one.extract_text() for one in PdfReader(io.BytesIO(page.data())).pages)


# --- lines and words


def test_a_line_through_words_is_noticed(drawn: Drawn) -> None:
    page = Page("a4")
    page.words(20.0, 50.0, "struck", 12.0)
    page.rule(15.0, 48.5, 60.0, 48.5)
    page.rule(15.0, 70.0, 60.0, 70.0)
    page.words(20.0, 71.0, "under", 12.0)
    page.rule(15.0, 90.0, 60.0, 90.0)
    page.box(18.0, 80.0, 60.0, 20.0, 0.0, fill="#ffffff")
    page.words(20.0, 91.0, "covered", 12.0)
    page.words(20.0, 110.0, "free", 12.0)
    page.rule(15.0, 110.5, 60.0, 110.5)
    page.data()  # which closes the letters' files
    assert drawn.struck() == ["struck", "under"]
    assert not crosses(
        Stroke(1, (0.0, 5.0, 10.0, 5.0), (0.0, 0.0, 2.0, 9.0), 0), (3.0, 4.0, 8.0, 6.0)
    )  # not seen there


@pytest.mark.parametrize("name", sorted(ready_scenarios()))
def test_no_line_runs_through_words_on_any_sheet(name: str, drawn: Drawn) -> None:
    scenario = open_scenario(name)
    lay_out(scenario, results=True, caption="As it was shown").data()
    assert len(drawn.words) > 200
    assert drawn.struck() == []
    drawn.clear()
    lay_out(scenario.change(marks=ZONES), takes=[scenario.takes[-1].name], paper="letter").data()
    assert {"landing", "run here"} <= {words.text for words in drawn.words}
    assert drawn.struck() == []


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_line_runs_through_words_on_a_card(paper: str, drawn: Drawn) -> None:
    page = measuring_pages(paper, BallSet())
    page.data()
    assert drawn.struck() == []
    for words in drawn.words:
        left, top, right, bottom = words.box
        assert left >= page.left - 0.1
        assert top >= page.top - 0.1
        assert right <= page.right + 0.1
        assert bottom <= page.height - 12.0
    assert any(words.text == "20°" for words in drawn.words)


# --- the sheet's words


def test_zones_are_listed_where_they_lie() -> None:
    """Centre and radius read back from the file, within 0.1 mm."""
    for takes in (None, ["wood, hard"]):
        text = text_of(lay_out(ZONED, takes=takes)).replace("\n", " ")
        for name, zone in (("landing", ZONES[0]), ("2", ZONES[1])):
            found = re.search(rf"zone {name}, radius ([\d.]+) mm\s+([\d.]+)\s+([\d.]+)\s+([\d.]+)\s+([\d.]+)", text)
            assert found is not None
            radius, along, across, x, y = (float(part) for part in found.groups())
            assert (x, y, radius) == pytest.approx([1000.0 * v for v in (*zone.at, zone.radius_m or 0.0)], abs=0.0501)
            assert (along, across) == pytest.approx([v / (2.54 / 8.0) for v in zone.at], abs=0.00501)


def test_figures_have_true_minus_signs() -> None:
    text = text_of(lay_out(TWO))
    assert "−366.1" in text
    assert re.findall(r"(?<![\w-])-\d", text) == []


def test_title_caption_and_the_order_of_takes() -> None:
    order = ["wood, soft", "low-squirt, hard", "wood, hard"]
    text = text_of(lay_out(TWO, takes=order, caption="Look at the wooden shaft"))
    assert text.index(TWO.title) < text.index("Look at the wooden shaft") < text.index("Where the balls lie")
    places = [text.index(f"{k}  {name}") for k, name in enumerate(order, 1)]
    assert places == sorted(places)
    assert text_of(lay_out(TWO, caption=TWO.title)).count(TWO.title) == text_of(lay_out(TWO)).count(TWO.title)


def test_a_scene_hands_out_title_caption_and_its_takes_first(tmp_path: Path) -> None:
    file = tmp_path / "a.pdf"
    done = CliRunner().invoke(app, ["sheet", "when-to-aim-elsewhere#1", str(file)])
    assert done.exit_code == 0, done.output
    from tablesim.resources import opened

    found = opened("when-to-aim-elsewhere#1")
    text = "\n".join(page.extract_text() for page in PdfReader(file).pages)
    assert found.kept.caption[:20] in text
    if found.scenario.title:
        assert found.scenario.title in text
    assert found.takes is not None
    assert f"1  {found.takes[0]}" in text


def test_what_to_watch_for_tells_of_cue_ball_and_zone() -> None:
    def told(scenario: Scenario, word: str) -> list[str]:
        return [line for line in watch_for(scenario, told_takes(scenario, scenario.takes)) if line.startswith(word)]

    (line,) = told(TWO, "Cue ball")
    assert line.startswith("Cue ball, as aimed, stops at ")
    assert "8.1" not in line
    assert line.endswith("in take 6.")
    end = told_takes(TWO, TWO.takes[:1])[0].answer.aimed
    assert end is not None
    assert end.cue_ball.end_m is not None
    zone = TWO.change(marks=[Mark(kind="zone", at=end.cue_ball.end_m, radius_m=0.05)])
    (line,) = told(zone, "Zone")
    assert re.fullmatch(
        r"Zone, as aimed: the cue ball stops in a zone in take 1, stops up to \d+ mm outside in takes 2 to 6\.", line
    )
    assert "stops in a zone in take 5" in told(TWO.change(marks=ZONES[:1]), "Zone")[0]


# --- cards and protractor


def test_every_test_of_the_window_has_a_card_with_its_numbers() -> None:
    assert [card.test for card in CARDS] == list(TESTS)
    for card in CARDS:
        test = TESTS[card.test]
        assert card.setting == tuple((entry.name, entry.unit, entry.start) for entry in test.numbers)
        for reading, _ in test.readings:
            assert reading in card.columns


@pytest.mark.parametrize("card", CARDS, ids=lambda card: card.test)
def test_the_command_on_a_card_is_one_that_works(card: object) -> None:
    values = {"MM": "10", "M": "0.9", "M/S": "4", "DEG": "3"}
    command = card.command  # type: ignore[attr-defined]
    words = [values.get(word, word) for word in command.split()]
    if words[2] == "balls":
        words[words.index("--cut") + 1] = "50"
    done = CliRunner().invoke(app, words[1:])
    assert done.exit_code == 0, done.output
    assert "measured" in done.output


def test_the_sheets_say_all_and_the_protractor_is_true(drawn: Drawn, monkeypatch: pytest.MonkeyPatch) -> None:
    circles: list[tuple[float, float, float]] = []
    monkeypatch.setattr(Page, "round", lambda self, x, y, r, *how, **more: circles.append((x, y, r)))
    balls = BallSet(diameter_m=0.0524)
    text = text_of(measuring_pages("a4", balls)).replace("\n", " ")
    for card in CARDS:
        assert card.command in text
        assert card.steps[0][:40] in text
    assert "52.40 mm across" in text
    (x, y, radius), (_, below, other) = circles
    assert (radius, other, below - y) == pytest.approx((26.2, 26.2, 52.4))
    last = max(stroke.page for stroke in drawn.strokes)
    rays = [s.ends for s in drawn.strokes if s.page == last and math.dist(s.ends[:2], (x, y)) < radius + 2.0]
    rays = [r for r in rays if math.dist(r[:2], (x, y)) > radius]
    headings = sorted(round(math.degrees(math.atan2(r[2] - x, y - r[3])), 6) for r in rays)
    assert len({h % 360.0 for h in headings}) == 360
    long = [r for r in rays if math.dist(r[2:], (x, y)) > 100.0]
    assert sorted(round(math.degrees(math.atan2(r[2] - x, y - r[3]))) for r in long) == list(range(-20, 21))
    for x1, y1, x2, y2 in rays:  # all from the centre
        assert abs((x1 - x) * (y2 - y) - (x2 - x) * (y1 - y)) < 1e-6
    assert any(abs(s.ends[2] - s.ends[0]) == pytest.approx(150.0) for s in drawn.strokes if s.page == last)


def test_the_ruler_is_150_mm_in_the_file(tmp_path: Path) -> None:
    drawing = (
        PdfReader(io.BytesIO(measuring_pages("letter", BallSet(), compress=False).data())).pages[-1].get_contents()
    )
    assert drawing is not None
    found = re.findall(r"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S", drawing.get_data().decode("latin-1"))
    assert any(abs(float(a) - float(c)) * MM_PER_POINT == pytest.approx(150.0, abs=0.02) for a, _, c, _ in found)


def test_what_cannot_be_written_is_told(tmp_path: Path) -> None:
    for out, paper, message in (
        ("a.txt", "a4", "must end in .pdf; got '.txt'"), ("a.pdf", "a5", "paper: unknown paper 'a5'"),
        ("no/a.pdf", "a4", "cannot be written"),
    ):  # fmt: skip
        with pytest.raises(TablesimError, match=message):
            measuring_sheets(tmp_path / out, paper=paper)
    assert list(tmp_path.iterdir()) == []
    assert measuring_sheets(tmp_path / "a.pdf") == 3
