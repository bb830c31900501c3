"""Ctrl-C: a command obeys it at any moment, says so in one line, exits with 130 and leaves nothing half-written.

It obeys in the same way when the system ends it or its terminal is closed (SIGTERM, SIGHUP: 143, 129).

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
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType

SHELL = 128  # what shells add to the number of the signal that ended a command
EXIT_CODE = SHELL + signal.SIGINT
ENDINGS = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))
WORDS = "tablesim: interrupted; nothing is left half-written\n"


class Interrupts:
    """The handler of SIGINT, and of what else ends a command, while it runs."""

    def __init__(self) -> None:
        self.asked = 0  # the signal that has come
        self.unwinding = 0  # how many pieces of work have something to put away

    def __call__(self, number: int, frame: FrameType | None) -> None:
        """Leave at once, or let the work in hand put its things away."""
        self.asked = number
        if not self.unwinding:
            leave(number)
        raise KeyboardInterrupt


def leave(number: int) -> None:
    """End the process for a signal without running anything else: it may be anywhere."""
    with suppress(OSError):
        os.write(2, WORDS.encode())
    os._exit(SHELL + number)


def _handler() -> Interrupts | None:
    """What hears the signals, if a command runs: of SIGINT not where that is ignored."""
    handlers = map(signal.getsignal, (signal.SIGINT, *ENDINGS))
    return next((handler for handler in handlers if isinstance(handler, Interrupts)), None)


def _without_interrupts(unraisable: sys.UnraisableHookArgs) -> None:
    """Pass over a KeyboardInterrupt lost in a finalizer or callback: it is insisted on later."""
    if unraisable.exc_type is not KeyboardInterrupt:
        sys.__unraisablehook__(unraisable)


@contextmanager
def obeyed() -> Iterator[None]:
    """Obey from here; a Ctrl-C after the end is too late to matter.

    What is ignored, as SIGINT is in jobs of the background, stays so.
    """
    handler = Interrupts()
    sys.unraisablehook = _without_interrupts
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, handler)
    for number in ENDINGS:
        if signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, handler)
    try:
        yield
    finally:
        _let_go(signal.SIG_IGN)
        if handler.asked:
            leave(handler.asked)


def _let_go(interrupt: signal.Handlers | Callable[[int, FrameType | None], object]) -> None:
    """Hear no signal any more: the others end the process again, SIGINT is for ``interrupt``."""
    for number in (signal.SIGINT, *ENDINGS):
        if isinstance(signal.getsignal(number), Interrupts):
            signal.signal(number, interrupt if number == signal.SIGINT else signal.SIG_DFL)


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
            leave(handler.asked)


def insist() -> None:
    """Throw KeyboardInterrupt again if one was thrown in this work and lost."""
    handler = _handler()
    if handler is not None and handler.asked:
        raise KeyboardInterrupt


def hand_over(ended: Callable[[int], object] | None = None) -> None:
    """Leave Ctrl-C to the caller from here on, as plain KeyboardInterrupt; ``ended`` hears of the other signals."""
    _let_go(signal.default_int_handler)
    if ended is not None:
        for number in ENDINGS:
            if signal.getsignal(number) is signal.SIG_DFL:
                signal.signal(number, lambda number, frame: ended(number))
