"""Unsaved work, written aside while it changes."""

from __future__ import annotations

from collections.abc import Callable

from tablesim.errors import TablesimError

from ..document.document import Document
from ..document.places import Places

AUTOSAVE_S = 2.0  # unsaved work is kept aside so often while it changes


class Aside:
    """Where the keeping of a document's unsaved work stands."""

    def __init__(
        self, document: Document, places: Places, clock: Callable[[], float], warn: Callable[[str], object]
    ) -> None:
        self.document, self.places, self.clock, self.warn = document, places, clock, warn
        self._version, self._at = document.version, 0.0

    def turn(self) -> None:
        """Keep what has changed, if it is time for it."""
        if self.document.version != self._version and self.clock() - self._at > AUTOSAVE_S:
            self.keep()

    def keep(self) -> None:
        """Write unsaved work aside, or drop what was kept where nothing is unsaved."""
        self._version, self._at = self.document.version, self.clock()
        if not self.document.unsaved and not self.document.lesson_unsaved:
            self.places.forget_unsaved()
            return
        try:
            self.places.keep_unsaved(self.document.work)
        except TablesimError as error:
            self._version = -1  # tried again
            self.warn(f"Unsaved work cannot be kept aside: {error}")
