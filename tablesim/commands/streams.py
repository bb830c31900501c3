"""What a command prints, on its way out: harmless to a terminal, in letters it knows, and never a traceback.

Titles, names and paths come from files that others wrote.  Everything printed
passes a :class:`Stream`, which shows control characters instead of sending
them; what the stream's encoding lacks is shown by its number.  Standard output
that takes no more ends the command: quietly if nobody reads on, else in one line.
"""

from __future__ import annotations

import errno
import os
import re
import signal
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, TextIO

EXIT_CODE_UNREAD = 128 + getattr(signal, "SIGPIPE", 13)  # as shells count
# Controls but for line feed and tab; separators of lines, changes of the direction of writing, halves of a character.
UNSEEN = "\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff"
HARMFUL = re.compile(f"[{UNSEEN}]")
HARMFUL_IN_A_LINE = re.compile(f"[{UNSEEN}\t\n]")
ENDLESS = re.compile("[0-9]{61,}")
LONGEST_LINE = 1000  # letters
BEYOND_ASCII = re.compile("[^\x00-\x7f]")


def _shown(found: re.Match[str]) -> str:
    """A character as Python's own texts have it: \\x1b."""
    return found[0].encode("unicode_escape").decode("ascii")


def _json_shown(found: re.Match[str]) -> str:
    """A character as JSON's texts have it, in two halves if it is beyond the first plane."""
    units = found[0].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[i]:02x}{units[i + 1]:02x}" for i in range(0, len(units), 2))


def harmless(text: str) -> str:
    """The text with its control characters shown, not sent."""
    return HARMFUL.sub(_shown, text)


def one_line(text: str) -> str:
    """The same in one line, whatever stands in it."""
    return HARMFUL_IN_A_LINE.sub(_shown, text)


def message_line(text: str) -> str:
    """An error's message in one line, whatever it names; numbers and names that would fill a screen are cut."""
    text = ENDLESS.sub(lambda found: f"{found[0][:12]}... ({len(found[0])} digits)", one_line(text))
    return text if len(text) <= LONGEST_LINE else f"{text[: LONGEST_LINE // 2]} ... {text[-LONGEST_LINE // 2 :]}"


def printable_json(text: str, encoding: str | None = "utf-8") -> str:
    """JSON that means the same, without characters that a terminal obeys or the encoding lacks."""
    text = HARMFUL.sub(_json_shown, text)
    try:
        text.encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return BEYOND_ASCII.sub(_json_shown, text)
    return text


class OutputLost(Exception):
    """Standard output takes no more; ``unread``: because nobody reads on."""

    def __init__(self, error: OSError) -> None:
        super().__init__(error.strerror or str(error))
        self.unread = error.errno == errno.EPIPE or (os.name == "nt" and error.errno == errno.EINVAL)


class Stream:
    """Standard output or, not ``needed``, standard error; it has no ``buffer`` by which one could pass it."""

    def __init__(self, stream: TextIO | None, needed: bool, clean: bool = True) -> None:
        self._stream: TextIO = stream or Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115 - as long as we are
        self._needed, self._clean = needed, clean
        self._lost: OutputLost | None = None
        if hasattr(self._stream, "reconfigure"):
            self._stream.reconfigure(errors="backslashreplace")

    def __getattr__(self, name: str) -> Any:
        if name == "buffer":
            raise AttributeError(name)
        return getattr(self._stream, name)

    @property
    def styled(self) -> Stream:
        """The same for colours and cursor; what is written there has to be made harmless before."""
        return Stream(self._stream, self._needed, clean=False)

    def write(self, text: str) -> int:
        """Write a text, as harmless as it has to be."""
        self._tried(self._stream.write, harmless(text) if self._clean else text)
        return len(text)

    def writelines(self, lines: Iterable[str]) -> None:
        """Write some texts."""
        for line in lines:
            self.write(line)

    def flush(self) -> None:
        """Send on what has been written."""
        self._tried(self._stream.flush)

    def _tried(self, how: Callable[..., object], *what: str) -> None:
        """Do it; if that fails all else goes nowhere, and OutputLost says so where it matters, as often as it is tried.

        Libraries that try whether a stream takes text or bytes pass over the first time.
        """
        try:
            how(*what)
        except OSError as error:
            self._lost = OutputLost(error)
            with suppress(OSError, ValueError), Path(os.devnull).open("wb") as nowhere:
                os.dup2(nowhere.fileno(), self._stream.fileno())
        if self._needed and self._lost is not None:
            raise self._lost


def styled(stream: Any) -> Any:
    """Where colours and the cursor's ways can be written, of a stream that may be guarded."""
    return stream.styled if isinstance(stream, Stream) else stream


@contextmanager
def guarded() -> Iterator[None]:
    """Everything that is printed meanwhile passes a :class:`Stream`; leaves with 141 or 2 if it does not arrive."""
    before = sys.stdout, sys.stderr
    out, err = Stream(sys.stdout, needed=True), Stream(sys.stderr, needed=False)
    sys.stdout, sys.stderr = out, err
    try:
        try:
            yield
        finally:
            out.flush()
    except OutputLost as lost:
        if lost.unread:
            sys.exit(EXIT_CODE_UNREAD)
        print(f"tablesim: standard output: cannot be written ({lost}); mend that, or send it elsewhere", file=err)
        sys.exit(2)
    finally:
        err.flush()
        sys.stdout, sys.stderr = before
