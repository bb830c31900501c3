"""The command that lists what a lesson's file keeps."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from tablesim.errors import ScenarioError
from tablesim.model.lesson import Lesson, Scene, load_lesson
from tablesim.resources import (
    SCENE_MARK,
    Opened,
    file_and_scene,
    lesson_file,
    ready_lessons,
    ready_scenarios,
    scenario_of,
)
from tablesim.units import number

from .common import AsJson, dump, print_table

LessonFile = Annotated[
    str | None,
    typer.Argument(metavar="LESSON", help="a ready lesson, or a file as the window saves it; without: the ready ones"),
]


def lesson(file: LessonFile = None, as_json: AsJson = False) -> None:
    """List the scenes of a lesson, whose names LESSON#1, LESSON#2, ... can be used in place of a file."""
    if file is None:
        _list_ready(as_json)
        return
    name, scene = file_and_scene(file)
    if name in ready_scenarios():
        raise ScenarioError(f"{name}: is a ready scenario, not a lesson")
    if scene is not None:
        raise ScenarioError(f"{name}: all its scenes are listed; leave out {SCENE_MARK + scene[:20]!r}")
    path = lesson_file(name) or Path(name)  # what is no lesson is refused as it is read
    found = load_lesson(path)
    scenes = [listed(kept, name, path.parent, k) for k, kept in enumerate(found.scenes, 1)]
    if as_json:
        dump({"title": found.title, "scenes": scenes})
        return
    _print(found, name, scenes)


def _list_ready(as_json: bool) -> None:
    """The lessons that come with the program."""
    found = {name: load_lesson(path) for name, path in ready_lessons().items()}
    if as_json:
        dump([{"name": n, "title": one.title, "scenes": len(one.scenes)} for n, one in found.items()])
        return
    print_table(["name", "title", "scenes"], ([n, one.title, str(len(one.scenes))] for n, one in found.items()))


def listed(scene: Scene, file: str, folder: Path, place: int) -> dict[str, Any]:
    """A scene in a list: its number and name, caption, what is shown, and what keeps it from being opened if anything.

    ``takes`` are the names of the takes shown, the chosen one first; ``of`` how many the scenario has.
    """
    try:
        found, trouble = Opened(scenario_of(scene, folder), scene), None
    except ScenarioError as error:
        found, trouble = None, str(error)
    return {
        "number": place,
        "name": f"{file}{SCENE_MARK}{place}",
        "caption": scene.caption,
        "takes": (found and found.takes) or [],
        "of": len(found.scenario.takes) if found else None,
        "corrected": scene.corrected,
        "off_the_line": scene.off_the_line,
        "spin": scene.spin,
        "whole_ways": scene.whole_ways,
        "closer": scene.closer,
        "lens": scene.lens,
        "trouble": trouble,
    }


def shown_words(scene: dict[str, Any]) -> str:
    """What of a scene is shown beside its takes as aimed, or what keeps it from being opened."""
    if scene["trouble"]:
        return str(scene["trouble"])
    if scene["off_the_line"]:
        return f"off the line, {scene['off_the_line']} times as large"
    named = {"corrected": "corrected", "spin": "spin", "whole_ways": "whole ways", "lens": "lens", "closer": "up close"}
    return " and ".join(words for field, words in named.items() if scene[field]) or "as aimed only"


def _print(found: Lesson, file: str, scenes: list[dict[str, Any]]) -> None:
    rows = (
        [str(s["number"]), s["caption"], "; ".join(s["takes"]) or "-", number(s["of"], 0), shown_words(s)]
        for s in scenes
    )
    print_table(["scene", "caption", "takes shown", "of", "with"], rows, found.title or file)
    if scenes:
        typer.echo(f"The name of a scene, such as {file}{SCENE_MARK}1, can be used in place of a file.")
