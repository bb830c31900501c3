"""A picture's table mounted over a strip of words; and pictures as pixels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from tablesim.model.scenario import Scenario
from tablesim.scene.closer import MARGIN_M, part_seen, picture_frame
from tablesim.scene.lettering import fitted, laid
from tablesim.scene.look import PAPER, Look
from tablesim.scene.shapes import Box, Canvas, Frame, Scene, Text, without_words
from tablesim.scene.shot import Shown
from tablesim.scene.table import RAIL_M
from tablesim.study.answer import Answer

from .inset import Glass, glass_words, glasses_over
from .painter import Painter, width_of
from .strip import PAD, Below, StripWords, strip

SIDE_POINTS = 800.0  # the shorter side of a picture, in points
UPRIGHT = 1.25  # height over width from which on a picture is upright, meant for a phone
UPRIGHT_LARGER = 1.5  # a point of an upright picture, in those of another
LINES_HIGH, LINES_HIGH_UPRIGHT = 45.0, 36.0  # heights of the smallest letters in that of the picture
UPRIGHT_SAFE = (7.0 / 8.0, 5.0 / 6.0)  # of width and height: players of phones lay their signs over the rest
PRINTED_MM = 180.0  # the longer side in print of a picture in the look for paper
PRINTED_LETTERS = 10.0  # points, at that size
HIGHEST_STRIP, HIGHEST_UPRIGHT = 0.42, 0.48  # of the height that is used
LEAST_TABLE = 0.3  # of it, whatever stands below


class Layer(NamedTuple):
    """A scene, the frame that maps it, and the box [pixels] beyond which nothing of it is seen."""

    scene: Scene
    frame: Frame
    within: Box | None = None


@dataclass(frozen=True, eq=False)
class Plate:
    """A picture before it is painted: pixels (width, height), where the table goes, the words, and a free room.

    ``look`` has the letters of the picture; ``canvas`` is the table's; ``free`` maps points from the upper left
    corner of the room that was kept empty; ``cut`` is where the table's picture ends if it is of a part.
    """

    size: tuple[int, int]
    look: Look
    canvas: Canvas
    glasses: tuple[Glass, ...]
    strip: StripWords
    strip_frame: Frame
    free: Frame
    cut: Box | None = None

    def words(self, over: bool = False) -> Layer:
        """The words under the table: how takes are played or, once it is ``over``, what became of them."""
        return Layer(self.strip.lasting + (self.strip.outcome if over else self.strip.played), self.strip_frame)


def names_of(answers: Mapping[int, Answer]) -> dict[int, str]:
    """Names for the strip: none where there is one take only."""
    return {i: answers[i].take.name for i in sorted(answers)} if len(answers) > 1 else {}


def is_upright(size: tuple[int, int]) -> bool:
    """True for a picture meant for a phone held upright."""
    return size[1] >= UPRIGHT * size[0]


def safe_size(size: tuple[int, int]) -> tuple[float, float]:
    """Width and height [pixels] from the upper left corner in which everything lies."""
    across, down = UPRIGHT_SAFE if is_upright(size) else (1.0, 1.0)
    return across * size[0], down * size[1]


def least_letters(size: tuple[int, int]) -> float:
    """The smallest letters [pixels] of a picture."""
    return size[1] / (LINES_HIGH_UPRIGHT if is_upright(size) else LINES_HIGH)


def lettered(look: Look, size: tuple[int, int]) -> tuple[Look, float]:
    """The look with letters large enough for a picture of that size, and its point [pixels].

    A point in the look for paper is one of print, 1/72 in.
    """
    point = min(size) / SIDE_POINTS * (UPRIGHT_LARGER if is_upright(size) else 1.0)
    letters = look.letters
    if look.name == PAPER.name:
        point, letters = max(size) / (PRINTED_MM / 25.4 * 72.0), PRINTED_LETTERS
    return replace(look, letters=max(letters, least_letters(size) / point)), point


def plate(scenario: Scenario, shown: Shown, size: tuple[int, int], plain: Look, below: Below) -> Plate:
    """What is looked at, fitted into a picture over a strip of words, and its lenses."""
    (look, point), (wide, tall) = lettered(plain, size), safe_size(size)
    highest = (HIGHEST_UPRIGHT if is_upright(size) else HIGHEST_STRIP) * tall / point
    fills = part_seen(scenario, shown) is not None
    found, placed = strip(wide / point - 2.0 * PAD, look, below, highest), PAD
    over = max(tall - found.height * point, LEAST_TABLE * tall)
    frame = picture_frame(scenario, shown, (0.0, 0.0, wide, over), point)
    left, above = (0.0, 0.0) if fills else _beside(scenario, frame)
    if left > PAD and not is_upright(size):
        beneath = strip(wide / point - 2.0 * left, look, below, highest)
        if beneath.height <= found.height + 1e-9:  # as much told beneath the table itself
            found, placed = beneath, left
    top = tall - found.height * point - above * point  # the words close under the table, both in the middle
    strip_frame, free_frame = (
        Frame(np.eye(2) * point, np.array([placed * point, top + at * point]), point) for at in (0.0, found.down)
    )
    seen = (0.0, 0.0, wide, top)
    canvas = Canvas(frame, seen)
    glasses = glasses_over(scenario, canvas) if shown.lens else ()
    canvas = replace(canvas, covered=tuple(glass.box for glass in glasses))
    return Plate(size, look, canvas, glasses, found, strip_frame, free_frame, seen if fills else None)


def _beside(scenario: Scenario, frame: Frame) -> tuple[float, float]:
    """Points to the left of the table's rails, and above their margin."""
    surface = scenario.table.surface
    left, top = frame.pixels(np.array([[0.0, 0.0], [surface.length_m, surface.width_m]])).min(axis=0)
    scale = frame.pixels_a_metre
    return float(left - RAIL_M * scale) / frame.point, float(top - MARGIN_M * scale) / frame.point


