"""What becomes of the takes of a layout, one beside the other: as aimed, and by the aim that works."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tablesim.model.scenario import Scenario, Which
from tablesim.model.shot import Take
from tablesim.units import english_percent

from .answer import Answer, answer_take
from .columns_text import csv_text
from .correct import Correction
from .landing import Landing, rest_words
from .prediction import CueBallFinding, TargetFinding
from .went import fate_words, place_words, spoken_pocket


@dataclass(frozen=True)
class Result:
    """A take in brief.

    ``target`` and ``cue_ball`` as aimed, None where the aim names no line
    (``trouble`` says why); ``zones``: whether the cue ball stops in them;
    ``correction`` is None without a target.
    """

    take: Take
    cue: str
    target: TargetFinding | None
    cue_ball: CueBallFinding | None
    zones: tuple[Landing, ...]
    correction: Correction | None
    trouble: str | None


def result_of(scenario: Scenario, answer: Answer) -> Result:
    """The brief of an answer, which leaves the tracks behind."""
    aimed, cue = answer.aimed, scenario.cue_name_of(answer.take)
    if aimed is None:
        return Result(answer.take, cue, None, None, (), answer.correction, answer.trouble)
    return Result(answer.take, cue, aimed.target, aimed.cue_ball, aimed.zones, answer.correction, answer.trouble)


def compare(scenario: Scenario, take: Which = None) -> tuple[Result, ...]:
    """Every take in brief, or the one that is named or stated; NameUnknown for a take that is not there.

    >>> found = ts.compare(ts.open_scenario("two-cues"), "wood, soft")[0]
    >>> found.target.outcome, round(found.target.miss_mm), round(found.correction.aim_offset_mm)
    ('missed', 176, -181)
    """
    return tuple(result_of(scenario, answer_take(scenario, played)) for played in scenario.takes_for(take))


def as_aimed_words(result: Result) -> str:
    """What becomes of the target ball as aimed; where it goes in, not where it crosses the mouth line."""
    if result.target is None:
        return result.trouble or ""
    return fate_words(result.target) if result.target.outcome == "potted" else place_words(result.target)


def cue_ball_end_words(scenario: Scenario, result: Result) -> str:
    """Where the cue ball ends as aimed: a scratch, beside which zone, or in diamonds; empty where it stays."""
    cue_ball = result.cue_ball
    if cue_ball is None:
        return ""
    if cue_ball.pocket:
        return f"scratch, {spoken_pocket(cue_ball.pocket)}"
    return rest_words(scenario, cue_ball.outcome, cue_ball.end_m, result.zones)


CSV_HEADER = (
    "take", "cue", "stroke", "pace_m_s", "english_right_percent", "tip_up_percent", "as_aimed", "miss_left_mm",
    "aim_left_mm", "turn_left_deg", "room_mm", "room_deg", "cue_ball", "cue_ball_x_m", "cue_ball_y_m", "note",
)  # fmt: skip


def results_csv(scenario: Scenario, found: Sequence[Result]) -> str:
    """The table for a spreadsheet: a row a take, units in the header, left +, right and up as named."""
    return csv_text(CSV_HEADER, csv_rows(scenario, found))


def csv_rows(scenario: Scenario, found: Sequence[Result]) -> list[list[str | float | None]]:
    """Its rows, in the order of CSV_HEADER; None where there is no number, or nothing to note."""
    return [_csv_row(scenario, result) for result in found]


def _csv_row(scenario: Scenario, result: Result) -> list[str | float | None]:
    take, target, aim = result.take, result.target, result.correction
    end = result.cue_ball.end_m if result.cue_ball is not None else None
    x, y = end if end is not None else (None, None)
    return [
        take.name, result.cue, take.stroke, take.pace_m_s,
        *(_rounded(english_percent(v), 1) for v in (take.tip.right, take.tip.up)),
        as_aimed_words(result), None if target is None else _rounded(target.miss_mm, 2),
        *(_rounded(v, digits) for v, digits in _aim_numbers(aim)),
        cue_ball_end_words(scenario, result), _rounded(x, 4), _rounded(y, 4),
        (aim.reason or aim.warning) if aim is not None else None,
    ]  # fmt: skip


def _aim_numbers(aim: Correction | None) -> tuple[tuple[float | None, int], ...]:
    """Aim, turn, room at the pocket, room as an angle: the numbers and their digits."""
    if aim is None:
        return ((None, 0),) * 4
    return (aim.aim_offset_mm, 2), (aim.turn_deg, 4), (aim.window_mm, 2), (aim.window_deg, 4)


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits) + 0.0
