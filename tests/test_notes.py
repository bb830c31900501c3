"""What is written for a while: in its line, in its order, as long as it takes to read."""

from __future__ import annotations

from collections.abc import Callable

import pygame
import pytest
from window import Driver

from tablesim.view.window.notes import LONGEST_S, SHORTEST_S, Messages, lasting_s

Open = Callable[..., Driver]
LONG = "Not saved: the folder is read-only; choose another folder, or free this one. " * 2


class Time:
    """A clock turned by hand."""

    now = 5.0

    def __call__(self) -> float:
        return self.now


def test_words_stay_as_long_as_it_takes_to_read_them() -> None:
    assert lasting_s("") == lasting_s("Saved") == SHORTEST_S
    assert SHORTEST_S < lasting_s(LONG[:60]) < lasting_s(LONG) < LONGEST_S
    assert lasting_s(LONG * 9) == LONGEST_S


def test_a_message_takes_the_place_of_another_but_not_of_a_warning() -> None:
    clock = Time()
    messages = Messages(clock)
    messages.tell("one")
    messages.tell("two")
    assert messages.text == "two"
    messages.tell("no!", True)
    messages.tell("three")
    assert (messages.text, messages.warns) == ("no!", True)
    messages.tell("no, no!", True)
    assert messages.text == "no, no!"
    clock.now += SHORTEST_S + 0.01
    assert messages.turn()
    assert (messages.text, messages.warns) == ("three", False)
    clock.now += SHORTEST_S + 0.01
    assert messages.turn()
    assert messages.text == ""
    assert not messages.turn()


def test_a_message_fades() -> None:
    clock = Time()
    messages = Messages(clock)
    messages.tell("one")
    assert messages.note.left == 1.0
    assert not messages.turn()
    clock.now += SHORTEST_S - 0.25
    assert messages.turn()
    assert 0.0 < messages.note.left < 1.0


@pytest.mark.parametrize("look", ["evening", "projector"])
@pytest.mark.parametrize("size", [(640, 400), (1280, 800), (1920, 1080), (900, 1100)])
def test_the_line_lies_on_nothing_else_and_moves_nothing(window: Open, size: tuple[int, int], look: str) -> None:
    w = window(size=size)
    w.app.settings.look = look
    w.app.restyle()
    w.settle()
    places = [w.app.table.rect.copy(), *(c.rect.copy() for c in w.app.parts.controls())]
    w.app.tell("Kept as scene 2 of the lesson.")
    w.app.frame()
    line = w.app.parts.line
    assert places == [w.app.table.rect, *(c.rect for c in w.app.parts.controls())]
    assert not any(line.colliderect(place) for place in places)
    assert line.contains(dict(w.written())["Kept as scene 2 of the lesson."])


def test_a_long_warning_is_read_to_its_end_below_the_table(window: Open) -> None:
    w = window(size=(640, 400))
    w.app.tell(LONG, True)
    said = {text: place for text, place in w.written() if text and text in LONG}
    assert " ".join(said) == LONG.strip()
    assert all(place.top >= w.app.table.rect.bottom for place in said.values())
    assert all(w.app.surface.get_rect().contains(place) for place in said.values())


def test_a_held_ball_is_told_before_a_message_and_after_a_warning(window: Open) -> None:
    w = window()
    w.move(start := w.table(*w.scenario.balls["3"]))
    w.send(pygame.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=start))
    w.move((start[0] + 30, start[1]), held=True)
    w.app.tell("a message")
    assert ["ball 3" in note.text for note in w.app.notes()][:2] == [True, False]
    w.app.tell("a warning", True)
    assert w.app.notes()[0].text == "a warning"


def test_only_warnings_are_told_while_the_lesson_is_shown(window: Open) -> None:
    w = window()
    w.app.act("keep")
    w.app.book.showing = True
    w.settle()
    w.app.tell("a message")
    assert "a message" not in dict(w.written())
    w.app.tell("a warning", True)
    assert not dict(w.written())["a warning"].colliderect(w.app.table.rect)


def test_what_is_used_is_not_explained_until_the_mouse_moves(window: Open) -> None:
    """Neither what is turned by the wheel nor what has been pressed, nor a control whose list is open."""
    w = window()
    face, told = w.control("tip face"), []
    for use in (pygame.Event(pygame.MOUSEWHEEL, y=1, precise_y=1.0), None):
        w.move(face.rect.center)
        if use is None:
            w.send(pygame.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=face.rect.center))
            w.send(pygame.Event(pygame.MOUSEBUTTONUP, button=1, pos=face.rect.center))
        else:
            w.send(use)
        w.now += 2.0
        told.append(w.written())
    w.move((face.rect.centerx + 1, face.rect.centery))
    w.now += 2.0
    explained = w.written()
    assert all(len(explained) > len(words) for words in told)
