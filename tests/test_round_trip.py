"""Any scenario or lesson at all comes back from its file, and the mirror shows the mirrored shot.

The same examples each time; TABLESIM_EXAMPLES=5000 for a long run of new ones.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from strategies import lessons, scenarios

from tablesim.errors import AimImpossible
from tablesim.model.base import Model
from tablesim.model.layout_text import from_text, to_text
from tablesim.model.lesson import Lesson, load_lesson, save_lesson
from tablesim.model.scenario import CUE_BALL, Scenario, load, parse_object, save, to_json
from tablesim.model.shot import Aim, Take
from tablesim.physics.ball_ball import contact_distance
from tablesim.study.predict import Prediction, predict_take

EXAMPLES = os.environ.get("TABLESIM_EXAMPLES")
some = partial(
    settings, deadline=None, derandomize=EXAMPLES is None, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture, HealthCheck.data_too_large],
)  # fmt: skip


def count(usual: int) -> int:
    """How many examples to try."""
    return int(EXAMPLES) if EXAMPLES else usual


@some(max_examples=count(150))
@given(scenario=scenarios())
def test_a_scenario_comes_back_from_its_file(scenario: Scenario, tmp_path: Path) -> None:
    first, second = tmp_path / "a.json", tmp_path / "b.json"
    save(scenario, first)
    back = load(first)
    save(back, second)

    assert back == scenario
    assert back.ball_names == scenario.ball_names
    assert [back.cue_name_of(take) for take in back.takes] == [scenario.cue_name_of(take) for take in scenario.takes]
    assert list(back.cues) == list(scenario.cues)
    assert second.read_bytes() == first.read_bytes()


@some(max_examples=count(40))
@given(lesson=lessons())
def test_a_lesson_comes_back_from_its_file(lesson: Lesson, tmp_path: Path) -> None:
    first, second = tmp_path / "a.json", tmp_path / "b.json"
    save_lesson(lesson, first)
    back = load_lesson(first)
    save_lesson(back, second)

    assert back == lesson
    for one, other in zip(lesson.scenes, back.scenes, strict=True):
        if one.scenario is not None and other.scenario is not None:
            assert list(one.scenario.cues) == list(other.scenario.cues)
    assert second.read_bytes() == first.read_bytes()


@pytest.fixture(scope="module")
def schema() -> Draft202012Validator:
    """The schema that ``tablesim schema`` prints."""
    from tablesim.commands.ready import scenario_schema

    found = scenario_schema()
    Draft202012Validator.check_schema(found)
    return Draft202012Validator(found)


@some(max_examples=count(80))
@given(scenario=scenarios())
def test_the_schema_accepts_every_saved_scenario(scenario: Scenario, schema: Draft202012Validator) -> None:
    data = parse_object(to_json(scenario), "a scenario")

    assert [error.message for error in schema.iter_errors(data)] == []
    assert not schema.is_valid({**data, "blals": {}})


@some(max_examples=count(80))
@given(scenario=scenarios(12))
def test_a_layout_comes_back_from_its_text(scenario: Scenario) -> None:
    """Within 3 mm, or 0.03 mm on usual tables: half of the last of four decimals of a diamond of up to 0.57 m."""
    for finer, most in ((False, 3.0e-3), (True, 4.1e-5)):
        back = from_text(to_text(scenario, finer), scenario)

        assert list(back.balls) == list(scenario.ball_names)
        assert max(math.dist(back.balls[name], place) for name, place in scenario.balls.items()) < most
        assert back.table.pockets == scenario.table.pockets
        assert back.table.surface.length_m == pytest.approx(scenario.table.surface.length_m, rel=1e-15)
        assert (back.title, back.target, back.takes) == (scenario.title, scenario.target, scenario.takes)
        for mark, was in zip(back.marks, scenario.marks, strict=True):
            assert (mark.kind, mark.text) == (was.kind, was.text)
            assert math.dist(mark.at, was.at) < most


def told(model: Model) -> Iterator[tuple[type[Model], str]]:
    """The fields of a model, and of those inside it, that say something else than their default."""
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if value != field.default:
            yield type(model), name
        inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else [value]
        for part in inner:
            if isinstance(part, Model):
                yield from told(part)


def test_every_field_is_tried() -> None:
    """A field that is new, and not yet in the strategies, is found missing here."""
    seen: set[tuple[type[Model], str]] = set()

    @settings(max_examples=150, derandomize=True, database=None, deadline=None)
    @given(lesson=lessons())
    def gather(lesson: Lesson) -> None:
        seen.update(told(lesson))

    gather()
    known = {(model, name) for model in {model for model, _ in seen} for name in model.model_fields}
    assert known - seen == {(Lesson, "tablesim_lesson"), (Scenario, "tablesim")}


def mirrored(scenario: Scenario, take: Take) -> tuple[Scenario, Take]:
    """Scenario and take in a mirror that stands on the long centre line."""
    swapped = {"left": "right", "right": "left"}
    width = scenario.table.surface.width_m
    target = scenario.target
    if target is not None:
        row, side = target.pocket.split("-")
        target = target.model_copy(update={"pocket": f"{row}-{swapped[side]}"})
    aim = take.aim
    if aim.heading_deg is not None:
        aim = Aim(heading_deg=(-aim.heading_deg) % 360.0)
    elif aim.offset_mm is not None:
        aim = Aim(toward="pocket", offset_mm=-aim.offset_mm)
    tip = take.tip.model_copy(update={"right": -take.tip.right})
    other = take.model_copy(update={"aim": aim, "tip": tip})
    balls = {name: (x, width - y) for name, (x, y) in scenario.balls.items()}
    return scenario.change(balls=balls, target=target, takes=[other]), other


def predicted(scenario: Scenario, take: Take) -> Prediction | None:
    """What a take does, or None if its aim has no line."""
    try:
        return predict_take(scenario, take)
    except AimImpossible:
        return None


def at_a_ball(scenario: Scenario, take: Take, full: float) -> Take:
    """The take with its cue pointed at the first object ball, ``full`` of two radii beside its centre (left +)."""
    x, y = scenario.balls[CUE_BALL]
    other_x, other_y = scenario.balls[scenario.ball_names[1]]
    line, away = math.atan2(other_y - y, other_x - x), math.hypot(other_x - x, other_y - y)
    beside = full * contact_distance(*(scenario.ball_set.radius_m(name) for name in scenario.ball_names[:2]))
    heading = math.degrees(line + math.asin(min(1.0, max(-1.0, beside / away))))
    return take.model_copy(update={"aim": Aim(heading_deg=heading)})


@some(max_examples=count(100))
@given(scenario=scenarios(3, least_balls=2, least_takes=1), full=st.floats(-0.8, 0.8))
def test_the_mirror_shows_the_mirrored_shot(scenario: Scenario, full: float, fast: SimpleNamespace) -> None:
    """As far as the first ball met, if nothing is met before and not too thinly: the rest may be delicate."""
    assume(len(scenario.balls) > 1)
    take = scenario.takes[0]
    for played in (at_a_ball(scenario, take, full), take):
        if played.aim.corrected is None:
            compare(predicted(scenario, played), predicted(*mirrored(scenario, played)))


def compare(one: Prediction | None, other: Prediction | None) -> None:
    """A prediction beside that of the mirrored shot."""
    assert (one is None) == (other is None)
    if one is None or other is None or one.launch is None or other.launch is None:
        return
    assert other.launch.squirt_deg == pytest.approx(-one.launch.squirt_deg, abs=1e-9)
    x, y, z = one.launch.spin_rad_s
    assert other.launch.spin_rad_s == pytest.approx((-x, y, -z), rel=1e-6, abs=1e-6)
    if one.contact is not None and abs(one.contact.cut_deg) < 80.0 and one.events[0].what == "meets":
        event("a ball is met")
        assert other.contact is not None
        assert other.contact.ball == one.contact.ball
        assert other.contact.cut_deg == pytest.approx(-one.contact.cut_deg, abs=1e-4)
        assert other.contact.throw_deg == pytest.approx(-one.contact.throw_deg, abs=1e-4)
        assert other.contact.off_line_mm == pytest.approx(-one.contact.off_line_mm, abs=1e-4)
