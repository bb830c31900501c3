"""Stills: the whole scene as PNG and SVG, the same as in the window, and how balls have turned."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pygame
import pytest
from conftest import RADIUS, layout, setup_for
from PIL import Image
from window import Driver

from tablesim.errors import TablesimError
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Mark, Take, Target, Tip
from tablesim.output.painter import Painter
from tablesim.output.plate import safe_size
from tablesim.output.still import StillWishes, still
from tablesim.physics.simulation import Simulation
from tablesim.resources import open_scenario
from tablesim.scene.closer import MARGIN_M
from tablesim.scene.look import EVENING, LOOKS
from tablesim.scene.motion import orientation, turning_of
from tablesim.scene.picture import picture_scene, playing_balls, playing_ground, so_far
from tablesim.scene.shapes import Ball, Canvas, fit
from tablesim.scene.shot import Shown
from tablesim.study.answer import Answer, answer_take
from tablesim.view.answers.steps import ANSWERS

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def two_cues() -> Scenario:
    """A scenario with six takes."""
    return open_scenario("two-cues")


@pytest.fixture(scope="module")
def answers(two_cues: Scenario) -> dict[int, Answer]:
    """Three of them, played."""
    return {i: answer_take(two_cues, two_cues.takes[i]) for i in (2, 3, 5)}


@pytest.fixture(scope="module")
def window(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driver]:
    """A window without a screen."""
    driver = Driver(tmp_path_factory.mktemp("kept"))
    yield driver
    driver.close()


def picture_of(file: Path) -> np.ndarray:
    """Pixels (height, width, 3) of a file."""
    with Image.open(file) as picture:
        return np.asarray(picture.convert("RGB"))


def pixel(picture: np.ndarray, scenario: Scenario, x: float, y: float) -> tuple[int, ...]:
    """Colour of a picture without a strip at a place on the table [m]."""
    size, (high, wide) = scenario.table.surface, picture.shape[:2]
    room = safe_size((wide, high))
    frame = fit(size.length_m, size.width_m, MARGIN_M, (0.0, 0.0, *room))
    px, py = frame.pixels(np.array([[x, y]]))[0]
    return tuple(int(v) for v in picture[int(py), int(px)])


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("size", [(1920, 1080), (1080, 1920), (700, 700), (101, 65)])
def test_a_png_has_the_size_and_the_colours(
    look: str, size: tuple[int, int], two_cues: Scenario, tmp_path: Path
) -> None:
    file = tmp_path / "still.png"
    still(two_cues, str(file), StillWishes(size=size, look=look))

    picture = picture_of(file)
    assert picture.shape == (size[1], size[0], 3)
    cloth = LOOKS[look].cloth
    assert pixel(picture, two_cues, 0.25, 0.9) == tuple(int(cloth[k : k + 2], 16) for k in (1, 3, 5))
    assert [p.name for p in tmp_path.iterdir()] == ["still.png"]


def composed(window: Driver) -> np.ndarray:
    """What the window's table has to show, composed whole: pixels (height, width, 3)."""
    table, editor, found = window.app.table, window.app.editor, window.app.editor.findings
    assert table.frame is not None
    assert found is not None
    painter = Painter(table.rect.w, table.rect.h, table.look)
    painter.lay(None)
    canvas = Canvas(table.frame, (0.0, 0.0, float(table.rect.w), float(table.rect.h)))
    shown = replace(editor.see(), all_numbers=table.all_numbers, unit=table.unit, canvas=canvas)
    painter.paint(picture_scene(window.scenario, found[ANSWERS], shown, table.look, editor.former), table.frame)
    return painter.pixels[:, :, :3].copy()


def table_of(window: Driver) -> np.ndarray:
    """What it shows, notes and all that lies over it left out: pixels (height, width, 3)."""
    window.app.table.draw(window.app.surface)
    return pygame.surfarray.array3d(window.app.surface.subsurface(window.app.table.rect)).swapaxes(0, 1)


def test_the_window_and_a_still_differ_by_nothing(window: Driver) -> None:
    """The same scene at the same size and scale, once through the window, once composed whole."""
    for index in (5, 0):
        window.app.editor.choose(2)
        window.app.editor.toggle_shown(index)
        window.settle()
    assert window.app.editor.findings is not None
    assert len(window.app.editor.findings[ANSWERS]) == 3
    assert np.array_equal(table_of(window), composed(window))


def test_what_stands_still_in_the_window_is_painted_anew_when_it_has_changed(window: Driver) -> None:
    """A former shot comes and goes, balls, target, marks and looks change: the window shows what a still would."""
    editor, act, pictures = window.app.editor, window.app.act, list[np.ndarray]()

    def drag(ball: str, x: float, y: float) -> None:
        window.drag(window.table(*window.scenario.balls[ball]), window.table(x, y))

    changes: list[Callable[[], object]] = [
        lambda: window.drag(window.table(1.3, 0.3), window.table(1.3, 0.5)), lambda: window.key(pygame.K_ESCAPE),
        lambda: act("corrected"),
        lambda: editor.set_target(pocket="foot-right"), lambda: drag("3", 1.5, 0.9), lambda: editor.add_ball("8"),
        lambda: drag("8", 0.4, 0.3), lambda: editor.set_target(ball="8"), lambda: editor.add_mark("zone", "stop here"),
        lambda: act("growth"), lambda: act("growth"), lambda: act("look"),
    ]  # fmt: skip
    for change in changes:
        change()
        editor.select()
        window.settle()
        pictures.append(table_of(window))
        assert np.array_equal(pictures[-1], composed(window)), f"change {len(pictures)}"
    assert [k for k, pair in enumerate(itertools.pairwise(pictures), start=2) if np.array_equal(*pair)] == []


