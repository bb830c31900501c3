"""What a name opens: a ready scenario, a scenario's file, a scene of a lesson; and where the ready ones lie.

The ready scenarios and lessons lie inside the installed package, or beside it in the source tree.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tablesim.errors import NameUnknown, ScenarioError, unknown_name
from tablesim.model.lesson import MAX_SCENES, Lesson, Scene, is_lesson, load_lesson
from tablesim.model.scenario import LONGEST_TITLE, Scenario, load

SCENE_MARK = "#"  # between a lesson's file and the number of a scene


@dataclass(frozen=True, eq=False)
class Opened:
    """A scenario, and the scene that shows it if it was opened from a lesson."""

    scenario: Scenario
    scene: Scene | None = None

    @property
    def kept(self) -> Scene:
        """What is to be shown: as kept in the scene, else as a scene has it where nothing is said."""
        return self.scene or Scene(scenario=self.scenario)

    @property
    def titled(self) -> Scenario:
        """The scenario, under the scene's caption if it has one."""
        caption = self.kept.caption[:LONGEST_TITLE]
        return self.scenario.change(title=caption) if caption else self.scenario

    @property
    def takes(self) -> list[str] | None:
        """Names of the takes that the scene shows, the chosen one first; None if there is no scene or no take."""
        places = () if self.scene is None else self.scene.places_in(self.scenario)
        return [self.scenario.takes[i].name for i in places] or None


def _folder(name: str) -> Path:
    inside = Path(__file__).parent / name
    return inside if inside.is_dir() else Path(__file__).parent.parent / name


def ready_scenarios() -> dict[str, Path]:
    """The ready scenarios' files by name, in order of name.

    >>> "two-cues" in ts.ready_scenarios()
    True
    """
    return {path.stem: path for path in sorted(_folder("scenarios").glob("*.json"))}


def ready_lessons() -> dict[str, Path]:
    """The ready lessons' files by name, in order of name.

    >>> "when-to-aim-elsewhere" in ts.ready_lessons()
    True
    """
    return {path.stem: path for path in sorted(_folder("scenarios").glob("lessons/*.json"))}


def is_ready(name: str) -> bool:
    """True if a scenario or lesson of that name comes with the program."""
    return name in ready_scenarios() or name in ready_lessons()


def comes_with_program(path: Path) -> bool:
    """True for the file of a ready scenario or lesson: a beginning, which saving must not overwrite."""
    ready = (*ready_scenarios().values(), *ready_lessons().values())
    return path.resolve() in {p.resolve() for p in ready}


def lesson_file(name_or_file: str) -> Path | None:
    """The file of a lesson by its ready name or as it is; None if it is no lesson."""
    if name_or_file in ready_scenarios():
        return None
    path = ready_lessons().get(name_or_file)
    return path or (Path(name_or_file) if is_lesson(name_or_file) else None)


def files_of(name_or_file: str) -> tuple[Path, ...]:
    """The files that a name stands for: its own and, of a lesson, those of its scenes."""
    file, _ = file_and_scene(name_or_file)
    path = lesson_file(file)
    own = ready_scenarios().get(file) or path or Path(file)
    if path is None:
        return (own,)
    try:
        scenes = load_lesson(path).scenes
    except ScenarioError:
        return (own,)
    return (own, *(path.parent / scene.file for scene in scenes if scene.file))


def open_scenario(name_or_file: str) -> Scenario:
    """A scenario by its ready name, from a file, or of a scene, LESSON#2; NameUnknown suggests the nearest name.

    >>> ts.open_scenario("two-cues").title
    'The same shot with two cues'
    >>> ts.open_scenario("when-to-aim-elsewhere#3").target.pocket
    'foot-right'
    >>> ts.open_scenario("two-queues")
    Traceback (most recent call last):
        ...
    tablesim.errors.NameUnknown: unknown scenario 'two-queues'; did you mean 'two-cues'? (or give a file)
    """
    return opened(name_or_file).scenario


