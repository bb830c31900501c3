"""Where balls go: the cue ball's way thin, the target ball's broad with an arrowhead, other balls' pale."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tablesim.model.scenario import Scenario
from tablesim.study.prediction import Prediction, leaving

from .look import CORRECTED, LATER
from .paths import BallPath, ball_path
from .shapes import Colour, Disc, Path, Pen, Scene

Array = NDArray[np.float64]

HOP_TICK_M = 0.016  # half the tick where the cue ball comes down from its first hop
LATER_SHARE = 0.565  # opacity of a way beyond its first leg, of that of the leg
FAINT_SHARE = 0.32  # the same of the cue ball's, unless whole ways are wanted
CUE_SHARE = 0.6  # width of the cue ball's way, of the target ball's
HEAD_AT, HEAD_M, HEAD_SHARE = 0.62, 0.03, 0.2  # an arrowhead: where on a leg, how long at most, and of the leg


@dataclass(frozen=True)
class Extent:
    """How much of a shot's ways is drawn.

    ``ends``: beyond the first legs, to where the balls come to rest; ``whole``:
    that at more than a faint trace for the cue ball; ``others``: with the ways of
    other balls.
    """

    ends: bool = True
    whole: bool = True
    others: bool = False


def thinner(colour: Colour, share: float) -> Colour:
    """The colour with only a share of its opacity."""
    return f"{colour[:7]}{round(share * int(colour[7:] or 'ff', 16)):02x}"


def decided_at(found: Prediction, ball: int) -> float:
    """Time [s] at which a ball's first leg ends: its next cushion, jaw, ball or pocket after it was set going."""
    assert found.track is not None
    started = -math.inf if ball == 0 else max((event.time for event in leaving(found.track, ball)), default=math.inf)
    contacts = (ev.time for ev in found.track.events if ev.kind != "phase" and ball in (ev.first, ev.second))
    return next((time for time in contacts if time > started), found.track.end_time)


def way_scene(path: BallPath, until: float, pen: Pen, later: float = LATER_SHARE) -> Scene:
    """A ball's way: its first leg at full weight, the rest with that share ``later`` of its opacity; 0: no rest."""
    cut = int(np.searchsorted(path.times, until + 1e-9))
    first, rest = path.points[:cut], path.points[max(cut - 1, 0) :]
    dashes = LATER if pen.dashes == CORRECTED else pen.dashes
    light = Pen(thinner(pen.colour, later), 0.6 * pen.width, dashes)
    return [Path(rest, light), Path(first, pen)] if later and len(rest) > 1 else [Path(first, pen)]


def arrowhead(path: BallPath, until: float, colour: Colour) -> Scene:
    """On a ball's first leg, which way it goes; nothing on one too short."""
    cut = int(np.searchsorted(path.times, until + 1e-9))
    points = path.points[:cut]
    lengths = np.append(0.0, np.hypot(*np.diff(points, axis=0).T).cumsum()) if cut > 1 else np.zeros(1)
    whole = float(lengths[-1])
    size = min(HEAD_M, HEAD_SHARE * whole)
    if size < 0.5 * HEAD_M:
        return []
    tip, back = (
        np.array([np.interp(HEAD_AT * whole + on, lengths, points[:, k]) for k in (0, 1)]) for on in (size, 0.0)
    )
    aside = 0.42 * np.array([back[1] - tip[1], tip[0] - back[0]])
    return [Path(np.array([tip, back + aside, back - aside]), None, colour, closed=True)]