def test_a_take_at_the_strike_lies_as_the_still_has_it(two_cues: Scenario, answers: dict[int, Answer]) -> None:
    """At t = 0 the balls of the playing scene are the still balls."""
    rest = {s.name: s for s in picture_scene(two_cues, answers, Shown(5), EVENING) if isinstance(s, Ball)}
    scene = playing_ground(two_cues, answers, Shown(5), EVENING) + playing_balls(
        two_cues, answers, Shown(5), EVENING, 0.0
    )
    played = [s for s in scene if isinstance(s, Ball)]
    assert {s.name for s in played} == set(rest)
    for ball in played:
        assert (ball.x, ball.y, ball.turn) == (rest[ball.name].x, rest[ball.name].y, None)


def test_potted_balls_are_gone_and_trails_end_at_the_ball(two_cues: Scenario) -> None:
    take = two_cues.takes[3].model_copy(update={"aim": two_cues.takes[3].aim.model_validate({"corrected": True})})
    answer = answer_take(two_cues, take)
    assert answer.aimed is not None
    track = answer.aimed.track
    assert track is not None
    assert track.potted_in(1) == "foot-left"
    names = [
        s.name
        for s in playing_balls(two_cues, {3: answer}, Shown(3), EVENING, track.duration + 1.0)
        if isinstance(s, Ball)
    ]
    assert names == ["cue"]
    for t in np.linspace(0.01, track.duration, 23):
        here = track.state_of(0, float(t))
        assert so_far(track, 0, float(t)).points[-1] == pytest.approx((here.x, here.y), abs=1e-9)


def test_an_svg_is_a_drawing_of_the_same_shapes(two_cues: Scenario, tmp_path: Path) -> None:
    """It parses, has the view asked for, and circles where the balls lie."""
    file = tmp_path / "still.svg"
    marked = two_cues.change(marks=[Mark(kind="label", at=(0.4, 0.3), text="a < b & c")])
    still(
        marked,
        str(file),
        StillWishes(size=(1000, 600), takes=["wood, hard", "wood, soft"], caption='two "cues" <here>'),
    )
    root = ElementTree.fromstring(file.read_bytes())

    assert root.get("viewBox") == "0 0 1000 600"
    words = [t.text for t in root.iter(f"{SVG}text")]
    assert "a < b & c" in words
    assert 'two "cues" <here>' in words
    assert "wood, soft" in words
    circles = [
        (float(c.get("cx", "")), float(c.get("cy", "")), float(c.get("r", ""))) for c in root.iter(f"{SVG}circle")
    ]
    alone = tmp_path / "alone.svg"
    still(two_cues, str(alone), StillWishes(size=(1000, 600)))
    frame = fit(2.54, 1.27, MARGIN_M, (0.0, 0.0, 1000.0, 600.0))
    x, y = frame.pixels(np.array([two_cues.balls["cue"]]))[0]
    found = [
        (float(c.get("cx", "")), float(c.get("cy", "")), float(c.get("r", "")))
        for c in ElementTree.fromstring(alone.read_bytes()).iter(f"{SVG}circle")
    ]
    assert any(np.allclose(c, (x, y, RADIUS * frame.pixels_a_metre), atol=0.002) for c in found)
    assert len(circles) > len(found)


