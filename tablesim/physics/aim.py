"""Where a ball is to go for a pocket, and where it goes: gates, crossings, what it is frozen to.

A target ball in the jaws is aimed at a line deeper than the mouth (:func:`gate_at`).
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .cloth import drift, motion, phase_end
from .constants import FROZEN_M, ROLLING, SLIDING, TOUCH_M
from .contact_time import quadratic_fall
from .edge import NOSES
from .jit import kernel
from .pocket import foot_on_line
from .records import BallState, ClothLaw, Edge, Motion

NEAR_MOUTH = 4.0  # half mouths from the mouth's centre within which a ball that met the edge may still drop
LAST_MOMENT = 0.999999  # of a phase: when a ball that stops still has a direction


class Mouth(NamedTuple):
    """A pocket's mouth line, or the gate that stands for it: centre, unit vector into the pocket, half its width."""

    x: float
    y: float
    into_x: float
    into_y: float
    half_width: float

    @property
    def into(self) -> tuple[float, float]:
        """Unit vector into the pocket."""
        return self.into_x, self.into_y

    @property
    def left(self) -> tuple[float, float]:
        """Unit vector along the mouth, to the left of a ball that enters."""
        return -self.into_y, self.into_x


@kernel
def turn_within(angle: float) -> float:
    """The same angle within (-pi, pi]."""
    return math.atan2(math.sin(angle), math.cos(angle))


@kernel
def mouth_of(edge: Edge, pocket: int) -> Mouth:
    """The mouth line of a pocket."""
    m = edge.mouths[pocket]
    return Mouth(float(m[0]), float(m[1]), float(m[2]), float(m[3]), float(m[4]))


@kernel
def depth_in(mouth: Mouth, x: float, y: float) -> float:
    """How far [m] a ball's centre is beyond the mouth line; negative before it."""
    return (x - mouth.x) * mouth.into_x + (y - mouth.y) * mouth.into_y


@kernel
def gate_at(edge: Edge, pocket: int, x: float, y: float, nose_distance: float) -> Mouth:
    """The line at which a ball that lies at (x, y) is aimed for a pocket, and on which its miss is measured.

    The mouth line; but once the ball's front, ``nose_distance`` [m] before its
    centre as a nose would meet it, is over that line, a line parallel to it and
    twice as deep as the front.  So the gate is never nearer to the centre than
    ``nose_distance``, and moves without a jump; no ball at a rail beside the
    pocket reaches over the line.
    """
    mouth = mouth_of(edge, pocket)
    front = depth_in(mouth, x, y) + nose_distance - TOUCH_M
    if front <= 0.0:
        return mouth
    x, y = mouth.x + 2.0 * front * mouth.into_x, mouth.y + 2.0 * front * mouth.into_y
    return Mouth(x, y, mouth.into_x, mouth.into_y, mouth.half_width)


@kernel
def speed_into(mouth: Mouth, ball: BallState) -> float:
    """Speed [m/s] of a ball into the pocket."""
    return ball.vx * mouth.into_x + ball.vy * mouth.into_y


@kernel
def crossing_ahead(mouth: Mouth, ball: BallState) -> float:
    """Where [m, left +] the straight line a ball moves on crosses the mouth line; nan if it leads away from it."""
    toward = speed_into(mouth, ball)
    if toward <= 0.0:
        return math.nan
    gap = (mouth.x - ball.x) * mouth.into_x + (mouth.y - ball.y) * mouth.into_y
    x, y = ball.x + ball.vx / toward * gap, ball.y + ball.vy / toward * gap
    return -(x - mouth.x) * mouth.into_y + (y - mouth.y) * mouth.into_x


@kernel
def crossing_within(mouth: Mouth, ball: BallState, rates: Motion, law: ClothLaw, length: float) -> tuple[bool, float]:
    """Whether a ball crosses the mouth line within ``length`` [s] of a piece, and where.

    If it does not, where the line on which it last moved would cross.
    """
    depth = depth_in(mouth, ball.x, ball.y)
    half_rate = 0.5 * (rates.ax * mouth.into_x + rates.ay * mouth.into_y)
    wait = quadratic_fall(-depth, -speed_into(mouth, ball), -half_rate, length) if depth < 0.0 else math.inf
    crosses = wait <= length
    at = drift(ball, rates, law.spin_deceleration, wait if crosses else LAST_MOMENT * length)
    return crosses, crossing_ahead(mouth, at)


@kernel
def crossing_by(mouth: Mouth, ball: BallState, radius: float, law: ClothLaw, length: float) -> float:
    """Where [m, left +] a ball, left alone for ``length`` [s], crosses the mouth line; nan if it never heads there.

    The true crossing if it comes by then; else that of the straight line on
    which the ball last moved.
    """
    crossing = math.nan
    for _ in range(2):
        rates = motion(ball, radius, law)
        if length <= 0.0 or (rates.phase != SLIDING and rates.phase != ROLLING):
            break
        crosses, crossing = crossing_within(mouth, ball, rates, law, min(length, rates.duration))
        if crosses:
            break
        length -= rates.duration
        ball = phase_end(rates.phase, drift(ball, rates, law.spin_deceleration, rates.duration), radius)
    return crossing


@kernel
def leaves_mouth(mouth: Mouth, ball: BallState) -> bool:
    """True if a ball that has just bounced is outside the mouth line and moving away from it."""
    return depth_in(mouth, ball.x, ball.y) < 0.0 and speed_into(mouth, ball) < 0.0


@kernel
def rail_beside(edge: Edge, x: float, y: float, nose_distance: float) -> int:
    """The row of the nose to which a ball at (x, y) is frozen, or as good; -1 for none."""
    for row in range(len(NOSES)):
        nx, ny = edge.lines[row, 5], edge.lines[row, 6]
        gap = (x - edge.lines[row, 0]) * nx + (y - edge.lines[row, 1]) * ny - nose_distance
        if gap <= FROZEN_M and foot_on_line(x, y, edge.lines, row):
            return row
    return -1


@kernel
def are_frozen(first: BallState, second: BallState, apart: float) -> bool:
    """True if two balls, ``apart`` from centre to centre [m] when they touch, are frozen, or as good."""
    return math.hypot(second.x - first.x, second.y - first.y) - apart <= FROZEN_M


@kernel
def is_lost(mouth: Mouth, ball: BallState) -> bool:
    """True if a ball that has just bounced will not drop: far from the mouth, or leaving it."""
    return math.hypot(ball.x - mouth.x, ball.y - mouth.y) > NEAR_MOUTH * mouth.half_width or leaves_mouth(mouth, ball)
