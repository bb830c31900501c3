"""Opening, saving and leaving, and what is asked before work could be lost."""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Protocol

from tablesim.errors import FileChanged, TablesimError
from tablesim.model.lesson import Lesson, is_lesson, load_lesson
from tablesim.model.scenario import Scenario, load
from tablesim.model.whole import fingerprint
from tablesim.resources import comes_with_program

from ..document.editor import empty_table
from ..document.places import Places
from ..pages.file_page import FilePage
from ..pages.overlays import QuestionPage
from .desk import Desk


def _none() -> None:
    """Nothing more to do."""


class Keeper(Desk, Protocol):
    """The window, as what saves and opens sees it."""

    @property
    def places(self) -> Places:
        """Where settings and unsaved work lie."""

    def keep_unsaved(self) -> None:
        """Write unsaved work aside, or drop what was kept where nothing is unsaved."""

    def end(self) -> None:
        """Close the window."""


class Files:
    """The window's actions on files."""

    def __init__(self, desk: Keeper) -> None:
        self.desk = desk
        self._told = ""  # of which change on the disk it has been asked already

    def by_name(self) -> dict[str, Callable[[], object]]:
        """The actions that keys and buttons name."""
        return {
            "save": self.save, "save_as": self.save_as, "open": self.open, "new": self.new, "leave": self.leave,
            "close_lesson": self.close_lesson,
        }  # fmt: skip

    def _show(self, scenario: Scenario, path: Path | None, known: str | None = None) -> None:
        desk = self.desk
        desk.stop_playing()
        desk.book.showing = False
        desk.document.open(scenario, path, known=known)
        desk.editor.opened(scenario)
        self._settled(path)

    def _settled(self, path: Path | None) -> None:
        """What is open has another file, or is saved: remember the file, keep aside what is still unsaved."""
        desk = self.desk
        if path is not None:
            desk.settings.remember(path)
            desk.places.keep_settings(desk.settings)
        desk.keep_unsaved()

    # --- what is asked before work could be lost

    def _ask(self, title: str, text: str, answers: dict[str, Callable[[], object]]) -> None:
        guarded = [(words, partial(self.desk.guard, do)) for words, do in answers.items()]
        self.desk.open_overlay(QuestionPage(title, text, [*guarded, ("Cancel", lambda: None)]))

    def _scenario_held(self, go_on: Callable[[], object]) -> None:
        """Go on once it is settled what becomes of the scenario, if neither a file nor a scene holds it."""
        document = self.desk.document
        name = f"“{document.scenario.title or 'untitled'}”"
        if not document.unsaved:
            go_on()
        elif document.lesson_open:
            self._ask("This view is not kept", f"The lesson does not hold {name} as it is on the screen now.",
                      self._ways_to_hold(go_on))  # fmt: skip
        else:
            self._ask("Unsaved changes", f"{name} has unsaved changes.",
                      {"Save": lambda: self.save(go_on), "Don't save": go_on})  # fmt: skip

    def _ways_to_hold(self, go_on: Callable[[], object]) -> dict[str, Callable[[], object]]:
        """Where a scenario beside a lesson can be kept: its own file or the scene that it came from, or a new scene."""
        path, book = self.desk.document.path, self.desk.book

        def first(do: Callable[[], object]) -> Callable[[], object]:
            def both() -> None:
                do()
                go_on()

            return both

        ways: dict[str, Callable[[], object]] = {}
        if path is not None:
            ways[f"Save {path.name}"] = lambda: self._write(path, go_on)
        elif book.shown is not None:
            ways[f"Into scene {book.place + 1}"] = first(book.renew)
        return ways | {"As a new scene": first(book.keep), "Leave it out": go_on}

    def _all_held(self, go_on: Callable[[], object]) -> None:
        """Go on once it is settled what becomes of the scenario and of the lesson."""

        def then() -> None:
            if not self.desk.document.lesson_unsaved:
                go_on()
                return
            name = self.desk.document.lesson.title or "untitled"
            self._ask("Unsaved changes", f"The lesson “{name}” has unsaved changes.",
                      {"Save": lambda: self._save_lesson(go_on), "Don't save": go_on})  # fmt: skip

        self._scenario_held(then)

    # --- opening

    def open_path(self, path: Path) -> None:
        """Open a file, after asking what is to become of changes to what is open, which stays if it cannot be read."""
        self._read(path)()

    def _read(self, path: Path) -> Callable[[], object]:
        """Read a file; what opens it then."""
        if is_lesson(path):
            return self._read_lesson(path, 0)
        known, scenario = fingerprint(path), load(path)
        own = None if comes_with_program(path) else path
        return lambda: self._scenario_held(lambda: self._show(scenario, own, known))

    def open_lesson(self, path: Path, at: int = 0) -> None:
        """Open a lesson at a scene, after asking what is to become of changes to what is open."""
        self._read_lesson(path, at)()

    def _read_lesson(self, path: Path, at: int) -> Callable[[], object]:
        known, lesson, desk = fingerprint(path), load_lesson(path), self.desk
        own = None if comes_with_program(path) else path

        def go_on() -> None:
            desk.document.open_lesson(lesson, own, known=known)
            self._settled(own)
            desk.open_page("Lesson")
            if lesson.scenes:
                desk.guard(lambda: desk.book.show(at))
            desk.tell(f"Lesson opened: {len(lesson.scenes)} scenes.")

        return lambda: self._all_held(go_on)

    def close_lesson(self) -> None:
        """Put the lesson away; what is on the screen stays."""

        def go_on() -> None:
            self.desk.document.open_lesson(Lesson(), None)
            self._settled(None)
            self.desk.tell("The lesson is closed; saving writes the scenario again.")

        self._all_held(go_on)

    def leave_file(self, go_on: Callable[[], object]) -> None:
        """Go on to a scene of the lesson; neither a changed scene nor a file beside the lesson loses its changes."""
        if self.desk.document.lesson.scenes and not self.desk.document.as_shown:
            self._scenario_held(go_on)
        else:
            go_on()

    def _folder(self) -> Path:
        file = self.desk.document.file
        if file:
            return file.parent
        try:
            return Path.cwd()
        except OSError:  # somebody has taken it away
            return Path.home()

    def open(self) -> None:
        """Pick a file to open."""
        self.desk.open_overlay(FilePage(False, self._folder(), self.desk.settings.recent, self._read))

    def new(self) -> None:
        """An empty table."""
        self._scenario_held(lambda: self._show(empty_table(), None))

    # --- saving

    def save(self, then: Callable[[], object] = lambda: None) -> None:
        """Write what is open, the lesson or else the scenario, asking for a name if it has no file."""
        document = self.desk.document
        if document.lesson_open:
            self._scenario_held(lambda: self._save_lesson(then))
        elif document.path is None:
            self.save_as(then)
        else:
            self._write(document.path, then)

    def save_as(self, then: Callable[[], object] = lambda: None) -> None:
        """Write what is open to another file."""
        document = self.desk.document
        if document.lesson_open:
            self._scenario_held(lambda: self._lesson_as(then))
        else:
            title = document.scenario.title or "scenario"
            self.ask_where(title, lambda path: self._write(path, then), document.path)

    def _save_lesson(self, then: Callable[[], object]) -> None:
        path = self.desk.document.lesson_path
        if path is None:
            self._lesson_as(then)
        else:
            self._write_lesson(path, then)

    def _lesson_as(self, then: Callable[[], object]) -> None:
        document = self.desk.document
        title = document.lesson.title or "lesson"
        self.ask_where(title, lambda path: self._write_lesson(path, then), document.lesson_path)

    def ask_where(self, title: str, write: Callable[[Path], object], own: Path | None, suffix: str = ".json") -> None:
        """Ask for a file's name, and again if it would replace another file."""
        desk = self.desk
        name = "".join(c if c.isalnum() else "-" for c in title.lower()).strip("-")

        def use(path: Path) -> Callable[[], object]:
            if not path.exists() or path == own:
                return lambda: write(path)
            return lambda: desk.open_overlay(QuestionPage(
                "The file exists", f"{path.name} is already there.",
                [("Replace it", lambda: desk.guard(lambda: write(path))), ("Cancel", lambda: None)], default=1,
            ))  # fmt: skip

        desk.open_overlay(FilePage(True, self._folder(), desk.settings.recent, use, f"{name or 'scenario'}{suffix}"))

    def _write(self, path: Path, then: Callable[[], object]) -> None:
        self._written(self.desk.document.save, path, then)

    def _write_lesson(self, path: Path, then: Callable[[], object]) -> None:
        self._written(self.desk.document.save_lesson, path, then)

    def _written(self, write: Callable[[Path], None], path: Path, then: Callable[[], object]) -> None:
        try:
            write(path)
        except FileChanged:
            self._ask_about_change(path, write, then)
            return
        except TablesimError as error:
            raise TablesimError(f"Not saved: {error}. Your work is still here; choose another place.") from None
        self._settled(path)
        self.desk.tell(f"Saved {path.name}")
        then()

    def _ask_about_change(self, path: Path, write: Callable[[Path], None], then: Callable[[], object]) -> None:
        """Another program has changed the file: whose is kept, or both as two files."""
        told = fingerprint(path)

        def mine() -> None:
            self.desk.document.take_note(path, told)  # if it is changed once more, that is asked, too
            self._written(write, path, then)

        def theirs() -> None:
            self._open_as_it_is(path)
            then()

        def both() -> None:
            self.ask_where(f"{path.stem}-mine", lambda other: self._written(write, other, then), None)

        self._ask(
            "The file has changed",
            f"Another program has changed {path.name} since it was opened here.",
            {"Keep mine": mine, "Keep theirs": theirs, "Keep both": both},
        )

    def _open_as_it_is(self, path: Path) -> None:
        """Open a file as it now is on the disk, instead of what is on the screen."""
        document, known = self.desk.document, fingerprint(path)
        if path == document.lesson_path:
            document.open_lesson(load_lesson(path), path, known=known)
            self._settled(path)
        else:
            self._show(load(path), path, known)
        self.desk.tell(f"{path.name} is shown as the other program left it.")

    def look_at_disk(self) -> None:
        """Ask what is to be shown when another program has changed the file that is open; once for each change."""
        document = self.desk.document
        path = document.file
        if path is None or self.desk.overlay is not None or not document.changed_on_disk(path):
            return
        now = fingerprint(path)
        if now != self._told:
            self._told = now
            write = document.save_lesson if path == document.lesson_path else document.save
            self._ask_about_change(path, write, _none)

    def leave(self) -> None:
        """End, unless something unsaved holds it back."""

        def end() -> None:
            self.desk.places.forget_unsaved()
            self.desk.end()

        self._all_held(end)

    def offer_left_behind(self) -> None:
        """Ask what is to become of work that a window which is gone did not save."""
        left, damaged = self.desk.places.left_behind()
        if damaged:
            kept, why = damaged[0]
            self.desk.tell(f"Unsaved work was left behind in {kept} and cannot be read: {why}. It stays there.", True)
        if not left:
            return
        work = left[0].work
        when = time.strftime("%d %B, %H:%M", time.localtime(left[0].at))
        name = work.scenario.title or (work.path.name if work.path else "an untitled scenario")

        def recover() -> None:
            self.desk.document.recover(work)
            self.desk.editor.opened(work.scenario)
            self.desk.keep_unsaved()
            self.desk.places.forget_unsaved(left[0].kept)
            self.desk.tell("Recovered. Save it to keep it.")

        self.desk.open_overlay(QuestionPage(
            "Unsaved work was left behind", f"“{name}”, last changed {when}, was not saved.",
            [("Recover it", recover), ("Discard it", lambda: self.desk.places.forget_unsaved(left[0].kept)),
             ("Later", lambda: None)],
        ))  # fmt: skip
