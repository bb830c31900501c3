"""The steps in which the tip is moved by tips."""

from __future__ import annotations

import math

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.study.tips import SAME_TIPS, offset_of_tips, tips_of


def offset_stepped(scenario: Scenario, take: Take, offset: float, step_tips: float, way: int) -> float:
    """The offset [ball radii] at the next whole number of steps [tips], up (1), down (-1), or as it is (0)."""
    if way == 0:
        return offset
    steps = way * tips_of(scenario, take, offset) / step_tips
    return offset_of_tips(scenario, take, way * (math.floor(steps + SAME_TIPS / step_tips) + 1) * step_tips)
