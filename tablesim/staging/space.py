"""The balls of a layout as discs to move by hand: pymunk proposes, geometry disposes.

A dragged ball goes to the pointer in small steps.  Where it meets others, a
pymunk space with the same edge proposes how they are shoved: there are no
velocities, overlaps are pushed apart, so nothing rolls on.  :func:`project` then
takes the last overlaps out, and only a layout that passes the scenario's own
rules is kept; else everything stays where it was.  Balls that nothing touches
keep their positions to the bit.

Shots are played by ``physics``; nothing here knows about motion.  Positions are
centres (x, y) [m] in the axes of ``tablesim.physics``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import pymunk
from numpy.typing import NDArray

from tablesim.errors import NameUnknown, TablesimError, unknown_name
from tablesim.model.gear import MAX_BALLS
from tablesim.model.scenario import TOUCHING_M, Scenario
from tablesim.model.shot import MAX_NAME
from tablesim.physics.ball_ball import contact_distance
from tablesim.physics.edge import NOSES
from tablesim.physics.records import Edge
from tablesim.units import DIAMONDS_LONG, DIAMONDS_SHORT

XY = tuple[float, float]
Positions = dict[str, XY]
Grid = NDArray[np.floating[Any]]

FAR_M = 100.0  # no coordinate is farther than this
CLEAN_M = 1e-10  # a move leaves no overlap above this
SPARE_M = 1e-6  # shoved balls are pushed this much too far, so that pushing comes to an end
SWEEPS = 30  # of one projection
GIVES = (1.0, 0.0, 0.5)  # share of a push that goes to the farther ball: outwards, back, both, in turn
MAX_STEPS, MAX_STRAIN = 400, 12  # of one drag: longer than any table; how hard it presses on what does not give


class Bed:
    """The bed and its edge in plain floats, for many quick questions; on and near it, as ``bed_clearance`` has it."""

    def __init__(self, edge: Edge) -> None:
        self.length, self.width = edge.length, edge.width
        self.lines, self.arcs, self.drops = edge.lines.tolist(), edge.arcs.tolist(), edge.drops.tolist()
        # Drops with next to no shelf reach this far into the bed's corners.
        self.inset = max(min(x, self.length - x, y, self.width - y) for x, y, *_ in self.drops)

    def gap(self, x: float, y: float, rho: float) -> tuple[float, float, float]:
        """Clearance [m] of a ball of nose distance ``rho`` [m] and the unit vector (x, y) back to the bed.

        Only the nearest pocket counts; inside the rectangle of nose contact the clearance is given as infinite.
        """
        m = max(rho, self.inset)
        if m <= x <= self.length - m and m <= y <= self.width - m:
            return math.inf, 0.0, 0.0
        best, bx, by, at_nose = math.inf, 0.0, 0.0, False
        k = min(range(len(self.drops)), key=lambda k: math.hypot(x - self.drops[k][0], y - self.drops[k][1]))
        for row in (*range(len(NOSES)), len(NOSES) + 2 * k, len(NOSES) + 2 * k + 1):
            x0, y0, tx, ty, length, nx, ny = self.lines[row]
            if 0.0 <= (x - x0) * tx + (y - y0) * ty <= length:
                at_nose |= row < len(NOSES)
                gap = (x - x0) * nx + (y - y0) * ny - rho
                if gap < best:
                    best, bx, by = gap, nx, ny
        for cx, cy, r in self.arcs[2 * k : 2 * k + 2]:
            apart = math.hypot(x - cx, y - cy)
            if apart - r - rho < best and apart > 0.0:
                best, bx, by = apart - r - rho, (x - cx) / apart, (y - cy) / apart
        qx, qy, px, py, _ = self.drops[k]
        gap = (qx - x) * px + (qy - y) * py
        return (gap, -px, -py) if gap < best and not at_nose else (best, bx, by)

    def onto(self, x: float, y: float, rho: float) -> XY:
        """The point next to (x, y) [m] where a ball of nose distance ``rho`` lies on the bed: (x, y) if it does so."""
        m = max(rho, self.inset)
        inside = min(max(x, m), self.length - m), min(max(y, m), self.width - m)
        px, py = x, y
        for _ in range(12):  # out of one piece of the edge at a time: several meet in a pocket
            gap, nx, ny = self.gap(px, py, rho)
            if gap >= 0.0:
                near = math.hypot(px - x, py - y) <= math.hypot(inside[0] - x, inside[1] - y)
                return (px, py) if near else inside
            px, py = px + (CLEAN_M / 8.0 - gap) * nx, py + (CLEAN_M / 8.0 - gap) * ny
        return inside


class Discs:
    """What may not overlap: balls by index, with nose distances ``rho`` and touching distances ``apart`` [m]."""

    def __init__(self, bed: Bed, rho: list[float], radius: list[float]) -> None:
        self.bed, self.rho, self.radius = bed, rho, radius
        self.apart = [[contact_distance(a, b) for b in radius] for a in radius]

    def fault(self, at: Sequence[XY], moved: Iterable[int], slack: float = CLEAN_M) -> tuple[int, int] | None:
        """The first ball among ``moved`` that overlaps by more than ``slack`` [m], and what: a ball, or -1 the edge."""
        for i in moved:
            x, y = at[i]
            if self.bed.gap(x, y, self.rho[i])[0] < -slack:
                return i, -1
            for j, (u, v) in enumerate(at):
                if j != i and math.hypot(u - x, v - y) < self.apart[i][j] - slack:
                    return i, j
        return None


def discs_of(scenario: Scenario, names: Iterable[str]) -> Discs:
    """Balls of these names, whether they lie on the table or not, as discs on the scenario's table, in that order."""
    sizes = [(scenario.nose_distance_m(name), scenario.ball_set.radius_m(name)) for name in names]
    return Discs(Bed(scenario.table.edge), [rho for rho, _ in sizes], [radius for _, radius in sizes])


