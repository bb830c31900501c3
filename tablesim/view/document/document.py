"""The document: a frozen scenario, where it lies on disk, and every state it has been in."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

from tablesim.model.lesson import Lesson, lesson_to_json
from tablesim.model.scenario import Scenario, load, to_json
from tablesim.model.whole import fingerprint, write_if_unchanged

STEPS_KEPT = 500


@dataclass(frozen=True)
class State:
    """What undo brings back: the scenario, its file or its scene, the take chosen, the lesson, what was done."""

    scenario: Scenario
    chosen: int
    done: str
    lesson: Lesson = field(default_factory=Lesson)
    path: Path | None = None
    scene: int | None = None  # place in the lesson of the scene that the scenario came from, None if from none


@dataclass(frozen=True)
class Work:
    """What a document holds and files may not yet: scenario and lesson, their files, as they were known."""

    scenario: Scenario
    path: Path | None = None
    known: str = ""  # the fingerprint of that file when it was read or written
    lesson: Lesson | None = None
    lesson_path: Path | None = None
    lesson_known: str = ""


class Document:
    """The scenario being edited, with undo and redo of everything.

    A change with the ``gesture`` of the change before it (a drag that goes on)
    replaces it, so that one movement of the hand is one step of undo.
    """

    def __init__(self, scenario: Scenario, path: Path | None = None, known: str | None = None) -> None:
        self._states = [State(scenario, 0, "", path=path)]
        self._at = 0
        self._gesture: str | None = None
        self._saved: State | None = self._states[0]  # None if no file holds what was opened
        self.lesson_path: Path | None = None
        self._lesson_saved = Lesson()
        self._scene_shown: Scenario | None = None
        self._on_disk: dict[Path, str] = {}  # fingerprints of the files when they were read or written
        self.take_note(path, known)
        self.version = 0

    @property
    def state(self) -> State:
        """Where the document stands."""
        return self._states[self._at]

    @property
    def scenario(self) -> Scenario:
        """The scenario as it stands."""
        return self.state.scenario

    @property
    def path(self) -> Path | None:
        """The file of the scenario, if it has one; a scene of a lesson has none."""
        return self.state.path

    @property
    def lesson(self) -> Lesson:
        """The lesson as it stands."""
        return self.state.lesson

    @property
    def lesson_open(self) -> bool:
        """True if a lesson is being worked on: it has scenes, or a file."""
        return bool(self.lesson.scenes) or self.lesson_path is not None

    @property
    def lesson_unsaved(self) -> bool:
        """True if the lesson's file, if any, does not hold it."""
        return self.lesson_open and self.lesson != self._lesson_saved

    @property
    def file(self) -> Path | None:
        """The file that saving writes: the lesson's if one is open, else the scenario's."""
        return self.lesson_path if self.lesson_open else self.path

    @property
    def file_words(self) -> str:
        """Which file that is, and whether it is changed."""
        return self.which_file + self.whether_changed

    @property
    def which_file(self) -> str:
        """Which file saving writes."""
        name = self.file.name if self.file is not None else "no file yet"
        return name if not self.lesson_open else f"lesson {name}" if self.file is not None else f"lesson, {name}"

    @property
    def whether_changed(self) -> str:
        """Whether it is changed, to stand after its name; empty if it is not."""
        if self.lesson_open:
            return ", changed" if self.lesson_unsaved else ", this view not kept" if self.unsaved else ""
        return ", changed" if self.unsaved else ""

    @property
    def chosen(self) -> int:
        """Place of the take that is being worked on."""
        return min(self.state.chosen, max(len(self.scenario.takes) - 1, 0))

    @property
    def unsaved(self) -> bool:
        """True if neither a file nor a scene of the lesson holds the scenario."""
        scenes = self.lesson.scenes
        if any(scene.scenario == self.scenario for scene in scenes):
            return False
        if self.as_shown and any(scene.file for scene in scenes):
            return False
        return self._saved is None or self.scenario != self._saved.scenario

    @property
    def as_shown(self) -> bool:
        """True if the scenario is as the scene shown last has put it on the screen."""
        return self.scenario is self._scene_shown

    def came_from(self, scene: int | None) -> None:
        """Take note of the scene that the scenario came from; no step of its own."""
        self._states[self._at] = replace(self.state, scene=scene)

    @property
    def can_undo(self) -> bool:
        """True if there is something to take back."""
        return self._at > 0

    @property
    def can_redo(self) -> bool:
        """True if something was taken back."""
        return self._at + 1 < len(self._states)

    def change(
        self,
        scenario: Scenario,
        done: str,
        gesture: str | None = None,
        chosen: int | None = None,
        lesson: Lesson | None = None,
        other_file: bool = False,
    ) -> None:
        """Take a new state; ``done``: what was done, in words; ``other_file``: it is not of the file that is open."""
        path = None if other_file else self.path
        state = State(
            scenario, self.chosen if chosen is None else chosen, done, lesson or self.lesson, path, self.state.scene
        )
        same = (state.scenario, state.chosen, state.lesson) == (self.scenario, self.chosen, self.lesson)
        if other_file:
            self._scene_shown = self.scenario if same else scenario
        if same:
            return
        joined = gesture is not None and gesture == self._gesture and self._at > 0
        del self._states[self._at + (0 if joined else 1) :]
        self._states.append(state)
        if len(self._states) > STEPS_KEPT:
            del self._states[: len(self._states) - STEPS_KEPT]
        self._at = len(self._states) - 1
        self._gesture = gesture
        self.version += 1

    def settle(self) -> None:
        """End the gesture: the next change is a step of its own."""
        self._gesture = None

    def undo(self) -> str:
        """Go one step back; what was undone, or an empty text."""
        if not self.can_undo:
            return ""
        undone = self.state.done
        self._at -= 1
        self._moved()
        return undone

    def redo(self) -> str:
        """Go one step forward again; what was redone, or an empty text."""
        if not self.can_redo:
            return ""
        self._at += 1
        self._moved()
        return self.state.done

    def _moved(self) -> None:
        self._gesture = None
        self.version += 1

    def open(self, scenario: Scenario, path: Path | None, unsaved: bool = False, known: str | None = None) -> None:
        """Begin anew with another scenario beside the lesson; ``unsaved`` if no file holds it (recovered work).

        ``known``: the file's fingerprint from before it was read, as in `take_note`.
        """
        self._states = [State(scenario, 0, "", self.lesson, path)]
        self._at, self._gesture = 0, None
        self._saved = None if unsaved else self._states[0]
        self.take_note(path, known)
        self.version += 1

    def open_lesson(self, lesson: Lesson, path: Path | None, unsaved: bool = False, known: str | None = None) -> None:
        """Put another lesson beside the scenario; ``unsaved`` and ``known`` as in `open`."""
        self._states = [State(self.scenario, self.chosen, "", lesson, self.path)]
        self._at, self._gesture = 0, None
        self.lesson_path, self._lesson_saved = path, Lesson() if unsaved else lesson
        self.take_note(path, known)
        self.version += 1

    def take_note(self, path: Path | None, known: str | None = None) -> None:
        """Know a file by its fingerprint: saving writes over that one, and asks before it writes over another.

        None is the file as it now is; who has read it hands on a fingerprint from before, lest a change go unseen.
        """
        if path is not None:
            self._on_disk[path] = fingerprint(path) if known is None else known

    @property
    def work(self) -> Work:
        """All that would be lost with the document."""
        scenario, of_scenario = self.scenario, (self.path, self.known(self.path))
        if not self.lesson_open:
            return Work(scenario, *of_scenario)
        return Work(scenario, *of_scenario, self.lesson, self.lesson_path, self.known(self.lesson_path))

    def recover(self, work: Work) -> None:
        """Take over unsaved work of another document."""
        self.open(work.scenario, work.path, True, work.known)
        if work.lesson is not None:
            self.open_lesson(work.lesson, work.lesson_path, True, work.lesson_known)

    def known(self, path: Path | None) -> str:
        """The fingerprint by which a file is known, empty if it is not."""
        return "" if path is None else self._on_disk.get(path, "")

    def changed_on_disk(self, path: Path | None) -> bool:
        """True if a file is another than the one that was read or written last; a file that is gone is not."""
        known = self.known(path)
        return path is not None and bool(known) and fingerprint(path) not in (known, "")

    def _write(self, path: Path, text: str) -> None:
        """Write a file; FileChanged, with nothing changed, if another program has changed it since it was read."""
        self._on_disk[path] = write_if_unchanged(path, text.encode("utf-8"), self.known(path) or None)

    def save_lesson(self, path: Path) -> None:
        """Write the lesson's file, whole or not at all; ScenarioError, with nothing changed, if it cannot be."""
        self._write(path, lesson_to_json(self.lesson))
        self.lesson_path, self._lesson_saved = path, self.lesson
        self.settle()

    def read(self, path: Path) -> None:
        """Open a file; ScenarioError, with the document untouched, if it cannot be read."""
        known = fingerprint(path)
        self.open(load(path), path, known=known)

    def save(self, path: Path | None = None) -> None:
        """Write the file, whole or not at all; ScenarioError, with nothing changed, if it cannot be written."""
        where = path or self.path
        assert where is not None
        self._write(where, to_json(self.scenario))
        self._states[self._at] = replace(self.state, path=where)
        self._saved = self.state
        self.settle()
