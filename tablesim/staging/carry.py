"""One drag of a ball, from its beginning to its end: what it shoves aside returns when it has passed.

Every place of the pointer is answered from the layout as it was when the drag
began.  The ball is put down there; only balls that this leaves no room give way,
all others lie where they lay, to the bit.  The way that the pointer took is of no account.
"""

from __future__ import annotations

import math

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.physics.aim import gate_at
from tablesim.physics.edge import POCKETS
from tablesim.study.setup import plain_line, target_distance

from .space import CLEAN_M, XY, Positions, Staging, check_place, discs_of

TURNS = 48  # places tried on a ring round the pointer, a quarter of a radius from ring to ring
PUSHES = 4  # drags of one movement: each presses only so long on what does not give way
NEAR_RADII = 1.0  # so near to the straight-in line the pointer is drawn to it


class Carry:
    """A ball in hand over the layout as the drag of it began."""

    def __init__(self, scenario: Scenario, ball: str) -> None:
        self.ball, self._home, self._latest = ball, scenario, dict(scenario.balls)
        self._names = list(scenario.balls)
        self._discs, self._i = discs_of(scenario, self._names), self._names.index(ball)

    def to(self, x: float, y: float, snap: bool = False) -> Positions:
        """Centres [m] of all balls by name with this one as near to (x, y) [m] as the bed and the others let it.

        With ``snap`` at the nearest free crossing of half diamonds, or on the straight-in line if that is near and
        nearer.  TablesimError for numbers that are not within FAR_M; then nothing has moved.
        """
        check_place(self.ball, x, y)
        if snap:
            x, y = snapped(self._home, self.ball, x, y)
        goal = self._discs.bed.onto(float(x), float(y), self._discs.rho[self._i])
        if self._free(goal):
            self._latest = self._home.balls | {self.ball: goal}
        elif (start := self._beside(goal)) is not None:
            self._latest = self._pushed(start, goal)
        return self._latest

    def _free(self, spot: XY) -> bool:
        at = list(self._home.balls.values())
        at[self._i] = spot
        return self._discs.fault(at, [self._i]) is None

    def _pushed(self, start: XY, goal: XY) -> Positions:
        """The layout after the ball was pushed from a free place [m] to its goal, what need not give way at home."""
        staging = Staging(self._home)
        after, before = staging.place(self.ball, *start), None
        for _ in range(PUSHES):
            before, after = after, staging.drag(self.ball, *goal)
            if after[self.ball] in (goal, before[self.ball]):
                break
        return self._returned(after)

    def _returned(self, after: Positions) -> Positions:
        """The layout with every ball at home but those whose home is taken: by the ball in hand, or by one of those."""
        home, apart = list(self._home.balls.values()), self._discs.apart
        now = [after[name] for name in self._names]
        away, new = {self._i}, {self._i}
        while new:
            new = {
                j
                for j, spot in enumerate(home)
                if j not in away and any(math.dist(spot, now[k]) < apart[j][k] - CLEAN_M for k in new)
            }
            away |= new
        return {name: now[j] if j in away else home[j] for j, name in enumerate(self._names)}

    def _beside(self, goal: XY) -> XY | None:
        """The place next to the goal [m] where the ball lies free: straight off one ball, else anywhere round it."""
        apart = self._discs.apart[self._i]
        straight: list[XY] = []
        for j, (u, v) in enumerate(self._home.balls.values()):
            gap = math.dist(goal, (u, v))
            if j != self._i and 0.0 < gap < apart[j]:
                out = (apart[j] + CLEAN_M) / gap
                straight.append((u + out * (goal[0] - u), v + out * (goal[1] - v)))
        free = [spot for spot in straight if self._free(spot)]
        return min(free, key=lambda spot: math.dist(spot, goal)) if free else self._around(goal)

    def _around(self, goal: XY) -> XY | None:
        """The place with most room on the nearest ring round the goal [m] that has one; None if there is none."""
        others = [j for j in range(len(self._names)) if j != self._i]
        at = np.array([list(self._home.balls.values())[j] for j in others])
        apart = np.array([self._discs.apart[self._i][j] for j in others])
        turns = np.arange(TURNS) * math.tau / TURNS
        ring = np.column_stack([np.cos(turns), np.sin(turns)])
        bed, step = self._discs.bed, self._discs.radius[self._i] / 4.0
        for k in range(1, int(math.hypot(bed.length, bed.width) / step)):
            spots = np.array(goal) + k * step * ring
            room = (np.hypot(*(spots[:, None, :] - at).transpose(2, 0, 1)) - apart).min(axis=1)
            for n in np.argsort(-room, kind="stable"):
                spot = float(spots[n, 0]), float(spots[n, 1])
                if room[n] >= 0.0 and self._free(spot):
                    return spot
        return None


def snapped(scenario: Scenario, ball: str, x: float, y: float) -> XY:
    """Where a ball held at (x, y) [m] is drawn: the free crossing of half diamonds next to it, or the straight-in line.

    The line counts for cue ball and target ball, within NEAR_RADII of it and where it is nearer than the crossing.
    """
    spots = [Staging(scenario).crossing(ball, x, y)]
    line = straight_in_spot(scenario, ball, x, y)
    if line is not None and math.dist(line, (x, y)) <= NEAR_RADII * scenario.ball_set.radius_m(ball):
        spots.append(line)
    return min(spots, key=lambda spot: math.dist(spot, (x, y)))


def straight_in_spot(scenario: Scenario, ball: str, x: float, y: float) -> XY | None:
    """The place next to (x, y) [m] from which, or at which, the target ball goes straight in; None if there is none."""
    target = scenario.target
    if target is None or ball not in (CUE_BALL, target.ball):
        return None
    if ball == CUE_BALL:
        start = scenario.balls[target.ball]
        _, _, ux, uy = plain_line(scenario)
        return _next_to(x, y, start, (-ux, -uy), target_distance(scenario), math.inf)
    start, spot = scenario.balls[CUE_BALL], (x, y)
    for _ in range(3):  # in the jaws the pocket is aimed at deeper, the deeper the ball lies
        pocket = POCKETS.index(target.pocket)
        gate = gate_at(scenario.table.edge, pocket, *spot, scenario.nose_distance_m(ball))
        way = gate.x - start[0], gate.y - start[1]
        spot = _next_to(x, y, start, way, target_distance(scenario), math.hypot(*way))
    return spot


def _next_to(x: float, y: float, start: XY, way: XY, least: float, most: float) -> XY:
    """The place nearest to (x, y) [m] on a ray, from ``least`` to ``most`` [m] away from its start."""
    size = math.hypot(*way)
    ux, uy = way[0] / size, way[1] / size
    along = min(max((x - start[0]) * ux + (y - start[1]) * uy, least), most)
    return start[0] + along * ux, start[1] + along * uy
