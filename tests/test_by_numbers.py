"""A shot staged by numbers, against plain vectors, the trade's hits, and the scenario's own rules."""

from __future__ import annotations

import json
import math
import random
from itertools import product
from pathlib import Path

import pytest
from test_cli import run

from tablesim.errors import AimImpossible, TablesimError
from tablesim.model.gear import BallSet, OddBall
from tablesim.model.scenario import CUE_BALL, Scenario, load
from tablesim.model.table import Size, Table
from tablesim.physics.edge import POCKETS
from tablesim.scene.staged import staged_words
from tablesim.staging.by_numbers import Room, stage_shot
from tablesim.staging.said import cut_of_hit, cut_said, distance_said

R = BallSet().diameter_m / 2.0
MIDDLE = (1.27, 0.7)
UNLIKE = BallSet(odd={"cue": OddBall(diameter_m=0.066), "1": OddBall(diameter_m=0.05)})


def shot(target: tuple[float, float] = MIDDLE, pocket: str = "foot-left", **fields: object) -> Scenario:
    """A target ball for a pocket, the cue ball somewhere else."""
    cue = (0.4, 0.3) if math.dist(target, (0.4, 0.3)) > 0.1 else (0.4, 0.8)
    return Scenario.model_validate(
        {"balls": {"cue": cue, "1": target}, "target": {"ball": "1", "pocket": pocket}, **fields}
    )


def seen_from_above(scenario: Scenario) -> tuple[float, float]:
    """Distance [m] and cut [degrees, left +] by vectors: ghost ball, line to it, line to the middle of the mouth."""
    assert scenario.target is not None
    c, t = (complex(*scenario.balls[name]) for name in (CUE_BALL, scenario.target.ball))
    mouth = complex(*scenario.table.edge.mouths[POCKETS.index(scenario.target.pocket)][:2])
    radii = [scenario.ball_set.radius_m(name) for name in (CUE_BALL, scenario.target.ball)]
    way = (mouth - t) / abs(mouth - t)
    rolls = t - 2.0 * math.sqrt(radii[0] * radii[1]) * way - c
    turned = way * rolls.conjugate()
    return abs(t - c), math.degrees(math.atan2(turned.imag, turned.real))


@pytest.mark.parametrize("pocket", POCKETS)
@pytest.mark.parametrize("gear", [BallSet(), UNLIKE], ids=["set", "unlike"])
def test_what_is_asked_for_is_what_lies_there(pocket: str, gear: BallSet) -> None:
    rng, staged = random.Random(pocket), 0
    for _ in range(60):
        target = rng.uniform(0.25, 2.29), rng.uniform(0.25, 1.02)
        distance, cut = rng.uniform(0.07, 1.5), rng.uniform(-85.0, 85.0)
        try:
            found = stage_shot(shot(target, pocket, ball_set=gear), distance, cut)
        except TablesimError:
            continue
        assert seen_from_above(found) == pytest.approx((distance, cut), abs=1e-9)
        assert found.balls["1"] == target
        staged += 1
    assert staged > 15


@pytest.mark.parametrize(("hit", "share", "degrees"), [
    ("half ball", 0.5, 30.0), ("quarter ball", 0.25, 48.6), ("three-quarter ball", 0.75, 14.5),
    ("3/4 ball", 0.75, 14.5), ("full ball", 1.0, 0.0),
])  # fmt: skip
def test_a_hit_covers_its_share_of_the_ball(hit: str, share: float, degrees: float) -> None:
    """The cut of the trade's tables, and the share of the target ball that the cue ball covers along its way."""
    start = shot()
    found = stage_shot(start, 0.6, cut_said(f"{hit} left", start))
    assert seen_from_above(found)[1] == pytest.approx(degrees, abs=0.05)
    c, t = complex(*found.balls[CUE_BALL]), complex(*found.balls["1"])
    mouth = complex(*found.table.edge.mouths[POCKETS.index("foot-left")][:2])
    ghost = t - 2.0 * R * (mouth - t) / abs(mouth - t)
    aside = abs(((t - c) * ((ghost - c) / abs(ghost - c)).conjugate()).imag)
    assert (2.0 * R - aside) / (2.0 * R) == pytest.approx(share, abs=1e-9)


