"""Pages to print: the scene's shapes and plain words as vectors, in millimetres from the top left corner.

Pens, dots and letters keep their points, so that a scene looks on paper as it
does on the screen.  Colours with a part of transparency are thinned towards
white, except fills, which let through what lies under them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path as FilePath
from typing import Any, cast

import matplotlib
import numpy as np
from fpdf import FPDF
from fpdf.drawing import PaintedPath
from fpdf.drawing_primitives import color_from_hex_string

from tablesim.errors import TablesimError, unknown_name
from tablesim.scene.lettering import Box, Measure, laid, shortened, wrapped
from tablesim.scene.look import CORRECTED, LATER
from tablesim.scene.shapes import Array, Ball, Disc, Dot, Frame, Path, Pen, Scene, Text

MM_PER_POINT = 25.4 / 72.0
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN = 15.0  # [mm]
FOOT = 12.0  # kept free above the lower margin for what stands on every page [mm]
CAPITAL = 0.73  # height of a capital, of the size of the letters
FAMILY = "dejavu"
WHITE_ROOM = "#ffffff"


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height [mm] of a paper by name; TablesimError for an unknown one."""
    if not isinstance(paper, str) or paper.lower() not in PAPERS:
        raise TablesimError("paper: " + unknown_name("paper", str(paper), PAPERS))
    return PAPERS[paper.lower()]


def thinned(colour: str) -> str:
    """The opaque colour that "#rrggbbaa" makes on white."""
    parts = [int(colour[k : k + 2], 16) for k in range(1, len(colour), 2)]
    share = parts[3] / 255.0 if len(parts) > 3 else 1.0
    return "#" + "".join(f"{round(255 - share * (255 - part)):02x}" for part in parts[:3])


