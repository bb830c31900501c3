"""A track as lines to draw: where a ball goes, where it slides and rolls."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tablesim.physics import columns as e
from tablesim.physics.constants import ROLLING, SLIDING
from tablesim.physics.simulation import Track

Array = NDArray[np.float64]

SAMPLES = 9  # points on a sliding piece, which is a parabola
CURVE, STRAIGHT = np.linspace(0.0, 1.0, SAMPLES), np.array([0.0, 1.0])


@dataclass(frozen=True, eq=False)
class BallPath:
    """One ball's way: points (n, 2) [m], times (n,) [s], and how many of the points are before it first rolls."""

    points: Array
    times: Array
    sliding: int

    @property
    def moves(self) -> bool:
        """False for a ball that stays where it lies."""
        return len(self.points) > 1


@lru_cache(maxsize=512)
def ball_path(track: Track, ball: int) -> BallPath:
    """The way of a ball to rest or into a pocket."""
    rows = track.pieces_of(ball)
    starts = rows[:, e.T0]
    ends = np.append(starts[1:], min(float(rows[-1, e.T_END]), track.end_time))
    moving = (rows[:, e.PHASE] == SLIDING) | (rows[:, e.PHASE] == ROLLING)
    if not moving.any():
        return BallPath(rows[:1, [e.X, e.Y]].copy(), np.zeros(1), 0)
    rows, length = rows[moving], np.maximum(ends - starts, 0.0)[moving]
    slides = rows[:, e.PHASE] == SLIDING
    counts = np.where(slides, SAMPLES, 2)
    which = np.repeat(np.arange(len(rows)), counts)
    share = np.concatenate([CURVE if slid else STRAIGHT for slid in slides])
    t = length[which] * share
    p = rows[which]
    points = np.empty((len(t), 2))
    points[:, 0] = p[:, e.X] + (p[:, e.VX] + 0.5 * p[:, e.AX] * t) * t
    points[:, 1] = p[:, e.Y] + (p[:, e.VY] + 0.5 * p[:, e.AY] * t) * t
    first_roll = int(np.argmax(~slides)) if not slides.all() else len(rows)
    return BallPath(points, t + p[:, e.T0], int(counts[:first_roll].sum()))
