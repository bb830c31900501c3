"""One way to save: the lesson if one is open, else the scenario; nothing is lost on the way."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from window import Driver, page_over

from tablesim.model.lesson import Lesson, Scene, load_lesson, save_lesson
from tablesim.model.scenario import load, save
from tablesim.resources import open_scenario
from tablesim.view.controls.keys import KEYS
from tablesim.view.pages.file_page import FilePage
from tablesim.view.pages.overlays import QuestionPage

Open = Callable[..., Driver]
ONE, TWO = open_scenario("two-cues"), open_scenario("throw-at-thirty")


def drop(w: Driver, file: Path) -> None:
    """Open a file."""
    w.send(pygame.Event(pygame.DROPFILE, file=str(file)))


def save_key(w: Driver, shift: bool = False) -> None:
    """Ctrl S."""
    w.key(pygame.K_s, pygame.KMOD_CTRL | (pygame.KMOD_SHIFT if shift else 0))


def name_it(w: Driver, file: Path) -> None:
    """Answer the question for a file's name."""
    assert isinstance(w.app.overlay, FilePage)
    w.app.overlay.field.begin()
    w.app.overlay.field.typed(str(file))
    w.key(pygame.K_RETURN)


@pytest.fixture
def drill(tmp_path: Path) -> Path:
    """A scenario's file."""
    save(TWO, tmp_path / "drill.json")
    return tmp_path / "drill.json"


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """A lesson's file."""
    save_lesson(Lesson(title="Course", scenes=[Scene(caption="one", scenario=ONE)]), tmp_path / "course.json")
    return tmp_path / "course.json"


def test_the_title_line_says_which_file_and_whether_it_is_changed(window: Open, drill: Path, course: Path) -> None:
    w = window()
    words = w.app.document
    assert words.file_words == "no file yet"
    drop(w, drill)
    assert words.file_words == "drill.json"
    w.key(pygame.K_d)
    assert words.file_words == "drill.json, changed"
    save_key(w)
    assert words.file_words == "drill.json"
    w.key(pygame.K_k, pygame.KMOD_CTRL)
    assert words.file_words == "lesson, no file yet, changed"
    w.app.book.remove()
    assert words.file_words == "drill.json"
    drop(w, course)
    assert words.file_words == "lesson course.json"
    w.key(pygame.K_d)
    assert words.file_words == "lesson course.json, this view not kept"
    w.app.book.rename("two")
    assert words.file_words == "lesson course.json, changed"


def test_one_key_saves_what_is_open(window: Open, drill: Path, course: Path) -> None:
    w = window()
    drop(w, drill)
    w.key(pygame.K_d)
    save_key(w)
    assert load(drill) == w.scenario != TWO
    drop(w, course)
    w.app.book.rename("renamed")
    save_key(w)
    assert load_lesson(course) == w.app.book.lesson
    assert load_lesson(course).scenes[0].caption == "renamed"
    assert w.app.message == "Saved course.json"


@pytest.mark.parametrize(
    ("answer", "scenes"),
    [("Into scene 1", ["changed"]), ("As a new scene", ["one", "changed"]), ("Leave it out", ["one"])],
)
def test_a_changed_view_of_a_lesson_is_asked_about(window: Open, course: Path, answer: str, scenes: list[str]) -> None:
    w = window()
    drop(w, course)
    w.key(pygame.K_d)
    changed = w.scenario
    save_key(w)
    assert isinstance(w.app.overlay, QuestionPage)
    w.press("Cancel")
    assert load_lesson(course).scenes[0].scenario == ONE
    save_key(w)
    w.press(answer)
    held = {"one": ONE, "changed": changed}
    assert [scene.scenario for scene in load_lesson(course).scenes] == [held[name] for name in scenes]
    assert w.scenario == changed
    assert w.app.document.unsaved == (answer == "Leave it out")


def test_a_file_beside_the_lesson_is_saved_on_the_way(window: Open, drill: Path, course: Path) -> None:
    w = window()
    drop(w, course)
    drop(w, drill)
    w.key(pygame.K_d)
    changed = w.scenario
    w.app.show_scene(0)
    w.app.frame()
    assert isinstance(w.app.overlay, QuestionPage)
    assert w.scenario == changed
    w.press("Save drill.json")
    assert load(drill) == changed
    assert w.scenario == ONE


def test_showing_the_lesson_asks_about_a_file_beside_it(window: Open, drill: Path, course: Path) -> None:
    w = window()
    drop(w, course)
    drop(w, drill)
    w.key(pygame.K_d)
    w.key(pygame.K_F5)
    assert not w.app.book.showing
    w.press("Leave it out")
    assert w.app.book.showing
    assert load(drill) == TWO


def test_save_as_asks_the_name_of_what_is_open(window: Open, drill: Path, course: Path, tmp_path: Path) -> None:
    w = window()
    drop(w, drill)
    save_key(w, shift=True)
    name_it(w, tmp_path / "other.json")
    assert load(tmp_path / "other.json") == TWO
    drop(w, course)
    save_key(w, shift=True)
    name_it(w, tmp_path / "second.json")
    assert load_lesson(tmp_path / "second.json") == load_lesson(course)
    assert w.app.document.file_words == "lesson second.json"


