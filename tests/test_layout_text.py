"""A layout as text: read back within a millimetre, frozen balls frozen, slips named by their line."""

from __future__ import annotations

import math
import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import PLAIN

from tablesim.errors import TablesimError
from tablesim.model.layout_text import from_text, to_text
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Target
from tablesim.model.table import Size, Table
from tablesim.physics.ball_ball import contact_distance
from tablesim.resources import open_scenario, ready_scenarios

BLANK = Scenario(balls={"cue": (0.5, 0.5)})


def farthest_mm(one: Scenario, two: Scenario) -> float:
    assert list(one.ball_names) == list(two.ball_names)
    return max(1000.0 * math.dist(one.balls[name], two.balls[name]) for name in one.balls)


def random_layout(seed: int) -> Scenario:
    """Up to 22 balls on one of several tables, some of them frozen to another."""
    chance = random.Random(seed)
    size: Any = chance.choice(["9ft", "8ft", "7ft", Size(length_m=2.1234567, width_m=1.0654321)])
    table = Table(size=size)
    length, width = table.surface.length_m, table.surface.width_m
    balls: dict[str, tuple[float, float]] = {}
    wanted = chance.randint(1, 22)
    while len(balls) < wanted:
        place = (chance.uniform(0.04, length - 0.04), chance.uniform(0.04, width - 0.04))
        if balls and chance.random() < 0.4:
            x, y = chance.choice(list(balls.values()))
            turn, apart = chance.uniform(0.0, 2.0 * math.pi), contact_distance(0.028575, 0.028575)
            place = (round(x + apart * math.cos(turn), 6), round(y + apart * math.sin(turn), 6))
        name = "cue" if not balls else str(len(balls))
        try:
            Scenario(table=table, balls={"cue": (0.5, 0.5), **balls, name: place} if balls else {"cue": place})
        except ValueError:
            continue
        try:
            Scenario(table=table, balls={**balls, name: place})
        except ValueError:
            continue
        balls[name] = place
    target = Target(ball=chance.choice(list(balls)[1:]), pocket="side-left") if len(balls) > 1 else None
    return Scenario(table=table, balls=balls, target=target)


@pytest.mark.parametrize("name", ready_scenarios())
def test_ready_layouts_come_back(name: str) -> None:
    scenario = open_scenario(name)
    back = from_text(to_text(scenario), scenario)

    assert farthest_mm(scenario, back) < 0.05
    assert back.target == scenario.target
    assert back.table.surface == scenario.table.surface
    assert back.takes == scenario.takes


@pytest.mark.parametrize("seed", range(40))
def test_random_layouts_come_back_with_frozen_balls(seed: int) -> None:
    scenario = random_layout(seed)
    back = from_text(to_text(scenario), BLANK)  # a scenario at all: no ball overlaps another

    assert farthest_mm(scenario, back) < 0.05
    assert back.target == scenario.target
    assert back.table.surface.length_m == pytest.approx(scenario.table.surface.length_m, abs=1e-9)


@given(st.text(PLAIN, min_size=1, max_size=40))
def test_any_name_comes_back(name: str) -> None:
    scenario = Scenario(balls={"cue": (0.5, 0.5), name: (1.0, 0.6)} if name != "cue" else {"cue": (1.0, 0.6)})
    if name != "cue":
        scenario = scenario.change(target=Target(ball=name, pocket="foot-left"))
    back = from_text(to_text(scenario), BLANK)

    assert back.balls.keys() == scenario.balls.keys()
    assert back.target == scenario.target


def test_the_text_can_be_read_by_people() -> None:
    lines = to_text(open_scenario("two-cues")).splitlines()

    assert lines[0] == "Layout in diamonds from the head rail, then from the right rail as seen from the head end."
    assert lines[1].startswith("Table 9ft")
    assert lines[2].split() == ["Ball", "cue", "2.9584", "1.5033"]
    assert lines[-1] == "Target ball 3 to foot-left"


def test_typed_by_hand() -> None:
    text = (
        "\n > table: 8 ft\n\n ball  cue:  2,5 ; 1,25\nBALL the red   +6.0,  2\ntarget the red to Foot Right.\n# note\n"
    )
    found = from_text(text, BLANK)

    assert found.table.size == "8ft"
    diamond = found.table.surface.length_m / 8
    assert found.balls["cue"] == pytest.approx((2.5 * diamond, 1.25 * diamond))
    assert found.balls["the red"] == pytest.approx((6.0 * diamond, 2.0 * diamond))
    assert found.target == Target(ball="the red", pocket="foot-right")


def test_what_the_text_leaves_out_stays() -> None:
    base = open_scenario("two-cues")
    found = from_text("Ball cue 2 2\nBall 3 5 2.5\n", base)

    assert (found.target, found.table, found.cues, found.takes) == (base.target, base.table, base.cues, base.takes)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no ball in it"),
        ("Ball cue 2 2\nBall 3 5\n", "line 2: must be Ball, its name and two numbers"),
        ("Ball cue 2 2\n\nBall 3 x 1\n", "line 3: must be Ball"),
        ("Ball cue nan 2\n", "line 1: must be Ball"),
        ("Ball cue 2 2\nBall cue 3 2\n", "line 2: ball 'cue' stands in line 1 already"),
        ("Ball cue 2 2\nBall 3 2.01 2\n", "line 2: 3: overlaps ball 'cue'"),
        ("Ball cue 2 2\nBall 3 9 2\n", "line 2: 3: must lie on the bed"),
        ("Ball 3 2 2\n", "there must be a cue ball"),
        ("Ball cue 2 2\nBall 3 5 2\nTarget 3 to foot-lift\n", "line 3: unknown pocket 'foot-lift'; did you mean"),
        ("Ball cue 2 2\nTarget ball 4 to foot-left\n", "unknown ball '4'"),
        ("Ball cue 2 2\nTarget 3\n", "line 2: must be Target ball"),
        ("Table 10ft\nBall cue 2 2\n", "line 1: must be Table and 9ft"),
        ("Table 100 x 50 mm\nBall cue 2 2\n", "line 1: no such table"),
        ("Balls cue 2 2\n", "line 1: must begin with Ball, Table or Target; got 'Balls cue 2 2'"),
        ('Ball "cue 2 2\n', "line 1: the name's quotes do not close"),
        ("\n".join(f"Ball {k} {k / 4} 2" for k in range(23)), "at most 22 balls; got 23"),
    ],
)  # fmt: skip
def test_slips_are_named(text: str, words: str) -> None:
    with pytest.raises(TablesimError) as caught:
        from_text(text, BLANK)
    assert words in str(caught.value)
    assert "layout text" in str(caught.value)
