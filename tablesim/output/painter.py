"""One painter for window, still and clip: shapes onto a raster, by matplotlib's Agg.

Agg gives true line widths, round caps, dashes and sub-pixel places.  The raster
has four bytes a pixel, alpha straight and last, opaque where a background was laid.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import Any, Literal, cast

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path as AggPath
from matplotlib.textpath import TextPath
from matplotlib.transforms import Affine2D, Bbox
from numpy.typing import NDArray

from tablesim.scene.drawable import drawable
from tablesim.scene.lettering import laid
from tablesim.scene.look import EVENING, IVORY, Look, ball_colour
from tablesim.scene.shapes import BOTTOM_UP, Ball, Box, Colour, Disc, Dot, Frame, Path, Pen, Scene, Text

Bytes = NDArray[np.uint8]
Order = Literal["RGB", "BGR"]  # of a pixel's bytes in memory; the fourth is alpha
Array = NDArray[np.float64]

FONT = "DejaVu Sans"  # comes with matplotlib
CIRCLE = AggPath.unit_circle()
HALO = 0.28  # width of the edge round letters, of their size
LETTERS = 20.0  # size at which letters are outlined; they scale from there
SPOTS = np.array([[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, -1]], dtype=float)
UP = np.array([0.0, 0.0, 1.0])
SPOT = 0.21  # radius of a spot, in ball radii
CUE_SPOT = "#c0392b"
NUMBER_INK = "#1a1a1a"
CUE_SPOTS = np.array(list(itertools.product((-1.0, 1.0), repeat=3))) / np.sqrt(3.0)  # corners of a cube
ROUND = np.stack([f(np.linspace(0.0, 2.0 * np.pi, 25)) for f in (np.cos, np.sin)], axis=1)
GREAT = np.stack([f(np.linspace(0.0, 2.0 * np.pi, 73)) for f in (np.cos, np.sin)], axis=1)
BAND = 0.56  # half the width of a stripe, in radii
QUAD = np.array([AggPath.MOVETO, *[AggPath.LINETO] * 3, AggPath.CLOSEPOLY], dtype=np.uint8)
DASHED_FOR = 2.0  # pens wider than this many points stretch their dashes


@lru_cache(maxsize=512)
def rgba(colour: str) -> tuple[float, float, float, float]:
    """Four numbers 0 to 1 of "#rrggbb" or "#rrggbbaa"."""
    parts = [int(colour[k : k + 2], 16) / 255.0 for k in range(1, len(colour), 2)]
    return parts[0], parts[1], parts[2], parts[3] if len(parts) > 3 else 1.0


@lru_cache(maxsize=1024)
def outline(text: str, bold: bool) -> tuple[AggPath, float, float, float]:
    """Letters as a path at size LETTERS: path, width, lowest and highest point of a capital."""
    if not text.strip():
        return AggPath(np.zeros((0, 2))), 0.0, 0.0, 0.73 * LETTERS
    style = FontProperties(family=FONT, weight="bold" if bold else "normal")
    path = TextPath((0.0, 0.0), drawable(text).replace("$", r"\$"), size=LETTERS, prop=style)
    # Letters have points at their extremes; the exact extents of curves take ten times as long, seconds for long words.
    return AggPath(path.vertices, path.codes), float(path.vertices[:, 0].max()), 0.0, 0.73 * LETTERS


def width_of(text: str, size: float = 1.0) -> float:
    """Width of words in letters of a size, in its unit."""
    return outline(text, False)[1] * size / LETTERS


def lines_of(text: Text, frame: Frame, size: tuple[int, int]) -> tuple[Text, ...]:
    """The lines in which a surface of that size [pixels] shows a text."""
    (a, b), (c, d) = frame.matrix.tolist()
    x, y = frame.origin.tolist()
    return _laid(text, (a, b, c, d, x, y, frame.point), size)


@lru_cache(maxsize=256)
def _laid(text: Text, frame: tuple[float, ...], size: tuple[int, int]) -> tuple[Text, ...]:
    a, b, c, d, x, y, point = frame
    there = Frame(np.array([[a, b], [c, d]]), np.array([x, y]), point)
    return laid(text, there, (0.0, 0.0, float(size[0]), float(size[1])), width_of)


@lru_cache(maxsize=16)
def polygon(corners: int) -> AggPath:
    """A regular polygon in the unit circle, a corner on top."""
    return AggPath.unit_regular_polygon(corners)


class Painter:
    """A raster of ``width`` x ``height`` pixels and the ways to draw on it."""

    def __init__(self, width: int, height: int, look: Look, order: Order = "RGB") -> None:
        self.look, self.order = look, order
        self.size = (width, height)
        self._agg: Any = cast(Any, RendererAgg)(width, height, 72.0)
        self._gc = self._agg.new_gc()
        self._gc.set_capstyle("round")
        self._gc.set_joinstyle("round")
        self.pixels: Bytes = np.asarray(self._agg.buffer_rgba())
        self._window = (0, 0, width, height)  # nothing is drawn beyond it

    @contextmanager
    def within(self, box: Box) -> Iterator[None]:
        """Draw nothing outside of a box [pixels]."""
        x0, y0, x1, y1 = (round(side) for side in box)
        self._window = max(x0, 0), max(y0, 0), min(x1, self.size[0]), min(y1, self.size[1])
        self._gc.set_clip_rectangle(Bbox([[x0, self.size[1] - y1], [x1, self.size[1] - y0]]))
        try:
            yield
        finally:
            self._window = (0, 0, *self.size)
            self._gc.set_clip_rectangle(None)

    def put(self, picture: Bytes, box: Box) -> None:
        """The part of a picture of the same size that lies in a box [pixels]."""
        x0, y0, x1, y1 = (round(side) for side in box)
        self.pixels[max(y0, 0) : y1, max(x0, 0) : x1] = picture[max(y0, 0) : y1, max(x0, 0) : x1]

    def lay(self, background: Bytes | None) -> None:
        """Start from a picture of the same size, or from the look's room colour."""
        if background is None:
            self.pixels[:] = np.array([round(255 * v) for v in self._rgba(self.look.room)], dtype=np.uint8)
        else:
            np.copyto(self.pixels, background)

    def paint(self, scene: Scene, frame: Frame) -> None:
        """Draw the shapes in their order."""
        for shape in scene:
            if isinstance(shape, Path):
                self._path(shape, frame)
            elif isinstance(shape, Disc):
                self._round(shape.x, shape.y, shape.radius_m * frame.pixels_a_metre, frame, shape.fill, shape.pen)
            elif isinstance(shape, Dot):
                marker = polygon(shape.corners) if shape.corners else CIRCLE
                self._round(shape.x, shape.y, shape.radius * frame.point, frame, shape.fill, shape.pen, marker)
            elif isinstance(shape, Text):
                for line in lines_of(shape, frame, self.size):
                    self._text(line, frame)
            else:
                self._ball(shape, frame)

    def _rgba(self, colour: str) -> tuple[float, float, float, float]:
        """A colour in the raster's order."""
        red, green, blue, alpha = rgba(colour)
        return (red, green, blue, alpha) if self.order == "RGB" else (blue, green, red, alpha)

    def _draw(self, path: AggPath, transform: Any, pen: Pen | None, fill: str | None, point: float) -> None:
        gc = self._gc
        if pen is None:
            gc.set_linewidth(0.0)
            gc.set_foreground((0.0, 0.0, 0.0, 0.0), isRGBA=True)
            gc.set_dashes(0, None)
        else:
            gc.set_linewidth(pen.width * point)
            gc.set_capstyle("butt" if pen.dashes and pen.dashes[0] >= 1.0 else "round")
            gc.set_foreground(self._rgba(pen.colour), isRGBA=True)
            stretch = point * max(1.0, pen.width / DASHED_FOR)
            gc.set_dashes(0, [d * stretch for d in pen.dashes] if pen.dashes else None)
        self._agg.draw_path(gc, path, transform, self._rgba(fill) if fill else None)

    def _affine(self, frame: Frame) -> Any:
        """Metres to Agg's pixels, y up."""
        m, o = frame.matrix, frame.origin
        return Affine2D(
            np.array([[m[0, 0], m[0, 1], o[0]], [-m[1, 0], -m[1, 1], self.size[1] - o[1]], [0.0, 0.0, 1.0]])
        )

    def _path(self, shape: Path, frame: Frame) -> None:
        if len(shape.points) < 2:
            return
        points = shape.points
        path = AggPath(np.vstack([points, points[:1]]) if shape.closed else points, closed=shape.closed)
        self._draw(path, self._affine(frame), shape.pen, shape.fill, frame.point)

    def _round(
        self, x: float, y: float, pixels: float, frame: Frame, fill: str | None, pen: Pen | None, marker: Any = CIRCLE
    ) -> None:
        px, py = frame.pixels(np.array([[x, y]]))[0]
        self._draw(
            marker, Affine2D().scale(pixels).translate(px, self.size[1] - py), pen, fill, frame.point
        )  # fmt: skip

    def letters(self, shape: Text, frame: Frame) -> None:
        """Paint words from the outlines of their letters."""
        path, width, low, high = outline(shape.text, shape.bold)
        size = shape.size * frame.point / LETTERS
        px, py = frame.pixels(np.array([[shape.x, shape.y]]))[0]
        left = px + shape.dx * frame.point - shape.across * width * size
        base = self.size[1] - py + shape.dy * frame.point - (low + shape.up * (high - low)) * size
        transform = Affine2D().scale(size).translate(left, base)
        if shape.halo:
            self._draw(path, transform, Pen(shape.halo, HALO * shape.size), None, frame.point)
        self._draw(path, transform, None, shape.colour, frame.point)

    def _text(self, shape: Text, frame: Frame) -> None:
        """Words, as a stamp kept from the last time they were drawn: outlines of letters are slow to fill."""
        size = shape.size * frame.point
        px, py = frame.pixels(np.array([[shape.x, shape.y]]))[0]
        stamp, width, high, pad = text_stamp(
            shape.text, round(size, 2), shape.colour, shape.halo, shape.bold, self.order
        )
        left = px + shape.dx * frame.point - shape.across * width - pad
        top = py - shape.dy * frame.point - (1.0 - shape.up) * high - pad
        self._stamp(stamp, round(left), round(top))

    def _stamp(self, stamp: Bytes, left: int, top: int) -> None:
        """Lay a small picture, alpha straight, over the raster."""
        height, width = stamp.shape[:2]
        x0, y0 = max(left, self._window[0]), max(top, self._window[1])
        x1, y1 = min(left + width, self._window[2]), min(top + height, self._window[3])
        if x0 >= x1 or y0 >= y1:
            return
        part = stamp[y0 - top : y1 - top, x0 - left : x1 - left]
        under = self.pixels[y0:y1, x0:x1, :3]
        alpha = part[:, :, 3:].astype(np.uint16)
        under[:] = ((under * (255 - alpha) + part[:, :, :3] * alpha + 127) // 255).astype(np.uint8)

    def _ball(self, shape: Ball, frame: Frame) -> None:
        """A ball, as a stamp for each quarter of a pixel; painted anew when it has turned."""
        if shape.turn is not None:
            self.ball(shape, frame)
            return
        px, py = np.floor(4.0 * frame.pixels(np.array([[shape.x, shape.y]]))[0] + 0.5) / 4.0
        radius = shape.radius_m * frame.pixels_a_metre
        phase = (float(px % 1.0), float(py % 1.0))
        stamp, middle = ball_stamp(shape.name, round(radius, 2), phase, self.look, round(frame.point, 3), self.order)
        self._stamp(stamp, int(px // 1.0) - middle, int(py // 1.0) - middle)

    def ball(self, shape: Ball, frame: Frame) -> None:
        """Paint a ball from its parts."""
        colour, stripe = ball_colour(shape.name)
        r, scale = shape.radius_m, frame.pixels_a_metre
        self._round(shape.x + 0.12 * r, shape.y - 0.16 * r, 1.03 * r * scale, frame, "#00000038", None)
        edge = Pen(self.look.ball_edge, 1.0)
        turn = np.eye(3) if shape.turn is None else shape.turn
        self._round(shape.x, shape.y, r * scale, frame, IVORY if stripe else colour, edge)
        if stripe:
            self._band(shape, turn, frame, colour)
        number = shape.name if shape.name != "cue" else ""
        if shape.turn is not None:
            for spot, fill in spots_of(shape):
                self._spot(shape, turn @ spot, SPOT, frame, fill)
        if number:
            self._spot(shape, turn @ UP, 0.52, frame, IVORY)
            self._number(shape, turn @ UP, frame, number)

    def _spot(self, ball: Ball, at: Array, size: float, frame: Frame, fill: str) -> None:
        """A round spot on the ball, ``size`` radii across, where the unit vector ``at`` points; nothing if below."""
        ring = spot_outline(at, size)
        if ring is not None:
            points = np.array([ball.x, ball.y]) + ball.radius_m * ring
            self._draw(AggPath(points, closed=True), self._affine(frame), None, fill, frame.point)

    def _band(self, ball: Ball, turn: Array, frame: Frame, colour: str) -> None:
        """The stripe: a band about the ball's x axis, seen from above."""
        quads = band_quads(turn)
        if len(quads):
            corners = np.array([ball.x, ball.y]) + ball.radius_m * quads[:, [0, 1, 2, 3, 0]]
            path = AggPath(corners.reshape(-1, 2), np.tile(QUAD, len(quads)))
            self._draw(path, self._affine(frame), Pen(colour, 0.5), colour, frame.point)

    def _number(self, ball: Ball, at: Array, frame: Frame, number: str) -> None:
        if at[2] < 0.55:
            return
        size = 0.62 * ball.radius_m * frame.pixels_a_metre / frame.point * (1.0 if len(number) < 2 else 0.85)
        x, y = ball.x + 0.9 * ball.radius_m * at[0], ball.y + 0.9 * ball.radius_m * at[1]
        self.letters(Text(x, y, number[:3], size, NUMBER_INK, bold=True), frame)


def spots_of(ball: Ball) -> list[tuple[Array, Colour]]:
    """Spots that show a ball's turning, as (unit vector, colour): on the cue ball four are in sight at any time."""
    if ball.name == "cue":
        return [(spot, CUE_SPOT) for spot in CUE_SPOTS]
    return [(spot, IVORY) for spot in SPOTS]


def spot_outline(at: Array, size: float) -> Array | None:
    """A round spot of ``size`` radii about the unit vector ``at``: outline (25, 2) in radii, or None if below."""
    if at[2] <= 0.08:
        return None
    side = np.array([-at[1], at[0], 0.0]) if abs(at[2]) < 0.999999 else np.array([1.0, 0.0, 0.0])
    side = side / np.hypot(side[0], side[1])
    other = np.array([-at[2] * side[1], at[2] * side[0], at[0] * side[1] - at[1] * side[0]])  # at x side
    ring = np.sqrt(1.0 - size * size) * at + size * (ROUND[:, :1] * side + ROUND[:, 1:] * other)
    flat: Array = ring[:, :2] / np.maximum(1.0, np.hypot(ring[:, 0], ring[:, 1]))[:, None]
    return flat


def band_quads(turn: Array) -> Array:
    """The pieces of a stripe that are in sight, for a ball turned by ``turn`` (3, 3): (n, 4, 2) in radii."""
    axis, u = turn[:, 1], turn[:, 0]
    w = np.array([axis[1] * u[2] - axis[2] * u[1], axis[2] * u[0] - axis[0] * u[2], axis[0] * u[1] - axis[1] * u[0]])
    great = GREAT[:, :1] * u + GREAT[:, 1:] * w
    middle, off = np.sqrt(1.0 - BAND * BAND) * great, BAND * axis
    # Two halves that meet on the great circle, so that the band reaches the rim of the ball.
    edges = (middle - off, great, middle + off)
    halves = [np.stack([a[:-1], a[1:], b[1:], b[:-1]], axis=1) for a, b in itertools.pairwise(edges)]
    quads = np.concatenate(halves)
    seen: Array = quads[quads[:, :, 2].min(axis=1) >= -0.06, :, :2]
    return seen


@lru_cache(maxsize=256)
def text_stamp(
    text: str, size: float, colour: str, halo: str | None, bold: bool, order: Order
) -> tuple[Bytes, float, float, int]:
    """Words as a small picture: (pixels, width, height of a capital, margin) in pixels."""
    _, width, _, high = outline(text, bold)
    wide, tall = width * size / LETTERS, high * size / LETTERS
    pad = round(0.5 * size) + 2
    painter = Painter(max(1, round(wide)) + 2 * pad, max(1, round(tall)) + 2 * pad, EVENING, order)
    painter.pixels[:] = 0
    frame = Frame(BOTTOM_UP, np.array([float(pad), pad + tall]))
    painter.letters(Text(0.0, 0.0, text, size, colour, 0.0, 0.0, halo, bold=bold), frame)
    return painter.pixels, wide, tall, pad


@lru_cache(maxsize=512)
def ball_stamp(
    name: str, radius: float, phase: tuple[float, float], look: Look, point: float, order: Order
) -> tuple[Bytes, int]:
    """A ball as a small picture: (pixels, how many of them from its corner to the one that holds the centre)."""
    middle = round(1.3 * radius) + 3
    painter = Painter(2 * middle + 1, 2 * middle + 1, look, order)
    painter.pixels[:] = 0
    frame = Frame(BOTTOM_UP, np.array([middle + phase[0], middle + phase[1]]), point)
    painter.ball(Ball(0.0, 0.0, radius, name), frame)
    return painter.pixels, middle
