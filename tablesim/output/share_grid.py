"""Other strokes for a page: the chosen take at other paces, with other cues and other side, each worked out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tablesim.errors import TablesimError
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.study.answer import Answer, answer_take
from tablesim.study.correct import without_answer
from tablesim.units import clock_from_offset, english_percent, number

from .share_data import aim_data, figure_texts, legs_data

PACES = (0.8, 1.2, 1.6, 2.0, 2.6, 3.3, 4.2, 5.4, 7.0)  # m/s: soft to hard, each about a third more; ours
SIDES = (-0.5, -0.25, 0.0, 0.25, 0.5)  # ball radii right of centre: the trade's full and half english
MOST_CUES = 8
SAME_PACE, SAME_SIDE = 0.04, 0.02  # an own pace within this share of another, an own side so near one, stands for it


def paces_about(own: float) -> list[float]:
    """The paces [m/s] that are worked out, the take's own among them."""
    return sorted([own, *(pace for pace in PACES if abs(pace - own) > SAME_PACE * own)])


def sides_about(own: float) -> list[float]:
    """The places of the tip [radii right of centre] that are worked out, the take's own among them."""
    return sorted([own, *(side for side in SIDES if abs(side - own) > SAME_SIDE)])


def cues_about(scenario: Scenario, take: Take) -> list[str]:
    """The cues of the scenario, the take's own among them, at most MOST_CUES."""
    own = scenario.cue_name_of(take)
    others = [name for name in scenario.cues if name != own][: MOST_CUES - 1]
    return [name for name in scenario.cues if name == own or name in others]


def count(scenario: Scenario, take: Take) -> int:
    """How many strokes are worked out."""
    return len(paces_about(take.pace_m_s)) * len(sides_about(take.tip.right)) * len(cues_about(scenario, take))


def others_data(scenario: Scenario, take: Take, tell: Callable[[], object]) -> dict[str, Any]:
    """The strokes about a take, pace running fastest, then side, then cue; ``tell`` is called after each."""
    paces, sides, cues = paces_about(take.pace_m_s), sides_about(take.tip.right), cues_about(scenario, take)
    cells = []
    for cue in cues:
        for side in sides:
            for pace in paces:
                cells.append(cell_data(scenario, stroke(take, cue, side, pace)))
                tell()
    return {
        "take": take.name, "paces": paces, "sides": [side_words(side) for side in sides], "cues": cues,
        "own": [cues.index(scenario.cue_name_of(take)), sides.index(take.tip.right), paces.index(take.pace_m_s)],
        "height": height_words(take), "left_out": len(scenario.cues) - len(cues), "cells": cells,
    }  # fmt: skip


def stroke(take: Take, cue: str, side: float, pace: float) -> Take:
    """The take played otherwise; not a take of the scenario, and held to no rule but the laws'."""
    tip = take.tip.model_copy(update={"right": side})
    return take.model_copy(update={"cue": cue, "tip": tip, "pace_m_s": pace})


def cell_data(scenario: Scenario, take: Take) -> dict[str, Any]:
    """One stroke: its figures, first legs as aimed and as corrected, and where to aim."""
    try:
        answer = answer_take(scenario, take)
    except TablesimError as trouble:  # an impact that has no answer: told, and nothing drawn
        reason = without_answer(take, scenario.cue_name_of(take), str(trouble))
        answer = Answer(take, None, reason, None, str(trouble))
    return {
        "figures": figure_texts(scenario, answer),
        "aimed": legs_data(scenario, answer.aimed),
        "corrected": legs_data(scenario, answer.corrected),
        "aim": aim_data(scenario, answer.correction),
    }


def side_words(right: float) -> str:
    """A place of the tip as it is said: 60 % left."""
    return "no side" if abs(right) < 1e-9 else f"{abs(english_percent(right)):.0f} % {'right' if right > 0 else 'left'}"


def height_words(take: Take) -> str:
    """What stays as in the take, in words."""
    up = take.tip.up
    height = "centre height" if clock_from_offset(0.0, up) == "centre" else (
        f"{number(abs(english_percent(up)), 0)} % {'above' if up > 0 else 'below'} centre"
    )  # fmt: skip
    return f"tip at {height}, {take.stroke} stroke"
