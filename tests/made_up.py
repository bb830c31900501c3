"""Laws made up by hand for the search for headings and windows: what a stroke along a heading does is a formula."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tablesim.physics import headings as h
from tablesim.physics import potting as w
from tablesim.physics.aim import Mouth
from tablesim.physics.headings import HITS, Hits
from tablesim.physics.trial import MISSES, NOT_REACHED, POTS, Trial

NAN = math.nan
GATE = Mouth(0.0, 0.0, 1.0, 0.0, 0.06)
FAR_M = 2.0  # of the target ball from its gate


class Law:
    """What a stroke does: it pots within runs, its miss is that of a formula, and outside ``met`` nothing is met."""

    def __init__(
        self,
        *runs: tuple[float, float],
        miss: float = NAN,
        met: tuple[float, float] = (-9.0, 9.0),
        bend: float = 0.0,
        curve_m: float = 0.0,
    ) -> None:
        self.runs, self.centre, self.met, self.bend, self.curve_m = runs, miss, met, bend, curve_m
        self.tried: list[float] = []
        self.whole: set[bool] = set()  # whether strokes were played by any way, not by the direct one alone

    def pots(self, heading: float) -> bool:
        """Whether a heading lies in a run, whole turns aside."""
        return any(low <= heading <= high for low, high in self.runs)

    def __call__(self, run: Any, shot: Any, heading: float, whole: bool, setup: Any) -> Trial:
        self.tried.append(heading)
        self.whole.add(whole)
        if not self.met[0] < heading < self.met[1]:
            return Trial(NOT_REACHED, NAN, NAN, -1, 0)
        off = heading - self.centre
        miss = off + self.bend * off**3
        return Trial(POTS if self.pots(heading) else MISSES, FAR_M * math.tan(miss) + self.curve_m, miss, -1, 0)


def use(patch: pytest.MonkeyPatch, law: Law) -> Law:
    """Play by that law from now on."""
    for module in (h, w):
        patch.setattr(module, "try_heading", law)
        patch.setattr(module, "gate_for", lambda shot, setup: GATE)
    patch.setattr(h, "to_gate", lambda shot, gate: FAR_M)
    return law


NO: Any = None  # run, shot and setup, which a made-up law needs not


def hits_of(law: Law, low: float = -0.4, high: float = 0.4, frozen: bool = False) -> Hits:
    """Hits at even distances, as that law has them."""
    headings = np.linspace(low, high, HITS + 1)
    trials = [law(NO, NO, float(heading), False, NO) for heading in headings]
    law.tried.clear()
    return Hits(
        headings, np.array([t.direction for t in trials]), np.array([t.crossing for t in trials]), 0, 0, -1, frozen
    )
