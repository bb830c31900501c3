"""How headings and windows are found, on laws made up by hand: what a stroke along a heading does is a formula."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from conftest import RADIUS, layout, moving, setup_for

from tablesim.physics import headings as h
from tablesim.physics import potting as w
from tablesim.physics.aim import Mouth, mouth_of
from tablesim.physics.cloth import motion
from tablesim.physics.headings import HITS, Bracket, Hits
from tablesim.physics.records import ClothLaw
from tablesim.physics.trial import CUE_BALL_BLOCKED, MISSES, NOT_REACHED, POTS, Shot, Trial

NAN = math.nan
GATE = Mouth(0.0, 0.0, 1.0, 0.0, 0.06)
FAR_M = 2.0  # of the target ball from its gate
FINE = 1e-7
CLOTH = ClothLaw(0.2, 0.01, 10.0, 9.81)


class Law:
    """What a stroke does: it pots within runs, its miss is that of a formula, and outside ``met`` nothing is met."""

    def __init__(
        self, *runs: tuple[float, float], miss: float = NAN, met: tuple[float, float] = (-9.0, 9.0), bend: float = 0.0
    ) -> None:
        self.runs, self.centre, self.met, self.bend = runs, miss, met, bend
        self.tried: list[float] = []

    def pots(self, heading: float) -> bool:
        """Whether a heading lies in a run, whole turns aside."""
        return any(low <= heading <= high for low, high in self.runs)

    def __call__(self, run: Any, shot: Any, heading: float, whole: bool, setup: Any) -> Trial:
        self.tried.append(heading)
        if not self.met[0] < heading < self.met[1]:
            return Trial(NOT_REACHED, NAN, NAN, -1, 0)
        off = heading - self.centre
        miss = off + self.bend * off**3
        return Trial(POTS if self.pots(heading) else MISSES, FAR_M * math.tan(miss), miss, -1, 0)


def use(patch: pytest.MonkeyPatch, law: Law) -> Law:
    """Play by that law from now on."""
    for module in (h, w):
        patch.setattr(module, "try_heading", law)
        patch.setattr(module, "gate_for", lambda shot, setup: GATE)
    patch.setattr(h, "to_gate", lambda shot, gate: FAR_M)
    return law


NO: Any = None  # run, shot and setup, which a made-up law needs not


def hits_of(law: Law, low: float = -0.4, high: float = 0.4, frozen: bool = False) -> Hits:
    """Hits at even distances, as that law has them."""
    headings = np.linspace(low, high, HITS + 1)
    trials = [law(NO, NO, float(heading), False, NO) for heading in headings]
    law.tried.clear()
    return Hits(
        headings, np.array([t.direction for t in trials]), np.array([t.crossing for t in trials]), 0, 0, -1, frozen
    )


# --- headings


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


# --- windows


@pytest.mark.parametrize("step", [w.GRID, w.FIRST])
@pytest.mark.parametrize(("low", "high", "inside"), [(-0.02, 0.013, 0.001), (0.1, 0.3, 0.12), (-0.4, 0.3, 0.0)])
def test_the_ends_of_a_run(
    monkeypatch: pytest.MonkeyPatch, step: float, low: float, high: float, inside: float
) -> None:
    use(monkeypatch, Law((low, high)))
    found = w.run_around(NO, NO, inside, step, FINE, NO)
    assert found == pytest.approx((low, high), abs=FINE)


@pytest.mark.parametrize(("gap", "seen"), [(1.5, True), (0.4, False)])
def test_a_gap_wider_than_the_grid_ends_a_run(monkeypatch: pytest.MonkeyPatch, gap: float, seen: bool) -> None:
    """From 10.2 steps off the middle on; one that lies between two headings tried is passed over."""
    start = 10.2 * w.GRID
    use(monkeypatch, Law((-0.01, start), (start + gap * w.GRID, 0.01)))
    high = w.run_end(NO, NO, 0.0, w.GRID, FINE, NO)
    assert high == pytest.approx(start if seen else 0.01, abs=FINE)


def test_far_off_every_second_heading_is_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """A gap of one grid between even steps is passed over beyond 8 degrees, and not before."""
    for degrees, seen in ((7.5, True), (8.5, False)):
        odd = 2 * round(math.radians(degrees) / w.GRID / 2.0) + 1
        use(monkeypatch, Law((-0.01, (odd - 0.5) * w.GRID), ((odd + 0.5) * w.GRID, 0.3)))
        high = w.run_end(NO, NO, 0.0, w.GRID, FINE, NO)
        assert high == pytest.approx((odd - 0.5) * w.GRID if seen else 0.3, abs=w.GRID if seen else FINE)


@pytest.mark.parametrize(
    ("a", "b", "least"), [(1.0, 2.0, 1.0), (2.0, 1.0, 1.0), (NAN, 2.0, 2.0), (1.0, NAN, 1.0), (1.0, 1.0, 1.0)]
)
def test_the_smaller_of_two(a: float, b: float, least: float) -> None:
    assert w.min_of(a, b) == least
    assert math.isnan(w.min_of(NAN, NAN))


@pytest.mark.parametrize("low", [0.1, math.pi - 0.05, -math.pi - 0.05])
def test_within_a_run(low: float) -> None:
    """Whole turns aside; its ends are within."""
    high = low + 0.2
    for heading, within in ((low, True), (high, True), (low - 1e-6, False), (high + 1e-6, False), (low + 0.1, True)):
        for turns in (-1, 0, 1):
            if heading not in (low, high) or turns == 0:
                assert w.is_within(heading + turns * math.tau, low, high) == within
    assert not w.is_within(0.1, NAN, NAN)


WIDE, NARROW = 0.004, 0.0004  # of which a person can hit the first


@pytest.mark.parametrize(
    ("old", "new", "near", "taken"),
    [
        ((0.0, WIDE), (0.1, 0.1 + 2 * WIDE), 0.01, "old"), ((0.0, WIDE), (0.1, 0.1 + 2 * WIDE), 0.09, "new"),
        ((0.0, NARROW), (0.1, 0.1 + WIDE), 0.01, "new"), ((0.0, WIDE), (0.1, 0.1 + NARROW), 0.09, "old"),
        ((0.0, NARROW), (0.1, 0.1 + 1.5 * NARROW), 0.01, "new"),
        ((0.0, NARROW), (0.1, 0.1 + 0.5 * NARROW), 0.09, "old"),
        ((NAN, NAN), (0.1, 0.1 + NARROW), 0.0, "new"),
    ],
)  # fmt: skip
def test_of_two_runs_the_nearer_that_can_be_hit(
    monkeypatch: pytest.MonkeyPatch, old: tuple[float, float], new: tuple[float, float], near: float, taken: str
) -> None:
    use(monkeypatch, Law(old, new))
    found = w.better_run(NO, NO, 0.5 * (new[0] + new[1]), near, old, FINE, NO)
    assert found == pytest.approx(new if taken == "new" else old, abs=FINE, nan_ok=True)


def test_a_heading_in_the_best_run_or_none_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    law = use(monkeypatch, Law((0.0, 1.0)))
    assert w.better_run(NO, NO, 0.05, 0.0, (0.0, 0.1), FINE, NO) == (0.0, 0.1)
    assert w.better_run(NO, NO, NAN, 0.0, (0.0, 0.1), FINE, NO) == (0.0, 0.1)
    assert law.tried == []


def test_a_wider_run_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    """The widest of those wider than the best; every run is looked at once."""
    best, runs = (0.0, 0.02), [(0.1, 0.11), (0.2, 0.23), (0.3, 0.35), (0.4, 0.44)]
    law = use(monkeypatch, Law(best, *runs))
    potting = np.array([0.01, 0.105, 0.21, 0.22, 0.31, 0.34, 0.41])
    assert w.wider_run(NO, NO, potting, best, FINE, NO) == pytest.approx((0.3, 0.35), abs=FINE)
    once = len(law.tried)
    w.wider_run(NO, NO, np.array([0.105, 0.21, 0.31, 0.41]), best, FINE, NO)
    assert len(law.tried) == 2 * once
    for potting in (np.array([0.01, 0.105]), np.array([])):
        assert np.isnan(w.wider_run(NO, NO, potting, best, FINE, NO)).all()


def test_a_run_settles_on_its_own_middle(monkeypatch: pytest.MonkeyPatch) -> None:
    use(monkeypatch, Law((0.1, 0.13)))
    for found in ((0.1, 0.13), (0.099, 0.12)):
        assert w.settle_run(NO, NO, *found, FINE, NO) == pytest.approx((0.115, 0.1, 0.13), abs=w.SETTLED)


def test_a_gap_that_shows_from_the_middle_leaves_the_run_beside_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Found from its ends as one run; its middle lies in a gap, so the run beside that is taken, with its middle."""
    use(monkeypatch, Law((0.1, 0.115), (0.1154, 0.13)))
    heading, low, high = w.settle_run(NO, NO, 0.1, 0.1306, FINE, NO)
    assert (low, high) == pytest.approx((0.1154, 0.13), abs=1e-6)
    assert heading == pytest.approx(0.1227, abs=w.SETTLED)


