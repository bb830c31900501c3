"""The practice sheet, read back from its PDF: figures, positions, true sizes, pages; and the commands."""

from __future__ import annotations

import io
import os
import re
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner

from tablesim.commands import handouts
from tablesim.errors import NameUnknown, ScenarioError, TablesimError
from tablesim.model.scenario import Scenario, load
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.output import sheet_words as words
from tablesim.output.page import FOOT, MARGIN, Page
from tablesim.output.sheet import lay_out, sheet
from tablesim.output.sheet_drawing import scale_for
from tablesim.output.sheet_watch import watch_for
from tablesim.resources import open_scenario
from tablesim.study.answer import answer_take
from tablesim.study.correct import correct

MM = 25.4 / 72.0


def reader_of(page: Page) -> PdfReader:
    return PdfReader(io.BytesIO(page.data()))


def text_of(reader: PdfReader) -> str:
    return "\n".join(page.extract_text() for page in reader.pages)


def drawing_of(reader: PdfReader, number: int | None = None) -> str:
    """The drawing operators of one page or all, as the uncompressed file holds them."""
    pages = reader.pages if number is None else [reader.pages[number]]
    return "\n".join(page.get_contents().get_data().decode("latin-1") for page in pages)  # type: ignore[union-attr]


def lines_mm(drawing: str) -> list[float]:
    """Lengths [mm] of all horizontal lines of one piece."""
    found = re.findall(r"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S", drawing)
    return [abs(float(x2) - float(x1)) * MM for x1, y1, x2, y2 in found if y1 == y2]


def circles_mm(drawing: str) -> list[float]:
    """Diameters [mm] of all circles: four curves that begin at the rightmost point."""
    found = []
    for match in re.finditer(r"([\d.]+) ([\d.]+) m ((?:\s*(?:[\d.]+ ){6}c)+)", drawing):
        points = [float(match[1]), *(float(c.split()[4]) for c in re.findall(r"(?:[\d.]+ ){6}c", match[3]))]
        found.append((max(points) - min(points)) * MM)
    return found


def crowd(balls: int = 22, takes: int = 12) -> Scenario:
    """Many balls and takes, long words, letters that no font has."""
    names = [str(k) for k in range(1, 16)] + [
        "a ball of a very long name indeed, forty",
        "☃\U0001f3b1",
        "x\ny",
        "\u200b",
        "中",
        "ب",
    ]
    places = {n: (0.25 + 0.17 * (k % 13), 0.5 + 0.33 * (k // 13)) for k, n in enumerate(names[: balls - 1])}
    tips = [Tip(right=0.7), Tip(), Tip(right=-0.3, up=0.2), Tip(up=-0.4)]
    played = [
        Take(name=f"{k} " + "w" * (3 * k), pace_m_s=1.0 + 0.6 * k, tip=tips[k % 4],
             aim=Aim(corrected=True) if k == 5 else Aim(heading_deg=20.0 * k) if k == 6 else Aim(toward="pocket"))
        for k in range(takes)
    ]  # fmt: skip
    return Scenario(
        balls={"cue": (0.3, 0.3), **places}, target=Target(ball="8", pocket="foot-left"), takes=played,
        title="Title\n" + "longword" * 20 + "\U0001f3b1", notes="ü → − 🎱 \u202e " + "word " * 900,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4)), ("Letter", (215.9, 279.4))]
)
def test_paper_sizes(paper: str, size: tuple[float, float]) -> None:
    """ISO 216: 210 x 297 mm; ANSI Letter: 8.5 x 11 in."""
    for page in reader_of(lay_out(open_scenario("close-to-the-ball"), paper=paper, takes=["hard"])).pages:
        assert (float(page.mediabox.width) * MM, float(page.mediabox.height) * MM) == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize("name", ["two-cues", "throw-at-thirty", "three-rails", "thin-cut-outside"])
