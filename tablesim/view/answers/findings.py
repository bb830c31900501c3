"""What the window asks and what is known so far: a question, and findings that steps add one by one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Generic, TypeVar, cast

from tablesim.model.scenario import Scenario

T = TypeVar("T")
Found = TypeVar("Found", covariant=True)


@dataclass(frozen=True)
class Question:
    """A scenario, the take chosen and the takes shown with it."""

    version: int
    scenario: Scenario
    chosen: int
    takes: tuple[int, ...]


@dataclass(frozen=True)
class Step(Generic[Found]):
    """One thing that is found out: its name, and how it is found from what is known so far.

    ``find(known, newer)`` gives None where there is nothing to find;
    ``newer()`` tells it that another question waits and that it may give up.
    A ``quiet`` step waits until no question has come for a while; one to be
    asked ``again`` finds a part at a time, until there is nothing more.  What
    ``stays`` is shown on, for the same take, until there is a new one.
    """

    name: str
    find: Callable[[Findings, Callable[[], bool]], Found | None]
    quiet: bool = False
    again: bool = False
    stays: bool = False


@dataclass(frozen=True, eq=False)
class Findings:
    """What is known so far about a question, by the names of the steps, and how long the first of them took [s]."""

    question: Question
    found: Mapping[str, object] = field(default_factory=dict)
    seconds: float = 0.0

    def get(self, step: Step[T]) -> T | None:
        """What a step has found; None if it has not, yet."""
        return cast("T | None", self.found.get(step.name))

    def __getitem__(self, step: Step[T]) -> T:
        """What a step has found; KeyError if it has not."""
        return cast("T", self.found[step.name])

    def after(self, step: Step[T], newer: Callable[[], bool]) -> Findings:
        """With what a step adds: the same findings if that is nothing."""
        found = step.find(self, newer)
        return self if found is None else replace(self, found={**self.found, step.name: found})

    def kept_from(self, old: Findings | None, steps: Iterable[Step[object]]) -> Findings:
        """With what stays of the findings before, if they were about the same take."""
        if old is None or old.question.chosen != self.question.chosen:
            return self
        stays = {s.name: old.found[s.name] for s in steps if s.stays and s.name in old.found}
        return replace(self, found={**stays, **self.found})