def project(discs: Discs, at: list[XY], moved: set[int], source: int, held: bool) -> bool:
    """Push overlapping balls apart and onto the bed; True if no ball in ``moved`` overlaps any more.

    ``at`` holds the centres [m] and is changed in place.  Pushing goes outwards
    from ball ``source`` and back; if ``held``, that ball does not give way.
    Two balls that are not in ``moved`` are left alone; a ball that is pushed joins it.
    """
    order = sorted(range(len(at)), key=lambda k: math.dist(at[k], at[source]))
    rank = {k: r for r, k in enumerate(order)}
    near: dict[int, list[int]] = {}
    for sweep in range(SWEEPS):
        pushed, farther = False, GIVES[sweep % len(GIVES)]
        for i in order if farther > 0.0 else order[::-1]:
            if i not in moved:
                continue
            if not (held and i == source):
                x, y = discs.bed.onto(*at[i], discs.rho[i])
                pushed |= (x, y) != at[i]
                at[i] = x, y
            if i not in near:
                near[i] = [j for j, a in enumerate(discs.apart[i]) if j != i and math.dist(at[i], at[j]) < 2.0 * a]
            for j in near[i]:
                dx, dy = at[j][0] - at[i][0], at[j][1] - at[i][1]
                distance = math.hypot(dx, dy)
                if distance >= discs.apart[i][j]:
                    continue
                pushed = True
                moved.add(j)
                ux, uy = (dx / distance, dy / distance) if distance > 0.0 else (1.0, 0.0)
                share = 1.0 if held and source in (i, j) else farther
                give = discs.apart[i][j] + SPARE_M - distance
                mine = give * (share if rank[i] > rank[j] else 1.0 - share)
                at[i] = at[i][0] - mine * ux, at[i][1] - mine * uy
                at[j] = at[j][0] + (give - mine) * ux, at[j][1] + (give - mine) * uy
        if not pushed:
            break
    return discs.fault(at, moved) is None


