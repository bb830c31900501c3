"""The process beside the window: questions come through stdin, answers go out through stdout."""

from __future__ import annotations

import contextlib
import pickle
import sys
import threading
import time

from .findings import Findings
from .worker import Solver


class Server(Solver):
    """A solver whose answers go through a pipe."""

    def __init__(self) -> None:
        self._writing = threading.Lock()
        super().__init__()

    def _hand_out(self, number: int, findings: Findings) -> None:
        self._write(number, (findings.found, findings.seconds))

    def _write(self, number: int, parts: object) -> None:
        with self._writing:
            pickle.dump((self.engine, self._done, number, parts), sys.stdout.buffer, pickle.HIGHEST_PROTOCOL)
            sys.stdout.buffer.flush()

    def listen(self) -> None:
        """Take questions in until the other side ends."""
        with contextlib.suppress(EOFError, OSError, pickle.UnpicklingError):
            while (item := pickle.load(sys.stdin.buffer)) is not None:
                self._inbox.put(item)
        self.over = True

    over = False

    def serve(self) -> None:
        """Answer until the other side ends; tell when the engine or the work done has changed."""
        threading.Thread(target=self.listen, name="questions", daemon=True).start()
        told: object = None
        while not self.over:
            state = (self.engine, self._done)
            if state != told:
                self._write(0, None)
                told = state
            time.sleep(0.01)


if __name__ == "__main__":
    with contextlib.suppress(KeyboardInterrupt, OSError):
        Server().serve()
