"""Many takes in one action: these paces by these cues by these strokes by these tips, named by what differs."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any, NamedTuple

from tablesim.errors import NameUnknown, ScenarioError, unknown_name
from tablesim.model.base import longest
from tablesim.model.gear import StrokeKind
from tablesim.model.scenario import Scenario
from tablesim.model.shot import MAX_NAME, Take, Tip
from tablesim.units import HALF_RADIUS, pace_word

from .tips import offset_of_tips, tips_words

PLAIN = "smooth"  # a stroke that a name leaves out where it says something else
LEAST_CUE = 4  # letters of a cue's name that stay where a take's name has to be cut


class English(NamedTuple):
    """How far off the ball's centre the tip strikes: right or up +, in per cent of full english, or in tips."""

    amount: float
    in_tips: bool = False

    def offset(self, scenario: Scenario, take: Take) -> float:
        """The same in ball radii; tips are those of the take's own cue."""
        if self.in_tips:
            return offset_of_tips(scenario, take, self.amount)
        return round(HALF_RADIUS * self.amount / 100.0, 6) + 0.0

    def words(self, more: str, less: str, none: str) -> str:
        """The same in words, such as 60 % left or half a tip left."""
        if self.amount == 0.0:
            return none
        size = f"{abs(self.amount):g}"
        said = (tips_words(self.amount) or f"{size} tips") if self.in_tips else f"{size} %"
        return f"{said} {more if self.amount > 0.0 else less}"


@dataclass(frozen=True)
class Series:
    """What the takes of a series differ in: paces [m/s], names of cues, strokes, english to the side, and up or down.

    A thing without values stays as it is in the take that they have in common, one
    with a single value is the same in all of them.
    """

    paces_m_s: tuple[float, ...] = ()
    cues: tuple[str, ...] = ()
    strokes: tuple[StrokeKind, ...] = ()
    sides: tuple[English, ...] = ()
    heights: tuple[English, ...] = ()

    @property
    def things(self) -> dict[str, tuple[Any, ...]]:
        """The values by what they are of, in the order in which it is named, each value once."""
        values = {
            "cue": self.cues, "pace": self.paces_m_s, "stroke": self.strokes, "side": self.sides,
            "height": self.heights,
        }  # fmt: skip
        return {thing: tuple(dict.fromkeys(some)) for thing, some in values.items()}

    @property
    def count(self) -> int:
        """How many takes it makes."""
        return math.prod(max(len(values), 1) for values in self.things.values())


def with_series(scenario: Scenario, series: Series, common: Take | str, adding: bool = False) -> Scenario:
    """The scenario with the takes of a series, in place of its own or after them.

    ``common``: the take whose other fields they all have, its aim included, so that
    an aim toward the pocket follows the balls; its name, or one stated.  ScenarioError if the takes are
    fewer than two or more than a scenario may have, or a value breaks a rule; NameUnknown for a cue.

    >>> two_cues = ts.open_scenario("two-cues")
    >>> series = ts.Series(paces_m_s=(1.3, 4.5), cues=("wood", "low-squirt"))
    >>> [take.name for take in ts.with_series(two_cues, series, "wood, soft").takes]
    ['wood, soft', 'wood, hard', 'low-squirt, soft', 'low-squirt, hard']
    """
    (shared,) = scenario.takes_for(common)
    before = list(scenario.takes) if adding else []
    _check_series(scenario, series, len(before))
    takes = _named(_played(scenario, series, shared), {take.name for take in before})
    return scenario.change(takes=[*before, *takes])


def _check_series(scenario: Scenario, series: Series, before: int) -> None:
    most = longest(Scenario, "takes")
    if series.count < 2:
        raise ScenarioError("series: needs two values of something at least, such as the paces 1.5, 3, 4.5")
    if series.count + before > most:
        there = f" beside the {before} there are" if before else ""
        raise ScenarioError(
            f"series: a scenario has at most {most} takes; got {series.count}{there}; leave some values out"
        )
    for cue in series.cues:
        if cue not in scenario.cues:
            raise NameUnknown("series: " + unknown_name("cue", cue, scenario.cues))


def _played(scenario: Scenario, series: Series, common: Take) -> Iterator[tuple[list[str], Take]]:
    """The takes, the last thing that differs changing fastest, each with the words of what differs."""
    axes = [list(zip(values, WORDS_OF[thing](values), strict=True)) for thing, values in series.things.items()]
    for chosen in product(*(axis or [(None, "")] for axis in axes)):
        differ = [words for (_, words), axis in zip(chosen, axes, strict=True) if len(axis) > 1]
        told = [words for words in differ if words != PLAIN] or differ
        cue, pace, stroke, side, height = (value for value, _ in chosen)
        stated = {"cue": cue, "pace_m_s": pace, "stroke": stroke}
        try:
            take = common.change(**{name: value for name, value in stated.items() if value is not None})
            right = take.tip.right if side is None else side.offset(scenario, take)
            up = take.tip.up if height is None else height.offset(scenario, take)
            yield told, take.change(tip=Tip(right=right, up=up))
        except ScenarioError as error:
            raise ScenarioError(f"series, take {', '.join(told)!r}: {error}") from None


def _pace_words(paces: tuple[float, ...]) -> list[str]:
    """The trade's words where no two paces have the same, else numbers."""
    said = [pace_word(pace) for pace in paces]
    return said if len(set(said)) == len(said) else [f"{pace:g} m/s" for pace in paces]


WORDS_OF: dict[str, Callable[[tuple[Any, ...]], list[str]]] = {
    "cue": list,
    "pace": _pace_words,
    "stroke": lambda strokes: ["jabbed" if stroke == "jab" else PLAIN for stroke in strokes],
    "side": lambda sides: [side.words("right", "left", "no english") for side in sides],
    "height": lambda heights: [height.words("high", "low", "level") for height in heights],
}


def _named(played: Iterable[tuple[list[str], Take]], taken: set[str]) -> list[Take]:
    """The takes under names that are free, each no longer than a name may be."""
    takes = []
    for words, take in played:
        name = free_name(words, taken)
        taken = taken | {name}
        takes.append(take.change(name=name))
    return takes


def free_name(words: Sequence[str], taken: Iterable[str]) -> str:
    """The words as a name, with the next free number where it is taken; the first are cut where it is too long."""
    known, number, free = set(taken), 1, _fitted(words, MAX_NAME)
    while free in known:
        number += 1
        free = f"{_fitted(words, MAX_NAME - 1 - len(str(number)))} {number}"
    return free


def _fitted(words: Sequence[str], most: int) -> str:
    """The words with commas between, the first one cut where they are too long, and then the end."""
    name = ", ".join(words)
    if len(name) <= most:
        return name
    room = max(len(words[0]) - (len(name) - most), LEAST_CUE)
    return ", ".join([words[0][: room - 1] + "…", *words[1:]])[:most]
