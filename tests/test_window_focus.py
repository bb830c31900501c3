"""What takes the keys and the wheel: the control that has the focus, else the table and the panel's page."""

from __future__ import annotations

from collections.abc import Callable

import pygame
from window import Driver

Open = Callable[..., Driver]


def tab_to(w: Driver, key: str) -> None:
    """Tab until a control has the focus."""
    for _ in range(80):
        if w.app.ui.focus is not None and w.app.ui.focus.key == key:
            return
        w.key(pygame.K_TAB)
    raise AssertionError(f"Tab never reached {key}")


def test_a_clicked_button_leaves_space_to_the_playing(window: Open) -> None:
    w = window()
    w.press("details")
    assert w.app.settings.details
    assert w.app.ui.focus is None
    w.key(pygame.K_SPACE)
    assert w.app.settings.details
    player = w.app.table.player
    assert player is not None
    w.press("next event")
    at = player.time
    w.key(pygame.K_SPACE)
    assert player.playing
    assert player.time == at


def test_a_clicked_button_ends_the_editing_of_a_text(window: Open) -> None:
    w = window()
    w.press("title")
    w.type("new")
    w.press("details")
    assert w.scenario.title == "new"


def test_tab_still_reaches_a_button_which_space_and_return_press(window: Open) -> None:
    w = window()
    tab_to(w, "panel")
    for code in (pygame.K_SPACE, pygame.K_RETURN):
        before = w.app.parts.panel_on
        w.key(code)
        assert w.app.parts.panel_on != before
    assert w.app.table.player is None
