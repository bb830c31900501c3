"""What a practice sheet says to watch for, over all its takes: pure, no page."""

from __future__ import annotations

import math
from collections.abc import Callable

from tablesim.model.base import bounds_of
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.physics.roots import narrowed
from tablesim.study.correct import correct_take
from tablesim.study.landing import nearest, rest_words, zones_of
from tablesim.study.reading import CENTRE_MM
from tablesim.units import mph_from_m_s

from .sheet_words import SOFT_M_S, Told, cut_deg, named, thickness


def watch_for(scenario: Scenario, told: list[Told]) -> list[str]:
    """The findings that a teacher points at, most telling first."""
    found = [*_misses(scenario, told), *_aims(told)]
    for words, chosen in (
        ("Scratch: with the corrected aim the cue ball drops too in {}.", _which(told, _scratches_corrected)),
        ("Scratch: as aimed, the cue ball drops in {}.", _which(told, _scratches_aimed)),
        ("The ball to pot is not reached, or another ball is in the way, in {}.", _which(told, _out_of_reach)),
        ("Miscue: the tip strikes beyond the ring in {}.", _which(told, _slips)),
    ):
        if chosen:
            found.append(words.format(named(chosen)))
    found += _cue_ball(scenario, told)
    first = next((t.number for t in told if _playable(t)), 0)
    soft = softest(scenario, told, f"the stroke of {named([first])}")
    return [*found, soft] if soft else found


def _cue_ball(scenario: Scenario, told: list[Told]) -> list[str]:
    """Where the cue ball stops as aimed: in which takes in a zone, and in which how far outside; else in diamonds."""
    ends = {t.number: t.answer.aimed for t in told if t.answer.aimed is not None}
    lying = {n: p for n, p in ends.items() if p.cue_ball.outcome == "at_rest" and p.cue_ball.end_m is not None}
    if not lying:
        return []
    if not zones_of(scenario):
        places = {n: rest_words(scenario, p.cue_ball.outcome, p.cue_ball.end_m, ()) for n, p in lying.items()}
        return [
            "Cue ball, as aimed, stops at " + "; ".join(f"{words} in {named([n])}" for n, words in places.items()) + "."
        ]
    best = {n: p.zones[k] for n, p in lying.items() if (k := nearest(p.zones)) is not None}
    inside = [n for n, one in best.items() if one.inside]
    outside = {n: one.outside_mm or 0.0 for n, one in best.items() if not one.inside}
    told_of = [f"stops in a zone in {named(inside)}"] if inside else []
    if outside:
        far = f"{'up to ' if len(outside) > 1 else ''}{max(outside.values()):.0f} mm outside"
        told_of.append(f"stops {far} in {named(list(outside))}")
    return [f"Zone, as aimed: the cue ball {', '.join(told_of)}."]


def _which(told: list[Told], holds: Callable[[Told], bool]) -> list[int]:
    return [t.number for t in told if holds(t)]


def _scratches_corrected(t: Told) -> bool:
    return t.answer.corrected is not None and t.answer.corrected.cue_ball.outcome == "potted"


def _scratches_aimed(t: Told) -> bool:
    return t.answer.aimed is not None and t.answer.aimed.cue_ball.outcome == "potted"


def _out_of_reach(t: Told) -> bool:
    return t.answer.aimed is not None and t.answer.aimed.target.outcome in ("not_reached", "blocked")


def _slips(t: Told) -> bool:
    return t.answer.aimed is not None and t.answer.aimed.cue_ball.outcome in ("miscue", "out_of_reach")


def _misses(scenario: Scenario, told: list[Told]) -> list[str]:
    cut = cut_deg(scenario)
    misses = {
        t.number: t.answer.aimed.target.miss_mm
        for t in told
        if t.answer.aimed is not None and t.answer.aimed.target.miss_mm is not None
    }
    found = []
    for sign, side in ((1.0, "left"), (-1.0, "right")):
        chosen = [n for n, miss in misses.items() if miss is not None and sign * miss >= CENTRE_MM]
        if chosen:
            thick = thickness(cut, sign * 1000.0)
            far = max(abs(misses[n] or 0.0) for n in chosen)
            found.append(
                f"As aimed, the ball goes {side} of the pocket's centre{f' ({thick})' if thick else ''}"
                f" in {named(chosen)}, by {'up to ' if len(chosen) > 1 else ''}{far:.0f} mm."
            )
    return found


def _aims(told: list[Told]) -> list[str]:
    direct = {t.number: t.answer.correction for t in told if t.answer.correction is not None and not t.cushions}
    sides = {"same": "on the side of the english", "opposite": "opposite the english"}
    chosen = {side: [n for n, c in direct.items() if c.relative_to_english == side] for side in sides}
    parts = [f"{words} in {named(chosen[side])}" for side, words in sides.items() if chosen[side]]
    found = [f"Aim {', '.join(parts)}."] if parts else []
    windows = {n: f"{c.window_mm:.1f}" for n, c in direct.items() if c.window_mm is not None}
    if len(set(windows.values())) > 1:
        least = min(windows.values(), key=float)
        narrow = [n for n, window in windows.items() if window == least]
        found.append(f"Least room for error: {named(narrow)}, a window of {least} mm.")
    return found


def _playable(t: Told) -> bool:
    """True if a direct aim brings the ball in."""
    return t.answer.correction is not None and not t.cushions and t.answer.correction.heading_deg is not None


def softest(scenario: Scenario, told: list[Told], stroke: str) -> str | None:
    """The softest pace, to 0.05 m/s, at which the first playable take's ``stroke``, so called, brings the ball in."""
    first = next((t for t in told if _playable(t)), None)
    if first is None:
        return None
    take = first.take

    def brings_it_in(pace: float) -> bool:
        soft = take.model_copy(update={"pace_m_s": pace})
        return correct_take(scenario, soft).heading_deg is not None

    slowest, _ = bounds_of(Take, "pace_m_s")
    _, least = narrowed(brings_it_in, slowest, take.pace_m_s, SOFT_M_S)
    least = math.ceil(10.0 * least - 1e-9) / 10.0
    return (
        f"Softest pace that still brings the ball in, with {stroke}: about"
        f" {least:.1f} m/s ({mph_from_m_s(least):.1f} mph)."
    )
