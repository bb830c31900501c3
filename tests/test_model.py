"""What a person may state: every refusal names the field, the rule and the value."""

from __future__ import annotations

import copy
import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tablesim.errors import ScenarioError, TablesimError
from tablesim.model.gear import BallSet, Cloth, Rails
from tablesim.model.scenario import MAX_FILE_BYTES, Scenario, from_json, load, save, to_json
from tablesim.model.whole import write_whole
from tablesim.resources import open_scenario, ready_scenarios

GOOD: dict[str, Any] = {
    "tablesim": 1,
    "title": "A cut",
    "table": {"size": "9ft", "pockets": "standard"},
    "cues": {"low-squirt": {"ball_to_end_mass": 45}, "house": {}},
    "balls": {"cue": [0.64, 0.40], "3": [1.75, 0.50]},
    "target": {"ball": "3", "pocket": "foot-left"},
    "takes": [
        {
            "name": "soft",
            "cue": "house",
            "pace_m_s": 1.2,
            "tip": {"right": -0.35, "up": 0.1},
            "elevation_deg": 4,
            "stroke": "smooth",
            "aim": {"toward": "pocket", "offset_mm": 0},
        }
    ],
}


def changed(path: str, value: Any) -> str:
    """GOOD as JSON with the value at a dotted path replaced, or removed where it is ... ."""
    data = copy.deepcopy(GOOD)
    *parents, last = path.split(".")
    place: Any = data
    for part in parents:
        place = place[int(part)] if isinstance(place, list) else place[part]
    if value is ...:
        del place[last]
    elif isinstance(place, list):
        place[int(last)] = value
    else:
        place[last] = value
    return json.dumps(data)


def test_the_contract_example_is_read() -> None:
    scenario = from_json(json.dumps(GOOD))

    assert scenario.ball_names == ("cue", "3")
    assert scenario.cue_of(scenario.takes[0]).ball_to_end_mass == 22.0
    assert scenario.table.surface.length_m == pytest.approx(2.54)


def test_round_trip_through_text() -> None:
    scenario = from_json(json.dumps(GOOD))

    assert from_json(to_json(scenario)) == scenario


def test_the_usual_cues_in_another_order_are_written() -> None:
    """A take without a cue is played with the first: the same cues the other way round are no default."""
    scenario = from_json(json.dumps({**GOOD, "cues": {"low-squirt": {"ball_to_end_mass": 50}, "house": {}}}))
    usual = from_json(json.dumps({**GOOD, "cues": {"house": {}, "low-squirt": {"ball_to_end_mass": 50}}}))

    assert scenario != usual
    assert list(from_json(to_json(scenario)).cues) == ["low-squirt", "house"]
    assert "cues" not in json.loads(to_json(usual))