@pytest.mark.parametrize(
    ("root", "found"), [(0.105, 0.105), (0.098, 0.1), (0.113, 0.111), (0.0915, NAN), (0.1195, NAN)]
)
def test_a_pot_beside_a_root(monkeypatch: pytest.MonkeyPatch, root: float, found: float) -> None:
    """In steps of 0.001 to either side, eight at most; the nearest."""
    law = use(monkeypatch, Law((0.0999, 0.1111), miss=0.0))
    heading, at_root = w.pot_beside(NO, NO, root, 0.001, NO)
    assert heading == pytest.approx(found, abs=1e-9, nan_ok=True)
    assert at_root.direction == root
    assert max(abs(tried - root) for tried in law.tried) < 0.00801


def test_hits_that_pot_are_every_second_one_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    law = use(monkeypatch, Law((-0.11, 0.21)))
    hits = hits_of(law)
    assert w.hits_that_pot(NO, NO, hits, NO) == pytest.approx([-0.1, 0.0, 0.1, 0.2])
    assert len(law.tried) == HITS // 2 + 1


@pytest.mark.parametrize(
    ("blocked", "short", "code"),
    [(0, 0, w.TOO_THIN), (5, 12, CUE_BALL_BLOCKED), (17, 0, CUE_BALL_BLOCKED), (5, 11, w.TOO_THIN),
     (0, 17, NOT_REACHED), (0, 16, w.TOO_THIN)],
)  # fmt: skip
def test_why_nothing_pots(blocked: int, short: int, code: int) -> None:
    empty = np.full(HITS + 1, NAN)
    found = w.unsolved(Hits(empty, empty, empty, blocked, short, 4, False))
    assert (found.code, found.trial.code, found.trial.obstacle) == (code, code, 4)
    assert math.isnan(found.heading)
    assert math.isnan(found.centre)


