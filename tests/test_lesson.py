"""Playback and lessons: played in step, kept in order, saved whole, shown scene by scene."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from conftest import known
from window import Driver, page_over

from tablesim.errors import ScenarioError, TablesimError
from tablesim.model.lesson import (
    Lesson,
    Scene,
    is_lesson,
    lesson_from_json,
    lesson_to_json,
    load_lesson,
    save_lesson,
)
from tablesim.model.scenario import load, save
from tablesim.resources import open_scenario, scenario_of
from tablesim.scene.contact import contact_of
from tablesim.scene.spin import spin_ratio
from tablesim.study.predict import predict_take
from tablesim.view.pages.file_page import FilePage
from tablesim.view.pages.overlays import QuestionPage

Open = Callable[..., Driver]


def test_playing_runs_by_the_clock_and_stops_at_rest(window: Open) -> None:
    w = window()
    w.key(pygame.K_SPACE)
    player = w.app.table.player
    assert player is not None
    assert player.playing
    for _ in range(10):
        w.now += 0.03
        w.app.frame()
    assert player.time == pytest.approx(0.3, abs=0.06)
    w.key(pygame.K_LEFTBRACKET)
    before = player.time
    w.now += 0.04
    w.app.frame()
    assert player.time - before == pytest.approx(0.02, abs=1e-6)  # half speed
    w.key(pygame.K_END)
    assert player.time == player.duration == pytest.approx(max(p.duration_s for p in player.plays().values()))
    w.key(pygame.K_ESCAPE)
    assert w.app.table.player is None


def test_stepping_goes_from_event_to_event_and_shows_the_contact(window: Open) -> None:
    w = window()
    w.key(pygame.K_SPACE)
    player = w.app.table.player
    assert player is not None
    player.go_to(0.0)
    events = known(player.track()).events
    seen = []
    for _ in range(4):
        w.key(pygame.K_PERIOD)
        seen.append(player.time)
    assert seen == sorted({e.time for e in events})[:4]
    contact = next(e for e in events if e.kind == "ball")
    player.go_to(contact.time)
    assert player.contact() is contact
    w.app.dirty = True
    w.app.frame()
    w.key(pygame.K_COMMA)
    assert player.time < contact.time


def test_takes_play_together_and_corrected_ones_pot(window: Open) -> None:
    w = window()
    w.app.editor.show_all()
    w.settle()
    w.key(pygame.K_SPACE)
    player = w.app.table.player
    assert player is not None
    assert set(player.plays()) == set(range(6))
    w.press("which")
    assert all(p.target.outcome == "potted" for p in player.plays().values())


def test_the_enlarged_contact_says_what_predict_says() -> None:
    for name in ("two-cues", "throw-at-thirty", "straight-in-with-english"):
        scenario = open_scenario(name)
        for take in scenario.takes:
            found = predict_take(scenario, take)
            assert found.track is not None
            assert found.contact is not None
            event = next(e for e in found.track.events if e.kind == "ball")
            assert contact_of(scenario, event).throw_deg == pytest.approx(found.contact.throw_deg, abs=1e-9)


def test_spin_to_speed_at_the_strike_is_the_trades_figure() -> None:
    """R w / v = (5/2) s at the contact offset s (rigid-body impulse), less 4 % as this shaft's end gives way.

    The bed slows the ball in the strike by its friction times the tangent of the butt.
    """
    scenario = open_scenario("two-cues")
    take = scenario.takes[2]
    found = predict_take(scenario, take)
    ratio = spin_ratio(found, scenario.ball_set.radius_m("cue"), 0.0)
    butt = math.radians(known(take.elevation_deg))
    slowed = 1.0 - scenario.cloth.sliding_friction * math.tan(butt)
    assert ratio == pytest.approx(2.5 * take.tip.right * math.cos(butt) * 0.957 / slowed, rel=0.005)


def test_a_lesson_is_kept_edited_undone_saved_and_shown(window: Open, tmp_path: Path) -> None:
    w = window()
    w.app.open_page("Lesson")
    w.app.frame()
    w.press("keep")
    w.app.editor.choose(2)
    w.key(pygame.K_l)
    w.key(pygame.K_k, pygame.KMOD_CTRL)
    book = w.app.book
    assert [s.off_the_line for s in book.lesson.scenes] == [0, 5]
    w.app.frame()
    w.press("caption")
    w.type("grows")
    w.key(pygame.K_RETURN)
    w.press("scene copy")
    w.press("scene up")
    assert book.lesson.scenes[0].caption == w.scenario.title
    assert len(book.lesson.scenes) == 3
    w.press("scene remove")
    w.key(pygame.K_z, pygame.KMOD_CTRL)
    assert len(book.lesson.scenes) == 3

    file = tmp_path / "course.json"
    w.press("save lesson")
    field = page_over(w, FilePage).field
    field.begin()
    field.typed(str(file))
    w.key(pygame.K_RETURN)
    assert load_lesson(file) == book.lesson
    assert not w.app.document.lesson_unsaved

    w.key(pygame.K_F5)
    assert book.showing
    book.show(0)
    w.key(pygame.K_RIGHT)
    assert book.place == 1
    w.settle()
    assert w.app.editor.shown.growth == 5
    w.key(pygame.K_RIGHT)
    w.key(pygame.K_RIGHT)
    assert book.place == 2
    w.key(pygame.K_HOME)
    assert book.place == 0
    w.key(pygame.K_END)
    assert book.place == 2
    w.key(pygame.K_ESCAPE)
    assert not book.showing


def test_an_unsaved_lesson_holds_the_window_back(window: Open) -> None:
    w = window()
    w.app.book.keep()
    w.send(pygame.Event(pygame.QUIT))
    assert isinstance(w.app.overlay, QuestionPage)
    assert "lesson" in w.app.overlay.text


def test_a_missing_file_in_a_lesson_leaves_the_rest(window: Open, tmp_path: Path) -> None:
    file = tmp_path / "course.json"
    lesson = Lesson(scenes=[Scene(file="gone.json"), Scene(caption="ready", file="throw-at-thirty")])
    save_lesson(lesson, file)
    assert is_lesson(file)
    w = window()
    w.send(pygame.Event(pygame.DROPFILE, file=str(file)))
    assert "gone.json" in w.app.message or "Lesson opened" in w.app.message
    w.app.guard(lambda: w.app.book.show(0))
    assert "gone.json" in w.app.message
    assert "can still be shown" in w.app.message
    w.app.book.show(1)
    assert w.scenario == open_scenario("throw-at-thirty")
    with pytest.raises(TablesimError, match="cannot be read"):
        scenario_of(lesson.scenes[0], tmp_path)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('{"tablesim_lesson": 2}', "newer version"),
        ('{"tablesim_lesson": 1, "scenes": [{"caption": "x"}]}', "either a 'scenario' or a 'file'"),
        ('{"tablesim_lesson": 1, "sceens": []}', "did you mean 'scenes'"),
        ('{"tablesim_lesson": 1, "scenes": [{"file": "a", "off_the_line": 99}]}', "off_the_line"),
        ("[]", "JSON object"),
        ("{", "not JSON"),
    ],
)
def test_bad_lessons(text: str, message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        lesson_from_json(text)


def test_a_lesson_comes_back_as_it_was() -> None:
    lesson = Lesson(
        title="Ünïcode – “quotes”", scenes=[Scene(caption="a", scenario=open_scenario("two-cues"), take="wood, soft")]
    )
    assert lesson_from_json(lesson_to_json(lesson)) == lesson


def test_showing_a_scene_never_overwrites_the_file_that_was_open(window: Open, tmp_path: Path) -> None:
    drill, course = tmp_path / "drill.json", tmp_path / "course.json"
    save(open_scenario("throw-at-thirty"), drill)
    save_lesson(Lesson(scenes=[Scene(caption="one", scenario=open_scenario("two-cues"))]), course)
    w = window()
    w.send(pygame.Event(pygame.DROPFILE, file=str(drill)))
    w.send(pygame.Event(pygame.DROPFILE, file=str(course)))
    assert w.scenario == open_scenario("two-cues")
    assert w.app.document.path is None
    assert not w.app.document.unsaved
    w.key(pygame.K_s, pygame.KMOD_CTRL)  # saves what is open: the lesson
    assert w.app.overlay is None
    assert w.app.message == "Saved course.json"
    assert load(drill) == open_scenario("throw-at-thirty")
    w.key(pygame.K_z, pygame.KMOD_CTRL)
    assert w.scenario == open_scenario("throw-at-thirty")
    assert w.app.document.path == drill


def test_a_lesson_is_recovered_after_a_crash(window: Open, tmp_path: Path) -> None:
    w = window()
    w.app.book.keep()
    w.app.book.title("grows with distance")
    w.now += 10.0
    w.app.frame()
    w.now += 10.0
    w.app.frame()
    kept = w.app.places.unsaved_file
    kept.rename(kept.with_name("unsaved-999999999.json"))
    again = window()
    again.press("Recover it")
    assert again.app.document.lesson.title == "grows with distance"
    assert again.app.document.lesson_unsaved


def test_return_and_escape_give_the_keys_back(window: Open) -> None:
    w = window()
    for last in (pygame.K_RETURN, pygame.K_ESCAPE):
        w.press("title")
        w.type("ab")
        w.key(last)
        title = w.scenario.title
        takes = len(w.scenario.takes)
        w.key(pygame.K_t, 0, "t")
        assert w.scenario.title == title
        assert len(w.scenario.takes) == takes + 1


def test_choosing_a_shown_take_keeps_the_comparison(window: Open) -> None:
    w = window()
    w.app.editor.choose(5)
    w.app.editor.toggle_shown(2)
    w.app.editor.choose(2)
    assert {w.app.editor.chosen, *w.app.editor.shown.takes} == {2, 5}


def test_opening_another_file_ends_the_playing(window: Open, tmp_path: Path) -> None:
    save(open_scenario("throw-at-thirty"), tmp_path / "x.json")
    w = window()
    w.key(pygame.K_SPACE)
    w.send(pygame.Event(pygame.DROPFILE, file=str(tmp_path / "x.json")))
    assert w.app.table.player is None


def test_a_lesson_is_opened_at_the_scene_named(window: Open, tmp_path: Path) -> None:
    file = tmp_path / "course.json"
    save_lesson(Lesson(scenes=[Scene(file="two-cues"), Scene(file="throw-at-thirty")]), file)
    w = window()
    w.app.files.open_lesson(file, 1)
    assert w.app.book.place == 1
    assert w.scenario == open_scenario("throw-at-thirty")