def words_settled(scene: Scene, picture: Plate) -> Scene:
    """A scene's words in lines where they are seen, none smaller than a picture's letters may be."""
    least, canvas = least_letters(picture.size) / picture.canvas.frame.point, picture.canvas
    return [
        line for shape in scene
        for line in (_settled(shape, canvas, least) if isinstance(shape, Text) else (shape,))
    ]  # fmt: skip


def _settled(words: Text, canvas: Canvas, least: float) -> tuple[Text, ...]:
    if words.within_m:
        lines = fitted(words, words.within_m * canvas.frame.pixels_a_metre / canvas.frame.point, width_of)
        if all(line.size >= least for line in lines):
            return lines
    return laid(replace(words, within_m=0.0), canvas.frame, canvas.seen, width_of)


def layered(picture: Plate, ground: Scene, lively: Scene, enlarged: Scene, over: bool = False) -> list[Layer]:
    """All layers of a picture: the table, in its lenses ``enlarged`` over the ground without words, the words."""
    look, drawn = picture.look, words_settled(ground + lively, picture)
    layers = [Layer(drawn, picture.canvas.frame, picture.cut)]
    for glass in picture.glasses:
        layers.append(Layer(without_words(ground + enlarged), glass.frame, glass.box))
        layers.append(Layer(glass_words(glass, picture.canvas.frame, look), glass.frame, glass.box))
    return [*layers, picture.words(over)]


def painted(picture: Plate, layers: Sequence[Layer]) -> Painter:
    """A picture's layers as pixels."""
    painter = Painter(*picture.size, picture.look)
    painter.lay(None)
    for layer in layers:
        with painter.within(layer.within or (0.0, 0.0, float(picture.size[0]), float(picture.size[1]))):
            painter.paint(layer.scene, layer.frame)
    return painter