def test_corrections_are_those_of_the_command_line(name: str) -> None:
    scenario = open_scenario(name)
    text = text_of(reader_of(lay_out(scenario))).replace("\n", " ")
    for k, (take, c) in enumerate(zip(scenario.takes, correct(scenario), strict=True), 1):
        figures = [
            str(k), c.take, c.cue, words.figure(take.pace_m_s, 2), words.figure(c.turn_deg, 3, sign=True),
            words.figure(c.aim_offset_mm, 1, sign=True), c.relative_to_english,
            words.figure(c.window_mm, 1), words.figure(c.bridge_m, 2),
        ]  # fmt: skip
        assert " ".join(figures) in text
        if c.reason:
            assert c.reason in text


def test_positions_are_those_of_the_file() -> None:
    scenario = open_scenario("opening-break")
    text = text_of(reader_of(lay_out(scenario))).replace("\n", " ")
    for name, (x, y) in scenario.balls.items():
        row = re.search(
            rf"\b{'cue ball' if name == 'cue' else name} (\d\.\d\d) (\d\.\d\d) ([\d.]+\.\d) ([\d.]+\.\d)\b", text
        )
        assert row is not None, name
        assert [float(v) for v in row.groups()[2:]] == pytest.approx([1000 * x, 1000 * y], abs=0.0501)
        assert [float(v) for v in row.groups()[:2]] == pytest.approx([x / 0.3175, y / 0.3175], abs=0.00501)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_true_sizes(paper: str) -> None:
    """Ball 2.25 in, tip 12.7 mm, ruler 150 mm, read from the drawing operators."""
    drawing = drawing_of(reader_of(lay_out(open_scenario("two-cues"), paper=paper, compress=False)))

    assert min(abs(length - 150.0) for length in lines_mm(drawing)) < 0.02
    assert min(abs(size - 57.15) for size in circles_mm(drawing)) < 0.02
    assert min(abs(size - 12.7) for size in circles_mm(drawing)) < 0.02


def test_another_cue_ball_has_another_circle() -> None:
    scenario = Scenario.model_validate(
        {"balls": {"cue": [0.5, 0.5]}, "ball_set": {"odd": {"cue": {"diameter_m": 0.0604}}}}
    )
    reader = reader_of(lay_out(scenario, compress=False))

    assert min(abs(size - 60.4) for size in circles_mm(drawing_of(reader))) < 0.02
    assert "60.4 mm across" in text_of(reader)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_layout_is_drawn_to_the_scale_it_states(paper: str) -> None:
    """The cue ball's own circle, on the layout, is its diameter over the scale; the statement says so."""
    scenario = open_scenario("two-cues")
    reader = reader_of(lay_out(scenario, paper=paper, compress=False))
    stated = re.search(r"1 : (\d+); one diamond is ([\d.]+) mm", text_of(reader))

    assert stated is not None
    scale = int(stated[1])
    assert float(stated[2]) == pytest.approx(317.5 / scale, abs=0.051)
    assert min(abs(size - 57.15 / scale) for size in circles_mm(drawing_of(reader))) < 0.02
    assert scale_for(scenario, 180.0, 500.0) == 16


def test_every_part_is_there() -> None:
    scenario = open_scenario("two-cues")
    text = text_of(reader_of(lay_out(scenario))).replace("\n", " ")

    for part in (
        scenario.title, "Name", "Date", "60 % left, 0.9 tips", "9:00 on the clock", "hard: 4.50 m/s, 10.1 mph",
        "Left english at hard pace (4.5 m/s): squirt wins.", "What to watch for", "Softest pace", "coach", "page 1 of",
        "As aimed, the ball goes left of the pocket's centre (thin) in takes 2 to 6", "try in left, thin right, thick",
        "Print at 100 %",
    ):  # fmt: skip
        assert part in text, part
    bare = text_of(reader_of(lay_out(scenario, student=False)))
    assert "Date" not in bare
    assert "right, thick" not in bare


