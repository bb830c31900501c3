"""The corrected aim: it pots, it mirrors, it vanishes with its causes; and the field's rules about it."""

from __future__ import annotations

import itertools
import math
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from conftest import known, many_shots

from tablesim.model.gear import BallSet, Cue
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.model.table import PocketName
from tablesim.physics import jit
from tablesim.resources import open_scenario
from tablesim.study.correct import Correction, correct, correct_takes, heading_of
from tablesim.study.explain import explain
from tablesim.study.neutral import neutral
from tablesim.study.predict import predict_take
from tablesim.study.setup import plain_heading
from tablesim.study.shooter import Shooter
from tablesim.study.sweep import cue_ball_at

CUES = {"low-squirt": Cue(ball_to_end_mass=50.0), "wood": Cue(ball_to_end_mass=22.0)}
CORNERS: list[PocketName] = ["head-left", "foot-left", "head-right", "foot-right"]
MIRROR: dict[PocketName, PocketName] = {"head-left": "head-right", "foot-left": "foot-right", "side-left": "side-right"}
MIRROR |= {v: k for k, v in MIRROR.items()}


def random_layouts(count: int, seed: int) -> list[Scenario]:
    """Cue ball and target ball anywhere, cut under 60 degrees, english and pace of all kinds."""
    rng = np.random.default_rng(seed)
    found: list[Scenario] = []
    while len(found) < count:
        balls = {
            "cue": (rng.uniform(0.1, 2.44), rng.uniform(0.1, 1.17)),
            "1": (rng.uniform(0.1, 2.44), rng.uniform(0.1, 1.17)),
        }
        pocket = CORNERS[rng.integers(4)]
        take = Take(
            name="t", cue=str(rng.choice(list(CUES))), pace_m_s=rng.uniform(1.5, 5.0),
            tip=Tip(right=rng.uniform(-0.45, 0.45), up=rng.uniform(-0.2, 0.2)), elevation_deg=rng.uniform(1, 8),
        )  # fmt: skip
        try:
            scenario = Scenario(cues=CUES, balls=balls, target=Target(ball="1", pocket=pocket), takes=[take])
            heading = plain_heading(scenario)
        except ValueError:
            continue
        mx, my = scenario.table.edge.mouths[
            ["head-right", "side-right", "foot-right", "foot-left", "side-left", "head-left"].index(pocket), :2
        ]
        line = math.atan2(my - balls["1"][1], mx - balls["1"][0])
        if abs(math.remainder(line - heading, math.tau)) < math.radians(60):
            found.append(scenario)
    return found


def answer(scenario: Scenario) -> Correction:
    return correct_takes(Shooter(scenario), scenario.takes)[0]


def test_500_corrected_aims_pot_where_they_are_aimed(fast: SimpleNamespace) -> None:
    wanted = 500 if jit.wanted() else 25  # plain Python takes a hundred times as long
    solved = 0
    for scenario in random_layouts(800, seed=4):
        found = answer(scenario)
        if found.heading_deg is None:
            assert found.reason
            continue
        take = scenario.takes[0].model_copy(update={"aim": Aim(heading_deg=found.heading_deg)})
        played = predict_take(scenario, take)
        assert played.target.outcome == "potted", scenario
        assert played.target.miss_mm == pytest.approx(found.heart_mm, abs=0.5)
        assert found.window_deg > 0.0  # type: ignore[operator]
        solved += 1
        if solved == wanted:
            break
    assert solved == wanted


def test_mirrored_layouts_give_mirrored_corrections(fast: SimpleNamespace) -> None:
    compared, layouts = 0, 60 if jit.wanted() else 8
    for scenario in random_layouts(layouts, seed=9):
        take = scenario.takes[0]
        other = scenario.change(
            balls={name: (x, 1.27 - y) for name, (x, y) in scenario.balls.items()},
            target=Target(ball="1", pocket=MIRROR[known(scenario.target).pocket]),
            takes=[take.model_copy(update={"tip": Tip(right=-take.tip.right, up=take.tip.up)})],
        )
        one, two = answer(scenario), answer(other)
        if one.correction_deg is None or two.correction_deg is None:
            continue
        assert one.correction_deg == pytest.approx(-two.correction_deg, abs=1e-9)
        assert one.window_deg == pytest.approx(two.window_deg, abs=1e-9)
        assert one.relative_to_english == two.relative_to_english
        compared += 1
    assert compared > layouts / 2


