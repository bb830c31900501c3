"""The cue ball's face with the tip on it, in the room that a picture's strip keeps for it."""

from __future__ import annotations

import numpy as np

from tablesim.model.shot import Take
from tablesim.scene.look import Look
from tablesim.scene.shapes import BOTTOM_UP, Frame
from tablesim.scene.strike_plate import WORDS, strike_words

from .painter import width_of
from .strip import PAD

FACE_POINTS = 26.0  # radius of the ball's face that shows the stroke
WIDEST_RATIO = 88.88  # of spin to speed, for which room is kept


def stroke_room(take: Take, look: Look) -> tuple[float, float]:
    """Width and height [points] that the stroke takes at the left of the strip."""
    words = max(width_of(line, look.letters) for line in strike_words(take, WIDEST_RATIO))
    return (1.0 + WORDS) * FACE_POINTS + words + 2.0 * PAD, 2.0 * FACE_POINTS + PAD


def face_frame(free: Frame) -> Frame:
    """Where the face lies in the room kept for it."""
    middle = free.pixels(np.array([[FACE_POINTS, FACE_POINTS + 0.5 * PAD]]))[0]
    return Frame(FACE_POINTS * free.point * BOTTOM_UP, middle, free.point)
