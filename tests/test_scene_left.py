"""Leaving a changed scene of a lesson: what becomes of the change is asked, and the scene meant is the right one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from window import Driver

from tablesim.model.lesson import Lesson, Scene, save_lesson
from tablesim.resources import open_scenario
from tablesim.view.pages.lesson_page import SceneList
from tablesim.view.pages.overlays import QuestionPage

Open = Callable[..., Driver]
ONE, TWO = open_scenario("two-cues"), open_scenario("throw-at-thirty")


@pytest.fixture
def course(window: Open, tmp_path: Path) -> Driver:
    """A window with a lesson of two scenes, the first shown."""
    scenes = [Scene(caption="one", scenario=ONE), Scene(caption="two", scenario=TWO)]
    save_lesson(Lesson(scenes=scenes), tmp_path / "course.json")
    w = window(scenario="opening-break")
    w.send(pygame.Event(pygame.DROPFILE, file=str(tmp_path / "course.json")))
    w.settle()
    return w


def answers(w: Driver) -> list[str]:
    """What the question offers."""
    assert isinstance(w.app.overlay, QuestionPage)
    return [widget.key for widget in w.app.overlay.widgets]


def kept(w: Driver) -> list[object]:
    """What the lesson's scenes hold."""
    return [scene.scenario for scene in w.app.book.lesson.scenes]


def click_scene(w: Driver, at: int) -> None:
    """Click a line of the list."""
    rows = w.control("scenes").rect
    w.click((rows.centerx, rows.y + 4 + SceneList.ROW * at + SceneList.ROW // 2))


def step_in_show(w: Driver) -> None:
    """The next scene, while the lesson is shown."""
    w.app.book.showing = True
    w.app.frame()
    w.key(pygame.K_RIGHT)


def arrow_in_list(w: Driver) -> None:
    """The next scene, by the list's own keys."""
    w.app.focus_on(w.control("scenes"))
    w.key(pygame.K_DOWN)


@pytest.mark.parametrize("leave", [lambda w: click_scene(w, 1), arrow_in_list, step_in_show])
def test_leaving_a_changed_scene_asks_what_becomes_of_the_change(
    course: Driver, leave: Callable[[Driver], None]
) -> None:
    course.key(pygame.K_MINUS)
    changed = course.scenario
    leave(course)
    assert answers(course) == ["Into scene 1", "As a new scene", "Leave it out", "Cancel"]
    course.press("Cancel")
    assert course.scenario == changed
    leave(course)
    course.press("Into scene 1")
    assert kept(course) == [changed, TWO]
    assert course.scenario == TWO
    assert course.app.book.place == 1


@pytest.mark.parametrize("leave", [lambda w: click_scene(w, 1), arrow_in_list, step_in_show])
def test_a_scene_as_it_was_shown_is_left_without_a_question(course: Driver, leave: Callable[[Driver], None]) -> None:
    leave(course)
    assert course.app.overlay is None
    assert course.scenario == TWO


def test_undo_offers_the_scene_that_the_view_came_from(course: Driver) -> None:
    course.key(pygame.K_MINUS)
    changed = course.scenario
    click_scene(course, 1)
    course.press("Leave it out")
    course.key(pygame.K_z, pygame.KMOD_CTRL)
    assert course.scenario == changed
    assert course.app.book.place == 0
    course.key(pygame.K_s, pygame.KMOD_CTRL)
    assert answers(course)[0] == "Into scene 1"
    course.press("Into scene 1")
    assert kept(course) == [changed, TWO]


def test_the_scene_is_known_wherever_it_is_moved(course: Driver) -> None:
    course.app.book.move(1)
    course.key(pygame.K_MINUS)
    course.key(pygame.K_s, pygame.KMOD_CTRL)
    assert answers(course)[0] == "Into scene 2"


def test_a_view_that_came_from_no_scene_overwrites_none(course: Driver) -> None:
    course.key(pygame.K_n, pygame.KMOD_CTRL)
    course.key(pygame.K_MINUS)
    click_scene(course, 1)
    assert answers(course) == ["As a new scene", "Leave it out", "Cancel"]
    course.press("Cancel")
    course.key(pygame.K_ESCAPE)
    course.app.show_scene(0)
    course.press("Leave it out")
    course.app.book.remove()  # its view is still on the screen
    course.key(pygame.K_MINUS)
    course.key(pygame.K_s, pygame.KMOD_CTRL)
    assert answers(course)[0] == "As a new scene"


def test_a_scene_that_was_removed_is_left_without_a_question(course: Driver) -> None:
    course.app.book.remove()
    click_scene(course, 0)
    assert course.app.overlay is None
    assert course.scenario == TWO


WAYS: tuple[Callable[[Driver], object], ...] = (
    lambda w: w.key(pygame.K_s, pygame.KMOD_CTRL), lambda w: w.key(pygame.K_s, pygame.KMOD_CTRL | pygame.KMOD_SHIFT),
    lambda w: w.app.show_scene(0), lambda w: w.app.show_scene(1), lambda w: w.key(pygame.K_F5),
    lambda w: w.app.act("close_lesson"), lambda w: w.key(pygame.K_n, pygame.KMOD_CTRL),
)  # fmt: skip


@pytest.mark.parametrize("leave", WAYS)
def test_what_is_left_out_is_off_the_screen_or_marked_as_not_kept(
    course: Driver, leave: Callable[[Driver], object]
) -> None:
    course.key(pygame.K_MINUS)
    changed = course.scenario
    leave(course)
    course.app.frame()
    course.press("Leave it out")
    course.key(pygame.K_ESCAPE)
    course.settle()
    there = course.scenario == changed
    assert course.app.document.unsaved == there
    assert bool(course.app.document.whether_changed) == there
    assert course.control("save").enabled() == there  # type: ignore[attr-defined]


def test_a_long_name_leaves_room_to_say_that_a_view_is_not_kept(course: Driver, tmp_path: Path) -> None:
    """What is cut is the name."""
    file = tmp_path / f"{'where-to-aim-' * 5}.json"
    save_lesson(course.app.book.lesson, file)
    course.send(pygame.Event(pygame.DROPFILE, file=str(file)))
    course.key(pygame.K_MINUS)
    course.key(pygame.K_s, pygame.KMOD_CTRL)
    course.press("Leave it out")
    course.settle()
    written = dict(course.written())
    label = course.control("file").rect
    assert label.contains(written[", this view not kept"])
    assert written[course.app.document.which_file].right <= written[", this view not kept"].x
