"""Labels beside what they belong to: clear of balls and of each other, and, as far as there is room, of lines.

Places are looked for on the surface, in points; without a frame it is taken
for an ordinary window with the table lying in it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tablesim.model.scenario import Scenario

from .lettering import LEADING
from .look import Look
from .shapes import Canvas, Disc, Frame, Path, Pen, Scene, Shape, Text, fit
from .table import RAIL_M

Array = NDArray[np.float64]
ORDINARY = (0.0, 0.0, 1240.0, 640.0)  # points of a window's table
WIDE, WIDE_BOLD = 0.64, 0.72  # width of a letter, in sizes: a little more than most have
AIR = 3.0  # points about a label, and beside a ball
ROUND = np.array([(math.cos(k * math.pi / 6.0), math.sin(k * math.pi / 6.0)) for k in range(13)])  # a round's way
CELL = 4.0  # points of the cells in which samples of lines are counted
STEP = 12.0  # points from sample to sample along a line
REACH = (16.0, 34.0, 60.0, 95.0, 140.0, 200.0, 280.0)  # points from the place to the nearest edge of its label
WAYS = 24  # directions tried
COLUMNS, ROWS = 9, 17  # tried all over the table
TAUT = 26.0  # a label farther than this many points from its place has a line to it
CROSSED = 9.0  # what a sample of a line under a label costs, in points of distance
FORBIDDEN = 1e6  # what lying on a ball or a label, or off the picture, costs


class Line(NamedTuple):
    """Words of a label, their size [points], whether they are bold."""

    text: str
    size: float
    bold: bool = False

    @property
    def width(self) -> float:
        """Room [points] that the words need."""
        return (WIDE_BOLD if self.bold else WIDE) * self.size * len(self.text)


@dataclass(frozen=True)
class Callout:
    """Lines of words that belong to a place on the table [m]."""

    place: tuple[float, float]
    lines: tuple[Line, ...]
    colour: str
    taut: float = TAUT  # points from its place from which on a line leads to it

    @property
    def size(self) -> tuple[float, float]:
        """Width and height [points]."""
        return max(line.width for line in self.lines), sum(LEADING * line.size for line in self.lines)


def canvas_of(scenario: Scenario, canvas: Canvas | None) -> Canvas:
    """The surface's canvas, or an ordinary one."""
    size = scenario.table.surface
    return canvas or Canvas(fit(size.length_m, size.width_m, RAIL_M, ORDINARY), ORDINARY)


def callouts_placed(
    scenario: Scenario, labels: Sequence[Callout], drawn: Iterable[Shape], look: Look, canvas: Canvas | None
) -> Scene:
    """The labels where they are clear of balls and each other and as clear of lines as can be, the first one first."""
    if not labels:
        return []
    size, canvas = scenario.table.surface, canvas_of(scenario, canvas)
    frame = canvas.frame
    drawn = list(drawn)
    lines, balls = _obstacles(scenario, drawn, frame)
    corners = _points(frame, np.array([[-RAIL_M, -RAIL_M], [size.length_m + RAIL_M, size.width_m + RAIL_M]]))
    room = np.array(canvas.seen) / frame.point
    seen = np.concatenate([np.maximum(corners.min(axis=0), room[:2]), np.minimum(corners.max(axis=0), room[2:])])
    crowd = _crowd(lines - seen[:2], seen[2:] - seen[:2])
    taken: list[Array] = [np.array(box) / frame.point for box in canvas.covered]
    taken += [_box_of(shape, frame) for shape in drawn if isinstance(shape, Text)]
    shapes: Scene = []
    for label in labels:
        box = _best(label, _points(frame, np.array([label.place]))[0], crowd, balls, taken, seen)
        taken.append(box)
        shapes += _written(label, box, frame, look)
    return sorted(shapes, key=lambda shape: isinstance(shape, Text))  # no line lies over words


def _points(frame: Frame, metres: Array) -> Array:
    """Places (n, 2) [m] on the surface, in points, y down."""
    return frame.pixels(metres) / frame.point


def _box_of(words: Text, frame: Frame) -> Array:
    """The room (left, top, right, bottom) [points] that words take."""
    x, y = _points(frame, np.array([[words.x, words.y]]))[0]
    width, height = Line(words.text, words.size, words.bold).width, words.size
    left, top = x + words.dx - words.across * width, y - words.dy - (1.0 - words.up) * height
    return np.array([left, top, left + width, top + height])


