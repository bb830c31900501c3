"""Opening, saving and leaving, and what is asked before work could be lost."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from tablesim.errors import TablesimError
from tablesim.model.lesson import is_lesson, load_lesson
from tablesim.model.scenario import Scenario, load
from tablesim.resources import ready_scenarios

from .editor import empty_table
from .overlays import FilePage, Question

if TYPE_CHECKING:
    from .app import App


class Files:
    """The window's actions on files."""

    def __init__(self, app: App) -> None:
        self.app = app

    def by_name(self) -> dict[str, Callable[[], object]]:
        """The actions that keys and buttons name."""
        return {
            "save": self.save, "save_as": self.save_as, "save_lesson": self.save_lesson, "open": self.open,
            "new": self.new, "leave": self.leave,
        }  # fmt: skip

    def _show(self, scenario: Scenario, path: Path | None) -> None:
        app = self.app
        app.stop_playing()
        app.book.showing = False
        app.document.open(scenario, path)
        app.editor.opened(scenario)
        app.places.forget_unsaved()
        if path is not None:
            app.settings.remember(path)
            app.places.keep_settings(app.settings)

    def _unless_unsaved(self, go_on: Callable[[], object]) -> None:
        """Go on, after asking what is to become of unsaved changes."""
        app = self.app
        if app.document.lesson_unsaved and app.document.lesson.scenes:
            what = f"The lesson “{app.document.lesson.title or 'untitled'}”"
            save: Callable[..., object] = self.save_lesson
        elif app.document.unsaved:
            what, save = f"“{app.document.scenario.title or 'untitled lesson'}”", self.save
        else:
            go_on()
            return

        def save_first() -> None:
            save(then=go_on)

        app.open_overlay(Question(
            "Unsaved changes", f"{what} has unsaved changes.",
            [("Save", lambda: app.guard(save_first)), ("Don't save", lambda: app.guard(go_on)),
             ("Cancel", lambda: None)],
        ))  # fmt: skip

    def open_path(self, path: Path) -> None:
        """Open a file; what is open stays if it cannot be read."""
        if is_lesson(path):
            self._open_lesson(path)
            return
        scenario = load(path)
        # A ready lesson is a beginning: saving it must not overwrite the one that comes with the program.
        ready = path.resolve() in {p.resolve() for p in ready_scenarios().values()}
        self._unless_unsaved(lambda: self._show(scenario, None if ready else path))

    def _open_lesson(self, path: Path) -> None:
        """Open a lesson beside the scenario, after asking what is to become of changes to the one that is open."""
        lesson, app = load_lesson(path), self.app

        def go_on() -> None:
            app.document.open_lesson(lesson, path)
            app.settings.remember(path)
            app.open_page("Lesson")
            if lesson.scenes:
                app.guard(lambda: app.book.show(0))
            app.tell(f"Lesson opened: {len(lesson.scenes)} scenes.")

        self._unless_unsaved(go_on)

    def _folder(self) -> Path:
        return self.app.document.path.parent if self.app.document.path else Path.cwd()

    def open(self) -> None:
        """Pick a file to open."""
        app = self.app

        def use(path: Path) -> None:
            app.guard(lambda: self.open_path(path))

        app.open_overlay(FilePage(False, self._folder(), app.settings.recent, use))

    def new(self) -> None:
        """An empty table."""
        self._unless_unsaved(lambda: self._show(empty_table(), None))

    def save(self, then: Callable[[], object] = lambda: None) -> None:
        """Write the file, asking for its name if it has none."""
        if self.app.document.path is None:
            self.save_as(then)
        else:
            self._write(self.app.document.path, then)

    def save_as(self, then: Callable[[], object] = lambda: None) -> None:
        """Write another file."""
        title = self.app.document.scenario.title
        self.ask_where(title or "lesson", lambda path: self._write(path, then), self.app.document.path)

    def ask_where(self, title: str, write: Callable[[Path], object], own: Path | None, suffix: str = ".json") -> None:
        """Ask for a file's name, and again if it would replace another file."""
        app = self.app
        name = "".join(c if c.isalnum() else "-" for c in title.lower()).strip("-")

        def use(path: Path) -> None:
            if path.exists() and path != own:
                app.open_overlay(Question(
                    "The file exists", f"{path.name} is already there.",
                    [("Replace it", lambda: app.guard(lambda: write(path))), ("Cancel", lambda: None)],
                ))  # fmt: skip
            else:
                app.guard(lambda: write(path))

        app.open_overlay(FilePage(True, self._folder(), app.settings.recent, use, f"{name or 'lesson'}{suffix}"))

    def _write(self, path: Path, then: Callable[[], object]) -> None:
        app = self.app
        try:
            app.document.save(path)
        except TablesimError as error:
            raise TablesimError(f"Not saved: {error}. Your work is still here; choose another place.") from None
        app.settings.remember(path)
        app.places.keep_settings(app.settings)
        app.places.forget_unsaved()
        app.tell(f"Saved {path.name}")
        then()

    def leave(self) -> None:
        """End, unless something unsaved holds it back."""

        def end() -> None:
            self.app.places.forget_unsaved()
            self.app.running = False

        self._unless_unsaved(end)

    def save_lesson(self, then: Callable[[], object] = lambda: None) -> None:
        """Write the lesson's file, asking for its name if it has none."""
        app = self.app
        path = app.document.lesson_path

        def write(where: Path) -> None:
            try:
                app.document.save_lesson(where)
            except TablesimError as error:
                raise TablesimError(f"Not saved: {error}. The lesson is still here; choose another place.") from None
            app.settings.remember(where)
            app.tell(f"Saved lesson {where.name}")
            then()

        if path is not None:
            write(path)
        else:
            self.ask_where(app.document.lesson.title or "lesson", write, None)

    def offer_left_behind(self) -> None:
        """Ask what is to become of work that a window which is gone did not save."""
        left = self.app.places.left_behind()
        if not left:
            return
        work = left[0]
        when = time.strftime("%d %B, %H:%M", time.localtime(work.at))
        name = work.scenario.title or (work.path.name if work.path else "an untitled lesson")

        def recover() -> None:
            self.app.document.open(work.scenario, work.path, unsaved=True)
            if work.lesson is not None:
                self.app.document.open_lesson(work.lesson, work.lesson_path, unsaved=True)
            self.app.editor.opened(work.scenario)
            self.app.keep_unsaved()
            self.app.places.forget_unsaved(work.kept)
            self.app.tell("Recovered. Save it to keep it.")

        self.app.open_overlay(Question(
            "Unsaved work was left behind", f"“{name}”, last changed {when}, was not saved.",
            [("Recover it", recover), ("Discard it", lambda: self.app.places.forget_unsaved(work.kept)),
             ("Later", lambda: None)],
        ))  # fmt: skip
