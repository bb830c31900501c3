"""Why the aim misses: the miss split by cause, and said in a sentence.

The causes are switched off one at a time, in this order, each staying off:

1. squirt: the shaft gives no impulse across the cue;
2. swerve: no spin about the line of travel, so the cue ball's path is straight;
3. throw from side: no sidespin;
4. throw from the cut: no friction between the balls.

Each part is the change of the miss when its cause goes; what is left when all
are off, less the point aimed at, is the remainder.  Parts and remainder add up
to the whole.  Another order gives somewhat other parts, because the causes act
on one another (squirt changes the cut, and the cut changes the throw).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
from numpy.typing import NDArray

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.physics.records import BallState, Laws

from .correct import Correction, Shooter, correct_take, plain_offset_m
from .reading import miscue_reading, reading
from .setup import heading_of, level_launch, miscues

Array = NDArray[np.float64]

NO_SPLIT = "the aim misses the target ball, or sends it nowhere near the pocket, with or without one of the causes"
CAUSES = ("squirt", "swerve", "throw from side", "throw from the cut")


@dataclass(frozen=True)
class Part:
    """What one cause does: at the mouth line [mm] and to the target ball's direction [deg], left +."""

    cause: str
    mm: float
    deg: float


@dataclass(frozen=True)
class Explanation:
    """A take's miss of the point it was aimed at, split by cause; ``reason`` says why there is no split.

    ``aim_mm`` is where the plain line of the aim crosses the mouth line, ``miss_mm`` how far from there the ball
    crosses it, both left +; ``parts`` and ``remainder_mm`` add up to the miss.
    """

    take: str
    cue: str
    aim_mm: float | None
    miss_mm: float | None
    miss_deg: float | None
    parts: tuple[Part, ...]
    remainder_mm: float | None
    reading: str
    correction: Correction
    reason: str | None


def without_swerve(launch: BallState) -> BallState:
    """The launch less its spin about the line of travel: nothing is left to bend the path."""
    vx, vy, wx, wy = launch.vx, launch.vy, launch.wx, launch.wy
    speed = math.hypot(vx, vy)
    about = (wx * vx + wy * vy) / speed
    return launch._replace(wx=wx - about * vx / speed, wy=wy - about * vy / speed)


def _stages(scenario: Scenario, take: Take, laws: Laws) -> list[tuple[BallState, Laws]]:
    """(launch, laws) with no, one, two, three and four causes switched off."""
    launch = level_launch(scenario, take)
    no_squirt = level_launch(scenario, take, stroke_factor=0.0)
    straight = without_swerve(no_squirt)
    no_side = straight._replace(wz=0.0)
    smooth = laws._replace(balls=laws.balls._replace(a=0.0, b=0.0))
    return [(launch, laws), (no_squirt, laws), (straight, laws), (no_side, laws), (no_side, smooth)]


def explain_take(
    scenario: Scenario, take: Take, kernels: SimpleNamespace | None = None, correction: Correction | None = None
) -> Explanation:
    """Split the miss of a take's aim by cause; the aim of a corrected take is taken as the plain one.

    ``correction`` is the take's, if it has been solved already.
    """
    cue = scenario.cue_name_of(take)
    correction = correction or correct_take(scenario, take, kernels)
    if miscues(scenario, take):
        words = miscue_reading(correction)
        return Explanation(take.name, cue, None, None, None, (), None, words, correction, correction.reason)
    shooter = Shooter(scenario, kernels)
    plain = take if take.aim.corrected is None else take.model_copy(update={"aim": Take.model_fields["aim"].default})
    heading = heading_of(scenario, plain)
    trials = [shooter.trial(heading, launch, laws) for launch, laws in _stages(scenario, plain, shooter.setup.laws)]
    crossings = [1000.0 * t.crossing for t in trials]
    directions = [math.degrees(t.direction) for t in trials]
    aimed = plain_offset_m(scenario, heading)
    if aimed is None or not all(math.isfinite(c) for c in crossings):
        words = reading(take, None, correction, math.degrees(heading), None if aimed is None else 1000.0 * aimed)
        return Explanation(take.name, cue, None, None, None, (), None, words, correction, NO_SPLIT)
    parts = tuple(
        Part(cause, crossings[i] - crossings[i + 1], directions[i] - directions[i + 1])
        for i, cause in enumerate(CAUSES)
    )
    miss = crossings[0] - 1000.0 * aimed
    remainder = miss - sum(p.mm for p in parts)
    squirt, swerve, side, cut = (p.mm for p in parts)
    words = reading(take, (squirt, swerve, side, cut), correction, math.degrees(heading), 1000.0 * aimed)
    return Explanation(take.name, cue, 1000.0 * aimed, miss, directions[0], parts, remainder, words, correction, None)


def explain(scenario: Scenario, take: str | None = None) -> tuple[Explanation, ...]:
    """Every take of a scenario, or the one named, explained."""
    takes = scenario.takes if take is None else [scenario.take_named(take)]
    return tuple(explain_take(scenario, t) for t in takes)
