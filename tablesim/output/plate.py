"""A picture before it is painted: the table over a strip with caption and takes, lenses over it, and its pixels.

Sizes of pens and letters follow the shorter side of the picture, so that they
keep their proportion; an upright picture, meant for a phone, has larger ones.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from tablesim.model.scenario import Scenario
from tablesim.scene.closer import MARGIN_M, part_seen, picture_frame
from tablesim.scene.lettering import Measure, shortened, wrapped
from tablesim.scene.look import CORRECTED, Look, pattern
from tablesim.scene.shapes import Box, Canvas, Frame, Path, Pen, Scene, Shape, Text, without_words
from tablesim.scene.shot import Shown
from tablesim.scene.table import RAIL_M
from tablesim.study.answer import Answer

from .inset import Glass, glass_words, glasses_over
from .painter import DASHED_FOR, Painter, width_of

SIDE_POINTS = 800.0  # the shorter side of a picture, in points
UPRIGHT = 1.25  # height over width from which on a picture is upright, meant for a phone
UPRIGHT_LETTERS = 19.5  # letters of an upright picture, in points of another: a look with smaller ones is enlarged
CAPTION_LINES = 3
LONGEST_LINE = 400  # letters
PAD = 14.0  # points round the strip's words
CAPTION, LEGEND, NOTE = 1.5, 1.1, 1.15  # letters of the strip, in those of the look
NARROW = 640.0  # points of room for a caption, below which nothing stands at its left
SAMPLE = 54.0  # points of line before a take's name
DOTS = -1  # stands for the corrected ways among the takes of a legend


class Layer(NamedTuple):
    """A scene, the frame that maps it, and the box [pixels] beyond which nothing of it is seen."""

    scene: Scene
    frame: Frame
    within: Box | None = None


@dataclass(frozen=True)
class Below:
    """What stands under the table: caption, a note at the right, takes with their lines, and a room left empty.

    ``free`` (width, height): points at the left, or under a caption that needs all the width.
    """

    caption: str | None = None
    names: Mapping[int, str] = field(default_factory=dict)
    note: str = ""
    free: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Plate:
    """A picture before it is painted: pixels (width, height), where the table goes, the words, and a free room.

    ``canvas`` is the table's; ``free`` maps points from the upper left corner of the room that was kept empty;
    ``cut`` is where the table's picture ends if it is of a part.
    """

    size: tuple[int, int]
    look: Look
    canvas: Canvas
    glasses: tuple[Glass, ...]
    words: Layer
    free: Frame
    cut: Box | None = None


def names_of(answers: dict[int, Answer]) -> dict[int, str]:
    """Names for the strip: none where there is one take only."""
    return {i: answers[i].take.name for i in sorted(answers)} if len(answers) > 1 else {}


def plate(scenario: Scenario, shown: Shown, size: tuple[int, int], look: Look, below: Below) -> Plate:
    """What is looked at, fitted into a picture over a strip of words, and its lenses."""
    enlarged = max(1.0, UPRIGHT_LETTERS / look.letters) if size[1] >= UPRIGHT * size[0] else 1.0
    point = enlarged * min(size) / SIDE_POINTS
    inset, fills = PAD, part_seen(scenario, shown) is not None
    for _ in range(2):  # how high the words are decides how wide the table is, which they stand under
        words, high, down = strip(size[0] / point - 2.0 * inset, look, below)
        over = max(size[1] - high * point, 0.3 * size[1])
        frame = picture_frame(scenario, shown, (0.0, 0.0, float(size[0]), over), point)
        left, above = (0.0, 0.0) if fills else _beside(scenario, frame)
        inset, placed = max(PAD, left), inset
    top = size[1] - high * point - above * point  # the words close under the table, both in the middle of the picture
    strip_frame, free_frame = (
        Frame(np.eye(2) * point, np.array([placed * point, top + at * point]), point) for at in (0.0, down)
    )
    seen = (0.0, 0.0, float(size[0]), top)
    canvas = Canvas(frame, seen)
    glasses = glasses_over(scenario, canvas) if shown.lens else ()
    canvas = replace(canvas, covered=tuple(glass.box for glass in glasses))
    return Plate(size, look, canvas, glasses, Layer(words, strip_frame), free_frame, seen if fills else None)


def _beside(scenario: Scenario, frame: Frame) -> tuple[float, float]:
    """Points to the left of the table's rails, and above their margin."""
    surface = scenario.table.surface
    left, top = frame.pixels(np.array([[0.0, 0.0], [surface.length_m, surface.width_m]])).min(axis=0)
    scale = frame.pixels_a_metre
    return float(left - RAIL_M * scale) / frame.point, float(top - MARGIN_M * scale) / frame.point