def test_a_half_ball_hit_on_another_size_points_at_its_rim() -> None:
    start = shot(ball_set=UNLIKE)
    cut = cut_of_hit(start, 0.5)
    assert 2.0 * math.sqrt(0.033 * 0.025) * math.sin(math.radians(cut)) == pytest.approx(0.025)
    passing = BallSet(odd={"cue": OddBall(diameter_m=0.055), "1": OddBall(diameter_m=0.08)})
    assert math.isnan(cut_of_hit(shot(ball_set=passing), 0.1))


def test_either_alone_keeps_the_other() -> None:
    start = stage_shot(shot(), 0.5, -37.0)
    assert seen_from_above(stage_shot(start, distance_m=0.7)) == pytest.approx((0.7, -37.0), abs=1e-9)
    assert seen_from_above(stage_shot(start, cut_deg=12.0)) == pytest.approx((0.5, 12.0), abs=1e-9)
    assert stage_shot(start, cut_deg=0.0).takes == start.takes


@pytest.mark.parametrize("pocket", POCKETS)
def test_straight_in_lies_on_one_line_with_ball_and_pocket(pocket: str) -> None:
    found = stage_shot(shot(pocket=pocket), 0.3, 0.0)
    mouth = found.table.edge.mouths[POCKETS.index(pocket)][:2]
    c, t = found.balls[CUE_BALL], found.balls["1"]
    assert math.dist(c, mouth) == pytest.approx(math.dist(c, t) + math.dist(t, mouth), abs=1e-12)


def nearest_by_scan(start: Scenario, wanted: float, cut: float) -> float:
    """The distance nearest to the one wanted that the scenario takes, to a tenth of a millimetre."""
    room, fine = Room(start), []
    for k in range(500, 20000):
        at = room.spot(1e-4 * k, cut)
        if 1e-4 * k >= room.apart and abs(at[0] - 1.27) < 1.3 and abs(at[1] - 0.63) < 0.7:
            fine.append((abs(1e-4 * k - wanted), 1e-4 * k, at))
    for _, distance, at in sorted(fine):
        try:
            start.change(balls=start.balls | {CUE_BALL: at})
        except TablesimError:
            continue
        return distance
    raise AssertionError("nowhere")


@pytest.mark.parametrize(("wanted", "cut"), [(2.4, 30.0), (2.0, -60.0), (0.89, 0.0), (0.045, 20.0), (1.9, 89.0)])
def test_what_would_do_is_the_nearest_that_does(wanted: float, cut: float) -> None:
    start = shot()
    blocker = Room(start).spot(0.9, 0.0)
    start = start.change(balls=start.balls | {"5": blocker})
    with pytest.raises(TablesimError, match=r"on that line .* that would do"):
        stage_shot(start, wanted, cut)
    nearest = Room(start).nearest_distance(wanted, cut)
    assert nearest is not None
    assert nearest == pytest.approx(nearest_by_scan(start, wanted, cut), abs=1.1e-3)
    stage_shot(start, nearest, cut)
    with pytest.raises(TablesimError):
        stage_shot(start, nearest + math.copysign(2e-5, wanted - nearest), cut)


@pytest.mark.parametrize("unit", ["mm", "inch", "diamond"])
@pytest.mark.parametrize("far", [0.01, 0.2, 5.0])
def test_what_is_told_can_be_typed(unit: str, far: float) -> None:
    rng = random.Random(far)
    for _ in range(12):
        start = shot((rng.uniform(0.1, 2.4), rng.uniform(0.1, 1.1)), rng.choice(POCKETS))
        cut = rng.uniform(-80.0, 80.0)
        try:
            stage_shot(start, far, cut, unit)
        except TablesimError as error:
            if "on that line " not in str(error) or "no distance" in str(error):
                continue
            told = str(error).split("on that line ")[1].split(" is the ")[0]
            stage_shot(start, distance_said(told, start, unit)[0], cut)


