"""What the window remembers between starts: settings, recent files, unsaved work; and where it lies."""

from __future__ import annotations

import contextlib
import json
import os
import time
from dataclasses import asdict, dataclass, field, fields, replace
from pathlib import Path
from secrets import token_hex
from typing import IO, Any

from tablesim.errors import TablesimError
from tablesim.model.lesson import lesson_from_json, lesson_to_json
from tablesim.model.scenario import from_json, to_json
from tablesim.model.whole import read_text, write_whole

from .document import Work

RECENT = 8
LOCK = ".lock"  # beside unsaved work
UNITS = ("mm", "inch", "diamond")
FROM_AFAR = 1.0 / 45.0  # of a window's height: the smallest letters that are read from the back of a room
BODY_LETTERS = 13.0  # points of nearly all words; where a window is to be read from afar, none are smaller
MOST_KEPT = 50_000_000  # bytes of what is read back
POINTS_KEPT = (640, 400)  # so much of the window is left to the layout at least


@dataclass
class Settings:
    """How a person likes the window."""

    look: str = "evening"
    scale: float = 1.0
    unit: str = "mm"
    british: bool = False
    details: bool = False
    speed: str = "1"  # of playing
    slow_contact: bool = False  # playing is slower about the contact
    welcomed: bool = False  # what to do first has been shown
    recent: list[str] = field(default_factory=list)

    def scale_in(self, width: int, height: int, from_afar: bool = False, smallest: float = BODY_LETTERS) -> float:
        """Pixels a point in a window of that size [pixels].

        For a projector, or ``from_afar`` in any look, the smallest letters [points]
        can be read from the back of the room, as far as the layout still fits.
        """
        if self.look != "projector" and not from_afar:
            return self.scale
        room = min(width / POINTS_KEPT[0], height / POINTS_KEPT[1])
        return max(self.scale, min(FROM_AFAR * height / smallest, room))

    def remember(self, path: Path) -> None:
        """Put a file in front of the recent ones."""
        text = str(path.resolve())
        self.recent = [text, *(p for p in self.recent if p != text)][:RECENT]


@dataclass(frozen=True)
class Unsaved:
    """Work that a window left behind without saving: where it lies, from when [s], and what it is."""

    kept: Path
    at: float
    work: Work


