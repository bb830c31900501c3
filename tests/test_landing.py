"""Zones of a drill: whether the cue ball stops in them, in findings, words, the window and on the sheet."""

from __future__ import annotations

import io
import json
import math
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from tablesim.model.scenario import Scenario, to_json
from tablesim.model.shot import Aim, Mark, Take, Tip
from tablesim.output.sheet import lay_out
from tablesim.output.sheet_parts import box_names
from tablesim.resources import open_scenario
from tablesim.scene.words import in_unit, said
from tablesim.study.answer import answer_take
from tablesim.study.landing import Landing, landing_sentence
from tablesim.study.predict import predict, predict_take


def zone(at: tuple[float, float], radius: float = 0.15, text: str = "landing") -> Mark:
    return Mark(kind="zone", at=at, radius_m=radius, text=text)


def drill(*marks: Mark) -> Scenario:
    """Two cues; nothing but the marks differs from the ready scenario."""
    return open_scenario("two-cues").change(marks=list(marks))


def lag(**take: Any) -> Scenario:
    """A cue ball alone."""
    how = {"pace_m_s": 2.0, "aim": Aim(heading_deg=0.0), **take}
    return Scenario(balls={"cue": (0.6, 0.6)}, takes=[Take(name="lag", **how)])


def text_of(scenario: Scenario, **how: Any) -> str:
    reader = PdfReader(io.BytesIO(lay_out(scenario, **how).data()))
    return " ".join("\n".join(page.extract_text() for page in reader.pages).split())


@pytest.mark.parametrize("aside", [0.0, 0.0999, 0.1001, 0.4])
def test_the_centre_decides_and_the_distance_is_from_the_edge(aside: float) -> None:
    """A place at a known distance from where the cue ball stops, whichever way it lies."""
    end = predict(lag())[0].cue_ball.end_m
    assert end is not None
    for way in (0.3, 2.0, 4.1):
        at = (end[0] + aside * math.cos(way), end[1] + aside * math.sin(way))
        (found,) = predict(lag().change(marks=[zone(at, 0.1)]))[0].zones
        assert found.inside == (aside < 0.1)
        assert found.outside_mm == pytest.approx(max(0.0, 1000.0 * aside - 100.0), abs=1e-6)


def test_a_potted_cue_ball_is_in_no_zone_and_after_a_miscue_nothing_is_known() -> None:
    scenario = lag(aim=Aim(heading_deg=math.degrees(math.atan2(0.67, 1.94))), pace_m_s=3.0)
    (played,) = predict(scenario.change(marks=[zone((2.54, 1.27), 1.9)]))
    assert played.cue_ball.outcome == "potted"
    assert (played.zones[0].inside, played.zones[0].outside_mm) == (False, None)
    assert landing_sentence(played.zones) == "The cue ball drops, in no zone."
    (slips,) = predict(lag(tip=Tip(right=0.8)).change(marks=[zone((1.0, 0.6), 1.9)]))
    assert (slips.zones[0].inside, slips.zones[0].outside_mm) == (None, None)
    assert landing_sentence(slips.zones) == ""


def test_the_sentence_names_the_zone_the_ball_is_in_else_the_nearest() -> None:
    near, far = Landing("landing", 0.1, False, 41.6), Landing("far one", 0.1, False, 90.0)
    inner, outer = Landing("five", 0.05, True, 0.0), Landing("three", 0.2, True, 0.0)
    assert landing_sentence([far, near]) == "The cue ball stops 42 mm outside the zone “landing”."
    assert landing_sentence([near, outer, inner]) == "The cue ball stops in the zone “five”."
    assert landing_sentence([Landing("", 0.1, True, 0.0)]) == "The cue ball stops in the zone."
    assert landing_sentence([near, Landing("", 0.1, True, 0.0)]) == "The cue ball stops in zone 2."
    assert landing_sentence([Landing("x", 0.1, False, 0.4)]) == "The cue ball stops just outside the zone “x”."
    assert landing_sentence([]) == ""
    both = landing_sentence([near, far], [Landing("landing", 0.1, True, 0.0), far])
    assert both == "The cue ball stops 42 mm outside the zone “landing”; corrected, in it."
    other = landing_sentence([near, far], [Landing("landing", 0.1, False, 300.0), far])
    assert other.endswith("; corrected, it stops 90 mm outside the zone “far one”.")
    assert landing_sentence([near], [Landing("landing", 0.1, False, None)]).endswith(
        "; corrected, it drops, in no zone."
    )
    assert len(landing_sentence([Landing("w" * 200, 0.1, True, 0.0)])) < 80
    assert in_unit(landing_sentence([near]), "inch") == "The cue ball stops 1.7 in outside the zone “landing”."
    assert said(landing_sentence([near]), True) == landing_sentence([near])


