"""Computing beside the window: the newest question is answered, older ones are dropped.

:class:`Solver` answers in a thread; :class:`Helper` has a solver in a process of
its own, so that the window and the laws each have a core of the machine.

Answers come by the steps of steps.py, those for quiet moments last; a newer
question ends them.  Each carries the question it belongs to.
"""

from __future__ import annotations

import contextlib
import pickle
import queue
import subprocess
import threading
import time
from collections.abc import Iterator
from dataclasses import replace

from tablesim.physics import jit

from .findings import Findings, Question
from .steps import STEPS

FIRST_WAIT_S = 1.0
QUIET_AFTER_S = 0.12  # without a new question for so long, there is time for what can wait


class Solver:
    """A thread that answers the newest question."""

    def __init__(self) -> None:
        self._inbox: queue.SimpleQueue[tuple[int, Question] | None] = queue.SimpleQueue()
        self._outbox: queue.SimpleQueue[Findings] = queue.SimpleQueue()
        self._asked = self._done = 0  # numbers of questions
        self.engine = "starting"  # starting, preparing, fast or plain
        self._first = threading.Event()  # an answer has been given
        self._start()

    def _start(self) -> None:
        threading.Thread(target=self._prepare, name="engine", daemon=True).start()
        threading.Thread(target=self._work, name="answers", daemon=True).start()

    def ask(self, question: Question) -> None:
        """Put a question; it replaces any that has not been answered."""
        self._asked += 1
        self._inbox.put((self._asked, question))

    def answers(self) -> Iterator[Findings]:
        """What has come since last asked."""
        with contextlib.suppress(queue.Empty):
            while True:
                yield self._outbox.get_nowait()

    @property
    def busy(self) -> bool:
        """True while the newest question has not been answered in full."""
        return self._asked != self._done

    def stop(self) -> None:
        """End soon."""
        self._inbox.put(None)

    def _newest(self, item: tuple[int, Question] | None) -> tuple[int, Question] | None:
        """The newest of an item taken from the inbox and those behind it."""
        while item is not None and not self._inbox.empty():
            item = self._inbox.get()
        return item

    def _work(self) -> None:
        item = self._newest(self._inbox.get())
        while item is not None:
            number, question = item
            with jit.using(jit.at_hand()):  # no answer waits for the engine
                findings = self._answer(question)
            self._hand_out(number, findings)
            self._first.set()
            try:
                item = self._newest(self._inbox.get(timeout=QUIET_AFTER_S))
                continue
            except queue.Empty:
                with jit.using(jit.at_hand()):
                    self._add_quietly(number, findings)
            self._done = number
            item = self._newest(self._inbox.get())

    def _hand_out(self, number: int, findings: Findings) -> None:
        self._outbox.put(findings)

    def _prepare(self) -> None:
        """Have the fast engine made, if it is not yet, and load it; the first answer goes before."""
        self._first.wait(FIRST_WAIT_S)
        if not jit.wanted():
            self.engine = "plain"
            return
        if not jit.is_prepared():
            self.engine = "preparing"
            jit.prepare()
        self.engine = "fast" if jit.is_prepared() and jit.compiled() is not None else "plain"

    def _waits(self) -> bool:
        """True if a newer question has come."""
        return not self._inbox.empty()

    def _answer(self, question: Question) -> Findings:
        """What every picture needs: the steps that do not wait for quiet."""
        begun = time.perf_counter()
        findings = Findings(question)
        for step in STEPS:
            if not step.quiet:
                findings = findings.after(step, self._waits)
        return replace(findings, seconds=time.perf_counter() - begun)

    def _add_quietly(self, number: int, findings: Findings) -> None:
        """What can wait, step by step, until another question comes."""
        for step in STEPS:
            go_on = step.quiet
            while go_on and not self._waits():
                more = findings.after(step, self._waits)
                if more is not findings:
                    self._hand_out(number, more)
                go_on, findings = step.again and more is not findings, more


class Helper(Solver):
    """A solver in another process; if that cannot be started, or ends, in a thread of this one."""

    def _start(self) -> None:
        self._questions: dict[int, Question] = {}
        self._stopped = False
        try:
            self._process = subprocess.Popen(
                jit.helper_command("tablesim.view.answers.serving"), stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                process_group=0,  # Ctrl-C in a terminal is for the window: this one ends with it
            )  # fmt: skip
        except OSError:
            super()._start()
            return
        threading.Thread(target=self._send, name="questions", daemon=True).start()
        threading.Thread(target=self._receive, name="answers", daemon=True).start()

    def _send(self) -> None:
        """Hand the newest question on; back into the inbox if the other process is gone."""
        pipe = self._process.stdin
        assert pipe is not None
        item: tuple[int, Question] | None = None
        try:
            while True:
                item = self._newest(self._inbox.get())
                if self._process.poll() is not None:
                    raise BrokenPipeError
                if item is not None:
                    self._questions[item[0]] = item[1]
                pickle.dump(item, pipe, pickle.HIGHEST_PROTOCOL)
                pipe.flush()
                if item is None:
                    return
        except OSError:
            self._inbox.put(item)
        finally:
            with contextlib.suppress(OSError):
                pipe.close()

    def _receive(self) -> None:
        """Take answers in; if the other process ends of itself, go on in this one."""
        pipe = self._process.stdout
        assert pipe is not None
        with pipe, contextlib.suppress(EOFError, OSError, pickle.UnpicklingError):
            while True:
                self.engine, self._done, number, parts = pickle.load(pipe)
                if number in self._questions and parts is not None:
                    self._outbox.put(Findings(self._questions[number], *parts))
                    for old in [k for k in self._questions if k < number]:
                        del self._questions[old]
        self._process.wait()
        if not self._stopped:
            Solver._start(self)
            if self._questions:
                self._inbox.put(max(self._questions.items(), key=lambda item: item[0]))

    def stop(self) -> None:
        """End the process."""
        self._stopped = True
        super().stop()
