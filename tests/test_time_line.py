"""The line of time, the speeds at which it is played, and what is kept of them."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pygame
import pytest
from window import Driver

from tablesim.model.lesson import Lesson, Scene, lesson_from_json, lesson_to_json
from tablesim.output.timing import NEAR_S, Timing
from tablesim.study.prediction import EventFinding
from tablesim.study.went import event_label
from tablesim.view.document.places import Settings
from tablesim.view.document.tempo import CONTACT_SPEED, Tempo, kept_speed, kept_tempo, remember_tempo, usual_tempo
from tablesim.view.table.playback import SPEEDS, Player
from tablesim.view.table.time_line import BEFORE_SHARE, Stretch, Tick, named_ticks

Open = Callable[..., Driver]


@pytest.mark.parametrize("contact", [None, 0.0, 0.001, 0.2, 1.9, 2.0, 2.1, 4.0, 9.0])
def test_time_and_place_on_the_line_are_each_others_inverse(contact: float | None) -> None:
    """Up to the ends, and never backwards."""
    line = Stretch(contact, 4.0)
    times = [0.04 * k for k in range(101)]
    shares = [line.share(t) for t in times]
    assert shares[0] == 0.0
    assert shares[-1] == pytest.approx(1.0)
    assert all(a < b for a, b in pairwise(shares))
    assert [line.time(share) for share in shares] == pytest.approx(times)
    assert (line.share(-1.0), line.share(9.0)) == (0.0, 1.0)
    assert [line.time(-1.0), line.time(2.0)] == pytest.approx([0.0, 4.0])


def test_half_of_the_line_is_for_what_comes_before_the_contact() -> None:
    assert Stretch(0.2, 4.0).share(0.2) == BEFORE_SHARE == 0.5
    assert Stretch(3.0, 4.0).share(3.0) == 0.75  # it is not squeezed
    assert Stretch(None, 4.0).share(1.0) == 0.25
    assert Stretch(None, 0.0).share(0.0) == 0.0


def test_names_at_ticks_do_not_meet() -> None:
    """Contacts first; within the line; what has no room is left out."""
    ticks = [Tick(0, 40, 2), Tick(100, 60, 1), Tick(110, 60, 0), Tick(400, 80, 2), Tick(200, 900, 0)]
    placed = named_ticks(ticks, (0, 420), 10)
    assert placed == {2: 80, 0: 0, 3: 340}
    assert named_ticks([Tick(5, 50, 0)], (0, 40), 10) == {}


def test_events_in_short() -> None:
    def label(what: str, balls: tuple[str, ...], where: str | None = None) -> str:
        return event_label(EventFinding(1.0, what, balls, where, (0.0, 0.0)))

    assert label("meets", ("cue", "3")) == "meets 3"
    assert label("meets", ("3", "8")) == "3 meets 8"
    assert label("cushion", ("cue",), "left rail") == "left rail"
    assert label("potted", ("3",), "foot-left") == "3 drops"
    assert label("spin ends", ("cue",)) == "spin ends"


@pytest.mark.parametrize("contacts", [(), (0.02,), (0.5,), (0.5, 0.6), (0.3, 1.2)])
def test_time_runs_as_its_speeds_say(contacts: tuple[float, ...]) -> None:
    """In one go or in many small steps, across all changes."""
    timing = Timing(0.5, 0.05, contacts, 0.0, 3.0)
    at, t = 0.0, 0.0
    for _ in range(400):
        t = timing.after(t, 0.01)
        at += 0.01
        assert t == pytest.approx(timing.after(0.0, at), abs=1e-9)
    small = 0.0
    for _ in range(40000):
        near = any(c - NEAR_S[0] <= small < c + NEAR_S[1] for c in contacts)
        small += 0.0001 * (0.05 if near else 0.5)
    assert t == pytest.approx(small, abs=1e-3)  # each change is met up to a step late


# --- what is kept


def test_the_settings_name_a_speed_or_full_speed() -> None:
    for text, speed in (("1", 1.0), ("1/20", 0.05), ("1/50", 0.02), ("1/51", 1.0), ("2", 1.0), ("0", 1.0), ("x", 1.0)):
        assert usual_tempo(Settings(speed=text)) == Tempo(speed)
    for text in ("1/0", "", "-1/2", "1e999"):
        assert usual_tempo(Settings(speed=text)) == Tempo()
    settings = Settings()
    for speed in SPEEDS:
        for slow in (None, CONTACT_SPEED):
            remember_tempo(settings, Tempo(speed, slow))
            assert usual_tempo(settings) == Tempo(speed, slow)


def test_a_scene_says_only_what_is_new() -> None:
    """A lesson without new wishes can be read by what knows none."""
    plain = Scene(file="two-cues", speed=kept_speed(Tempo()))
    assert "speed" not in lesson_to_json(Lesson(scenes=[plain]))
    assert kept_tempo(plain) is None
    slow = Scene(file="two-cues", speed=0.2, contact_speed=0.05)
    (back,) = lesson_from_json(lesson_to_json(Lesson(scenes=[slow]))).scenes
    assert kept_tempo(back) == Tempo(0.2, 0.05)
    assert kept_tempo(Scene(file="two-cues", contact_speed=0.05)) == Tempo(1.0, 0.05)


@pytest.mark.parametrize("field", ["speed", "contact_speed"])
def test_speeds_of_a_scene_have_bounds(field: str) -> None:
    for value in (0.02, 1.0):
        assert getattr(Scene.model_validate({"file": "two-cues", field: value}), field) == value
    for value in (0.0199, 1.01, -0.5):
        with pytest.raises(ValueError, match=field):
            Scene.model_validate({"file": "two-cues", field: value})


def player_of(w: Driver) -> Player:
    """The playing, which is on."""
    assert w.app.table.player is not None
    return w.app.table.player


def test_a_scene_is_played_as_it_was_kept(window: Open) -> None:
    """What it has of its own; else as the person plays, whose speed the scene leaves alone."""
    w = window()
    w.app.act("keep")
    w.key(pygame.K_SPACE)
    for _ in range(3):
        w.press("slower")
    w.press("slow contact")
    w.app.stop_playing()
    w.app.editor.set_pace(2.0)
    w.app.act("keep")
    kept = w.app.book.lesson.scenes
    assert [(s.speed, s.contact_speed) for s in kept] == [(None, None), (0.1, CONTACT_SPEED)]
    w.key(pygame.K_SPACE)
    w.press("faster")  # for now, in this scene
    w.app.stop_playing()
    assert (w.app.book.tempo, w.app.settings.speed) == (Tempo(0.2, CONTACT_SPEED), "1/10")
    w.app.settings.speed, w.app.settings.slow_contact = "1/2", False
    for at, speed, slow in ((0, 0.5, None), (1, 0.1, CONTACT_SPEED), (0, 0.5, None)):
        w.app.book.show(at)
        w.settle()
        w.app.act("play")
        assert (SPEEDS[player_of(w).speed], player_of(w).contact_speed) == (speed, slow)
        w.app.stop_playing()


def test_slow_at_the_contact_only(window: Open) -> None:
    w = window()
    w.key(pygame.K_SPACE)
    w.press("slow contact")
    player = player_of(w)
    contact = min(player.contacts())
    player.go_to(contact - NEAR_S[0] - 0.02)
    player.start()
    seen = [player.time]
    for _ in range(300):
        w.now += 0.01
        w.app.frame()
        seen.append(player.time)
    steps = [(a, b - a) for a, b in pairwise(seen)]
    assert {round(step, 6) for t, step in steps if contact - NEAR_S[0] <= t < contact + NEAR_S[1] - 0.001} == {0.0005}
    assert round(steps[0][1], 6) == 0.01
    w.app.stop_playing()
    assert w.app.places.settings().slow_contact


@pytest.mark.parametrize("size", [(640, 400), (800, 600), (1280, 800), (1920, 1080), (700, 1100)])
@pytest.mark.parametrize("several", [False, True])
def test_the_table_stays_where_it_is_while_it_is_played(window: Open, size: tuple[int, int], several: bool) -> None:
    """To the pixel, with one take and with all, in the window and in a lesson shown."""
    w = window(size=size)
    if several:
        w.app.act("show_all")
    w.app.act("keep")
    for showing in (False, True):
        w.app.book.showing = showing
        w.app.dirty = True
        w.settle()
        rest = w.app.table.rect.copy(), w.table(1.0, 0.5)
        w.app.act("play")
        w.now += 0.01
        w.app.frame()
        assert (w.app.table.rect, w.table(1.0, 0.5)) == rest
        bar = w.app.play_bar
        assert bar is not None
        for control in (c for c in bar.widgets() if c.rect.w):
            assert w.app.surface.get_rect().contains(control.rect)
            assert not control.rect.colliderect(w.app.table.rect)
        assert w.control("time").rect.w > 60
        w.app.stop_playing()


def test_the_line_has_a_lane_a_take_and_goes_where_it_is_pressed(window: Open) -> None:
    w = window()
    w.app.act("show_all")
    w.settle()
    w.app.act("play")
    w.app.frame()
    assert len(w.app.parts.desk.play_bar.track.lanes) == 6  # type: ignore[union-attr]
    player, line = player_of(w), w.control("time").rect
    player.pause()
    w.click((line.x + 60, line.centery))
    early = player.time
    assert 0.0 < early < min(player.contacts())  # a click near the left is before the contact
    w.click((line.right - 80, line.centery))
    assert player.time > 0.8 * player.duration
    assert "meets 3" in dict(w.written())
    w.key(pygame.K_HOME)
    assert player.time == 0.0
