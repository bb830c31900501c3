"""The table's edge: cushion noses, pocket jaws and the edge of the drop, and when a ball meets them.

Geometry of the WPA equipment specification: a pocket's mouth is measured from
point to point, where the nose lines would meet the facings; each facing turns
back into the pocket at its cut angle to the nose line (142 deg at a corner, 104
at a side pocket); the point is rounded by the jaw radius; the shelf is the
depth of bed behind the mouth line.  A ball is potted when its centre passes the
drop edge, here a straight edge parallel to the mouth.

A ball meets a nose at ``rho`` = R cos(theta) of its centre, seen from above,
because the nose is higher than the centre (cushion.py).

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
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .contact_time import line_time, meeting_time
from .jit import kernel

Array = NDArray[np.float64]

POCKETS = ("head-right", "side-right", "foot-right", "foot-left", "side-left", "head-left")
NOSES = ("right rail", "right rail", "foot rail", "left rail", "left rail", "head rail")

NOTHING, LINE, ARC, DROP = 0, 1, 2, 3  # what a ball meets at the edge


@dataclass(frozen=True)
class Edge:
    """The table's edge as arrays; ``length`` and ``width`` [m] of the rectangle of the noses."""

    length: float
    width: float
    lines: Array
    arcs: Array
    drops: Array
    mouths: Array


def _facing(point: Array, along: Array, inward: Array, cut_rad: float, radius: float) -> tuple[Array, Array, Array]:
    """One jaw: (arc centre, tangent point on the nose, tangent point on the facing, stacked with its direction).

    ``along`` is the unit nose direction away from the pocket, ``inward`` the
    nose's unit normal towards the bed.  The facing leaves the nose line by the
    supplement of its cut angle.
    """
    turn = math.pi - cut_rad
    direction = -math.cos(turn) * along - math.sin(turn) * inward
    tangent = radius / math.tan(cut_rad / 2.0)
    centre = point + tangent * along - radius * inward
    return centre, point + tangent * along, np.concatenate([point + tangent * direction, direction])


def build_edge(
    length: float,
    width: float,
    corner_mouth: float,
    side_mouth: float,
    corner_cut_rad: float,
    side_cut_rad: float,
    corner_shelf: float,
    side_shelf: float,
    jaw_radius: float,
) -> Edge:
    """The edge of a table from its sizes [m] and the facings' cut angles [rad] to the nose line."""
    lines, arcs, drops, mouths = np.zeros((18, 7)), np.zeros((12, 3)), np.zeros((6, 5)), np.zeros((6, 5))
    c = corner_mouth / math.sqrt(2.0)
    half = side_mouth / 2.0
    ex, ey = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    middle = length / 2.0
    corner_at = {0: (0.0, 0.0), 2: (length, 0.0), 3: (length, width), 5: (0.0, width)}
    # Each pocket: its two jaws as (point, nose direction away from the pocket, normal towards the bed).
    jaws: list[list[tuple[Array, Array, Array]]] = []
    for index in range(6):
        if index in corner_at:
            corner = np.array(corner_at[index])
            dx = ex if corner[0] == 0.0 else -ex
            dy = ey if corner[1] == 0.0 else -ey
            jaws.append([(corner + c * dx, dx, dy), (corner + c * dy, dy, dx)])
            axis = -(dx + dy) / math.sqrt(2.0)
            mouth, shelf, opening = corner + c / 2.0 * (dx + dy), corner_shelf, corner_mouth
        else:
            bed = ey if index == 1 else -ey
            base = np.array([middle, 0.0 if index == 1 else width])
            jaws.append([(base - half * ex, -ex, bed), (base + half * ex, ex, bed)])
            axis, mouth, shelf, opening = -bed, base, side_shelf, side_mouth
        mouths[index] = [*mouth, *axis, opening / 2.0]
        drops[index] = [*(mouth + shelf * axis), *axis, opening / 2.0]
    noses: dict[tuple[int, int], Array] = {}
    for index, pair in enumerate(jaws):
        corner_pocket = index in corner_at
        cut = corner_cut_rad if corner_pocket else side_cut_rad
        depth = (corner_shelf if corner_pocket else side_shelf) + 0.1
        for side, (point, along, inward) in enumerate(pair):
            centre, on_nose, facing = _facing(point, along, inward, cut, jaw_radius)
            row = 2 * index + side
            arcs[row] = [*centre, jaw_radius]
            start, direction = facing[:2], facing[2:]
            normal = np.array([-direction[1], direction[0]])
            if normal @ (mouths[index, :2] - start) < 0.0:
                normal = -normal
            lines[6 + row] = [*start, *direction, depth, *normal]
            noses[index, side] = on_nose
    # Noses from jaw to jaw, counterclockwise from the head-right corner.
    for row, (first, second, bed) in enumerate(
        [
            ((0, 0), (1, 0), ey), ((1, 1), (2, 0), ey), ((2, 1), (3, 1), -ex),
            ((3, 0), (4, 1), -ey), ((4, 0), (5, 0), -ey), ((5, 1), (0, 1), ex),
        ]
    ):  # fmt: skip
        start, end = noses[first], noses[second]
        span = float(np.linalg.norm(end - start))
        lines[row] = [*start, *((end - start) / span), span, *bed]
    return Edge(length, width, lines, arcs, drops, mouths)


