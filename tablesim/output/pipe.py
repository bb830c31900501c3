"""Frames on their way from the thread that paints them to one that encodes them."""

from __future__ import annotations

import math
import queue
import threading
from collections.abc import Iterator
from contextlib import suppress
from types import TracebackType

from .encode import Reel, Sink, Stopped
from .painter import Bytes

QUEUE_BYTES = 40_000_000  # of frames painted ahead of the encoder
MOST_FRAMES = 16


class Pipe:
    """A short queue and the encoder's thread at its end; whatever goes wrong at either end ends both.

    ``with Pipe(sink, path, reel) as pipe`` writes the file at ``path`` from what is :meth:`put`; an error in the
    block, or in the sink, is raised once the thread has ended.
    """

    def __init__(self, sink: Sink, path: str, reel: Reel) -> None:
        room = QUEUE_BYTES // (4 * math.prod(reel.size))
        self._frames: queue.Queue[Bytes | None] = queue.Queue(min(MOST_FRAMES, max(1, room)))
        self._given_up = threading.Event()
        self._failed: Exception | None = None
        self._thread = threading.Thread(target=self._encode, args=(sink, path, reel), name="encoder", daemon=True)

    def __enter__(self) -> Pipe:
        self._thread.start()
        return self

    def put(self, pixels: Bytes | None) -> bool:
        """Hand a frame over, None for the end; False if nobody takes it any more."""
        while self._thread.is_alive():
            with suppress(queue.Full):
                self._frames.put(pixels, timeout=0.2)
                return True
        return False

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if error is not None:
            self._given_up.set()
        self.put(None)
        self._thread.join()
        if error is None and self._failed is not None:
            raise self._failed

    def _encode(self, sink: Sink, path: str, reel: Reel) -> None:
        try:
            sink(path, reel, self._coming())
        except Exception as error:
            self._failed = error

    def _coming(self) -> Iterator[Bytes]:
        """The frames as they come; Stopped in their place once the painting was given up."""
        while (pixels := self._frames.get()) is not None:
            if not self._given_up.is_set():
                yield pixels
        if self._given_up.is_set():
            raise Stopped
