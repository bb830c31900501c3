"""A still picture of a scenario: PNG of any size, or SVG of the same shapes.

Sizes of pens and letters follow the shorter side of the picture, so that they
keep their proportion; an upright picture, meant for a phone, has larger ones.
A caption, and the names of several takes, stand in a strip under the table.
"""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TypeVar
from xml.sax.saxutils import escape

import numpy as np

from tablesim.errors import TablesimError, unknown_name
from tablesim.model.scenario import Scenario
from tablesim.model.whole import by_suffix, write_whole
from tablesim.scene.lettering import Measure, shortened, wrapped
from tablesim.scene.look import CORRECTED, IVORY, LOOKS, Look, ball_colour, pattern
from tablesim.scene.picture import MARGIN_M, picture_scene
from tablesim.scene.shapes import Array, Ball, Disc, Frame, Path, Pen, Scene, Shape, Text, fit
from tablesim.scene.shot import Shown
from tablesim.scene.table import RAIL_M
from tablesim.study.answer import Answer, answer_take

from .painter import DASHED_FOR, FONT, HALO, SPOT, UP, Painter, band_quads, lines_of, spot_outline, spots_of, width_of

SIZE = (1920, 1080)
SMALLEST, LARGEST = 64, 8192  # pixels each way
SIDE_POINTS = 800.0  # the shorter side of a picture, in points
UPRIGHT = 1.25  # height over width from which on a picture is upright, meant for a phone
UPRIGHT_LETTERS = 19.5  # letters of an upright picture, in points of another: a look with smaller ones is enlarged
TAKES_AT_ONCE = 6  # as many as there are line patterns
MOST_GROWTH = 100
CAPTION_LINES = 3
LONGEST_LINE = 400  # letters
PAD = 14.0  # points round the strip's words
CAPTION, LEGEND, NOTE = 1.5, 1.1, 1.15  # letters of the strip, in those of the look
NARROW = 640.0  # points of room for a caption, below which nothing stands at its left
SAMPLE = 54.0  # points of line before a take's name
DOTS = -1  # stands for the corrected ways among the takes of a legend

Writer = TypeVar("Writer")


@dataclass(frozen=True, eq=False)
class Plate:
    """A picture before it is painted: pixels (width, height), scenes with the frames that map them, and a free room.

    ``free`` maps points from the upper left corner of the room that was kept empty.
    """

    size: tuple[int, int]
    look: Look
    layers: tuple[tuple[Scene, Frame], ...]
    free: Frame


@dataclass(frozen=True)
class StillWishes:
    """How a still is wanted.

    ``size`` in pixels, 64 to 8192 each way; ``takes``: names of the takes to
    show, the first one chosen (None: the scenario's first); ``corrected``: with
    the corrected ways; ``spin``: with the sliding and the sidespin left along the
    chosen take's; ``growth``: the distance off the cue's line instead, so many
    times as large (0 to 100).
    """

    size: tuple[int, int] = SIZE
    takes: Sequence[str] | None = None
    look: str = "evening"
    caption: str | None = None
    corrected: bool = True
    spin: bool = False
    growth: int = 0


def still(scenario: Scenario, out_path: str, wishes: StillWishes = StillWishes()) -> None:
    """Write the picture of a scenario at rest to a .png or .svg.

    TablesimError says what is wrong and how to mend it; nothing is written then.

    >>> wishes = ts.StillWishes(size=(640, 400), takes=["wood, hard"])
    >>> ts.still(ts.open_scenario("two-cues"), "two-cues.png", wishes)
    """
    w = wishes
    write = by_suffix(out_path, {".png": _png, ".svg": svg_text})
    check_size(w.size, LARGEST)
    colours = look_named(w.look)
    if not 0 <= w.growth <= MOST_GROWTH:
        raise TablesimError(f"growth: must be 0 (off) to {MOST_GROWTH}; got {w.growth}")
    takes = take_places(scenario, w.takes)
    answers = {i: answer_take(scenario, scenario.takes[i]) for i in takes}
    for i in takes if w.takes else ():
        if answers[i].aimed is None and answers[i].corrected is None:
            raise TablesimError(f"take {scenario.takes[i].name!r} cannot be shown: {answers[i].trouble}")
    fitted = partial(plate, scenario, size=w.size, look=colours, caption=w.caption, names=names_of(answers))
    shown = Shown(
        chosen=takes[0] if takes else 0, takes=takes, corrected=w.corrected, spin=w.spin, growth=w.growth,
        frame=fitted([]).layers[0][1],
    )  # fmt: skip
    write_whole(out_path, write(fitted(picture_scene(scenario, answers, shown, colours))))


# --- what is asked for


def check_size(size: tuple[int, int], largest: int) -> None:
    """TablesimError unless both sides [pixels] can be made."""
    if not all(SMALLEST <= side <= largest for side in size):
        raise TablesimError(f"size: must be {SMALLEST} to {largest} pixels each way; got {size[0]}x{size[1]}")


