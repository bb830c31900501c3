"""Staging in the window by hand: typed numbers, balls from the tray, drags that put back what they pass, tips."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pygame
import pytest
from test_by_numbers import seen_from_above
from window import Driver

from tablesim.model.scenario import Scenario
from tablesim.resources import open_scenario
from tablesim.study.tips import tips_words
from tablesim.units import tips_from_offset
from tablesim.view.controls.fields import TextField

Open = Callable[..., Driver]
TWO = open_scenario("two-cues")
R = TWO.ball_set.diameter_m / 2.0


def laid_out(**balls: tuple[float, float]) -> Scenario:
    """The ready scenario with more balls, names with a leading letter."""
    return TWO.change(balls=TWO.balls | {name.removeprefix("b"): at for name, at in balls.items()})


def on_layout(open_window: Open, scenario: Scenario = TWO) -> Driver:
    """A window on the page of the layout."""
    w = open_window(scenario=scenario)
    w.app.open_page("Layout")
    w.settle()
    return w


def put(w: Driver, field: str, text: str) -> None:
    """Type a text into a field."""
    w.press(field)
    w.type(text)
    w.key(pygame.K_RETURN)


def shown_in(w: Driver, field: str) -> str:
    """What stands in a field."""
    found = w.control(field)
    assert isinstance(found, TextField)
    return found.shown()


@contextmanager
def held_down(mods: int) -> Iterator[None]:
    """Modifier keys held while the mouse is at work."""
    pygame.key.set_mods(mods)
    yield
    pygame.key.set_mods(0)


def test_a_shot_is_staged_by_typing(window: Open) -> None:
    w = on_layout(window)
    put(w, "staged distance", "2 ft")
    assert seen_from_above(w.scenario)[0] == pytest.approx(0.6096)
    assert seen_from_above(w.scenario)[1] == pytest.approx(seen_from_above(TWO)[1], abs=1e-6)
    put(w, "staged cut", "half ball right")
    assert seen_from_above(w.scenario) == pytest.approx((0.6096, -30.0))
    assert shown_in(w, "staged distance") == "0.61 m"
    assert shown_in(w, "staged cut") == "30° right"
    w.press("straight in")
    assert seen_from_above(w.scenario) == pytest.approx((0.6096, 0.0), abs=1e-9)
    for _ in range(3):
        w.key(pygame.K_z, pygame.KMOD_CTRL)
    assert w.scenario == TWO


def test_what_cannot_be_staged_says_what_would_do(window: Open) -> None:
    w = on_layout(window)
    w.app.settings.unit = "inch"
    put(w, "staged distance", "20")
    assert w.app.message_warns
    assert w.app.message.startswith(
        "20 ft from ball 3, a cut of 15° to the left: it would be off the bed; on that line"
    )
    put(w, "staged cut", "thin")
    assert "half ball or straight in; got 'thin'" in w.app.message
    assert w.scenario == TWO


def test_without_a_target_the_fields_say_so(window: Open) -> None:
    alone = TWO.change(target=None, takes=[], balls={"cue": (0.5, 0.5)})
    w = on_layout(window, alone)
    assert shown_in(w, "staged distance") == shown_in(w, "staged cut") == "no target ball"
    w.press("straight in")
    assert "names none" in w.app.message


def test_a_ball_dragged_from_the_tray_lies_where_it_is_let_go(window: Open) -> None:
    w = on_layout(window)
    place = w.table(0.7, 0.95)
    w.drag(w.control("ball 8").rect.center, place)
    at = w.scenario.balls["8"]
    assert at == pytest.approx(w.app.table.metres(place), abs=1e-9)
    assert w.app.editor.selected == "8"
    assert w.scenario.balls == TWO.balls | {"8": at}
    w.key(pygame.K_z, pygame.KMOD_CTRL)
    assert w.scenario == TWO
    assert "ball 8 added" in w.app.message


def test_what_the_panel_covers_is_no_table(window: Open) -> None:
    w = window(scenario=TWO, size=(640, 400))
    w.app.act("panel")
    w.app.open_page("Layout")
    w.settle()
    start, covered, seen = w.control("ball 8").rect.center, w.table(2.0, 0.3), w.table(0.4, 0.3)
    assert w.app.table.rect.collidepoint(covered)
    w.drag(start, covered)
    assert "8" not in w.scenario.balls
    w.drag(start, seen)
    assert w.scenario.balls["8"] == pytest.approx(w.app.table.metres(seen), abs=1e-9)


def test_a_ball_let_go_on_another_takes_its_place(window: Open) -> None:
    """The other one gives way no farther than it has to; in a rail it lies as near as it can."""
    w = on_layout(window)
    place = w.table(*TWO.balls["3"])
    w.drag(w.control("ball 8").rect.center, place)
    assert w.scenario.balls["8"] == pytest.approx(w.app.table.metres(place), abs=1e-9)
    assert math.dist(w.scenario.balls["3"], TWO.balls["3"]) < 2.2 * R
    w.drag(w.control("ball 9").rect.center, w.table(1.9, -0.05))
    assert w.scenario.balls["9"][1] == pytest.approx(TWO.nose_distance_m("9"), abs=1e-9)


def test_a_click_in_the_tray_puts_a_ball_where_there_is_room(window: Open) -> None:
    w = on_layout(window)
    w.press("ball 8")
    assert w.scenario.balls["8"] == pytest.approx((0.75 * 2.54, 0.635))
    w.press("ball cue")
    assert w.app.editor.selected == "cue"
    centre = w.control("ball 9").rect.center
    w.drag(centre, (centre[0] + 20, centre[1] + 300))  # let go on the panel: nothing
    assert "9" not in w.scenario.balls


def test_where_no_ball_has_room_it_is_said(window: Open) -> None:
    full = {f"x{k}": (0.4 + 0.07 * k, 1.0) for k in range(20)}
    w = on_layout(window, TWO.change(balls=TWO.balls | full))
    w.drag(w.control("ball 8").rect.center, w.table(0.7, 0.7))
    assert "8" not in w.scenario.balls
    assert "at most 22 balls" in w.app.message


def test_a_drag_past_a_ball_moves_it_for_a_while_only(window: Open) -> None:
    w = window(scenario=laid_out(b5=(1.0, 0.9)))
    before = w.scenario.balls
    w.move(w.table(*before["cue"]))
    w.drag(w.table(*before["cue"]), w.table(1.01, 0.93))
    shoved = w.scenario.balls["5"]
    assert shoved != before["5"]
    w.key(pygame.K_z, pygame.KMOD_CTRL)
    assert w.scenario.balls == before
    w.drag(w.table(*before["cue"]), w.table(1.06, 1.1), steps=40)
    assert w.scenario.balls == before | {"cue": w.scenario.balls["cue"]}
    w.key(pygame.K_z, pygame.KMOD_CTRL)
    assert w.scenario.balls == before


def test_ctrl_draws_a_dragged_ball_to_sights_and_lines(window: Open) -> None:
    w = window()
    with held_down(pygame.KMOD_CTRL):
        w.drag(w.table(*TWO.balls["cue"]), w.table(0.65, 0.62))
    assert w.scenario.balls["cue"] == pytest.approx((2.54 / 4.0, 1.27 / 2.0))
    mouth = TWO.table.edge.mouths[3][:2]
    line = [TWO.balls["3"][k] - 0.7 * (mouth[k] - TWO.balls["3"][k]) for k in (0, 1)]
    with held_down(pygame.KMOD_CTRL):
        w.drag(w.table(*w.scenario.balls["cue"]), w.table(line[0], line[1] + 0.01))
    assert seen_from_above(w.scenario)[1] == pytest.approx(0.0, abs=1e-6)
    w.drag(w.table(*w.scenario.balls["cue"]), w.table(0.65, 0.62))
    assert w.scenario.balls["cue"] != pytest.approx((2.54 / 4.0, 1.27 / 2.0), abs=1e-3)


def tips_told(w: Driver) -> tuple[float, float]:
    """The tip's offset in tips."""
    cue, tip = w.scenario.cue_of(w.take), w.take.tip
    right, up = (tips_from_offset(o, R, cue.tip_radius_m, cue.tip_diameter_m) for o in (tip.right, tip.up))
    return right, up


