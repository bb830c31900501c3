"""Labels that follow balls being played: never on a ball, a ring, other words or what lies over the picture.

A place is found for every moment by itself, the nearest free one; straight below the ball if that is free.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from .label_places import AIR, Callout
from .look import Look
from .shapes import Ball, Canvas, Disc, Scene, Shape, Text

Array = NDArray[np.float64]
GAPS = (2.0, 8.0, 18.0, 32.0, 52.0, 80.0, 120.0, 180.0)  # points between a ball's ring and its label
DIRECTIONS = np.linspace(0.5, 2.5, 16, endpoint=False) * math.pi  # straight below first, y down
ASIDE = 6.0  # points that half a turn away from straight below costs
CLASH = 1e6


def labels_following(labels: Sequence[Callout], around: Iterable[Shape], look: Look, canvas: Canvas) -> Scene:
    """Each label of one line near its place, clear of the balls and rings ``around``, the first one first."""
    frame = canvas.frame
    rounds = np.array([(s.x, s.y, s.radius_m) for s in around if isinstance(s, Ball | Disc)]).reshape(-1, 3)
    scale = frame.pixels_a_metre / frame.point
    discs = np.column_stack([frame.pixels(rounds[:, :2]) / frame.point, rounds[:, 2] * scale])
    seen = np.array(canvas.seen) / frame.point
    taken = [np.array(box) / frame.point for box in canvas.covered]
    shapes: Scene = []
    for label in labels:
        box = _box(label, frame.pixels(np.array([label.place]))[0] / frame.point, discs, taken, seen)
        taken.append(box)
        middle = 0.5 * (box[:2] + box[2:]) * frame.point
        line = label.lines[0]
        x, y = frame.metres(float(middle[0]), float(middle[1]))
        shapes.append(Text(x, y, line.text, line.size, label.colour, 0.5, 0.5, look.halo, bold=line.bold))
    return shapes


def _box(label: Callout, at: Array, discs: Array, taken: Sequence[Array], seen: Array) -> Array:
    """The nearest free box (left, top, right, bottom) [points] for a label of the ball at a place [points]."""
    half = 0.5 * np.array([label.lines[0].width, label.lines[0].size])
    own = discs[np.hypot(*(discs[:, :2] - at).T) < AIR, 2].max(initial=0.0)
    turn, gap = (grid.ravel() for grid in np.meshgrid(DIRECTIONS, GAPS))
    way = np.column_stack([np.cos(turn), np.sin(turn)])
    middles = (
        at + way * (own + gap + AIR)[:, None] + np.sign(np.round(way, 9)) * np.minimum(np.abs(way) * 1.5, 1.0) * half
    )
    boxes = np.hstack([middles - half, middles + half])
    cost = gap + ASIDE * np.minimum(turn - DIRECTIONS[0], 2.0 * math.pi - (turn - DIRECTIONS[0])) / math.pi
    near = np.clip(discs[None, :, :2], boxes[:, None, :2], boxes[:, None, 2:]) - discs[None, :, :2]
    cost += CLASH * (np.hypot(near[..., 0], near[..., 1]) < discs[:, 2] + AIR).sum(axis=1)
    cost += CLASH * ((boxes[:, :2] < seen[:2]).any(axis=1) | (boxes[:, 2:] > seen[2:]).any(axis=1))
    for other in taken:
        apart = np.minimum(boxes[:, 2:], other[2:]) - np.maximum(boxes[:, :2], other[:2])
        cost += CLASH * (apart > -AIR).all(axis=1)
    best: Array = boxes[int(np.argmin(cost))]
    return best
