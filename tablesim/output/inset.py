"""Places enlarged: small pictures to lie over another, of a contact as it happens and of what lenses show."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.physics.simulation import Event
from tablesim.scene.closer import Lens, lenses
from tablesim.scene.contact import REACH_M, contact_of, contact_scene, contact_words
from tablesim.scene.look import Look
from tablesim.scene.shapes import Array, Box, Canvas, Frame, Path, Pen, Scene, Text
from tablesim.study.setup import gate_of

from .painter import Painter, rgba

INSET_POINTS = 230  # side of the picture, in points
GLASS_SHARE = 0.42  # side of a lens, of the bed's shorter side
LEAST_GLASS = 60  # pixels
GAP_POINTS = 8.0  # between lenses, and to the edge of what is seen
BAR_M = 0.02  # length of the bar that tells a lens's scale
STOPS = 9  # places taken along a way
LARGEST = 14.0  # points of its letters: the longest line fits into it


def contact_picture(
    scenario: Scenario, event: Event, look: Look, around: Frame, side: int, name: str, edge: str
) -> Painter:
    """The two balls of an event, ``side`` pixels square, turned as in the frame ``around``; framed in a colour.

    ``name`` stands on top.
    """
    at = np.array(contact_of(scenario, event).at)
    scale = side / (2.0 * REACH_M)
    turn = around.matrix / around.pixels_a_metre
    frame = Frame(scale * turn, np.array([side / 2.0, side / 2.0]) - scale * turn @ at, side / INSET_POINTS)
    painter = Painter(side, side, look)
    painter.pixels[:] = [*(round(255 * v) for v in rgba(look.cloth)[:3]), 255]
    painter.paint(contact_scene(scenario, event, look), frame)
    top, bottom = (frame.metres(side / 2.0, y) for y in (9.0 * frame.point, float(side)))
    size = min(0.9 * look.letters, LARGEST)
    words = [Text(*top, name, 0.9 * look.letters, look.ink, 0.5, 1.0, look.halo)]
    for k, line in enumerate(reversed(contact_words(scenario, event))):
        words.append(Text(*bottom, line, size, look.ink, 0.5, 0.0, look.halo, 0.0, (0.6 + 1.5 * k) * size))
    painter.paint([*words], frame)
    corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]
    painter.paint([Path(np.array([frame.metres(*c) for c in corners]), Pen(edge, 4.0), closed=True)], frame)
    return painter


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
    size = len(found) * (side + gap) - gap, side
    left, top = free_corner(busy_places(scenario), around, bed, size)
    return tuple(_glass(lens, around, left + k * (side + gap), top, side) for k, lens in enumerate(found))


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
    """A lens's rim, what it shows how many times as large as the picture, and a bar for its scale."""
    x0, y0, x1, y1 = glass.box
    frame, size = glass.frame, min(0.85 * look.letters, LARGEST)
    times = frame.pixels_a_metre / around.pixels_a_metre
    rim = np.array([frame.metres(*corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])
    left, low = x0 + 10.0 * frame.point, y1 - 9.0 * frame.point
    ends = [frame.metres(left + long * frame.pixels_a_metre, low) for long in (0.0, BAR_M)]
    bar, top = np.array(ends), frame.metres(0.5 * (x0 + x1), y0 + 5.0 * frame.point)
    return [
        Path(rim, Pen(look.ink, 2.0), closed=True),
        Text(*top, f"{glass.lens.name}, {times:.2g} ×", size, look.ink, 0.5, 1.0, look.halo),
        Path(bar, Pen(look.halo, 4.0)), Path(bar, Pen(look.ink, 2.0)),
        Text(*ends[1], f"{1000.0 * BAR_M:.0f} mm", size, look.ink, 0.0, 0.5, look.halo, 6.0),
    ]  # fmt: skip
