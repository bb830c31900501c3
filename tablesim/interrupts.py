"""Ctrl-C: a command obeys it at any moment, says so in one line, exits with 130 and leaves nothing half-written.

Python throws KeyboardInterrupt into whatever happens to run, and there it may
be lost: an extension module that is being imported makes another error of it,
a library passes over it, and one that falls into ``exec`` of a text lets the
interpreter die of the signal although it was handled later (CPython,
``run_eval_code_obj`` of pythonrun.c).  So a command leaves at once, except
from work that has something to put away: see :func:`unwound`.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType

EXIT_CODE = 128 + signal.SIGINT  # as shells count
WORDS = "tablesim: interrupted; nothing is left half-written\n"


class Interrupts:
    """The handler of SIGINT while a command runs."""

    def __init__(self) -> None:
        self.asked = False
        self.unwinding = 0  # how many pieces of work have something to put away

    def __call__(self, number: int, frame: FrameType | None) -> None:
        """Leave at once, or let the work in hand put its things away."""
        self.asked = True
        if not self.unwinding:
            leave()
        raise KeyboardInterrupt


def leave() -> None:
    """End the process without running anything else: it may be anywhere."""
    with suppress(OSError):
        os.write(2, WORDS.encode())
    os._exit(EXIT_CODE)


def _handler() -> Interrupts | None:
    handler = signal.getsignal(signal.SIGINT)
    return handler if isinstance(handler, Interrupts) else None


def _without_interrupts(unraisable: sys.UnraisableHookArgs) -> None:
    """Pass over a KeyboardInterrupt lost in a finalizer or callback: it is insisted on later."""
    if unraisable.exc_type is not KeyboardInterrupt:
        sys.__unraisablehook__(unraisable)


@contextmanager
def obeyed() -> Iterator[None]:
    """Obey from here; a Ctrl-C after the end is too late to matter.

    Where SIGINT is ignored, as in jobs of the background, it stays so.
    """
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        sys.unraisablehook = _without_interrupts
        signal.signal(signal.SIGINT, Interrupts())
    try:
        yield
    finally:
        if (handler := _handler()) is not None:
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            if handler.asked:
                leave()


@contextmanager
def unwound() -> Iterator[None]:
    """Work that a Ctrl-C ends by KeyboardInterrupt, so that it puts its things away; then the command leaves.

    Where no command runs, a Ctrl-C is the caller's business.
    """
    handler = _handler()
    if handler is None:
        yield
        return
    try:
        handler.unwinding += 1  # inside: until it is counted the handler leaves by itself
        yield
    finally:
        handler.unwinding -= 1
        if handler.asked and not handler.unwinding:
            leave()


def insist() -> None:
    """Throw KeyboardInterrupt again if one was thrown in this work and lost."""
    handler = _handler()
    if handler is not None and handler.asked:
        raise KeyboardInterrupt


def hand_over() -> None:
    """Leave Ctrl-C to the caller from here on, as plain KeyboardInterrupt."""
    if _handler() is not None:
        signal.signal(signal.SIGINT, signal.default_int_handler)
