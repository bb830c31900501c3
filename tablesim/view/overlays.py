"""Pages that lie over the window until they are answered: help, files, questions."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pygame

from tablesim.errors import TablesimError
from tablesim.model.scenario import load
from tablesim.resources import ready_scenarios
from tablesim.scene.words import TERMS

from .fields import TextField
from .keys import KEYS
from .widgets import Button, Pos, Ui, Widget

CAUTION = "A model is a guide: your cue, cloth and hand decide. Check a correction on the table before you teach it."


def scroll_bar(ui: Ui, area: pygame.Rect, first: int, fits: int, whole: int) -> None:
    """How much of a list is in sight, at the right edge; nothing if all of it is."""
    if whole > fits:
        bar = pygame.Rect(area.right - ui.px(6), area.y, ui.px(4), max(ui.px(12), round(area.h * fits / whole)))
        bar.y += round((area.h - bar.h) * first / (whole - fits))
        ui.rect(ui.look.muted, bar, ui.px(2))


class Overlay:
    """A page with a title and controls; Escape closes it."""

    width, height = 560, 360

    def __init__(self, title: str) -> None:
        self.title = title
        self.widgets: list[Widget] = []
        self.rect = pygame.Rect(0, 0, 0, 0)
        self.close: Callable[[], None] = lambda: None

    def layout(self, ui: Ui) -> None:
        """Find the page's place and those of its controls."""
        screen = ui.surface.get_rect()
        self.rect = pygame.Rect(0, 0, min(ui.px(self.width), screen.w - 16), min(ui.px(self.height), screen.h - 16))
        self.rect.center = screen.center

    @property
    def first(self) -> Widget | None:
        """The control that gets the focus when the page opens."""
        return next((w for w in self.widgets if w.focusable), None)

    def draw(self, ui: Ui) -> None:
        """The window behind it dimmed, the page, its title and controls."""
        veil = pygame.Surface(ui.surface.get_size(), pygame.SRCALPHA)
        veil.fill((0, 0, 0, 130))
        ui.picture(veil, (0, 0))
        self.layout(ui)
        ui.panel(self.rect, ui.look.panel, ui.look.edge, 10)
        ui.write(
            self.title, (self.rect.x + ui.px(20), self.rect.y + ui.px(16)), 16, bold=True, room=self.rect.w - ui.px(40)
        )
        self.content(ui)
        for widget in self.widgets:
            widget.draw(ui)

    def content(self, ui: Ui) -> None:
        """What stands between title and controls."""

    def pressed(self, event: pygame.Event) -> bool:
        """A key that no control took; True if the page took it."""
        return False

    def wheel(self, steps: float) -> None:
        """The wheel turned over the page."""


class Question(Overlay):
    """A question with answers, of which Return takes ``default``; Escape takes the last one, which changes nothing."""

    height = 190

    def __init__(
        self, title: str, text: str, answers: list[tuple[str, Callable[[], object]]], default: int = 0
    ) -> None:
        super().__init__(title)
        self.text, self.default = text, default

        def chosen(do: Callable[[], object]) -> None:
            self.close()
            do()

        self.widgets = [Button(words, words, lambda do=do: chosen(do)) for words, do in answers]  # type: ignore[misc]

    @property
    def first(self) -> Widget:
        """The answer that Return takes."""
        return self.widgets[self.default]

    def layout(self, ui: Ui) -> None:
        """Answers in a row at the bottom."""
        super().layout(ui)
        gap = ui.px(10)
        wide = (self.rect.w - ui.px(40) - gap * (len(self.widgets) - 1)) // len(self.widgets)
        for k, widget in enumerate(self.widgets):
            widget.rect = pygame.Rect(
                self.rect.x + ui.px(20) + k * (wide + gap), self.rect.bottom - ui.px(50), wide, ui.px(32)
            )

    def content(self, ui: Ui) -> None:
        """The text."""
        for k, words in enumerate(ui.wrap(self.text, self.rect.w - ui.px(40), 13.5)[:4]):
            ui.write(words, (self.rect.x + ui.px(20), self.rect.y + ui.px(52 + 20 * k)), 13.5, ui.look.muted)


