"""The document alone: steps, gestures, what counts as unsaved, files as they were known."""

from __future__ import annotations

from pathlib import Path

import pytest

from tablesim.errors import TablesimError
from tablesim.model.lesson import Lesson, Scene, load_lesson
from tablesim.model.scenario import Scenario, load, save
from tablesim.resources import open_scenario
from tablesim.view.document.document import STEPS_KEPT, Document, Work

ONE, OTHER = open_scenario("two-cues"), open_scenario("throw-at-thirty")


def titled(title: str) -> Scenario:
    return ONE.change(title=title)


@pytest.fixture
def document() -> Document:
    """A ready scenario, as it was opened."""
    return Document(ONE)


def changed(document: Document, *titles: str, gesture: str | None = None) -> None:
    """Steps, each with another title, which is also what was done."""
    for title in titles:
        document.change(titled(title), title, gesture)


def test_steps_are_taken_back_and_forth(document: Document) -> None:
    assert (document.can_undo, document.can_redo, document.undo(), document.redo()) == (False, False, "", "")
    assert document.version == 0
    changed(document, "a", "b")
    assert (document.can_undo, document.can_redo) == (True, False)
    assert document.undo() == "b"
    assert (document.scenario.title, document.can_undo, document.can_redo) == ("a", True, True)
    assert document.undo() == "a"
    assert (document.scenario, document.can_undo, document.can_redo) == (ONE, False, True)
    assert (document.redo(), document.redo(), document.redo()) == ("a", "b", "")
    assert document.scenario.title == "b"
    assert document.version == 6


def test_a_new_step_takes_the_place_of_those_taken_back(document: Document) -> None:
    changed(document, "a", "b", "c")
    document.undo()
    document.undo()
    changed(document, "d")
    assert not document.can_redo
    assert (document.undo(), document.undo(), document.undo()) == ("d", "a", "")


def test_what_changes_nothing_is_no_step(document: Document) -> None:
    document.change(ONE, "nothing")
    document.change(ONE, "nothing", chosen=0)
    assert (document.can_undo, document.version) == (False, 0)
    document.change(ONE, "another take", chosen=2)
    assert (document.chosen, document.can_undo, document.version) == (2, True, 1)
    changed(document, "a")
    assert document.chosen == 2


def test_a_gesture_is_one_step(document: Document) -> None:
    changed(document, "before")
    changed(document, "a", "b", gesture="drag")
    assert (document.undo(), document.scenario.title) == ("b", "before")
    document.redo()
    changed(document, "c", gesture="drag")  # a gesture has ended when steps are taken back and forth
    assert (document.undo(), document.undo()) == ("c", "b")


@pytest.mark.parametrize("ended", ["settled", "another", "none", "saved"])
def test_a_gesture_ends(document: Document, ended: str, tmp_path: Path) -> None:
    changed(document, "a", gesture="drag")
    if ended == "settled":
        document.settle()
    elif ended == "saved":
        document.save(tmp_path / "a.json")
    changed(document, "b", gesture={"another": "turn", "none": None}.get(ended, "drag"))
    assert (document.undo(), document.undo(), document.undo()) == ("b", "a", "")


def test_a_gesture_goes_not_on_over_the_first_state(document: Document) -> None:
    changed(document, "a", gesture="drag")
    document.undo()
    document.redo()
    document.undo()
    changed(document, "b", gesture="drag")
    assert (document.undo(), document.scenario) == ("b", ONE)


def test_only_so_many_steps_are_kept(document: Document) -> None:
    """The latest; the newest state stays where it is."""
    changed(document, *map(str, range(STEPS_KEPT + 5)))
    assert document.scenario.title == str(STEPS_KEPT + 4)
    undone = 0
    while document.undo():
        undone += 1
    assert undone == STEPS_KEPT - 1
    assert document.scenario.title == "5"


def test_the_chosen_take_is_one_that_is_there(document: Document) -> None:
    document.change(ONE, "the last", chosen=5)
    assert document.chosen == 5
    document.change(ONE.change(takes=ONE.takes[:2]), "fewer")
    assert document.chosen == 1
    document.change(ONE.change(takes=[]), "none")
    assert document.chosen == 0


def test_unsaved_is_what_no_file_holds(document: Document, tmp_path: Path) -> None:
    assert not document.unsaved
    changed(document, "a")
    assert document.unsaved
    document.undo()
    assert not document.unsaved
    document.redo()
    document.save(tmp_path / "a.json")
    assert (document.unsaved, document.path, load(tmp_path / "a.json").title) == (False, tmp_path / "a.json", "a")
    document.undo()
    assert document.unsaved
    document.open(OTHER, None, unsaved=True)
    assert document.unsaved
    assert (document.can_undo, document.scenario) == (False, OTHER)
    before = document.version
    document.open(OTHER, None)
    assert (document.unsaved, document.version) == (False, before + 1)


def test_a_scene_that_holds_the_scenario_saves_it(document: Document) -> None:
    changed(document, "a")
    document.change(document.scenario, "kept", lesson=Lesson(scenes=[Scene(scenario=titled("a"))]))
    assert not document.unsaved
    assert (document.lesson_open, document.lesson_unsaved) == (True, True)
    changed(document, "b")
    assert document.unsaved
    assert len(document.lesson.scenes) == 1