def layered(picture: Plate, ground: Scene, lively: Scene, enlarged: Scene) -> list[Layer]:
    """All layers of a picture: the table, in its lenses ``enlarged`` over the ground without words, the words."""
    look, layers = picture.look, [Layer(ground + lively, picture.canvas.frame, picture.cut)]
    for glass in picture.glasses:
        layers.append(Layer(without_words(ground + enlarged), glass.frame, glass.box))
        layers.append(Layer(glass_words(glass, picture.canvas.frame, look), glass.frame, glass.box))
    return [*layers, picture.words]


def strip(wide: float, look: Look, under: Below) -> tuple[Scene, float, float]:
    """The strip's shapes, in points from its upper left corner, its height, and how far down the free room begins.

    ``wide`` points of room.
    """
    size, names, note, free = CAPTION * look.letters, under.names, under.note, under.free
    start = free[0] if wide - free[0] >= NARROW else 0.0
    beside = width_of(note, NOTE * look.letters) + 2.0 * PAD if note else 0.0
    lines = caption_lines(under.caption or "", wide - start - beside, size)
    shapes: Scene = [Text(start, 0.6 * PAD + (1.4 * k + 1.0) * size, line, size, look.text, 0.0, 0.0)
                     for k, line in enumerate(lines)]  # fmt: skip
    if note:
        shapes.append(Text(wide, 0.6 * PAD + size, note, NOTE * look.letters, look.muted, 1.0, 0.0))
    y = 0.6 * PAD + 1.4 * size * max(len(lines), 1 if note else 0)
    below = y if lines and start < free[0] else 0.0
    aside = free[0] if wide - free[0] >= _widest(look, names) else 0.0
    legend, y = _legend(max(y, below + (0.3 * PAD if aside else free[1])), aside, wide, look, names)
    shapes += legend
    return shapes, max(y + PAD if shapes else 0.0, below + free[1]), below


def _before_name(look: Look) -> float:
    """Points that the sample of a take's line and the gap after it take."""
    return SAMPLE * max(1.0, look.line / DASHED_FOR) + 0.6 * LEGEND * look.letters


def _widest(look: Look, names: Mapping[int, str]) -> float:
    """Points that the widest of the takes' names takes with its line."""
    return _before_name(look) + max((width_of(name, LEGEND * look.letters) for name in names.values()), default=0.0)


def _legend(y: float, start: float, end: float, look: Look, names: Mapping[int, str]) -> tuple[Scene, float]:
    """The takes' names after their lines, in as many rows as they need; and where the last row stands."""
    x, size, before, shapes = start, LEGEND * look.letters, _before_name(look), list[Shape]()
    for k, (index, full) in enumerate(names.items()):
        name = shortened(full, end - start - before, _measure(size))
        needs = before + width_of(name, size)
        if k == 0 or x + needs > end:
            x, y = start, y + (1.2 if k == 0 else 1.5) * size
        pen = Pen(look.take_colour(index), look.line, pattern(index))
        if index == DOTS:
            pen = Pen(look.text, look.line, CORRECTED)
        line = before - 0.6 * size
        shapes.append(Path(np.array([[x, y - 0.36 * size], [x + line, y - 0.36 * size]]), pen))
        shapes.append(Text(x + before, y, name, size, look.text, 0.0, 0.0))
        x += needs + 2.0 * size
    return shapes, y


def caption_lines(text: str, wide: float, size: float) -> list[str]:
    """Words in lines of at most ``wide`` points; what does not fit in three lines is cut, with dots."""
    lines = wrapped(text, wide, _measure(size))
    lines[CAPTION_LINES - 1 :] = filter(None, [" ".join(lines[CAPTION_LINES - 1 :])])
    return [shortened(line, wide, _measure(size)) for line in lines if line]


def _measure(size: float) -> Measure:
    """How wide words are in letters of a size; too wide for any picture from so many letters on, which saves time."""
    return lambda words: width_of(words, size) if len(words) <= LONGEST_LINE else math.inf


def painted(picture: Plate, layers: Sequence[Layer]) -> Painter:
    """A picture's layers as pixels."""
    painter = Painter(*picture.size, picture.look)
    painter.lay(None)
    for layer in layers:
        with painter.within(layer.within or (0.0, 0.0, float(picture.size[0]), float(picture.size[1]))):
            painter.paint(layer.scene, layer.frame)
    return painter
