"""How a shot is set up, in the numbers by which one is asked for: how far the balls are apart, how thin the cut."""

from __future__ import annotations

import math

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.study.setup import plain_cut
from tablesim.units import DIAMONDS_LONG, INCH_M

FOOT_M = 12.0 * INCH_M
STRAIGHT_DEG = 0.5


def staged_words(scenario: Scenario, unit: str) -> str:
    """From centre to centre of cue ball and target ball, in the person's unit, and the cut to the pocket's centre."""
    if scenario.target is None:
        return "no target ball"
    apart = math.dist(scenario.balls[CUE_BALL], scenario.balls[scenario.target.ball])
    diamond = scenario.table.surface.length_m / DIAMONDS_LONG
    far = {"inch": f"{apart / FOOT_M:.2f} ft", "diamond": f"{apart / diamond:.2f} diamonds"}.get(unit, f"{apart:.2f} m")
    cut = math.degrees(plain_cut(scenario))
    side = "left" if cut > 0.0 else "right"
    told = "straight in" if abs(cut) < STRAIGHT_DEG else f"a cut of {abs(cut):.0f}° to the {side}"
    return f"{far} from the cue ball to ball {scenario.target.ball}, {told}"
