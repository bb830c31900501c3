"""Throw in two halves, from side and from the cut, and how far they depend on the order in which causes go.

With side and friction both there, either can be blamed alone: the halves are a
matter of what is switched off first, far more than the whole.  So each half
comes with its least and its most over all 24 orders of squirt, swerve, side and
friction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise, permutations

from tablesim.model.scenario import Scenario, Which
from tablesim.model.shot import Take

from .correct import correct_take
from .explain import own_heading, stage
from .shooter import Shooter
from .stroke import miscues, why_unplayable

SWITCHES = ("squirt", "swerve", "side", "friction")  # in the order of explain


@dataclass(frozen=True)
class Half:
    """A half of throw [mm at the mouth line, left +], in the order of explain and at least and most in any."""

    cause: str
    mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True)
class Halves:
    """The halves of a take's throw; none where some order loses the ball, so that there is no split."""

    take: str
    side: Half | None
    cut: Half | None


def throw_halves(scenario: Scenario, take: Take) -> Halves:
    """Throw from side and from the cut along a take's own aim."""
    nothing = Halves(take.name, None, None)
    if miscues(scenario, take):
        return nothing
    shooter = Shooter(scenario)
    heading, _ = own_heading(scenario, take, correct_take(scenario, take))
    if why_unplayable(scenario, take, heading) is not None:
        return nothing
    crossings: dict[frozenset[str], float] = {}
    for order in permutations(SWITCHES):
        for k in range(len(order) + 1):
            off = frozenset(order[:k])
            if off not in crossings:
                launch, laws = stage(scenario, take, shooter.setup.laws, off, heading)
                crossings[off] = shooter.trial(heading, launch, laws).crossing
    if not all(math.isfinite(x) for x in crossings.values()):
        return nothing

    def half(cause: str, switch: str) -> Half:
        does = {order: _does(crossings, order, switch) for order in permutations(SWITCHES)}
        return Half(cause, does[SWITCHES], min(does.values()), max(does.values()))

    return Halves(take.name, half("throw from side", "side"), half("throw from the cut", "friction"))


def _does(crossings: dict[frozenset[str], float], order: tuple[str, ...], switch: str) -> float:
    """What a switch takes away [mm] when the switches are turned off in some order."""
    for on, off in pairwise(range(len(order) + 1)):
        if order[on] == switch:
            return 1000.0 * (crossings[frozenset(order[:on])] - crossings[frozenset(order[:off])])
    raise ValueError(switch)


def halves(scenario: Scenario, take: Which = None) -> tuple[Halves, ...]:
    """Of every take of a scenario, or of the one named."""
    return tuple(throw_halves(scenario, t) for t in scenario.takes_for(take))
