"""When do moving balls meet?  First roots of exact polynomials, bracketed.

Between events every ball moves with constant acceleration, so the squared gap
between two balls is a quartic in time and the gap to a straight cushion a
quadratic.  A contact is the first moment at which such a gap falls through
zero.  The interval is cut at the extremes of the polynomial, so each piece is
monotone and its one root is found by Newton steps kept inside a bracket; a
near-grazing pair of roots cannot be stepped over.

Touching bodies that close slower than PART_M_S (rounding, or a ball held between
two others) are not in contact yet; where their closing speed grows, the contact
comes when it reaches PART_M_S.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .constants import PART_M_S, SINK_M
from .jit import kernel


class Course(NamedTuple):
    """A point's motion for ``horizon`` seconds: place [m], velocity [m/s], constant acceleration [m/s^2]."""

    x: float
    y: float
    vx: float
    vy: float
    ax: float
    ay: float
    horizon: float


@kernel
def quartic(c0: float, c1: float, c2: float, c3: float, c4: float, t: float) -> float:
    """c0 + c1 t + c2 t^2 + c3 t^3 + c4 t^4."""
    return c0 + t * (c1 + t * (c2 + t * (c3 + t * c4)))


@kernel
def bracketed_root(c0: float, c1: float, c2: float, c3: float, c4: float, low: float, high: float) -> float:
    """The root of a quartic in [low, high], where it is monotone and its ends have opposite signs."""
    rising = quartic(c0, c1, c2, c3, c4, high) > 0.0
    t = 0.5 * (low + high)
    for _ in range(200):
        value = quartic(c0, c1, c2, c3, c4, t)
        if value == 0.0:
            return t
        if (value > 0.0) == rising:
            high = t
        else:
            low = t
        slope = c1 + t * (2.0 * c2 + t * (3.0 * c3 + t * 4.0 * c4))
        step = -value / slope if slope != 0.0 else math.inf
        newton = t + step
        # Strictly inside, or the midpoint: Newton alone may leave the bracket or stall at its edge.
        following = newton if low < newton < high else 0.5 * (low + high)
        if following == t or following <= low or following >= high:
            return following
        if abs(following - t) <= 1e-16 * (1.0 + abs(t)):
            return following
        t = following
    return t


@kernel
def quadratic_roots(c0: float, c1: float, c2: float) -> tuple[float, float]:
    """Real roots of c0 + c1 t + c2 t^2 in ascending order; inf for each one missing."""
    if c2 == 0.0:
        return (-c0 / c1, math.inf) if c1 != 0.0 else (math.inf, math.inf)
    discriminant = c1 * c1 - 4.0 * c2 * c0
    if discriminant < 0.0:
        return math.inf, math.inf
    root = math.sqrt(discriminant)
    q = -0.5 * (c1 + root) if c1 >= 0.0 else -0.5 * (c1 - root)
    if q == 0.0:
        return 0.0, 0.0
    first, second = q / c2, c0 / q
    return (first, second) if first < second else (second, first)


@kernel
def quadratic_fall(c0: float, c1: float, c2: float, horizon: float) -> float:
    """First t in [0, horizon] at which c0 + c1 t + c2 t^2 falls through zero; inf if none.

    A value that starts at or below zero falls at once if it is decreasing, and
    otherwise only after it has turned: that moment is then returned.
    """
    if c0 <= 0.0:
        if c1 < 0.0 or (c1 == 0.0 and c2 < 0.0):
            return 0.0
        if c2 >= 0.0:
            return math.inf
    elif c1 >= 0.0 and c2 >= 0.0:
        return math.inf
    first, second = quadratic_roots(c0, c1, c2)
    if c2 < 0.0:
        turn = -0.5 * c1 / c2
        t = max(second, turn) if second < math.inf else turn
    else:
        t = first
    return t if 0.0 <= t <= horizon else math.inf


