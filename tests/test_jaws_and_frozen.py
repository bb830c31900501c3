"""Target balls in a pocket's jaws, and target balls frozen to others or to a rail."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, get_args

import pytest
from conftest import known, many_shots

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.model.table import PocketName, Table
from tablesim.physics import jit
from tablesim.physics.edge import POCKETS
from tablesim.study.correct import Correction, correct_take
from tablesim.study.explain import explain_take
from tablesim.study.neutral import neutral_take
from tablesim.study.predict import Prediction, predict_take
from tablesim.study.setup import gate_of, plain_heading

DIAMETER = 0.05715
NOSE = Scenario(balls={"cue": (1.0, 0.5)}).nose_distance_m("cue")
WIDTH = Table().surface.width_m


def at_mouth(pocket: PocketName, deep_m: float, left_m: float, table: Table | None = None) -> tuple[float, float]:
    """A place by its depth beyond a pocket's mouth line and its distance left of the pocket's axis."""
    x, y, into_x, into_y, _ = (table or Table()).edge.mouths[POCKETS.index(pocket)]
    return float(x + into_x * deep_m - into_y * left_m), float(y + into_y * deep_m + into_x * left_m)


def shot(
    balls: dict[str, tuple[float, float]], pocket: PocketName = "foot-left", right: float = 0.0, **more: Any
) -> Scenario:
    take = Take(name="t", pace_m_s=2.0, tip=Tip(right=right), elevation_deg=3.0)
    return Scenario(balls=balls, target=Target(ball="1", pocket=pocket), takes=[take], **more)


def played(scenario: Scenario, heading_deg: float) -> Prediction:
    take = scenario.takes[0].model_copy(update={"aim": Aim(heading_deg=heading_deg)})
    return predict_take(scenario, take)


def solved(scenario: Scenario) -> Correction:
    """The correction, which must exist, pot, and cross where it says."""
    found = correct_take(scenario, scenario.takes[0])
    assert found.heading_deg is not None, found.reason
    target = played(scenario, found.heading_deg).target
    assert target.outcome == "potted"
    assert target.miss_mm == pytest.approx(found.heart_mm, abs=0.5)
    return found


def frozen_beside(angle_deg: float, gap_m: float = 0.0) -> Scenario:
    """Ball 2 frozen to ball 1, ``angle_deg`` left (+) of ball 1's way to the left foot pocket."""
    (x, y), mouth = (1.7, 0.75), at_mouth("foot-left", 0.0, 0.0)
    turn = math.atan2(mouth[1] - y, mouth[0] - x) + math.radians(angle_deg)
    beside = (x + (DIAMETER + gap_m) * math.cos(turn), y + (DIAMETER + gap_m) * math.sin(turn))
    return shot({"cue": (1.0, 0.5), "1": (x, y), "2": beside})


def in_degrees_of(
    pocket: PocketName, angle_deg: float, ball: tuple[float, float], distance_m: float
) -> tuple[float, float]:
    """A place for the cue ball before a ball, off the pocket's axis by an angle."""
    _, _, into_x, into_y, _ = Table().edge.mouths[POCKETS.index(pocket)]
    line = math.atan2(into_y, into_x) + math.radians(angle_deg)
    return ball[0] - distance_m * math.cos(line), ball[1] - distance_m * math.sin(line)


# --- in the jaws


def test_the_gate_is_the_mouth_line_until_the_balls_front_is_over_it() -> None:
    """Beyond that it is twice as deep as the front, without a jump, for corners and sides and every size of table."""
    for size in ("9ft", "8ft", "7ft"):
        table = Table(size=size)
        for pocket, mouth in zip(get_args(PocketName), table.edge.mouths, strict=True):
            clear = shot({"cue": (1.0, 0.5), "1": at_mouth(pocket, -NOSE - 2e-6, 0.005, table)}, pocket, table=table)
            assert tuple(gate_of(clear)) == tuple(mouth)
            before = 0.0
            for deep in (-NOSE + 1e-3, -0.015, 0.0, 0.004):
                gate = gate_of(
                    shot({"cue": (1.0, 0.5), "1": at_mouth(pocket, deep, 0.005, table)}, pocket, table=table)
                )
                ahead = (gate.x - mouth[0]) * mouth[2] + (gate.y - mouth[1]) * mouth[3]
                assert ahead == pytest.approx(2.0 * (deep + NOSE), abs=3e-6)
                assert (gate.into, gate.half_width) == ((mouth[2], mouth[3]), mouth[4])
                assert ahead > before
                assert ahead - deep >= NOSE - 3e-6
                before = ahead