def test_without_squirt_swerve_and_throw_there_is_no_correction(fast: SimpleNamespace) -> None:
    """A hit through the centre line, balls without friction: 0 within 1e-6 degrees."""
    smooth = BallSet(friction_floor=0.0, friction_rise=0.0)
    compared = 0
    layouts = 60 if jit.wanted() else 8
    for scenario in random_layouts(layouts, seed=2):
        take = scenario.takes[0].model_copy(update={"tip": Tip(right=0.0, up=0.1)})
        found = answer(scenario.change(ball_set=smooth, takes=[take]))
        if found.correction_deg is not None:
            assert found.correction_deg == pytest.approx(0.0, abs=1e-6)
            assert found.correction_mm == pytest.approx(0.0, abs=1e-3)
            compared += 1
    assert compared > layouts / 2


def test_the_corrected_offset_can_be_written_into_the_file(fast: SimpleNamespace) -> None:
    """aim_offset_mm is the offset of a plain aim that is the corrected heading."""
    scenario = open_scenario("two-cues")
    for take, found in zip(scenario.takes, correct(scenario), strict=True):
        assert found.aim_offset_mm is not None
        assert math.degrees(plain_heading(scenario, found.aim_offset_mm)) == pytest.approx(found.heading_deg, abs=1e-9)
        told = take.model_copy(update={"aim": Aim(corrected=True)})
        assert predict_take(scenario, told).target.outcome == "potted"


def test_reasons() -> None:
    base = open_scenario("two-cues")
    x, y = base.balls["cue"]
    tx, ty = base.balls["3"]
    middle = ((x + tx) / 2, (y + ty) / 2)
    in_the_way = correct(base.change(balls={**base.balls, "8": middle}))[1]
    assert in_the_way.reason is not None
    assert "ball 8 stands in the cue ball's way" in in_the_way.reason
    soft = base.change(takes=[base.takes[0].model_copy(update={"pace_m_s": 0.4})])
    assert "soft" in (correct(soft)[0].reason or "")
    miscue = base.change(takes=[base.takes[0].model_copy(update={"tip": Tip(right=0.55)})])
    assert "miscue" in (correct(miscue)[0].reason or "")
    between = base.change(balls={**base.balls, "9": (2.1, 0.97)})
    assert "in the way of ball 3 to the left foot pocket" in (correct(between)[1].reason or "")
    assert "cut too thin" in (correct(open_scenario("thin-cut-outside"), "no english")[0].reason or "")


def test_parts_and_remainder_add_up() -> None:
    for name in ("two-cues", "inside-english-by-pace", "outside-english-by-pace", "straight-in-with-english"):
        for found in explain(open_scenario(name)):
            assert found.miss_mm is not None
            remainder_mm = known(found.remainder_mm)
            assert sum(known(p.mm) for p in found.parts) + remainder_mm == pytest.approx(found.miss_mm, abs=1e-9)
            assert abs(remainder_mm) < 1e-6
            assert found.reading.endswith(".")


def test_reading_in_trade_words() -> None:
    hard = explain(open_scenario("two-cues"), "low-squirt, hard")[0]

    assert hard.reading.startswith("Left english at hard pace")
    assert "squirt wins" in hard.reading
    assert "right of centre, opposite the english" in hard.reading


def test_a_ball_in_the_place_of_the_ghost_ball_is_named() -> None:
    scenario = Scenario(
        balls={"cue": (0.635, 0.4), "1": (1.9312, 0.6858), "2": (1.905, 0.635)},
        target=Target(ball="1", pocket="foot-left"), takes=[Take(name="t", pace_m_s=2.0)],
    )  # fmt: skip
    assert "ball 2 stands in the cue ball's way" in (correct(scenario)[0].reason or "")


