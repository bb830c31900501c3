"""The page on which a file is picked to be opened, or named to be saved."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pygame

from tablesim.errors import TablesimError
from tablesim.model.lesson import Lesson, load_lesson
from tablesim.model.scenario import Scenario, load
from tablesim.resources import ready_lessons, ready_scenarios

from ..controls.fields import TextField
from ..controls.widgets import BODY, SMALL, Button, Pos, Ui, Widget, scroll_bar
from .overlays import Overlay


@dataclass(frozen=True)
class FileEntry:
    """A line of the list of files."""

    name: str
    note: str
    path: Path


def entries(folder: Path, recent: list[str]) -> list[FileEntry]:
    """Recent files, ready scenarios, and the folders and scenario files of a folder."""
    found = [FileEntry(Path(p).name, "recent", Path(p)) for p in recent if Path(p).is_file()]
    try:
        inside = sorted(folder.iterdir(), key=lambda p: p.name.lower())[:1000]
    except OSError:
        inside = []
    found += [FileEntry(p.name, "file", p) for p in inside if p.suffix == ".json" and p.is_file()]
    found += ready_entries()
    found.append(FileEntry("..", "folder above", folder.parent))
    return found + [FileEntry(p.name + "/", "folder", p) for p in inside if p.is_dir() and not p.name.startswith(".")]


def ready_entries() -> list[FileEntry]:
    """The ready scenarios and lessons."""
    scenarios = [_ready(path, f"ready scenario {name}", load) for name, path in ready_scenarios().items()]
    return scenarios + [_ready(path, f"ready lesson {name}", load_lesson) for name, path in ready_lessons().items()]


def _ready(path: Path, note: str, read: Callable[[Path], Scenario | Lesson]) -> FileEntry:
    """The line of what comes with the program, by its title; what is damaged still has one."""
    try:
        return FileEntry(read(path).title, note, path)
    except TablesimError as error:
        return FileEntry(str(error), note, path)


class FileList(Widget):
    """The list of files; arrows and Return, or a click."""

    ROW = 24

    def __init__(self, pick: Callable[[FileEntry], object]) -> None:
        super().__init__("files")
        self.items: list[FileEntry] | None = None
        self.pick, self.at, self.first = pick, 0, 0

    def draw(self, ui: Ui) -> None:
        """The lines that fit."""
        ui.panel(self.rect, ui.look.raised, ui.look.edge)
        if self.items is None:
            ui.write("looking…", (self.rect.x + ui.px(10), self.rect.y + ui.px(10)), BODY, ui.look.muted)
            return
        fits = max(1, (self.rect.h - ui.px(8)) // ui.px(self.ROW))
        self.at = max(0, min(self.at, len(self.items) - 1))
        self.first = max(min(self.first, self.at), self.at - fits + 1, 0)
        for k, entry in enumerate(self.items[self.first : self.first + fits]):
            row = pygame.Rect(
                self.rect.x + ui.px(4),
                self.rect.y + ui.px(4) + k * ui.px(self.ROW),
                self.rect.w - ui.px(8),
                ui.px(self.ROW),
            )
            if self.first + k == self.at:
                ui.panel(row, ui.look.panel, ui.look.accent, 4)
            end = ui.write(entry.name, (row.x + ui.px(8), row.centery), up=0.5, room=round(row.w * 0.5)).right
            ui.write(
                entry.note,
                (row.right - ui.px(8), row.centery),
                SMALL,
                ui.look.muted,
                across=1.0,
                up=0.5,
                room=max(row.right - end - ui.px(24), 1),
            )
        scroll_bar(ui, self.rect, self.first, fits, len(self.items))
        self.ring(ui)

    def press(self, pos: Pos, ui: Ui) -> None:
        """Take the line."""
        at = self.first + (pos[1] - self.rect.y - ui.px(4)) // ui.px(self.ROW)
        if self.items and 0 <= at < len(self.items):
            self.at = at
            self.pick(self.items[at])

    def wheel(self, steps: float) -> bool:
        """Scroll."""
        self.at -= round(3 * steps)
        return True

    def pressed(self, event: pygame.Event) -> bool:
        """Arrows move, Return takes."""
        moves = {
            pygame.K_UP: -1, pygame.K_DOWN: 1, pygame.K_PAGEUP: -10, pygame.K_PAGEDOWN: 10,
            pygame.K_HOME: -len(self.items or ()), pygame.K_END: len(self.items or ()),
        }  # fmt: skip
        if event.key in moves:
            self.at += moves[event.key]
            return True
        if event.key in (pygame.K_RETURN, pygame.K_KP_ENTER) and self.items:
            self.pick(self.items[self.at])
            return True
        return False


class PathField(TextField):
    """The path of a file: Return takes it as it stands, typed or proposed."""

    def __init__(self, value: Callable[[], str], change: Callable[[str], object], take: Callable[[], object]) -> None:
        super().__init__("path", value, change, "path of a file")
        self.take = take

    def pressed(self, event: pygame.Event) -> bool:
        """Return takes the path; the rest as in a text."""
        if event.key in (pygame.K_RETURN, pygame.K_KP_ENTER):
            self.leave()
            self.take()
            return True
        return super().pressed(event)


class FilePage(Overlay):
    """Open a file, or save as one: a path to type and a list to pick from. The folder is read beside the window.

    ``use`` takes the path and returns what is to be done once the page is closed; what it refuses is said on the page.
    """

    width, height = 760, 560

    def __init__(
        self, saving: bool, start: Path, recent: list[str], use: Callable[[Path], Callable[[], object]],
        name: str = "",
    ) -> None:  # fmt: skip
        super().__init__("Save as" if saving else "Open a file, a ready scenario or lesson")
        self.saving, self.use, self.recent, self.folder = saving, use, recent, start
        self.path_text = str(start / name) if saving else str(start)
        self.suffix = Path(name).suffix
        self.trouble = ""
        self._lines: list[str] = []  # of the trouble, as they are set
        self.field = PathField(lambda: self.path_text, self._typed, self._use)
        self.list = FileList(self._picked)
        self.go = Button("go", "Save" if saving else "Open", self._use, note="what the path names")
        self.cancel = Button("cancel", "Cancel", lambda: self.close())
        self.widgets = [self.field, self.list, self.go, self.cancel]
        self.read(start)

    def read(self, folder: Path) -> None:
        """Look into a folder, in a thread: a slow disk must not stop the window."""
        self.folder, self.list.items, self.list.at = folder, None, 0
        self.turns += 1
        self.trouble = ""

        def look() -> None:
            found = entries(folder, [] if self.saving else self.recent)
            if self.saving:
                found = [e for e in found if not e.note.startswith("ready")]
            if self.folder == folder:
                self.list.items = found

        threading.Thread(target=look, name="files", daemon=True).start()

    def layout(self, ui: Ui) -> None:
        """Path on top, list, what is wrong with the path, buttons."""
        super().layout(ui)
        x, wide, pad = self.rect.x + ui.px(20), self.rect.w - ui.px(40), ui.px(10)
        self.field.rect = pygame.Rect(x, self.rect.y + ui.px(48), wide, ui.px(30))
        bottom = self.rect.bottom - ui.px(52)
        self._lines = ui.wrap(self.trouble, wide, BODY)[:3]
        end = bottom - ui.px(18) * len(self._lines)
        self.list.rect = pygame.Rect(x, self.field.rect.bottom + pad, wide, end - self.field.rect.bottom - 2 * pad)
        half = (wide - pad) // 2
        self.go.rect = pygame.Rect(x, bottom, half, ui.px(32))
        self.cancel.rect = pygame.Rect(x + half + pad, bottom, wide - half - pad, ui.px(32))

    def content(self, ui: Ui) -> None:
        """What is wrong with the path, under the list."""
        for k, line in enumerate(self._lines):
            where = (self.list.rect.x, self.list.rect.bottom + ui.px(6 + 18 * k))
            ui.write(line, where, BODY, ui.look.warning, room=self.list.rect.w)

    def _typed(self, text: str) -> None:
        self.path_text, self.trouble = text, ""

    def _picked(self, entry: FileEntry) -> None:
        if entry.path.is_dir():
            self.path_text = str(entry.path / Path(self.path_text).name) if self.saving else str(entry.path)
            self.read(entry.path)
        else:
            self.path_text = str(entry.path)
            if not self.saving:
                self._use()

    def _use(self) -> None:
        try:
            path = self._path(Path(self.path_text))
            if path.is_dir():
                self.read(path)
                return
            go_on = self.use(self._path(self._named(path)))
        except TablesimError as error:
            text = str(error).rstrip(".")
            self.trouble = f"{text[:1].upper()}{text[1:]}."
            return
        self.close()
        go_on()

    def _path(self, named: Path) -> Path:
        """The path that is named; TablesimError if there can be none such, or it is out of reach."""
        try:
            path = named.expanduser()
            path.is_dir()
        except (OSError, RuntimeError) as error:  # too long, in a locked folder, in the home of nobody
            why = getattr(error, "strerror", None) or error
            raise TablesimError(f"{str(named)[:60]!r}: cannot be read ({why})") from None
        return path

    def _named(self, path: Path) -> Path:
        """The path with the ending that is saved; TablesimError for another one."""
        if self.saving and path.suffix == "":
            return path.with_suffix(self.suffix)
        if self.saving and path.suffix.lower() != self.suffix != ".json":
            raise TablesimError(f"The name must end in {self.suffix}, or in nothing; got “{path.suffix}”")
        return path