def test_svg_and_png_look_alike(window: Driver, tmp_path: Path) -> None:
    """SDL draws the SVG's shapes, though not its words."""
    import pygame

    assert window.app
    for name in ("opening-break", "thin-cut-outside"):
        scenario = open_scenario(name)
        drawn = []
        for suffix in ("svg", "png"):
            still(scenario, str(tmp_path / f"a.{suffix}"), StillWishes(size=(1280, 720)))
            drawn.append(pygame.surfarray.array3d(pygame.image.load(tmp_path / f"a.{suffix}")).astype(int))
        assert np.abs(drawn[0] - drawn[1]).mean() < 0.5


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"out_path": "a.bmp"}, "must end in .png or .svg; got '.bmp'"),
        ({"out_path": "a"}, "got 'no ending'"),
        ({"size": (63, 500)}, "64 to 8192 pixels each way; got 63x500"),
        ({"size": (500, 8193)}, "got 500x8193"),
        ({"takes": ["wod, hard"]}, "did you mean 'wood, hard'"),
        ({"look": "evning"}, "did you mean 'evening'"),
        ({"growth": -1}, "growth: must be 0"),
        ({"out_path": "no/such/folder/a.png"}, "cannot be written"),
    ],
)
def test_what_cannot_be_made_gets_a_plain_message(
    how: dict[str, object], message: str, two_cues: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    wishes = dict(how)
    out = str(wishes.pop("out_path", "a.png"))
    with pytest.raises(TablesimError, match=re.escape(message)):
        still(two_cues, out, StillWishes(**wishes))  # type: ignore[arg-type]
    assert list(tmp_path.iterdir()) == []


def test_scenarios_without_takes_targets_or_with_a_miscue_have_a_picture(tmp_path: Path) -> None:
    bare = Scenario(balls={"cue": (0.5, 0.5)})
    miscue = Scenario(
        balls={"cue": (0.6, 0.4), "1": (1.6, 0.6)},
        target=Target(ball="1", pocket="foot-left"),
        takes=[Take(name="far out", pace_m_s=2.0, tip=Tip(right=0.6))],
    )
    for k, scenario in enumerate((bare, miscue)):
        for suffix in ("png", "svg"):
            still(scenario, str(tmp_path / f"{k}.{suffix}"), StillWishes(size=(320, 200), growth=0 if k else 5))
    assert len(list(tmp_path.iterdir())) == 4


def test_long_captions_are_wrapped_and_cut(two_cues: Scenario, tmp_path: Path) -> None:
    file = tmp_path / "still.svg"
    still(two_cues, str(file), StillWishes(size=(400, 700), caption="word " * 200 + "x" * 500))
    words = [t.text or "" for t in ElementTree.fromstring(file.read_bytes()).iter(f"{SVG}text")]
    lines = [line for line in words if line.startswith("word")]
    assert len(lines) == 3
    assert lines[-1].endswith("…")


# --- how balls turn


def test_a_rolling_ball_turns_by_its_way_over_its_radius() -> None:
    """Pure rolling: the angle is distance / R about z x v; within 0.5 degrees after 2 m, in fact far less."""
    heading = math.radians(25.0)
    u = np.array([math.cos(heading), math.sin(heading)])
    speed = 1.2
    start = layout((0.2, 0.2, *(speed * u), -speed * u[1] / RADIUS, speed * u[0] / RADIUS, 0.0))
    track = Simulation(setup_for(1), start).run()
    for t in (0.1, 0.5, 1.0, 1.5):
        state = track.state_of(0, t)
        angle = math.hypot(state.x - 0.2, state.y - 0.2) / RADIUS
        expected = rotation(np.array([-u[1], u[0], 0.0]), angle)
        assert apart_deg(orientation(track, 0, t), expected) < 1e-6
    assert angle * RADIUS > 1.5


def test_turning_follows_the_angular_velocity_through_slide_cushion_and_contact() -> None:
    """Against steps of 200 microseconds; sidespin that dies, rests in between, other balls."""
    start = layout((0.5, 0.3, 2.5, 0.9, 30.0, -60.0, 90.0), (0.9, 0.45), (1.8, 0.7))
    track = Simulation(setup_for(3), start).run()
    assert len([ev for ev in track.events if ev.kind != "phase"]) > 3
    end, h = 2.4, 2e-4
    for ball in range(3):
        turn = np.eye(3)
        for k in range(round(end / h)):
            s = track.state_of(ball, (k + 0.5) * h)
            w = np.array([s.wx, s.wy, s.wz])
            size = float(np.sqrt(w @ w))
            if size > 0.0:
                turn = rotation(w / size, h * size) @ turn
        found = orientation(track, ball, end)
        assert apart_deg(found, turn) < 0.5
        assert np.abs(found @ found.T - np.eye(3)).max() < 1e-12


def test_nothing_turns_before_it_is_hit_or_after_the_end() -> None:
    track = Simulation(setup_for(2), layout((0.5, 0.3, 1.5, 0.0), (1.2, 0.3))).run()
    met = next(ev.time for ev in track.events if ev.kind == "ball")
    assert orientation(track, 1, met - 1e-6) == pytest.approx(np.eye(3), abs=0.0)
    assert not turning_of(track, 1).turns_by(met)
    assert turning_of(track, 1).turns_by(met + 0.01)
    at_end = orientation(track, 0, track.end_time)
    assert orientation(track, 0, track.end_time + 100.0) == pytest.approx(at_end, abs=1e-9)


def rotation(axis: np.ndarray, angle: float) -> np.ndarray:
    """Rodrigues' formula."""
    x, y, z = axis
    k = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + math.sin(angle) * k + (1.0 - math.cos(angle)) * k @ k)


def apart_deg(one: np.ndarray, two: np.ndarray) -> float:
    """Angle between two orientations [deg]."""
    return math.degrees(2.0 * math.asin(min(1.0, float(np.linalg.norm(one - two)) / math.sqrt(8.0))))


def test_a_long_caption_loses_no_word_in_the_middle() -> None:
    from tablesim.output.strip import caption_lines

    words = [f"word{k}" for k in range(60)]
    whole = " ".join(caption_lines(" ".join(words), 300.0, 12.0)[:-1]).split()
    assert len(whole) > 4
    assert whole == words[: len(whole)]