def test_closing_the_lesson_gives_saving_back_to_the_scenario(window: Open, drill: Path, tmp_path: Path) -> None:
    w = window()
    drop(w, drill)
    w.app.open_page("Lesson")
    w.app.frame()
    w.press("keep")
    w.press("close lesson")
    assert isinstance(w.app.overlay, QuestionPage)
    assert "lesson" in page_over(w, QuestionPage).text
    w.press("Save")
    name_it(w, tmp_path / "new.json")
    assert load_lesson(tmp_path / "new.json").scenes[0].scenario == TWO
    assert w.app.document.file_words == "drill.json"
    assert w.scenario == TWO


def test_leaving_asks_about_view_and_lesson(window: Open, course: Path) -> None:
    w = window()
    drop(w, course)
    w.key(pygame.K_d)
    changed = w.scenario
    w.send(pygame.Event(pygame.QUIT))
    w.press("As a new scene")
    assert w.app.running
    assert "lesson" in page_over(w, QuestionPage).text
    w.press("Save")
    assert not w.app.running
    assert load_lesson(course).scenes[1].scenario == changed


def test_a_scenario_can_be_opened_while_a_lesson_is_built(window: Open, drill: Path) -> None:
    """The lesson stays, so that nothing has to be asked about it; a crash gives both back."""
    w = window()
    w.key(pygame.K_k, pygame.KMOD_CTRL)
    drop(w, drill)
    assert w.app.overlay is None
    w.key(pygame.K_k, pygame.KMOD_CTRL)
    assert [scene.scenario for scene in w.app.book.lesson.scenes] == [ONE, TWO]


def test_saving_one_does_not_forget_the_other(window: Open, drill: Path, tmp_path: Path) -> None:
    """A crash after the scenario was saved still gives the unsaved lesson back."""
    w = window()
    drop(w, drill)
    w.key(pygame.K_k, pygame.KMOD_CTRL)
    w.key(pygame.K_d)
    w.app.show_scene(0)
    w.app.frame()
    w.press("Save drill.json")
    kept = w.app.places.unsaved_file
    assert kept.is_file()
    kept.rename(kept.with_name("unsaved-999999999.json"))
    again = window()
    again.press("Recover it")
    assert again.app.document.lesson == w.app.document.lesson
    assert again.app.document.lesson_unsaved


def test_a_scene_named_by_its_file_counts_as_kept(window: Open, tmp_path: Path) -> None:
    file = tmp_path / "course.json"
    save_lesson(Lesson(scenes=[Scene(caption="ready", file="throw-at-thirty")]), file)
    w = window()
    drop(w, file)
    assert w.scenario == TWO
    assert not w.app.document.unsaved
    w.key(pygame.K_d)
    assert w.app.document.unsaved


def test_a_lesson_is_only_what_keeps_views(window: Open) -> None:
    """What comes with the program is called a ready scenario everywhere."""
    w = window()
    w.key(pygame.K_o, pygame.KMOD_CTRL)
    w.settle()
    page = w.app.overlay
    assert isinstance(page, FilePage)
    while page.list.items is None:
        w.settle()
    assert page.title == "Open a file, a ready scenario or lesson"
    assert "ready scenario two-cues" in [entry.note for entry in page.list.items]
    w.key(pygame.K_ESCAPE)
    words = [key.words for key in KEYS] + [getattr(b, "note", "") for b in w.app.parts.bar.buttons]
    assert [text for text in words if "ready lesson" in text] == []
    assert w.app.parts.bar.title.hint == "untitled"


def test_return_saves_under_the_name_proposed(window: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    w = window()
    save_key(w)
    assert isinstance(w.app.overlay, FilePage)
    proposed = Path(w.app.overlay.path_text)
    w.key(pygame.K_RETURN)
    assert w.app.overlay is None
    assert load(proposed) == w.scenario


def test_a_typed_name_waits_for_return_or_the_button(
    window: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Leaving the field is not yet saving; the button saves once, so that the file is not found there by itself."""
    monkeypatch.chdir(tmp_path)
    w = window()
    save_key(w)
    page_over(w, FilePage).field.typed(str(tmp_path / "mine"))
    w.key(pygame.K_TAB)
    assert isinstance(w.app.overlay, FilePage)
    assert not (tmp_path / "mine.json").exists()
    w.app.focus_on(w.app.overlay.field)
    w.app.overlay.field.typed(str(tmp_path / "other"))
    w.press("go")
    assert w.app.overlay is None
    assert load(tmp_path / "other.json") == w.scenario


def test_return_does_not_replace_a_file(window: Open, drill: Path) -> None:
    w = window()
    save_key(w)
    name_it(w, drill)
    assert isinstance(w.app.overlay, QuestionPage)
    w.key(pygame.K_RETURN)
    assert w.app.overlay is None
    assert load(drill) == TWO
    save_key(w)
    name_it(w, drill)
    w.press("Replace it")
    assert load(drill) == ONE
