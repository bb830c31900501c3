"""Whether the cue ball stops in the zones of a drill, or how far outside them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Mark
from tablesim.units import diamonds_from_m

JUST_MM = 2.0  # outside a zone by less than this is just outside
NAME_LETTERS = 40  # of a zone's words, at most, in a sentence


@dataclass(frozen=True)
class Landing:
    """A zone by its words, and whether the cue ball's centre rests within its radius.

    ``outside_mm`` is how far beyond its edge the centre rests, 0 inside; None
    for a cue ball that drops, which is in no zone.  Both are None where it is
    not known where the cue ball stops: after a miscue, or in an unfinished run.
    """

    zone: str
    radius_m: float
    inside: bool | None
    outside_mm: float | None


def zones_of(scenario: Scenario) -> list[Mark]:
    """The zones among the marks of a scenario."""
    return [mark for mark in scenario.marks if mark.kind == "zone"]


def landings(scenario: Scenario, outcome: str, end_m: tuple[float, float] | None) -> tuple[Landing, ...]:
    """Each zone of a scenario, for a cue ball of that outcome (at_rest, potted, ...) and resting place."""
    return tuple(_landing(zone, outcome, end_m) for zone in zones_of(scenario))


def _landing(zone: Mark, outcome: str, end_m: tuple[float, float] | None) -> Landing:
    assert zone.radius_m is not None
    if outcome != "at_rest" or end_m is None:
        return Landing(zone.text, zone.radius_m, False if outcome == "potted" else None, None)
    beyond = math.dist(end_m, zone.at) - zone.radius_m
    return Landing(zone.text, zone.radius_m, beyond <= 0.0, 1000.0 * max(beyond, 0.0))


def zone_name(found: Sequence[Landing], k: int) -> str:
    """What zone ``k`` of those is called: the zone “landing”, zone 2, the zone."""
    text = found[k].zone.strip()
    if text:
        return f"the zone “{text if len(text) <= NAME_LETTERS else text[: NAME_LETTERS - 1].rstrip() + '…'}”"
    return "the zone" if len(found) == 1 else f"zone {k + 1}"


def nearest(found: Sequence[Landing]) -> int | None:
    """The zone that the cue ball is in, the smallest of several, else the nearest; None if it rests nowhere."""
    ranks = [(one.outside_mm, one.radius_m, k) for k, one in enumerate(found) if one.outside_mm is not None]
    return min(ranks, default=(0.0, 0.0, None))[2]


def landing_sentence(aimed: Sequence[Landing], corrected: Sequence[Landing] = ()) -> str:
    """Where the cue ball stops as aimed and, where that is another shot, as corrected; empty if nothing is known."""
    told, then = _does(aimed), _does(corrected)
    k = nearest(corrected)
    if told and k is not None and k == nearest(aimed):
        return f"The cue ball {told}; corrected, {_place(corrected[k])} it."
    if told and then:
        return f"The cue ball {told}; corrected, it {then}."
    return f"The cue ball {told}." if told else f"Corrected, the cue ball {then}." if then else ""


def _does(found: Sequence[Landing]) -> str:
    """What the cue ball does: "stops 42 mm outside the zone “landing”"."""
    k = nearest(found)
    if k is None:
        return "drops, in no zone" if any(one.inside is not None for one in found) else ""
    return f"stops {_place(found[k])} {zone_name(found, k)}"


def _place(one: Landing) -> str:
    """in, just outside or 42 mm outside."""
    far = one.outside_mm or 0.0
    return "in" if one.inside else "just outside" if far < JUST_MM else f"{far:.0f} mm outside"


def rest_words(scenario: Scenario, outcome: str, end_m: tuple[float, float] | None, found: Sequence[Landing]) -> str:
    """Where a cue ball of that outcome comes to rest: beside a zone, else in diamonds; empty where it does not.

    Diamonds from the head rail, then from the right rail as seen from the head end.
    """
    if outcome != "at_rest" or end_m is None:
        return ""
    k = nearest(found)
    if k is not None:
        return f"{_place(found[k])} {zone_name(found, k)}"
    along, across = (diamonds_from_m(v, scenario.table.surface.length_m) for v in end_m)
    return f"{along:.1f}, {across:.1f} diamonds"
