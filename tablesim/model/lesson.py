"""A lesson: views of scenarios in order, each with what is shown of it and a caption, in one file."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, field_validator, model_validator

from tablesim.errors import ScenarioError

from .base import Model, check_format, written
from .scenario import Scenario, parse_object
from .shot import Name, Near, as_tuple
from .whole import read_text, write_whole

LESSON_FORMAT = 1
MAX_SCENES = 200
Corners = Annotated[tuple[Near, Near, Near, Near], BeforeValidator(as_tuple)]
MAX_LESSON_BYTES = 20_000_000


class Scene(Model):
    """One view: a scenario, or the file of one, and what of it is on."""

    caption: str = Field("", max_length=400)
    scenario: Scenario | None = None
    file: str | None = Field(None, max_length=1000, description="a scenario file, beside the lesson's, or a ready name")
    take: Name | None = Field(None, description="the take chosen; omitted: the first")
    with_takes: list[Name] = Field([], max_length=20, description="takes shown with it")
    corrected: bool = Field(True, description="corrected paths are shown")
    off_the_line: int = Field(0, ge=0, le=10, description="sideways magnification of the distance off the line; 0: off")
    spin: bool = Field(False, description="sliding parts and sidespin along the way are shown")
    whole_ways: bool = Field(False, description="all takes are shown to the end, no way faint")
    closer: Corners | None = Field(
        None, description="the part of the table that is looked at: x0, y0, x1, y1 [m]; omitted: all of it"
    )
    lens: bool = Field(False, description="contact and pocket mouth are shown enlarged")
    speed: float | None = Field(
        None, ge=0.02, le=1.0, description="of time when it is played; omitted: 1, or as the person plays"
    )
    contact_speed: float | None = Field(
        None, ge=0.02, le=1.0, description="of time about the balls' contact; omitted: as the rest"
    )

    @field_validator("closer")
    @classmethod
    def _corners_in_order(cls, corners: Corners | None) -> Corners | None:
        if corners is not None and not (corners[0] < corners[2] and corners[1] < corners[3]):
            raise ValueError("the first corner must lie left of and below the second: x0 < x1, y0 < y1")
        return corners

    @model_validator(mode="after")
    def _one_source(self) -> Scene:
        if (self.scenario is None) == (self.file is None):
            raise ValueError("a scene has either a 'scenario' or a 'file'")
        return self

    def places_in(self, scenario: Scenario) -> tuple[int, ...]:
        """Places of the takes shown, the chosen one first, or the first take for it; names gone are left out."""
        names = [take.name for take in scenario.takes]
        chosen = names.index(self.take) if self.take in names else 0
        others = (names.index(name) for name in self.with_takes if name in names)
        return tuple(dict.fromkeys((chosen, *others))) if names else ()


class Lesson(Model):
    """Scenes in the order in which they are shown."""

    tablesim_lesson: int = LESSON_FORMAT
    title: str = Field("", max_length=200)
    scenes: list[Scene] = Field([], max_length=MAX_SCENES)

    @model_validator(mode="before")
    @classmethod
    def _known_format(cls, data: Any) -> Any:
        return check_format(data, "tablesim_lesson", LESSON_FORMAT)


def lesson_to_json(lesson: Lesson) -> str:
    """The lesson as JSON text, without the fields that hold their defaults."""
    return written(lesson, "tablesim_lesson", LESSON_FORMAT)


def lesson_from_json(text: str) -> Lesson:
    """A lesson from JSON text; ScenarioError in plain words if it breaks a rule."""
    data = parse_object(text, "a lesson")
    if "balls" in data:
        raise ScenarioError("this is a scenario, not a lesson: it has no scenes")
    return Lesson.model_validate(data)


def is_lesson(path: str | os.PathLike[str]) -> bool:
    """True if a file is a lesson rather than a scenario; a pipe, read once only, or what cannot be read is neither."""
    try:
        text = read_text(Path(path), MAX_LESSON_BYTES) if Path(path).is_file() else "{}"
        return "tablesim_lesson" in parse_object(text, "a lesson")
    except (OSError, ValueError):
        return False


def load_lesson(path: str | os.PathLike[str]) -> Lesson:
    """Read a lesson file; ScenarioError names the file and what is wrong with it.

    >>> lesson = ts.load_lesson(ts.ready_lessons()["when-to-aim-elsewhere"])
    >>> [scene.take for scene in lesson.scenes]
    ['wood, hard', 'low-squirt, hard', 'half a tip outside', None]
    """
    file = Path(path)
    text = read_text(file, MAX_LESSON_BYTES)
    try:
        return lesson_from_json(text)
    except ScenarioError as error:
        raise ScenarioError(f"{file}: {error}") from None


def save_lesson(lesson: Lesson, path: str | os.PathLike[str]) -> None:
    """Write a lesson file, whole or not at all; ScenarioError where that cannot be done.

    >>> scene = ts.Scene(file="two-cues", take="wood, hard", caption="The wooden shaft, firmly")
    >>> ts.save_lesson(ts.Lesson(title="Squirt", scenes=[scene]), "squirt.json")
    >>> ts.load_lesson("squirt.json").scenes[0].caption
    'The wooden shaft, firmly'
    """
    write_whole(path, lesson_to_json(lesson).encode("utf-8"))