class Shover:
    """The pymunk space: how balls give way to one of them, as a proposal that may hold overlaps."""

    def __init__(self, discs: Discs) -> None:
        self.space = pymunk.Space()
        self.space.iterations, self.space.damping = 30, 0.0
        self.space.collision_slop = 2.0 * TOUCHING_M  # layouts may hold overlaps of TOUCHING_M: leave those alone
        self.bodies: list[pymunk.Body] = []
        self._add_edge(discs.bed, max(discs.rho))
        radii: list[float] = []
        for i, (radius, rho) in enumerate(zip(discs.radius, discs.rho, strict=True)):
            # Seen from above, balls of unlike size touch nearer than the sum of their radii; noses, nearer than R.
            radii.append(min([radius, *(discs.apart[i][j] - r for j, r in enumerate(radii))]))
            body = pymunk.Body(1.0, math.inf)
            to_balls, to_edge = pymunk.Circle(body, radii[i]), pymunk.Circle(body, rho)
            to_balls.filter = pymunk.ShapeFilter(categories=1, mask=1)
            to_edge.filter = pymunk.ShapeFilter(categories=2, mask=4)
            self.space.add(body, to_balls, to_edge)
            self.bodies.append(body)

    def _add_edge(self, bed: Bed, rho: float) -> None:
        ground = self.space.static_body
        pieces: list[pymunk.Shape] = [pymunk.Circle(ground, r, (x, y)) for x, y, r in bed.arcs]
        for x, y, tx, ty, length, _, _ in bed.lines:
            pieces.append(pymunk.Segment(ground, (x, y), (x + length * tx, y + length * ty), 0.0))
        for x, y, px, py, half in bed.drops:  # a centre stops at the drop, its rim beyond it
            x, y = x + rho * px, y + rho * py
            pieces.append(pymunk.Segment(ground, (x - half * py, y + half * px), (x + half * py, y - half * px), 0.0))
        for piece in pieces:
            piece.filter = pymunk.ShapeFilter(categories=4, mask=2)
        self.space.add(*pieces)

    def propose(self, at: Sequence[XY], held: int) -> list[XY]:
        """Centres [m] after the others have given way to ball ``held``; those left alone are the ones of ``at``."""
        for body, spot in zip(self.bodies, at, strict=True):
            body.position = spot
        self.bodies[held].mass = 1e9
        for _ in range(2):
            self.space.collision_bias = 0.0  # find what takes every overlap out ...
            self.space.step(1.0)
            self.space.collision_bias = 1.0  # ... carry it out, and leave nothing over for later
            self.space.step(1.0)
        self.bodies[held].mass = 1.0
        found = [(body.position.x, body.position.y) for body in self.bodies]
        found[held] = at[held]
        return [a if math.dist(a, b) < TOUCHING_M else b for a, b in zip(at, found, strict=True)]


def _meeting(dx: float, dy: float, way: XY, apart: float) -> float:
    """Distance [m] along the unit vector ``way`` until a ball at (dx, dy) is met; infinite if passed or grazed."""
    along, across = dx * way[0] + dy * way[1], dx * way[1] - dy * way[0]
    if along <= 0.0 or abs(across) >= apart - CLEAN_M:
        return math.inf
    return max(along - math.sqrt(apart * apart - across * across), 0.0)


def check_place(ball: str, *numbers: float) -> None:
    """TablesimError for coordinates [m] that are not within FAR_M."""
    if not all(abs(number) <= FAR_M for number in numbers):
        raise TablesimError(f"ball {ball!r}: coordinates must lie within {FAR_M:g} m; got {list(numbers)}")


