"""Where something turns, for Python.

Kernels have loops of their own: a compiled function cannot be handed another one
without losing speed, and each of theirs carries along what it learns on its way.
"""

from __future__ import annotations

import math
from collections.abc import Callable

SOLVED = 1e-12  # share of the bounds' distance at which a root is found
TRIALS = 200


def narrowed(holds: Callable[[float], bool | None], low: float, high: float, close: float) -> tuple[float, float]:
    """Two places ``close`` to each other where ``holds`` turns from false (it is at ``low``) to true (at ``high``).

    By bisection; a None from ``holds`` ends it at once.
    """
    for _ in range(math.ceil(math.log2(max(1.0, (high - low) / close)))):
        middle = 0.5 * (low + high)
        held = holds(middle)
        if held is None:
            break
        low, high = (low, middle) if held else (middle, high)
    return low, high


def root(f: Callable[[float], float], low: float, high: float) -> float:
    """Where a monotone function crosses zero in [low, high]: Illinois' form of false position."""
    a, b, fa, fb = low, high, f(low), f(high)
    for _ in range(TRIALS):
        if fa == 0.0 or fb == 0.0 or abs(b - a) <= SOLVED * (high - low):
            break
        x = b - fb * (b - a) / (fb - fa)
        fx = f(x)
        if (fx > 0.0) != (fb > 0.0):
            a, fa = b, fb
        else:
            fa *= 0.5
        b, fb = x, fx
    return a if fa == 0.0 else b
