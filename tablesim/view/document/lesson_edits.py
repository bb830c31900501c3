"""One thing changed in all scenes of a lesson: what differs from a scenario in words, and the lesson without it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from tablesim.errors import ScenarioError
from tablesim.model.lesson import Lesson, Scene
from tablesim.model.scenario import Scenario
from tablesim.study.change import GEAR_WORDS, cue_words, gear_words, moved_words

MOST_SAID = 3  # ways in which scenes differ that are told of one thing


@dataclass(frozen=True)
class Thing:
    """Something that scenes may have alike: a part of the gear, a cue or a ball's place.

    ``kind`` is a field of the scenario, ``name`` which one of its cues or balls.
    """

    kind: str
    name: str = ""

    def fields(self, scene: Scenario, model: Scenario) -> dict[str, Any]:
        """The scene's field as it is with this thing of the model's."""
        if not self.name:
            return {self.kind: getattr(_fitting(model, scene), self.kind)}
        return {self.kind: {**getattr(scene, self.kind), self.name: getattr(model, self.kind)[self.name]}}

    def words(self, scene: Scenario, model: Scenario) -> str:
        """How this thing of the scene becomes the model's; empty if it is so already, or the scene has none."""
        if self.name and (self.name not in getattr(scene, self.kind) or self.name not in getattr(model, self.kind)):
            return ""
        if self.kind == "balls":
            return moved_words(self.name, scene, model) if scene.balls[self.name] != model.balls[self.name] else ""
        told = cue_words(self.name, scene, model) if self.name else gear_words(self.kind, scene, _fitting(model, scene))
        return ", ".join(told)


def _fitting(model: Scenario, scene: Scenario) -> Scenario:
    """The model with only those balls unlike the set that the scene has."""
    odd = {name: ball for name, ball in model.ball_set.odd.items() if name in scene.balls}
    return model.model_copy(update={"ball_set": model.ball_set.model_copy(update={"odd": odd})})


def things_of(model: Scenario) -> Iterator[Thing]:
    """All that a scenario has and other scenes may have alike."""
    yield from (Thing(part) for part in GEAR_WORDS)
    yield from (Thing("cues", name) for name in model.cues)
    yield from (Thing("balls", name) for name in model.ball_names)


def differences(lesson: Lesson, model: Scenario) -> dict[Thing, str]:
    """The things in which scenes are unlike a scenario, each in words, with the numbers of those scenes from 1."""
    found = {}
    for thing in things_of(model):
        where: dict[str, list[int]] = {}
        for number, scene in enumerate(lesson.scenes, 1):
            if scene.scenario is not None and (words := thing.words(scene.scenario, model)):
                where.setdefault(words, []).append(number)
        if where:
            found[thing] = _told(where)
    return found


def _told(where: dict[str, list[int]]) -> str:
    told = [f"{words}, {scenes_words(numbers)}" for words, numbers in where.items()]
    more = len(told) - MOST_SAID
    return "; ".join(told[:MOST_SAID]) + (f"; and {more} more" if more > 0 else "")


def scenes_words(numbers: list[int]) -> str:
    """Scenes by their numbers: scene 2; scenes 2, 3 and 5."""
    if len(numbers) == 1:
        return f"scene {numbers[0]}"
    return f"scenes {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def with_same(lesson: Lesson, model: Scenario, things: Iterable[Thing]) -> Lesson:
    """The lesson with these things of a scenario in all scenes that hold their own; those of a file stay as they are.

    ScenarioError names the scene in which they break a rule; the lesson is then left as it was.
    """
    wanted = list(things)
    return lesson.change(scenes=[_same(number, scene, model, wanted) for number, scene in enumerate(lesson.scenes, 1)])


def _same(number: int, scene: Scene, model: Scenario, things: list[Thing]) -> Scene:
    scenario = scene.scenario
    if scenario is None:
        return scene
    fields: dict[str, Any] = {}
    for thing in things:
        if thing.words(scenario, model):
            base = scenario.model_copy(update=fields)
            fields |= thing.fields(base, model)
    if not fields:
        return scene
    try:
        return scene.change(scenario=scenario.change(**fields))
    except ScenarioError as error:
        raise ScenarioError(f"scene {number}: {error}; leave something out, or change that scene first") from None


def of_files(lesson: Lesson) -> list[int]:
    """Numbers from 1 of the scenes that refer to a file."""
    return [number for number, scene in enumerate(lesson.scenes, 1) if scene.file is not None]