def opened(name_or_file: str) -> Opened:
    """What a name or file holds, with the scene if it is a lesson's: FILE#2 is its second one."""
    file, number = file_and_scene(name_or_file)
    path = lesson_file(file)
    if path is not None:
        lesson = load_lesson(path)
        k = place_of_scene(lesson, file, number)
        try:
            return Opened(scenario_of(lesson.scenes[k], path.parent), lesson.scenes[k])
        except ScenarioError as error:
            raise ScenarioError(f"{file}{SCENE_MARK}{k + 1}: {error}") from None
    scenario = _load_named(file)
    if number is not None:
        raise ScenarioError(
            f"{file}: is a scenario, not a lesson, and has no scenes; leave out {SCENE_MARK + number[:20]!r}"
        )
    return Opened(scenario)


def file_and_scene(name_or_file: str) -> tuple[str, str | None]:
    """File or ready name, and what stands after it and a "#"; None where nothing does.

    The name of an existing file stands for that file, whatever signs it has.
    """
    file, mark, number = name_or_file.rpartition(SCENE_MARK)
    if not mark or _exists(name_or_file):
        return name_or_file, None
    if _exists(file) or is_ready(file) or file.endswith(".json"):
        return file, number
    return name_or_file, None


def place_of_scene(lesson: Lesson, file: str, number: str | None) -> int:
    """Place from 0 of the scene with that number from 1, or of the only one; ScenarioError says how many there are."""
    count = len(lesson.scenes)
    if count == 0:
        raise ScenarioError(f"{file}: this lesson has no scenes yet: open it in the window, and keep a view")
    if number is None and count > 1:
        raise ScenarioError(
            f"{file}: this lesson has {count} scenes: name one, {file}{SCENE_MARK}1 to {count};"
            f" tablesim lesson {file} lists them"
        )
    k = 1 if number is None else int(number) if _is_number(number) else 0
    if not 1 <= k <= count:
        there = "1, the only one" if count == 1 else f"1 to {count}"
        raise ScenarioError(f"{file}: the scene after {SCENE_MARK!r} must be {there}; got {str(number)[:20]!r}")
    return k - 1


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= len(str(MAX_SCENES))


def _exists(file: str) -> bool | None:
    """True if there is such a file or folder; None for a name that none can have."""
    try:
        return Path(file).exists()
    except (OSError, ValueError):
        return None


def _load_named(name_or_file: str) -> Scenario:
    """A scenario by its ready name or from a file; an unknown one gets the nearest name suggested."""
    ready = ready_scenarios()
    if name_or_file in ready:
        return load(ready[name_or_file])
    exists = _exists(name_or_file)
    if exists is None:
        raise ScenarioError(f"no such file: {name_or_file[:60]!r}")
    if exists or name_or_file.endswith(".json") or "/" in name_or_file or "\\" in name_or_file:
        return load(name_or_file, pipes=True)
    raise NameUnknown(unknown_name("scenario", name_or_file, [*ready, *ready_lessons()]) + " (or give a file)")


def scenario_of(scene: Scene, folder: Path | None) -> Scenario:
    """The scenario of a lesson's scene; a file is looked for beside the lesson's. ScenarioError if it is missing."""
    if scene.scenario is not None:
        return scene.scenario
    assert scene.file is not None
    ready = ready_scenarios()
    if scene.file in ready:
        return load(ready[scene.file])
    path = Path(scene.file)
    return load(path if path.is_absolute() or folder is None else folder / path)


def with_scenarios(lesson: Lesson, folder: Path | None) -> Lesson:
    """The lesson with every scenario in it that its scenes name a file of; ScenarioError names the scene that fails."""
    scenes = []
    for k, scene in enumerate(lesson.scenes):
        try:
            scenes.append(scene.model_copy(update={"scenario": scenario_of(scene, folder), "file": None}))
        except ScenarioError as error:
            raise ScenarioError(f"scenes[{k}]: {error}") from None
    return lesson.model_copy(update={"scenes": scenes})
