"""Moving balls by hand: whatever the pointer does, the scenario accepts the layout that comes out."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from itertools import combinations

import pytest

from tablesim.errors import NameUnknown, TablesimError
from tablesim.model.gear import MAX_BALLS, BallSet, OddBall
from tablesim.model.scenario import Scenario
from tablesim.model.table import PocketSet, Size, Table
from tablesim.physics.ball_ball import contact_distance
from tablesim.physics.pocket import bed_clearance
from tablesim.staging.space import Bed, Positions, Staging

R = BallSet().diameter_m / 2.0
EMPTY = Scenario(balls={"cue": (0.635, 0.635)})
LENGTH, WIDTH, RHO = 2.54, 1.27, EMPTY.nose_distance_m("cue")
HEAVY = BallSet(odd={"cue": OddBall(diameter_m=0.066), "1": OddBall(diameter_m=0.05)})


def staged(balls: Positions, ball_set: BallSet | None = None) -> Staging:
    """These balls on a 9-ft table."""
    return Staging(EMPTY.change(balls=balls, ball_set=ball_set or BallSet()))


def worst_overlap(scenario: Scenario, positions: Positions) -> float:
    """Deepest overlap [m] of two balls, or of a ball and the edge; negative if all are clear."""
    radius, edge = scenario.ball_set.radius_m, scenario.table.edge
    deep = [-bed_clearance(*spot, scenario.nose_distance_m(name), edge) for name, spot in positions.items()]
    for a, b in combinations(positions, 2):
        deep.append(contact_distance(radius(a), radius(b)) - math.dist(positions[a], positions[b]))
    return max(deep)


def random_scenario(rng: random.Random, n: int) -> Scenario:
    """``n`` balls, half of the time crowded round a point and sometimes of odd sizes."""
    names = ["cue", *map(str, range(1, n))]
    odd = {name: OddBall(diameter_m=rng.uniform(0.05, 0.066)) for name in names if rng.random() < 0.5}
    gear = BallSet(odd=odd if rng.random() < 0.3 else {})
    spread, centre = rng.choice([0.03, 0.6]), (rng.uniform(0.1, 2.4), rng.uniform(0.1, 1.2))
    balls: Positions = {}
    while len(balls) < n:
        name, spread = names[len(balls)], spread * 1.003
        x = min(max(rng.gauss(centre[0], spread), 0.034), LENGTH - 0.034)
        y = min(max(rng.gauss(centre[1], spread), 0.034), WIDTH - 0.034)
        apart = [contact_distance(gear.radius_m(name), gear.radius_m(other)) for other in balls]
        if all(math.dist((x, y), spot) >= a for spot, a in zip(balls.values(), apart, strict=True)):
            balls[name] = x, y
    return EMPTY.change(balls=balls, ball_set=gear)


def random_drags(rng: random.Random, layouts: int, drags: int) -> Iterator[tuple[Scenario, str, Positions, Positions]]:
    """Scenario, dragged ball, and all positions before and after, for drags to all sorts of places."""
    for _ in range(layouts):
        scenario = random_scenario(rng, rng.randint(2, 16))
        staging = Staging(scenario)
        for _ in range(drags):
            before = staging.positions
            ball = rng.choice(list(before))
            x, y = before[ball]
            mouth = scenario.table.edge.mouths[rng.randrange(6)]
            goals = [
                (rng.uniform(-0.3, 2.9), rng.uniform(-0.3, 1.6)),  # anywhere: rails and beyond among them
                (x + rng.gauss(0, 0.01), y + rng.gauss(0, 0.01)),  # a slow mouse
                (x + rng.gauss(0, 0.05), y + rng.gauss(0, 0.05)),  # a quick one
                rng.choice(list(before.values())),  # onto a ball
                (mouth[0] + rng.gauss(0, 0.05), mouth[1] + rng.gauss(0, 0.05)),
            ]
            yield scenario, ball, before, staging.drag(ball, *rng.choice(goals))


def test_random_drags_leave_layouts_that_the_scenario_accepts() -> None:
    moved = shoved = 0
    for k, (scenario, ball, before, after) in enumerate(random_drags(random.Random(1), layouts=100, drags=20)):
        assert list(after) == list(scenario.balls)
        if k % 3 == 0:
            scenario.change(balls=after)
        else:  # the same rules, stricter and quicker
            assert worst_overlap(scenario, after) <= 1e-9
        moved += after[ball] != before[ball]
        shoved += sum(after[name] != before[name] for name in after if name != ball)

    assert moved > 1500
    assert shoved > 1500


def test_only_balls_in_the_way_move_and_the_others_keep_every_bit() -> None:
    rng, shoved = random.Random(2), 0
    for _ in range(40):
        scenario = random_scenario(rng, 16)
        staging, names = Staging(scenario), list(scenario.balls)
        for _ in range(10):
            ball, turn, before = rng.choice(names), rng.uniform(0.0, 2.0 * math.pi), staging.positions
            x, y = before[ball]
            after = staging.drag(ball, x + R / 3.0 * math.cos(turn), y + R / 3.0 * math.sin(turn))
            reached, todo = {ball}, [ball]
            while todo:  # a small push can be handed on over small gaps only
                one = todo.pop()
                near = {name for name in names if math.dist(before[one], before[name]) < 3.0 * R} - reached
                reached, todo = reached | near, [*todo, *near]
            shoved += sum(before[name] != after[name] for name in reached - {ball})
            assert all(before[name] == after[name] for name in names if name not in reached)

    assert shoved > 100


@pytest.mark.parametrize("gear", [BallSet(), HEAVY], ids=["set", "odd"])
def test_touching_balls_out_of_the_way_keep_every_bit(gear: BallSet) -> None:
    apart = contact_distance(gear.radius_m("1"), R) - 9e-7  # as much overlap as a scenario may hold
    rho = EMPTY.change(balls=EMPTY.balls | {"1": (2.0, 1.0)}, ball_set=gear).nose_distance_m("1") - 9e-7
    frozen = {"1": (1.8, rho), "2": (1.8, rho + apart), "3": (1.8 + 2 * R, rho + apart), "4": (0.3, RHO)}
    staging = staged({"cue": (0.6, 0.9), "6": (0.7, 0.9), **frozen}, gear)
    for k in range(60):
        after = staging.drag("cue", 0.6 + 0.01 * k, 0.9)

    assert after["6"][0] > 1.19
    assert {name: after[name] for name in frozen} == frozen


def test_nothing_is_left_over_for_the_next_drag() -> None:
    row = {str(k): (LENGTH - RHO - 2 * R * k, 0.6) for k in range(8)}
    staging = staged({"cue": (1.9, 0.61), **row, "a": (0.5, 0.3), "b": (0.56, 0.3)})
    pressed = staging.drag("cue", 2.3, 0.6)
    after = staging.drag("a", 0.6, 0.3)

    assert after["b"] != pressed["b"]
    assert all(after[name] == pressed[name] for name in ("cue", *row))


def test_a_free_drag_ends_exactly_at_the_pointer() -> None:
    assert staged({"cue": (0.3, 0.3), "1": (2.0, 1.0)}).drag("cue", 1.7, 0.8) == {"cue": (1.7, 0.8), "1": (2.0, 1.0)}


def test_a_drag_shoves_what_lies_in_its_way_and_nothing_rolls_on() -> None:
    staging = staged({"cue": (0.5, 0.5), "1": (0.8, 0.5), "2": (1.0, 0.51)})
    after = staging.drag("cue", 1.2, 0.5)

    assert after["cue"] == (1.2, 0.5)
    assert after["1"] != (0.8, 0.5)
    assert after["2"] != (1.0, 0.51)
    assert worst_overlap(EMPTY, after) <= 0.0
    assert all(staging.drag("cue", 1.2, 0.5) == after for _ in range(100))


def test_a_ball_against_a_rail_is_not_pushed_through_it() -> None:
    staging = staged({"cue": (0.8, 0.5), "1": (0.8, RHO)})
    for k in range(60):
        after = staging.drag("cue", 0.8, 0.5 - 0.01 * k)

    assert after["1"] == (0.8, RHO)
    assert math.dist(after["cue"], after["1"]) == pytest.approx(2 * R, abs=5e-6)


def test_a_row_pressed_against_the_rail_passes_the_pressure_back() -> None:
    row = {str(k): (LENGTH - RHO - 2 * R * k, 0.6) for k in range(12)}
    staging = staged({"cue": (0.9, 0.6), **row})
    for k in range(60):
        after = staging.drag("cue", 0.9 + 0.005 * k, 0.6)

    assert worst_overlap(EMPTY, after) <= 1e-9
    assert after["11"] == pytest.approx(row["11"], abs=0.01)


@pytest.mark.parametrize(("pointer", "nearest"), [((1.0, -0.2), (1.0, RHO)), ((3.0, 0.5), (LENGTH - RHO, 0.5))])
def test_a_pointer_in_a_rail_takes_the_ball_as_near_as_it_can_go(
    pointer: tuple[float, float], nearest: tuple[float, float]
) -> None:
    assert staged({"cue": (0.9, 0.6)}).drag("cue", *pointer)["cue"] == pytest.approx(nearest, abs=1e-9)


@pytest.mark.parametrize("pocket", range(6))
def test_a_pointer_beyond_a_pocket_leaves_the_ball_at_its_drop(pocket: int) -> None:
    x, y, px, py, _ = EMPTY.table.edge.drops[pocket]
    after = staged({"cue": (0.9, 0.6)}).drag("cue", x + 0.05 * px, y + 0.05 * py)["cue"]

    assert math.dist(after, (x, y)) < 1e-9
    assert bed_clearance(*after, RHO, EMPTY.table.edge) >= -1e-10


SHALLOW = PocketSet(corner_cut_deg=165, side_cut_deg=140, corner_shelf_m=0.005, side_shelf_m=0.0, jaw_radius_m=0.03)


@pytest.mark.parametrize("table", [Table(), Table(pockets=SHALLOW)], ids=["standard", "shallow"])
def test_quick_bed_agrees_with_the_physics(table: Table) -> None:
    rng, bed = random.Random(3), Bed(table.edge)
    for _ in range(2000):
        x, y = rng.uniform(-0.1, 2.64), rng.uniform(-0.1, 1.37)
        quick, full = bed.gap(x, y, RHO)[0], bed_clearance(x, y, RHO, table.edge)
        if full > -0.03 and table.pockets == "standard":
            assert quick == pytest.approx(full, abs=1e-12) or quick == math.inf
        assert full >= 0.0 or quick < 0.0
        assert bed_clearance(*bed.onto(x, y, RHO), RHO, table.edge) >= -1e-12


def test_a_drop_that_reaches_into_the_bed_holds_a_ball_too() -> None:
    table = Table(pockets=SHALLOW)
    x, y, *_ = table.edge.drops[0]
    staging = Staging(EMPTY.change(table=table))

    assert x > RHO + 0.005
    assert staging.drag("cue", -0.1, -0.1)["cue"] == pytest.approx((x, y))
    with pytest.raises(TablesimError, match="off the bed"):
        staging.place("cue", x - 0.005, y - 0.005)


def test_place_is_exact_or_says_why_not() -> None:
    staging = staged({"cue": (0.5, 0.5), "9": (1.0, 0.5)})

    assert staging.place("cue", 0.9, 0.5)["cue"] == (0.9, 0.5)
    with pytest.raises(TablesimError, match=r"'cue' cannot be placed at \[0.99, 0.5\]: it would overlap ball '9'"):
        staging.place("cue", 0.99, 0.5)
    with pytest.raises(TablesimError, match=r"'9' cannot be placed at \[1, 0.01\]: off the bed"):
        staging.place("9", 1.0, 0.01)
    with pytest.raises(NameUnknown, match="unknown ball '8'"):
        staging.place("8", 1.0, 1.0)
    for number in (math.nan, math.inf, 1e308):
        with pytest.raises(TablesimError, match="coordinates must lie within 100 m"):
            staging.place("9", number, 0.5)
    assert staging.positions == {"cue": (0.9, 0.5), "9": (1.0, 0.5)}


@pytest.mark.parametrize("move", ["drag", "nudge", "place"])
@pytest.mark.parametrize("number", [math.nan, -math.inf, 1e308])
def test_impossible_numbers_are_refused(move: str, number: float) -> None:
    with pytest.raises(TablesimError, match="coordinates must lie within"):
        getattr(staged({"cue": (0.5, 0.5)}), move)("cue", 0.1, number)


def test_nudge_stops_at_contact_and_shoves_nothing() -> None:
    staging = staged({"cue": (0.5, 0.5), "1": (0.6, 0.51)})
    after = staging.nudge("cue", 0.09, 0.0)

    assert after["1"] == (0.6, 0.51)
    assert after["cue"][1] == 0.5
    assert 0.0 <= math.dist(after["cue"], after["1"]) - 2 * R + 1e-12 < 1e-9
    assert staging.nudge("cue", 0.01, 0.0)["cue"] == pytest.approx(after["cue"], abs=1e-9)
    x, y = staging.positions["cue"]
    assert staging.nudge("cue", -0.001, -0.25)["cue"] == (x - 0.001, y - 0.25)
    assert staging.nudge("cue", 0.0, -1.0)["cue"][1] == pytest.approx(RHO, abs=1e-9)
    assert staging.nudge("cue", 0.0, -1e-3)["cue"][1] == pytest.approx(RHO, abs=1e-9)


@pytest.mark.parametrize("gear", [BallSet(), HEAVY], ids=["set", "odd"])
def test_freeze_leaves_no_gap_and_no_overlap(gear: BallSet) -> None:
    rng, apart = random.Random(4), contact_distance(gear.radius_m("cue"), gear.radius_m("1"))
    for _ in range(100):
        staging = staged({"cue": (rng.uniform(0.2, 1.1), rng.uniform(0.2, 1.0)), "1": (1.3, 0.6)}, gear)
        after = staging.freeze("cue", "1")
        assert 0.0 <= math.dist(after["cue"], after["1"]) - apart <= 1e-9
        assert after["1"] == (1.3, 0.6)
        assert staging.freeze("1", "cue")["cue"] == after["cue"]


def test_freeze_says_what_is_in_the_way() -> None:
    staging = staged({"cue": (0.5, 0.5), "1": (1.0, 0.5), "2": (0.95, 0.5 - R)})

    with pytest.raises(TablesimError, match="'cue' cannot be frozen to '1': it would overlap ball '2'"):
        staging.freeze("cue", "1")
    with pytest.raises(TablesimError, match="itself"):
        staging.freeze("cue", "cue")


def test_snap_goes_to_the_sights() -> None:
    staging = staged({"cue": (0.66, 0.61), "1": (0.61, 0.7), "2": (1.3, 0.03)})

    assert staging.snap("cue")["cue"] == pytest.approx((LENGTH / 4, WIDTH / 2))
    taken = staging.snap("1")["1"]
    assert taken == pytest.approx((LENGTH / 4, WIDTH * 5 / 8))
    assert staging.snap("2", 1.0)["2"] == pytest.approx((LENGTH / 2, 0.0), abs=1e-9)  # the side pocket's mouth
    assert staging.snap("2", 0.5)["2"] == staging.positions["2"]
    with pytest.raises(TablesimError, match="step_diamonds"):
        staging.snap("cue", 0.0)


def test_add_fills_a_table_with_free_spots() -> None:
    staging = staged({"cue": (0.635, 0.635)})
    assert staging.add("1")["1"] == pytest.approx((0.75 * LENGTH, WIDTH / 2))
    assert staging.add("2", near=(5.0, 0.4))["2"] == pytest.approx((LENGTH - RHO, 0.4))
    for k in range(3, MAX_BALLS):
        staging.add(str(k))

    scenario = EMPTY.change(balls=staging.positions)
    assert worst_overlap(scenario, staging.positions) <= 1e-9
    assert staging.drag("21", 0.635, 0.635)["21"] == (0.635, 0.635)
    for name in ("22", "3", ""):
        with pytest.raises(TablesimError, match="cannot be added: a layout has at most 22 balls"):
            staging.add(name)


def test_add_finds_room_for_the_largest_balls_on_the_smallest_table() -> None:
    table, gear = Table(size=Size(length_m=1.0, width_m=0.5)), BallSet(diameter_m=0.08)
    scenario = Scenario(table=table, ball_set=gear, balls={"cue": (0.5, 0.25)})
    staging, rng = Staging(scenario), random.Random(5)
    for k in range(1, MAX_BALLS):
        staging.add(str(k), near=(rng.uniform(0.0, 1.0), rng.uniform(0.0, 0.5)))

    assert worst_overlap(scenario.change(balls=staging.positions), staging.positions) <= 1e-9


def test_snap_says_when_no_spot_is_free() -> None:
    staging = staged({"cue": (0.5, 0.5), "1": (LENGTH / 2, 0.0), "2": (LENGTH / 2, WIDTH)})

    with pytest.raises(TablesimError, match="'cue': none of the 3 x 2 spots tried is free"):
        staging.snap("cue", 4.0)


def test_pick_takes_the_nearest_rim() -> None:
    staging = staged({"cue": (0.5, 0.5), "1": (0.6, 0.5)}, HEAVY)

    assert staging.pick(0.532, 0.5) == "cue"
    assert staging.pick(0.534, 0.5) is None
    assert staging.pick(0.534, 0.5, reach_m=0.01) == "cue"
    assert staging.pick(0.57, 0.5, reach_m=0.5) == "1"
    assert staging.pick(math.nan, 0.5) is None
