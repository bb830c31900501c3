"""The look for a projector: letters for the back of the room, in a layout that still fits."""

from __future__ import annotations

from collections.abc import Callable

import pygame
import pytest
from window import Driver

from tablesim.view.document.places import Settings

Open = Callable[..., Driver]


@pytest.mark.parametrize(
    ("size", "own", "scale"),
    [
        ((1920, 1080), 1.0, 1.25),  # the whole way
        ((1920, 1080), 1.25, 1.5625),  # on top of the person's own size
        ((1920, 1080), 1.5, 1.6),  # 1200 points are left
        ((1920, 1080), 2.0, 2.0),  # no room for more
        ((1599, 1000), 1.0, 1.0),  # too small a window
    ],
)
def test_how_much_larger_all_is(size: tuple[int, int], own: float, scale: float) -> None:
    assert Settings(look="projector", scale=own).scale_in(*size) == pytest.approx(scale)
    assert Settings(look="evening", scale=own).scale_in(*size) == own


def test_the_look_enlarges_controls_and_keeps_them_in_the_window(window: Open) -> None:
    w = window(size=(1920, 1080))
    before = {c.key: c.rect.copy() for c in w.app.parts.controls()}
    w.key(pygame.K_v)
    w.settle()
    after = {c.key: c.rect for c in w.app.parts.controls()}
    assert after.keys() == before.keys()  # nothing had to go
    assert after["save"].h == pytest.approx(1.25 * before["save"].h, abs=1.0)
    assert all(w.app.surface.get_rect().contains(rect) for rect in after.values())
    w.key(pygame.K_v)
    w.settle()
    assert {c.key: c.rect for c in w.app.parts.controls()} == before


def test_a_window_made_larger_is_enlarged_then(window: Open) -> None:
    w = window(size=(1280, 800))
    w.key(pygame.K_v)
    assert w.app.ui.scale == 1.0
    pygame.display.set_mode((1920, 1080))
    w.send(pygame.Event(pygame.WINDOWSIZECHANGED, x=1920, y=1080))
    assert w.app.ui.scale == 1.25
