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

import numpy as np
from numpy.typing import NDArray

from .contact_time import Course, farthest, line_time, meeting_time, place_after, shortened
from .jit import kernel
from .records import Edge, Matrix

Array = NDArray[np.float64]

POCKETS = ("head-right", "side-right", "foot-right", "foot-left", "side-left", "head-left")
NOSES = ("right rail", "right rail", "foot rail", "left rail", "left rail", "head rail")

NOTHING, LINE, ARC, DROP = 0, 1, 2, 3  # what a ball meets at the edge


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


SLACK_M = 1e-9  # rounding of a centre that stands at a nose


@kernel
def first_drop(ball: Course, drops: Matrix) -> tuple[float, int]:
    """(time, pocket) at which a centre first passes a drop edge on its course; (inf, -1) if it does not."""
    best, which = math.inf, -1
    reach = farthest(ball)
    for i in range(drops.shape[0]):
        px, py = drops[i, 2], drops[i, 3]
        gap = (drops[i, 0] - ball.x) * px + (drops[i, 1] - ball.y) * py
        if gap > 0.0 and gap > reach:
            continue
        t = line_time(gap, -px, -py, ball)
        if t < best:
            x, y = place_after(ball, t)
            if abs((x - drops[i, 0]) * py - (y - drops[i, 1]) * px) <= drops[i, 4]:
                best, which = t, i
    return best, which


@kernel
def foot_on_line(x: float, y: float, lines: Matrix, i: int) -> bool:
    """True if the foot of (x, y) on line ``i`` lies between its ends."""
    along = (x - lines[i, 0]) * lines[i, 2] + (y - lines[i, 1]) * lines[i, 3]
    return bool(0.0 <= along <= lines[i, 4])


@kernel
def first_line(ball: Course, rho: float, lines: Matrix, begin: int, end: int) -> tuple[float, int]:
    """(time, row) of the first line among rows begin..end-1 that a ball meets; (inf, -1) if none."""
    best, which = math.inf, -1
    for i in range(begin, end):
        nx, ny = lines[i, 5], lines[i, 6]
        gap = (ball.x - lines[i, 0]) * nx + (ball.y - lines[i, 1]) * ny - rho
        t = line_time(gap, nx, ny, ball)
        if t < best:
            x, y = place_after(ball, t)
            if foot_on_line(x, y, lines, i):
                best, which = t, i
    return best, which


@kernel
def first_arc(ball: Course, rho: float, arcs: Matrix) -> tuple[float, int]:
    """(time, row) of the first rounded point that a ball meets; (inf, -1) if none."""
    best, which = math.inf, -1
    for i in range(arcs.shape[0]):
        horizon = min(ball.horizon, best)
        seen = Course(ball.x - arcs[i, 0], ball.y - arcs[i, 1], ball.vx, ball.vy, ball.ax, ball.ay, horizon)
        t = meeting_time(seen, arcs[i, 2] + rho)
        if t < best:
            best, which = t, i
    return best, which


@kernel
def leaves_middle(ball: Course, rho: float, edge: Edge, slack: float) -> bool:
    """True if a centre is not within ``rho`` of the noses' rectangle, or on its course comes ``slack`` out of there."""
    outermost = rho - SLACK_M
    if not (outermost <= ball.x <= edge.length - outermost and outermost <= ball.y <= edge.width - outermost):
        return True
    return bool(
        line_time(ball.x - rho + slack, 1.0, 0.0, ball) < math.inf
        or line_time(edge.length - rho - ball.x + slack, -1.0, 0.0, ball) < math.inf
        or line_time(ball.y - rho + slack, 0.0, 1.0, ball) < math.inf
        or line_time(edge.width - rho - ball.y + slack, 0.0, -1.0, ball) < math.inf
    )


@kernel
def edge_time(ball: Course, rho: float, edge: Edge) -> tuple[float, int, int]:
    """When and where a ball of nose distance ``rho`` first meets the edge on its course.

    Returns (time, NOTHING/LINE/ARC/DROP, row in that table).  Everything but a
    drop edge lies outside the rectangle whose sides are ``rho`` inside the
    noses, so a ball inside it first has to leave it.
    """
    best, which = first_drop(ball, edge.drops)
    kind = DROP if which >= 0 else NOTHING
    if not leaves_middle(ball, rho, edge, 0.0):
        return best, kind, which
    t, row = first_line(ball, rho, edge.lines, 0, len(NOSES))
    if t < best:
        best, kind, which = t, LINE, row
        # A nose is met without passing a jaw unless the centre is, or before that comes, outside the middle.
        if not leaves_middle(shortened(ball, t - 1e-12), rho, edge, SLACK_M):
            return best, kind, which
    t, row = first_line(ball, rho, edge.lines, len(NOSES), edge.lines.shape[0])
    if t < best:
        best, kind, which = t, LINE, row
    t, row = first_arc(shortened(ball, min(ball.horizon, best)), rho, edge.arcs)
    if t < best:
        best, kind, which = t, ARC, row
    return best, kind, which


@kernel
def edge_normal(x: float, y: float, kind: int, row: int, edge: Edge) -> tuple[float, float]:
    """Unit normal, towards the bed, at the point of the edge that a ball centred at (x, y) touches."""
    if kind == LINE:
        return edge.lines[row, 5], edge.lines[row, 6]
    dx, dy = x - edge.arcs[row, 0], y - edge.arcs[row, 1]
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
