"""Facts 1 to 11 of the trade, on the shipped scenarios: common practice, no source."""

from __future__ import annotations

import math
import re

import pytest

from tablesim.model.gear import Cloth
from tablesim.model.scenario import Scenario
from tablesim.resources import open_scenario
from tablesim.study.correct import correct
from tablesim.study.predict import Prediction, predict, predict_take
from tablesim.study.setup import gate_of, plain_cut, plain_heading, target_distance

HALF_DIAMOND_MM = 158.75  # of a 9-ft table


def takes_of(name: str) -> dict[str, Prediction]:
    return {p.take: p for p in predict(open_scenario(name))}


def misses(name: str) -> dict[str, float]:
    """Miss at the mouth line [mm], left +, by take."""
    found = {take: p.target.miss_mm for take, p in takes_of(name).items()}
    return {take: miss for take, miss in found.items() if miss is not None}


@pytest.mark.parametrize("scenario", ["inside-english-by-pace", "outside-english-by-pace"])
class TestLeftEnglishLowSquirt:
    def test_1_soft_throws_away_from_the_side_of_the_english(self, scenario: str) -> None:
        assert misses(scenario)["soft"] < -20.0

    def test_2_medium_and_smooth_needs_no_correction(self, scenario: str) -> None:
        assert takes_of(scenario)["medium"].target.outcome == "potted"
        assert abs(misses(scenario)["medium"]) < 20.0

    def test_3_hard_goes_to_the_side_of_the_english(self, scenario: str) -> None:
        miss = misses(scenario)
        assert 50.0 < miss["firm"] < miss["hard"]
        assert takes_of(scenario)["hard"].launch.squirt_deg < 0.0  # type: ignore[union-attr]

    def test_4_jabbed_more_so(self, scenario: str) -> None:
        miss = misses(scenario)
        assert miss["hard, jabbed"] > miss["hard"] + 20.0

    def test_6_firm_is_corrected_opposite_and_soft_to_the_same_side(self, scenario: str) -> None:
        """A left miss asks for an aim to the right, opposite the left english; a right miss for the same side."""
        miss = misses(scenario)
        assert miss["soft"] < 0.0 < miss["firm"]


def test_3_inside_english_hit_hard_is_overcut() -> None:
    cut = {take: p.contact.cut_deg for take, p in takes_of("inside-english-by-pace").items() if p.contact}
    assert cut["hard"] > cut["medium"] + 5.0


def with_offset(scenario: Scenario, take: str, offset_mm: float) -> float | None:
    changed = scenario.take_named(take).model_copy(
        update={"aim": scenario.take_named(take).aim.model_copy(update={"offset_mm": offset_mm})}
    )
    return predict_take(scenario, changed).target.miss_mm


def test_5_wood_misses_the_same_way_already_at_medium_and_more_when_hard() -> None:
    miss = misses("two-cues")
    assert miss["wood, medium"] > 100.0
    assert miss["wood, hard"] > miss["wood, medium"] + 100.0
    assert miss["wood, hard"] > miss["low-squirt, hard"] + 150.0


def test_5_the_correction_for_wood_can_exceed_half_a_diamond() -> None:
    scenario = open_scenario("two-cues")
    still_left = with_offset(scenario, "wood, hard", -HALF_DIAMOND_MM)
    assert still_left is not None
    assert still_left > 0.0


def test_6_the_rule_ends_for_an_ordinary_shaft() -> None:
    """At 1 m and 4 degrees a ratio of 22 still needs the opposite side at 1 m/s."""
    assert misses("two-cues")["wood, soft"] > 0.0


def test_7_close_by_a_firm_shot_needs_little_correction_and_more_with_distance() -> None:
    near, far = misses("close-to-the-ball"), misses("far-from-the-ball")
    assert takes_of("close-to-the-ball")["firm"].target.outcome == "potted"
    assert abs(near["firm"]) < 30.0 < far["firm"]
    assert near["hard"] < 0.25 * far["hard"]


