"""One drag: the ball lands where it is let go, and only what leaves it no room lies elsewhere than before."""

from __future__ import annotations

import math
import random

import pytest
from test_staging import EMPTY, LENGTH, RHO, WIDTH, R, random_scenario, worst_overlap

from tablesim.errors import TablesimError
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Target
from tablesim.physics.ball_ball import contact_distance
from tablesim.physics.edge import POCKETS
from tablesim.staging.by_numbers import stage_shot
from tablesim.staging.carry import Carry, snapped
from tablesim.staging.space import Bed, Positions

APART = 2.0 * R


def laid(**balls: tuple[float, float]) -> Scenario:
    """These balls on a 9-ft table, names with a leading letter."""
    return EMPTY.change(balls={name.removeprefix("b"): at for name, at in balls.items()})


def along(carry: Carry, start: tuple[float, float], end: tuple[float, float], steps: int = 60) -> list[Positions]:
    """The layouts of a drag in small steps."""
    (x, y), (u, v) = start, end
    return [carry.to(x + (u - x) * k / steps, y + (v - y) * k / steps) for k in range(1, steps + 1)]


def test_a_ball_that_is_passed_returns() -> None:
    scenario = laid(cue=(0.5, 0.5), b1=(0.9, 0.505), b2=(2.0, 1.0))
    seen = along(Carry(scenario, "cue"), (0.5, 0.5), (1.3, 0.5))

    assert max(math.dist(after["1"], (0.9, 0.505)) for after in seen) > 0.9 * R
    assert all(worst_overlap(scenario, after) <= 1e-9 for after in seen)
    assert all(after["2"] == (2.0, 1.0) for after in seen)
    assert seen[-1] == {"cue": (1.3, 0.5), "1": (0.9, 0.505), "2": (2.0, 1.0)}


@pytest.mark.parametrize("turn", [0.3, 1.7, 2.9, 4.4])
def test_one_ball_gives_way_straight_from_the_pointer_and_no_farther(turn: float) -> None:
    scenario = laid(cue=(0.5, 0.5), b1=(0.9, 0.5))
    carry, way = Carry(scenario, "cue"), (math.cos(turn), math.sin(turn))
    for share in (0.05, 0.5, 0.95):
        x, y = 0.9 + share * APART * way[0], 0.5 + share * APART * way[1]
        after = carry.to(x, y)
        assert after["cue"] == pytest.approx((x, y), abs=1e-9)
        assert after["1"] == pytest.approx((x - APART * way[0], y - APART * way[1]), abs=1e-5)


def test_a_ball_goes_through_a_cluster_and_leaves_it_as_it_lay() -> None:
    rack = {str(n): (1.6 + row * APART * 0.8661, 0.6 + (2 * k - row) * R * 1.0001) for n, (row, k) in enumerate(
        ((row, k) for row in range(5) for k in range(row + 1)), 1)}  # fmt: skip
    scenario = EMPTY.change(balls={"cue": (1.2, 0.61)} | rack)
    seen = along(Carry(scenario, "cue"), (1.2, 0.61), (2.3, 0.6), 90)

    assert all(worst_overlap(scenario, after) <= 1e-9 for after in seen)
    assert sum(after != scenario.balls | {"cue": after["cue"]} for after in seen) > 20
    assert seen[-1] == rack | {"cue": seen[-1]["cue"]}
    assert math.dist(seen[-1]["cue"], (2.3, 0.6)) < 1e-9


def test_a_ball_slides_along_a_rail_past_frozen_ones() -> None:
    frozen = {str(k): (0.8 + 0.2 * k, RHO) for k in range(1, 5)} | {"9": (1.0 + APART, RHO)}
    scenario = EMPTY.change(balls={"cue": (0.5, RHO)} | frozen)
    seen = along(Carry(scenario, "cue"), (0.5, -0.1), (2.0, -0.1), 120)

    assert all(worst_overlap(scenario, after) <= 1e-9 for after in seen)
    assert seen[-1] == frozen | {"cue": seen[-1]["cue"]}
    assert seen[-1]["cue"] == pytest.approx((2.0, RHO))


@pytest.mark.parametrize("pocket", range(6))
def test_a_ball_goes_into_the_jaws_past_one_that_hangs_there(pocket: int) -> None:
    x, y, px, py, _ = EMPTY.table.edge.drops[pocket]
    scenario = laid(cue=(0.7, 0.6), b1=(x - 2.2 * R * px, y - 2.2 * R * py))
    carry = Carry(scenario, "cue")
    seen = [*along(carry, (0.7, 0.6), (x, y)), *along(carry, (x, y), (0.7, 0.6))]

    assert all(worst_overlap(scenario, after) <= 1e-9 for after in seen)
    assert seen[-1]["1"] == scenario.balls["1"]
    assert seen[-1]["cue"] == pytest.approx((0.7, 0.6))


def needed(scenario: Scenario, ball: str, after: Positions) -> set[str]:
    """Balls whose place at the beginning is taken now: by the one in hand, or by one of those."""
    radius = scenario.ball_set.radius_m
    taken, new = {ball}, {ball}
    while new:
        new = {
            name
            for name in scenario.balls.keys() - taken
            if any(
                math.dist(scenario.balls[name], after[one]) < contact_distance(radius(name), radius(one)) - 1e-10
                for one in taken
            )
        }
        taken |= new
    return taken - {ball}