def test_a_take_is_told_as_aimed_and_as_corrected_unless_they_are_one() -> None:
    scenario = drill(zone((2.4, 0.5)))
    take = scenario.take_named("wood, medium")
    answer = answer_take(scenario, take)
    assert answer.aimed is not None
    assert answer.corrected is not None
    far = answer.aimed.zones[0].outside_mm
    assert answer.corrected.zones[0].inside
    assert answer.landing == f"The cue ball stops {far:.0f} mm outside the zone “landing”; corrected, in it."
    for aim in (Aim(corrected=True), Aim(heading_deg=answer.correction.heading_deg)):  # type: ignore[union-attr]
        solved = answer_take(scenario, take.model_copy(update={"aim": aim}))
        assert solved.landing == "The cue ball stops in the zone “landing”."


def test_without_zones_nothing_is_said() -> None:
    label = Mark(kind="label", at=(1.0, 1.0), text="zone")
    plain, marked = open_scenario("two-cues"), drill(label)
    assert "zones" not in predict(plain)[0].for_json()
    assert "zones" not in predict(marked)[0].for_json()
    assert all(answer_take(marked, take).landing == "" for take in marked.takes)
    assert "zone" not in text_of(plain, results=True).lower()
    assert "zone" not in box_names(plain, 0)


def test_the_command_prints_zones_below_its_table(tmp_path: Path) -> None:
    def output(scenario: Scenario, *more: str) -> str:
        file = tmp_path / "drill.json"
        file.write_text(to_json(scenario), encoding="utf-8")
        done = subprocess.run(
            [sys.executable, "-m", "tablesim", "predict", str(file), *more], capture_output=True, text=True, check=True
        )
        return done.stdout

    bare, marked = output(drill()), output(drill(zone((2.4, 0.5)), zone((1.7, 0.3), 0.1, "")))
    assert marked.startswith(bare)
    rows = [" ".join(line.split()) for line in marked[len(bare) :].splitlines()]
    assert "low-squirt, medium landing in" in rows
    assert "low-squirt, hard zone 2 in" in rows
    found = predict_take(drill(zone((2.4, 0.5))), drill().take_named("wood, medium"))
    assert f"wood, medium landing {found.zones[0].outside_mm:.1f} mm outside" in rows
    takes = json.loads(output(drill(zone((2.4, 0.5))), "--json"))["takes"]
    assert [take["zones"][0]["inside"] for take in takes] == [False, True, False, True, False, False]


def test_the_sheet_says_it_and_has_boxes_for_the_zone() -> None:
    scenario = drill(zone((2.4, 0.5)))
    text = text_of(scenario, results=True)
    for take in scenario.takes:
        assert answer_take(scenario, take).landing in text
    assert text.count("right, thick zone") == len(scenario.takes)
    assert text.count("in the zone") >= len(scenario.takes) + 1  # a row a take, and that of all takes
    assert "and that of the zone if the cue ball stops in it" in text
    alone = text_of(scenario, takes=["wood, medium"])
    assert "corrected, in it." in alone
    assert "right, thick zone" in alone


def test_a_take_by_cushions_is_told_as_it_is_played() -> None:
    scenario = open_scenario("three-rails")
    text = text_of(scenario.change(marks=[zone((1.0, 0.6), 0.2)]))
    assert "the zone “landing”" in text
    assert "corrected, in it" not in text
    assert "; corrected, it stops" not in text


def test_boxes_name_each_way_to_miss_once() -> None:
    """A cut to the left: a miss to the left is thin.  Straight, or by cushions: neither."""
    scenario = open_scenario("two-cues")
    assert box_names(scenario, 0) == ("in", "left, thin", "right, thick")
    assert box_names(scenario, 2) == ("in", "left", "right")
    assert box_names(open_scenario("straight-in-with-english"), 0) == ("in", "left", "right")
    assert box_names(lag().change(marks=[zone((1.0, 0.6))]), 0) == ("as planned", "not", "zone")


def test_the_window_says_it(window: Callable[..., Any]) -> None:
    w = window(scenario=drill(zone((2.4, 0.5))))
    w.settle()
    text = w.app.parts.strip.reading_text()
    assert text.endswith(answer_take(w.scenario, w.take).landing)
    assert "outside the zone “landing”; corrected," in text
    w.app.settings.unit = "inch"
    assert " in outside the zone “landing”" in w.app.parts.strip.reading_text()