def test_7_three_to_eight_feet_a_growing_one() -> None:
    """The cue ball of the far scenario moved back along its line, hard: the miss grows foot by foot."""
    scenario = open_scenario("far-from-the-ball")
    heading = plain_heading(scenario)
    assert scenario.target is not None
    tx, ty = scenario.balls[scenario.target.ball]
    mouth = gate_of(scenario)
    size = math.hypot(mouth.x - tx, mouth.y - ty)
    apart = target_distance(scenario)
    gx, gy = tx - (mouth.x - tx) / size * apart, ty - (mouth.y - ty) / size * apart
    found = []
    for feet in (1.0, 2.0, 3.0, 4.0, 5.0):
        back = feet * 0.3048
        balls = {**scenario.balls, "cue": (gx - back * math.cos(heading), gy - back * math.sin(heading))}
        moved = scenario.change(balls=balls)
        found.append(predict_take(moved, moved.take_named("hard")).target.miss_mm)
    assert found == sorted(found)  # type: ignore[type-var]
    assert found[-1] > 2.5 * found[0]  # type: ignore[operator]


def test_8_straight_in_low_squirt_stays_near_centre_and_wood_drifts_left() -> None:
    miss = misses("straight-in-with-english")
    assert abs(miss["low-squirt, medium"]) < 20.0
    assert abs(miss["low-squirt, soft-medium"]) < 50.0
    assert miss["wood, soft-medium"] > 150.0
    assert miss["wood, medium"] > 150.0


def test_9_a_thin_cut_with_outside_english_goes_past_90() -> None:
    """A cut of about 88 degrees with outside english, not too hard, goes to 92 to 95 (common practice, no source)."""
    scenario = open_scenario("thin-cut-outside")
    assert abs(math.degrees(plain_cut(scenario))) > 110.0
    found = {c.take: c for c in correct(scenario)}
    assert found["no english"].heading_deg is None
    assert found["outside"].window_deg is not None
    assert found["outside"].window_deg > 0.15
    thinnest = takes_of("thin-cut-outside")["outside, as thin as it goes"]
    assert thinnest.target.outcome == "potted"
    assert thinnest.contact is not None
    assert abs(thinnest.contact.cut_deg) < 88.0
    assert abs(thinnest.contact.cut_deg + thinnest.contact.throw_deg) > 90.0
    told = re.search(r"throw carries ball 3 to (\d+)° at most", found["no english"].reason or "")
    assert told is not None
    assert 91 <= int(told[1]) <= 95
    played = scenario.change(ball_set={**scenario.ball_set.model_dump(), "condition": 1.5})
    told = re.search(r"throw carries ball 3 to (\d+)° at most", correct(played, "outside")[0].warning or "")
    assert told is not None
    assert 93 <= int(told[1]) <= 97


def throws(name: str) -> dict[str, float]:
    return {take: p.contact.throw_deg for take, p in takes_of(name).items() if p.contact}


def test_10_half_a_tip_outside_cancels_throw_at_thirty_degrees() -> None:
    found = throws("throw-at-thirty")
    assert 4.0 < found["no english"] < 6.0
    assert abs(found["half a tip outside"]) < 1.0
    assert found["no english, firm"] < 0.6 * found["no english"]


def test_10_inside_adds_to_throw_on_a_fuller_cut() -> None:
    found = throws("throw-at-fifteen")
    assert found["inside"] > found["no english"] > abs(found["outside"])


def test_10_throw_is_greatest_near_thirty_degrees_when_soft() -> None:
    from tablesim.study.checks_mechanics import throw

    slow = {cut: throw(float(cut), 0.5) for cut in range(5, 86, 5)}
    assert 25 <= max(slow, key=lambda cut: slow[cut]) <= 45


def test_11_dirty_balls_throw_more() -> None:
    clean, dirty = throws("throw-at-thirty"), throws("throw-with-dirty-balls")
    for take in ("no english", "half a tip inside", "no english, firm", "no english, follow"):
        assert dirty[take] > clean[take]


def test_11_cloth_friction_matters_to_swerve() -> None:
    """On slicker cloth swerve comes later, so a firm shot keeps more of its squirt."""
    scenario = open_scenario("far-from-the-ball")
    take = scenario.take_named("hard")
    off = [
        predict_take(scenario.change(cloth=Cloth(sliding_friction=mu)), take).contact.off_line_mm  # type: ignore[union-attr]
        for mu in (0.15, 0.2, 0.35)
    ]
    assert off == sorted(off)
    assert off[0] < off[2] - 3.0
