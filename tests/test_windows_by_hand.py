"""How windows are found, on laws made up by hand: what a stroke along a heading does is a formula."""

from __future__ import annotations

import math

import numpy as np
import pytest
from made_up import FAR_M, GATE, NAN, NO, Law, hits_of, use

from tablesim.physics import headings as h
from tablesim.physics import potting as w
from tablesim.physics.headings import HITS, Hits
from tablesim.physics.trial import CUE_BALL_BLOCKED, MISSES, NOT_REACHED, POTS, SHORT, TARGET_BLOCKED

FINE = 1e-7


@pytest.mark.parametrize("step", [w.GRID, w.FIRST])
@pytest.mark.parametrize(("low", "high", "inside"), [(-0.02, 0.013, 0.001), (0.1, 0.3, 0.12), (-0.4, 0.3, 0.0)])
def test_the_ends_of_a_run(
    monkeypatch: pytest.MonkeyPatch, step: float, low: float, high: float, inside: float
) -> None:
    use(monkeypatch, Law((low, high)))
    found = w.run_around(NO, NO, inside, step, FINE, NO)
    assert found == pytest.approx((low, high), abs=FINE)


@pytest.mark.parametrize(("gap", "seen"), [(1.5, True), (0.4, False)])
@pytest.mark.parametrize("off", [10.2, 0.2])
def test_a_gap_wider_than_the_grid_ends_a_run(
    monkeypatch: pytest.MonkeyPatch, off: float, gap: float, seen: bool
) -> None:
    """So many steps off the middle; one that lies between two headings tried is passed over."""
    start = off * w.GRID
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
        (WIDE, 2 * WIDE, 1.052, "old"), (WIDE, 2 * WIDE, 1.054, "new"),
        (NARROW, WIDE, 1.01, "new"), (WIDE, NARROW, 1.09, "old"),
        (NARROW, 1.5 * NARROW, 1.01, "new"), (NARROW, 0.5 * NARROW, 1.09, "old"), (NAN, NARROW, 1.0, "new"),
    ],
)  # fmt: skip
def test_of_two_runs_the_nearer_that_can_be_hit(
    monkeypatch: pytest.MonkeyPatch, old: float, new: float, near: float, taken: str
) -> None:
    """One from 1 on, so and so wide, and one from 1.1 on; their middles are 1.002 and 1.104 if they can be hit."""
    best = (NAN if math.isnan(old) else 1.0, 1.0 + old)
    other = (1.1, 1.1 + new)
    use(monkeypatch, Law(best, other))
    found = w.better_run(NO, NO, 1.1 + 0.5 * new, near, best, FINE, NO)
    assert found == pytest.approx(other if taken == "new" else best, abs=FINE)


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


def test_the_least_miss_may_be_that_of_the_last_hit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Then only the gaps between hits near that one are worth a try."""
    law = use(monkeypatch, Law(miss=1.0))
    found = w.other_headings(NO, NO, hits_of(law, -0.42, 0.42), 0.77, NO)
    assert found[0] == 0.77
    assert len(found) == 1 + (w.BETWEEN - 1) * 10  # from the hit at -0.105 on: the next one misses by less than 1.08
    assert found[1:].min() > -0.105


def test_beside_a_frozen_ball_the_least_misses_are_tried_too(monkeypatch: pytest.MonkeyPatch) -> None:
    law = use(monkeypatch, Law(miss=0.012))
    plain, frozen = (w.other_headings(NO, NO, hits_of(law, frozen=on), 0.0, NO) for on in (False, True))
    (more,) = [heading for heading in frozen if np.abs(plain - heading).min() > 1e-9]
    assert more == pytest.approx(0.012, abs=1e-5)


# --- the whole


def solved(patch: pytest.MonkeyPatch, law: Law, near: float = 0.0, others: bool = False) -> w.Solution:
    """The answer where all goes by that law: hits from -0.4 to 0.4, of which the seventeenth parts pot or miss."""
    use(patch, law)
    patch.setattr(w, "reach_of", lambda shot, setup: h.Reach(1.0, 0.4, 0.0, 0.4, 0.001))
    patch.setattr(h, "rail_for", lambda shot, setup: -1)
    patch.setattr(w, "play_on", lambda run, ball, setup: None)
    patch.setattr(w, "scratched", lambda run: 1)
    return w.solve_heading(NO, NO, near, FINE, others, NO)


def test_the_window_about_a_root(monkeypatch: pytest.MonkeyPatch) -> None:
    found = solved(monkeypatch, Law((0.09, 0.13), miss=0.1))
    assert (found.code, found.trial.code, found.trial.scratch) == (w.SOLVED, POTS, 1)
    assert (found.low, found.high, found.heading) == pytest.approx((0.09, 0.13, 0.11), abs=w.SETTLED)
    assert found.centre == pytest.approx(0.1, abs=1e-8)
    crossings = found.low_crossing, found.high_crossing
    assert crossings == pytest.approx((FAR_M * math.tan(-0.01), FAR_M * math.tan(0.03)), abs=1e-5)
    assert math.isnan(found.other_low)


def test_a_window_that_only_a_hit_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nowhere near the root: by a bank, or off a jaw.  The centre stays the root."""
    found = solved(monkeypatch, Law((-0.29, -0.25), miss=0.1))
    assert (found.low, found.high, found.heading) == pytest.approx((-0.29, -0.25, -0.27), abs=w.SETTLED)
    assert found.centre == pytest.approx(0.1, abs=1e-8)


def test_a_window_too_narrow_to_hit_gives_way(monkeypatch: pytest.MonkeyPatch) -> None:
    found = solved(monkeypatch, Law((0.0999, 0.1001), (-0.29, -0.25), miss=0.1))
    assert (found.low, found.high) == pytest.approx((-0.29, -0.25), abs=1e-6)
    only = solved(monkeypatch, Law((0.0999, 0.1001), miss=0.1))
    assert (only.low, only.high) == pytest.approx((0.0999, 0.1001), abs=1e-6)


def test_a_wider_window_elsewhere_is_told_if_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    law = Law((0.09, 0.11), (-0.3, -0.2), miss=0.1)
    assert math.isnan(solved(monkeypatch, law).other_low)
    found = solved(monkeypatch, law, others=True)
    assert (found.low, found.high) == pytest.approx((0.09, 0.11), abs=1e-6)
    assert (found.other_low, found.other_high) == pytest.approx((-0.3, -0.2), abs=1e-6)


def test_no_window(monkeypatch: pytest.MonkeyPatch) -> None:
    """A root at which nothing pots is refused with what the stroke there does; without one the cut is too thin."""
    refused = solved(monkeypatch, Law(miss=0.1))
    assert (refused.code, refused.trial.code) == (w.REFUSED, MISSES)
    assert refused.trial.direction == pytest.approx(0.0, abs=1e-9)
    assert refused.centre == pytest.approx(0.1, abs=1e-8)
    thin = solved(monkeypatch, Law(miss=1.0))
    assert thin.code == w.TOO_THIN
    assert math.isnan(thin.centre)
    assert math.isnan(thin.heading)
    assert solved(monkeypatch, Law(met=(8.0, 9.0))).code == NOT_REACHED


def test_no_two_codes_are_the_same() -> None:
    """Of answers and of trials, which an answer may hand on."""
    assert (
        len({w.SOLVED, w.TOO_THIN, w.REFUSED, POTS, MISSES, SHORT, TARGET_BLOCKED, CUE_BALL_BLOCKED, NOT_REACHED}) == 9
    )
