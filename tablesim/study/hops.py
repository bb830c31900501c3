"""How high and how far the cue ball hops off the strike, which the computed path leaves out.

A raised butt drives the ball into the bed, which throws it up again; a low hit on
a level cue lifts it.  In the air nothing rubs: the path computed on the cloth is
right in the mean over a hop, since the bed then rubs as much more on landing; but
a ball met in a hop is met higher than computed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics.strike import rise_speed, vertical_impulse
from tablesim.units import STANDARD_GRAVITY_M_S2 as G

from .stroke import level_launch, stroke_of

LEAST_HOP_M = 1e-4  # lower ones are lost in nap and bed; common practice, no source


@dataclass(frozen=True)
class Hop:
    """The hops of a cue ball off its strike.

    ``height_mm`` and ``length_m`` of the first, the highest; ``landings_s``
    when it comes down from each that is LEAST_HOP_M high or higher, after the
    last of which it stays down; ``flies`` true if it rises by its radius, so
    that it may jump a ball; ``meets`` is the ball it meets in a hop, if it does,
    ``at_mm`` above the bed.
    """

    height_mm: float
    length_m: float
    landings_s: tuple[float, ...]
    flies: bool
    meets: str | None = None
    at_mm: float | None = None

    @property
    def ends_s(self) -> float:
        """When the ball stays down."""
        return self.landings_s[-1]


def _hops(rise: float, bed_restitution: float) -> Iterator[tuple[float, float, float]]:
    """Each hop worth telling: when it begins [s], its rising speed [m/s], how long it takes."""
    begun = 0.0
    while rise * rise / (2.0 * G) >= LEAST_HOP_M:
        yield begun, rise, 2.0 * rise / G
        begun, rise = begun + 2.0 * rise / G, bed_restitution * rise


def hop_of(
    scenario: Scenario, take: Take, heading: float, met: str | None = None, met_s: float = math.inf
) -> Hop | None:
    """The hops of a take's cue ball, struck along ``heading`` [rad]; None if it stays down.

    ``met``: the ball that it meets first, and when [s].

    Free flight after the strike, and off the bed by its restitution each time;
    its speed along the table that of the launch.
    """
    bed = scenario.cloth.bed_restitution
    hops = list(_hops(rise_speed(vertical_impulse(stroke_of(scenario, take, heading)), bed), bed))
    if not hops:
        return None
    launch = level_launch(scenario, take, heading)
    _, rise, lasts = hops[0]
    height = rise * rise / (2.0 * G)
    above = next(((up - 0.5 * G * (met_s - t)) * (met_s - t) for t, up, long in hops if t <= met_s < t + long), 0.0)
    in_air = above >= LEAST_HOP_M
    return Hop(
        height_mm=1000.0 * height,
        length_m=lasts * math.hypot(launch.vx, launch.vy),
        landings_s=tuple(t + long for t, _, long in hops),
        flies=height > scenario.ball_set.radius_m(CUE_BALL),
        meets=met if in_air else None,
        at_mm=1000.0 * above if in_air else None,
    )


def hop_words(hop: Hop | None) -> str:
    """That a cue ball meets a ball while it hops, in a few words; empty if it does not."""
    if hop is None or hop.meets is None:
        return ""
    above = f"{hop.at_mm:.0f}" if (hop.at_mm or 0.0) >= 1.5 else f"{hop.at_mm:.1f}"
    jumps = "; it may jump the ball, which is not computed" if hop.flies else ""
    return f"still hopping when it meets ball {hop.meets}, {above} mm above the cloth{jumps}"


def hop_sentence(hop: Hop | None) -> str:
    """The same as a sentence."""
    words = hop_words(hop)
    return f"The cue ball is {words}; the path has it on the cloth." if words else ""
