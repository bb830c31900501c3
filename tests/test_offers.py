"""Values to choose from: a few side by side, more in a list that opens, by mouse, wheel, keys and letters."""

from __future__ import annotations

from collections.abc import Callable

import pygame
import pytest
from window import Driver, turn_wheel

from tablesim.view.controls.fields import Choice
from tablesim.view.controls.offers import found_by, list_place

Open = Callable[..., Driver]
WINDOW = pygame.Rect(0, 0, 640, 400)


@pytest.mark.parametrize("y", [0, 5, 100, 185, 300, 360, 370])
@pytest.mark.parametrize("rows", [1, 4, 7, 30])
def test_a_list_lies_beside_its_control_and_in_the_window(y: int, rows: int) -> None:
    control = pygame.Rect(400, y, 200, 30)
    place = list_place(control, rows, 28, 4, WINDOW)
    assert WINDOW.contains(place)
    assert not place.colliderect(control)
    assert (place.h - 8) % 28 == 0
    wanted = 28 * rows + 8
    assert place.h == wanted or place.h + 28 > max(WINDOW.bottom - control.bottom, control.top) - 12


def test_a_list_with_no_room_at_all_stays_in_the_window() -> None:
    tiny = pygame.Rect(0, 0, 200, 60)
    assert tiny.contains(list_place(pygame.Rect(0, 15, 200, 30), 9, 28, 4, tiny))


def test_words_are_found_by_their_first_letters() -> None:
    words = ["none", "pivot", "stop", "slow", "squirt"]
    assert found_by(words, "s", 0) == 2
    assert found_by(words, "s", 3) == 3
    assert found_by(words, "SQ", 0) == 4
    assert found_by(words, "n", 3) == 0  # round again
    assert found_by(words, "x", 0) is None
    assert found_by([], "x", 0) is None


def choice_of(w: Driver, key: str) -> Choice:
    """The choice of that key."""
    choice = w.control(key)
    assert isinstance(choice, Choice)
    return choice


def opened(window: Open, key: str = "cloth", **how: object) -> Driver:
    """A window on its page of the gear, a list open."""
    w = window(**how)
    w.app.open_page("Gear")
    w.settle()
    w.press(key)
    assert choice_of(w, key).list is not None
    return w


def test_few_values_lie_side_by_side_and_a_click_takes_one(window: Open) -> None:
    w = window()
    w.app.open_page("Gear")
    w.settle()
    w.pick("table", "7ft")
    assert w.scenario.table.size == "7ft"
    assert choice_of(w, "table").list is None


def test_a_value_is_taken_by_the_mouse(window: Open) -> None:
    w = window()
    w.app.open_page("Gear")
    w.settle()
    before = w.scenario.cloth
    w.pick("cloth", choice_of(w, "cloth").values()[-1])
    assert w.scenario.cloth != before
    assert choice_of(w, "cloth").list is None


def test_arrow_keys_and_return_take_a_value_and_escape_none(window: Open) -> None:
    w = opened(window)
    before = w.scenario.cloth
    w.key(pygame.K_DOWN)
    w.key(pygame.K_ESCAPE)
    assert w.scenario.cloth == before
    assert choice_of(w, "cloth").list is None
    w.key(pygame.K_RETURN)  # it has the focus still
    w.key(pygame.K_END)
    w.key(pygame.K_RETURN)
    assert w.scenario.cloth != before
    assert choice_of(w, "cloth").value() == choice_of(w, "cloth").values()[-1]


def test_letters_look_for_a_value_and_are_no_commands(window: Open) -> None:
    w = opened(window, "test")
    take, name = w.take, "ramp: the rails"
    w.type("ramp")  # r, a and p would raise the butt, move the tip and pick a pocket
    w.key(pygame.K_RETURN)
    assert w.app.measuring.chosen == name
    assert w.take == take


def test_a_press_beside_an_open_list_only_closes_it(window: Open) -> None:
    w = opened(window)
    before, heading = w.scenario, w.app.editor.heading
    w.drag(w.table(1.3, 0.3), w.table(1.3, 0.5))
    assert (w.scenario, w.app.editor.heading) == (before, heading)
    assert choice_of(w, "cloth").list is None
    w.drag(w.table(1.3, 0.3), w.table(1.3, 0.5))
    assert w.app.editor.heading != heading


def test_the_wheel_over_an_open_list_marks_and_takes_nothing(window: Open) -> None:
    w = opened(window)
    choice, before = choice_of(w, "cloth"), w.scenario
    assert choice.list is not None
    at = choice.list.at
    turn_wheel(w, choice.list.place.center)
    assert choice.list is not None
    assert choice.list.at != at
    assert w.scenario == before


@pytest.mark.parametrize(("size", "scale"), [((1280, 800), 1.0), ((1280, 800), 2.0), ((640, 400), 1.0)])
def test_no_list_leaves_the_window_and_each_is_drawn_over_all_else(
    window: Open, size: tuple[int, int], scale: float
) -> None:
    w = window(size=size)
    w.app.settings.scale = scale
    w.app.restyle()
    w.app.parts.panel_asked = True
    w.app.open_page("Gear")
    w.settle()
    tried = 0
    for choice in w.app.parts.widgets:
        if not isinstance(choice, Choice) or not w.app.surface.get_rect().contains(choice.rect):
            continue
        w.app.focus_on(choice)
        choice.open()
        w.app.draw()
        place = choice.over
        assert w.app.surface.get_rect().contains(place)
        assert not place.colliderect(choice._area())
        edge = w.app.surface.get_at((place.centerx, place.top))[:3]
        assert edge == pygame.Color(w.app.look.accent)[:3]
        assert w.app.parts.widget_at(place.center) is choice
        w.app.focus_on(None)
        assert choice.list is None
        tried += 1
    assert tried > 1


def test_the_takes_are_listed_where_their_list_has_no_room(window: Open) -> None:
    w = window(size=(640, 400))
    w.pick("take", "wood, hard")
    assert w.take.name == "wood, hard"
