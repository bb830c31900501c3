"""What the kernels hand to each other: arrays by their shape, and records with names.

Every record is a NamedTuple, so that it runs plain and compiled alike.
Metres, m/s, rad/s, seconds, kilograms; axes of the package docstring.
"""

from __future__ import annotations

from typing import Annotated, NamedTuple

import numpy as np
from numpy.typing import NDArray

# Arrays in C order, by element and number of axes: what jit.py tells numba.
Vector = Annotated[NDArray[np.float64], ("float64", 1)]
Matrix = Annotated[NDArray[np.float64], ("float64", 2)]
Counts = Annotated[NDArray[np.int64], ("int64", 1)]
Pairs = Annotated[NDArray[np.int64], ("int64", 2)]


class BallState(NamedTuple):
    """One ball at one instant: place of its centre, velocity, and spin about its own axes."""

    x: float
    y: float
    vx: float
    vy: float
    wx: float
    wy: float
    wz: float


class Motion(NamedTuple):
    """Phase of a ball (constants.py) and its constant rates until that phase ends.

    Acceleration (ax, ay) [m/s^2], rate of spin (bx, by) [rad/s^2], ``duration``
    [s], inf for a phase that never ends.
    """

    phase: int
    ax: float
    ay: float
    bx: float
    by: float
    duration: float


class ClothLaw(NamedTuple):
    """Sliding friction, rolling resistance (deceleration / g), sidespin lost per second [rad/s^2], gravity [m/s^2]."""

    mu_s: float
    mu_r: float
    spin_deceleration: float
    gravity: float


class BallLaw(NamedTuple):
    """Ball on ball: restitution, and friction condition (a + b exp(-c v)) with c [s/m] and condition 1 for clean."""

    restitution: float
    a: float
    b: float
    c: float
    condition: float


class RailLaw(NamedTuple):
    """Ball on a nose, or on a pocket's facings and points: energetic restitution and friction."""

    restitution: float
    friction: float


class Laws(NamedTuple):
    """The numbers of the gear that the laws use."""

    cloth: ClothLaw
    balls: BallLaw
    rails: RailLaw
    facings: RailLaw


class Edge(NamedTuple):
    """The table's edge: the sides [m] of the rectangle of the noses, and the tables of numbers of edge.py."""

    length: float
    width: float
    lines: Matrix
    arcs: Matrix
    drops: Matrix
    mouths: Matrix


class Setup(NamedTuple):
    """What stands still while balls move.

    ``balls`` (n, 4): mass, radius, nose distance R cos(theta), sin(theta) of
    each (columns.py).
    """

    balls: Matrix
    laws: Laws
    edge: Edge


class Run(NamedTuple):
    """A shot being run: all that the engine writes to, for n balls.

    ``state`` (n, 14): each ball's present piece of motion; ``clock`` (1,): time
    reached; ``pair_times`` (n, n) and ``edge_times`` (n, 3): the contacts ahead;
    ``pieces`` and ``events``: the track, filled up to ``counts`` (3,); ``now``
    (n, 7) and ``pairs`` (3n, 2): room to work in; ``settles`` (n, 2): how often each
    ball has settled of late (wedge.py).  Columns: columns.py.
    """

    state: Matrix
    clock: Vector
    pair_times: Matrix
    edge_times: Matrix
    pieces: Matrix
    events: Matrix
    counts: Counts
    now: Matrix
    pairs: Pairs
    settles: Matrix
