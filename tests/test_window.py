"""The window from end to end: real input events, the picture they make, the file they leave."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from conftest import known
from window import Driver, page_over

from tablesim.model.scenario import load, to_json
from tablesim.study.correct import correct
from tablesim.study.explain import explain
from tablesim.study.predict import predict
from tablesim.units import number_of
from tablesim.view.answers.steps import ANSWERS, EXPLANATION
from tablesim.view.controls.widgets import Button
from tablesim.view.pages.file_page import FilePage
from tablesim.view.pages.overlays import Help, More

Open = Callable[..., Driver]


def strike_otherwise(w: Driver) -> None:
    """Another aim, contact point, pace and cue, by hand."""
    before = w.app.editor.heading
    w.drag(w.table(1.3, 0.3), w.table(1.3, 0.35))
    assert w.take.aim.heading_deg is not None
    assert w.app.editor.heading != before
    face = w.control("tip face").rect
    w.drag(face.center, (face.centerx - 25, face.centery + 10))
    assert w.take.tip.right < -0.2
    assert w.take.tip.up < 0.0
    ruler = w.control("pace ruler").rect
    w.click((ruler.x + 3 * ruler.w // 4, ruler.y + 34))
    assert w.take.pace_m_s > 3.0
    cue = w.control("cue").rect
    w.click((cue.right - 10, cue.centery))
    assert w.take.cue == "wood"


def test_place_aim_strike_correct_undo_save_and_reload(window: Open, tmp_path: Path) -> None:
    """The whole way of a person through the window; the file says what the screen says."""
    w = window()
    ball = w.scenario.balls["3"]
    w.drag(w.table(*ball), w.table(1.60, 0.60))
    assert math.dist(w.scenario.balls["3"], (1.60, 0.60)) < 0.004

    w.click(w.table(2.54, 0.0))
    assert w.scenario.target.pocket == "foot-right"
    w.click(w.table(2.54, 1.27))
    assert w.scenario.target.pocket == "foot-left"

    strike_otherwise(w)

    w.settle()
    w.press("use correction")
    w.settle()
    assert known(w.findings[ANSWERS][0].aimed).target.outcome == "potted"

    steps = 0
    while w.app.document.can_undo:
        w.key(pygame.K_z, pygame.KMOD_CTRL)
        steps += 1
    assert 7 <= steps <= 9  # each movement of the hand is one step
    assert w.scenario.balls["3"] == ball
    for _ in range(steps):
        w.key(pygame.K_y, pygame.KMOD_CTRL)

    file = tmp_path / "mine.json"
    w.key(pygame.K_s, pygame.KMOD_CTRL)
    assert isinstance(w.app.overlay, FilePage)
    w.app.overlay.field.begin()
    w.app.overlay.field.typed(str(file))
    w.key(pygame.K_RETURN)
    assert not w.app.document.unsaved
    assert load(file) == w.scenario
    assert to_json(load(file)) == file.read_text(encoding="utf-8")

    told = explain(load(file), w.take.name)[0]
    w.settle()
    w.app.settings.details = True  # few numbers leave the pace's out
    assert w.app.parts.strip.reading_text() == told.reading
    assert w.findings[EXPLANATION] == told


def test_the_window_shows_what_predict_and_correct_say(window: Open) -> None:
    w = window()
    for index, take in enumerate(w.scenario.takes):
        w.app.editor.choose(index)
        w.settle()
        answer = w.findings[ANSWERS][index]
        assert answer.correction == correct(w.scenario, take.name)[0]
        said, shown = predict(w.scenario, take.name)[0], answer.aimed
        assert shown is not None
        assert (shown.contact, shown.target, shown.cue_ball) == (said.contact, said.target, said.cue_ball)


def test_shoved_balls_never_overlap_and_clicking_picks_the_target(window: Open) -> None:
    w = window(scenario="opening-break")
    names = set(w.scenario.balls)
    w.drag(w.table(*w.scenario.balls["cue"]), w.table(1.95, 0.635), steps=30)
    assert set(w.scenario.balls) == names  # the scenario itself refuses overlaps
    w.click(w.table(*w.scenario.balls["8"]))
    assert w.scenario.target.ball == "8"


def test_what_if_softer_leaves_a_trace_until_escape(window: Open) -> None:
    w = window()
    old = w.scenario
    for _ in range(4):
        w.key(pygame.K_MINUS, 0, "-")
    assert w.take.pace_m_s == pytest.approx(old.takes[0].pace_m_s - 0.2)
    assert w.app.editor.former is not None
    assert w.app.editor.former.scenario == old  # the shot before the first of the four steps
    w.key(pygame.K_ESCAPE)
    assert w.app.editor.former is None


def test_every_key_of_the_help_does_something(window: Open) -> None:
    """Keys change what they say they change, and nothing fires while typing."""
    w = window()
    changes: dict[int, Callable[[], object]] = {
        pygame.K_d: lambda: w.take.tip.right, pygame.K_w: lambda: w.take.tip.up, pygame.K_PLUS: lambda: w.take.pace_m_s,
        pygame.K_r: lambda: w.take.elevation_deg, pygame.K_k: lambda: w.take.cue, pygame.K_j: lambda: w.take.stroke,
        pygame.K_LEFT: lambda: w.app.editor.heading, pygame.K_n: lambda: w.app.editor.chosen,
        pygame.K_t: lambda: len(w.scenario.takes), pygame.K_p: lambda: w.scenario.target.pocket,
        pygame.K_INSERT: lambda: len(w.scenario.balls), pygame.K_l: lambda: w.app.editor.shown.growth,
        pygame.K_m: lambda: w.app.editor.shown.growth, pygame.K_c: lambda: w.app.editor.shown.corrected,
        pygame.K_i: lambda: w.app.settings.details, pygame.K_v: lambda: w.app.settings.look,
        pygame.K_F2: lambda: w.app.parts.page, pygame.K_F4: lambda: w.app.parts.panel_on,
        pygame.K_b: lambda: w.app.editor.selected,
    }  # fmt: skip
    for code, value in changes.items():
        before = value()
        w.key(code)
        assert value() != before, pygame.key.name(code)

    w.key(pygame.K_F4)
    scenario = w.scenario
    w.press("title")
    w.type("jab two k")
    assert w.scenario == scenario
    w.key(pygame.K_RETURN)
    assert w.scenario.title == "jab two k"
    w.press("title")
    w.type("xyz")
    w.key(pygame.K_ESCAPE)
    assert w.scenario.title == "jab two k"


def test_a_text_has_a_caret_and_lets_commands_through(window: Open, tmp_path: Path) -> None:
    w = window()
    w.app.document.save(tmp_path / "x.json")
    w.press("title")
    w.type("abcdef")
    for _ in range(3):
        w.key(pygame.K_LEFT)
    w.type("x")
    w.key(pygame.K_HOME)
    w.key(pygame.K_DELETE)
    w.key(pygame.K_END)
    w.key(pygame.K_BACKSPACE)
    w.key(pygame.K_s, pygame.KMOD_CTRL)
    assert w.scenario.title == "bcxde"
    assert load(tmp_path / "x.json").title == "bcxde"


def test_numbers_as_people_write_them() -> None:
    assert [number_of(t) for t in ("3.5", "3,5", "3 1/2", "7/2", "3½", " −3.5 ")] == [
        3.5,
        3.5,
        3.5,
        3.5,
        3.5,
        -3.5,
    ]
    assert all(math.isnan(number_of(t)) for t in ("", "a", "1/0", "1 2", "1 2 3", "nan?"))


def test_other_modifiers_do_nothing(window: Open) -> None:
    w = window()
    scenario = w.scenario
    w.key(pygame.K_UP, pygame.KMOD_ALT)
    w.key(pygame.K_d, pygame.KMOD_META)
    assert w.scenario == scenario


def test_what_a_small_window_has_no_room_for_is_behind_more(window: Open) -> None:
    w = window(size=(640, 400))
    w.app.settings.scale = 1.5
    w.app.restyle()
    w.settle()
    shown = {b.key for b in w.app.parts.bar.buttons if b.rect.w > 0}
    assert "more" in shown
    w.press("more")
    offered = {c.key for c in page_over(w, More).widgets}
    every = {b.text() for b in w.app.parts.bar.buttons if isinstance(b, Button) and b.key not in shown}
    assert every <= offered
    w.press("Take: wood, hard")
    assert w.take.name == "wood, hard"


def test_tab_reaches_every_control_and_keys_work_it(window: Open) -> None:
    w = window()
    reached = set()
    for _ in range(60):
        w.key(pygame.K_TAB)
        reached.add(known(w.app.ui.focus).key)
    assert reached == {c.key for c in w.app.parts.controls() if c.focusable}
    w.app.focus_on(w.control("tip face"))
    w.key(pygame.K_RIGHT)
    w.key(pygame.K_HOME)
    assert w.take.tip.offset == 0.0
    w.app.focus_on(w.control("butt"))
    before = w.take.elevation_deg
    w.key(pygame.K_RIGHT)
    assert w.take.elevation_deg == before + 0.5


def test_arrows_nudge_the_selected_ball_as_seen(window: Open) -> None:
    w = window()
    w.click(w.table(*w.scenario.balls["cue"]))
    x, y = w.scenario.balls["cue"]
    w.key(pygame.K_RIGHT)
    w.key(pygame.K_UP, pygame.KMOD_SHIFT)
    assert w.scenario.balls["cue"] == pytest.approx((x + 0.001, y + 0.010), abs=1e-9)
    w.key(pygame.K_z)  # freeze it to the 3
    assert math.dist(w.scenario.balls["cue"], w.scenario.balls["3"]) == pytest.approx(0.05715, abs=2e-6)


def test_exact_positions_in_three_units(window: Open) -> None:
    w = window()
    w.app.open_page("Layout")
    w.app.frame()
    for unit, text, metres in (
        ("mm", "500", 0.5),
        ("inch", "30", 0.762),
        ("diamond", "2", 0.635),
        ("mm", "2 1/2 diamonds", 0.79375),
        ("inch", "400mm", 0.4),
    ):
        w.app.settings.unit = unit
        w.app.restyle()
        w.app.frame()
        w.press("position 0")
        w.type(text)
        w.key(pygame.K_RETURN)
        assert w.scenario.balls["cue"][0] == pytest.approx(metres, abs=1e-9)
    w.press("position 0")
    w.type("999")
    w.key(pygame.K_RETURN)
    assert "must be a number from" in w.app.message
    assert w.scenario.balls["cue"][0] == pytest.approx(0.4)


def test_takes_are_shown_together_chosen_added_and_removed(window: Open) -> None:
    w = window()
    rows = w.control("takes").rect
    w.click((rows.x + 10, rows.y + 60))  # the box of the third
    w.settle()
    assert list(w.findings[ANSWERS]) == [0, 2]
    w.click((rows.x + 120, rows.y + 60))
    assert w.app.editor.chosen == 2
    count = len(w.scenario.takes)
    w.press("new take")
    assert len(w.scenario.takes) == count + 1
    assert w.app.editor.chosen == count
    w.press("remove take")
    assert len(w.scenario.takes) == count


def test_marks_are_added_dragged_and_named(window: Open) -> None:
    w = window()
    w.app.open_page("Layout")
    w.app.frame()
    w.press("add zone")
    w.app.frame()
    w.press("mark text")
    w.type("stop")
    w.key(pygame.K_RETURN)
    at = w.scenario.marks[0].at
    w.drag(w.table(*at), w.table(0.5, 1.0))
    assert w.scenario.marks[0].at == pytest.approx((0.5, 1.0), abs=0.004)
    assert w.scenario.marks[0].text == "stop"
    w.key(pygame.K_DELETE)
    assert w.scenario.marks == []


def test_marks_move_by_keys(window: Open) -> None:
    w = window()
    w.app.editor.add_mark("arrow", "this way")
    mark = w.scenario.marks[0]
    w.app.editor.select()
    for _ in range(3):
        w.key(pygame.K_b)
    assert w.app.editor.mark == 0
    w.key(pygame.K_RIGHT, pygame.KMOD_SHIFT)
    assert w.scenario.marks[0].at == pytest.approx((mark.at[0] + 0.01, mark.at[1]))
    assert w.scenario.marks[0].to == pytest.approx((mark.to[0] + 0.01, mark.to[1]))


@pytest.mark.parametrize("size", [(640, 400), (320, 240), (1600, 900)])
def test_every_size_and_scale_can_be_drawn(window: Open, size: tuple[int, int]) -> None:
    w = window(size=size)
    for scale in (1.0, 2.0):
        w.app.settings.scale = scale
        w.app.restyle()
        for action in ("page", "page", "page", "details", "help", "back", "open", "back", "growth", "look", "panel"):
            w.app.act(action)
            w.app.frame()
    assert not isinstance(w.app.overlay, Help)


def test_british_words(window: Open) -> None:
    w = window()
    assert "english" in w.app.ui.say(w.app.parts.strip.reading_text())
    w.app.settings.british = True
    w.app.restyle()
    said = w.app.ui.say(w.app.parts.strip.reading_text())
    assert "english" not in said
    assert said.startswith("Left side at soft pace")


def test_few_numbers_by_default(window: Open) -> None:
    """At most three numbers besides those on the balls: in the words under the face and in the reading."""
    w = window()
    controls = [c for c in w.app.parts.widgets if callable(getattr(c, "text", None))]
    texts = [w.app.parts.strip.reading_text(), *(c.text() for c in controls)]  # type: ignore[attr-defined]
    numbers = [n for text in texts for n in re.findall(r"\d+(?:\.\d+)?", text)]
    assert 1 <= len(numbers) <= 3


def test_a_small_window_keeps_the_take_in_sight(window: Open) -> None:
    """Where the list has no room: the chosen take, how many there are, and a way to the others."""
    w = window(size=(640, 400))
    assert w.app.parts.strip.results.rect.w == 0
    chooser = w.control("take")
    assert not chooser.rect.colliderect(w.control("reading").rect)
    assert {w.take.name, "1 of 6"} <= set(dict(w.written()))
    w.click((chooser.rect.right - 8, chooser.rect.centery))
    assert w.app.editor.chosen == 1
    w.key(pygame.K_LEFT)
    w.key(pygame.K_LEFT)
    assert w.app.editor.chosen == 5
    assert "6 of 6" in dict(w.written())
    alone = window(scenario=w.scenario.change(takes=w.scenario.takes[:1]), size=(640, 400))
    assert "take" not in [control.key for control in alone.app.parts.controls()]
    large = window()
    assert "take" not in [control.key for control in large.app.parts.controls()]
