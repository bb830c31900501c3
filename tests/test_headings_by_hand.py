"""How headings are found, on laws made up by hand, and by geometry and small steps of time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from conftest import RADIUS, layout, moving, setup_for
from made_up import FAR_M, NAN, NO, Law, hits_of, use

from tablesim.physics import headings as h
from tablesim.physics.aim import mouth_of
from tablesim.physics.cloth import motion
from tablesim.physics.headings import HITS, Bracket, Hits
from tablesim.physics.records import ClothLaw
from tablesim.physics.trial import CUE_BALL_BLOCKED, MISSES, NOT_REACHED, TARGET_BLOCKED, Shot, Trial

CLOTH = ClothLaw(0.2, 0.01, 10.0, 9.81)


def test_when_a_ball_has_got_so_far_away() -> None:
    """Rolling at 1 m/s, slowed by 0.0981 m/s^2."""
    ball = moving((0.6, 0.8), (-0.8 / RADIUS, 0.6 / RADIUS, 0.0))
    rates = motion(ball, RADIUS, CLOTH)
    for distance in (0.1, 1.0, 4.0):
        expected = (1.0 - math.sqrt(1.0 - 2.0 * 0.0981 * distance)) / 0.0981
        assert h.leaving_time(ball, rates, distance) == pytest.approx(expected, rel=1e-9)
    assert h.leaving_time(ball, rates, 5.2) == math.inf  # it rolls 5.097 m


@pytest.mark.parametrize("spin", [-120.0, 60.0])
def test_the_bearing_of_a_curving_ball(spin: float) -> None:
    """Small steps of time: slip against friction, then straight on; far from the start and near it."""
    dt, x, y, vx, vy, wx, wy = 2e-5, 0.0, 0.0, 2.0, -0.05, spin, 0.0
    passed: dict[float, float] = {}
    for _ in range(60_000):
        ux, uy = vx - RADIUS * wy, vy + RADIUS * wx
        slip = math.hypot(ux, uy)
        fx, fy = (-0.2 * 9.81 * u / slip if slip > 2e-4 else 0.0 for u in (ux, uy))
        wx, wy = wx + 2.5 / RADIUS * fy * dt, wy - 2.5 / RADIUS * fx * dt
        x, y, vx, vy = x + vx * dt, y + vy * dt, vx + fx * dt, vy + fy * dt
        for distance in (0.3, 0.7, 1.5):
            if math.hypot(x, y) >= distance:
                passed.setdefault(distance, math.atan2(y, x))
    for distance, bearing in passed.items():
        found = h.bearing_at(moving((2.0, -0.05), (spin, 0.0, 0.0)), RADIUS, CLOTH, distance)
        assert found == pytest.approx(bearing, abs=2e-4)
    assert len(passed) == 3
    assert math.isnan(h.bearing_at(moving((0.2, 0.0)), RADIUS, CLOTH, 3.0))
    assert math.isnan(h.bearing_at(moving((0.0, 0.0)), RADIUS, CLOTH, 3.0))


@pytest.mark.parametrize("off", [0.0, 0.1])
@pytest.mark.parametrize("speed", [3.0, 0.05])
def test_the_reach_of_a_stroke(off: float, speed: float) -> None:
    """A 3-4-5 triangle of half metres; a rolling ball that starts ``off`` the cue's line, even one that stops short."""
    setup = setup_for(2)
    vx, vy = speed * math.cos(off), speed * math.sin(off)
    launch = moving((vx, vy), (-vy / RADIUS, vx / RADIUS, 0.0))
    shot = Shot(launch, layout((0.5, 0.4), (0.9, 0.7)), layout((0.0, 0.0), (0.0, 0.0)), 1, 3)
    reach, mouth = h.reach_of(shot, setup), mouth_of(setup.edge, 3)
    assert (reach.distance, reach.apart) == pytest.approx((0.5, 2.0 * RADIUS))
    assert reach.full == pytest.approx(math.atan2(3.0, 4.0) - off)
    assert math.sin(reach.widest) == pytest.approx(2.0 * RADIUS / 0.5)
    gate_m = math.hypot(mouth.x - 0.9, mouth.y - 0.7)
    assert h.to_gate(shot, mouth) == pytest.approx(gate_m)
    # Turned by a step, the line of centres turns by distance / apart of it: a quarter of half the mouth at the gate.
    assert reach.step * reach.distance / reach.apart * gate_m == pytest.approx(0.25 * mouth.half_width)