def test_chosen_takes_only() -> None:
    text = text_of(reader_of(lay_out(open_scenario("two-cues"), takes=["wood, hard", "wood, hard"])))

    assert "wood, hard" in text
    assert "low-squirt, soft" not in text
    with pytest.raises(NameUnknown, match="did you mean 'wood, hard'"):
        lay_out(open_scenario("two-cues"), takes=["wood, hrd"])


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("student", [True, False])
def test_a_crowd_stays_on_the_pages(paper: str, student: bool) -> None:
    """22 balls, 12 takes, endless words and unknown letters: nothing is drawn off the page or over its foot."""
    page = lay_out(crowd(), paper=paper, student=student, compress=False)
    reader = reader_of(page)
    text = text_of(reader)

    assert 3 <= len(reader.pages) <= 10
    assert f"page {len(reader.pages)} of {len(reader.pages)}" in text
    assert text.count("A model is a guide") == len(reader.pages)
    places = re.findall(r"BT ([\d.-]+) ([\d.-]+) Td", drawing_of(reader))
    assert all(10.0 < float(x) * MM < page.width - 10.0 for x, _ in places)
    assert all(14.0 < float(y) * MM < page.height - 14.0 for _, y in places)
    low = [y for _, y in places if float(y) * MM < MARGIN + FOOT]
    assert len(low) == 4 * len(reader.pages)  # caution in two lines, title, page
    for drawn in (drawing_of(reader, k) for k in range(len(reader.pages))):
        foot = drawn.rsplit("\nBT ", 4)[0]
        assert re.findall(r"^([\d. ]+) r?g$", foot, re.MULTILINE)[-1] == "0"  # black again


def test_layouts_without_takes_target_or_line() -> None:
    alone = Scenario(balls={"cue": (0.5, 0.5)})
    text = text_of(reader_of(lay_out(alone)))
    assert "Practice sheet" in text
    assert "Where to aim" not in text
    beyond = open_scenario("two-cues").change(target=Target(ball="3", pocket="head-right"))
    assert "to the pocket's centre" in text_of(reader_of(lay_out(beyond))).replace("\n", " ")


def test_thick_and_thin() -> None:
    """Cut to the left, a miss to the left was cut too much: thin; to the right: thick.  Straight: neither."""
    assert words.thickness(20.0, 30.0) == words.thickness(-20.0, -30.0) == "thin"
    assert words.thickness(20.0, -30.0) == words.thickness(-20.0, 30.0) == "thick"
    assert words.thickness(0.5, 30.0) == words.thickness(20.0, 0.5) == words.thickness(None, 30.0) == ""


def test_cushion_takes_are_not_told_to_aim_straight() -> None:
    scenario = open_scenario("three-rails")
    told = words.told_takes(scenario, scenario.takes)

    assert told[0].cushions == 3
    assert "goes by 3 cushions to ball 5" in told[0].sentence
    assert "Point the cue at the left rail, 7.0 diamonds from the head rail" in told[0].watch
    assert "wins" not in told[0].sentence
    direct = open_scenario("thin-cut-outside")
    assert all(not words.by_cushions(answer_take(direct, take)) for take in direct.takes)


def test_least_room_is_said_only_where_windows_differ() -> None:
    """Two takes alike have one window; of three, those with the narrower are named together."""
    scenario = open_scenario("two-cues")
    one, wide = scenario.take_named("wood, hard"), scenario.take_named("low-squirt, soft")
    same = [one, one.model_copy(update={"name": "again"})]

    def least(takes: list[Take]) -> list[str]:
        changed = scenario.change(takes=takes)
        return [w for w in watch_for(changed, words.told_takes(changed, takes)) if w.startswith("Least room")]

    assert least(same) == []
    narrow = [wide, *same, wide.model_copy(update={"name": "narrow"})]
    window = correct(scenario.change(takes=[wide]))[0].window_mm
    assert least(narrow) == [f"Least room for error: takes 1 and 4, a window of {window:.1f} mm."]