class Help(Overlay):
    """What keys and mouse do, and what the words mean."""

    width, height = 760, 680

    def __init__(self) -> None:
        super().__init__("Keys, mouse and words")
        self.first_line = 0
        self._room = self._count = 1
        self.widgets = [Button("close", "Close", lambda: self.close())]

    def layout(self, ui: Ui) -> None:
        """The button at the bottom."""
        super().layout(ui)
        self.widgets[0].rect = pygame.Rect(self.rect.right - ui.px(110), self.rect.y + ui.px(12), ui.px(90), ui.px(28))

    def _lines(self) -> list[tuple[str, str]]:
        mouse = [
            ("drag a ball", "move it; others are shoved aside"),
            ("drag the cloth", "turn the cue (Shift: ten times finer)"),
            ("double-click", "aim the cue there"), ("click a ball, a pocket", "pick the target"),
            ("wheel", "on the table: turn the cue; on a control: step it; on a long page of the panel: scroll"),
            ("drop a file", "open it"),
        ]  # fmt: skip
        lines: list[tuple[str, str]] = [("", "Mouse"), *mouse]
        group = ""
        for key in KEYS:
            if key.shown:
                if key.group != group:
                    group = key.group
                    lines.append(("", group))
                lines.append((key.shown, key.words))
        lines.append(("", "Words"))
        lines += [(term, words) for term, words in TERMS.items()]
        return [*lines, ("", CAUTION)]

    def content(self, ui: Ui) -> None:
        """Key and words, as many lines as fit."""
        area = self.rect.inflate(-ui.px(40), -ui.px(72)).move(0, ui.px(18))
        high = ui.px(21)
        rows: list[tuple[str, str, bool]] = []
        for left, words in self._lines():
            for k, line in enumerate(ui.wrap(words, area.w - ui.px(170 if left else 20), 12.5)):
                rows.append((left if k == 0 else "", line, not left))
        self._room, self._count = max(1, area.h // high), len(rows)
        self.first_line = max(0, min(self.first_line, len(rows) - self._room))
        for k, (left, words, head) in enumerate(rows[self.first_line : self.first_line + self._room]):
            y = area.y + k * high
            if head:
                ui.write(words, (area.x, y), 12.5, ui.look.accent, True)
            else:
                ui.write(left, (area.x, y), 12.5, ui.look.text, True, room=ui.px(155))
                ui.write(words, (area.x + ui.px(160), y), 12.5, ui.look.muted)
        scroll_bar(ui, area, self.first_line, self._room, len(rows))

    def pressed(self, event: pygame.Event) -> bool:
        """Arrow and page keys scroll."""
        step = {
            pygame.K_UP: -1, pygame.K_DOWN: 1, pygame.K_PAGEUP: -self._room, pygame.K_PAGEDOWN: self._room,
            pygame.K_HOME: -self._count, pygame.K_END: self._count,
        }  # fmt: skip
        if event.key in step:
            self.first_line += step[event.key]
            return True
        return False

    def wheel(self, steps: float) -> None:
        """Scroll."""
        self.first_line -= round(3 * steps)


@dataclass(frozen=True)
class Entry:
    """A line of the list of files."""

    name: str
    note: str
    path: Path


def entries(folder: Path, recent: list[str]) -> list[Entry]:
    """Recent files, ready scenarios, and the folders and scenario files of a folder."""
    found = [Entry(Path(p).name, "recent", Path(p)) for p in recent if Path(p).is_file()]
    try:
        inside = sorted(folder.iterdir(), key=lambda p: p.name.lower())[:1000]
    except OSError:
        inside = []
    found += [Entry(p.name, "file", p) for p in inside if p.suffix == ".json" and p.is_file()]
    for name, path in ready_scenarios().items():
        try:
            title = load(path).title
        except TablesimError as error:  # a ready scenario that is damaged still has a line
            title = str(error)
        found.append(Entry(title, f"ready scenario {name}", path))
    found.append(Entry("..", "folder above", folder.parent))
    return found + [Entry(p.name + "/", "folder", p) for p in inside if p.is_dir() and not p.name.startswith(".")]


class FileList(Widget):
    """The list of files; arrows and Return, or a click."""

    ROW = 24

    def __init__(self, pick: Callable[[Entry], object]) -> None:
        super().__init__("files")
        self.items: list[Entry] | None = None
        self.pick, self.at, self.first = pick, 0, 0

    def draw(self, ui: Ui) -> None:
        """The lines that fit."""
        ui.panel(self.rect, ui.look.raised, ui.look.edge)
        if self.items is None:
            ui.write("looking…", (self.rect.x + ui.px(10), self.rect.y + ui.px(10)), 12.5, ui.look.muted)
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
                ui.panel(row, ui.look.edge, None, 4)
            end = ui.write(entry.name, (row.x + ui.px(8), row.centery), 12.5, up=0.5, room=round(row.w * 0.5)).right
            ui.write(
                entry.note,
                (row.right - ui.px(8), row.centery),
                11.5,
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
    """Open a file, or save as one: a path to type and a list to pick from. The folder is read beside the window."""

    width, height = 760, 560

    def __init__(
        self, saving: bool, start: Path, recent: list[str], use: Callable[[Path], object], name: str = ""
    ) -> None:
        super().__init__("Save as" if saving else "Open a file or a ready scenario")
        self.saving, self.use, self.recent, self.folder = saving, use, recent, start
        self.path_text = str(start / name) if saving else str(start)
        self.suffix, self.trouble = Path(name).suffix, ""
        self.field = PathField(lambda: self.path_text, self._typed, self._use)
        self.list = FileList(self._picked)
        self.go = Button("go", "Save" if saving else "Open", self._use, note="what the path names")
        self.cancel = Button("cancel", "Cancel", lambda: self.close())
        self.widgets = [self.field, self.list, self.go, self.cancel]
        self.read(start)

    def read(self, folder: Path) -> None:
        """Look into a folder, in a thread: a slow disk must not stop the window."""
        self.folder, self.list.items, self.list.at = folder, None, 0

        def look() -> None:
            found = entries(folder, [] if self.saving else self.recent)
            if self.saving:
                found = [e for e in found if not e.note.startswith("ready")]
            if self.folder == folder:
                self.list.items = found

        threading.Thread(target=look, name="files", daemon=True).start()

    def layout(self, ui: Ui) -> None:
        """Path on top, list, buttons."""
        super().layout(ui)
        x, wide, pad = self.rect.x + ui.px(20), self.rect.w - ui.px(40), ui.px(10)
        self.field.rect = pygame.Rect(x, self.rect.y + ui.px(48), wide, ui.px(30))
        bottom = self.rect.bottom - ui.px(52)
        self.list.rect = pygame.Rect(x, self.field.rect.bottom + pad, wide, bottom - self.field.rect.bottom - 2 * pad)
        half = (wide - pad) // 2
        self.go.rect = pygame.Rect(x, bottom, half, ui.px(32))
        self.cancel.rect = pygame.Rect(x + half + pad, bottom, wide - half - pad, ui.px(32))

    def content(self, ui: Ui) -> None:
        """What is wrong with the path, beside the title."""
        where = (self.rect.right - ui.px(20), self.rect.y + ui.px(20))
        ui.write(self.trouble, where, 12.5, ui.look.warning, across=1.0, room=self.rect.w - ui.px(140))

    def _typed(self, text: str) -> None:
        self.path_text, self.trouble = text, ""

    def _picked(self, entry: Entry) -> None:
        if entry.path.is_dir():
            self.path_text = str(entry.path / Path(self.path_text).name) if self.saving else str(entry.path)
            self.read(entry.path)
        else:
            self.path_text = str(entry.path)
            if not self.saving:
                self._use()

    def _use(self) -> None:
        path = Path(self.path_text).expanduser()
        if path.is_dir():
            self.read(path)
            return
        if self.saving and path.suffix == "":
            path = path.with_suffix(self.suffix)
        if self.saving and path.suffix.lower() != self.suffix != ".json":
            self.trouble = f"The name must end in {self.suffix}, or in nothing; got “{path.suffix}”."
            return
        self.close()
        self.use(path)


class More(Overlay):
    """A list of things to do, as buttons."""

    width = 360

    def __init__(self, choices: list[tuple[str, Callable[[], object]]], title: str = "More") -> None:
        super().__init__(title)

        def chosen(do: Callable[[], object]) -> None:
            self.close()
            do()

        self.widgets = [Button(words, words, lambda do=do: chosen(do)) for words, do in choices]  # type: ignore[misc]
        self.height = 66 + 36 * len(choices)

    def layout(self, ui: Ui) -> None:
        """One under the other; two columns where they do not fit."""
        super().layout(ui)
        rows = max(1, (self.rect.h - ui.px(56)) // ui.px(36))
        columns = -(-len(self.widgets) // rows)
        wide = (self.rect.w - ui.px(40)) // columns
        for k, widget in enumerate(self.widgets):
            x, y = self.rect.x + ui.px(20) + k // rows * wide, self.rect.y + ui.px(48) + k % rows * ui.px(36)
            widget.rect = pygame.Rect(x, y, wide - ui.px(6), ui.px(30))
