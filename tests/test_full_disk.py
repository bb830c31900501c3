"""A full disk while something is handed out: a plain message, and nothing half-made."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tablesim.errors import TablesimError
from tablesim.output.clip import ClipWishes, clip
from tablesim.output.sheet import sheet
from tablesim.output.still import StillWishes, still
from tablesim.resources import open_scenario

MAKERS: dict[str, Callable[[Path], object]] = {
    "a.png": lambda path: still(open_scenario("throw-at-thirty"), str(path), StillWishes(size=(320, 200))),
    "a.svg": lambda path: still(open_scenario("throw-at-thirty"), str(path), StillWishes(size=(320, 200))),
    "a.mp4": lambda path: clip(open_scenario("throw-at-thirty"), str(path), ClipWishes(size=(320, 200), seconds=0.3)),
    "a.gif": lambda path: clip(open_scenario("throw-at-thirty"), str(path), ClipWishes(size=(320, 200), seconds=0.3)),
    "a.pdf": lambda path: sheet(open_scenario("throw-at-thirty"), path),
}


@pytest.mark.parametrize("name", MAKERS)
def test_nothing_half_made(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(TablesimError, match="No space left"):
        MAKERS[name](tmp_path / name)
    assert list(tmp_path.iterdir()) == []
