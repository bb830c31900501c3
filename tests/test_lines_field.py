"""A text of several lines, and what is typed into it."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pygame
import pytest
from window import Driver

from tablesim.model.base import longest
from tablesim.model.lesson import Scene
from tablesim.view.controls.lines_field import LinesField, line_spans
from tablesim.view.controls.widgets import letters_width

Open = Callable[..., Driver]
TEXTS = [
    "",
    " ",
    "a",
    "a b",
    "the cue ball stops here, ten times out of ten ",
    "W" * 80,
    "two  spaces   three",
    "a " * 99,
]


@pytest.mark.parametrize("room", [8, 60, 250])
@pytest.mark.parametrize("text", TEXTS)
def test_lines_have_every_letter_and_fit(window: Open, text: str, room: int) -> None:
    window()  # letters want a display

    def width(part: str) -> int:
        return letters_width(part, 13)

    spans = line_spans(text, room, width)
    assert "".join(text[first:end] for first, end in spans) == text
    assert all(width(text[first:end].rstrip()) <= room or end == first + 1 for first, end in spans)
    for (first, end), (after, _) in itertools.pairwise(spans):
        assert end == after
        words = text[first:end]
        assert words[-1] == " " or text[end] == " " or " " not in words  # never within a word that has room


def at_caption(w: Driver, scenes: int = 1) -> LinesField:
    """A lesson of scenes, its page open, the caption's field."""
    for _ in range(scenes):
        w.app.act("keep")
    w.app.open_page("Lesson")
    w.settle()
    field = w.control("caption")
    assert isinstance(field, LinesField)
    return field


def test_up_and_down_go_from_line_to_line(window: Open) -> None:
    w = window()
    field = at_caption(w)
    w.press("caption")
    w.type("one two three four five six seven eight nine ten eleven twelve")
    end = field.caret
    w.key(pygame.K_UP)
    assert 0 < field.caret < end
    w.key(pygame.K_DOWN)
    assert abs(field.caret - end) <= 1
    for _ in range(4):
        w.key(pygame.K_UP)
    assert field.caret == 0
    w.type("X")
    w.key(pygame.K_RETURN)
    assert w.app.book.scene is not None
    assert w.app.book.scene.caption.startswith("Xone two")


def test_it_takes_as_many_letters_as_a_caption_may_have(window: Open) -> None:
    w = window()
    field, most = at_caption(w), longest(Scene, "caption")
    w.press("caption")
    field.typed("word " * 200)
    w.app.draw()
    w.key(pygame.K_RETURN)
    assert w.app.book.scene is not None
    assert len(w.app.book.scene.caption) == most


def test_the_field_stays_where_it_is_when_scenes_are_kept(window: Open) -> None:
    """And what is typed after a click on the place where it was goes into it: no letter is a command."""
    w = window()
    before = at_caption(w).rect.copy()
    for _ in range(9):
        w.press("keep")
    take, scenario = w.take, w.scenario
    w.click(before.center)
    w.type("raw dj")
    w.key(pygame.K_RETURN)
    assert w.control("caption").rect == before
    assert w.app.book.scene is not None
    assert w.app.book.scene.caption == "raw dj"
    assert (w.take, w.scenario) == (take, scenario)


@pytest.mark.filterwarnings("ignore:re-creating window")
@pytest.mark.parametrize("size", [(1200, 760), (640, 400)])
def test_what_is_typed_outlives_a_page_made_anew(window: Open, size: tuple[int, int]) -> None:
    """In a window made smaller meanwhile, even one without room for the field."""
    w = window()
    at_caption(w)
    w.press("caption")
    w.type("raw")
    pygame.display.set_mode(size)
    w.send(pygame.Event(pygame.WINDOWSIZECHANGED, x=size[0], y=size[1]))
    take = w.take
    w.type(" dj")
    w.key(pygame.K_RETURN)
    assert w.app.book.scene is not None
    assert w.app.book.scene.caption == "raw dj"
    assert w.take == take
