"""Painting only what has changed gives, to the pixel, what painting everything gives."""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pygame
import pytest
from test_soak import SEED, storm
from window import Driver

from tablesim.output.painter import Painter
from tablesim.physics import jit
from tablesim.scene import shapes
from tablesim.scene.look import EVENING, PATTERNS
from tablesim.scene.shapes import Ball, Disc, Dot, Frame, Pen, Scene, Text

EVENTS = int(os.environ.get("TABLESIM_STORM", "400"))
SIZE = (203, 150)  # pixels


def random_scene(rng: np.random.Generator) -> Scene:
    """A few shapes of every kind, some of them half outside of a picture of 2 m x 1.5 m."""

    def place() -> tuple[float, float]:
        return float(rng.uniform(-0.2, 2.2)), float(rng.uniform(-0.2, 1.7))

    def pen() -> Pen:
        return Pen("#ffc35c", float(rng.uniform(0.3, 14.0)), PATTERNS[rng.integers(len(PATTERNS))])

    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    points = np.array([place() for _ in range(rng.integers(2, 6))])
    return [
        shapes.Path(points, pen(), closed=bool(rng.integers(2))),
        shapes.Path(np.array([place() for _ in range(4)]), pen(), "#8fd3ff80", closed=True),
        Disc(*place(), float(rng.uniform(0.0, 0.2)), "#ffffff40", pen()),
        Dot(*place(), float(rng.uniform(1.0, 9.0)), "#cdea6b", pen(), corners=int(rng.choice([0, 4]))),
        Text(*place(), "corrected", float(rng.uniform(6.0, 24.0)), "#f4f1e9", halo="#1b3a37"),
        Ball(*place(), 0.05, "11"),
        Ball(*place(), 0.05, "9", turn),
    ]


def test_a_raster_in_the_displays_order_has_the_same_colours() -> None:
    frame = Frame(np.array([[100.0, 0.0], [0.0, -100.0]]), np.array([0.0, 150.0]))
    scene = random_scene(np.random.default_rng(SEED + 1))
    one, other = Painter(*SIZE, EVENING), Painter(*SIZE, EVENING, "BGR")
    for painter in (one, other):
        painter.lay(None)
        painter.paint(scene, frame)
    assert np.array_equal(one.pixels, other.pixels[:, :, [2, 1, 0, 3]])
    assert not np.array_equal(one.pixels, other.pixels)


def seen(w: Driver) -> np.ndarray:
    """The window's pixels (width, height, 3)."""
    found: np.ndarray = pygame.surfarray.array3d(w.app.surface)
    return found


def apart_from_anew(w: Driver) -> int:
    """How many pixels of the window differ from what they are when it is painted anew as a whole."""
    w.app.draw()
    before = seen(w)
    w.app.ui.forget()
    w.app.surface.fill(pygame.Color("#ff00ff"))
    w.app.draw()
    return int((before != seen(w)).any(axis=2).sum())


@pytest.mark.filterwarnings("ignore:re-creating window")
def test_a_window_painted_in_parts_is_the_window_painted_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever hands do; pages that lie over the window are painted whole in any case."""
    rng = random.Random(SEED)
    monkeypatch.chdir(tmp_path)
    jit.prepare()
    w = Driver(tmp_path / "kept", "two-cues", (1200, 760))
    compared = 0
    try:
        for k in range(EVENTS):
            storm(w, rng, tmp_path)
            if w.app.overlay is not None and rng.random() < 0.7:
                w.key(pygame.K_ESCAPE)
            if w.app.overlay is None and w.app.hand_out.job is None and rng.random() < 0.4:
                assert apart_from_anew(w) == 0, f"after {k} events"
                compared += 1
    finally:
        w.close()
    assert compared > EVENTS // 10


@pytest.fixture
def window(tmp_path: Path) -> Iterator[Driver]:
    """A window without a screen."""
    driver = Driver(tmp_path)
    yield driver
    driver.close()


@pytest.mark.parametrize("kind", [pygame.VIDEORESIZE, pygame.WINDOWSIZECHANGED, pygame.WINDOWEXPOSED])
def test_a_surface_that_may_be_another_one_is_painted_whole(window: Driver, kind: int) -> None:
    before = seen(window)
    window.app.surface.fill(pygame.Color("#ff00ff"))
    window.send(pygame.Event(kind, size=window.app.surface.get_size(), w=0, h=0))
    assert np.array_equal(seen(window), before)


def test_what_has_not_changed_is_left_alone_and_what_has_is_not(window: Driver) -> None:
    """A spot on the panel stays while the aim is dragged, and is gone when the pace has changed."""
    surface, spot = window.app.surface, window.app.parts.panel_rect.move(-3, -3).bottomright
    ruler, pink = window.control("pace ruler").rect, pygame.Color("#ff00ff")
    window.move(window.table(1.3, 0.3))
    surface.set_at(spot, pink)
    before = seen(window)
    window.drag(window.table(1.3, 0.3), window.table(1.3, 0.5))
    window.settle()
    after = seen(window)
    assert (before != after).any()
    assert surface.get_at(spot) == pink
    window.app.guard(lambda: window.app.editor.set_pace(1.0))
    window.send()
    assert surface.get_at(spot) != pink
    old, new = (picture[ruler.left : ruler.right, ruler.top : ruler.bottom] for picture in (after, seen(window)))
    assert (old != new).any()