class Page:
    """A document of one or more pages and the ways to draw on the present one; ``y`` is where the next part begins."""

    def __init__(self, paper: str, *, title: str = "", compress: bool = True) -> None:
        self.paper = paper
        self.width, self.height = paper_size(paper)
        self.pdf = FPDF(unit="mm", format=(self.width, self.height))
        self.pdf.set_auto_page_break(False)
        self.pdf.set_compression(compress)
        fonts = FilePath(matplotlib.get_data_path()) / "fonts" / "ttf"
        self.pdf.add_font(FAMILY, "", fonts / "DejaVuSans.ttf")
        self.pdf.add_font(FAMILY, "B", fonts / "DejaVuSans-Bold.ttf")
        self.pdf.set_title(self.known(title))
        self.pdf.set_lang("en")
        self.left, self.right = MARGIN, self.width - MARGIN
        self.top, self.bottom = MARGIN, self.height - MARGIN - FOOT
        self.y = self.top
        self._seen: Box = (0.0, 0.0, self.width, self.height)
        self.new_page()

    @property
    def across(self) -> float:
        """Width [mm] between the margins."""
        return self.right - self.left

    def new_page(self) -> None:
        """Begin a page."""
        self.pdf.add_page()
        self.y = self.top

    def back_to(self, number: int) -> None:
        """Draw on an earlier page, counted from 1."""
        self.pdf.page = number
        # The page ended with settings of its own, and only a change is written: change them all.
        self._font(1.0, True)
        self.pdf.set_line_width(0.01)
        for colour in ("#010203", "#000000"):
            self.pdf.set_fill_color(colour)
            self.pdf.set_draw_color(colour)

    def room(self, height: float) -> bool:
        """Make sure that ``height`` mm are left on the page, on a new one if need be; True if one was begun."""
        if self.y + height <= self.bottom or self.y == self.top:
            return False
        self.new_page()
        return True

    @contextmanager
    def endless(self) -> Iterator[Page]:
        """A page like this one, begun as far down, that never ends: to see how much room something takes."""
        page = Page(self.paper)
        page.left, page.right, page.y, page.bottom = self.left, self.right, self.y, math.inf
        try:
            yield page
        finally:
            for font in page.pdf.fonts.values():
                cast(Any, font).close()

    @contextmanager
    def column(self, left: float, right: float) -> Iterator[None]:
        """What is laid meanwhile stays between ``left`` and ``right`` mm."""
        whole = self.left, self.right
        self.left, self.right = left, right
        try:
            yield
        finally:
            self.left, self.right = whole

    def data(self) -> bytes:
        """The finished document."""
        return bytes(self.pdf.output())

    def known(self, text: str) -> str:
        """The text with what the letters lack replaced: white space by a space, the rest by a question mark."""
        have: Any = self.pdf.fonts[FAMILY]
        return "".join(
            " " if c.isspace() or ord(c) < 32 else c if ord(c) in have.cmap and c.isprintable() else "?" for c in text
        )

    def _font(self, size: float, bold: bool) -> None:
        self.pdf.set_font(FAMILY, "B" if bold else "", size)

    def width_of(self, text: str, size: float, bold: bool = False) -> float:
        """Width [mm] of words set in letters of ``size`` points."""
        self._font(size, bold)
        return float(self.pdf.get_string_width(self.known(text)))

    def wrapped(self, text: str, width: float, size: float, bold: bool = False) -> list[str]:
        """The text in lines of at most ``width`` mm; a word longer than a line is broken."""
        paragraphs, measure = text.splitlines() or [""], self._measure(size, bold)
        return [line for part in paragraphs for line in wrapped(self.known(part), width, measure, breaking=True)]

    def shortened(self, text: str, width: float, size: float, bold: bool = False) -> str:
        """The text on one line, cut with three dots where it is wider than ``width`` mm."""
        return shortened(self.known(text), width, self._measure(size, bold))

    def _measure(self, size: float, bold: bool) -> Measure:
        """How wide words are [mm] in letters of ``size`` points."""
        return lambda words: self.width_of(words, size, bold)

    def words(
        self, x: float, y: float, text: str, size: float, *, bold: bool = False, colour: str = "#000000",
        across: float = 0.0,
    ) -> float:  # fmt: skip
        """Write one line, its base at ``y`` mm; ``across`` is the part of it that lies at ``x``; returns its end."""
        known = self.known(text)
        width = self.width_of(known, size, bold)
        self.pdf.set_text_color(thinned(colour))
        self.pdf.text(x - across * width, y, known)
        return x + (1.0 - across) * width

    def paragraph(
        self, text: str, size: float, *, bold: bool = False, colour: str = "#000000", indent: float = 0.0,
        lead: float = 1.35,
    ) -> None:  # fmt: skip
        """Write wrapped lines from ``y`` on, over as many pages as they take."""
        step = lead * size * MM_PER_POINT
        for line in self.wrapped(text, self.across - indent, size, bold):
            self.room(step)
            self.words(self.left + indent, self.y + 0.8 * step, line, size, bold=bold, colour=colour)
            self.y += step

    def rule(self, x1: float, y1: float, x2: float, y2: float, width: float = 0.5, colour: str = "#000000") -> None:
        """A straight line, ``width`` points wide."""
        self.pdf.set_line_width(width * MM_PER_POINT)
        self.pdf.set_draw_color(thinned(colour))
        self.pdf.line(x1, y1, x2, y2)

    def box(self, x: float, y: float, w: float, h: float, width: float = 0.5, colour: str = "#000000",
            fill: str | None = None) -> None:  # fmt: skip
        """A rectangle's outline, ``width`` points wide (0: none), perhaps filled."""
        self.pdf.set_line_width(width * MM_PER_POINT)
        self.pdf.set_draw_color(thinned(colour))
        if fill:
            self.pdf.set_fill_color(thinned(fill))
        self.pdf.rect(x, y, w, h, style=("DF" if width else "F") if fill else "D")

    def round(self, x: float, y: float, radius: float, width: float = 0.5, colour: str = "#000000",
              fill: str | None = None, dash: float = 0.0) -> None:  # fmt: skip
        """A circle of ``radius`` mm, outlined (0: not) and perhaps filled."""
        self.pdf.set_line_width(width * MM_PER_POINT)
        self.pdf.set_draw_color(thinned(colour))
        self.pdf.set_dash_pattern(dash, dash)
        if fill:
            self.pdf.set_fill_color(thinned(fill))
        self.pdf.circle(x, y, radius, style=("DF" if width else "F") if fill else "D")
        self.pdf.set_dash_pattern()

    def outline(self, points: Sequence[tuple[float, float]] | Array, pen: Pen | None, fill: str | None = None,
                closed: bool = False, point: float = MM_PER_POINT) -> None:  # fmt: skip
        """A line through points [mm] with round joins, its pen in points of ``point`` mm."""
        path = PaintedPath(float(points[0][0]), float(points[0][1]))
        for x, y in points[1:]:
            path.line_to(float(x), float(y))
        if closed:
            path.close()
        self._paint(path, pen, fill, point)

    def _paint(self, path: PaintedPath, pen: Pen | None, fill: str | None, point: float) -> None:
        style: Any = path.style
        style.auto_close = False
        style.paint_rule = {(1, 0): "stroke", (0, 1): "fill_nonzero", (1, 1): "stroke_fill_nonzero"}[
            (int(pen is not None), int(fill is not None))
        ]
        if pen is not None:
            style.stroke_color = color_from_hex_string(thinned(pen.colour))
            style.stroke_width = pen.width * point
            dotted = pen.dashes in (CORRECTED, LATER)
            style.stroke_cap_style = "round" if dotted or not pen.dashes else "butt"
            style.stroke_join_style = "round"
            style.stroke_dash_pattern = tuple(d * point for d in pen.dashes) or None
        if fill is not None:
            style.fill_color = color_from_hex_string(fill[:7])
            if len(fill) > 7:
                style.fill_opacity = int(fill[7:], 16) / 255.0
        self.pdf.draw_path(cast(Any, path))

    @contextmanager
    def clipped(self, x: float, y: float, w: float, h: float) -> Iterator[None]:
        """Nothing drawn meanwhile shows outside the rectangle."""
        whole, self._seen = self._seen, (x, y, x + w, y + h)
        with self.pdf.rect_clip(x, y, w, h):
            yield
        self._seen = whole

    def paint(self, scene: Scene, frame: Frame) -> None:
        """Draw the shapes in their order; the frame's pixels are millimetres of the page, its point in mm too."""
        for shape in scene:
            if isinstance(shape, Path):
                if len(shape.points) > 1 and (shape.pen or shape.fill):
                    self.outline(frame.pixels(shape.points), shape.pen, shape.fill, shape.closed, frame.point)
            elif isinstance(shape, Disc):
                self._circle(shape.x, shape.y, shape.radius_m * frame.pixels_a_metre, shape, frame)
            elif isinstance(shape, Dot):
                self._dot(shape, frame)
            elif isinstance(shape, Text):
                for line in laid(shape, frame, self._seen, self._width_in_points(shape.bold)):
                    self._text(line, frame)
            else:
                self._ball(shape, frame)

    def _circle(self, x: float, y: float, radius: float, shape: Disc | Dot, frame: Frame) -> None:
        if shape.pen is None and shape.fill is None:
            return
        px, py = (float(v) for v in frame.pixels(np.array([[x, y]]))[0])
        path = PaintedPath()
        path.circle(px, py, radius)
        self._paint(path, shape.pen, shape.fill, frame.point)

    def _dot(self, shape: Dot, frame: Frame) -> None:
        radius = shape.radius * frame.point
        if not shape.corners:
            self._circle(shape.x, shape.y, radius, shape, frame)
            return
        at = frame.pixels(np.array([[shape.x, shape.y]]))[0]
        a = 2.0 * np.pi * np.arange(shape.corners) / shape.corners
        corners = at + radius * np.column_stack([np.sin(a), -np.cos(a)])
        self.outline(corners, shape.pen, shape.fill, True, frame.point)

    def _width_in_points(self, bold: bool) -> Measure:
        """How wide words are in letters of one point."""
        return lambda words: self.width_of(words, 1.0, bold) / MM_PER_POINT

    def _text(self, shape: Text, frame: Frame) -> None:
        """Words on a pale ground in place of an edge round each letter."""
        at = frame.pixels(np.array([[shape.x, shape.y]]))[0]
        size = shape.size * frame.point / MM_PER_POINT
        high, width = CAPITAL * shape.size * frame.point, self.width_of(shape.text, size, shape.bold)
        left = float(at[0]) + shape.dx * frame.point - shape.across * width
        base = float(at[1]) - shape.dy * frame.point + shape.up * high
        if shape.halo and shape.text:
            pad = 0.25 * high
            x, y, w, h = left - pad, base - high - pad, width + 2.0 * pad, high + 2.0 * pad
            self.outline([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], None, shape.halo[:7] + "d8", True)
        self.words(left, base, shape.text, size, bold=shape.bold, colour=shape.colour)

    def _ball(self, shape: Ball, frame: Frame) -> None:
        """A ball to save ink: a ring with its number, if short; a stripe has two lines, the cue ball a dot."""
        x, y = (float(v) for v in frame.pixels(np.array([[shape.x, shape.y]]))[0])
        r = shape.radius_m * frame.pixels_a_metre
        weight = min(0.8, 0.25 * r / frame.point) * frame.point / MM_PER_POINT
        self.round(x, y, r, weight, fill=WHITE_ROOM)
        if shape.name == "cue":
            self.round(x, y, 0.16 * r, 0.0, fill="#000000")
            return
        number = int(shape.name) if shape.name.isdecimal() and len(shape.name) < 3 else 0
        if 9 <= number <= 15:
            for sign in (-1.0, 1.0):
                self.rule(x - 0.62 * r, y + sign * 0.76 * r, x + 0.62 * r, y + sign * 0.76 * r, 0.8 * weight)
        share, usual = (1.25, 5.9) if len(shape.name) < 2 else (0.95, 4.5)
        size = share * r / MM_PER_POINT
        size = usual if size < usual <= 1.33 * size else size  # no smaller on a somewhat smaller table: there is room
        if size >= 2.0 and len(shape.name) < 3:
            self.words(x, y + 0.5 * CAPITAL * size * MM_PER_POINT, shape.name, size, bold=True, across=0.5)
