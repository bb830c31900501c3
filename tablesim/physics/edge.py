"""The table's edge from its sizes: cushion noses, pocket jaws, the edge of the drop.

Geometry of the WPA equipment specification: a pocket's mouth is measured from
point to point, where the nose lines would meet the facings; each facing turns
back into the pocket at its cut angle to the nose line (142 deg at a corner, 104
at a side pocket); the point is rounded by the jaw radius; the shelf is the
depth of bed behind the mouth line.  A ball is potted when its centre passes the
drop edge, here a straight edge parallel to the mouth.

Tables of numbers (metres, axes of the package docstring):

    lines   (18, 7)  start x, y; unit tangent x, y; length; unit normal x, y towards the bed
    arcs    (12, 3)  centre x, y; radius: the rounded points
    drops   (6, 5)   a point x, y of the drop edge; unit vector x, y into the pocket; half width
    mouths  (6, 5)   centre x, y of the mouth line; unit vector x, y into the pocket; half width

Rows 0-5 of ``lines`` are the noses (``NOSES``); then come two facings per
pocket, as two arcs per pocket, in the order of ``POCKETS``.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .records import Edge

Array = NDArray[np.float64]

POCKETS = ("head-right", "side-right", "foot-right", "foot-left", "side-left", "head-left")
NOSES = ("right rail", "right rail", "foot rail", "left rail", "left rail", "head rail")
# Each nose runs from one jaw to another, as (pocket, its jaw), counterclockwise from the head-right corner.
NOSE_ENDS = (((0, 0), (1, 0)), ((1, 1), (2, 0)), ((2, 1), (3, 1)), ((3, 0), (4, 1)), ((4, 0), (5, 0)), ((5, 1), (0, 1)))
BEHIND_SHELF_M = 0.1  # facings reach so far beyond the shelf: past where a ball has dropped

EX, EY = np.array([1.0, 0.0]), np.array([0.0, 1.0])


class PocketSize(NamedTuple):
    """Mouth [m], cut angle of the facings to the nose line [rad] and shelf [m] of a pocket."""

    mouth: float
    cut_rad: float
    shelf: float


class _Jaw(NamedTuple):
    """Where a nose line would end; unit vectors along the nose away from the pocket, and towards the bed."""

    point: Array
    along: Array
    bed: Array


class _Pocket(NamedTuple):
    size: PocketSize
    mouth: Array  # centre of the mouth line
    axis: Array  # unit vector into the pocket
    jaws: tuple[_Jaw, _Jaw]


class _Facing(NamedTuple):
    """A jaw with its point rounded: arc's centre, where it meets the nose and the facing, the facing's direction."""

    centre: Array
    on_nose: Array
    start: Array
    direction: Array


def _corner(corner: Array, dx: Array, dy: Array, size: PocketSize) -> _Pocket:
    """The pocket in a corner of the noses' rectangle; dx, dy along the rails away from it."""
    c = size.mouth / math.sqrt(2.0)
    jaws = _Jaw(corner + c * dx, dx, dy), _Jaw(corner + c * dy, dy, dx)
    return _Pocket(size, corner + c / 2.0 * (dx + dy), -(dx + dy) / math.sqrt(2.0), jaws)


def _side(middle: Array, bed: Array, size: PocketSize) -> _Pocket:
    """The pocket in the middle of a long rail; ``bed`` points from it to the bed."""
    half = size.mouth / 2.0
    return _Pocket(size, middle, -bed, (_Jaw(middle - half * EX, -EX, bed), _Jaw(middle + half * EX, EX, bed)))


def _pockets(length: float, width: float, corner: PocketSize, side: PocketSize) -> tuple[_Pocket, ...]:
    """The six, in the order of POCKETS."""
    return (
        _corner(np.zeros(2), EX, EY, corner),
        _side(length / 2.0 * EX, EY, side),
        _corner(length * EX, -EX, EY, corner),
        _corner(length * EX + width * EY, -EX, -EY, corner),
        _side(length / 2.0 * EX + width * EY, -EY, side),
        _corner(width * EY, EX, -EY, corner),
    )


def _facing(jaw: _Jaw, cut_rad: float, radius: float) -> _Facing:
    """A jaw's facing leaves the nose line by the supplement of its cut angle, round an arc tangent to both."""
    turn = math.pi - cut_rad
    direction = -math.cos(turn) * jaw.along - math.sin(turn) * jaw.bed
    tangent = radius / math.tan(cut_rad / 2.0)
    on_nose = jaw.point + tangent * jaw.along
    return _Facing(on_nose - radius * jaw.bed, on_nose, jaw.point + tangent * direction, direction)


def build_edge(length: float, width: float, corner: PocketSize, side: PocketSize, jaw_radius: float) -> Edge:
    """The edge of a table of noses ``length`` by ``width`` [m] with such pockets, their points rounded [m]."""
    lines, arcs, drops, mouths = np.zeros((18, 7)), np.zeros((12, 3)), np.zeros((6, 5)), np.zeros((6, 5))
    pockets = _pockets(length, width, corner, side)
    facings = [[_facing(jaw, pocket.size.cut_rad, jaw_radius) for jaw in pocket.jaws] for pocket in pockets]
    for index, (size, mouth, axis, _) in enumerate(pockets):
        mouths[index] = [*mouth, *axis, size.mouth / 2.0]
        drops[index] = [*(mouth + size.shelf * axis), *axis, size.mouth / 2.0]
        for row, facing in enumerate(facings[index], 2 * index):
            normal = np.array([-facing.direction[1], facing.direction[0]])
            towards_bed = normal if normal @ (mouth - facing.start) >= 0.0 else -normal
            arcs[row] = [*facing.centre, jaw_radius]
            lines[len(NOSES) + row] = [*facing.start, *facing.direction, size.shelf + BEHIND_SHELF_M, *towards_bed]
    for row, ((first, jaw), (second, other)) in enumerate(NOSE_ENDS):
        start, end = facings[first][jaw].on_nose, facings[second][other].on_nose
        span = float(np.linalg.norm(end - start))
        lines[row] = [*start, *((end - start) / span), span, *pockets[first].jaws[jaw].bed]
    return Edge(length, width, lines, arcs, drops, mouths)