@kernel("Tuple((f8,i8))(f8,f8,f8,f8,f8,f8,f8[:,:],f8)")
def first_drop(
    x: float, y: float, vx: float, vy: float, ax: float, ay: float, drops: Array, horizon: float
) -> tuple[float, int]:
    """(time, pocket) at which a centre first passes a drop edge within ``horizon``; (inf, -1) if it does not."""
    best, which = math.inf, -1
    for i in range(drops.shape[0]):
        px, py = drops[i, 2], drops[i, 3]
        gap = (drops[i, 0] - x) * px + (drops[i, 1] - y) * py
        if gap > 0.0 and gap > (abs(vx) + abs(vy) + (abs(ax) + abs(ay)) * horizon) * horizon:
            continue
        t = line_time(gap, -px, -py, vx, vy, ax, ay, horizon)
        if t < best:
            across = (x + (vx + 0.5 * ax * t) * t - drops[i, 0]) * py - (y + (vy + 0.5 * ay * t) * t - drops[i, 1]) * px
            if abs(across) <= drops[i, 4]:
                best, which = t, i
    return best, which


@kernel("b1(f8,f8,f8[:,:],i8)")
def foot_on_line(x: float, y: float, lines: Array, i: int) -> bool:
    """True if the foot of (x, y) on line ``i`` lies between its ends."""
    along = (x - lines[i, 0]) * lines[i, 2] + (y - lines[i, 1]) * lines[i, 3]
    return bool(0.0 <= along <= lines[i, 4])


@kernel("Tuple((f8,i8))(f8,f8,f8,f8,f8,f8,f8,f8[:,:],i8,i8,f8)")
def first_line(
    x: float,
    y: float,
    vx: float,
    vy: float,
    ax: float,
    ay: float,
    rho: float,
    lines: Array,
    begin: int,
    end: int,
    horizon: float,
) -> tuple[float, int]:
    """(time, row) of the first line among rows begin..end-1 that a ball meets; (inf, -1) if none."""
    best, which = math.inf, -1
    for i in range(begin, end):
        nx, ny = lines[i, 5], lines[i, 6]
        gap = (x - lines[i, 0]) * nx + (y - lines[i, 1]) * ny - rho
        t = line_time(gap, nx, ny, vx, vy, ax, ay, horizon)
        if t < best and foot_on_line(x + (vx + 0.5 * ax * t) * t, y + (vy + 0.5 * ay * t) * t, lines, i):
            best, which = t, i
    return best, which


@kernel("b1(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8)")
def passes_jaw(
    x: float, y: float, vx: float, vy: float, ax: float, ay: float, t: float, rho: float, length: float, width: float
) -> bool:
    """False if the centre surely stays inside the rectangle of nose contact until time ``t``."""
    slack = 1e-9
    if not (rho - slack <= x <= length - rho + slack and rho - slack <= y <= width - rho + slack):
        return True
    before = t - 1e-12
    leaves = min(
        line_time(x - rho + slack, 1.0, 0.0, vx, vy, ax, ay, before),
        line_time(length - rho - x + slack, -1.0, 0.0, vx, vy, ax, ay, before),
        line_time(y - rho + slack, 0.0, 1.0, vx, vy, ax, ay, before),
        line_time(width - rho - y + slack, 0.0, -1.0, vx, vy, ax, ay, before),
    )
    return leaves < math.inf


