"""Files written whole or not at all: aside first, then moved into place."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from secrets import token_hex

from tablesim.errors import ScenarioError
from tablesim.interrupts import insist, unwound


@contextmanager
def aside(path: str | os.PathLike[str]) -> Iterator[Path]:
    """A new empty file beside the one meant, moved into its place at the end; gone if anything goes wrong.

    It has the same suffix.  ScenarioError names the file meant if the disk refuses.
    """
    file = Path(path)
    beside = file.parent / f".{file.name}.{token_hex(4)}{file.suffix}"  # known before it is there: never left behind
    with unwound():
        try:
            beside.touch(0o600, exist_ok=False)
            yield beside
            beside.chmod(0o644)
            insist()
            os.replace(beside, file)
        except BaseException as error:
            with suppress(OSError):
                beside.unlink()
            if isinstance(error, OSError):
                raise ScenarioError(f"{file}: cannot be written ({error.strerror or error})") from None
            raise


def write_whole(path: str | os.PathLike[str], data: bytes) -> None:
    """Write a file whole or not at all; ScenarioError if the disk refuses."""
    with aside(path) as beside, beside.open("wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
