"""Sweeps: cells, ranges refused, stopping, memory."""

from __future__ import annotations

import threading
import tracemalloc
from types import SimpleNamespace

import pytest
from conftest import many_shots

from tablesim.errors import ScenarioError, TablesimError
from tablesim.model.shot import Take
from tablesim.resources import open_scenario
from tablesim.study.correct import correct
from tablesim.study.sweep import as_csv, parse_axis, played, sweep


def test_sweep_over_cue_and_pace_and_its_csv(fast: SimpleNamespace) -> None:
    scenario = open_scenario("two-cues")
    seen: list[int] = []
    found = sweep(
        scenario, scenario.takes[1], (parse_axis("pace=1.5:4.5:0.5"), parse_axis("cue=wood,low-squirt")),
        lambda done, whole: seen.append(done),
    )  # fmt: skip
    assert len(found.cells) == 14
    assert seen[-1] == 14
    by = {c.values: c.correction.correction_mm for c in found.cells}
    for pace in (1.5, 3.0, 4.5):
        assert by[pace, "wood"] < by[pace, "low-squirt"]  # type: ignore[operator]
    rows = as_csv(found).splitlines()
    assert len(rows) == 15
    assert rows[0].startswith("pace,cue,heading_deg")


def test_sweep_agrees_with_correct(fast: SimpleNamespace) -> None:
    scenario = open_scenario("two-cues")
    take = scenario.take_named("wood, hard")
    cell = sweep(scenario, take, (parse_axis("pace=4.5:4.5:1"),)).cells[0]

    assert cell.correction.heading_deg == pytest.approx(correct(scenario, "wood, hard")[0].heading_deg, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("pace", "must be NAME=FROM:TO:STEP"),
        ("pase=1:2:1", "did you mean 'pace'"),
        ("pace=3:1:0.5", "FROM must not exceed TO"),
        ("pace=1:2:0", "STEP must be above 0"),
        ("pace=1:2:-1", "STEP must be above 0"),
        ("pace=1:inf:1", "finite"),
        ("pace=a:b:c", "must be numbers"),
        ("pace=0:1:0.000001", "at most"),
        ("pace=1:2", "a range is FROM:TO:STEP"),
    ],
)
def test_bad_ranges(text: str, message: str) -> None:
    with pytest.raises(TablesimError, match=message):
        parse_axis(text)


@many_shots
def test_a_sweep_stops_when_asked_and_keeps_only_whole_cells(fast: SimpleNamespace) -> None:
    scenario, stop, seen = open_scenario("two-cues"), threading.Event(), []

    def ask(done: int, whole: int) -> None:
        seen.append((done, whole))
        stop.set()

    found = sweep(
        scenario, scenario.takes[0], (parse_axis("pace=1:6:0.01"), parse_axis("side=-0.4:0.4:0.2")), ask, stop
    )
    assert seen[0][1] == 2505
    assert 0 < len(found.cells) < 2505
    assert found.cells[0].values == (1.0, -0.4)


@many_shots
def test_memory_of_a_sweep_is_that_of_its_cells(fast: SimpleNamespace) -> None:
    """At most MAX_CELLS cells of under 3 kB each: bounded by 300 MB, and by a tenth of that for maps of 64 x 64."""
    scenario = open_scenario("two-cues")
    axes = (parse_axis("pace=1.5:4:0.05"), parse_axis("side=-0.4:0.4:0.05"))
    sweep(scenario, scenario.takes[0], axes)
    tracemalloc.start()
    found = sweep(scenario, scenario.takes[0], axes)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak / len(found.cells) < 3300


def test_too_many_cells_and_unknown_cues() -> None:
    scenario = open_scenario("two-cues")
    with pytest.raises(TablesimError, match="at most"):
        sweep(scenario, scenario.takes[0], (parse_axis("pace=1:10:0.001"), parse_axis("side=-0.4:0.4:0.01")))
    with pytest.raises(TablesimError, match="did you mean 'wood'"):
        sweep(scenario, scenario.takes[0], (parse_axis("cue=wod"),))


def test_a_value_out_of_its_bounds_is_refused_as_in_a_file(fast: SimpleNamespace) -> None:
    """In the words of the file's own rule, before anything is solved."""
    scenario = open_scenario("two-cues")
    with pytest.raises(TablesimError) as refused:
        Take.model_validate({"name": "hard", "pace_m_s": 99.0})
    with pytest.raises(TablesimError) as told:
        played(scenario.takes[1], {"pace": 99.0})
    assert str(told.value) == str(refused.value)
    assert str(told.value).startswith("pace_m_s: ")
    assert "99.0" in str(told.value)
    for over in ("pace=2,99", "stroke=smooth,poke", "condition=1,9", "side=-1,0", "elevation=3,16"):
        with pytest.raises(ScenarioError, match=f"--over {over.split('=')[0]}: must "):
            sweep(scenario, scenario.takes[1], (parse_axis(over),))
