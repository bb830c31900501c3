"""The results of all takes, those not shown included: what is known of them stays for as long as the layout does."""

from __future__ import annotations

import time
from collections.abc import Callable

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.physics import jit
from tablesim.study.answer import Answer, answer_take
from tablesim.study.results import Result, result_of

from .findings import Findings

CHUNK_S = 0.25  # of work, after which what has been found is handed out


class Known:
    """Results by take, of one layout with its gear: another one lets all of them go."""

    def __init__(self) -> None:
        self._layout: Scenario | None = None
        self._results: dict[Take, Result] = {}

    def of(self, scenario: Scenario) -> dict[Take, Result]:
        """What is known of a scenario's takes, to be added to."""
        layout = scenario.model_copy(update={"takes": [], "title": "", "notes": ""})
        if layout != self._layout:
            self._layout, self._results = layout, {}
        wanted = set(scenario.takes)
        self._results = {take: result for take, result in self._results.items() if take in wanted}
        return self._results


def _by_place(scenario: Scenario, known: dict[Take, Result]) -> dict[int, Result]:
    return {i: known[take] for i, take in enumerate(scenario.takes) if take in known}


def known_results(memory: Known, answers: dict[int, Answer], known: Findings) -> dict[int, Result]:
    """Results of the takes just answered and of those known from before, by their places."""
    scenario = known.question.scenario
    mine = memory.of(scenario)
    mine |= {scenario.takes[i]: result_of(scenario, answer) for i, answer in answers.items()}
    return _by_place(scenario, mine)


def further_results(memory: Known, known: Findings, newer: Callable[[], bool]) -> dict[int, Result] | None:
    """Some takes more, by their places with all that is known; None where none is missing or the engine is to come."""
    scenario = known.question.scenario
    mine, until = memory.of(scenario), time.monotonic() + CHUNK_S
    missing = [take for take in dict.fromkeys(scenario.takes) if take not in mine]
    if not missing or (jit.engine() is jit.plain() and jit.wanted() and jit.refusal() is None):
        return None
    for take in missing:
        if newer() or time.monotonic() > until:
            break
        mine[take] = result_of(scenario, answer_take(scenario, take))
    return _by_place(scenario, mine)