def test_touching_balls_go_straight_on() -> None:
    start = shot()
    found = stage_shot(start, 2.0 * R, 0.0)
    assert math.dist(found.balls[CUE_BALL], found.balls["1"]) == pytest.approx(2.0 * R, abs=1e-12)
    assert seen_from_above(stage_shot(start, 2.0 * R + 0.002, 25.0)) == pytest.approx((2.0 * R + 0.002, 25.0), abs=1e-6)
    with pytest.raises(
        TablesimError, match=r"0.05715 m .* touches the other can only go straight on; .* 0.06 m is the nearest"
    ):
        stage_shot(start, 2.0 * R, 25.0)
    with pytest.raises(TablesimError, match=r"it would overlap ball '1'; on that line 0.06 m is the nearest"):
        stage_shot(start, 2.0 * R - 2e-6, 0.0)


def test_a_ball_in_the_way_is_named() -> None:
    start = shot()
    start = start.change(balls=start.balls | {"9": Room(start).spot(0.6, 30.0)})
    for balls in (start.balls, dict(reversed(start.balls.items()))):  # whatever stands first in the file
        with pytest.raises(TablesimError, match="a cut of 30° to the left: it would overlap ball '9'"):
            stage_shot(start.change(balls=balls), 0.6, 30.0)


def test_where_no_distance_does_another_cut_is_named() -> None:
    rail = 2.54 - shot().nose_distance_m("1")
    start = shot((rail, 0.635), "head-left")
    with pytest.raises(
        TablesimError, match=r"no distance on that line would do; at that distance, a cut of (.*) would"
    ) as told:
        stage_shot(start, 0.4, 0.0)
    stage_shot(start, 0.4, cut_said(str(told.value).split("a cut of ")[-1].removesuffix(" would"), start))
    hanging = shot((1.27, 0.0), "side-left")
    with pytest.raises(TablesimError, match="neither another distance nor another cut alone would do: move ball 1"):
        stage_shot(hanging, 0.4, 0.0)


@pytest.mark.parametrize(("distance", "cut", "why"), [
    (None, None, "one of them must be given"), (0.5, 90.0, "less than 90 degrees to either side; got 90"),
    (0.5, -120.0, "less than 90"), (0.5, math.nan, "less than 90"), (0.0, 10.0, "greater than 0; got 0 m"),
    (math.nan, 10.0, "greater than 0"), (math.inf, 10.0, "greater than 0"), (-1.0, 10.0, "greater than 0"),
])  # fmt: skip
def test_numbers_that_are_none(distance: float | None, cut: float | None, why: str) -> None:
    with pytest.raises(TablesimError, match=why):
        stage_shot(shot(), distance, cut)


def test_a_cut_that_cannot_be_kept_is_told() -> None:
    behind = shot().change(balls={"cue": (2.2, 1.1), "1": MIDDLE})
    with pytest.raises(TablesimError, match="as the balls lie now: give a cut, too"):
        stage_shot(behind, distance_m=0.5)
    assert seen_from_above(stage_shot(behind, 0.5, 5.0))[1] == pytest.approx(5.0)
    with pytest.raises(AimImpossible, match="names none"):
        stage_shot(shot().change(target=None, takes=[]), 0.5, 5.0)


def test_a_table_of_ones_own_has_its_own_diamonds() -> None:
    table = Table(size=Size(length_m=8 * 0.3048, width_m=1.2))
    start = shot((1.3, 0.6), table=table)
    assert distance_said("2 diamonds", start)[0] == distance_said("2 ft", start)[0] == pytest.approx(0.6096)


@pytest.mark.parametrize(("text", "metres", "liked"), [
    ("2 ft", 0.6096, "inch"), ("2ft", 0.6096, "inch"), ("2'", 0.6096, "inch"), ("24 in", 0.6096, "inch"),
    ('24"', 0.6096, "inch"),
    ("2 ft 6 in", 0.762, "inch"), ("2′6″", 0.762, "inch"), ("60 cm", 0.6, "mm"), ("600mm", 0.6, "mm"),
    ("0,6 m", 0.6, "mm"),
    ("1.5 diamonds", 0.47625, "diamond"), ("1 1/2 d", 0.47625, "diamond"), ("½ m", 0.5, "mm"),
    (" 3 FEET ", 0.9144, "inch"),
])  # fmt: skip
def test_a_distance_in_any_unit(text: str, metres: float, liked: str) -> None:
    found = distance_said(text, shot())
    assert found[0] == pytest.approx(metres)
    assert found[1] == liked