def test_hits_go_from_a_miss_over_full_to_a_miss() -> None:
    """The cue ball's line passes the target at 0 to 102 % of the reach, at the sines of even angles."""
    reach = h.Reach(0.5, 2.0 * RADIUS, 0.7, math.asin(4.0 * RADIUS), 0.001)
    passes = [0.5 * math.sin(h.hit(reach, k) - 0.7) / (2.0 * RADIUS) for k in range(HITS + 1)]
    assert passes == pytest.approx([1.02 * math.sin(math.pi * (k / HITS - 0.5)) for k in range(HITS + 1)])
    assert h.hit(reach._replace(widest=0.5 * math.pi), HITS) == pytest.approx(0.7 + 0.5 * math.pi)
    assert h.hit(reach._replace(widest=0.5 * math.pi), 0) == pytest.approx(0.7 - 0.5 * math.pi)


@pytest.mark.parametrize("root", [0.013, -0.29, 0.3])
@pytest.mark.parametrize("bend", [0.0, 30.0, -1.5])
def test_the_heading_of_no_miss(monkeypatch: pytest.MonkeyPatch, root: float, bend: float) -> None:
    law = use(monkeypatch, Law(miss=root, bend=bend))
    low, high = -0.31, 0.32
    ends = [law(NO, NO, heading, False, NO).direction for heading in (low, high)]
    law.tried.clear()
    assert h.zero_direction(NO, NO, Bracket(low, ends[0], high, ends[1]), NO) == pytest.approx(root, abs=1e-9)
    assert len(law.tried) < 30
    assert law.whole == {False}


@pytest.mark.parametrize("curve_m", [-0.05, 0.02])
def test_near_the_gate_the_crossing_counts(monkeypatch: pytest.MonkeyPatch, curve_m: float) -> None:
    """A target ball that curves crosses elsewhere than it sets out for."""
    use(monkeypatch, Law(miss=0.1, curve_m=curve_m))
    found = h.zero_direction(NO, NO, Bracket(-0.3, -0.4, 0.4, 0.3), NO)
    assert FAR_M * math.tan(found - 0.1) == pytest.approx(-curve_m, abs=1e-8)


def test_no_heading_where_the_target_ball_is_lost_on_the_way(monkeypatch: pytest.MonkeyPatch) -> None:
    use(monkeypatch, Law(miss=0.1, met=(-9.0, 0.05)))
    assert math.isnan(h.zero_direction(NO, NO, Bracket(-0.3, -0.4, 0.3, 0.2), NO))


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_hit_thinner_than_all_tried(monkeypatch: pytest.MonkeyPatch, sign: float) -> None:
    """The last hit that met the ball lies before the heading sought, the next one beyond the last contact."""
    met = (-9.0, 0.345) if sign > 0.0 else (-0.345, 9.0)
    law = use(monkeypatch, Law(miss=sign * 0.33, met=met))
    assert h.heading_thinner(NO, NO, sign * 0.3, sign * -0.03, sign * 0.4, NO) == pytest.approx(sign * 0.33, abs=1e-9)
    hits = hits_of(law)
    assert h.heading_beyond(NO, NO, hits, NO) == pytest.approx(sign * 0.33, abs=1e-9)
    assert h.roots_of(NO, NO, hits, 0.0, NO) == pytest.approx([sign * 0.33])
    use(monkeypatch, Law(miss=sign * 0.39, met=met))
    assert math.isnan(h.heading_beyond(NO, NO, hits_of(Law(miss=0.39)), NO))  # all hits meet the ball
    assert math.isnan(h.heading_thinner(NO, NO, sign * 0.3, sign * -0.09, sign * 0.4, NO))


def test_the_last_contact(monkeypatch: pytest.MonkeyPatch) -> None:
    use(monkeypatch, Law(miss=0.0, met=(-0.2, 0.37)))
    for meets, lost, edge in ((0.3, 0.4, 0.37), (-0.1, -0.4, -0.2)):
        found = h.last_contact(NO, NO, meets, lost, NO)
        assert found == pytest.approx(edge, abs=abs(lost - meets) / 2**16 * 1.01)
        assert -0.2 < found < 0.37


@pytest.mark.parametrize(
    ("heading", "best", "nearer"),
    [(1.0, 1.2, True), (1.2, 1.0, False), (-0.5, 0.4, False), (NAN, 1.0, False), (1.0, NAN, True), (NAN, NAN, False),
     (0.3 + math.tau, 0.4, True)],
)  # fmt: skip
def test_which_heading_is_nearer(heading: float, best: float, nearer: bool) -> None:
    """Nearer to none but 0; of one that is no number the other is."""
    assert h.is_nearer(heading, best, 0.0) == nearer