def test_the_reading_tells_the_correction_from_where_the_pocket_takes_the_ball_best() -> None:
    """A cut whose throw goes left is corrected right, although the aim stays left of the centre."""
    scenario = Scenario(
        balls={"cue": (0.635, 0.4), "3": (1.905, 1.11125)}, target=Target(ball="3", pocket="foot-left"),
        takes=[Take(name="t", pace_m_s=2.0)],
    )  # fmt: skip
    found = explain(scenario)[0]
    heart, shift = found.correction.heart_mm, found.correction.correction_mm
    assert heart is not None
    assert shift is not None
    assert found.miss_mm is not None
    assert heart > 10.0
    assert found.miss_mm > 0.0 > shift
    assert f"{abs(shift):.0f} mm right of where the pocket takes the ball best" in found.reading
    assert "mm left of centre" in found.reading


def test_a_corrected_aim_is_said_to_be_one_and_its_own_offset_has_a_part() -> None:
    scenario = open_scenario("two-cues")
    take = scenario.take_named("wood, soft")
    heading = correct(scenario, take.name)[0].heading_deg
    aimed = take.model_copy(update={"aim": Aim(heading_deg=heading)})
    found = explain(scenario.change(takes=[aimed]))[0]
    assert "this aim, 181 mm right of centre, is the corrected one" in found.reading
    assert found.aim_mm == pytest.approx(found.correction.aim_offset_mm, abs=1e-6)
    assert found.miss_mm is not None
    assert found.aim_mm is not None
    assert abs(found.aim_mm + found.miss_mm) < 5.0
    assert sum(p.mm for p in found.parts) + found.remainder_mm == pytest.approx(found.miss_mm, abs=1e-9)  # type: ignore[operator]


def test_the_reading_of_an_aim_off_the_plain_one_says_what_is_wrong_with_it() -> None:
    """By the way the aim that works is told, from the centre, it could be taken for the aim on the table."""
    scenario = open_scenario("two-cues")
    take = scenario.take_named("wood, hard")
    plain = explain(scenario, take.name)[0]
    assert "This aim" not in plain.reading
    assert plain.correction.aim_offset_mm is not None
    works = round(plain.correction.aim_offset_mm)
    too_far = explain(with_aim(scenario, take, works - 150.0), take.name)[0]
    assert f"This aim, {150 - works} mm right of centre, is 150 mm too far right. Aim {-works}" in too_far.reading
    short = explain(with_aim(scenario, take, works + 60.0), take.name)[0]
    assert f"This aim, {-works - 60} mm right of centre, is 60 mm too far left." in short.reading
    goes_in = explain(with_aim(scenario, take, works + 15.0), take.name)[0]
    assert f"It goes in, with 29 mm of room on the left and 60 mm on the right; the middle of it: aim {-works}" in (
        goes_in.reading
    )


def with_aim(scenario: Scenario, take: Take, offset_mm: float) -> Scenario:
    aimed = take.model_copy(update={"aim": Aim(toward="pocket", offset_mm=offset_mm)})
    return scenario.change(takes=[aimed if one.name == take.name else one for one in scenario.takes])


def test_a_slipping_tip_is_told_with_its_reason() -> None:
    scenario = open_scenario("two-cues")
    take = scenario.takes[0].model_copy(update={"tip": Tip(right=0.7)})
    found = explain(scenario.change(takes=[take]))[0]
    assert found.reading.startswith("Miscue: the tip strikes 0.70 radii off centre")


def test_a_ball_that_stops_on_the_way_is_no_miss() -> None:
    """Too soft: it stops short; a little harder it drops; off the line it meets a jaw or rail and misses."""
    scenario = open_scenario("two-cues")
    take = scenario.takes[0]
    soft, firm = (take.model_copy(update={"pace_m_s": pace}) for pace in (0.9, 1.9))
    wide = firm.model_copy(update={"aim": Aim(toward="pocket", offset_mm=300.0)})
    targets = [predict_take(scenario, one).target for one in (soft, firm, wide)]
    assert [(t.outcome, t.short) for t in targets] == [("missed", True), ("potted", False), ("missed", False)]