def test_headings_worth_a_try(monkeypatch: pytest.MonkeyPatch) -> None:
    """The plain aim, hits that cross the gate, the last contact, and parts of the way between hits that are near."""
    law = use(monkeypatch, Law(miss=0.0, met=(-9.0, 0.33)))
    hits = hits_of(law)
    found = w.other_headings(NO, NO, hits, 0.77, NO).tolist()
    assert found[0] == 0.77
    crossing = [heading for heading in hits.headings if abs(FAR_M * math.tan(heading)) <= GATE.half_width]
    assert found[1 : 1 + len(crossing)] == pytest.approx(crossing)
    ends = found[1 + len(crossing) :]
    assert ends[0] == pytest.approx(0.33, abs=1e-6)
    parts = [a + k * (b - a) / w.BETWEEN for a, b in zip(hits.headings, hits.headings[1:], strict=False)
             for k in range(1, w.BETWEEN) if a < 0.33]  # fmt: skip
    assert ends[1:] == pytest.approx(parts)


def test_beside_a_frozen_ball_the_least_misses_are_tried_too(monkeypatch: pytest.MonkeyPatch) -> None:
    law = use(monkeypatch, Law(miss=0.012))
    plain, frozen = (w.other_headings(NO, NO, hits_of(law, frozen=on), 0.0, NO) for on in (False, True))
    (more,) = [heading for heading in frozen if np.abs(plain - heading).min() > 1e-9]
    assert more == pytest.approx(0.012, abs=1e-5)
