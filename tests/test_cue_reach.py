"""What the cue can reach: the least butt by rails and balls, told, answered, refused."""

from __future__ import annotations

import json
import math
import re
from types import SimpleNamespace

import numpy as np
import pytest

from tablesim.model.scenario import Scenario, from_json, to_json
from tablesim.model.shot import LEVEL_DEG, MAX_ELEVATION_DEG, Aim, Take, Target, Tip
from tablesim.physics.cue_reach import (
    BUTT_RADIUS_M,
    CUE_LENGTH_M,
    RAIL_TOP_M,
    RAIL_WIDTH_M,
    SLOPE_M,
    STRAIGHT_M,
    Held,
    ball_behind,
    least_elevation,
    rails_behind,
)
from tablesim.study.answer import answer_take
from tablesim.study.correct import correct_take
from tablesim.study.explain import explain_take
from tablesim.study.predict import predict_take
from tablesim.study.stroke import butt_along, least_butt, line_before, shown_butt
from tablesim.units import INCH_M

R = 0.028575
NOSE_M = 0.635 * 2 * R
FROZEN = 0.02752  # of the cue ball's centre from the nose line, just off it


def solid(held: Held, elevation: float, height_at: object, lie: float) -> bool:
    """By points: True if a point of the rod, turned about the ball, is in a rail, its nose ``lie`` behind the ball."""
    c, s = math.cos(elevation), math.sin(elevation)
    front = (held.radius + held.crown) * math.sqrt(1 - held.left**2 - held.up**2) - held.crown
    for along in np.arange(0.0, CUE_LENGTH_M, 0.0001):
        share = min(max((along - STRAIGHT_M) / (CUE_LENGTH_M - STRAIGHT_M), 0.0), 1.0)
        thick = held.half_tip + (BUTT_RADIUS_M - held.half_tip) * share
        x, z = front + along, (held.radius + held.crown) * held.up - thick  # the lowest line of the rod
        back, height = x * c - z * s, held.radius + z * c + x * s
        beyond = back - lie
        if 0.0 <= beyond <= RAIL_WIDTH_M and height < height_at(beyond) - 1e-6:  # type: ignore[operator]
            return True
    return False


def profile(beyond: float) -> float:
    """Height [m] of a rail, its nose and its top joined by straight lines."""
    return float(np.interp(beyond, [0.0, SLOPE_M, RAIL_WIDTH_M], [NOSE_M, RAIL_TOP_M, RAIL_TOP_M]))


@pytest.mark.parametrize("up", [-0.3, 0.0, 0.2, 0.4])
@pytest.mark.parametrize("gap", [0.04, 0.08, 0.2, 0.5, 1.0])
def test_least_butt_is_where_no_point_of_the_rod_is_in_the_rail(up: float, gap: float) -> None:
    held = Held(R, 0.0, up, 0.0106, 0.00635)
    least, what = least_elevation(held, rails_behind(gap, 0.6, 0.0, 2.54, 1.27, NOSE_M), [])
    assert what == "head rail"
    assert not solid(held, least + math.radians(0.15), profile, gap)
    assert solid(held, least - math.radians(0.15), profile, gap)


def test_facts_of_play() -> None:
    """Common practice, no source: off a frozen rail one strikes above centre; in the open a few degrees do."""
    frozen = Scenario(balls={"cue": (FROZEN, 0.635), "1": (1.2, 0.635)})
    take = Take(name="t", pace_m_s=2.0, aim=Aim(heading_deg=0.0))
    assert least_butt(frozen, take, 0.0, 0.0)[0] > 20.0
    assert least_butt(frozen, take, 0.0, 0.35)[0] < LEVEL_DEG
    hand_off = frozen.change(balls={"cue": (0.35, 0.635), "1": (1.2, 0.635)})
    assert 1.0 < least_butt(hand_off, take, 0.0, 0.0)[0] < LEVEL_DEG
    free = frozen.change(balls={"cue": (1.6, 0.635), "1": (2.2, 0.635)})
    assert least_butt(free, take, 0.0, 0.0) == (0.0, "")


def test_nearer_the_rail_and_lower_on_the_ball_the_butt_goes_up() -> None:
    take = Take(name="t", pace_m_s=2.0, aim=Aim(heading_deg=0.0))

    def least(x: float, up: float) -> float:
        return least_butt(Scenario(balls={"cue": (x, 0.635)}), take, 0.0, up)[0]

    by_place = [least(x, 0.0) for x in (0.05, 0.1, 0.2, 0.4, 0.8)]
    assert by_place == sorted(by_place, reverse=True)
    by_height = [least(0.1, up) for up in (-0.4, -0.2, 0.0, 0.2, 0.4)]
    assert by_height == sorted(by_height, reverse=True)


def test_a_ball_behind_is_passed_over_or_beside() -> None:
    held = Held(R, 0.0, 0.0, 0.0106, 0.00635)
    over, what = least_elevation(held, [], [ball_behind(-0.2, 0.0, 0.0, R, "ball 2")])
    assert what == "ball 2"
    # By hand: 0.2 m on, R cos(e) + thickness above the top of a ball of R, the tip's half thickness about it.
    assert math.degrees(over) == pytest.approx(math.degrees(math.asin((R + 0.00635) / 0.2)), abs=0.3)
    assert least_elevation(held, [], [ball_behind(-0.2, 0.05, 0.0, R, "ball 2")]) == (0.0, "")
    assert least_elevation(held, [], [ball_behind(0.2, 0.0, 0.0, R, "ball 2")]) == (0.0, "")
    assert least_elevation(held, [], [ball_behind(-0.2, 0.033, 0.0, R, "ball 2")])[0] < over
    steeper = least_elevation(held, [], [ball_behind(-2 * R, 0.0, 0.0, R, "ball 2")])[0]
    assert steeper > math.radians(30.0)


