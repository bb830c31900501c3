"""Places enlarged: small pictures to lie over another, of a contact as it happens and of what lenses show."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.physics.simulation import Event
from tablesim.scene.closer import Lens, lenses
from tablesim.scene.contact import contact_scene, contact_words
from tablesim.scene.lettering import shortened, wrapped
from tablesim.scene.look import Look
from tablesim.scene.shapes import Array, Ball, Box, Canvas, Frame, Path, Pen, Scene, Text
from tablesim.study.setup import gate_of

from .painter import Painter, rgba, width_of

INSET_POINTS = 230  # side of the picture, in points
GLASS_SHARE = 0.42  # side of a lens, of the bed's shorter side
LEAST_GLASS = 60  # pixels
GAP_POINTS = 8.0  # between lenses, and to the edge of what is seen
BAR_M = 0.02  # length of the bar that tells a lens's scale
STOPS = 9  # places taken along a way
AIR_POINTS = 6.0  # at the edges of an enlarged contact, and between its words and what they tell of
LINE = 1.3  # from line to line of its words, in letters
WORDS_SHARE = 0.55  # of its side, at most


def contact_picture(
    scenario: Scenario, event: Event, look: Look, around: Frame, side: int, name: str, edge: str
) -> Painter:
    """The two balls of an event, ``side`` pixels square, turned as in the frame ``around``; framed in a colour.

    ``name`` stands on top, what happens below, as much of it as there is room for; balls and arrows lie between.
    """
    point = around.point
    balls, (top, bottom) = (
        contact_scene(scenario, event, look),
        contact_lines(scenario, event, look, side / point, name),
    )
    high, low = ((LINE * len(lines) * look.letters + AIR_POINTS) * point for lines in (top, bottom))
    frame = frame_about(balls, around, (0.0, high, float(side), side - high - low))
    painter = Painter(side, side, look)
    painter.pixels[:] = [*(round(255 * v) for v in rgba(look.cloth)[:3]), 255]
    painter.paint(balls, frame)
    plain = Frame(point * np.eye(2), np.zeros(2), point)
    first = ((high / point - AIR_POINTS, top), (side / point - 0.5 * AIR_POINTS, bottom))
    painter.paint([
        Text(0.5 * side / point, last - (LINE * (len(lines) - 1 - k) + 0.25) * look.letters, line, look.letters,
             look.ink, 0.5, 0.0, look.halo)
        for last, lines in first for k, line in enumerate(lines)
    ], plain)  # fmt: skip
    corners = np.array([(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]) / point
    painter.paint([Path(corners, Pen(edge, 4.0), closed=True)], plain)
    return painter


def contact_lines(scenario: Scenario, event: Event, look: Look, wide: float, name: str) -> tuple[list[str], list[str]]:
    """The lines over and under an enlarged contact ``wide`` points across: its name, throw and rubbing.

    What would take more than WORDS_SHARE of it, or is wider, is left out, rubbing first.
    """
    size, room = look.letters, wide - 2.0 * AIR_POINTS

    def fits(lines: list[str]) -> bool:
        return all(width_of(line, size) <= room for line in lines)

    def told(words: str) -> list[str]:
        return wrapped(words, room, lambda text: width_of(text, size)) if words else []

    top = [shortened(name, room, lambda text: width_of(text, size))] if name else []
    bottom: list[str] = []
    for words in contact_words(scenario, event):
        more = [*bottom, *told(words)]
        if fits(more) and LINE * size * (len(top) + len(more)) <= WORDS_SHARE * wide:
            bottom = more
    return top, bottom


def frame_about(scene: Scene, around: Frame, box: Box) -> Frame:
    """The frame, turned as ``around``, in which balls and lines fill a box (left, top, width, height) [pixels]."""
    turn = around.matrix / around.pixels_a_metre
    ends = [shape.points @ turn.T for shape in scene if isinstance(shape, Path)]
    ends += [
        np.array([ball.x, ball.y]) @ turn.T + ball.radius_m * np.array([[-1.0, -1.0], [1.0, 1.0]])
        for ball in scene
        if isinstance(ball, Ball)
    ]
    low, high = np.concatenate(ends).min(axis=0), np.concatenate(ends).max(axis=0)
    left, top, width, height = box
    air = AIR_POINTS * around.point
    scale = min(max(width - 2.0 * air, 1.0) / (high[0] - low[0]), max(height - 2.0 * air, 1.0) / (high[1] - low[1]))
    middle = np.array([left + 0.5 * width, top + 0.5 * height])
    return Frame(scale * turn, middle - scale * 0.5 * (low + high), around.point)


@dataclass(frozen=True, eq=False)
class Glass:
    """A lens lying over a picture: its box and frame there [pixels]."""

    lens: Lens
    box: Box
    frame: Frame


def glasses_over(scenario: Scenario, canvas: Canvas) -> tuple[Glass, ...]:
    """The lenses side by side in the corner of as much of the bed as is seen that is farthest from the shot."""
    found, bed, around = lenses(scenario), bed_seen(scenario, canvas), canvas.frame
    gap = round(GAP_POINTS * around.point)
    bed = bed + np.array([[gap, gap], [-gap, -gap]])
    side = round(GLASS_SHARE * float((bed[1] - bed[0]).min()))
    if not found or side < LEAST_GLASS:
        return ()
    places, size = in_a_row(len(found), side, gap, bed)
    left, top = free_corner(busy_places(scenario), around, bed, size)
    return tuple(_glass(lens, around, left + x, top + y, side) for lens, (x, y) in zip(found, places, strict=True))


def in_a_row(count: int, side: int, gap: int, bed: Array) -> tuple[list[tuple[int, int]], tuple[int, int]]:
    """Corners of squares along the longer side of a bed (2, 2), from the first one's; width and height of them all."""
    wide, high = bed[1] - bed[0]
    step, whole = side + gap, count * (side + gap) - gap
    if high > wide:
        return [(0, k * step) for k in range(count)], (side, whole)
    return [(k * step, 0) for k in range(count)], (whole, side)