def test_a_number_alone_is_in_the_unit_shown() -> None:
    for text, unit, metres in (("0.6", "mm", 0.6), ("2", "inch", 0.6096), ("2 1/2", "diamond", 0.79375)):
        assert distance_said(text, shot(), unit)[0] == pytest.approx(metres)
        assert distance_said(text, shot(), unit)[1] == unit


@pytest.mark.parametrize(
    "text", ["", "2", "ft", "abc", "-2 ft", "0 m", "2 furlongs", "2 ft x", "1/0 m", "nan m", "inf m", "2 ft -3 in"]
)
def test_what_is_no_distance(text: str) -> None:
    with pytest.raises(TablesimError, match="distance: must be a length with its unit, as 2 ft"):
        distance_said(text, shot())


@pytest.mark.parametrize(("text", "degrees"), [
    ("30 left", 30.0), ("30 degrees to the right", -30.0), ("left 30", 30.0), ("30° R", -30.0), ("12.5 deg left", 12.5),
    ("-20", -20.0), ("+20", 20.0), ("−20°", -20.0), ("straight in", 0.0), ("Straight", 0.0), ("full ball", 0.0),
    ("0", 0.0), ("half ball", -30.0), ("half-ball hit", -30.0), ("half ball left", 30.0), ("1/2 ball", -30.0),
    ("45", -45.0), ("45 l", 45.0), ("three quarter ball", -14.4775), ("three-quarter-ball hit left", 14.4775),
])  # fmt: skip
def test_a_cut_as_it_is_said(text: str, degrees: float) -> None:
    """Without a side it stays on the side it is on, here the right."""
    assert cut_said(text, stage_shot(shot(), 0.5, -10.0)) == pytest.approx(degrees)


def test_from_straight_in_a_cut_without_a_side_goes_left() -> None:
    assert cut_said("30", stage_shot(shot(), 0.5, 0.0)) == 30.0


@pytest.mark.parametrize(
    "text",
    [
        "",
        "thin",
        "30 left right",
        "-30 left",
        "1/0 ball",
        "2 ball",
        "1.1 ball",
        "0 ball",
        "half",
        "30 up",
        "--3",
        "nan",
    ],
)
def test_what_is_no_cut(text: str) -> None:
    with pytest.raises(TablesimError, match="cut: must be said as 30 left, 30 degrees, half ball or straight in; got"):
        cut_said(text, shot())


def test_words_tell_what_was_asked_for() -> None:
    for cut, distance in product((-60.0, -1.0, 0.0, 30.0), (0.3, 0.6)):
        found = stage_shot(shot(), distance, cut)
        told = f"a cut of {abs(cut):.0f}° to the {'left' if cut > 0 else 'right'}" if cut else "straight in"
        assert staged_words(found, "mm") == f"{distance:.2f} m from the cue ball to ball 1, {told}"


def test_the_command_writes_the_shot(tmp_path: Path) -> None:
    out = tmp_path / "staged.json"
    said = run("stage", "two-cues", "--distance", "2ft", "--cut", "half ball", "--out", str(out)).stdout
    assert said == f"{out}: 2.00 ft from the cue ball to ball 3, a cut of 30° to the left\n"
    assert seen_from_above(load(out)) == pytest.approx((0.6096, 30.0), abs=1e-3)  # written to the micrometre
    printed = json.loads(run("stage", str(out), "--cut", "-20").stdout)
    assert seen_from_above(Scenario.model_validate(printed))[1] == pytest.approx(-20.0, abs=1e-2)


def test_the_command_says_what_would_do(tmp_path: Path) -> None:
    out = tmp_path / "staged.json"
    far = run("stage", "two-cues", "--distance", "9ft", "--cut", "30 right", "--out", str(out), code=2).stderr
    assert (
        "9 ft from ball 3, a cut of 30° to the right: it would be off the bed; on that line 2.72 ft is the farthest"
        in far
    )
    assert "one of them must be given" in run("stage", "two-cues", code=2).stderr
    assert "its unit" in run("stage", "two-cues", "--distance", "2", code=2).stderr
    assert not out.exists()
    run("stage", "two-cues", "--cut", "3", "--out", str(out))
    assert "which is read" in run("stage", str(out), "--cut", "4", "--out", str(out), code=2).stderr
