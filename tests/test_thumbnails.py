"""Small pictures of a lesson's scenes."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pygame
import pytest
from window import Driver

from tablesim.model.lesson import Scene
from tablesim.resources import open_scenario
from tablesim.scene.look import EVENING, PROJECTOR
from tablesim.scene.shot import FADED
from tablesim.view.pages.thumbnails import Thumbnails, Worked, worked_out

Open = Callable[..., Driver]
SIZE = (82, 46)
TWO = Scene(scenario=open_scenario("two-cues"), take="wood, hard", with_takes=["low-squirt, soft"])


def until_worked_out(thumbnails: Thumbnails) -> None:
    """Wait for the thread."""
    end = time.monotonic() + 60.0
    while thumbnails.busy:
        assert time.monotonic() < end
        time.sleep(0.01)
        thumbnails.turn()


def test_a_picture_comes_once_it_is_worked_out_and_is_kept(window: Open) -> None:
    window()
    thumbnails = Thumbnails()
    assert thumbnails.picture(TWO, None, SIZE, EVENING) is None
    until_worked_out(thumbnails)
    thumbnails.turn()
    picture = thumbnails.picture(TWO, None, SIZE, EVENING)
    assert picture is not None
    assert picture.get_size() == SIZE
    assert thumbnails.picture(TWO, None, SIZE, EVENING) is picture
    thumbnails.turn()
    assert thumbnails.picture(TWO, None, SIZE, PROJECTOR) is not picture


def test_no_more_than_one_is_painted_in_a_frame(window: Open) -> None:
    window()
    asked = threading.Event()

    def work(scene: Scene, folder: Path | None) -> Worked | None:
        asked.wait()
        return worked_out(scene, folder)

    thumbnails = Thumbnails(work)
    scenes = [TWO.change(caption=str(k)) for k in range(3)]
    for scene in scenes:
        thumbnails.picture(scene, None, SIZE, EVENING)
    asked.set()
    until_worked_out(thumbnails)
    for there in (1, 2, 3):
        assert thumbnails.turn() or there == 1
        pictures = [thumbnails.picture(scene, None, SIZE, EVENING) for scene in scenes]
        assert sum(picture is not None for picture in pictures) == there
    assert not thumbnails.turn()


def test_the_paths_of_the_takes_shown_are_in_it(window: Open) -> None:
    window()

    def drawn(scene: Scene) -> np.ndarray:
        thumbnails = Thumbnails()
        thumbnails.picture(scene, None, (328, 184), EVENING)
        until_worked_out(thumbnails)
        thumbnails.turn()
        picture = thumbnails.picture(scene, None, (328, 184), EVENING)
        assert picture is not None
        pixels: np.ndarray = pygame.surfarray.array3d(picture).astype(int)
        return pixels

    def has(pixels: np.ndarray, take: int) -> bool:
        """In its own colour, or paler over the cloth as takes are that are not the chosen one."""
        cloth, own = (np.array(pygame.Color(name)[:3]) for name in (EVENING.cloth, EVENING.takes[take]))
        shades = own, FADED * own + (1.0 - FADED) * cloth
        return bool(sum(int((abs(pixels - shade).max(axis=2) < 12).sum()) for shade in shades) > 10)

    both, one = drawn(TWO), drawn(TWO.change(with_takes=[]))
    assert has(both, 5)
    assert has(both, 0)
    assert has(one, 5)
    assert not has(one, 0)


def test_a_scene_whose_file_is_missing_has_none(window: Open, tmp_path: Path) -> None:
    window()
    thumbnails = Thumbnails()
    lost = Scene(file="gone.json")
    assert worked_out(lost, tmp_path) is None
    thumbnails.picture(lost, tmp_path, SIZE, EVENING)
    until_worked_out(thumbnails)
    thumbnails.turn()
    assert thumbnails.picture(lost, tmp_path, SIZE, EVENING) is None


def test_a_slow_one_does_not_stop_the_window(window: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    w = window()

    def slow(scene: Scene, folder: Path | None) -> Worked | None:
        time.sleep(0.5)
        return worked_out(scene, folder)

    monkeypatch.setattr(w.app, "thumbnails", Thumbnails(slow))
    for _ in range(3):
        w.app.act("keep")
    w.app.open_page("Lesson")
    begun = time.perf_counter()
    w.app.frame()
    assert time.perf_counter() - begun < 0.45
    w.settle()
    assert not w.app.thumbnails.busy
