"""A figure of the field and what the engine makes of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

# What a figure is worth as a test of the engine.
KINDS = {
    "derived": "rigid-body mechanics, worked out and integrated apart from the engine: it tests the code",
    "built in": "a figure that the engine was made from: it tests the code and says nothing of the world",
    "measured": "somebody measured it, and no default was fitted to it: it tests the model",
    "published": "a rule or an illustration in print, itself reckoned or chosen: it tests whether the model agrees",
    "practice": "what the trade says, no source: it tests the model",
}


@dataclass(frozen=True)
class Check:
    """What the source says, how near the engine must come, and what it gives.

    ``miss`` is why the engine is known to miss the figure, empty where it is to
    meet it.
    """

    name: str
    kind: str
    source: str
    expected: float
    tolerance: float
    unit: str
    value: Callable[[], float]
    miss: str = ""


@dataclass(frozen=True)
class Verdict:
    """A check that has been made; ``ok`` if the engine meets the figure, ``miss`` why not, where that is known."""

    name: str
    kind: str
    source: str
    expected: float
    tolerance: float
    unit: str
    value: float
    ok: bool
    miss: str

    @property
    def fails(self) -> bool:
        """True for a figure that the engine should meet and does not, or should miss and meets."""
        return self.ok == bool(self.miss)


def between(low: float, high: float) -> tuple[float, float]:
    """A published range as figure and tolerance."""
    return (low + high) / 2.0, (high - low) / 2.0
