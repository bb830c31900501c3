"""The command that makes a page for a phone's browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tablesim.errors import ScenarioError
from tablesim.model.lesson import MAX_LESSON_BYTES, Lesson, lesson_from_json
from tablesim.model.scenario import Scenario, to_json
from tablesim.model.whole import must_differ, read_bytes
from tablesim.resources import file_and_scene, files_of, lesson_file, opened, ready_scenarios, with_scenarios

from .common import engine_prepared

Shared = Annotated[
    str, typer.Argument(metavar="FILE", help="a lesson, all its scenes; one of them, LESSON#2; or a scenario")
]
Page = Annotated[str, typer.Argument(metavar="OUT", help="the page to write, OUT.html")]
Others = Annotated[bool, typer.Option("--others/--no-others", help="with or without other paces, cues and sides")]


def share(file: Shared, out: Page, others: Others = True) -> None:
    """Write a page that opens in any phone's or computer's browser, without network: to look, play and try on."""
    from tablesim.output.share import ShareWishes
    from tablesim.output.share import share as run

    must_differ(out, *files_of(file), option="OUT")
    what, data, name = named(file)
    with engine_prepared() as tell:
        made = run(what, out, ShareWishes(others, data, name), lambda k, n: tell(completed=k, total=n))
    scenes = "1 scene" if made.scenes == 1 else f"{made.scenes} scenes"
    typer.echo(f"{out}: {scenes}, {made.others} other strokes, {made.bytes / 1000:.0f} kB; open it in any browser")


def named(file: str) -> tuple[Scenario | Lesson, bytes | None, str]:
    """What a name stands for, the bytes of its file if that opens by itself anywhere, and the file's name."""
    base, number = file_and_scene(file)
    path, stem = lesson_file(base), Path(base).stem
    if path is None:
        scenario = opened(file).scenario
        own = ready_scenarios().get(base) or Path(base)
        data = read_bytes(own, MAX_LESSON_BYTES) if own.is_file() else to_json(scenario).encode("utf-8")
        return scenario, data, stem
    if number is not None:
        found = opened(file)
        scene = found.kept.model_copy(update={"scenario": found.scenario, "file": None})
        return Lesson(title=scene.caption[:200], scenes=[scene]), None, f"{stem}-{number}"
    return _whole(path, base, stem)


def _whole(path: Path, base: str, stem: str) -> tuple[Lesson, bytes | None, str]:
    """A lesson with all its scenarios; its own bytes only where it needs no other file of the person's."""
    data = read_bytes(path, MAX_LESSON_BYTES)
    try:
        lesson = lesson_from_json(data.decode("utf-8-sig"))
        whole = with_scenarios(lesson, path.parent)
    except ScenarioError as error:
        raise ScenarioError(f"{base}: {error}") from None
    ready = ready_scenarios()
    alone = all(scene.file is None or scene.file in ready for scene in lesson.scenes)
    return whole, data if alone else None, stem
