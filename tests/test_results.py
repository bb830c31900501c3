"""The table of takes: what its words and numbers say, as rows, as text and for a spreadsheet."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from conftest import known

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Mark, Take, Tip
from tablesim.physics import jit
from tablesim.resources import open_scenario
from tablesim.scene.result_words import COLUMNS, UNKNOWN, Manner, alike, result_rows, results_text
from tablesim.study.answer import answer_take
from tablesim.study.columns_text import aligned_text, csv_text
from tablesim.study.correct import correct
from tablesim.study.predict import predict
from tablesim.study.results import CSV_HEADER, compare, results_csv
from tablesim.view.answers import outcomes
from tablesim.view.answers.findings import Findings, Question
from tablesim.view.answers.outcomes import Known, further_results, known_results

TWO = open_scenario("two-cues")
PLACE = {column.heading: k for k, column in enumerate(COLUMNS)}


PLAIN = Manner()


def rows_of(scenario: Scenario, manner: Manner = PLAIN) -> list[dict[str, str]]:
    """The table, by its headings."""
    rows = result_rows(scenario, dict(enumerate(compare(scenario))), manner)
    return [{name: row[k] for name, k in PLACE.items()} for row in rows]


def test_the_table_says_what_predict_and_correct_say() -> None:
    for row, played, aim in zip(rows_of(TWO), predict(TWO), correct(TWO), strict=True):
        miss, offset = known(played.target.miss_mm), known(aim.aim_offset_mm)
        if played.target.outcome == "potted":
            assert row["as aimed"].startswith("goes in")
        else:
            assert row["as aimed"] == f"misses, {abs(miss):.0f} mm {'left' if miss > 0.0 else 'right'}"
        assert row["aim that works"] == f"{abs(offset):.0f} mm {'left' if offset > 0.0 else 'right'}"
        assert row["room"] == f"{known(aim.window_mm):.0f} mm"
        x, y = known(played.cue_ball.end_m)
        diamond = TWO.table.surface.length_m / 8.0
        assert row["cue ball"] == f"{x / diamond:.1f}, {y / diamond:.1f} diamonds"


def test_takes_that_differ_in_one_thing_read_differently() -> None:
    """Jabbed, struck lower or on the other side: never two rows alike."""
    take = TWO.takes[0]
    others = (
        take, take.model_copy(update={"name": "b", "stroke": "jab"}),
        take.model_copy(update={"name": "c", "tip": Tip(right=take.tip.right, up=-0.2)}),
        take.model_copy(update={"name": "d", "tip": Tip(right=0.25)}),
    )  # fmt: skip
    rows = [tuple(row.values())[1:5] for row in rows_of(TWO.change(takes=list(others)))]
    assert len(set(rows)) == len(rows)
    assert [row[PLACE["stroke"] - 1] for row in rows] == ["smooth", "jabbed", "smooth", "smooth"]
    assert rows[2][PLACE["english"] - 1] == "60 % left, 40 % low"


@pytest.mark.parametrize(
    ("unit", "miss", "aim", "room"),
    [
        ("mm", "misses, 354 mm left", "366 mm right", "89 mm"),
        ("inch", "misses, 13.9 in left", "14.4 in right", "3.5 in"),
        ("diamond", "misses, 1.11 diamonds left", "1.15 diamonds right", "0.28 diamonds"),
    ],
)
def test_the_persons_unit(unit: str, miss: str, aim: str, room: str) -> None:
    row = rows_of(TWO, Manner(unit))[5]
    assert (row["as aimed"], row["aim that works"], row["room"]) == (miss, aim, room)


def test_the_pace_has_its_number_with_details() -> None:
    assert rows_of(TWO)[5]["pace"] == "hard"
    assert rows_of(TWO, Manner(details=True))[5]["pace"] == "hard, 4.5 m/s"


def test_the_cue_ball_scratches_or_stops_by_a_zone() -> None:
    scratch = TWO.change(
        balls={"cue": (1.27, 0.635)}, target=None, takes=[Take(name="a", pace_m_s=2.0, aim=Aim(heading_deg=-90.0))]
    )
    assert rows_of(scratch)[0]["cue ball"] == "scratch, the right side pocket"
    end = known(predict(TWO, "wood, hard")[0].cue_ball.end_m)
    zone = Mark(kind="zone", at=end, radius_m=0.1, text="landing")
    assert rows_of(TWO.change(marks=[zone]))[5]["cue ball"] == "in the zone “landing”"


def test_without_a_target_nothing_is_said_of_a_pocket() -> None:
    """Nor as something still to come."""
    free = TWO.change(target=None, takes=[Take(name="a", pace_m_s=2.0, aim=Aim(heading_deg=10.0))])
    for rows in (result_rows(free, {}, Manner()), result_rows(free, {0: compare(free)[0]}, Manner())):
        assert [rows[0][PLACE[name]] for name in ("as aimed", "aim that works", "room")] == ["", "", ""]
    assert result_rows(TWO, {}, Manner())[0][-4:] == (UNKNOWN,) * 4


def test_why_no_aim_works_and_that_the_tip_slips() -> None:
    slips = TWO.change(takes=[Take(name="a", cue="wood", pace_m_s=2.0, tip=Tip(right=0.9))])
    row = rows_of(slips)[0]
    assert "miscue" in row["as aimed"]
    assert row["aim that works"] == known(correct(slips)[0].reason)
    assert row["room"] == row["cue ball"] == ""


def test_columns_in_which_all_takes_are_alike() -> None:
    assert alike([("a", "x", "1"), ("b", "x", "1"), ("c", "y", "1")]) == [False, False, True]
    assert alike([("a", "x")]) == [False, False]


def test_numbers_stay_numbers_for_a_spreadsheet() -> None:
    rows = list(csv.DictReader(io.StringIO(results_csv(TWO, compare(TWO)))))
    assert tuple(rows[0]) == CSV_HEADER
    for row, aim in zip(rows, correct(TWO), strict=True):
        assert float(row["aim_left_mm"]) == pytest.approx(known(aim.aim_offset_mm), abs=0.006)
        assert float(row["turn_left_deg"]) == pytest.approx(known(aim.turn_deg), abs=6e-5)
        assert float(row["english_right_percent"]) == -60.0
    slips = TWO.change(takes=[Take(name="a", cue="wood", pace_m_s=2.0, tip=Tip(right=0.9))])
    (row,) = csv.DictReader(io.StringIO(results_csv(slips, compare(slips))))
    assert row["miss_left_mm"] == row["aim_left_mm"] == row["cue_ball_x_m"] == ""
    assert row["note"]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@a"])
def test_no_text_becomes_a_formula(text: str) -> None:
    (_, (told, number, nothing)) = csv.reader(io.StringIO(csv_text(["a", "b", "c"], [(text, -1.5, None)])))
    assert (told, number, nothing) == ("'" + text, "-1.5", "")


def test_plain_and_awkward_texts_come_back_from_csv() -> None:
    names = ["a, b", 'she said "in"', "ö = ü", "", "two\nlines"]
    read = list(csv.reader(io.StringIO(csv_text(["name"], [(name,) for name in names]))))
    assert [row[0] if row else "" for row in read] == ["name", *names]


def test_text_has_its_columns_one_under_the_other() -> None:
    assert aligned_text(["take", "none", "room"], [("a", "", "9 mm"), ("longer", "", "10 mm")]) == (
        "take    room\na       9 mm\nlonger  10 mm\n"
    )
    told = results_text(TWO, dict(enumerate(compare(TWO))), Manner()).splitlines()
    assert len(told) == 1 + len(TWO.takes)
    room = told[0].index("room")
    assert all(line[room - 2 : room] == "  " and line[room:].split()[1] == "mm" for line in told[1:])


# --- the answers of takes not shown


def found_of(scenario: Scenario) -> Findings:
    """A question about its first take."""
    return Findings(Question(1, scenario, 0, ()))


def test_takes_not_shown_are_worked_out_once(monkeypatch: pytest.MonkeyPatch, fast: Any) -> None:
    """Of one layout: another take, or another choice, asks for nothing that is known; another layout for all."""
    asked: list[str] = []
    answer = answer_take

    def counted(scenario: Scenario, take: Take) -> Any:
        asked.append(take.name)
        return answer(scenario, take)

    monkeypatch.setattr(outcomes, "answer_take", counted)
    memory = Known()
    first = {0: answer(TWO, TWO.takes[0])}
    with jit.using(fast):
        assert set(known_results(memory, first, found_of(TWO))) == {0}
        assert set(known(further_results(memory, found_of(TWO), lambda: False))) == set(range(6))
        assert asked == [take.name for take in TWO.takes[1:]]
        assert further_results(memory, found_of(TWO), lambda: False) is None
        softer = TWO.takes[3].model_copy(update={"pace_m_s": 1.0})
        changed = TWO.change(takes=[*TWO.takes[:3], softer, *TWO.takes[4:]], title="other")
        assert set(known_results(memory, {}, found_of(changed))) == {0, 1, 2, 4, 5}
        asked.clear()
        assert set(known(further_results(memory, found_of(changed), lambda: False))) == set(range(6))
        assert asked == [softer.name]
        moved = TWO.change(balls={**TWO.balls, "cue": (0.9, 0.5)})
        assert known_results(memory, {}, found_of(moved)) == {}


def test_a_newer_question_ends_the_work_and_none_of_it_is_lost(fast: Any) -> None:
    memory, waits = Known(), iter([False, False, True])
    with jit.using(fast):
        assert set(known(further_results(memory, found_of(TWO), lambda: next(waits)))) == {0, 1}
        assert set(known_results(memory, {}, found_of(TWO))) == {0, 1}


def test_nothing_is_worked_out_while_the_engine_is_to_come(monkeypatch: pytest.MonkeyPatch) -> None:
    """A take takes long in plain Python, and what is compiling has the core."""
    monkeypatch.setattr(jit, "wanted", lambda: True)
    monkeypatch.setattr(jit, "refusal", lambda: None)
    with jit.using(jit.plain()):
        assert further_results(Known(), found_of(TWO), lambda: False) is None
