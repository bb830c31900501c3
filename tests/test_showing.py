"""The lesson shown full screen: its captions, and which keys go to scenes and which to moments of the play."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from window import Driver

from tablesim.model.lesson import Lesson, Scene, save_lesson
from tablesim.resources import open_scenario, ready_lessons
from tablesim.view.controls.keys import KEYS

Open = Callable[..., Driver]
SHORT = "The same aim"
LONG = (
    "The same aim, two cues: with a slender shaft the cue ball leaves its line less, and the push grows with distance"
)
ENDLESS = "words " * 66


@pytest.fixture
def show(window: Open, tmp_path: Path) -> Callable[..., Driver]:
    """Shows a lesson of three scenes under these captions."""

    def start(*captions: str, size: tuple[int, int] = (1280, 800)) -> Driver:
        names = ("two-cues", "throw-at-thirty", "close-to-the-ball")
        scenes = [Scene(caption=c, scenario=open_scenario(n)) for c, n in zip(captions, names, strict=True)]
        save_lesson(Lesson(scenes=scenes), tmp_path / "course.json")
        w = window(size=size)
        w.send(pygame.Event(pygame.DROPFILE, file=str(tmp_path / "course.json")))
        w.app.book.showing = True  # as by F5, in a window of this size
        w.app.restyle()
        w.settle()
        return w

    return start


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080)])
def test_a_long_caption_has_two_lines(show: Callable[..., Driver], size: tuple[int, int]) -> None:
    w = show(LONG, SHORT, ENDLESS, size=size)
    words = dict(w.written())
    lines = [text for text in words if text and text in LONG]
    assert " ".join(lines) == LONG
    places = [words[text] for text in lines]
    assert len(places) in (1, 2)
    assert all(w.app.surface.get_rect().contains(place) and place.bottom <= w.app.table.rect.y for place in places)
    assert all(not one.colliderect(other) for one, other in itertools.pairwise(places))
    top = w.app.table.rect
    w.key(pygame.K_RIGHT)
    w.settle()
    assert w.app.table.rect.y == top.y  # no table jumps from scene to scene
    assert SHORT in dict(w.written())


def test_short_captions_leave_the_table_its_room(show: Callable[..., Driver]) -> None:
    assert show(SHORT, SHORT, SHORT).app.table.rect.y < show(LONG, SHORT, SHORT).app.table.rect.y


def test_arrow_keys_go_to_the_scenes_while_one_is_played(show: Callable[..., Driver]) -> None:
    w = show(SHORT, SHORT, SHORT)
    for code, place in ((pygame.K_RIGHT, 1), (pygame.K_DOWN, 2), (pygame.K_LEFT, 1), (pygame.K_END, 2)):
        w.key(pygame.K_SPACE)
        assert w.app.table.player is not None
        w.key(pygame.K_PERIOD)
        w.key(code)
        assert w.app.book.place == place
        assert w.app.table.player is None
        w.settle()


def test_the_play_line_takes_the_arrow_keys_once_it_has_the_focus(show: Callable[..., Driver]) -> None:
    w = show(SHORT, SHORT, SHORT)
    w.key(pygame.K_PERIOD)
    player = w.app.table.player
    assert player is not None
    w.app.focus_on(w.control("time"))
    at = player.time
    w.key(pygame.K_RIGHT)
    assert player.time == pytest.approx(at + 0.01)
    assert w.app.book.place == 0


def test_the_keys_of_events_begin_the_playing(show: Callable[..., Driver], window: Open) -> None:
    for w in (show(SHORT, SHORT, SHORT), window()):
        w.key(pygame.K_PERIOD)
        player = w.app.table.player
        assert player is not None
        assert not player.playing
        assert player.time == player.times()[0]
        w.key(pygame.K_COMMA)
        assert player.time == 0.0


def test_the_help_says_so() -> None:
    words = {key.action: key.words for key in KEYS if key.code == pygame.K_F5}
    assert "also while one is played" in words["show"]


def test_a_scene_of_a_file_shown_again_is_not_a_change(window: Open) -> None:
    """F5 reads the file of the scene once more; what is equal is as shown, and the next scene comes unasked."""
    w = window()
    w.app.files.open_lesson(ready_lessons()["when-to-aim-elsewhere"], 2)
    w.settle()
    for key, place in ((pygame.K_F5, 2), (pygame.K_RIGHT, 3), (pygame.K_LEFT, 2)):
        w.key(key)
        w.settle()
        assert w.app.overlay is None
        assert w.app.document.as_shown
        assert w.app.book.place == place