@kernel("Tuple((f8,i8,i8))(f8,f8,f8,f8,f8,f8,f8,f8,f8,f8[:,:],f8[:,:],f8[:,:],f8)")
def edge_time(
    x: float,
    y: float,
    vx: float,
    vy: float,
    ax: float,
    ay: float,
    rho: float,
    length: float,
    width: float,
    lines: Array,
    arcs: Array,
    drops: Array,
    horizon: float,
) -> tuple[float, int, int]:
    """When and where a ball of nose distance ``rho`` first meets the edge within ``horizon`` seconds.

    Returns (time, NOTHING/LINE/ARC/DROP, row in that table).  Everything but a
    drop edge lies outside the rectangle whose sides are ``rho`` inside the
    noses, so a ball inside it first has to leave it.
    """
    t_drop, pocket = first_drop(x, y, vx, vy, ax, ay, drops, horizon)
    slack = 1e-9
    if rho - slack <= x <= length - rho + slack and rho - slack <= y <= width - rho + slack:
        t = min(
            line_time(x - rho, 1.0, 0.0, vx, vy, ax, ay, horizon),
            line_time(length - rho - x, -1.0, 0.0, vx, vy, ax, ay, horizon),
            line_time(y - rho, 0.0, 1.0, vx, vy, ax, ay, horizon),
            line_time(width - rho - y, 0.0, -1.0, vx, vy, ax, ay, horizon),
        )
        if t == math.inf:
            return t_drop, (DROP if pocket >= 0 else NOTHING), pocket
    best, kind, which = t_drop, (DROP if pocket >= 0 else NOTHING), pocket
    t, row = first_line(x, y, vx, vy, ax, ay, rho, lines, 0, 6, horizon)
    if t < best:
        best, kind, which = t, LINE, row
    # Noses are met without passing a jaw unless the centre is, or will be, off the nose lines' stretch.
    if kind == LINE and not passes_jaw(x, y, vx, vy, ax, ay, best, rho, length, width):
        return best, kind, which
    t, row = first_line(x, y, vx, vy, ax, ay, rho, lines, 6, lines.shape[0], horizon)
    if t < best:
        best, kind, which = t, LINE, row
    for i in range(arcs.shape[0]):
        t = meeting_time(x - arcs[i, 0], y - arcs[i, 1], vx, vy, ax, ay, arcs[i, 2] + rho, min(horizon, best))
        if t < best:
            best, kind, which = t, ARC, i
    return best, kind, which


@kernel("UniTuple(f8,2)(f8,f8,i8,i8,f8[:,:],f8[:,:])")
def edge_normal(x: float, y: float, kind: int, row: int, lines: Array, arcs: Array) -> tuple[float, float]:
    """Unit normal, towards the bed, at the point of the edge that a ball centred at (x, y) touches."""
    if kind == LINE:
        return lines[row, 5], lines[row, 6]
    dx, dy = x - arcs[row, 0], y - arcs[row, 1]
    size = math.sqrt(dx * dx + dy * dy)
    return dx / size, dy / size


def edge_name(kind: int, row: int) -> str:
    """What the trade calls that piece of the edge: a rail, or a pocket's jaw."""
    if kind == LINE and row < len(NOSES):
        return NOSES[row]
    if kind == DROP:
        return POCKETS[row]
    return f"{POCKETS[(row - 6 if kind == LINE else row) // 2]} jaw"


def bed_clearance(x: float, y: float, rho: float, edge: Edge) -> float:
    """How far [m] a ball centred at (x, y) is clear of the edge; negative if it would overlap it or lie off the bed."""
    gaps = [math.hypot(x - cx, y - cy) - r - rho for cx, cy, r in edge.arcs]
    on_line = [foot_on_line(x, y, edge.lines, i) for i in range(len(edge.lines))]
    gaps += [
        (x - x0) * nx + (y - y0) * ny - rho
        for on, (x0, y0, _, _, _, nx, ny) in zip(on_line, edge.lines, strict=True)
        if on
    ]
    if min(x, edge.length - x, y, edge.width - y) < rho and not any(on_line[: len(NOSES)]):
        # Outside the rectangle of nose contact there is bed only in a pocket's mouth, up to the drop.
        qx, qy, px, py, _ = min(edge.drops, key=lambda drop: math.hypot(x - drop[0], y - drop[1]))
        gaps.append((qx - x) * px + (qy - y) * py)
    return float(min(gaps))
