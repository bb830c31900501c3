"""A contact enlarged: a small picture to lie over another."""

from __future__ import annotations

import numpy as np

from tablesim.model.scenario import Scenario
from tablesim.physics.simulation import Event
from tablesim.scene.contact import REACH_M, contact_of, contact_scene, contact_words
from tablesim.scene.look import Look
from tablesim.scene.shapes import Frame, Path, Pen, Text

from .painter import Painter, rgba

INSET_POINTS = 230  # side of the picture, in points
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