class Waves(Law):
    """Three headings without a miss: at -0.2, 0.05 and 0.25, the middle one passed the other way."""

    def __call__(self, run: Any, shot: Any, heading: float, whole: bool, setup: Any) -> Trial:
        miss = 8.0 * (heading + 0.2) * (heading - 0.05) * (heading - 0.25)
        return Trial(MISSES, FAR_M * math.tan(miss), miss, -1, 0)


@pytest.mark.parametrize(
    ("near", "order"), [(0.0, [0.05, -0.2, 0.25]), (-0.2, [-0.2, 0.05, 0.25]), (0.3, [0.25, 0.05, -0.2])]
)
def test_all_headings_the_nearest_first(monkeypatch: pytest.MonkeyPatch, near: float, order: Sequence[float]) -> None:
    law = use(monkeypatch, Waves())
    hits = hits_of(law, -0.41, 0.42)
    assert h.headings_between(NO, NO, hits, near, NO) == pytest.approx(order, abs=1e-9)
    assert h.roots_of(NO, NO, hits, near, NO) == pytest.approx(order, abs=1e-9)


def test_a_turn_right_round_is_no_heading_for_the_centre() -> None:
    """From far left of the line to far right of it: the ball is sent off backwards there."""
    misses = np.full(HITS + 1, 1.3)
    misses[8:] = -1.3
    hits = Hits(np.linspace(-0.4, 0.4, HITS + 1), misses, misses, 0, 0, -1, False)
    assert h.headings_between(NO, NO, hits, 0.0, NO).shape == (0,)


def test_where_a_miss_is_least() -> None:
    misses = np.array([0.5, 0.2, -0.1, 0.3, NAN, 0.4, 0.4, NAN])
    assert [k for k in range(1, 7) if h.is_least(misses, k)] == [2, 5, 6]


@pytest.mark.parametrize("least", [0.11, -0.19])
def test_the_least_miss_is_found(monkeypatch: pytest.MonkeyPatch, least: float) -> None:
    """One that turns round short of zero."""

    def touched(run: Any, shot: Any, heading: float, whole: bool, setup: Any) -> Trial:
        return Trial(MISSES, NAN, -0.05 - abs(heading - least), -1, 0)

    monkeypatch.setattr(h, "try_heading", touched)
    assert h.least_miss(NO, NO, -0.3, 0.2, NO) == pytest.approx(least, abs=0.5 * h.GOLDEN**h.SECTIONS)


def test_the_least_miss_beside_a_heading_that_meets_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """What meets nothing is never the least."""
    use(monkeypatch, Law(miss=-0.5, met=(0.0, 9.0)))
    assert h.least_miss(NO, NO, -0.2, 0.3, NO) == pytest.approx(0.0, abs=1e-5)
    use(monkeypatch, Law(miss=0.5, met=(-9.0, 0.1)))
    assert h.least_miss(NO, NO, -0.2, 0.3, NO) == pytest.approx(0.1, abs=1e-5)


@pytest.mark.parametrize(("rail", "touching", "frozen"), [(-1, -1, False), (2, -1, True), (-1, 0, True)])
def test_hits_are_counted_by_their_fate(
    monkeypatch: pytest.MonkeyPatch, rail: int, touching: int, frozen: bool
) -> None:
    """Three are blocked, by ball 4 and then by 5, two do not reach; the others miss, one by way of another ball."""
    fates = [(CUE_BALL_BLOCKED, 4), (CUE_BALL_BLOCKED, 4), (CUE_BALL_BLOCKED, 5), (NOT_REACHED, -1), (NOT_REACHED, 7)]
    fates += [(TARGET_BLOCKED, 6), (MISSES, touching)] + [(MISSES, -1)] * (HITS - 6)
    trials = [Trial(code, 0.5 + k, 0.1 * k, obstacle, 0) for k, (code, obstacle) in enumerate(fates)]
    ahead = iter(trials)
    monkeypatch.setattr(h, "try_heading", lambda *asked: next(ahead))
    monkeypatch.setattr(h, "rail_for", lambda shot, setup: rail)
    reach = h.Reach(1.0, 0.4, 0.7, 0.4, 0.001)
    found = h.try_hits(NO, NO, reach, NO)
    assert found.headings.tolist() == [h.hit(reach, k) for k in range(HITS + 1)]
    assert found.misses == pytest.approx([t.direction for t in trials])
    assert found.crossings == pytest.approx([t.crossing for t in trials])
    assert (found.blocked, found.short, found.obstacle, found.frozen) == (3, 2, 5, frozen)