@kernel
def quartic_fall(c0: float, c1: float, c2: float, c3: float, c4: float, horizon: float) -> float:
    """First t in [0, horizon] at which a quartic falls through zero; inf if none.

    Starting at or below zero is treated as in :func:`quadratic_fall`.
    """
    if c0 <= 0.0 and (c1 < 0.0 or (c1 == 0.0 and c2 < 0.0)):
        return 0.0
    # Where the slope's own slope vanishes, the slope is monotone in between.
    bend_1, bend_2 = quadratic_roots(2.0 * c2, 6.0 * c3, 12.0 * c4)
    slope_low = c1
    low = 0.0  # start of the current stretch of monotone slope
    stretch = 0.0  # start of the current stretch of monotone value
    value = c0
    for piece in range(3):
        high = horizon
        if piece == 0:
            high = min(max(bend_1, 0.0), horizon)
        elif piece == 1:
            high = min(max(bend_2, 0.0), horizon)
        if high <= low:
            continue
        slope_high = c1 + high * (2.0 * c2 + high * (3.0 * c3 + high * 4.0 * c4))
        for part in range(2):
            end = high
            if part == 0:
                if (slope_low < 0.0) == (slope_high < 0.0):
                    continue
                end = bracketed_root(c1, 2.0 * c2, 3.0 * c3, 4.0 * c4, 0.0, low, high)
            end_value = quartic(c0, c1, c2, c3, c4, end)
            if end_value < value and end_value < 0.0:
                if value <= 0.0:
                    return stretch
                return bracketed_root(c0, c1, c2, c3, c4, stretch, end)
            stretch, value = end, end_value
        low, slope_low = high, slope_high
    return math.inf


@kernel
def place_after(point: Course, t: float) -> tuple[float, float]:
    """Where a point is after ``t`` seconds of its course."""
    return point.x + (point.vx + 0.5 * point.ax * t) * t, point.y + (point.vy + 0.5 * point.ay * t) * t


@kernel
def shortened_course(point: Course, horizon: float) -> Course:
    """The same course, followed for ``horizon`` seconds only."""
    return Course(point.x, point.y, point.vx, point.vy, point.ax, point.ay, horizon)


@kernel
def farthest(point: Course) -> float:
    """A distance [m] that the course cannot exceed."""
    speed, rate = abs(point.vx) + abs(point.vy), abs(point.ax) + abs(point.ay)
    return (speed + rate * point.horizon) * point.horizon


@kernel
def meeting_time(apart: Course, distance: float) -> float:
    """First time [s] at which two centres come within ``distance`` [m]; inf if they do not.

    ``apart`` is the course of one as seen from the other; its horizon is finite
    unless the relative motion is zero.
    """
    c0 = apart.x * apart.x + apart.y * apart.y - distance * distance
    c1 = 2.0 * (apart.x * apart.vx + apart.y * apart.vy)
    v2, a2 = apart.vx * apart.vx + apart.vy * apart.vy, apart.ax * apart.ax + apart.ay * apart.ay
    va = apart.vx * apart.ax + apart.vy * apart.ay
    if v2 == 0.0 and a2 == 0.0:
        return math.inf
    xa = apart.x * apart.ax + apart.y * apart.ay
    if c0 > 0.0:
        # Too far to be reached in time, or leaving without coming back.
        if c1 >= 0.0 and xa >= 0.0 and va >= 0.0:
            return math.inf
        reach = (math.sqrt(v2) + 0.5 * math.sqrt(a2) * apart.horizon) * apart.horizon + distance
        if apart.x * apart.x + apart.y * apart.y > reach * reach:
            return math.inf
    c2 = v2 + xa
    slow = 2.0 * distance * PART_M_S  # the slope of the squared gap at that closing speed
    if c0 <= 0.0 and -slow < c1 <= 0.0:
        if c2 < 0.0:
            wait = 0.5 * (-slow - c1) / c2
            return wait if wait <= apart.horizon else math.inf
        c0, c1 = 0.0, 0.0
    return quartic_fall(c0, c1, c2, va, 0.25 * a2, apart.horizon)


@kernel
def line_time(gap: float, nx: float, ny: float, ball: Course) -> float:
    """First time [s] at which a ball now ``gap`` [m] off a line with unit normal n (towards the ball) reaches it."""
    speed, half_rate = ball.vx * nx + ball.vy * ny, 0.5 * (ball.ax * nx + ball.ay * ny)
    if gap <= 0.0 and -PART_M_S < speed <= 0.0:
        if half_rate < 0.0:
            wait = 0.5 * (-PART_M_S - speed) / half_rate
            return wait if wait <= ball.horizon else math.inf
        # Too slow for a contact, unless the ball rolls on so long that it would sink in.
        turn = min(ball.horizon, -0.5 * speed / half_rate) if half_rate > 0.0 else ball.horizon
        return 0.0 if (speed + half_rate * turn) * turn < -SINK_M else math.inf
    return quadratic_fall(gap, speed, half_rate, ball.horizon)