class Staging:
    """The balls of a scenario as discs to move by hand; every layout returned is one that the scenario accepts.

    Moves return the centres [m] of all balls by name, in the scenario's order.
    They raise NameUnknown for a ball that is not there and TablesimError for
    numbers that are not within FAR_M; a move that raises has moved nothing.
    """

    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        self._names, self._at = list(scenario.balls), list(scenario.balls.values())
        self._measure()
        self._bed = self._discs.bed

    def _measure(self) -> None:
        self._discs = discs_of(self._scenario, self._names)
        self._shover = Shover(self._discs)

    @property
    def positions(self) -> Positions:
        """Centres [m] by name."""
        return dict(zip(self._names, self._at, strict=True))

    def _index(self, ball: str, *numbers: float) -> int:
        check_place(ball, *numbers)
        if ball not in self._names:
            raise NameUnknown(unknown_name("ball", ball, self._names))
        return self._names.index(ball)

    def _put(self, i: int, spot: XY, what: str, slack: float = CLEAN_M) -> Positions:
        """Put ball ``i`` at ``spot`` if it can lie there; else TablesimError: ``what`` failed, and why."""
        at = [*self._at[:i], spot, *self._at[i + 1 :]]
        fault = self._discs.fault(at, [i], slack)
        if fault is None:
            self._at = at
            return self.positions
        rho, j = self._discs.rho[i], fault[1]
        why = f"off the bed: must lie {1000 * rho:.1f} mm or more from the noses of the table"
        if j >= 0:
            why = f"it would overlap ball {self._names[j]!r}: centres must be {1000 * self._discs.apart[i][j]:.3f} mm"
            why += f" apart or more; got {1000 * math.dist(spot, at[j]):.3f} mm"
        raise TablesimError(f"ball {self._names[i]!r} cannot be {what}: {why}")

    def pick(self, x: float, y: float, reach_m: float = 0.0) -> str | None:
        """The ball under (x, y) [m], or the one of the nearest rim within ``reach_m``; None if there is none."""
        rims = [math.dist((x, y), spot) - radius for spot, radius in zip(self._at, self._discs.radius, strict=True)]
        nearest = min(range(len(rims)), key=rims.__getitem__)
        return self._names[nearest] if rims[nearest] <= reach_m else None

    def _free(self, i: int, way: XY) -> float:
        """How far [m] ball ``i`` can go along the unit vector ``way`` before it meets another; infinite if for ever."""
        (x, y), apart = self._at[i], self._discs.apart[i]
        meetings = (_meeting(u - x, v - y, way, apart[j]) for j, (u, v) in enumerate(self._at) if j != i)
        return min(meetings, default=math.inf)

    def drag(self, ball: str, x: float, y: float) -> Positions:
        """Move a ball toward (x, y) [m], shoving the others; it goes as near as the bed and the others let it.

        One call presses only so long on what does not give way; the next one goes on from there.
        """
        i = self._index(ball, x, y)
        goal = self._bed.onto(float(x), float(y), self._discs.rho[i])
        strain, share = 0, 1.0
        for _ in range(MAX_STEPS):
            left = math.dist(self._at[i], goal)
            if left == 0.0 or strain >= MAX_STRAIN:
                break
            way = (goal[0] - self._at[i][0]) / left, (goal[1] - self._at[i][1]) / left
            step = share * min(left, self._free(i, way) + self._discs.radius[i] / 3.0)
            moved, effort = self._step(i, goal, step)
            strain += effort
            share = 1.0 if moved else share / 3.0
        return self.positions

    def _step(self, i: int, goal: XY, step: float) -> tuple[bool, int]:
        """Take ball ``i`` one step [m] nearer to its goal, others giving way: (whether anything moved, its effort)."""
        (x, y), left = self._at[i], math.dist(self._at[i], goal)
        share, effort = step / left, 0
        at = list(self._at)
        spot = goal if share == 1.0 else (x + share * (goal[0] - x), y + share * (goal[1] - y))
        at[i] = self._bed.onto(*spot, self._discs.rho[i])
        if self._discs.fault(at, [i]) is not None:
            at = self._shover.propose(at, i)
            moved = {j for j, (a, b) in enumerate(zip(at, self._at, strict=True)) if a != b} | {i}
            if not project(self._discs, at, moved, i, held=True):
                effort = 2
                if not project(self._discs, at, moved, i, held=False):
                    return False, 4
        if math.dist(at[i], goal) > left - step / 10.0:
            return False, 4  # pressed against what does not give way
        self._at = at
        return True, effort

    def place(self, ball: str, x: float, y: float) -> Positions:
        """Put a ball exactly at (x, y) [m]; TablesimError says why if it would overlap a ball or lie off the bed."""
        i = self._index(ball, x, y)
        return self._put(i, (float(x), float(y)), f"placed at [{x:g}, {y:g}]", TOUCHING_M)

    def nudge(self, ball: str, dx: float, dy: float) -> Positions:
        """Move a ball straight by (dx, dy) [m], shoving nothing: it stops where it meets a ball or the edge."""
        i, length = self._index(ball, dx, dy), math.hypot(dx, dy)
        (x, y), rho, step = self._at[i], self._discs.rho[i], self._discs.radius[i] / 4.0
        if length == 0.0:
            return self.positions
        way = dx / length, dy / length
        free, gone = min(length, self._free(i, way)), 0.0
        while gone < free and step > CLEAN_M / 100.0:  # along the bed to its edge, then halving
            there = min(gone + step, free)
            if self._bed.gap(x + there * way[0], y + there * way[1], rho)[0] >= 0.0:
                gone = there
            else:
                step /= 2.0
        spot = (x + dx, y + dy) if gone == length else (x + gone * way[0], y + gone * way[1])
        return self._put(i, spot, "nudged", TOUCHING_M)

    def freeze(self, ball: str, other: str) -> Positions:
        """Move a ball along the line of centres until it touches another; TablesimError if it cannot lie there."""
        i, j = self._index(ball), self._index(other)
        if i == j:
            raise TablesimError(f"ball {ball!r} cannot be frozen to itself; name two balls")
        (x, y), (u, v) = self._at[i], self._at[j]
        scale = (self._discs.apart[i][j] + CLEAN_M / 100.0) / math.dist((x, y), (u, v))
        return self._put(i, (u + scale * (x - u), v + scale * (y - v)), f"frozen to {other!r}")

    def snap(self, ball: str, step_diamonds: float = 0.5) -> Positions:
        """Put a ball on the nearest free crossing; see :meth:`crossing`."""
        i = self._index(ball)
        return self._put(i, self.crossing(ball, *self._at[i], step_diamonds), "snapped")

    def crossing(self, ball: str, x: float, y: float, step_diamonds: float = 0.5) -> XY:
        """The crossing nearest to (x, y) [m], free for a ball, of lines ``step_diamonds`` (0.1 to 4) apart.

        They begin at the noses' corner; a diamond is 1/8 of the length along x and 1/4 of the width along y.
        TablesimError if no crossing is free.
        """
        i = self._index(ball, x, y)
        if not 0.1 <= step_diamonds <= DIAMONDS_SHORT:
            raise TablesimError(f"step_diamonds: must be from 0.1 to {DIAMONDS_SHORT}; got {step_diamonds:g}")
        xs, ys = (
            size / n * step_diamonds * np.arange(int(n / step_diamonds + 1e-9) + 1)
            for size, n in ((self._bed.length, DIAMONDS_LONG), (self._bed.width, DIAMONDS_SHORT))
        )
        return self._nearest_free(ball, (x, y), xs, ys, self._discs.rho[i], self._discs.apart[i])

    def add(self, ball: str, near: XY | None = None) -> Positions:
        """Put a new ball, of the set's size, on the free spot nearest to ``near`` [m], by default the foot spot.

        Spots are tried R/4 apart.  TablesimError if none is free, or if the name is taken or not allowed.
        """
        if ball in self._names or len(self._names) >= MAX_BALLS or not 1 <= len(ball) <= MAX_NAME:
            rule = f"a layout has at most {MAX_BALLS} balls, each with a name of its own of 1 to {MAX_NAME} characters"
            raise TablesimError(f"ball {ball[:60]!r} cannot be added: {rule}")
        length, width = self._bed.length, self._bed.width
        radius, rho = self._scenario.ball_set.radius_m(ball), self._scenario.nose_distance_m(ball)
        goal = near or (0.75 * length, width / 2.0)
        check_place(ball, *goal)
        x, y = self._bed.onto(*goal, rho)
        steps = radius / 4.0 * np.arange(-int(4.0 * length / radius), int(4.0 * length / radius) + 1)
        xs, ys = (p + steps[abs(p + steps - size / 2.0) < size / 2.0] for p, size in ((x, length), (y, width)))
        apart = [contact_distance(radius, other) for other in self._discs.radius]
        spot = self._nearest_free(ball, (x, y), xs, ys, rho, apart)
        self._names, self._at = [*self._names, ball], [*self._at, spot]
        self._measure()
        return self.positions

    def _nearest_free(self, ball: str, near: XY, xs: Grid, ys: Grid, rho: float, apart: Sequence[float]) -> XY:
        """The crossing of the grid nearest to ``near`` where a ball lies clear of all others; TablesimError if none."""
        x, y = (grid.ravel() for grid in np.meshgrid(xs, ys))
        for name, (u, v), wanted in zip(self._names, self._at, apart, strict=True):
            free = np.hypot(x - u, y - v) >= (wanted if name != ball else 0.0)
            x, y = x[free], y[free]
        for k in np.argsort(np.hypot(x - near[0], y - near[1]), kind="stable"):
            spot = float(x[k]), float(y[k])
            if self._bed.gap(*spot, rho)[0] >= 0.0:
                return spot
        raise TablesimError(f"ball {ball!r}: none of the {len(xs)} x {len(ys)} spots tried is free")