def played_scene(scenario: Scenario, found: Prediction, pen: Pen, extent: Extent) -> Scene:
    """The balls' ways, the ghost ball and the resting places of one prediction; ``pen``: of the target ball's way."""
    if found.track is None:
        return []
    shapes: Scene = []
    target = scenario.target.ball if scenario.target else None
    for i, name in enumerate(scenario.ball_names):
        path = ball_path(found.track, i)
        if not path.moves:
            continue
        if i == 0 or name == target:
            shapes += _chief_way(scenario, found, i, pen, extent)
        elif extent.others:
            shapes.append(Path(path.points, Pen(pen.colour[:7] + "80", 0.6 * pen.width, pen.dashes)))
    hit = next((ev for ev in found.track.events if ev.kind == "ball" and 0 in (ev.first, ev.second)), None)
    if hit is not None:
        met = hit.before[0 if hit.first == 0 else 1]
        fine = Pen(pen.colour, 0.6 * pen.width, pen.dashes[:2])
        shapes.append(ghost(met.x, met.y, scenario.ball_set.radius_m(scenario.ball_names[0]), fine))
    return shapes


def _chief_way(scenario: Scenario, found: Prediction, ball: int, pen: Pen, extent: Extent) -> Scene:
    """The way of the cue ball (0) or the target ball, and where it ends."""
    track = found.track
    assert track is not None
    path, until, radius = (
        ball_path(track, ball),
        decided_at(found, ball),
        scenario.ball_set.radius_m(scenario.ball_names[ball]),
    )
    if ball == 0:
        later = LATER_SHARE if extent.whole else FAINT_SHARE
        shapes = way_scene(path, until, pen._replace(width=CUE_SHARE * pen.width), later if extent.ends else 0.0)
        shapes += hop_scene(found, pen._replace(width=0.8 * pen.width, dashes=()))
    else:
        shapes = way_scene(path, until, pen, LATER_SHARE if extent.ends else 0.0)
        shapes += arrowhead(path, until, pen.colour) if pen.dashes != CORRECTED else []
    if not extent.ends:
        return shapes
    x, y = (float(v) for v in path.points[-1])
    if track.potted_in(ball) is None:
        fill = pen.colour[:7] + "2e" if ball == 0 else None
        shapes.append(Disc(x, y, radius, fill, Pen(pen.colour, 0.6 * pen.width)))
    elif ball == 0:
        shapes += scratch_scene(x, y, radius, Pen(pen.colour, pen.width))
    return shapes


def ghost(x: float, y: float, radius: float, pen: Pen) -> Disc:
    """Where the cue ball is when it meets the ball."""
    return Disc(x, y, radius, pen.colour[:7] + "22", pen)


def scratch_scene(x: float, y: float, radius: float, pen: Pen) -> Scene:
    """Where the cue ball drops: a ring struck through both ways, larger than the ball."""
    shapes: Scene = [Disc(x, y, 1.25 * radius, None, pen)]
    for way in (np.array([1.0, 1.0]), np.array([1.0, -1.0])):
        reach, at = 1.25 * radius * way / math.sqrt(2.0), np.array([x, y])
        shapes.append(Path(np.array([at - reach, at + reach]), pen))
    return shapes


def hop_scene(found: Prediction, pen: Pen) -> Scene:
    """A tick across the cue ball's way wherever it lands from a hop, the later the shorter, until it meets a thing."""
    shapes: Scene = []
    if found.hop is None or found.track is None:
        return shapes
    meets = decided_at(found, 0)
    for k, when in enumerate(time for time in found.hop.landings_s if time <= meets):
        ball = found.track.state_of(0, when)
        speed = math.hypot(ball.vx, ball.vy)
        if speed > 0.0:
            at, across = np.array([ball.x, ball.y]), HOP_TICK_M * 0.7**k * np.array([-ball.vy, ball.vx]) / speed
            shapes.append(Path(np.array([at - across, at + across]), pen))
    return shapes


def arrow(start: tuple[float, float], end: tuple[float, float], pen: Pen) -> Scene:
    """A line with a head at its end."""
    a, b = np.array(start), np.array(end)
    size = float(np.hypot(*(b - a)))
    if size < 1e-6:
        return []
    u = (b - a) / size
    side = np.array([-u[1], u[0]])
    head = min(0.035, 0.3 * size)
    wings = np.array([b - head * u + 0.45 * head * side, b, b - head * u - 0.45 * head * side])
    return [Path(np.array([a, b]), pen), Path(wings, pen)]