def test_half_and_quarter_tips_by_key(window: Open) -> None:
    w = window()
    w.key(pygame.K_x)
    w.key(pygame.K_a, pygame.KMOD_SHIFT)
    assert tips_told(w) == pytest.approx((-0.5, 0.0), abs=1e-4)
    assert any(words.startswith("half a tip left english, 3") for words, _ in w.written())
    w.key(pygame.K_a, pygame.KMOD_ALT)
    w.key(pygame.K_w, pygame.KMOD_ALT)
    assert tips_told(w) == pytest.approx((-0.75, 0.25), abs=1e-4)
    w.key(pygame.K_d, pygame.KMOD_SHIFT)  # to the next half on the right
    assert tips_told(w) == pytest.approx((-0.5, 0.25), abs=1e-4)
    w.key(pygame.K_d)  # a fine step
    assert -0.5 < tips_told(w)[0] < -0.4
    assert any("% left english, a quarter tip high" in words for words, _ in w.written())
    w.key(pygame.K_d, pygame.KMOD_ALT)
    w.key(pygame.K_s, pygame.KMOD_SHIFT)
    assert tips_told(w) == pytest.approx((-0.25, 0.0), abs=1e-4)
    for _ in range(3):
        w.key(pygame.K_d, pygame.KMOD_SHIFT)
    assert tips_told(w) == pytest.approx((1.0, 0.0), abs=1e-4)


def test_a_tip_beyond_the_ball_is_refused(window: Open) -> None:
    w = window()
    for _ in range(12):
        w.key(pygame.K_w, pygame.KMOD_SHIFT)
    assert w.app.message_warns
    assert w.take.tip.offset < 1.0


@pytest.mark.parametrize(("tips", "words"), [
    (0.0, None), (0.25, "a quarter tip"), (-0.5, "half a tip"), (0.75, "three quarters of a tip"), (1.0, "one tip"),
    (-1.5, "1.5 tips"), (0.26, None), (0.504, "half a tip"), (0.12, None),
])  # fmt: skip
def test_tips_in_words(tips: float, words: str | None) -> None:
    assert tips_words(tips) == words