def test_a_ball_frozen_to_the_rail_beside_a_side_pocket_has_its_mouth_line() -> None:
    for x in (0.3, 1.0, 1.6, 2.2):
        scenario = shot({"cue": (1.0, 0.5), "1": (x, WIDTH - NOSE)}, "side-left")
        assert tuple(gate_of(scenario)) == tuple(Table().edge.mouths[POCKETS.index("side-left")])


@many_shots
@pytest.mark.parametrize("pocket", ["foot-left", "head-right"])
def test_a_ball_hanging_in_a_corner_is_potted_from_every_side_that_sees_it(
    pocket: PocketName, fast: SimpleNamespace
) -> None:
    """By a full hit, by the plain aim, and by the corrected one with side: common practice, no source."""
    for deep, left in ((-0.01, 0.0), (0.0, 0.012), (0.012, -0.012), (0.03, 0.0)):
        ball = at_mouth(pocket, deep, left)
        for angle in (-38.0, -20.0, 0.0, 20.0, 38.0):
            scenario = shot({"cue": in_degrees_of(pocket, angle, ball, 0.5), "1": ball}, pocket)
            (cx, cy), (tx, ty) = scenario.balls["cue"], scenario.balls["1"]
            for heading in (math.atan2(ty - cy, tx - cx), plain_heading(scenario)):
                assert played(scenario, math.degrees(heading)).target.outcome == "potted"
            for right in (-0.3, 0.3):
                take = scenario.takes[0].model_copy(update={"tip": Tip(right=right)})
                assert solved(scenario.change(takes=[take])).window_deg > 1.5  # type: ignore[operator]


def test_a_ball_on_the_middle_of_the_mouth_line_can_be_aimed_at(kernels: SimpleNamespace) -> None:
    found = solved(shot({"cue": (1.6, 0.5), "1": at_mouth("foot-left", 0.0, 0.0)}, right=-0.2))
    assert found.relative_to_english == "opposite"
    assert abs(found.heart_mm) < 10.0  # type: ignore[arg-type]
    assert found.window_mm is None  # its ends run nearly along the gate
    assert found.window_deg > 1.5  # type: ignore[operator]


@many_shots
@pytest.mark.parametrize(("pocket", "deepest"), [("foot-left", 0.036), ("side-left", 0.004)])
def test_the_miss_goes_on_without_a_jump_through_the_mouth_line(
    pocket: PocketName, deepest: float, fast: SimpleNamespace
) -> None:
    """A ball pushed on a little at a time; the miss keeps its sign, and squirt its side of the axis."""
    steps, before = 60 if jit.wanted() else 15, None
    for k in range(steps + 1):
        deep = -0.06 + (deepest + 0.06) * k / steps
        scenario = shot({"cue": (1.5, 0.45), "1": at_mouth(pocket, deep, 0.006)}, pocket, right=-0.3)
        told = explain_take(scenario, scenario.takes[0])
        solved(scenario)
        assert told.miss_mm is not None
        assert told.miss_mm > 0.0
        parts_mm = sum(known(part.mm) for part in told.parts)
        assert told.miss_mm == pytest.approx(parts_mm + known(told.remainder_mm), abs=1e-9)
        # The aim itself may jump: a window widens all at once when a jaw lets in what it kept out before.
        now = told.miss_mm, math.degrees(plain_heading(scenario))
        if before is not None:
            for was, is_now, most in zip(before, now, (90.0, 18.0), strict=True):
                assert abs(is_now - was) < most / steps
        before = now


@many_shots
def test_hanging_balls_mirror(fast: SimpleNamespace) -> None:
    for deep, left, y in ((-0.012, 0.02, 0.4), (0.0, -0.015, 0.7), (0.02, 0.01, 1.1)):
        x, z = at_mouth("foot-left", deep, left)
        one = solved(shot({"cue": (1.7, y), "1": (x, z)}, right=0.25))
        two = solved(shot({"cue": (1.7, WIDTH - y), "1": (x, WIDTH - z)}, "foot-right", right=-0.25))
        assert one.correction_deg == pytest.approx(-two.correction_deg, abs=2e-3)  # type: ignore[operator]
        assert one.heart_mm == pytest.approx(-two.heart_mm, abs=0.2)  # type: ignore[operator]


@many_shots
def test_neutral_points_of_a_hanging_ball() -> None:
    """Without side nothing but throw of a cut is to be corrected; at the gearing side a ball is not thrown."""
    scenario = shot({"cue": (1.6, 0.5), "1": at_mouth("foot-left", 0.005, 0.0)}, right=-0.2)
    found = neutral_take(scenario, scenario.takes[0])
    assert all(value is not None for value in found.side.values)
    assert found.side.zeros


# --- frozen


