"""A window without a screen, driven by real input events."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any, TypeVar

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

import pygame
import pytest

from tablesim.model.scenario import Scenario
from tablesim.resources import open_scenario
from tablesim.view.answers.findings import Findings
from tablesim.view.answers.worker import Solver
from tablesim.view.controls.fields import Choice
from tablesim.view.controls.widgets import Widget
from tablesim.view.document.places import Places
from tablesim.view.pages.overlays import Overlay
from tablesim.view.window.app import App
from tablesim.view.window.pictures import settle
from tablesim.view.window.run import start_display

Page = TypeVar("Page", bound=Overlay)


class Driver:
    """Hands on mouse and keys; every movement is followed by a frame."""

    def __init__(self, root: Path, scenario: Scenario | str = "two-cues", size: tuple[int, int] = (1280, 800)) -> None:
        surface = start_display(size)
        self.now = 1000.0
        found = open_scenario(scenario) if isinstance(scenario, str) else scenario
        self.app = App(surface, Places(root), found, None, None, lambda: self.now, Solver())
        self.settle()

    def settle(self) -> None:
        """Let everything be computed and painted."""
        settle(self.app)

    def send(self, *events: pygame.Event) -> None:
        """Events, then a frame."""
        self.now += 0.02
        self.app.events(events)
        self.app.frame()

    def move(self, pos: tuple[int, int], held: bool = False, right: bool = False) -> None:
        """The mouse moves, with the left or the right button held."""
        self.send(pygame.Event(pygame.MOUSEMOTION, pos=pos, rel=(0, 0), buttons=(int(held), 0, int(right))))

    def click(self, pos: tuple[int, int]) -> None:
        """Down and up."""
        self.move(pos)
        self.now += 1.0  # never a double click by accident
        self.send(pygame.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=pos))
        self.send(pygame.Event(pygame.MOUSEBUTTONUP, button=1, pos=pos))

    def drag(self, start: tuple[int, int], end: tuple[int, int], steps: int = 12) -> None:
        """Down, along a straight line, up."""
        self.move(start)
        self.now += 1.0
        self.send(pygame.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=start))
        for k in range(1, steps + 1):
            at = tuple(round(a + (b - a) * k / steps) for a, b in zip(start, end, strict=True))
            self.move((at[0], at[1]), held=True)
        self.send(pygame.Event(pygame.MOUSEBUTTONUP, button=1, pos=end))

    def key(self, code: int, mod: int = 0, text: str = "") -> None:
        """A key, with the text that it types."""
        events = [pygame.Event(pygame.KEYDOWN, key=code, mod=mod, unicode=text, scancode=0)]
        if text:
            events.append(pygame.Event(pygame.TEXTINPUT, text=text))
        self.send(*events, pygame.Event(pygame.KEYUP, key=code, mod=mod, unicode="", scancode=0))

    def type(self, text: str) -> None:
        """Letters, one by one."""
        for letter in text:
            self.key(pygame.key.key_code(letter) if letter.isalnum() else 0, 0, letter)

    def control(self, key: str) -> Widget:
        """The control of that key."""
        return next(w for w in self.app.parts.controls() if w.key == key)

    def press(self, key: str) -> None:
        """Click a control."""
        self.click(self.control(key).rect.center)

    def pick(self, key: str, words: str) -> None:
        """Take one of the values of a choice by the mouse: from its list, if it opens one."""
        choice = self.control(key)
        assert isinstance(choice, Choice)
        shown = [choice.shown(value) for value in choice.values()]
        self.press(key)
        if choice.list is None:
            area, k = choice._area(), shown.index(words)
            self.click((area.x + (2 * k + 1) * area.w // (2 * len(shown)), area.centery))
            return
        place = choice.list.place
        rows = {
            row: y for y in range(place.top, place.bottom) if (row := choice.list.row_at((place.centerx, y), -1)) >= 0
        }
        self.click((place.centerx, rows[shown.index(words)]))

    def table(self, x: float, y: float) -> tuple[int, int]:
        """The pixel at a place on the table [m]."""
        return self.app.table.pixel(x, y)

    @property
    def scenario(self) -> Any:
        """The scenario as it stands."""
        return self.app.document.scenario

    @property
    def take(self) -> Any:
        """The take being worked on."""
        return self.app.editor.take

    @property
    def findings(self) -> Findings:
        """What is known of the scenario as it stands."""
        assert self.app.editor.findings is not None
        return self.app.editor.findings

    def written(self) -> list[tuple[str, pygame.Rect]]:
        """What a picture of the window writes, and where."""
        found: list[tuple[str, pygame.Rect]] = []
        write = self.app.ui.write

        def seen(text: str, *how: Any, **more: Any) -> pygame.Rect:
            found.append((text, write(text, *how, **more)))
            return found[-1][1]

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(self.app.ui, "write", seen)
            self.app.draw()
        return found

    def close(self) -> None:
        """Put the window away."""
        self.app.close()


def turn_wheel(w: Driver, at: tuple[int, int], steps: float = -1.0) -> None:
    """The wheel turns over a place."""
    w.move(at)
    w.send(pygame.Event(pygame.MOUSEWHEEL, x=0, y=int(steps), precise_y=steps, flipped=False))


def page_over(w: Driver, kind: type[Page]) -> Page:
    """The page over the window, which is of that kind."""
    assert isinstance(w.app.overlay, kind)
    return w.app.overlay


def tab_to(w: Driver, key: str) -> None:
    """Tab until a control has the focus."""
    for _ in range(80):
        if w.app.ui.focus is not None and w.app.ui.focus.key == key:
            return
        w.key(pygame.K_TAB)
    raise AssertionError(f"Tab never reached {key}")
