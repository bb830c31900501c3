"""Where the ready scenarios and assets lie: inside the installed package, or beside it in the source tree."""

from __future__ import annotations

from pathlib import Path

from tablesim.errors import NameUnknown, ScenarioError, unknown_name
from tablesim.model.lesson import Scene
from tablesim.model.scenario import Scenario, load


def _folder(name: str) -> Path:
    inside = Path(__file__).parent / name
    return inside if inside.is_dir() else Path(__file__).parent.parent / name


def ready_scenarios() -> dict[str, Path]:
    """The ready scenarios' files by name, in order of name."""
    return {path.stem: path for path in sorted(_folder("scenarios").glob("*.json"))}


def open_scenario(name_or_file: str) -> Scenario:
    """A scenario by its ready name or from a file; an unknown one gets the nearest name suggested."""
    ready = ready_scenarios()
    if name_or_file in ready:
        return load(ready[name_or_file])
    try:
        exists = Path(name_or_file).exists()
    except (OSError, ValueError):
        raise ScenarioError(f"no such file: {name_or_file[:60]!r}") from None
    looks_like_file = name_or_file.endswith(".json") or "/" in name_or_file or "\\" in name_or_file
    if exists or looks_like_file:
        return load(name_or_file)
    raise NameUnknown(unknown_name("scenario", name_or_file, ready) + " (or give a file)")


def scenario_of(scene: Scene, folder: Path | None) -> Scenario:
    """The scenario of a lesson's scene; a file is looked for beside the lesson's. ScenarioError if it is missing."""
    if scene.scenario is not None:
        return scene.scenario
    assert scene.file is not None
    if scene.file in ready_scenarios():
        return open_scenario(scene.file)
    path = Path(scene.file)
    return load(path if path.is_absolute() or folder is None else folder / path)