def test_same_and_opposite_side_rule_over_a_grid(fast: SimpleNamespace) -> None:
    """Firm: opposite the english; soft: to its side. Low-squirt cue, inside and outside (common practice)."""
    for name in ("inside-english-by-pace", "outside-english-by-pace"):
        scenario = open_scenario(name)
        for right in (-0.3, -0.2):
            for distance in (0.7, 0.9, 1.1):
                place = cue_ball_at(scenario, distance)
                takes = [
                    scenario.takes[0].model_copy(
                        update={"name": str(pace), "pace_m_s": pace, "tip": Tip(right=right), "elevation_deg": 4.0}
                    )
                    for pace in (1.4, 4.5)
                ]
                soft, hard = correct_takes(Shooter(place), takes)
                assert (soft.relative_to_english, hard.relative_to_english) == ("same", "opposite")


@many_shots
def test_neutral_points_are_neutral() -> None:
    """At the neutral pace the correction is nil; at the gearing side the throw is; wood has no neutral pace here."""
    scenario = open_scenario("two-cues")
    found = neutral(scenario, "low-squirt, medium")[0]
    pace = found.pace.zeros[0]
    assert 1.4 < pace < 2.4
    played_at = scenario.takes[0].model_copy(update={"pace_m_s": pace})
    assert abs(correct_takes(Shooter(scenario), [played_at])[0].correction_mm) < 0.5  # type: ignore[arg-type]
    assert found.side.zeros[0] > 0.0  # outside on a cut to the left is right
    assert neutral(scenario, "wood, medium")[0].pace.zeros == ()


@many_shots
def test_where_the_side_rule_ends_as_readme_counts_it(fast: SimpleNamespace) -> None:
    """Firm opposite, soft same side: common practice, no source; in how many of a hundred it holds stands in README."""
    base = open_scenario("two-cues")
    base = base.change(cues={f"m/m_e {q}": Cue(ball_to_end_mass=float(q)) for q in (50, 40)}, takes=[])
    paces = {"firm": (3.5, 4.5), "soft": (1.4, 1.7)}
    grid = tuple(itertools.product(base.cues, paces, (1.0, 2.0, 3.0, 4.0, 5.0)))
    holds, cells = dict.fromkeys(grid, 0), dict.fromkeys(grid, 0)
    for cut, distance in itertools.product((8.0, 15.0, 30.0), (0.3, 0.6, 0.9, 1.2)):
        place = cue_ball_at(base, distance, cut)
        takes, rows = [], []
        for row, side, sign in itertools.product(grid, (0.15, 0.3, 0.45), (-1, 1)):
            cue, kind, butt = row
            for pace in paces[kind]:
                tip = Tip(right=sign * side)
                takes.append(Take(name="t", cue=cue, tip=tip, elevation_deg=butt, pace_m_s=pace))
                rows.append(row)
        for found, row in zip(correct_takes(Shooter(place), takes), rows, strict=True):
            if found.heading_deg is not None and found.relative_to_english != "none":
                cells[row] += 1
                holds[row] += found.relative_to_english == ("opposite" if row[1] == "firm" else "same")
    text = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
    for cue, kind in itertools.product(base.cues, paces):
        of_butts = (round(100 * holds[row] / cells[row]) for row in grid if row[:2] == (cue, kind))
        printed = next(line for line in text.splitlines() if line.startswith(f"| {kind}") and f" {cue} |" in line)
        assert printed.endswith(f" {cue} | " + " | ".join(map(str, of_butts)) + " |")


def test_turn_and_aim_are_from_one_plain_aim(fast: SimpleNamespace) -> None:
    """At a pocket that takes the ball off its centre: the turned plain aim at the centre has that offset."""
    scenario = open_scenario("throw-at-fifteen")
    for take, found in zip(scenario.takes, correct(scenario), strict=True):
        assert found.turn_deg is not None
        assert found.heart_mm is not None
        assert abs(found.heart_mm) > 1.0
        assert found.heading_deg == pytest.approx(math.degrees(plain_heading(scenario)) + found.turn_deg, abs=1e-9)
        aim = Aim(toward="pocket", offset_mm=found.aim_offset_mm)
        assert heading_of(scenario, take.model_copy(update={"aim": aim})) == pytest.approx(
            math.radians(known(found.heading_deg)), abs=1e-9
        )
