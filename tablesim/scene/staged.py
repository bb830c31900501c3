"""How a shot is set up, in the numbers by which one is asked for: how far the balls are apart, how thin the cut."""

from __future__ import annotations

import math

from tablesim.model.scenario import Scenario
from tablesim.study.setup import apart_m, plain_cut
from tablesim.units import cut_told, far_words


def staged_far(scenario: Scenario, unit: str) -> str:
    """From centre to centre of cue ball and target ball, in the person's unit; AimImpossible without a target."""
    return far_words(apart_m(scenario), unit, scenario.table.diamond_m)


def staged_cut(scenario: Scenario, short: bool = False) -> str:
    """The cut to the pocket's centre; AimImpossible without a target."""
    return cut_told(math.degrees(plain_cut(scenario)), short)


def staged_words(scenario: Scenario, unit: str) -> str:
    """Both, in a few words."""
    if scenario.target is None:
        return "no target ball"
    far, cut = staged_far(scenario, unit), staged_cut(scenario)
    return f"{far} from the cue ball to ball {scenario.target.ball}, {cut}"