def test_a_bridge_that_no_hand_makes_is_told() -> None:
    """Half a metre: common practice, no source."""
    scenario = open_scenario("two-cues")
    told = "A bridge longer than about half a metre cannot be made: no pivot does it there."
    for take, found in zip(scenario.takes, correct(scenario), strict=True):
        text = text_of(reader_of(lay_out(scenario, takes=[take.name]))).replace("\n", " ")
        assert (told in text) == (found.bridge_m is not None and found.bridge_m > 0.5), take.name
    assert told in text_of(reader_of(lay_out(scenario))).replace("\n", " ")


def test_numbers_run_together() -> None:
    assert words.named([2]) == "take 2"
    assert words.named([1, 2]) == "takes 1 and 2"
    assert words.named([1, 2, 3, 5]) == "takes 1 to 3 and 5"
    assert words.named([1, 3, 4, 6, 7, 8]) == "takes 1, 3, 4 and 6 to 8"


def test_lines_wrap_within_their_width() -> None:
    page = Page("a4")
    text = "short words and " + "m" * 200 + " then\nmore"
    lines = page.wrapped(text, 40.0, 9.0)

    assert all(page.width_of(line, 9.0) <= 40.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "").replace("\n", "")
    assert page.known("a\U0001f3b1\tb\ud800→") == "a? b?→"
    assert page.width_of(page.shortened("m" * 99, 30.0, 9.0), 9.0) <= 30.0
    assert page.data().startswith(b"%PDF")


def test_refusals_leave_nothing(tmp_path: Path) -> None:
    scenario = open_scenario("close-to-the-ball")
    with pytest.raises(TablesimError, match="unknown paper 'a5'"):
        sheet(scenario, tmp_path / "s.pdf", paper="a5")
    with pytest.raises(ScenarioError, match="cannot be written"):
        sheet(scenario, tmp_path / "no" / "s.pdf", takes=["hard"])
    (tmp_path / "folder.pdf").mkdir()
    with pytest.raises(ScenarioError, match="cannot be written"):
        sheet(scenario, tmp_path / "folder.pdf", takes=["hard"])
    for name, got in (("s.txt", ".txt"), ("s", "no ending"), ("pdf", "no ending")):
        with pytest.raises(TablesimError, match=rf"must end in \.pdf; got '{got}'"):
            sheet(scenario, tmp_path / name)
    assert [p.name for p in tmp_path.iterdir()] == ["folder.pdf"]


def app_of() -> object:
    import typer

    app = typer.Typer()
    app.command()(handouts.sheet)
    app.command()(handouts.layout)
    return app


def test_sheet_command(tmp_path: Path) -> None:
    out = tmp_path / "s.pdf"
    arguments = ["sheet", "two-cues", str(out), "--paper", "letter", "--take", "wood, hard", "--take", "wood, soft"]
    done = CliRunner().invoke(app_of(), [*arguments, "--no-student"])  # type: ignore[arg-type]

    assert done.exit_code == 0, done.output
    assert "print at 100 %" in done.output
    reader = PdfReader(out)
    assert len(reader.pages) == int(re.search(r": (\d+) page", done.output)[1])  # type: ignore[index]
    assert "wood, medium" not in text_of(reader)
    with_results = CliRunner().invoke(app_of(), [*arguments, "--results"])  # type: ignore[arg-type]
    assert with_results.exit_code == 0, with_results.output
    assert "Before and after" in text_of(PdfReader(out))
    assert os.listdir(tmp_path) == ["s.pdf"]  # noqa: PTH208


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_results_before_and_after_stand_beside_each_other(paper: str) -> None:
    """Six takes on one page: twice ten tries, in, left and right, their totals, the change, and those of all takes."""
    scenario = open_scenario("two-cues")
    plain = reader_of(lay_out(scenario, paper=paper))
    reader = reader_of(lay_out(scenario, paper=paper, results=True, compress=False))

    assert len(reader.pages) == len(plain.pages) + 1
    text = reader.pages[-1].extract_text().replace("\n", " ")
    for part in ("Before and after", "Name", "Before Date", "After Date", "1 2 3 4 5 6 7 8 9 10 total", "change",
                 "all takes", *(take.name for take in scenario.takes)):  # fmt: skip
        assert part in text, part
    assert text.count("1 2 3 4 5 6 7 8 9 10 total") == 2
    drawn = boxes_mm(drawing_of(reader, len(reader.pages) - 1))
    tries = [box for box in drawn if box[2] == pytest.approx(3.6, abs=0.02)]
    assert len(tries) == 6 * 3 * 2 * 10
    assert len(drawn) - len(tries) == (6 + 1) * 3 * 3
    left = {round(x, 1) for x, _, _, _ in tries}
    assert len(left) == 20  # ten columns a block
    width = float(reader.pages[-1].mediabox.width) * MM
    assert all(x >= MARGIN and x + w <= width - MARGIN + 0.01 for x, _, w, _ in drawn)
    assert all(high >= 3.5 for *_, high in drawn)  # large enough for a pencil