def near_rail(up: float = 0.0, **how: object) -> Scenario:
    """A cue ball 12 cm off the right rail, played away from it."""
    take = Take(name="t", pace_m_s=2.0, tip=Tip(right=0.2, up=up), **how)  # type: ignore[arg-type]
    return Scenario(
        balls={"cue": (1.2, 0.12), "1": (1.5, 0.7)}, target=Target(ball="1", pocket="foot-left"), takes=[take]
    )


def test_less_than_the_least_is_told_and_answered_at_the_least(fast: SimpleNamespace) -> None:
    low = near_rail(elevation_deg=2.0)
    take = low.takes[0]
    butt = butt_along(low, take, line_before(low, take))
    assert butt.what == "the right rail"
    assert butt.deg == butt.least_deg > 4.0
    assert round(10 * butt.deg) == pytest.approx(10 * butt.deg)
    stated = take.model_copy(update={"elevation_deg": butt.deg})
    one, other = (correct_take(low, t) for t in (take, stated))
    assert one.heading_deg == pytest.approx(other.heading_deg, abs=1e-9)
    words = f"butt is at {butt.deg:.1f}°, not 2: the cue has to clear the right rail"
    assert words in (one.warning or "")
    assert "butt is at" not in (other.warning or "")
    assert words in answer_take(low, take).remarks
    assert words in explain_take(low, take).remark
    assert predict_take(low, take).launch == predict_take(low, stated).launch
    assert shown_butt(low, take) == butt.deg


def test_an_omitted_butt_is_ordinary_or_the_least_and_stays_omitted() -> None:
    near = near_rail()
    free = near.change(balls={"cue": (1.2, 0.635), "1": (2.0, 0.9)})
    assert shown_butt(near, near.takes[0]) > LEVEL_DEG
    assert shown_butt(free, free.takes[0]) == LEVEL_DEG
    assert "elevation_deg" not in json.loads(to_json(free))["takes"][0]
    assert from_json(to_json(free)) == free


def test_where_no_butt_will_do_it_is_refused_with_the_reason(fast: SimpleNamespace) -> None:
    frozen = near_rail(up=-0.2).change(balls={"cue": (1.2, FROZEN + 0.001), "1": (1.5, 0.7)})
    take = frozen.takes[0]
    found = correct_take(frozen, take)
    assert found.heading_deg is None
    assert found.reason is not None
    assert found.reason.startswith(
        "the cue cannot strike there: the right rail is in the way; with the butt at 15 degrees"
    )
    played = predict_take(frozen, take)
    assert played.launch is None
    assert played.target.outcome == played.cue_ball.outcome == "out_of_reach"
    assert "cannot strike there" in explain_take(frozen, take).reading
    told = re.search(r"must strike (at most|at least) ([0-9.]+) radii (below|above) centre", found.reason)
    assert told is not None
    up = float(told[2]) * (-1.0 if told[3] == "below" else 1.0)
    mended = take.model_copy(update={"tip": Tip(right=0.2, up=up)})
    assert predict_take(frozen, mended).launch is not None
    too_low = take.model_copy(update={"tip": Tip(right=0.2, up=up - 0.02)})
    assert predict_take(frozen, too_low).launch is None


def test_every_answer_of_a_take_has_one_butt(fast: SimpleNamespace) -> None:
    """On random places near rails the corrected aim pots when it is played as a heading of its own."""
    rng = np.random.default_rng(8)
    solved = 0
    for _ in range(60):
        x, y = rng.uniform(0.03, 2.5), rng.choice([rng.uniform(0.03, 0.2), rng.uniform(1.07, 1.24)])
        scenario = Scenario(
            balls={"cue": (float(x), float(y)), "1": (float(rng.uniform(0.3, 2.2)), float(rng.uniform(0.3, 0.9)))},
            target=Target(ball="1", pocket="foot-right"),
            takes=[Take(name="t", pace_m_s=2.0, tip=Tip(right=0.3, up=float(rng.uniform(-0.2, 0.3))))],
        )
        take = scenario.takes[0]
        found = correct_take(scenario, take)
        if found.heading_deg is None:
            continue
        solved += 1
        played = predict_take(scenario, take.model_copy(update={"aim": Aim(heading_deg=found.heading_deg)}))
        assert played.target.outcome == "potted"
        butt = butt_along(scenario, take, math.radians(found.heading_deg))
        assert butt.deg <= MAX_ELEVATION_DEG
    assert solved > 10


def test_sizes_are_those_of_the_trade() -> None:
    """WPA equipment specification (from memory): rails 4 to 7.5 in wide, cues at least 40 in long."""
    assert 4 * INCH_M <= RAIL_WIDTH_M <= 7.5 * INCH_M
    assert CUE_LENGTH_M >= 40 * INCH_M
    assert NOSE_M < RAIL_TOP_M < 2 * R
