"""Pockets take less of firm balls and of deep shelves; their facings are not the rails.

The field's figure (common practice, no source): a 4.5-inch corner takes 2.0 to
2.9 inches of ball centres from a slow ball down its middle, less from a firm one.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from conftest import RADIUS, layout, setup_for

from tablesim.model.gear import BallSet, Cloth, Rails
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.model.table import PocketSet, Table
from tablesim.physics.pocket import ARC, LINE, is_nose
from tablesim.physics.simulation import Simulation
from tablesim.study.correct import correct_take
from tablesim.study.predict import predict_take
from tablesim.units import INCH_M

PACES = (1.0, 2.5, 6.0)


def shot(rail_deg: float, shelf_in: float, to_pocket: float = 0.5) -> Scenario:
    """Cue ball and object ball in line with the middle of a 4.5-inch corner, so many degrees off the long rail."""
    table = Table(pockets=PocketSet(corner_mouth_m=4.5 * INCH_M, corner_shelf_m=shelf_in * INCH_M))
    x, y = table.edge.mouths[3, :2]
    a = math.radians(rail_deg)
    balls = {n: (x - d * math.cos(a), y - d * math.sin(a)) for n, d in (("cue", 0.5 + to_pocket), ("1", to_pocket))}
    return Scenario(table=table, balls=balls, target=Target(ball="1", pocket="foot-left"))


def taken_in(place: Scenario, pace: float) -> float:
    """What the pocket takes of ball centres [in], of a ball sent on by a rolling cue ball."""
    take = Take(name="t", pace_m_s=pace, tip=Tip(up=0.3), elevation_deg=0.0)
    found = correct_take(place, take)
    assert found.taken_mm is not None
    return found.taken_mm / 25.4


@pytest.mark.parametrize("rail_deg", [45.0, 10.0])
@pytest.mark.parametrize("shelf_in", [1.0, 1.625, 2.25])
def test_a_pocket_takes_less_of_a_firmer_ball(rail_deg: float, shelf_in: float, fast: SimpleNamespace) -> None:
    slow, medium, firm = (taken_in(shot(rail_deg, shelf_in), pace) for pace in PACES)
    assert slow > medium > firm > 0.0


@pytest.mark.parametrize("rail_deg", [45.0, 10.0])
@pytest.mark.parametrize("pace", PACES)
def test_a_deeper_shelf_takes_less(rail_deg: float, pace: float, fast: SimpleNamespace) -> None:
    shallow, usual, deep = (taken_in(shot(rail_deg, shelf), pace) for shelf in (1.0, 1.625, 2.25))
    assert shallow > usual > deep > 0.0


def test_a_corner_takes_what_the_field_says(fast: SimpleNamespace) -> None:
    for shelf in (1.0, 1.625, 2.25):
        assert 2.0 <= taken_in(shot(45.0, shelf), 1.0) <= 2.97  # 1 in of shelf is the least WPA allows
    assert 2.0 <= taken_in(shot(45.0, 1.625), 1.0) <= 2.9


def test_the_aim_has_more_room_than_the_ball_where_throw_turns_it_back(fast: SimpleNamespace) -> None:
    """Derived: where balls grip, e = 1, throw takes a seventh of what a hit is off the line, so aims spread by 7/6; a
    little more, as the backspin that comes with it bends the ball's way."""
    place = shot(45.0, 1.625).change(ball_set=BallSet(restitution=1.0, friction_law="constant", friction_constant=0.5))
    stun = Take(name="t", pace_m_s=6.0, elevation_deg=0.0)  # still sliding when it arrives
    found = correct_take(place, stun)
    assert found.window_mm is not None
    assert found.taken_mm is not None
    assert found.window_mm / found.taken_mm == pytest.approx(7 / 6, abs=0.03)


def test_the_ends_of_what_is_taken_are_where_the_ball_crosses(fast: SimpleNamespace) -> None:
    place = shot(45.0, 1.625)
    take = Take(name="t", pace_m_s=2.0, tip=Tip(right=0.2), elevation_deg=0.0)
    found = correct_take(place, take)
    assert found.heading_deg is not None
    assert found.window_deg is not None
    ends = [found.heading_deg + sign * (0.5 * found.window_deg - 0.004) for sign in (-1, 1)]
    crossed = [predict_take(place, take.model_copy(update={"aim": Aim(heading_deg=end)})).target for end in ends]
    assert all(target.outcome == "potted" for target in crossed)
    assert abs(crossed[0].miss_mm - crossed[1].miss_mm) == pytest.approx(found.taken_mm, abs=2.5)  # type: ignore[operator]


def test_the_facings_have_their_own_rebound_and_the_rails_theirs(kernels: SimpleNamespace) -> None:
    def speed_off(start: np.ndarray, **law: float) -> tuple[str, float]:
        simulation = Simulation(setup_for(1, **law), start)
        simulation.advance(np.inf, 0)
        event = next(ev for ev in simulation.track().events if ev.kind == "edge")
        return event.where, math.hypot(event.after[0].vx, event.after[0].vy)

    rail = layout((1.0, 0.635, 0.0, 2.0, -2.0 / RADIUS, 0.0))
    jaw = layout((2.54 - 0.0808, 0.9, 0.0, 2.0, -2.0 / RADIUS, 0.0))
    assert speed_off(rail, facing=0.9) == speed_off(rail, facing=0.5)
    assert speed_off(rail, rail=0.9) != speed_off(rail, rail=0.5)
    assert speed_off(jaw, facing=0.9)[0].endswith("jaw")
    assert speed_off(jaw, facing=0.9) > speed_off(jaw, facing=0.5)
    assert speed_off(jaw, rail=0.9, facing=0.7) == speed_off(jaw, rail=0.5, facing=0.7)


def test_only_noses_are_noses() -> None:
    assert [is_nose(LINE, row) for row in range(18)] == [True] * 6 + [False] * 12
    assert not any(is_nose(ARC, row) for row in range(12))


def test_old_files_rails_keep_their_numbers() -> None:
    """A file that states its rails' rebound says nothing of the facings: they have their own default."""
    rails = Rails(restitution=0.6)
    assert rails.facing_law == Rails().facing_law
    assert Scenario(balls={"cue": (1.0, 0.6)}, rails=rails, cloth=Cloth()).rails.law == (0.6, 0.14)