def test_a_scene_of_a_file_is_as_shown_until_it_is_changed(document: Document) -> None:
    """It holds no scenario: what counts is whether the screen shows what it has put there."""
    lesson = Lesson(scenes=[Scene(file="throw-at-thirty")])
    document.change(OTHER, "shown", lesson=lesson, other_file=True)
    assert document.as_shown
    assert not document.unsaved
    document.change(OTHER.change(title="x"), "changed")
    assert not document.as_shown
    assert document.unsaved
    document.undo()
    assert not document.unsaved
    document.change(document.scenario, "shown again", other_file=True)
    assert document.as_shown


def test_another_file_s_state_is_not_of_the_file_that_is_open(document: Document, tmp_path: Path) -> None:
    document.save(tmp_path / "a.json")
    changed(document, "a")
    assert document.path == tmp_path / "a.json"
    document.change(OTHER, "shown", other_file=True)
    assert document.path is None
    document.undo()
    assert document.path == tmp_path / "a.json"


def test_the_scene_it_came_from_goes_with_the_state(document: Document) -> None:
    document.came_from(3)
    assert (document.state.scene, document.can_undo) == (3, False)
    changed(document, "a")
    assert document.state.scene == 3


@pytest.mark.parametrize("lesson", [False, True])
def test_the_words_for_the_file(document: Document, lesson: bool, tmp_path: Path) -> None:
    assert (document.file, document.file_words) == (None, "no file yet")
    changed(document, "a")
    assert document.file_words == "no file yet, changed"
    if not lesson:
        document.save(tmp_path / "a.json")
        assert document.file_words == "a.json"
        return
    document.change(document.scenario, "kept", lesson=Lesson(scenes=[Scene(scenario=document.scenario)]))
    assert document.file_words == "lesson, no file yet, changed"
    document.save_lesson(tmp_path / "b.json")
    assert (document.file, document.file_words) == (tmp_path / "b.json", "lesson b.json")
    changed(document, "b")
    assert document.file_words == "lesson b.json, this view not kept"
    document.open_lesson(Lesson(), None)
    assert (document.lesson_open, document.lesson_unsaved, document.file) == (False, False, None)


def test_a_lesson_is_opened_beside_the_scenario(document: Document, tmp_path: Path) -> None:
    changed(document, "a")
    document.change(titled("a"), "chosen", chosen=1)
    lesson = Lesson(title="L", scenes=[Scene(scenario=OTHER)])
    before = document.version
    document.open_lesson(lesson, None)
    assert (document.scenario.title, document.chosen, document.can_undo) == ("a", 1, False)
    assert (document.lesson, document.lesson_unsaved, document.version) == (lesson, False, before + 1)
    document.open_lesson(lesson, None, unsaved=True)
    assert document.lesson_unsaved
    document.save_lesson(tmp_path / "l.json")
    assert not document.lesson_unsaved
    assert (load_lesson(tmp_path / "l.json"), document.lesson_path) == (lesson, tmp_path / "l.json")
    changed(document, "b")
    assert document.lesson == lesson


def test_a_gesture_ends_with_what_is_opened(document: Document) -> None:
    for lesson in (False, True):
        changed(document, "a", gesture="drag")
        if lesson:
            document.open_lesson(Lesson(), None)
        else:
            document.open(OTHER, None)
        first = document.scenario
        changed(document, "b", "c", gesture="drag")
        assert document.undo() == "c"
        assert document.scenario == first


def test_a_file_that_another_program_changed_is_noticed(tmp_path: Path) -> None:
    file, other = tmp_path / "a.json", tmp_path / "other.json"
    save(ONE, file)
    document = Document(ONE, file)
    assert not document.changed_on_disk(file)
    assert not document.changed_on_disk(None)
    assert not document.changed_on_disk(other)
    save(OTHER, other)
    assert not document.changed_on_disk(other)  # it was never read
    save(OTHER, file)
    assert document.changed_on_disk(file)
    with pytest.raises(TablesimError):
        document.save()
    assert (load(file), document.unsaved) == (OTHER, False)
    document.take_note(file)
    document.save()
    assert (load(file), document.changed_on_disk(file)) == (ONE, False)
    file.unlink()
    assert not document.changed_on_disk(file)  # a file that is gone is not another


def test_a_file_is_known_as_it_was_before_it_was_read(tmp_path: Path) -> None:
    file = tmp_path / "a.json"
    save(ONE, file)
    document = Document(OTHER)
    document.read(file)
    assert (document.scenario, document.path, document.unsaved) == (ONE, file, False)
    assert document.known(file) != ""
    assert document.known(None) == document.known(tmp_path / "b.json") == ""
    assert Document(ONE, file, known="as before").changed_on_disk(file)
    (tmp_path / "bad.json").write_text("{")
    with pytest.raises(TablesimError):
        document.read(tmp_path / "bad.json")
    assert (document.scenario, document.path) == (ONE, file)


@pytest.mark.parametrize("lesson", [None, Lesson(title="L", scenes=[Scene(scenario=OTHER)])])
def test_work_is_recovered_as_it_was_left(document: Document, lesson: Lesson | None, tmp_path: Path) -> None:
    save(ONE, tmp_path / "a.json")
    lesson_path = None if lesson is None else tmp_path / "l.json"
    work = Work(
        titled("mine"), tmp_path / "a.json", "known so", lesson, lesson_path, "" if lesson is None else "and so"
    )
    document.recover(work)
    assert document.work == work
    assert document.unsaved
    assert document.lesson_unsaved == (lesson is not None)
    assert document.changed_on_disk(tmp_path / "a.json")