def _obstacles(scenario: Scenario, drawn: Iterable[Shape], frame: Frame) -> tuple[Array, Array]:
    """Samples (n, 2) along the lines drawn, and the balls (m, 3) as x, y and radius, in points."""
    ways = [np.zeros((0, 2))]
    for shape in drawn:
        if isinstance(shape, Path) and not shape.closed:
            ways.append(shape.points)
        elif isinstance(shape, Disc):
            ways.append(ROUND * shape.radius_m + (shape.x, shape.y))
    starts, ends = (_points(frame, np.concatenate([way[part] for way in ways])) for part in (slice(-1), slice(1, None)))
    scale = frame.pixels_a_metre / frame.point
    names = scenario.ball_names
    at = _points(frame, np.array([scenario.balls[name] for name in names]))
    radii = np.array([[scenario.ball_set.radius_m(name) * scale] for name in names])
    return _along(starts, ends), np.hstack([at, radii])


def _along(starts: Array, ends: Array) -> Array:
    """Samples (n, 2) so often along straight ways (m, 2) from starts to ends."""
    counts = np.ceil(np.hypot(*(ends - starts).T) / STEP).astype(int)
    which = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[which]
    samples: Array = starts[which] + share[:, None] * (ends - starts)[which]
    return samples


def _crowd(samples: Array, size: Array) -> Array:
    """How many samples (n, 2) lie left of and above each corner of the cells of a field of that size [points]."""
    columns, rows = (math.ceil(float(side) / CELL) for side in size)
    x, y = np.floor(samples / CELL).astype(int).T
    within = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
    counts = np.bincount(y[within] * columns + x[within], minlength=columns * rows).reshape(rows, columns)
    summed = np.zeros((rows + 1, columns + 1))
    summed[1:, 1:] = counts.cumsum(axis=0).cumsum(axis=1)
    return summed


def _counted(crowd: Array, boxes: Array) -> Array:
    """How many samples lie in the cells that boxes (n, 4) touch."""
    rows, columns = crowd.shape
    low = np.floor((boxes[:, :2] - AIR) / CELL).astype(int)
    high = np.ceil((boxes[:, 2:] + AIR) / CELL).astype(int)
    left, right = (np.clip(side, 0, columns - 1) for side in (low[:, 0], high[:, 0]))
    top, bottom = (np.clip(side, 0, rows - 1) for side in (low[:, 1], high[:, 1]))
    counts: Array = crowd[bottom, right] - crowd[top, right] - crowd[bottom, left] + crowd[top, left]
    return counts


def _best(label: Callout, at: Array, crowd: Array, balls: Array, taken: list[Array], seen: Array) -> Array:
    """The box (left, top, right, bottom) [points] that costs least, of many about the place and elsewhere."""
    width, height = label.size
    turn = np.linspace(0.0, 2.0 * math.pi, WAYS, endpoint=False)
    reach = np.array(REACH)[:, None]
    # Middles of boxes whose nearest edge is so far away in that direction, and all over the table.
    columns, rows = np.meshgrid(np.linspace(seen[0], seen[2], COLUMNS), np.linspace(seen[1], seen[3], ROWS))
    x = np.append(at[0] + np.cos(turn) * (reach + 0.5 * width), columns)
    y = np.append(at[1] + np.sin(turn) * (reach + 0.5 * height), rows)
    boxes = np.column_stack([x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height])
    shift = np.maximum(seen[:2] + AIR - boxes[:, :2], 0.0) + np.minimum(seen[2:] - AIR - boxes[:, 2:], 0.0)
    boxes += np.hstack([shift, shift])
    cost = np.hypot(*(np.clip(at, boxes[:, :2], boxes[:, 2:]) - at).T)
    cost += CROSSED * _counted(crowd, boxes - seen[[0, 1, 0, 1]])
    near = np.clip(balls[None, :, :2], boxes[:, None, :2], boxes[:, None, 2:]) - balls[None, :, :2]
    cost += FORBIDDEN * (np.hypot(near[..., 0], near[..., 1]) < balls[:, 2] + AIR).sum(axis=1)
    for other in taken:
        over = np.minimum(boxes[:, 2:], other[2:]) - np.maximum(boxes[:, :2], other[:2])
        cost += FORBIDDEN * (over > -AIR).all(axis=1)
    best: Array = boxes[int(np.argmin(cost))]
    return best


def _written(label: Callout, box: Array, frame: Frame, look: Look) -> Scene:
    """The words in their box, and a line to their place if they are far from it."""
    middle = 0.5 * (box[0] + box[2])
    shapes: Scene = []
    at = _points(frame, np.array([label.place]))[0]
    end = np.clip(at, box[:2], box[2:])
    if float(np.hypot(*(end - at))) > label.taut:
        edge = np.array([frame.metres(*(frame.point * point)) for point in (end, at)])
        shapes.append(Path(edge, Pen(label.colour, 0.35 * look.line)))
    down = 0.0
    for line in label.lines:
        x, y = frame.metres(frame.point * middle, frame.point * (box[1] + down + 0.5 * LEADING * line.size))
        shapes.append(Text(x, y, line.text, line.size, label.colour, 0.5, 0.5, look.halo, bold=line.bold))
        down += LEADING * line.size
    return shapes
