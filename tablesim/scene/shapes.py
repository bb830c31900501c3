"""The shapes that a scene is made of, in table metres, and how a surface maps them.

Pens, dots and letters are measured in points: one pixel of a surface at scale 1,
so that they stay readable whatever the size of the table on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .drawable import drawable

Array = NDArray[np.float64]
Colour = str  # "#rrggbb" or "#rrggbbaa"
Box = tuple[float, float, float, float]  # two corners: least x and y, greatest x and y
BOTTOM_UP = np.array([[1.0, 0.0], [0.0, -1.0]])
FOOT_UP = np.array([[0.0, -1.0], [-1.0, 0.0]])


class Pen(NamedTuple):
    """A line's colour, width [points] and dashes [points on, off, ...]."""

    colour: Colour
    width: float = 1.0
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """A line through points (n, 2), or a filled outline."""

    points: Array
    pen: Pen | None = None
    fill: Colour | None = None
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle of a size on the table [m]."""

    x: float
    y: float
    radius_m: float
    fill: Colour | None = None
    pen: Pen | None = None


@dataclass(frozen=True, slots=True)
class Dot:
    """A mark of a size on the surface [points]: a disc or, with four corners, a lozenge."""

    x: float
    y: float
    radius: float
    fill: Colour | None = None
    pen: Pen | None = None
    corners: int = 0


@dataclass(frozen=True, slots=True)
class Text:
    """Words at a place; ``across`` and ``up`` say which part of them lies there (0 start or bottom, 1 end or top).

    ``dx``, ``dy`` shift them on the surface [points, right and up].  With ``within_m`` they have to stay so near the
    place [m]: a surface wraps and shrinks them (:mod:`.lettering`).  Whatever they are made of, they can be drawn.
    """

    x: float
    y: float
    text: str
    size: float
    colour: Colour
    across: float = 0.5
    up: float = 0.5
    halo: Colour | None = None
    dx: float = 0.0
    dy: float = 0.0
    bold: bool = False
    within_m: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "text", drawable(self.text))


@dataclass(frozen=True, slots=True, eq=False)
class Ball:
    """A ball seen from above; ``turn`` (3, 3) is how it has rolled since it lay with its number up."""

    x: float
    y: float
    radius_m: float
    name: str
    turn: Array | None = None


Shape = Path | Disc | Dot | Text | Ball
Scene = list[Shape]


def without_words(scene: Scene) -> Scene:
    """A scene's shapes but for its words."""
    return [shape for shape in scene if not isinstance(shape, Text)]


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """How metres become pixels: pixel = ``matrix`` @ metres + ``origin``, y down; ``point`` pixels a point."""

    matrix: Array
    origin: Array
    point: float = 1.0

    @property
    def pixels_a_metre(self) -> float:
        """Scale; the same both ways."""
        return float(np.hypot(self.matrix[0, 0], self.matrix[1, 0]))

    def pixels(self, points: Array) -> Array:
        """Pixels (n, 2) of points (n, 2) in metres."""
        return points @ self.matrix.T + self.origin

    def metres(self, x: float, y: float) -> tuple[float, float]:
        """The place on the table under a pixel."""
        found = np.linalg.solve(self.matrix, np.array([x, y]) - self.origin)
        return float(found[0]), float(found[1])


@dataclass(frozen=True, slots=True, eq=False)
class Canvas:
    """A surface's frame, the part of it that is seen, and what lies over it [pixels]."""

    frame: Frame
    seen: Box
    covered: tuple[Box, ...] = ()


def fit(
    length: float, width: float, margin_m: float, box: tuple[float, float, float, float], point: float = 1.0
) -> Frame:
    """The frame that fits a table with a margin into a box (left, top, width, height) of pixels.

    A table that would be larger upright, its foot rail on top, is shown upright.
    """
    whole = (-margin_m, -margin_m, length + margin_m, width + margin_m)
    lying, upright = (fit_part(whole, turn, box, point) for turn in (BOTTOM_UP, FOOT_UP))
    return lying if lying.pixels_a_metre >= 0.999 * upright.pixels_a_metre else upright


def fit_part(part: Box, turn: Array, box: tuple[float, float, float, float], point: float = 1.0) -> Frame:
    """The frame that shows a part of the table [m], turned so, as large as a box (left, top, width, height) lets it."""
    left, top, w, h = box
    across, down = np.abs(turn @ np.array([part[2] - part[0], part[3] - part[1]]))
    matrix = min(w / across, h / down) * turn
    middle = np.array([part[0] + part[2], part[1] + part[3]]) / 2.0
    return Frame(matrix, np.array([left + w / 2.0, top + h / 2.0]) - matrix @ middle, point)
