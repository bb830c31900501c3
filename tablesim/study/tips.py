"""The tip's offset by tips, as teachers count english: of a take's own cue, and in words."""

from __future__ import annotations

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.units import offset_from_tips, tips_from_offset

QUARTER = 0.25
SAME_TIPS = 0.005  # an offset this near a number of quarters is called by it
WORDS = {1: "a quarter tip", 2: "half a tip", 3: "three quarters of a tip", 4: "one tip"}  # by quarters


def tips_of(scenario: Scenario, take: Take, offset: float) -> float:
    """Tips of a take's own cue in a contact offset [ball radii]."""
    cue = scenario.cue_of(take)
    return tips_from_offset(offset, scenario.ball_set.radius_m(CUE_BALL), cue.tip_radius_m, cue.tip_diameter_m)


def offset_of_tips(scenario: Scenario, take: Take, tips: float) -> float:
    """Contact offset [ball radii] of that many tips of a take's own cue, to the micro-radius."""
    cue = scenario.cue_of(take)
    radius = scenario.ball_set.radius_m(CUE_BALL)
    return round(offset_from_tips(tips, radius, cue.tip_radius_m, cue.tip_diameter_m), 6) + 0.0


def tips_words(tips: float) -> str | None:
    """A number of tips in words, its sign left out; None if it is not a number of quarters, or none."""
    quarters = round(abs(tips) / QUARTER)
    if quarters == 0 or abs(abs(tips) - QUARTER * quarters) > SAME_TIPS:
        return None
    return WORDS.get(quarters, f"{quarters * QUARTER:g} tips")