def _glass(lens: Lens, around: Frame, left: int, top: int, side: int) -> Glass:
    matrix = side / (2.0 * lens.half_m) * around.matrix / around.pixels_a_metre
    middle = np.array([left + side / 2.0, top + side / 2.0])
    frame = Frame(matrix, middle - matrix @ np.array(lens.at), around.point)
    return Glass(lens, (float(left), float(top), float(left + side), float(top + side)), frame)


def bed_seen(scenario: Scenario, canvas: Canvas) -> Array:
    """The corners (2, 2) [pixels] of as much of the bed as is seen."""
    surface = scenario.table.surface
    ends = canvas.frame.pixels(np.array([[0.0, 0.0], [surface.length_m, surface.width_m]]))
    return np.vstack([np.maximum(ends.min(axis=0), canvas.seen[:2]), np.minimum(ends.max(axis=0), canvas.seen[2:])])


def busy_places(scenario: Scenario) -> Array:
    """Places (n, 2) [m] from the cue ball to the target ball and on to its pocket."""
    places = [scenario.balls[CUE_BALL]]
    if scenario.target is not None:
        gate = gate_of(scenario)
        places += [scenario.balls[scenario.target.ball], (gate.x, gate.y)]
    ways = [np.linspace(a, b, STOPS) for a, b in itertools.pairwise(places)]
    return np.concatenate([np.array(places), *ways])


def free_corner(busy: Array, around: Frame, bed: Array, size: tuple[int, int]) -> tuple[int, int]:
    """Where in the bed (2, 2) [pixels] a rectangle lies farthest from busy places (n, 2) [m]: its upper left corner."""
    places, half = around.pixels(busy), 0.5 * np.array(size)
    corners = [np.array([x, y]) for x in bed[:, 0] + [half[0], -half[0]] for y in bed[:, 1] + [half[1], -half[1]]]

    def clear(middle: Array) -> float:
        """Distance of the nearest busy place from the rectangle."""
        return float(np.hypot(*np.maximum(np.abs(places - middle) - half, 0.0).T).min())

    left, top = max(corners, key=clear) - half
    return round(float(left)), round(float(top))


def glass_words(glass: Glass, around: Frame, look: Look) -> Scene:
    """A lens's rim, what it shows how many times as large as the picture, and a bar for its scale, if there is room."""
    x0, y0, x1, y1 = glass.box
    frame, size, room = glass.frame, look.letters, (x1 - x0) / glass.frame.point - 2.0 * AIR_POINTS
    times = f"{frame.pixels_a_metre / around.pixels_a_metre:.2g} ×"
    rim = np.array([frame.metres(*corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])
    left, low = x0 + 10.0 * frame.point, y1 - 0.6 * size * frame.point
    ends = [frame.metres(left + long * frame.pixels_a_metre, low) for long in (0.0, BAR_M)]
    bar, top = np.array(ends), frame.metres(0.5 * (x0 + x1), y0 + 0.4 * size * frame.point)
    shapes: Scene = [Path(rim, Pen(look.ink, 2.0), closed=True)]
    heading = next((w for w in (f"{glass.lens.name}, {times}", times) if width_of(w, size) <= room), None)
    if heading is not None:
        shapes.append(Text(*top, heading, size, look.ink, 0.5, 1.0, look.halo))
    scale = f"{1000.0 * BAR_M:.0f} mm"
    if 16.0 + BAR_M * frame.pixels_a_metre / frame.point + width_of(scale, size) <= room:
        shapes += [Path(bar, Pen(look.halo, 4.0)), Path(bar, Pen(look.ink, 2.0))]
        shapes.append(Text(*ends[1], scale, size, look.ink, 0.0, 0.5, look.halo, 6.0))
    return shapes
