"""The takes of a scenario changed: no screen, no history."""

from __future__ import annotations

from typing import Any

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take

MOST_NAMES = 1000


def with_take_changed(scenario: Scenario, place: int, take: Take, **fields: Any) -> Scenario:
    """The take at a place, which looks like ``take``, with other fields; a scenario without takes gets it."""
    changed = Take.model_validate({**take.model_dump(exclude_none=True), **fields})
    takes = list(scenario.takes) or [changed]
    takes[place] = changed
    return scenario.change(takes=takes)


def with_copy(scenario: Scenario, take: Take) -> Scenario:
    """A copy of a take after the last one, under a name that is free."""
    names = {one.name for one in scenario.takes}
    name = next(f"take {k}" for k in range(len(names) + 1, MOST_NAMES) if f"take {k}" not in names)
    return scenario.change(takes=[*scenario.takes, take.model_copy(update={"name": name})])


def without_take(scenario: Scenario, place: int) -> Scenario:
    """One take less."""
    return scenario.change(takes=[take for i, take in enumerate(scenario.takes) if i != place])