def look_named(name: str) -> Look:
    """The look of that name."""
    if name not in LOOKS:
        raise TablesimError("look: " + unknown_name("look", name, LOOKS))
    return LOOKS[name]


def take_places(scenario: Scenario, names: Sequence[str] | None) -> tuple[int, ...]:
    """Places of the takes named, in that order; without names that of the first, if there is one."""
    if not names:
        return (0,) if scenario.takes else ()
    places = tuple(scenario.takes.index(take) for take in scenario.takes_for(names))
    if len(places) > TAKES_AT_ONCE:
        raise TablesimError(f"take: at most {TAKES_AT_ONCE} can be told apart in one picture; got {len(places)}")
    return places


def names_of(answers: dict[int, Answer]) -> dict[int, str]:
    """Names for the strip: none where there is one take only."""
    return {i: answers[i].take.name for i in sorted(answers)} if len(answers) > 1 else {}


# --- the plate


def plate(
    scenario: Scenario,
    scene: Scene,
    size: tuple[int, int],
    look: Look,
    caption: str | None = None,
    names: Mapping[int, str] | None = None,
    note: str = "",
    free: tuple[float, float] = (0.0, 0.0),
) -> Plate:
    """The scene fitted into a picture over a strip with caption, note (at the right), and takes with their lines.

    ``free`` (width, height): points kept empty at the left of the strip, or under a caption that needs all its width.
    """
    enlarged = max(1.0, UPRIGHT_LETTERS / look.letters) if size[1] >= UPRIGHT * size[0] else 1.0
    point = enlarged * min(size) / SIDE_POINTS
    surface = scenario.table.surface
    inset = PAD
    for _ in range(2):  # how high the words are decides how wide the table is, which they stand under
        words, high, below = strip(size[0] / point - 2.0 * inset, look, caption or "", names or {}, note, free)
        over = max(size[1] - high * point, 0.3 * size[1])
        frame = fit(surface.length_m, surface.width_m, MARGIN_M, (0.0, 0.0, float(size[0]), over), point)
        bed = frame.pixels(np.array([[0.0, 0.0], [surface.length_m, surface.width_m]]))
        table_left = float(bed[:, 0].min()) / point - RAIL_M * frame.pixels_a_metre / point
        inset, placed = max(PAD, table_left), inset
    # The words close under the table, both together in the middle of the picture.
    top = size[1] - high * point - (float(bed[:, 1].min()) - MARGIN_M * frame.pixels_a_metre)
    strip_frame, free_frame = (
        Frame(np.eye(2) * point, np.array([placed * point, top + down * point]), point) for down in (0.0, below)
    )
    return Plate(size, look, ((scene, frame), (words, strip_frame)), free_frame)


def strip(
    wide: float, look: Look, caption: str, names: Mapping[int, str], note: str, free: tuple[float, float] = (0.0, 0.0)
) -> tuple[Scene, float, float]:
    """The strip's shapes, in points from its upper left corner, its height, and how far down the free room begins.

    ``wide`` points of room, of which ``free`` (width, height) stay empty at the left.
    """
    size = CAPTION * look.letters
    start = free[0] if wide - free[0] >= NARROW else 0.0
    beside = width_of(note, NOTE * look.letters) + 2.0 * PAD if note else 0.0
    lines = caption_lines(caption, wide - start - beside, size)
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


def painted(picture: Plate) -> Painter:
    """The picture as pixels."""
    painter = Painter(*picture.size, picture.look)
    painter.lay(None)
    for scene, frame in picture.layers:
        painter.paint(scene, frame)
    return painter


def _png(picture: Plate) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(painted(picture).pixels[:, :, :3])).save(out, "PNG")
    return out.getvalue()


# --- SVG


def svg_text(picture: Plate) -> bytes:
    """The picture as an SVG drawing, a pixel a unit."""
    width, height = picture.size
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">',
        f'<rect width="{width}" height="{height}" {_ink(picture.look.room, "fill")}/>',
    ]
    for scene, frame in picture.layers:
        for shape in scene:
            parts += _svg_shape(shape, frame, picture)
    return "\n".join([*parts, "</svg>\n"]).encode("utf-8")


def _svg_shape(shape: Shape, frame: Frame, picture: Plate) -> list[str]:
    if isinstance(shape, Path):
        if len(shape.points) < 2:
            return []
        return [_svg_path(frame.pixels(shape.points), shape.closed, _style(shape.pen, shape.fill, frame.point))]
    x, y = (float(v) for v in frame.pixels(np.array([[shape.x, shape.y]]))[0])
    if isinstance(shape, Text):
        return [part for line in lines_of(shape, frame, picture.size) for part in _svg_words(line, x, y, frame.point)]
    if isinstance(shape, Ball):
        return _svg_ball(shape, x, y, frame, picture.look)
    style = _style(shape.pen, shape.fill, frame.point)
    if isinstance(shape, Disc):
        return [_circle(x, y, shape.radius_m * frame.pixels_a_metre, style)]
    radius = shape.radius * frame.point
    if not shape.corners:
        return [_circle(x, y, radius, style)]
    a = 2.0 * np.pi * np.arange(shape.corners) / shape.corners
    corners = np.column_stack([x + radius * np.sin(a), y - radius * np.cos(a)])
    return [_svg_path(corners, True, style)]