def test_random_drags_move_only_what_the_end_needs() -> None:
    rng, moved, landed, count = random.Random(11), 0, 0, 0
    for _ in range(80):
        scenario = random_scenario(rng, rng.randint(2, 16))
        ball = rng.choice(list(scenario.balls))
        carry, bed = Carry(scenario, ball), Bed(scenario.table.edge)
        for _ in range(8):
            onto = rng.choice(list(scenario.balls.values()))
            mouth = scenario.table.edge.mouths[rng.randrange(6)]
            x, y = rng.choice([
                (rng.uniform(-0.1, 2.7), rng.uniform(-0.1, 1.4)), onto, (mouth[0], mouth[1]),
                (onto[0] + rng.gauss(0.0, 0.02), onto[1] + rng.gauss(0.0, 0.02)),
            ])  # fmt: skip
            after = carry.to(x, y)
            scenario.change(balls=after)
            assert list(after) == list(scenario.balls)
            elsewhere = {name for name in after if name != ball and after[name] != scenario.balls[name]}
            assert elsewhere <= needed(scenario, ball, after)
            moved, count = moved + len(elsewhere), count + 1
            landed += math.dist(after[ball], bed.onto(x, y, scenario.nose_distance_m(ball))) < 1e-9
        x, y = scenario.balls[ball]
        back = carry.to(x, y)
        assert back == scenario.balls | {ball: back[ball]}
        assert back[ball] == pytest.approx((x, y), abs=1e-9)
    assert moved > 200
    assert landed > 0.9 * count


def test_frozen_rows_near_rails_stay_where_they_can() -> None:
    rng = random.Random(12)
    for _ in range(25):
        count = rng.randint(3, 9)
        row = {str(k): (LENGTH - RHO - APART * (k - 1), rng.choice([0.4])) for k in range(1, count + 1)}
        scenario = EMPTY.change(balls={"cue": (0.5, 1.0)} | row)
        carry = Carry(scenario, "cue")
        for _ in range(10):
            after = carry.to(rng.uniform(1.9, 2.6), rng.gauss(0.4, 0.03))
            assert worst_overlap(scenario, after) <= 1e-9
            elsewhere = {name for name in row if after[name] != row[name]}
            assert elsewhere <= needed(scenario, "cue", after)
        assert carry.to(0.5, 0.5) == row | {"cue": (0.5, 0.5)}


def test_the_way_of_the_pointer_is_of_no_account() -> None:
    scenario = laid(cue=(0.5, 0.5), b1=(0.9, 0.505), b2=(0.95, 0.56))
    goal = (0.91, 0.53)
    by_the_left = Carry(scenario, "cue")
    along(by_the_left, (0.5, 0.5), (0.9, 0.9))

    assert by_the_left.to(*goal) == Carry(scenario, "cue").to(*goal)


def test_a_place_that_is_none_moves_nothing() -> None:
    carry = Carry(laid(cue=(0.5, 0.5)), "cue")
    with pytest.raises(TablesimError, match="within 100 m"):
        carry.to(math.nan, 0.5)
    assert carry.to(0.6, 0.5) == {"cue": (0.6, 0.5)}


def aimed(cue: tuple[float, float] = (0.5, 0.5)) -> Scenario:
    return EMPTY.change(
        balls={"cue": cue, "1": (1.5, 0.8), "7": (2.0, 0.3)}, target=Target(ball="1", pocket="foot-left")
    )


def test_snapping_goes_to_the_nearest_half_diamond() -> None:
    step_x, step_y = LENGTH / 16.0, WIDTH / 8.0
    for ball in ("cue", "1", "7"):
        after = Carry(aimed(), ball).to(3 * step_x + 0.03, 2 * step_y - 0.04, snap=True)
        assert after[ball] == pytest.approx((3 * step_x, 2 * step_y))
    taken = EMPTY.change(balls={"cue": (0.5, 0.5), "1": (8 * step_x, 4 * step_y)})
    assert snapped(taken, "cue", 8 * step_x + 0.01, 4 * step_y) == pytest.approx((9 * step_x, 4 * step_y))
    assert snapped(taken, "cue", -0.2, 0.61)[0] == pytest.approx(step_x)  # none lies in the rail


def test_snapping_draws_the_cue_ball_to_the_straight_in_line() -> None:
    scenario = aimed()
    straight = stage_shot(scenario, 0.5, 0.0).balls["cue"]
    x, y = snapped(scenario, "cue", straight[0] + 0.004, straight[1] - 0.012)
    found = scenario.change(balls=scenario.balls | {"cue": (x, y)})
    there = math.dist((x, y), found.balls["1"])
    assert (x, y) == pytest.approx(stage_shot(scenario, there, 0.0).balls["cue"], abs=1e-9)
    assert there == pytest.approx(0.5, abs=0.013)
    off = snapped(scenario, "cue", straight[0] + 0.6 * R, straight[1] - 2.0 * R)
    assert off[0] / (LENGTH / 16.0) == pytest.approx(round(off[0] / (LENGTH / 16.0)))


@pytest.mark.parametrize("pocket", ["foot-left", "foot-right", "side-left"])
def test_snapping_draws_the_target_ball_between_cue_ball_and_pocket(pocket: str) -> None:
    scenario = aimed().change(target=Target.model_validate({"ball": "1", "pocket": pocket}))
    mouth = scenario.table.edge.mouths[POCKETS.index(pocket)]
    cue = scenario.balls["cue"]
    for share in (0.3, 0.62):
        at = cue[0] + share * (mouth[0] - cue[0]), cue[1] + share * (mouth[1] - cue[1])
        x, y = snapped(scenario, "1", at[0] + 0.003, at[1] + 0.004)
        assert math.dist(cue, (x, y)) + math.dist((x, y), mouth[:2]) == pytest.approx(math.dist(cue, mouth[:2]))
    assert snapped(scenario, "7", *at)[1] == pytest.approx(
        round(at[1] / (WIDTH / 8.0)) * WIDTH / 8.0
    )  # not to the line
