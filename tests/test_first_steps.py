"""The page of the first start."""

from __future__ import annotations

from collections.abc import Callable

import pygame
import pytest
from window import Driver, page_over

from tablesim.resources import open_scenario
from tablesim.view.pages.first_steps import STEPS, FirstSteps
from tablesim.view.pages.overlays import Help, More
from tablesim.view.window.run import greet

Open = Callable[..., Driver]


def test_it_is_shown_once(window: Open) -> None:
    w = window()
    greet(w.app, None)
    page_over(w, FirstSteps)
    w.key(pygame.K_RETURN)
    assert w.app.overlay is None
    greet(w.app, None)
    assert w.app.overlay is None
    assert w.app.places.settings().welcomed


def test_not_where_something_is_opened_or_asked(window: Open) -> None:
    w = window()
    greet(w.app, "two-cues")
    assert w.app.overlay is None
    w.app.open_overlay(More([]))
    greet(w.app, None)
    page_over(w, More)
    assert not w.app.settings.welcomed


def test_it_opens_what_is_ready(window: Open) -> None:
    w = window()
    w.app.act("first_steps")
    page = page_over(w, FirstSteps)
    w.settle()
    items = page.list.items
    assert items is not None
    at = next(k for k, entry in enumerate(items) if "half-ball" in entry.name)
    row = page.list.rect.y + w.app.ui.px(4 + page.list.ROW * (at + 0.5))
    w.click((page.list.rect.centerx, round(row)))
    assert w.app.overlay is None
    assert w.scenario == open_scenario("throw-at-thirty")


def test_the_help_leads_to_it(window: Open) -> None:
    w = window()
    w.key(pygame.K_F1)
    page_over(w, Help)
    w.app.frame()
    w.press("first steps")
    page_over(w, FirstSteps)


@pytest.mark.parametrize("size", [(640, 400), (1280, 800), (1920, 1080)])
def test_every_step_has_room(window: Open, size: tuple[int, int]) -> None:
    w = window(size=size)
    w.app.act("first_steps")
    w.settle()
    page, words = page_over(w, FirstSteps), dict(w.written())
    for head, _ in STEPS:
        assert page.rect.contains(words[head])
        assert words[head].right < page.list.rect.x
    assert all(page.rect.contains(widget.rect) for widget in page.widgets)
