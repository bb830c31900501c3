"""A layout as text: read back within 3 mm, or finer, frozen balls frozen, slips named by their line."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import PLAIN
from test_cli import run

from tablesim.errors import TablesimError
from tablesim.model.layout_text import from_text, to_text
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Mark, Take, Target, Tip
from tablesim.model.table import Size, Table
from tablesim.physics.ball_ball import contact_distance
from tablesim.resources import open_scenario, ready_scenarios
from tablesim.view.window import hand_out

BLANK = Scenario(balls={"cue": (0.5, 0.5)})


def farthest_mm(one: Scenario, two: Scenario) -> float:
    assert list(one.ball_names) == list(two.ball_names)
    return max(1000.0 * math.dist(one.balls[name], two.balls[name]) for name in one.balls)


def frozen(scenario: Scenario) -> set[frozenset[str]]:
    """Pairs of balls of the usual size less than a millimetre apart."""
    at, apart = scenario.balls, contact_distance(0.028575, 0.028575)
    return {frozenset((a, b)) for a in at for b in at if a != b and math.dist(at[a], at[b]) <= apart + 0.001}


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
    for finer, most_mm in ((False, 3.0), (True, 0.05)):
        back = from_text(to_text(scenario, finer), scenario)

        assert farthest_mm(scenario, back) <= most_mm
        assert back.change(balls=scenario.balls) == scenario


@pytest.mark.parametrize("seed", range(40))
def test_random_layouts_come_back_with_frozen_balls(seed: int) -> None:
    scenario = random_layout(seed)
    short, fine = from_text(to_text(scenario), BLANK), from_text(to_text(scenario, finer=True), BLANK)
    # scenarios at all: no ball overlaps another

    assert farthest_mm(scenario, short) <= 3.0
    assert farthest_mm(scenario, fine) < 0.05
    assert frozen(short) == frozen(scenario)
    assert fine.target == short.target == scenario.target
    assert fine.table.surface.length_m == pytest.approx(scenario.table.surface.length_m, abs=1e-9)


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

    assert lines[0] == "Title The same shot with two cues"
    assert lines[1] == "Layout in diamonds from the head rail, then from the right rail as seen from the head end."
    assert lines[2].startswith("Table 9ft")
    assert lines[3].split() == ["Ball", "cue", "2.96", "1.50"]
    assert lines[5] == "Target ball 3 to foot-left"
    assert lines[-1] == "Take wood, hard: 60 % left, hard, 4.5 m/s, butt 3°"
    assert to_text(open_scenario("two-cues"), finer=True).splitlines()[3].split() == ["Ball", "cue", "2.9584", "1.5033"]


def lay(*balls: tuple[float, float], **fields: Any) -> Scenario:
    """The cue ball, 1, 2, ... at these places [m]."""
    return Scenario(balls={"cue" if k == 0 else str(k): at for k, at in enumerate(balls)}, **fields)


RHO = BLANK.nose_distance_m("cue")


def decimals(scenario: Scenario) -> int:
    """With how many decimals the cue ball is told."""
    line = next(line for line in to_text(scenario).splitlines() if line.startswith("Ball cue"))
    return len(line.rpartition(".")[2])


@pytest.mark.parametrize(("scenario", "told"), [
    (lay((0.5, 0.5), (1.0, 0.6)), 2),
    (lay((0.5, RHO), (1.0, 0.6)), 4),  # on the rail, where two decimals are off it or in it
    (lay((0.5, RHO + 0.0005), (1.0, 0.6)), 4),
    (lay((0.5, RHO + 0.0105), (1.0, 0.6)), 2),  # near it
    (lay((0.5, 0.5), (0.549493, 0.528575)), 4),  # touching
    (lay((0.5, 0.498), (0.5, 0.498 + 0.05715 + 0.0014)), 4),  # apart, and frozen by two decimals
    (lay((0.5, 0.5), (0.5, 0.5 + 0.05715 + 0.008)), 2),
    (lay((1.009, 0.5), table=Table(size=Size(length_m=4.5, width_m=2.2))), 2),
    (lay((1.0097, 0.5091), table=Table(size=Size(length_m=4.5, width_m=2.2))), 4),  # 3.8 mm off
    (lay((0.5, 0.5), marks=[Mark(kind="zone", at=(1.0, 0.5), radius_m=0.001)]), 2),  # never a radius of 0.00
    (lay((0.5, 0.5), marks=[Mark(kind="zone", at=(-5.0, 10.0), radius_m=2.0)]), 5),  # as far off as a mark may lie
])  # fmt: skip
def test_two_decimals_where_they_will_do(scenario: Scenario, told: int) -> None:
    assert decimals(scenario) == told
    back = from_text(to_text(scenario), scenario)
    assert farthest_mm(scenario, back) <= (3.0 if told == 2 else 0.05)
    assert all(zone.radius_m for zone in back.marks)
    assert frozen(back) == frozen(scenario)


def test_all_of_a_text_comes_back_on_another_table() -> None:
    zones = [
        Mark(kind="zone", at=(0.6, 0.9), radius_m=0.2, text="stop here: ten times"),
        Mark(kind="zone", at=(2.6, -0.05), radius_m=0.1),
        Mark(kind="zone", at=(0.3, 0.3), radius_m=0.05, text=' "odd"\nwords '),
    ]
    arrow = Mark(kind="arrow", at=(0.1, 0.1), to=(0.2, 0.2))
    takes = [
        Take(name="plain", pace_m_s=1.9),
        Take(name="all: of it", pace_m_s=4.5, tip=Tip(right=-0.3, up=0.125), stroke="jab", elevation_deg=6.5),
        Take(name="along", pace_m_s=2.0, tip=Tip(up=-0.2), aim=Aim(heading_deg=-12.5)),
        Take(name="works", pace_m_s=2.0, aim=Aim(corrected=True)),
        Take(name="beside", pace_m_s=2.0, aim=Aim(toward="pocket", offset_mm=-30.0)),
    ]
    scenario = lay((0.5, 0.5), (1.0, 0.6), title="A title: of mine", marks=[arrow, *zones], takes=takes,
                   target=Target(ball="1", pocket="foot-left"))  # fmt: skip
    text = to_text(scenario)
    other = Take(name="plain", pace_m_s=9.0, cue="house", stroke="jab", aim=Aim(heading_deg=3.0))
    back = from_text(text, lay((1.0, 1.0), marks=[zones[0], arrow], takes=[other]))

    assert back.title == scenario.title
    assert back.takes == [takes[0].change(cue="house"), *takes[1:]]
    assert [mark.kind for mark in back.marks] == ["zone", "arrow", "zone", "zone"]
    for zone, found in zip(zones, (back.marks[0], *back.marks[2:]), strict=True):
        assert found.text == zone.text
        assert math.dist(found.at, zone.at) < 0.003
        assert found.radius_m == pytest.approx(zone.radius_m, abs=0.003)
    for kind in ("Title", "Zone", "Take", "Target", "Table", "Layout"):
        less = "".join(line for line in text.splitlines(keepends=True) if not line.startswith(kind))
        assert from_text(less, scenario).change(balls=scenario.balls, marks=scenario.marks) == scenario


def test_takes_as_people_write_them() -> None:
    text = "Ball cue 2 2\nBall 1 5 2\nTarget 1 to foot left\nTake the soft one: Soft; 30,5 % right english, butt 6\n"
    (take,) = from_text(text + "", BLANK).takes

    assert take == Take(name="the soft one", pace_m_s=1.2, tip=Tip(right=0.1525), elevation_deg=6.0)
    (take,) = from_text(text.replace("Soft;", "soft; 1,9 m/s, 12 % low;"), BLANK).takes
    assert (take.pace_m_s, take.tip) == (1.9, Tip(right=0.1525, up=-0.06))


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
        ("Balls cue 2 2\n", "line 1: must begin with Ball, Zone, Table, Target, Take or Title; got"),
        ('Ball "cue 2 2\n', "line 1: the quotes do not close"),
        ("Ball cue 2 2\nZone 2 2\n", "line 2: must be Zone, two numbers of diamonds and its radius"),
        ("Ball cue 2 2\nZone 2 2 radius 0: here\n", "line 2: radius_m: must be more than 0; got 0.0"),
        ('Ball cue 2 2\nZone 2 2 radius 1: "here\n', "line 2: the quotes do not close"),
        ("Ball cue 2 2\nZone 200 2 radius 1\n", "line 2: at[0]: must be at most 10"),
        ("Ball cue 2 2\nTake soft\n", "line 2: must be Take, its name, a colon and how it is played"),
        ("Ball cue 2 2\nTake a: soft, heading 3°\nTake a: hard\n", "line 3: take 'a' is there twice; keep one"),
        ("Ball cue 2 2\nTake a: left\n", "line 2: take 'a': must be said as 60 % left"),
        ("Ball cue 2 2\nTake a: centre ball\n", "line 2: take 'a': says no pace, such as soft or 1.9 m/s"),
        ("Ball cue 2 2\nTake a: 99 m/s\n", "line 2: take 'a': pace_m_s: must be at most 20; got 99.0"),
        ("Ball cue 2 2\nTake a: soft, 250 % left\n", "line 2: take 'a': tip.right: must be at least -1"),
        ("Ball cue 2 2\nTake a: soft\n", "takes[0].aim: needs a target, or give heading_deg"),
        ("\n".join(f"Ball {k} {k / 4} 2" for k in range(23)), "at most 22 balls; got 23"),
    ],
)  # fmt: skip
def test_slips_are_named(text: str, words: str) -> None:
    with pytest.raises(TablesimError) as caught:
        from_text(text, BLANK)
    assert words in str(caught.value)
    assert "layout text" in str(caught.value)


def test_copied_and_pasted_in_the_window(window: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    clipboard = [""]
    monkeypatch.setattr(hand_out, "copy_text", lambda text: clipboard.__setitem__(0, text))
    monkeypatch.setattr(hand_out, "pasted_text", lambda: clipboard[0])
    w = window(scenario="throw-at-thirty")
    w.app.act("copy_layout")
    w.app.act("details")
    short, _ = clipboard[0], w.app.act("copy_layout")
    assert (short, clipboard[0]) == (to_text(w.scenario), to_text(w.scenario, finer=True))

    clipboard[0] = to_text(open_scenario("two-cues"))
    w.app.act("paste_layout")
    w.settle()
    assert (w.scenario.title, len(w.scenario.takes)) == ("The same shot with two cues", 6)
    assert farthest_mm(w.scenario, open_scenario("two-cues")) < 3.0
    w.app.act("undo")
    assert w.scenario == open_scenario("throw-at-thirty")


def test_the_command_prints_a_short_text_or_a_finer_one() -> None:
    assert "Ball cue   2.96   1.50\n" in run("layout", "two-cues").stdout
    assert "Ball cue   2.9584   1.5033\n" in run("layout", "two-cues", "--finer").stdout
