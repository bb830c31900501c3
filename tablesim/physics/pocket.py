"""When a ball meets the table's edge, where, and what it is called; the edge's tables of numbers: edge.py.

A ball meets a nose at ``rho`` = R cos(theta) of its centre, seen from above,
because the nose is higher than the centre (cushion.py).
"""

from __future__ import annotations

import math

from .contact_time import Course, farthest, line_time, meeting_time, place_after, shortened_course
from .edge import NOSES, POCKETS
from .jit import kernel
from .records import Edge, Matrix

NOTHING, LINE, ARC, DROP = 0, 1, 2, 3  # what a ball meets at the edge
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
        if not leaves_middle(shortened_course(ball, t - 1e-12), rho, edge, SLACK_M):
            return best, kind, which
    t, row = first_line(ball, rho, edge.lines, len(NOSES), edge.lines.shape[0])
    if t < best:
        best, kind, which = t, LINE, row
    t, row = first_arc(shortened_course(ball, min(ball.horizon, best)), rho, edge.arcs)
    if t < best:
        best, kind, which = t, ARC, row
    return best, kind, which


@kernel
def is_nose(kind: int, row: int) -> bool:
    """True for a piece of the edge that is a rail's nose, not a pocket's facing or point."""
    return kind == LINE and row < len(NOSES)


@kernel
def edge_normal(x: float, y: float, kind: int, row: int, edge: Edge) -> tuple[float, float]:
    """Unit normal, towards the bed, at the point of the edge that a ball centred at (x, y) touches."""
    if kind == LINE:
        return edge.lines[row, 5], edge.lines[row, 6]
    dx, dy = x - edge.arcs[row, 0], y - edge.arcs[row, 1]
    size = math.sqrt(dx * dx + dy * dy)
    return dx / size, dy / size


@kernel
def edge_gap(x: float, y: float, rho: float, kind: int, row: int, edge: Edge) -> float:
    """How far [m] a ball of nose distance ``rho`` centred at (x, y) is from a line or arc of the edge."""
    if kind == LINE:
        lines = edge.lines
        return float((x - lines[row, 0]) * lines[row, 5] + (y - lines[row, 1]) * lines[row, 6] - rho)
    arcs = edge.arcs
    return math.hypot(x - arcs[row, 0], y - arcs[row, 1]) - float(arcs[row, 2]) - rho


def edge_name(kind: int, row: int) -> str:
    """What the trade calls that piece of the edge: a rail, or a pocket's jaw."""
    if is_nose(kind, row):
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
