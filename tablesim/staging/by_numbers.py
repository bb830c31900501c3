"""A shot staged by numbers: how far the cue ball is from the target ball, and how thin the cut into its pocket.

The target ball stays where it lies.  At one cut the cue ball can lie on one line
only, which leads to the ghost ball's place; the distance says where on it.
"""

from __future__ import annotations

import math

import numpy as np

from tablesim.errors import TablesimError
from tablesim.model.scenario import CUE_BALL, TOUCHING_M, Scenario
from tablesim.study.setup import apart_m, plain_cut, plain_line, target_distance, target_of
from tablesim.units import STRAIGHT_DEG, cut_told, far_unit, far_words

from .space import XY, discs_of

SQUARE_DEG = 90.0  # a cut is less than this
LEAST_RUN_M = 0.001  # of a cue ball that is to cut: nearer to the ghost ball, a hair decides the cut
STEP_M = 0.002  # between distances tried for room
HALVINGS = 40
DIGITS = (2, 3, 4, 5)  # a distance that would do is told with the fewest that leave it one


def stage_shot(
    scenario: Scenario, distance_m: float | None = None, cut_deg: float | None = None, unit: str = "mm"
) -> Scenario:
    """The scenario with its cue ball so far from the target ball, and at such a cut for the target's pocket.

    The distance [m] is from centre to centre, seen from above; the cut [degrees,
    left +] is that of the plain aim at the pocket's centre, less than 90.  What is
    not given stays.  ``unit`` (mm, inch, diamond): errors tell distances to who
    likes it.  TablesimError says what would do where the cue ball cannot lie;
    AimImpossible if there is no target.

    >>> shot = ts.stage_shot(ts.open_scenario("two-cues"), distance_m=0.6, cut_deg=30)
    >>> [round(place, 3) for place in shot.balls["cue"]]
    [1.153, 0.694]
    """
    if distance_m is None and cut_deg is None:
        raise TablesimError("distance, cut: one of them must be given at least; got neither")
    distance = apart_m(scenario) if distance_m is None else distance_m
    cut = math.degrees(plain_cut(scenario)) if cut_deg is None else cut_deg
    if not (math.isfinite(distance) and distance > 0.0):
        raise TablesimError(f"distance: must be a length greater than 0; got {distance:g} m")
    if not abs(cut) < SQUARE_DEG:
        rule = f"must be less than {SQUARE_DEG:g} degrees to either side; got {cut:g}"
        raise TablesimError(f"cut: {rule}" + (", as the balls lie now: give a cut, too" if cut_deg is None else ""))
    room = Room(scenario)
    if (why := room.fault(distance, cut)) is not None:
        raise TablesimError(_refusal(room, distance, cut, unit, why))
    return scenario.change(balls=scenario.balls | {CUE_BALL: room.spot(distance, cut)})


class Room:
    """Where the cue ball of a scenario can lie, by distance [m] from the target ball and cut [degrees, left +]."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario, self.apart = scenario, target_distance(scenario)
        self._line = plain_line(scenario)
        self._names = list(scenario.balls)
        self._discs = discs_of(scenario, self._names)

    def _run(self, distance: float, cut: float) -> float:
        """How far [m] the cue ball rolls to the ghost ball's place, at least 0."""
        turn, distance = math.radians(cut), max(distance, self.apart)
        return math.sqrt(distance**2 - (self.apart * math.sin(turn)) ** 2) - self.apart * math.cos(turn)

    def spot(self, distance: float, cut: float) -> XY:
        """The place of the cue ball [m]: as far back from the ghost ball's, on the line of the cut, as it rolls."""
        x, y, ux, uy = self._line
        heading, run = math.atan2(uy, ux) - math.radians(cut), self._run(distance, cut)
        return x - run * math.cos(heading), y - run * math.sin(heading)

    def fault(self, distance: float, cut: float) -> str | None:
        """Why the cue ball cannot lie there, or None."""
        i = self._names.index(CUE_BALL)
        if distance < self.apart - TOUCHING_M:
            return f"it would overlap ball {target_of(self.scenario).ball!r}"
        if abs(cut) >= STRAIGHT_DEG and self._run(distance, cut) < LEAST_RUN_M:
            return "a ball that touches the other can only go straight on"
        at = list(self.scenario.balls.values())
        at[i] = self.spot(distance, cut)
        found = self._discs.fault(at, [i], TOUCHING_M)
        if found is None:
            return None
        return "it would be off the bed" if found[1] < 0 else f"it would overlap ball {self._names[found[1]]!r}"

    def nearest_distance(self, wanted: float, cut: float) -> float | None:
        """The distance [m] nearest to the one wanted, where there is none, at which there is room on that line.

        None if there is none on it.
        """
        size = self.scenario.table.surface
        tried = np.arange(self.apart, math.hypot(size.length_m, size.width_m), STEP_M)
        ordered = tried[np.argsort(abs(tried - wanted), kind="stable")]
        free = next((float(far) for far in ordered if self.fault(far, cut) is None), None)
        if free is None:
            return None
        taken = free + math.copysign(min(STEP_M, abs(wanted - free)), wanted - free)
        for _ in range(HALVINGS):
            middle = (free + taken) / 2.0
            free, taken = (middle, taken) if self.fault(middle, cut) is None else (free, middle)
        return free

    def nearest_cut(self, distance: float, wanted: float) -> int | None:
        """The whole cut [degrees, left +] nearest to the one wanted with room at that distance, or None."""
        cuts = sorted(range(1 - int(SQUARE_DEG), int(SQUARE_DEG)), key=lambda cut: abs(cut - wanted))
        return next((cut for cut in cuts if self.fault(distance, cut) is None), None)


def _refusal(room: Room, distance: float, cut: float, unit: str, why: str) -> str:
    """That the cue ball cannot lie there, why, and what would do."""
    name, size_m = far_unit(unit, room.scenario.table.diamond_m)
    target = target_of(room.scenario).ball
    told = f"{distance / size_m:.4g} {name} from ball {target}, {cut_told(cut)}: {why}; "
    free = room.nearest_distance(distance, cut)
    if free is not None:
        words = _told_inside(room, distance, cut, unit, free)
        return told + f"on that line {words} is the {'farthest' if free < distance else 'nearest'} that would do"
    other = room.nearest_cut(distance, cut)
    if other is not None:
        return told + f"no distance on that line would do; at that distance, {cut_told(other)} would"
    return told + f"neither another distance nor another cut alone would do: move ball {target} or change its pocket"


def _told_inside(room: Room, wanted: float, cut: float, unit: str, free: float) -> str:
    """A distance that is free, rounded away from the one wanted so that it can be staged as it is told."""
    diamond, rounded = room.scenario.table.diamond_m, math.floor if free < wanted else math.ceil
    _, size_m = far_unit(unit, diamond)
    for digits in DIGITS:
        step = size_m / 10**digits
        inside = step * rounded(free / step)
        if room.fault(inside, cut) is None:
            break
    return far_words(inside, unit, diamond, digits)
