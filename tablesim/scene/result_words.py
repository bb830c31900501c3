"""The takes of a layout as a table of words, in the person's unit: what the window shows and a copy of it says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.study.change import percent_words
from tablesim.study.columns_text import aligned_text
from tablesim.study.correct import Correction
from tablesim.study.reading import correction_words, room_words
from tablesim.study.results import Result, as_aimed_words, cue_ball_end_words
from tablesim.units import diamonds_from_m, pace_word

from .aim_here import amount_words
from .words import MILLIMETRES, in_unit

UNKNOWN = "…"  # still being worked out


@dataclass(frozen=True)
class ResultColumn:
    """A column of the table: its heading, what it says, and its turn to go where there is little room, 1 the first.

    One in which all takes are alike goes before all others.
    """

    heading: str
    says: str
    goes: int


COLUMNS = (
    ResultColumn("take", "One way of playing this layout.", 9),
    ResultColumn("cue", "The cue it is played with.", 1),
    ResultColumn("stroke", "Smooth, or jabbed.", 6),
    ResultColumn("pace", "How fast the same stroke would send the ball on a level, centre hit.", 2),
    ResultColumn("english", "Side and height of the tip; 100 % is half-way from centre to edge.", 5),
    ResultColumn("as aimed", "What becomes of the ball by the take's own aim; a miss at the pocket's mouth.", 8),
    ResultColumn("aim that works", "Where the plain line of the aim that works crosses the mouth, from its centre.", 7),
    ResultColumn("room", "How far apart the aims lie that still pot.", 3),
    ResultColumn("cue ball", "Where it ends as aimed; diamonds from the head rail, then from the right rail.", 4),
)


@dataclass(frozen=True)
class Manner:
    """How a person wants numbers: the unit ("mm", "inch", "diamond"), and whether all of them."""

    unit: str = "mm"
    details: bool = False


def result_rows(scenario: Scenario, found: Mapping[int, Result], manner: Manner) -> tuple[tuple[str, ...], ...]:
    """A row a take, a cell a column; ``found`` by the takes' places, UNKNOWN where there is none yet."""
    return tuple(_row(scenario, take, found.get(i), manner) for i, take in enumerate(scenario.takes))


def results_text(scenario: Scenario, found: Mapping[int, Result], manner: Manner) -> str:
    """The table as text, columns one under the other."""
    return aligned_text([column.heading for column in COLUMNS], result_rows(scenario, found, manner))


def alike(rows: Sequence[Sequence[str]]) -> list[bool]:
    """For each column whether it says the same of all takes; never of one take alone."""
    return [len(rows) > 1 and len(set(cells)) == 1 for cells in zip(*rows, strict=True)]


def _row(scenario: Scenario, take: Take, result: Result | None, manner: Manner) -> tuple[str, ...]:
    pace = f"{pace_word(take.pace_m_s)}, {take.pace_m_s:.1f} m/s" if manner.details else pace_word(take.pace_m_s)
    stroke = "jabbed" if take.stroke == "jab" else "smooth"
    return take.name, scenario.cue_name_of(take), stroke, pace, _tip(take), *_outcome(scenario, result, manner)


def _tip(take: Take) -> str:
    told = [percent_words(take.tip.right, "right", "left")]
    if take.tip.up:
        told.append(percent_words(take.tip.up, "high", "low"))
    return ", ".join(told)


def _outcome(scenario: Scenario, result: Result | None, manner: Manner) -> tuple[str, str, str, str]:
    if result is None:
        return ("" if scenario.target is None else UNKNOWN,) * 3 + (UNKNOWN,)
    aim = result.correction
    works, room = ("", "") if aim is None else (_aim_that_works(aim, manner.unit), room_words(aim))
    ends = cue_ball_end_words(scenario, result)
    fate, works, room, ends = (
        _in_persons_unit(scenario, words, manner.unit) for words in (as_aimed_words(result), works, room, ends)
    )
    return fate, works, room, ends


def _aim_that_works(aim: Correction, unit: str) -> str:
    return correction_words(aim) if aim.aim_offset_mm is None else amount_words(aim, unit)


def _in_persons_unit(scenario: Scenario, words: str, unit: str) -> str:
    """Millimetres in words as inches or diamonds."""
    if unit != "diamond":
        return in_unit(words, unit)
    length = scenario.table.surface.length_m
    return MILLIMETRES.sub(lambda mm: f"{diamonds_from_m(float(mm[1]) / 1000.0, length):.2f} diamonds", words)
