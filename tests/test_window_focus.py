"""What takes the keys and the wheel: the control that has the focus, else the table and the panel's page."""

from __future__ import annotations

from collections.abc import Callable

import pygame
from window import Driver, tab_to, turn_wheel

Open = Callable[..., Driver]


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


def test_a_clicked_take_or_cue_leaves_space_to_the_playing(window: Open) -> None:
    w = window()
    takes = w.control("takes").rect
    w.click((takes.x + 120, takes.y + 60))
    assert w.app.editor.chosen == 2
    shown = w.app.editor.shown.takes
    w.key(pygame.K_SPACE)
    assert w.app.table.player is not None
    assert w.app.editor.shown.takes == shown
    w.app.stop_playing()
    cue = w.control("cue").rect
    w.click((cue.right - 8, cue.centery))
    chosen = w.take.cue
    w.key(pygame.K_SPACE)
    assert w.app.table.player is not None
    assert w.take.cue == chosen


def test_return_shows_and_hides_the_take_of_a_list_that_has_the_focus(window: Open) -> None:
    w = window()
    tab_to(w, "takes")
    w.key(pygame.K_DOWN)
    one = w.app.editor.shown.takes
    w.key(pygame.K_RETURN)
    assert w.app.editor.shown.takes != one
    w.key(pygame.K_RETURN)
    assert w.app.editor.shown.takes == one


def test_a_clicked_button_ends_the_editing_of_a_text(window: Open) -> None:
    w = window()
    w.press("title")
    w.type("new")
    w.press("details")
    assert w.scenario.title == "new"


def test_tab_still_reaches_a_button_which_space_and_return_press(window: Open) -> None:
    w = window()
    tab_to(w, "details")
    for code in (pygame.K_SPACE, pygame.K_RETURN):
        before = w.app.settings.details
        w.key(code)
        assert w.app.settings.details != before
    assert w.app.table.player is None


def long_page(w: Driver) -> None:
    """A page of the panel that is longer than its room."""
    w.app.settings.scale, w.app.settings.details = 1.25, True
    w.app.restyle()
    w.app.measuring.chosen = "squirt: the cue"
    w.app.open_page("Gear")
    w.app.frame()


def test_the_wheel_moves_a_long_page_and_changes_no_value_under_it(window: Open) -> None:
    w = window()
    long_page(w)
    before = w.scenario
    places = [c.rect.center for c in w.app.parts.widgets if w.app.parts.panel_rect.contains(c.rect)]
    for at in places:
        turn_wheel(w, at)
        assert w.app.parts.scroll > 0
        assert w.scenario == before
        turn_wheel(w, at, 1)
        assert w.app.parts.scroll == 0


def test_a_control_of_a_long_page_takes_the_wheel_once_it_has_the_focus(window: Open) -> None:
    w = window()
    long_page(w)
    cloth = w.control("cloth")
    before = w.scenario.cloth
    w.app.focus_on(cloth)
    turn_wheel(w, cloth.rect.center)
    assert w.app.parts.scroll == 0
    assert w.scenario.cloth != before


def test_the_wheel_steps_a_control_of_a_page_that_fits(window: Open) -> None:
    w = window(size=(1600, 1200))
    before = w.take.pace_m_s
    turn_wheel(w, w.control("pace ruler").rect.center)
    assert w.take.pace_m_s < before


def test_a_mark_at_the_panels_edge_says_that_there_is_more(window: Open) -> None:
    w = window()
    long_page(w)
    panel, button = w.app.parts.panel_rect, w.control("put measured").rect

    def edge() -> set[tuple[int, ...]]:
        x = panel.right - 4
        return {tuple(w.app.surface.get_at((x, y))) for y in range(panel.y + 60, panel.bottom - 4)}

    assert button.bottom > panel.bottom
    assert len(edge()) == 2  # the mark and the ground
    w.app.settings.scale = 1.0
    w.app.restyle()
    w.app.open_page("Lesson")
    w.app.frame()
    assert len(edge()) == 1