REFUSALS = [
    ("balls.cue", ..., "balls: there must be a cue ball"),
    ("balls.cue", [0.64, "a"], "balls.cue[1]: must be a number; got 'a'"),
    ("balls.cue", [0.64], "balls.cue"),
    ("balls.cue", [True, 0.4], "balls.cue[0]: must be a number; got true"),
    ("balls.cue", [1.75, 0.52], "overlaps ball"),
    ("balls.3", [1.75, 1.26], "must lie on the bed"),
    ("balls.3", [9.0, 0.4], "must lie on the bed"),
    ("balls.3", [1e300, 0.4], "must lie on the bed"),
    ("takes.0.pace_m_s", -1, "takes[0].pace_m_s: must be at least 0.05; got -1"),
    ("takes.0.pace_m_s", 1e9, "must be at most 20; got 1000000000.0"),
    ("takes.0.pace_m_s", "fast", "takes[0].pace_m_s: must be a number; got 'fast'"),
    ("takes.0.pace_m_s", None, "must be a number"),
    ("takes.0.pace_m_s", ..., "takes[0].pace_m_s: is required"),
    ("takes.0.cue", "hous", "takes[0].cue: unknown cue 'hous'; did you mean 'house'?"),
    ("takes.0.elevation_deg", 45, "must be at most 15; got 45"),
    ("takes.0.tip", {"right": 0.9, "up": 0.9}, "takes[0].tip: must touch the ball"),
    ("takes.0.stroke", "smoth", "takes[0].stroke: must be 'smooth' or 'jab'; got 'smoth'"),
    ("takes.0.aim", {"heading_deg": 3, "corrected": True}, "takes[0].aim: must be one of"),
    ("takes.0.aim", {}, "takes[0].aim: must be one of"),
    ("takes.0.pase", 1, "takes[0]: unknown key 'pase'; did you mean 'pace_m_s'?"),
    ("target.ball", "4", "target.ball: unknown ball '4'; known: 'cue', '3'"),
    ("target.ball", "cue", "must be an object ball"),
    ("target.pocket", "foot-lft", "target.pocket"),
    ("cloth", {"sliding_friction": -0.1}, "cloth.sliding_friction"),
    ("cloth", {"friction": 0.1}, "unknown key 'friction'"),
    ("rails", {"restitution": 1.5}, "rails.restitution"),
    ("ball_set", {"mass_kg": 17}, "ball_set.mass_kg"),
    ("ball_set", {"odd": {"9": {"mass_kg": 0.2}}}, "ball_set.odd: unknown ball '9'"),
    ("ball_set", {"odd": {"3": {"diameter_m": 0.044}}}, "ball_set: cushion noses"),
    ("table.size", "10ft", "table.size"),
    ("table.size", {"length_m": 100, "width_m": 1}, "table.size"),
    ("table.pockets", {"corner_mouth_m": 0.0}, "table.pockets"),
    ("table.pockets", {"corner_mouth_m": 0.09, "corner_cut_deg": 165, "corner_shelf_m": 0.08}, "too tight for ball"),
    ("tablesim", 2, "tablesim: file format 2 is unknown here (written by a newer version"),
    ("tablesim", "1", "tablesim: must be a whole number; got '1'"),
    ("takes", {}, "takes: must be a list"),
    ("title", 7, "title: must be a text; got 7"),
    ("cues", {}, "cues: must have at least 1 entry; got an object"),
    ("cues", {"x" * 61: {}}, "cues, a name: must have at most 40 letters; got 61 letters, 'xxx"),
    ("cues", {"": {}}, "cues, a name: must have at least 1 letter; got ''"),
    ("takes.0.name", "x" * 50, f"takes[0].name: must have at most 40 letters; got '{'x' * 50}'"),
    ("takes.0.name", "", "takes[0].name: must have at least 1 letter; got ''"),
    ("takes.0.aim", {"corrected": False}, "takes[0].aim.corrected: must be true; got false"),
    ("takes.0.tip", [1, 2], "takes[0].tip: must be an object; got [1, 2]"),
    ("balls.cue", [1, 2, 3], "balls.cue: must have at most 2 entries; got [1, 2, 3]"),
    ("marks", [{"kind": "zone", "at": [1, 1], "radius_m": 0}], "marks[0].radius_m: must be more than 0; got 0"),
    ("marks", [{"kind": "label", "at": [1, 1]}] * 201, "marks: must have at most 200 entries; got a list of 201"),
    ("table.size", 9, "table.size: must be '9ft', '8ft' or '7ft', or an object; got 9"),
    ("table.size", {"length_m": 3}, "table.size.width_m: is required"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "message"), REFUSALS, ids=lambda v: str(v)[:30])
def test_refusals_name_field_rule_and_value(path: str, value: Any, message: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        from_json(changed(path, value))

    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


ODD: tuple[Any, ...] = (None, True, -1, 1.5, 1e9, "", "x" * 5000, [], [1], [1] * 500, {}, {"x": 1}, {"": {}}, [{}])
PLACES = (
    *GOOD, "cloth", "rails", "ball_set", "marks", "notes", "balls.cue", "target.ball", "table.size", "table.pockets",
    "takes.0", "cues.house", *(f"takes.0.{key}" for key in GOOD["takes"][0]), "takes.0.tip.up", "takes.0.aim.toward",
)  # fmt: skip
RAW = (
    "should",
    "nput ",
    "valid",
    "dictionary",
    "tuple",
    "string",
    "items",
    "None",
    "True",
    "False",
    "Size",
    "  ",
    "..",
)


@pytest.mark.parametrize("path", PLACES)
def test_no_wording_of_the_library_is_met(path: str) -> None:
    for value in ODD:
        try:
            from_json(changed(path, value))
        except ScenarioError as error:
            told = str(error).replace("x...", "")
            assert [raw for raw in RAW if raw in told] == [], told


@pytest.mark.parametrize("token", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_not_finite_numbers_are_refused(token: str) -> None:
    with pytest.raises(ScenarioError, match="finite"):
        from_json(changed("takes.0.pace_m_s", 777).replace("777", token))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "7",
        "null",
        '{"balls": {"cue": [1, 1]}, "balls": {}}',
        "[" * 5000,
        '{"balls": ' + "9" * 5000 + "}",
    ],
    ids=["empty", "cut", "list", "number", "null", "duplicate", "deep", "long number"],
)
def test_text_that_is_no_scenario(text: str) -> None:
    with pytest.raises(ScenarioError):
        from_json(text)


def test_same_take_name_twice() -> None:
    with pytest.raises(ScenarioError, match="'soft' is there twice"):
        from_json(changed("takes", GOOD["takes"] * 2))


def test_twenty_two_balls_and_no_more() -> None:
    spots = {f"b{k}": [0.3 + 0.08 * k, 0.9] for k in range(21)}
    own = {"cue": [0.6, 0.4], "3": [1.7, 0.4]}
    assert len(from_json(changed("balls", {**dict(list(spots.items())[:20]), **own})).balls) == 22
    with pytest.raises(ScenarioError, match="balls"):
        from_json(changed("balls", {**spots, **own}))


