"""Files: one way to write them, whole or not at all, and one way to read them.

Writing goes aside first and is then moved into place.  It follows links, keeps
the mode and refuses what is no regular file or may not be written; a file that
has other names (hard links) keeps them: it is copied over once the whole new
text lies beside it.  Reading takes regular files alone, up to a size.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import stat
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from secrets import token_hex
from typing import TypeVar

from tablesim.errors import FileChanged, ScenarioError
from tablesim.interrupts import insist, unwound

Where = str | os.PathLike[str]
Known = TypeVar("Known")
WAIT_S = 10.0  # for another program that is writing into the same folder
AGAIN_S = 0.02


def _refusal(path: Where, error: OSError, what: str) -> ScenarioError:
    return ScenarioError(f"{path}: cannot be {what} ({error.strerror or error})")


def _place(path: Where) -> tuple[Path, os.stat_result | None]:
    """The file that a path means, behind its links, and its state; None if it is not there yet."""
    try:
        file = Path(os.path.realpath(path))
        found = file.stat() if os.path.lexists(file) else None
    except OSError as error:
        raise _refusal(path, error, "written") from None
    except ValueError:
        raise ScenarioError(f"{str(path)[:60]!r}: is no name of a file") from None
    if found is None:
        return file, None
    if not stat.S_ISREG(found.st_mode):
        what = "a folder" if stat.S_ISDIR(found.st_mode) else "no regular file"
        raise ScenarioError(f"{path}: cannot be written: it is {what}; choose another name")
    if not found.st_mode & 0o222 or not os.access(file, os.W_OK):
        raise ScenarioError(f"{path}: cannot be written: it is read-only; choose another name")
    return file, found


def _new_mode() -> int:
    """The mode of a new file, as the process's mask leaves it."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


@contextmanager
def aside(path: Where) -> Iterator[Path]:
    """A new empty file beside the one meant, moved into its place at the end; gone if anything goes wrong.

    It has the same suffix.  ScenarioError names the file meant if the disk refuses.
    """
    file, found = _place(path)
    beside = file.parent / f".{file.name[:100]}.{token_hex(4)}{file.suffix}"  # known before it is there: never left
    with unwound():
        try:
            beside.touch(0o600, exist_ok=False)
            yield beside
            insist()
            if found is not None and found.st_nlink > 1:
                shutil.copyfile(beside, file)
                beside.unlink()
            else:
                beside.chmod(_new_mode() if found is None else stat.S_IMODE(found.st_mode))
                _keep_owner(beside, found)
                os.replace(beside, file)
        except BaseException as error:
            with suppress(OSError):
                beside.unlink()
            if isinstance(error, OSError):
                raise _refusal(path, error, "written") from None
            raise


def _keep_owner(file: Path, found: os.stat_result | None) -> None:
    """Give a file the owner of what it replaces, where that may be."""
    if found is not None and hasattr(os, "chown") and (found.st_uid, found.st_gid) != (os.getuid(), os.getgid()):
        with suppress(OSError):
            os.chown(file, found.st_uid, found.st_gid)


def write_whole(path: Where, data: bytes) -> None:
    """Write a file whole or not at all; ScenarioError if the disk refuses."""
    with aside(path) as beside, beside.open("wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())


def read_bytes(path: Where, most_bytes: int, pipes: bool = False) -> bytes:
    """The bytes of a regular file of at most so many; ScenarioError names the file and why it cannot be read.

    What is no regular file, such as a pipe or a device, is not even opened: it could keep one waiting for ever.
    Unless ``pipes`` may be read, too.
    """
    file = Path(path)
    try:
        found = file.stat()
        if not (stat.S_ISREG(found.st_mode) or (pipes and not stat.S_ISDIR(found.st_mode))):
            what = "a folder" if stat.S_ISDIR(found.st_mode) else "no regular file"
            raise ScenarioError(f"{file}: cannot be read: it is {what}")
        with file.open("rb") as stream:
            data = stream.read(most_bytes + 1)
    except OSError as error:
        raise _refusal(file, error, "read") from None
    except ValueError as error:
        if isinstance(error, ScenarioError):
            raise
        raise ScenarioError(f"{str(file)[:60]!r}: no such file") from None
    if len(data) > most_bytes:
        raise ScenarioError(f"{file}: may have at most {most_bytes} bytes; got {max(found.st_size, len(data))}")
    return data


def read_text(path: Where, most_bytes: int, pipes: bool = False) -> str:
    """The text of a regular file of at most so many bytes; ScenarioError names the file and why it cannot be read."""
    try:
        return read_bytes(path, most_bytes, pipes).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ScenarioError(f"{path}: must be UTF-8 text") from None


def by_suffix(path: Where, known: Mapping[str, Known]) -> Known:
    """What goes with a file's ending; ScenarioError lists the endings there are."""
    suffix = Path(path).suffix.lower()
    if suffix not in known:
        got = suffix or "no ending"
        raise ScenarioError(f"{str(path)[-60:]!r}: the name must end in {' or '.join(known)}; got {got!r}")
    return known[suffix]


def must_differ(out: Where, *inputs: Where | None, option: str = "--out") -> None:
    """ScenarioError if a file that is to be written is one of those that are read."""
    for one in inputs:
        if one is not None and _is_same(out, one):
            raise ScenarioError(f"{option}: would overwrite {one}, which is read; choose another name")


def _is_same(one: Where, other: Where) -> bool:
    try:
        return Path(one).samefile(other)
    except (OSError, ValueError):
        return False


@contextmanager
def alone(path: Where) -> Iterator[None]:
    """Hold the folder of a file against other programs of this kind that read, change and write there.

    ScenarioError if one of them holds it for more than WAIT_S.  Where folders cannot be locked, nothing is held.
    """
    try:
        import fcntl
    except ImportError:
        yield
        return
    try:
        folder = os.open(Path(os.path.realpath(path)).parent, os.O_RDONLY)
    except OSError as error:
        raise _refusal(path, error, "written") from None
    try:
        until = time.monotonic() + WAIT_S
        while True:
            try:
                fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except BlockingIOError:
                if time.monotonic() > until:
                    raise ScenarioError(f"{path}: another program is writing there; try again") from None
                time.sleep(AGAIN_S)
            except OSError:  # a file system without locks
                break
        yield
    finally:
        os.close(folder)


def fingerprint(path: Where) -> str:
    """What a file holds, in few letters: empty where it cannot be read, or is not there."""
    try:
        return hashlib.sha256(Path(path).read_bytes()).hexdigest() if Path(path).is_file() else ""
    except OSError:
        return ""


def write_if_unchanged(path: Where, data: bytes, known: str | None) -> str:
    """Write a file unless it is another than the one ``known`` by its fingerprint; returns the new fingerprint.

    None knows nothing and writes in any case.  FileChanged, with nothing written, if the file is another.
    """
    with alone(path):
        if known is not None and fingerprint(path) not in (known, hashlib.sha256(data).hexdigest()):
            raise FileChanged(f"{path}: another program has changed it since it was read")
        write_whole(path, data)
    return hashlib.sha256(data).hexdigest()
