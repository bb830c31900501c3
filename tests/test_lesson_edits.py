"""One thing changed in all scenes of a lesson: what is offered, what comes of it, what stays, and the step of undo."""

from __future__ import annotations

from collections.abc import Callable

import pygame
import pytest
from window import Driver, page_over

from tablesim.errors import TablesimError
from tablesim.model.gear import CLOTHS, BallSet, Cue, OddBall
from tablesim.model.lesson import Lesson, Scene
from tablesim.model.scenario import Scenario
from tablesim.model.table import Table
from tablesim.resources import open_scenario
from tablesim.view.document.lesson_edits import Thing, differences, scenes_words, with_same
from tablesim.view.pages.same_page import SamePage

Open = Callable[..., Driver]
TWO = open_scenario("two-cues")
MODEL = TWO.change(
    table=Table(size="8ft"), cloth=CLOTHS["worn"], cues={**TWO.cues, "wood": Cue(ball_to_end_mass=30.0), "mine": Cue()},
    balls={**TWO.balls, "3": (1.5, 0.8)},
)  # fmt: skip
OTHER = TWO.change(
    cloth=CLOTHS["new"], balls={"cue": (0.5, 0.5), "8": (1.2, 0.6)}, target={"ball": "8", "pocket": "side-left"}
)
LESSON = Lesson(title="mine", scenes=[
    Scene(caption="first", scenario=TWO, take="wood, hard", with_takes=["wood, soft"], spin=True),
    Scene(caption="of a file", file="two-cues"),
    Scene(caption="second", scenario=OTHER),
    Scene(caption="as it is to be", scenario=MODEL),
])  # fmt: skip


def scenario_in(lesson: Lesson, number: int) -> Scenario:
    """The scenario of a scene, by its number from 1."""
    found = lesson.scenes[number - 1].scenario
    assert found is not None
    return found


def test_what_differs_is_offered_in_words_with_the_scenes() -> None:
    assert differences(LESSON, MODEL) == {
        Thing("table"): "table, size 9ft → 8ft, scenes 1 and 3",
        Thing("cloth"): "cloth ordinary → worn, scene 1; cloth new → worn, scene 3",
        Thing("cues", "wood"): "cue wood, ball to end mass 22 → 30, scenes 1 and 3",
        Thing("balls", "cue"): "cue ball moved 440 mm, scene 3",
        Thing("balls", "3"): "ball 3 moved 255 mm, scene 1",
    }
    assert differences(LESSON.change(scenes=LESSON.scenes[3:]), MODEL) == {}


def test_many_ways_of_differing_are_cut_short() -> None:
    scenes = [Scene(scenario=TWO.change(balls={**TWO.balls, "3": (1.7 + 0.01 * k, 0.75)})) for k in range(5)]
    (said,) = differences(Lesson(scenes=scenes), MODEL.change(
        table=TWO.table, cloth=TWO.cloth, cues=TWO.cues)).values()  # fmt: skip
    assert said.count("moved") == 3
    assert said.endswith("; and 2 more")
    assert scenes_words([2]) == "scene 2"
    assert scenes_words([2, 3, 5]) == "scenes 2, 3 and 5"


@pytest.mark.parametrize("thing", [Thing("table"), Thing("cloth"), Thing("cues", "wood"), Thing("balls", "3")])
def test_one_thing_is_changed_in_all_scenes_and_nothing_else(thing: Thing) -> None:
    changed = with_same(LESSON, MODEL, [thing])

    assert thing not in differences(changed, MODEL)
    assert set(differences(changed, MODEL)) == set(differences(LESSON, MODEL)) - {thing}
    assert changed.scenes[1] == LESSON.scenes[1]  # of a file
    for now, was in zip(changed.scenes, LESSON.scenes, strict=True):
        assert now.change(scenario=was.scenario) == was
        if now.scenario is not None and was.scenario is not None:
            assert now.scenario.change(**{thing.kind: getattr(was.scenario, thing.kind)}) == was.scenario
    assert scenario_in(changed, 3).balls.keys() == OTHER.balls.keys()
    assert "mine" not in scenario_in(changed, 1).cues


