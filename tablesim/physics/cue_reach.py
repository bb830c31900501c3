"""What the cue can reach: the least elevation of its butt at which it clears rails and balls.

The cue is a tapered rod whose rounded tip touches the ball; raising the butt
turns it about the ball.  Its underside has to clear the nose of every cushion
that it crosses, the top of the rail behind that nose, and every other ball.
Over a pocket it is held as over the rail beside it, and what the width of the
cue matters where it crosses a rail aslant is left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import partial
from typing import NamedTuple

from .constants import INCH_M
from .roots import narrowed

# Common practice, no source, but for the rail's width: WPA equipment specification, 4 to 7.5 in (from memory).
RAIL_WIDTH_M = 5.0 * INCH_M  # from the nose to the rail's outer edge
RAIL_TOP_M = 0.040  # of the rail's wood above the bed; the nose is lower, 63.5 % of a ball
SLOPE_M = 2.0 * INCH_M  # from the nose back to where the rail is at its height
CUE_LENGTH_M = 58.0 * INCH_M
BUTT_RADIUS_M = 0.015  # at its end: 30 mm thick
STRAIGHT_M = 12.0 * INCH_M  # of the shaft, as thick as its tip; then it tapers evenly to the butt
STEEPEST = math.radians(80.0)  # looked for no farther
CLOSE_RAD = 1e-7


class Held(NamedTuple):
    """A cue held to a ball: ``radius`` of the ball [m], where the tip touches it [ball radii, left + and up + as seen
    along the cue], the tip's crown radius and half its diameter [m]."""

    radius: float
    left: float
    up: float
    crown: float
    half_tip: float


class Obstacle(NamedTuple):
    """Something the cue must pass over: at ``back`` [m] behind the ball's centre along the cue as seen from above,
    ``height`` [m] above the bed; ``what`` it is."""

    back: float
    height: float
    what: str


class Sphere(NamedTuple):
    """A ball ``back`` and ``left`` of the struck ball's centre, seen along the cue, and its radius [m], its name."""

    back: float
    left: float
    radius: float
    what: str


def thickness_at(held: Held, behind_tip: float) -> float:
    """Radius [m] of the cue at a distance [m] behind its tip."""
    share = (behind_tip - STRAIGHT_M) / (CUE_LENGTH_M - STRAIGHT_M)
    return held.half_tip + (BUTT_RADIUS_M - held.half_tip) * min(max(share, 0.0), 1.0)


def tip_front(held: Held) -> float:
    """How far [m] the tip's front is behind the ball's centre, along the cue."""
    forward = math.sqrt(max(0.0, 1.0 - held.left * held.left - held.up * held.up))
    return (held.radius + held.crown) * forward - held.crown


def axis_at(held: Held, elevation: float, behind: float) -> tuple[float, float]:
    """The cue's axis ``behind`` [m] the ball's centre along the cue: (back, height over the bed) [m].

    The axis goes through the centre of the tip's crown, so it is
    (R + crown) up off the ball's centre.
    """
    above = (held.radius + held.crown) * held.up
    c, s = math.cos(elevation), math.sin(elevation)
    return behind * c - above * s, held.radius + above * c + behind * s


def clears(held: Held, elevation: float, obstacle: Obstacle) -> bool:
    """True if the underside of the cue passes over an obstacle, or the cue does not reach so far."""
    above = (held.radius + held.crown) * held.up
    c, s = math.cos(elevation), math.sin(elevation)
    front = tip_front(held)
    along = max(0.0, (obstacle.back + above * s) / c - front)  # the tip itself stands over a nose it has passed
    if along > CUE_LENGTH_M:
        return True
    return axis_at(held, elevation, front + along)[1] - thickness_at(held, along) / c >= obstacle.height


def clears_ball(held: Held, elevation: float, ball: Sphere) -> bool:
    """True if the cue passes a ball over or beside it."""
    aside = (held.radius + held.crown) * held.left - ball.left
    if ball.back < 0.0 or abs(aside) > ball.radius + BUTT_RADIUS_M:
        return True
    above, front = (held.radius + held.crown) * held.up, tip_front(held)
    c, s = math.cos(elevation), math.sin(elevation)
    rise = ball.radius - held.radius  # of its centre over the struck ball's
    along = min(max(ball.back * c + rise * s - front, 0.0), CUE_LENGTH_M)  # where the cue is nearest to it
    over = rise * c - ball.back * s - above
    beyond = ball.back * c + rise * s - front - along
    return math.sqrt(beyond**2 + aside**2 + over**2) >= ball.radius + thickness_at(held, along)


def least_elevation(held: Held, rails: Iterable[Obstacle], balls: Iterable[Sphere]) -> tuple[float, str]:
    """The least elevation [rad] from which on the cue clears everything, and what forces it; inf if none does.

    0 and an empty word where a level cue is free.
    """
    least, what = 0.0, ""
    found: list[tuple[Callable[[float], bool], str]] = [(partial(clears, held, obstacle=o), o.what) for o in rails]
    found += [(partial(clears_ball, held, ball=b), b.what) for b in balls]
    for free, name in found:
        if free(least):
            continue
        if not free(STEEPEST):
            return math.inf, name
        least, what = narrowed(free, least, STEEPEST, CLOSE_RAD)[1], name
    return least, what


def rails_behind(x: float, y: float, heading: float, length: float, width: float, nose_height: float) -> list[Obstacle]:
    """What a cue along ``heading`` [rad] at a ball in (x, y) [m] crosses of the rails of a bed of that size."""
    bx, by = -math.cos(heading), -math.sin(heading)
    found = []
    for gap, across, name in (
        (x, -bx, "head rail"), (length - x, bx, "foot rail"), (y, -by, "right rail"), (width - y, by, "left rail")
    ):  # fmt: skip
        if across > 1e-6:
            found += [
                Obstacle((gap + beyond) / across, height, name)
                for beyond, height in ((0.0, nose_height), (SLOPE_M, RAIL_TOP_M), (RAIL_WIDTH_M, RAIL_TOP_M))
            ]
    return [one for one in found if one.back <= CUE_LENGTH_M + 0.1]


def ball_behind(x: float, y: float, heading: float, radius: float, what: str) -> Sphere:
    """A ball at (x, y) [m] from the struck ball, as the cue along ``heading`` [rad] sees it."""
    c, s = math.cos(heading), math.sin(heading)
    return Sphere(-(x * c + y * s), y * c - x * s, radius, what)
