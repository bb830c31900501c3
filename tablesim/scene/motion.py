"""How balls have turned as they slid, rolled and bounced: the true angular velocity, added up.

A ball's orientation is a matrix ``R`` (3, 3) with ``R @ body = table``; it obeys
``dR/dt = [w] R``.  Between events ``w`` changes at constant rates, so each step
is an exact rotation about its mean axis, with the next term of Magnus's series
(1954) for an axis that itself turns.  Where the axis stands still, as when a
ball rolls along a line, a step of any length is exact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tablesim.physics import columns as e
from tablesim.physics.constants import POTTED, REST
from tablesim.physics.simulation import Track

Array = NDArray[np.float64]

STEP_S = 1.0 / 400.0  # a ball struck hard turns by 1 rad in it
MAX_STEPS = 40_000  # of one ball; a longer track takes longer steps
SMALL = 1e-12


@dataclass(frozen=True, eq=False)
class Turning:
    """One ball's orientation at nodes in time.

    ``times`` (n,) [s], each with the ``spans`` (n,) [s] in which the ball turns
    from it on; ``turns`` (n, 4) unit quaternions, scalar first; ``spin`` (n, 3)
    and ``rate`` (n, 3): angular velocity [rad/s] at the start of a span and its
    rate [rad/s^2]; the sidespin's own ``decay`` [rad/s^2] comes on top.
    """

    times: Array
    spans: Array
    turns: Array
    spin: Array
    rate: Array
    decay: float

    def turns_by(self, t: float) -> bool:
        """True if the ball has begun to turn by a time [s]."""
        return bool(t > self.times[0] and self.spans[0] > 0.0)

    def at(self, t: float) -> Array:
        """Orientation (3, 3) at a time [s]; before the strike as it lay, after the end as it ended."""
        k = max(int(np.searchsorted(self.times, t, side="right")) - 1, 0)
        h = min(max(t - float(self.times[k]), 0.0), float(self.spans[k]))
        (x, y, z), (dx, dy, _) = self.spin[k].tolist(), self.rate[k].tolist()
        x, y = x + 0.5 * h * dx, y + 0.5 * h * dy
        z = math.copysign(max(abs(z) - 0.5 * h * self.decay, 0.0), z)
        speed = math.sqrt(x * x + y * y + z * z)
        half = 0.5 * h * speed
        s = math.sin(half) / speed if speed > 0.0 else 0.0
        a, b, c, d = math.cos(half), s * x, s * y, s * z
        w, x, y, z = self.turns[k].tolist()
        return matrix(
            a * w - b * x - c * y - d * z, a * x + b * w + c * z - d * y,
            a * y - b * z + c * w + d * x, a * z + b * y - c * x + d * w,
        )  # fmt: skip


def matrix(w: float, x: float, y: float, z: float) -> Array:
    """Rotation matrix (3, 3) of a quaternion, whatever its length."""
    n = 2.0 / (w * w + x * x + y * y + z * z)
    return np.array([
        [1.0 - n * (y * y + z * z), n * (x * y - w * z), n * (x * z + w * y)],
        [n * (x * y + w * z), 1.0 - n * (x * x + z * z), n * (y * z - w * x)],
        [n * (x * z - w * y), n * (y * z + w * x), 1.0 - n * (x * x + y * y)],
    ])  # fmt: skip


def _product(a: Array, b: Array) -> Array:
    """Quaternion products (n, 4): first ``b``, then ``a``; kept at unit length."""
    aw, ax, ay, az = a.T
    bw, bx, by, bz = b.T
    found = np.stack([
        aw * bw - ax * bx - ay * by - az * bz,
        aw * bx + ax * bw + ay * bz - az * by,
        aw * by - ax * bz + ay * bw + az * bx,
        aw * bz + ax * by - ay * bx + az * bw,
    ], axis=1)  # fmt: skip
    length: Array = np.sqrt((found * found).sum(axis=1, keepdims=True))
    unit: Array = found / length
    return unit


def _rotation(spin: Array, rate: Array, h: Array, decay: float) -> Array:
    """Unit quaternions (n, 4) of steps of ``h`` (n,) seconds from angular velocities ``spin`` at rates ``rate``."""
    side = spin[:, 2]
    lasting = np.minimum(h, np.abs(side) / decay) if decay > 0.0 else h
    turned = h[:, None] * (spin + 0.5 * h[:, None] * rate)
    turned[:, 2] = np.sign(side) * (np.abs(side) - 0.5 * decay * lasting) * lasting
    later = spin + h[:, None] * rate
    later[:, 2] = np.sign(side) * (np.abs(side) - decay * lasting)
    vector = turned + (h[:, None] / 12.0) * np.cross(later - spin, turned)
    angle = np.sqrt((vector * vector).sum(axis=1))
    sinc = 0.5 * np.sinc(angle / (2.0 * math.pi))
    return np.column_stack([np.cos(0.5 * angle), sinc[:, None] * vector])


def _running(turns: Array) -> Array:
    """Products of all quaternions up to each, the latest on the left, by doubling."""
    found, reach = turns.copy(), 1
    while reach < len(found):
        found[reach:] = _product(found[reach:], found[:-reach])
        reach *= 2
    return found


@lru_cache(maxsize=160)
def turning_of(track: Track, ball: int) -> Turning:
    """How a ball of a track turns from the strike to its end."""
    rows = track.pieces_of(ball)
    decay = track.setup.laws.cloth.spin_deceleration
    # A piece lasts to the next; one of a ball at rest or in a pocket turns nothing.
    lasting = np.append(rows[1:, e.T0], min(float(rows[-1, e.T_END]), track.end_time)) - rows[:, e.T0]
    turning = (rows[:, e.PHASE] != POTTED) & (rows[:, e.PHASE] != REST) & (lasting > SMALL)
    rows, lasting = rows[turning], lasting[turning]
    if not len(rows):
        none = np.zeros((1, 3))
        return Turning(np.zeros(1), np.zeros(1), np.array([[1.0, 0.0, 0.0, 0.0]]), none, none, decay)
    step = max(STEP_S, float(lasting.sum()) / MAX_STEPS)
    counts = np.maximum(1, np.ceil(lasting / step)).astype(np.int64)
    which = np.repeat(np.arange(len(rows)), counts)
    nth = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
    h = (lasting / counts)[which]
    since, p = nth * h, rows[which]
    rate = np.column_stack([p[:, e.BX], p[:, e.BY], np.zeros(len(p))])
    spin = p[:, [e.WX, e.WY, e.WZ]] + since[:, None] * rate
    spin[:, 2] = np.sign(p[:, e.WZ]) * np.maximum(np.abs(p[:, e.WZ]) - decay * since, 0.0)
    steps = _rotation(spin, rate, h, decay)
    before = np.vstack([[[1.0, 0.0, 0.0, 0.0]], steps[:-1]])
    return Turning(p[:, e.T0] + since, h, _running(before), spin, rate, decay)


def orientation(track: Track, ball: int, t: float) -> Array:
    """How a ball has turned by time ``t`` [s] since it lay with its number up: matrix (3, 3), body to table."""
    return turning_of(track, ball).at(t)
