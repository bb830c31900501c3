"""Sliding and rolling, and the sidespin that is left, along the cue ball's way."""

from __future__ import annotations

import math

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.study.prediction import Prediction

from .look import Look
from .paths import ball_path
from .shapes import Dot, Path, Pen, Scene, Text
from .shot import Shown

EVERY_M = 0.3048  # a mark at each foot of the way
LEAST_SPEED_M_S = 0.02


def spin_ratio(found: Prediction, radius_m: float, t: float) -> float | None:
    """Sidespin over speed, R w_z / v, of the cue ball at a time; None where it hardly moves."""
    assert found.track is not None
    state = found.track.state_of(0, t)
    speed = math.hypot(state.vx, state.vy)
    return radius_m * state.wz / speed if speed > LEAST_SPEED_M_S else None


def spin_scene(scenario: Scenario, found: Prediction, shown: Shown, look: Look, colour: str) -> Scene:
    """The cue ball's way drawn broad where it slides; at each foot a dot as large as its spin-to-speed ratio."""
    if found.track is None:
        return []
    path = ball_path(found.track, 0)
    radius = scenario.ball_set.radius_m(CUE_BALL)
    slides = [found.track.phase_of(0, float(t)) == "sliding" for t in path.times]
    shapes: Scene = []
    for k in range(len(path.points) - 1):
        if slides[k] and path.times[k + 1] > path.times[k]:
            shapes.append(Path(path.points[k : k + 2], Pen(colour[:7] + "66", 4.0 * look.line)))
    steps = np.hypot(*np.diff(path.points, axis=0).T) if len(path.points) > 1 else np.zeros(0)
    way = np.concatenate([[0.0], np.cumsum(steps)])
    for distance in np.arange(EVERY_M, float(way[-1]), EVERY_M):
        t = float(np.interp(distance, way, path.times))
        ratio = spin_ratio(found, radius, t)
        if ratio is None:
            continue
        state = found.track.state_of(0, t)
        shapes.append(Dot(state.x, state.y, 2.0 + 3.5 * min(abs(ratio), 2.0), colour[:7] + "cc", Pen(look.halo, 1.0)))
        if shown.all_numbers:
            words = f"{abs(ratio):.2f} {'left' if ratio < 0 else 'right'}" if abs(ratio) >= 0.005 else "0"
            shapes.append(Text(state.x, state.y, words, 0.8 * look.letters, look.ink, 0.0, 0.5, look.halo, 11.0, 9.0))
    return shapes