class Places:
    """Directories of settings and of unsaved work; a place that cannot be written costs memory, nothing else."""

    def __init__(self, root: Path | None = None) -> None:
        if root is None:
            from platformdirs import user_config_path, user_state_path

            self.config = user_config_path("tablesim", appauthor=False)
            self.state = user_state_path("tablesim", appauthor=False)
        else:
            self.config = self.state = root
        self._mark = f"{time.time_ns():x}-{token_hex(4)}"
        self._held: IO[bytes] | None = None

    @property
    def _settings(self) -> Path:
        return self.config / "settings.json"

    @property
    def unsaved_file(self) -> Path:
        """Where this window keeps its unsaved work."""
        return self.state / f"unsaved-{self._mark}.json"

    def _claim(self) -> None:
        """Hold a lock beside the unsaved work for as long as this window lives: who can take it finds work left behind.

        A process's number would not do: another may have the same one later, or in another container.
        """
        if self._held is None:
            self._held = _locked(self.unsaved_file.with_suffix(LOCK))

    def settings(self) -> Settings:
        """The settings kept, or new ones where there are none or they cannot be read."""
        known = Settings()
        with contextlib.suppress(OSError, ValueError, TypeError, RecursionError):
            data = json.loads(read_text(self._settings, MOST_KEPT))
            data = data if isinstance(data, dict) else {}
            for f in fields(Settings):
                if isinstance(data.get(f.name), type(getattr(known, f.name))):
                    setattr(known, f.name, data[f.name])
            known.scale = min(2.0, max(1.0, known.scale))
            known.recent = [p for p in known.recent if isinstance(p, str)][:RECENT]
        return known

    def keep_settings(self, settings: Settings) -> None:
        """Write the settings; silently not where that cannot be done."""
        with contextlib.suppress(OSError, TablesimError):
            self.config.mkdir(parents=True, exist_ok=True)
            write_whole(self._settings, json.dumps(asdict(settings), indent=1).encode("utf-8"))

    def keep_unsaved(self, work: Work) -> None:
        """Write unsaved work aside, whole or not at all; TablesimError says why not."""
        data = {"at": time.time(), "scenario": json.loads(to_json(work.scenario))} | _file(
            "file", work.path, work.known
        )
        if work.lesson is not None:
            data["lesson"] = json.loads(lesson_to_json(work.lesson))
            data |= _file("lesson_file", work.lesson_path, work.lesson_known)
        try:
            self.state.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise TablesimError(f"{self.state}: cannot be made ({error.strerror or error})") from None
        self._claim()
        write_whole(self.unsaved_file, json.dumps(data, ensure_ascii=False).encode("utf-8"))

    def forget_unsaved(self, kept: Path | None = None) -> None:
        """Drop unsaved work that has been saved or let go."""
        with contextlib.suppress(OSError):
            (kept or self.unsaved_file).unlink()
        if kept is not None:
            with contextlib.suppress(OSError):
                kept.with_suffix(LOCK).unlink()

    def release(self) -> None:
        """The window ends: what it still keeps aside is left behind from now on."""
        if self._held is not None:
            self._held.close()
            self._held = None
            if not self.unsaved_file.exists():
                with contextlib.suppress(OSError):
                    self.unsaved_file.with_suffix(LOCK).unlink()

    def left_behind(self) -> tuple[list[Unsaved], list[tuple[Path, str]]]:
        """Unsaved work of windows that are gone, the latest first; and what cannot be read, with why not."""
        found: list[Unsaved] = []
        damaged: list[tuple[Path, str]] = []
        for kept in self.state.glob("unsaved-*.json") if self.state.is_dir() else ():
            if kept != self.unsaved_file and _is_left(kept):
                try:
                    found.append(_read(kept))
                except (
                    OSError,
                    ValueError,
                    TablesimError,
                    TypeError,
                    KeyError,
                    AttributeError,
                    RecursionError,
                ) as error:
                    why = str(error) if isinstance(error, TablesimError) else "it is damaged"
                    damaged.append((kept, why))
        return sorted(found, key=lambda one: -one.at), damaged


def _locked(file: Path) -> IO[bytes] | None:
    """A file opened and locked until it is closed or the process ends; None if another holds it, or nothing can be."""
    try:
        opened = file.open("ab")
    except OSError:
        return None
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(opened.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl

            fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        opened.close()
        return None
    return opened


def _is_left(kept: Path) -> bool:
    """True if no living window holds the lock of this work."""
    lock = _locked(kept.with_suffix(LOCK))
    if lock is None:
        return False
    lock.close()
    return True


def _read(kept: Path) -> Unsaved:
    data: dict[str, Any] = json.loads(read_text(kept, MOST_KEPT))
    scenario, lesson = from_json(json.dumps(data["scenario"])), data.get("lesson")
    work = Work(scenario, *_file_in(data, "file"))
    if lesson is not None:
        work = replace(work, lesson=lesson_from_json(json.dumps(lesson)))
        path, known = _file_in(data, "lesson_file")
        work = replace(work, lesson_path=path, lesson_known=known)
    return Unsaved(kept, float(data["at"]), work)


def _file(name: str, path: Path | None, known: str) -> dict[str, object]:
    """A file in what is kept: where it is and by which fingerprint it was known."""
    return {name: None if path is None else str(path), f"{name}_known": known}


def _file_in(data: dict[str, Any], name: str) -> tuple[Path | None, str]:
    return _path(data.get(name)), str(data.get(f"{name}_known", ""))


def _path(text: object) -> Path | None:
    return Path(text) if isinstance(text, str) else None
