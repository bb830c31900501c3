"""The bar on top: groups, words that go first, switches, one thing to do first."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pygame
import pytest
from window import Driver

from tablesim.view.controls.icons import FILLED, STROKES, icon_of
from tablesim.view.window.bar import GROUPS

Open = Callable[..., Driver]
SIZES = [(320, 240), (480, 400), (640, 400), (900, 600), (1100, 700), (1280, 800), (1920, 1080)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_everything_in_it_has_a_place_of_its_own(window: Open, size: tuple[int, int], scale: float) -> None:
    w = window(size=size)
    w.app.settings.scale = scale if size[0] >= 640 else 1.0  # no window is made smaller
    w.app.restyle()
    w.settle()
    bar = w.app.parts.bar
    places = [b.rect for b in bar.widgets if b.rect.w > 0]
    assert all(one.right <= other.left for one, other in itertools.pairwise(places))
    assert all(place.left >= 0 and place.bottom <= w.app.table.rect.y for place in places)
    for b in bar.buttons:
        if b.rect.w > 0 and b.worded:
            assert b.rect.contains(dict(w.written())[b.text()])


def test_words_go_before_buttons_do(window: Open) -> None:
    shown = {}
    for width in (1600, 1280, 900, 640, 480):
        w = window(size=(width, 700))
        buttons = {b.key: b.worded for b in w.app.parts.bar.buttons if b.rect.w > 0}
        shown[width] = (len(buttons), sum(buttons.values()))
    counts, words = zip(*shown.values(), strict=True)
    assert counts[:4] == (11,) * 4  # all of them, down to a narrow window
    assert list(words) == sorted(words, reverse=True)
    assert words[0] == 11
    assert words[3] <= 1


def test_groups_are_told_apart_by_a_gap_with_a_line(window: Open) -> None:
    w = window(size=(1600, 800))
    bar = w.app.parts.bar
    for one, other in itertools.pairwise(b for b in bar.buttons if b.rect.w > 0):
        apart = not any(one.key in group and other.key in group for group in GROUPS)
        assert (other.rect.x > one.rect.right) == apart
        assert any(one.rect.right < x < other.rect.x for x in bar._dividers) == apart


@pytest.mark.parametrize("size", [(1280, 800), (640, 400)])
@pytest.mark.parametrize("key", GROUPS[2][:3])
def test_a_mode_looks_switched(window: Open, key: str, size: tuple[int, int]) -> None:
    w = window(size=size)

    def accented() -> int:
        """Pixels of the button in the accent."""
        button = w.app.surface.subsurface(w.control(key).rect)
        return pygame.mask.from_threshold(button, pygame.Color(w.app.look.accent), (6, 6, 6, 255)).count()

    before = accented()
    w.app.act(key)
    w.settle()
    assert before == 0 < accented()


def test_every_button_has_a_picture_unlike_the_others(window: Open) -> None:
    w = window()
    drawn = {b.key: pygame.image.tobytes(icon_of(b.icon(), 16, "#ffffff"), "RGBA") for b in w.app.parts.bar.buttons}
    assert len(set(drawn.values())) == len(drawn)
    assert all(key in STROKES or key in FILLED for key in drawn)
    assert all(any(pixels[3::4]) for pixels in drawn.values())
    assert all(
        0.0 <= v <= 1.0 for lines in (*STROKES.values(), FILLED.values()) for line in lines for at in line for v in at
    )
