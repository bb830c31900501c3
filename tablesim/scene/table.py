"""The table itself, drawn from the same edge that the engine uses."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tablesim.physics.records import Edge
from tablesim.units import DIAMONDS_LONG, DIAMONDS_SHORT

from .look import Look
from .shapes import Disc, Dot, Path, Pen, Scene

Array = NDArray[np.float64]

CUSHION_M = 0.0508  # nose to rail top: 2 in; common practice, no source
RAIL_M = 0.145  # nose to the table's outside; common practice, no source (WPA: 4 to 7 1/2 in with the cushion)
SIGHT_M = 0.0937  # nose to the sights: 3 11/16 in (WPA equipment specification)
CORNER_ARC = 10


def _arc(centre: Array, start: Array, end: Array) -> Array:
    """Points from start to end the short way round a centre."""
    a = np.arctan2(*(start - centre)[::-1])
    b = np.arctan2(*(end - centre)[::-1])
    turn = (b - a + np.pi) % (2.0 * np.pi) - np.pi
    angles = a + turn * np.linspace(0.0, 1.0, 7)
    points: Array = centre + np.hypot(*(start - centre)) * np.column_stack([np.cos(angles), np.sin(angles)])
    return points


def bed_outline(edge: Edge) -> Array:
    """The bed's edge (n, 2), counterclockwise from the head-right corner: noses, rounded points, facings, drops."""
    order = (0, 1, 2, 3, 4, 5)  # pockets counterclockwise, as the noses run
    parts: list[Array] = []
    for pocket in order:
        jaws = (2 * pocket, 2 * pocket + 1)
        # Jaws as met going counterclockwise: the one whose point ends the nose before comes first.
        noses_end = {tuple(np.round(row[:2] + row[4] * row[2:4], 9)) for row in edge.lines[:6]}
        tangents = []
        for jaw in jaws:
            centre, radius = edge.arcs[jaw, :2], edge.arcs[jaw, 2]
            facing = edge.lines[6 + jaw]
            on_nose = min(
                (row[:2] + t * row[2:4] for row in edge.lines[:6] for t in (0.0, row[4])),
                key=lambda p: float(abs(np.hypot(*(p - centre)) - radius) + np.hypot(*(p - facing[:2]))),
            )
            tangents.append((centre, on_nose, facing))
        first = [tuple(np.round(t[1], 9)) in noses_end for t in tangents]
        if first[1] and not first[0]:
            tangents.reverse()
        for k, (centre, on_nose, facing) in enumerate(tangents):
            drop = edge.drops[pocket]
            reach = ((drop[0] - facing[0]) * drop[2] + (drop[1] - facing[1]) * drop[3]) / (
                facing[2] * drop[2] + facing[3] * drop[3]
            )
            deep = facing[:2] + max(reach, 0.0) * facing[2:4]
            arc = _arc(centre, on_nose, facing[:2])
            parts.append(np.vstack([arc, deep]) if k == 0 else np.vstack([deep, arc[::-1]]))
    return np.vstack(parts)


def pocket_discs(edge: Edge) -> list[tuple[float, float, float]]:
    """A round hole behind each drop edge: centre x, y and radius [m]."""
    found = []
    for x, y, px, py, half in edge.drops:
        radius = 0.88 * half
        found.append((x + 0.62 * radius * px, y + 0.62 * radius * py, radius))
    return found


def _rounded(x0: float, y0: float, x1: float, y1: float, r: float) -> Array:
    corners = ((x1 - r, y0 + r, -90), (x1 - r, y1 - r, 0), (x0 + r, y1 - r, 90), (x0 + r, y0 + r, 180))
    parts = []
    for cx, cy, begin in corners:
        a = np.radians(begin + np.linspace(0.0, 90.0, CORNER_ARC))
        parts.append(np.column_stack([cx + r * np.cos(a), cy + r * np.sin(a)]))
    return np.vstack(parts)


def sights(edge: Edge) -> list[tuple[float, float]]:
    """Where the sights are inlaid: the corners and side pockets have none."""
    step, wide = edge.length / DIAMONDS_LONG, edge.width / DIAMONDS_SHORT
    long_ones = [k for k in range(1, DIAMONDS_LONG) if k != DIAMONDS_LONG // 2]
    found = [(k * step, y) for k in long_ones for y in (-SIGHT_M, edge.width + SIGHT_M)]
    return found + [(x, k * wide) for k in range(1, DIAMONDS_SHORT) for x in (-SIGHT_M, edge.length + SIGHT_M)]


def table_scene(edge: Edge, look: Look) -> Scene:
    """Rails, sights, pockets and cloth; nothing that moves."""
    outer = _rounded(-RAIL_M, -RAIL_M, edge.length + RAIL_M, edge.width + RAIL_M, 0.07)
    inner = _rounded(-CUSHION_M, -CUSHION_M, edge.length + CUSHION_M, edge.width + CUSHION_M, 0.01)
    bed = bed_outline(edge)
    scene: Scene = [
        Path(outer, Pen(look.rail_edge, 1.5), look.rail, closed=True),
        Path(inner, Pen(look.rail_edge, 1.0), look.cushion, closed=True),
    ]
    scene += [Disc(x, y, r + 0.012, look.rail_edge) for x, y, r in pocket_discs(edge)]
    scene += [Disc(x, y, r, look.pocket) for x, y, r in pocket_discs(edge)]
    scene.append(Path(bed, Pen(look.rail_edge, 1.0), look.cloth, closed=True))
    for x, y, px, py, half in edge.drops:
        lip = np.array([[x - half * py, y + half * px], [x + half * py, y - half * px]])
        scene.append(Path(lip, Pen(look.pocket, 1.5)))
    scene += [Dot(x, y, 3.2, look.sight, corners=4) for x, y in sights(edge)]
    spot = (edge.length / DIAMONDS_LONG * 2, edge.length / DIAMONDS_LONG * 6)
    scene += [Dot(x, edge.width / 2, 1.6, look.ink_soft) for x in spot]
    string = np.array([[spot[0], 0.0], [spot[0], edge.width]])
    scene.append(Path(string, Pen(look.ink_soft[:7] + "26", 1.0)))
    return scene