def boxes_mm(drawing: str) -> list[tuple[float, float, float, float]]:
    """Rectangles that are outlined: left, bottom, width, height [mm]."""
    found = re.findall(r"([\d.-]+) ([\d.-]+) ([\d.-]+) ([\d.-]+) re S", drawing)
    return [(float(x) * MM, float(y) * MM, abs(float(w)) * MM, abs(float(h)) * MM) for x, y, w, h in found]


def test_results_of_a_layout_without_target_or_of_one_take() -> None:
    alone = Scenario(balls={"cue": (0.5, 0.5)}, takes=[Take(name="lag", pace_m_s=2.0, aim=Aim(heading_deg=0.0))])
    text = reader_of(lay_out(alone, results=True)).pages[-1].extract_text().replace("\n", " ")
    assert "as planned" in text
    assert "all takes" not in text
    assert "of the pocket" not in text


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_results_of_a_crowd_stay_on_the_pages(paper: str) -> None:
    """Twelve takes go over to a second page, whose blocks have their heads again."""
    page = lay_out(crowd(), paper=paper, results=True, compress=False)
    reader = reader_of(page)
    last = [p.extract_text().replace("\n", " ") for p in reader.pages[-2:]]
    assert all("total" in text and "Date" in text for text in last)
    assert "Before and after" in last[0]
    places = re.findall(r"BT ([\d.-]+) ([\d.-]+) Td", drawing_of(reader))
    assert all(10.0 < float(x) * MM < page.width - 10.0 for x, _ in places)
    for k in (-2, -1):
        assert all(y > MARGIN + FOOT - 0.1 for _, y, _, _ in boxes_mm(drawing_of(reader, k)))


def test_results_need_a_student_and_a_take(tmp_path: Path) -> None:
    for scenario, student in ((open_scenario("two-cues"), False), (Scenario(balls={"cue": (0.5, 0.5)}), True)):
        with pytest.raises(TablesimError, match="leave them out"):
            sheet(scenario, tmp_path / "a.pdf", student=student, results=True)
    assert list(tmp_path.iterdir()) == []


def test_layout_command(tmp_path: Path) -> None:
    run = CliRunner().invoke
    printed = run(app_of(), ["layout", "two-cues"]).output  # type: ignore[arg-type]
    text, out = tmp_path / "l.txt", tmp_path / "l.json"
    text.write_text(printed.replace("Ball 3 ", "Ball 7 ").replace("ball 3", "ball 7"))
    run(app_of(), ["layout", "two-cues", "--read", str(text), "--out", str(out)])  # type: ignore[arg-type]
    found = load(out)
    assert found.target == Target(ball="7", pocket="foot-left")
    assert found.takes == open_scenario("two-cues").takes
    piped = run(app_of(), ["layout", "two-cues", "--read", "-"], input=printed)  # type: ignore[arg-type]
    assert '"low-squirt, soft"' in piped.output
    gone = run(app_of(), ["layout", "two-cues", "--read", str(tmp_path / "gone")])  # type: ignore[arg-type]
    assert "cannot be read" in str(gone.exception)
    text.write_bytes(b"\xff\xfe\xff")
    assert "UTF-8" in str(run(app_of(), ["layout", "two-cues", "--read", str(text)]).exception)  # type: ignore[arg-type]
