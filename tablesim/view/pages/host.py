"""What the parts of the window ask of the window."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple, Protocol

from tablesim.study.pace import PaceScale

from ..controls.widgets import Pos, Widget
from ..document.editor import Editor
from ..document.lesson_book import LessonBook
from ..document.measuring import Measuring
from ..document.places import Settings
from ..table.table_view import TableView
from .thumbnails import Thumbnails

Row = list[Widget]


class Host(Protocol):
    """The window, as its pages see it."""

    @property
    def editor(self) -> Editor:
        """The document being worked on."""

    @property
    def book(self) -> LessonBook:
        """The lesson beside it."""

    @property
    def measuring(self) -> Measuring:
        """The test made at a table."""

    @property
    def settings(self) -> Settings:
        """How the person likes the window."""

    @property
    def table(self) -> TableView:
        """The table on the screen."""

    @property
    def pace_scale(self) -> PaceScale | None:
        """Lags and lengths, once they are known."""

    def on_table(self, pos: Pos) -> bool:
        """True if the table is seen at a pixel."""

    @property
    def thumbnails(self) -> Thumbnails:
        """Small pictures of the lesson's scenes."""

    def tell(self, text: str, warning: bool = False) -> None:
        """Show a message for a while."""

    def act(self, action: str) -> None:
        """Do what an action names."""

    def restyle(self) -> None:
        """Look, scale or words have changed."""

    def show_scene(self, at: int) -> None:
        """Put a scene of the lesson on the screen."""


def nothing(host: Host) -> object:
    """What a page shows whose controls stay as they are."""
    return None


class PanelPage(NamedTuple):
    """A page of the panel: what makes its rows of controls, and what these depend on.

    Controls read values through functions; only when what ``shows`` gives is
    another are they made anew.
    """

    rows: Callable[[Host], list[Row]]
    shows: Callable[[Host], object] = nothing