@pytest.mark.parametrize("angle", [-110.0, -100.0, -92.0, 92.0, 100.0])
def test_a_ball_frozen_beside_the_target_is_no_obstacle(angle: float, fast: SimpleNamespace) -> None:
    """The target ball leaves it (common practice, no source): the aim is in the window with and without it."""
    scenario = frozen_beside(angle)
    found = solved(scenario)
    alone = scenario.change(balls={name: place for name, place in scenario.balls.items() if name != "2"})
    free = solved(alone).heading_deg
    assert found.window_deg is not None
    assert abs(found.heading_deg - free) < 0.5 * found.window_deg  # type: ignore[operator]


def test_a_ball_frozen_in_the_way_is_named(kernels: SimpleNamespace) -> None:
    for angle in (0.0, 45.0, -60.0):
        scenario = frozen_beside(angle)
        found = correct_take(scenario, scenario.takes[0])
        assert found.reason == "blocked: ball 2 is in the way of ball 1 to the left foot pocket"
        target = predict_take(scenario, scenario.takes[0]).target
        assert (target.outcome, target.blocked_by) == ("blocked", "2")


@pytest.mark.parametrize("gap_m", [0.0, 1e-6])
@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_a_frozen_ball_guides_the_target_along_its_tangent(side: float, gap_m: float, fast: SimpleNamespace) -> None:
    """Hit into the ball beside it, it leaves square to the line of the two: a wide shot.

    Common practice, no source.  The window is several times that of the ball alone.
    """
    scenario = frozen_beside(90.0 * side, gap_m)
    found = solved(scenario)
    alone = solved(scenario.change(balls={n: p for n, p in scenario.balls.items() if n != "2"}))
    assert found.window_deg > 4.0 * alone.window_deg  # type: ignore[operator]


@many_shots
@pytest.mark.parametrize("right", [-0.25, 0.0, 0.25])
@pytest.mark.parametrize("gap_m", [0.0, 1e-4, 8e-4])
def test_a_ball_frozen_to_the_rail_runs_along_it_into_the_pocket(
    gap_m: float, right: float, fast: SimpleNamespace
) -> None:
    """From a cut, with side or without: an everyday shot (common practice, no source); and its mirror image."""
    y = WIDTH - NOSE - gap_m
    for cue in ((1.2, 0.9), (1.4, 0.7), (1.2, 1.2)):
        one = solved(shot({"cue": cue, "1": (1.8, y)}, right=right))
        other = shot({"cue": (cue[0], WIDTH - cue[1]), "1": (1.8, WIDTH - y)}, "foot-right", right=-right)
        two = solved(other)
        assert one.heading_deg == pytest.approx(-two.heading_deg, abs=0.02)  # type: ignore[operator]


def test_a_cushion_where_the_cue_ball_would_have_to_be_is_told() -> None:
    """Hit far from the pocket and hard into the rail, a frozen ball comes off it; the ghost ball is in the cushion."""
    scenario = shot({"cue": (0.3, 0.3), "1": (0.6, WIDTH - NOSE)})
    found = correct_take(scenario, scenario.takes[0])
    assert found.reason is not None
    assert "a cushion comes first" in found.reason


def test_a_cut_that_cannot_be_played_is_not_called_too_soft(fast: SimpleNamespace) -> None:
    """The slowest hits that move the target ball at all are no way round the limit of 90 degrees."""
    scenario = shot({"cue": (1.2, 0.4), "1": (0.4, 0.5)}, "side-left")
    for pace in (1.5, 2.0, 2.5, 3.0, 3.5):
        for right in (-0.3, 0.0, 0.3):
            take = Take(name="t", pace_m_s=pace, tip=Tip(right=right))
            assert "cut too thin" in (correct_take(scenario, take).reason or "")


HOLES = (
    ({"cue": (1.7608650646990966, 0.9934978154861637), "1": (1.4405630355904004, 0.711374687216592),
      "2": (1.3862809783705512, 0.6934978650573471)}, "side-left",
     Tip(right=-0.4065917431848942, up=0.14313181237310735), 3.0),
    ({"cue": (2.1407504389375656, 0.8248465103849675), "1": (1.3454814108681503, 0.0275137337)}, "foot-right",
     Tip(right=-0.17195703878502344, up=-0.030716972518897073), 0.0),
)  # fmt: skip


@pytest.mark.parametrize(("balls", "pocket", "tip", "elevation"), HOLES)
def test_a_window_with_a_hole_in_its_middle_still_gives_an_aim_that_pots(
    balls: dict[str, tuple[float, float]], pocket: PocketName, tip: Tip, elevation: float, fast: SimpleNamespace
) -> None:
    """At full pace a neighbour or the jaws may turn the ball away in the midst of headings that pot."""
    take = Take(name="t", pace_m_s=8.0, tip=tip, elevation_deg=elevation)
    found = solved(shot(balls, pocket, table=Table(size="8ft")).change(takes=[take]))
    assert found.window_deg > 0.05  # type: ignore[operator]
