"""What the parts of the window ask of the window that joins them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import pygame

from tablesim.scene.look import Look

from ..controls.widgets import Ui
from ..document.document import Document
from ..pages.host import Host
from ..pages.overlays import Overlay
from ..table.play_bar import PlayBar


class Desk(Host, Protocol):
    """The window, as its parts see it."""

    @property
    def document(self) -> Document:
        """What is open, and its history."""

    @property
    def surface(self) -> pygame.Surface:
        """What is painted on."""

    @property
    def ui(self) -> Ui:
        """The brush, the mouse and the focus."""

    @property
    def look(self) -> Look:
        """The look chosen."""

    @property
    def play_bar(self) -> PlayBar | None:
        """The bar below the table while it is played."""

    @property
    def overlay(self) -> Overlay | None:
        """The page that lies over the window."""

    def open_overlay(self, overlay: Overlay) -> None:
        """Put a page over the window."""

    def open_page(self, page: str) -> None:
        """Show another page of the panel."""

    def guard(self, do: Callable[[], object]) -> None:
        """Do something; what breaks a rule becomes a message and changes nothing."""

    def stop_playing(self) -> None:
        """Back to the layout at rest."""
