"""The live answers, in the order in which a person needs them: one step each.

A new one is a function of what is known so far, and an entry in STEPS.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tablesim.errors import TablesimError
from tablesim.physics import jit
from tablesim.study.answer import Answer, answer_take
from tablesim.study.explain import Explanation, explain_take
from tablesim.study.neutral import PaceMarks, pace_marks
from tablesim.study.results import Result

from .findings import Findings, Step
from .outcomes import Known, further_results, known_results


def _answers(known: Findings, newer: Callable[[], bool]) -> dict[int, Answer]:
    scenario, chosen = known.question.scenario, known.question.chosen
    wanted = (chosen, *(k for k in known.question.takes if k != chosen))
    return {i: answer_take(scenario, scenario.takes[i]) for i in wanted if i < len(scenario.takes)}


def _explanation(known: Findings, newer: Callable[[], bool]) -> Explanation | None:
    scenario, chosen = known.question.scenario, known.question.chosen
    answer = known[ANSWERS].get(chosen)
    if scenario.target is None or answer is None:
        return None
    try:
        return explain_take(scenario, scenario.takes[chosen], answer.correction, answer.aimed)
    except TablesimError:
        return None


def _marks(known: Findings, newer: Callable[[], bool]) -> PaceMarks | None:
    scenario, chosen = known.question.scenario, known.question.chosen
    if scenario.target is None or chosen not in known[ANSWERS] or jit.engine() is jit.plain():
        return None
    try:
        return pace_marks(scenario, scenario.takes[chosen], newer)
    except TablesimError:
        return None


_MEMORY = Known()  # what the quiet moments before have found out


def _results(known: Findings, newer: Callable[[], bool]) -> dict[int, Result]:
    return known_results(_MEMORY, known[ANSWERS], known)


def _more_results(known: Findings, newer: Callable[[], bool]) -> dict[int, Result] | None:
    return further_results(_MEMORY, known, newer)


ANSWERS = Step("answers", _answers)  # paths and corrections of the takes shown, by their places
EXPLANATION = Step("explanation", _explanation)  # why the chosen take misses
MARKS = Step("marks", _marks, quiet=True, stays=True)  # of the pace ruler
RESULTS = Step("results", _results)  # in brief, of the takes shown and of all others known, by their places
MORE_RESULTS = Step("results", _more_results, quiet=True, again=True)  # of the other takes, under the same name
STEPS: tuple[Step[Any], ...] = (ANSWERS, EXPLANATION, RESULTS, MARKS, MORE_RESULTS)