def _n(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _circle(x: float, y: float, radius: float, style: str) -> str:
    return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" {style}/>'


def _svg_path(points: Array, closed: bool, style: str) -> str:
    way = " ".join(f"{_n(x)},{_n(y)}" for x, y in points.tolist())
    return f'<path d="M{way}{"Z" if closed else ""}" {style}/>'


def _ink(colour: str, what: str) -> str:
    """A fill or stroke of "#rrggbb" or "#rrggbbaa"."""
    opacity = f' {what}-opacity="{_n(int(colour[7:], 16) / 255.0)}"' if len(colour) > 7 else ""
    return f'{what}="{colour[:7]}"{opacity}'


def _style(pen: Pen | None, fill: str | None, point: float) -> str:
    """Attributes of a shape, as the painter draws it."""
    parts = [_ink(fill, "fill") if fill else 'fill="none"']
    if pen is not None:
        cap = "butt" if pen.dashes and pen.dashes[0] >= 1.0 else "round"
        parts.append(
            f'{_ink(pen.colour, "stroke")} stroke-width="{_n(pen.width * point)}" stroke-linecap="{cap}"'
            ' stroke-linejoin="round"'
        )
        if pen.dashes:
            stretch = point * max(1.0, pen.width / DASHED_FOR)
            parts.append(f'stroke-dasharray="{" ".join(_n(d * stretch) for d in pen.dashes)}"')
    return " ".join(parts)


def _svg_words(shape: Text, x: float, y: float, point: float) -> list[str]:
    """Words, over a broad outline of themselves in the halo's colour."""
    anchor = min((0.0, 0.5, 1.0), key=lambda a: abs(a - shape.across))
    aside = (anchor - shape.across) * width_of(shape.text, shape.size)
    x, y = x + (shape.dx + aside) * point, y + (0.73 * shape.up * shape.size - shape.dy) * point
    size = shape.size * point
    start = (
        f'<text x="{_n(x)}" y="{_n(y)}" font-family="{FONT}, sans-serif" font-size="{_n(size)}"'
        f' text-anchor="{ {0.0: "start", 0.5: "middle", 1.0: "end"}[anchor] }"'
        + (' font-weight="bold"' if shape.bold else "")
    )
    words = escape("".join(c for c in shape.text if c.isprintable()))
    halo = [f"{start} {_style(Pen(shape.halo, HALO * shape.size), None, point)}>{words}</text>"] if shape.halo else []
    return [*halo, f"{start} {_ink(shape.colour, 'fill')}>{words}</text>"]


def _svg_ball(ball: Ball, x: float, y: float, frame: Frame, look: Look) -> list[str]:
    """A ball, of the same parts as the painter's."""
    colour, stripe = ball_colour(ball.name)
    turn, number = np.eye(3) if ball.turn is None else ball.turn, "" if ball.name == "cue" else ball.name[:3]
    r = ball.radius_m * frame.pixels_a_metre
    place, flat = np.array([ball.x, ball.y]), ball.radius_m
    sx, sy = (float(v) for v in frame.pixels(np.array([[ball.x + 0.12 * flat, ball.y - 0.16 * flat]]))[0])
    parts = [
        _circle(sx, sy, 1.03 * r, _style(None, "#00000038", frame.point)),
        _circle(x, y, r, _style(Pen(look.ball_edge, 1.0), IVORY if stripe else colour, frame.point)),
    ]
    if stripe:
        style = _style(Pen(colour, 0.5), colour, frame.point)
        parts += [_svg_path(frame.pixels(place + flat * quad), True, style) for quad in band_quads(turn)]
    spots = [] if ball.turn is None else [(turn @ spot, SPOT, fill) for spot, fill in spots_of(ball)]
    for at, size, fill in [*spots, *([(turn @ UP, 0.52, IVORY)] if number else [])]:
        ring = spot_outline(at, size)
        if ring is not None:
            parts.append(_svg_path(frame.pixels(place + flat * ring), True, _style(None, fill, frame.point)))
    if number and (turn @ UP)[2] >= 0.55:
        at = place + 0.9 * flat * (turn @ UP)[:2]
        size = 0.62 * r / frame.point * (1.0 if len(number) < 2 else 0.85)
        px, py = (float(v) for v in frame.pixels(at[None])[0])
        parts += _svg_words(Text(0.0, 0.0, number, size, "#1a1a1a", bold=True), px, py, frame.point)
    return parts