def test_touching_balls_are_welcome_and_overlapping_ones_are_not() -> None:
    diameter = 0.05715
    assert from_json(changed("balls", {"cue": [0.5, 0.5], "3": [round(0.5 + diameter, 6), 0.5]}))
    with pytest.raises(ScenarioError, match="overlaps"):
        from_json(changed("balls", {"cue": [0.5, 0.5], "3": [0.5 + diameter - 1e-5, 0.5]}))


def test_files(tmp_path: Path) -> None:
    scenario = from_json(json.dumps(GOOD))
    file = tmp_path / "shot.json"
    save(scenario, file)
    assert load(file) == scenario

    with pytest.raises(ScenarioError, match="cannot be read"):
        load(tmp_path / "none.json")
    with pytest.raises(ScenarioError, match="cannot be read"):
        load(tmp_path)
    (tmp_path / "latin.json").write_bytes(b'{"title": "caf\xe9"}')
    with pytest.raises(ScenarioError, match="UTF-8"):
        load(tmp_path / "latin.json")
    (tmp_path / "huge.json").write_text(" " * (MAX_FILE_BYTES + 1))
    with pytest.raises(ScenarioError, match="at most"):
        load(tmp_path / "huge.json")


def test_a_failed_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Interrupted or without room: the old file stands, and nothing half written lies beside it."""
    file = tmp_path / "shot.json"
    file.write_text("old")

    def interrupted(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("os.fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_whole(file, b"new")
    assert file.read_text() == "old"
    assert list(tmp_path.iterdir()) == [file]

    with pytest.raises(ScenarioError, match="cannot be written"):
        write_whole(tmp_path / "nowhere" / "shot.json", b"new")


def test_scenarios_are_frozen_and_change_into_new_ones() -> None:
    scenario = from_json(json.dumps(GOOD))
    with pytest.raises(ScenarioError, match=r"title: cannot be set, make another with change\(\)"):
        scenario.title = "other"  # type: ignore[misc]
    other = scenario.change(title="other")

    assert (scenario.title, other.title) == ("A cut", "other")
    with pytest.raises(ScenarioError, match="cue ball"):
        scenario.change(balls={"3": (1.0, 0.5)})


@settings(max_examples=100, deadline=None)
@given(
    st.floats(0.1, 2.4), st.floats(0.1, 1.1), st.floats(0.1, 9), st.floats(-0.4, 0.4), st.text(max_size=30),
    st.sampled_from(["9ft", "8ft"]),
)  # fmt: skip
def test_any_valid_scenario_survives_its_file(
    x: float, y: float, pace: float, right: float, title: str, size: str
) -> None:
    data = json.loads(changed("table", {"size": size}))
    data["balls"]["cue"], data["title"] = [x, y], title
    data["takes"][0].update(pace_m_s=pace, tip={"right": right})
    try:
        scenario = from_json(json.dumps(data))
    except ScenarioError:
        return
    assert from_json(to_json(scenario)) == scenario


def test_ready_scenarios_open_by_name_and_unknown_ones_get_a_suggestion() -> None:
    assert len(ready_scenarios()) >= 9
    for name in ready_scenarios():
        scenario = open_scenario(name)
        assert len(scenario.takes) >= 3
        assert scenario.title
        assert scenario.notes
    with pytest.raises(TablesimError, match="did you mean 'two-cues'"):
        open_scenario("two-cue")


def test_every_default_of_the_gear_names_its_source() -> None:
    schema = Scenario.model_json_schema()
    for model in ("Cloth", "Rails", "BallSet", "Cue", "PocketSet"):
        for name, field in schema["$defs"][model]["properties"].items():
            if name != "odd":
                assert len(field["description"]) > 10, f"{model}.{name}"


@pytest.mark.parametrize(
    ("gear", "elsewhere"),
    [
        (Cloth(), {"bed_restitution"}),  # hops are no part of the engine
        (Rails(), {"nose_height", "facing_restitution", "facing_friction"}),
        (BallSet(), {"diameter_m", "mass_kg", "friction_constant"}),
        (BallSet(friction_law="constant"), {"diameter_m", "mass_kg", "friction_floor", "friction_rise"}),
    ],
    ids=["cloth", "rails", "balls", "balls, constant friction"],
)
def test_every_number_of_the_gear_reaches_its_law(gear: Cloth | Rails | BallSet, elsewhere: set[str]) -> None:
    """A number changed alone changes one of the law's, to that value; but for sizes, which go into the balls' rows."""
    for name, field in type(gear).model_fields.items():
        if field.annotation is float and name not in elsewhere:
            value = getattr(gear, name) + 0.0123
            law = gear.model_copy(update={name: value}).law
            assert [new for new, old in zip(law, gear.law, strict=True) if new != old] == [value], name


def test_the_facings_have_a_law_of_their_own() -> None:
    rails = Rails(facing_restitution=0.5, facing_friction=0.3)
    assert rails.facing_law == (0.5, 0.3)
    assert rails.law == Rails().law


def test_rounding_of_the_scenarios_is_readable() -> None:
    for name in ready_scenarios():
        for x, y in open_scenario(name).balls.values():
            assert math.isclose(x, round(x, 6))
            assert math.isclose(y, round(y, 6))