def test_several_things_at_once() -> None:
    things = list(differences(LESSON, MODEL))
    changed = with_same(LESSON, MODEL, things)

    assert differences(changed, MODEL) == {}
    assert scenario_in(changed, 1).balls == {"cue": MODEL.balls["cue"], "3": (1.5, 0.8)}
    assert scenario_in(changed, 3).balls == {"cue": MODEL.balls["cue"], "8": (1.2, 0.6)}
    assert with_same(LESSON, MODEL, []) == LESSON


def test_balls_unlike_the_set_come_where_they_lie() -> None:
    model = TWO.change(ball_set=BallSet(odd={"3": OddBall(mass_kg=0.2), "cue": OddBall(mass_kg=0.18)}))
    lesson = Lesson(scenes=[Scene(scenario=TWO), Scene(scenario=OTHER)])
    changed = with_same(lesson, model, [Thing("ball_set")])

    assert scenario_in(changed, 1).ball_set == model.ball_set
    assert scenario_in(changed, 2).ball_set.odd == {"cue": OddBall(mass_kg=0.18)}
    assert Thing("ball_set") not in differences(changed, model)


@pytest.mark.parametrize(("scenario", "words"), [
    (TWO.change(balls={**TWO.balls, "5": (1.5, 0.81)}), "scene 2: balls.5: overlaps ball '3'"),
    (TWO.change(balls={**TWO.balls, "5": (2.45, 1.2)}), "scene 2: balls.5: must lie on the bed"),
])  # fmt: skip
def test_what_does_not_fit_a_scene_changes_none(scenario: Scenario, words: str) -> None:
    lesson = Lesson(scenes=[LESSON.scenes[0], Scene(scenario=scenario)])
    with pytest.raises(TablesimError) as refused:
        with_same(lesson, MODEL, [Thing("table"), Thing("balls", "3")])
    assert str(refused.value).startswith(words)
    assert str(refused.value).endswith("; leave something out, or change that scene first")


def on_the_screen(open_window: Open) -> Driver:
    """The lesson open, the model of its last scene on the screen."""
    w = open_window()
    w.app.document.open_lesson(LESSON, None)
    w.app.show_scene(3)
    w.app.open_page("Lesson")
    w.settle()
    return w


def test_the_same_in_all_scenes_is_one_step_in_the_window(window: Open) -> None:
    w = on_the_screen(window)
    steps = len(w.app.document._states)
    w.press("same")
    page = page_over(w, SamePage)
    assert len(page.maker.found) == 5
    assert "Scene 2 stays as its file has it." in page.maker.words
    w.press("make same")  # nothing is ticked
    assert w.app.overlay is page
    w.click((page.list.rect.x + 40, page.list.rect.y + 8))
    w.key(pygame.K_DOWN)
    w.key(pygame.K_SPACE)
    w.press("make same")
    w.settle()

    assert w.app.overlay is None
    assert w.app.message == "The same in all scenes now. Scene 2 stays as its file has it."
    assert w.app.book.lesson == with_same(LESSON, MODEL, [Thing("table"), Thing("cloth")])
    assert len(w.app.document._states) == steps + 1
    assert w.scenario == MODEL
    w.key(pygame.K_z, pygame.KMOD_CTRL)
    w.settle()
    assert w.app.book.lesson == LESSON


def test_what_will_not_do_is_said_on_the_page(window: Open) -> None:
    w = on_the_screen(window)
    crowded = Scene(scenario=TWO.change(balls={**TWO.balls, "5": (1.5, 0.81)}))
    w.app.document.open_lesson(LESSON.change(scenes=[*LESSON.scenes, crowded]), None)
    w.app.act("same")
    page = page_over(w, SamePage)
    page.maker.ticked.append(next(words for words in page.maker.found if words.startswith("ball 3")))
    assert page.maker.words.startswith("Scene 5: balls.5: overlaps ball '3'")
    assert not page.maker.able


def test_without_scenes_there_is_nothing_to_change(window: Open) -> None:
    w = window()
    w.app.act("same")
    assert w.app.overlay is None
    assert w.app.message.startswith("The lesson has no scenes yet")


def test_the_page_lies_within_a_small_window(window: Open) -> None:
    w = on_the_screen(lambda: window(size=(640, 400)))
    w.app.act("same")
    w.app.frame()
    page = page_over(w, SamePage)
    rects = [widget.rect for widget in page.widgets]
    assert all(page.rect.contains(rect) for rect in rects)
    assert all(not one.colliderect(other) for k, one in enumerate(rects) for other in rects[k + 1 :])
