"""Looking closer: parts of the table, lenses, few ways by default, the distance off the line up close."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pygame
import pytest
from conftest import many_shots
from test_aim_here import answered, boxes_of, random_shot
from window import Driver

from tablesim.errors import ScenarioError, TablesimError
from tablesim.model.lesson import Lesson, Scene, lesson_from_json, lesson_to_json
from tablesim.output.clip import ClipWishes, clip
from tablesim.output.film import Film, Screening
from tablesim.output.inset import glasses_over
from tablesim.output.still import StillWishes, still
from tablesim.resources import open_scenario, ready_scenarios
from tablesim.scene.closer import LEAST_M, MARGIN_M, about_shot, on_table, part_seen, picture_frame, whole_table, zoomed
from tablesim.scene.look import EVENING, LOOKS
from tablesim.scene.picture import paths_scene
from tablesim.scene.shapes import Canvas, Text
from tablesim.scene.shapes import Path as Line
from tablesim.scene.shapes import Scene as Shapes
from tablesim.scene.shot import Shown
from tablesim.scene.ways import CUE_SHARE, decided_at
from tablesim.study.answer import Answer
from tablesim.study.setup import gate_of

Open = Callable[..., Driver]
TWO = open_scenario("two-cues")
VIEWS = ((960, 620), (1500, 900), (540, 900))


# --- parts of the table


def test_a_part_lies_on_the_table_and_is_as_large_as_asked_for() -> None:
    rng = random.Random(3)
    x0, y0, x1, y1 = whole_table(TWO)
    for _ in range(500):
        ax, ay = rng.uniform(x0 - 1.0, x1), rng.uniform(y0 - 1.0, y1)
        wide, high = rng.choice([1e-9, 0.3, 1.0, 2.0, 5.0]), rng.choice([1e-9, 0.2, 0.7, 1.4, 4.0])
        part = on_table(TWO, (ax, ay, ax + wide, ay + high))
        if part is None:
            assert wide >= 0.999 * (x1 - x0)
            assert high >= 0.999 * (y1 - y0)
            continue
        assert x0 - 1e-9 <= part[0] < part[2] <= x1 + 1e-9
        assert y0 - 1e-9 <= part[1] < part[3] <= y1 + 1e-9
        assert part[2] - part[0] == pytest.approx(min(max(wide, LEAST_M), x1 - x0))
        assert part[3] - part[1] == pytest.approx(min(max(high, LEAST_M), y1 - y0))


@pytest.mark.parametrize("name", sorted(ready_scenarios()))
def test_the_part_about_a_shot_holds_the_shot(name: str) -> None:
    """Both balls, the pocket, and the cue ball's way to the first thing it meets."""
    scenario = open_scenario(name)
    answers = answered(scenario)
    part = about_shot(scenario, answers) or whole_table(scenario)
    inside = [scenario.balls["cue"]]
    if scenario.target is not None:
        gate = gate_of(scenario)
        inside += [scenario.balls[scenario.target.ball], (gate.x, gate.y)]
    for answer in answers.values():
        if answer.aimed is not None and answer.aimed.track is not None:
            state = answer.aimed.track.state_of(0, decided_at(answer.aimed, 0))
            inside.append((state.x, state.y))
    for x, y in inside:
        assert part[0] < x < part[2]
        assert part[1] < y < part[3]


def test_what_lies_under_the_mouse_stays_there() -> None:
    part = (0.5, 0.3, 1.7, 0.9)
    closer = zoomed(TWO, part, 2.0, (1.2, 0.7))
    assert closer is not None
    assert (1.2 - closer[0]) / (closer[2] - closer[0]) == pytest.approx((1.2 - part[0]) / (part[2] - part[0]))
    assert zoomed(TWO, part, 0.01, (1.2, 0.7)) is None


def test_a_part_lies_as_the_table_does() -> None:
    """In an upright window the foot rail is on top, and stays there."""
    upright = picture_frame(TWO, Shown(closer=(0.4, 0.1, 1.0, 1.0)), (0.0, 0.0, 400.0, 900.0))
    assert upright.matrix[0, 0] == 0.0
    lying = picture_frame(TWO, Shown(closer=(0.4, 0.1, 1.0, 1.0)), (0.0, 0.0, 900.0, 400.0))
    assert lying.matrix[0, 1] == 0.0
    corners = lying.pixels(np.array([[0.4, 0.1], [1.0, 1.0]]))
    assert (corners >= -1e-6).all()
    assert float(np.ptp(corners[:, 1])) == pytest.approx(400.0)  # as large as the box lets it


def test_the_window_zooms_pans_and_comes_back(window: Open) -> None:
    w = window()
    table = w.app.table
    ball = w.table(*TWO.balls["3"])
    w.move(ball)
    w.key(pygame.K_PAGEUP)
    w.key(pygame.K_PAGEUP)
    assert table.frame is not None
    assert math.dist(w.table(*TWO.balls["3"]), ball) <= 2.0
    closer = table.frame.pixels_a_metre
    w.move((ball[0] + 50, ball[1] - 30), right=True)
    assert math.dist(w.table(*TWO.balls["3"]), (ball[0] + 50, ball[1] - 30)) <= 2.0
    assert w.scenario == TWO  # nothing was dragged
    w.key(pygame.K_1)
    assert w.app.editor.shown.closer == about_shot(TWO, {0: answered(TWO)[0]})
    w.key(pygame.K_2)
    assert w.app.editor.shown.closer is None
    assert table.frame.pixels_a_metre < closer
    for _ in range(30):
        w.key(pygame.K_PAGEUP)
    assert w.app.editor.shown.closer is not None
    for _ in range(40):
        w.key(pygame.K_PAGEDOWN)
    assert w.app.editor.shown.closer is None


def test_the_cue_is_aimed_up_close_as_from_afar(window: Open) -> None:
    w = window()
    w.key(pygame.K_1)
    cue = w.table(*TWO.balls["cue"])
    w.drag((cue[0] + 200, cue[1] - 120), (cue[0] + 200, cue[1] - 60))
    turned = math.degrees(math.atan2(60, 200)) - math.degrees(math.atan2(120, 200))
    heading = math.degrees(w.app.editor.heading)
    plain = open_scenario("two-cues")
    w.app.editor.undo()
    w.settle()
    assert heading - math.degrees(w.app.editor.heading) == pytest.approx(turned, abs=0.3)
    assert w.scenario == plain


def test_what_is_looked_at_is_kept_in_a_lesson(window: Open) -> None:
    w = window()
    for key in (pygame.K_1, pygame.K_3, pygame.K_4):
        w.key(key)
    shown = w.app.editor.shown
    assert shown.lens
    assert shown.whole_ways
    w.app.act("keep")
    for key in (pygame.K_2, pygame.K_3, pygame.K_4):
        w.key(key)
    assert w.app.editor.shown != shown
    w.app.show_scene(0)
    w.settle()
    now = w.app.editor.shown
    assert (now.closer, now.lens, now.whole_ways) == (shown.closer, True, True)


def test_a_scene_that_uses_nothing_new_is_written_as_before() -> None:
    old = lesson_to_json(Lesson(scenes=[Scene(file="two-cues")]))
    assert not any(word in old for word in ("closer", "lens", "whole_ways"))
    with pytest.raises(ScenarioError, match="x0 < x1"):
        Scene(file="two-cues", closer=(1.0, 0.0, 0.5, 1.0))
    new = lesson_to_json(Lesson(scenes=[Scene(file="two-cues", closer=(0.5, 0.0, 1.0, 1.0), lens=True)]))
    assert lesson_from_json(new).scenes[0].closer == (0.5, 0.0, 1.0, 1.0)


# --- lenses


@pytest.mark.parametrize("size", VIEWS)
@pytest.mark.parametrize("name", sorted(ready_scenarios()))
def test_lenses_lie_beside_the_shot_and_say_their_scale(name: str, size: tuple[int, int]) -> None:
    scenario = open_scenario(name)
    seen = (0.0, 0.0, float(size[0]), float(size[1]))
    frame = picture_frame(scenario, Shown(), seen)
    glasses = glasses_over(scenario, Canvas(frame, seen))
    assert len(glasses) == (0 if scenario.target is None else 2)
    for glass in glasses:
        x0, y0, x1, y1 = glass.box
        assert 0.0 <= x0 < x1 <= size[0]
        assert 0.0 <= y0 < y1 <= size[1]
        assert (x1 - x0) / (2.0 * glass.lens.half_m) == pytest.approx(glass.frame.pixels_a_metre)
        assert glass.frame.pixels(np.array([glass.lens.at]))[0] == pytest.approx([0.5 * (x0 + x1), 0.5 * (y0 + y1)])
        for ball in ("cue", scenario.target.ball if scenario.target else "cue"):
            x, y = frame.pixels(np.array([scenario.balls[ball]]))[0]
            assert not (x0 < x < x1 and y0 < y < y1), ball


def test_the_window_shows_both_places_enlarged(window: Open) -> None:
    """The red 3 is three times as broad in the lens as on the table, where the lens says so."""
    w = window()
    before = pygame.surfarray.array3d(w.app.surface).astype(int)
    w.key(pygame.K_3)
    w.settle()
    after = pygame.surfarray.array3d(w.app.surface).astype(int)
    glasses = w.app.table._glasses
    assert [glass.lens.name for glass in glasses] == ["contact", "pocket mouth"]
    assert w.app.table.frame is not None
    x0, y0, x1, y1 = (round(side) for side in glasses[0].box)
    left, top = w.app.table.rect.topleft
    red = (after[..., 0] > 180) & (after[..., 1] < 90) & (after[..., 2] < 90)
    there = red[left + x0 : left + x1, top + y0 : top + y1]
    was = (before[..., 0] > 180) & (before[..., 1] < 90) & (before[..., 2] < 90)
    times = glasses[0].frame.pixels_a_metre / w.app.table.frame.pixels_a_metre
    assert there.sum() / was[: w.app.table.rect.w].sum() == pytest.approx(times**2, rel=0.25)
    w.key(pygame.K_3)
    w.settle()
    assert np.array_equal(pygame.surfarray.array3d(w.app.surface), before)


def test_lenses_need_a_target(window: Open) -> None:
    w = window(scenario=TWO.change(target=None, takes=[]))
    w.key(pygame.K_3)
    assert "target" in w.app.message
    assert not w.app.editor.shown.lens


@many_shots
def test_labels_lie_under_no_lens(fast: SimpleNamespace) -> None:
    rng, tried = random.Random(5), 0
    while tried < 40:
        scenario = random_shot(rng)
        if scenario is None:
            continue
        tried += 1
        answers = answered(scenario)
        for size in VIEWS[:2]:
            seen = (0.0, 0.0, float(size[0]), float(size[1]))
            frame = picture_frame(scenario, Shown(), seen, size[1] / 700.0)
            covered = tuple(glass.box for glass in glasses_over(scenario, Canvas(frame, seen)))
            assert len(covered) == 2
            shown = Shown(takes=tuple(answers), canvas=Canvas(frame, seen, covered))
            for box in boxes_of(list(paths_scene(scenario, answers, shown, EVENING)), frame):
                for x0, y0, x1, y1 in covered:
                    assert box[2] <= x0 + 1 or x1 <= box[0] + 1 or box[3] <= y0 + 1 or y1 <= box[1] + 1, scenario


def test_a_label_gives_way_to_a_lens() -> None:
    """A lens right where the label stood."""
    answers, seen = {0: answered(TWO)[0]}, (0.0, 0.0, 960.0, 620.0)
    frame = picture_frame(TWO, Shown(), seen)

    def labels(*covered: tuple[float, float, float, float]) -> list[tuple[float, ...]]:
        shown = Shown(takes=(0,), canvas=Canvas(frame, seen, covered))
        return [tuple(box) for box in boxes_of(list(paths_scene(TWO, answers, shown, EVENING)), frame)]

    (first, *_) = labels()
    there = (first[0], first[1], first[2], first[3])
    for left, top, right, bottom in labels(there):
        assert right <= there[0] or there[2] <= left or bottom <= there[1] + 1 or there[3] <= top + 1


# --- few ways


def strokes(scene: Shapes) -> list[Line]:
    """The open lines of a scene."""
    return [s for s in scene if isinstance(s, Line) and not s.closed and s.pen is not None]


def opacity(colour: str) -> float:
    """0 to 1."""
    return int(colour[7:] or "ff", 16) / 255.0


def lively(shown: Shown) -> tuple[Shapes, dict[int, Answer]]:
    """Takes 0 and 2 of the ready scenario, 2 chosen."""
    answers = {i: answer for i, answer in answered(TWO).items() if i in (0, 2)}
    return paths_scene(TWO, answers, replace(shown, chosen=2, takes=(0,), labels=False), EVENING), answers


def test_by_default_the_cue_ball_s_later_way_is_faint_and_other_takes_end_at_their_first_legs() -> None:
    few, answers = lively(Shown())
    whole, _ = lively(Shown(whole_ways=True))
    assert len(strokes(whole)) > len(strokes(few))
    colour = EVENING.take_colour(2)
    played = answers[2].aimed
    assert played is not None
    assert played.track is not None
    met = played.track.state_of(0, decided_at(played, 0))
    start = np.array([met.x, met.y])

    def after_contact(scene: Shapes) -> list[Line]:
        """The cue ball's way beyond the contact."""
        mine = [s for s in strokes(scene) if s.pen is not None and s.pen.colour.startswith(colour)]
        return [s for s in mine if len(s.points) > 2 and np.allclose(s.points[0], start, atol=1e-9)]

    (faint,), (plain,) = after_contact(few)[:1], after_contact(whole)[:1]
    assert faint.pen is not None
    assert plain.pen is not None
    assert opacity(faint.pen.colour) < 0.6 * opacity(plain.pen.colour)
    other = EVENING.take_colour(0)
    assert total_length(whole, other) > 1.1 * total_length(few, other)
    fine = [s.pen for s in strokes(few) if s.pen is not None and s.pen.colour.startswith(other) and s.pen.width < 3.0]
    assert all(opacity(pen.colour) < 0.8 for pen in fine)


def total_length(scene: Shapes, colour: str) -> float:
    """Length [m] of all lines of a colour."""
    mine = [s for s in strokes(scene) if s.pen is not None and s.pen.colour.startswith(colour)]
    return sum(float(np.hypot(*np.diff(s.points, axis=0).T).sum()) for s in mine)


def test_cue_ball_and_target_ball_have_ways_of_unlike_form() -> None:
    """The cue ball's is thin, the target ball's broad with an arrowhead."""
    few, answers = lively(Shown(corrected=False))
    heads = [s for s in few if isinstance(s, Line) and s.closed and s.pen is None and len(s.points) == 3]
    assert len(heads) == len(answers)
    colour = EVENING.take_colour(2)
    mine = {round(s.pen.width, 3) for s in strokes(few) if s.pen is not None and s.pen.colour == colour}
    assert {round(EVENING.line, 3), round(CUE_SHARE * EVENING.line, 3)} <= mine


# --- the distance off the line


@pytest.mark.parametrize("take", range(6))
def test_the_figure_at_the_contact_is_how_far_off_the_line_the_cue_ball_is(take: int) -> None:
    """The track's own place at the contact, by plain vectors."""
    answer = answered(TWO)[take]
    played = answer.aimed
    assert played is not None
    assert played.track is not None
    assert played.launch is not None
    met = played.track.state_of(0, decided_at(played, 0))
    u = math.radians(played.launch.heading_deg)
    x, y = met.x - TWO.balls["cue"][0], met.y - TWO.balls["cue"][1]
    off_mm = 1000.0 * abs(math.cos(u) * y - math.sin(u) * x)
    scene = paths_scene(TWO, {take: answer}, Shown(chosen=take, growth=5), EVENING)
    (words,) = [s.text for s in scene if isinstance(s, Text) and s.text.endswith("at the ball")]
    left = math.cos(u) * y - math.sin(u) * x > 0.0
    assert off_mm < 0.5 or words.split()[2] == ("left" if left else "right")
    assert float(words.split()[0]) == pytest.approx(off_mm, abs=0.7)


@pytest.mark.parametrize("growth", [1, 2, 5, 10])
def test_the_bar_is_as_long_as_its_millimetres_are_drawn(growth: int) -> None:
    scene = paths_scene(TWO, {0: answered(TWO)[0]}, Shown(growth=growth), EVENING)
    (words,) = [s for s in scene if isinstance(s, Text) and s.text.endswith("mm sideways")]
    bars = [s for s in strokes(scene) if math.dist(s.points[-1], (words.x, words.y)) < 1e-9]
    drawn_m = float(np.hypot(*(bars[0].points[1] - bars[0].points[0])))
    assert drawn_m == pytest.approx(growth * float(words.text.split()[0]) / 1000.0)


def test_it_fills_the_picture() -> None:
    """The way to the contact takes most of it, not thirty pixels."""
    for scenario in (TWO, open_scenario("throw-at-thirty")):
        assert scenario.target is not None
        frame = picture_frame(scenario, Shown(growth=5), (0.0, 0.0, 960.0, 620.0))
        ends = frame.pixels(np.array([scenario.balls["cue"], scenario.balls[scenario.target.ball]]))
        across, down = np.abs(ends[1] - ends[0])
        assert across > 0.45 * 960 or down > 0.45 * 620
        assert part_seen(scenario, Shown(growth=5)) is not None


# --- stills and clips


def test_a_still_of_a_part_is_that_part_larger(tmp_path: Path) -> None:
    from PIL import Image

    sizes = {}
    for name, closer in (("whole", None), ("shot", "shot")):
        wishes = StillWishes(size=(960, 540), closer=closer, lens=name == "shot", caption="Up close")  # type: ignore[arg-type]
        still(TWO, str(tmp_path / f"{name}.png"), wishes)
        picture = np.asarray(Image.open(tmp_path / f"{name}.png")).astype(int)
        sizes[name] = int(((picture[..., 0] > 180) & (picture[..., 1] < 90) & (picture[..., 2] < 90)).sum())
        below = picture[-30:-2, 0:8].reshape(-1, 3)
        assert (below == below[0]).all()  # the room under the table: no cloth runs into the words
    assert sizes["shot"] > 2 * sizes["whole"]
    still(TWO, str(tmp_path / "shot.svg"), StillWishes(closer="shot", lens=True))
    drawing = (tmp_path / "shot.svg").read_text()
    assert drawing.count("<clipPath") == 5  # table, two lenses, their words
    with pytest.raises(TablesimError, match="closer: must be two corners"):
        still(TWO, str(tmp_path / "no.png"), StillWishes(closer=(1.0, 0.0, math.nan, 1.0)))
    assert not (tmp_path / "no.png").exists()


def test_a_clip_keeps_to_its_part_and_its_lenses_live(tmp_path: Path) -> None:
    answers = {2: answered(TWO)[2]}
    overlays = ("aim", "trails", "lens", "stroke")
    how = Screening(LOOKS["evening"], (640, 360), 25, "closer", "", about_shot(TWO, answers), overlays)
    film = Film(TWO, answers, how, [0.0, 0.5, 1.0])
    first, later = film.at(0.0).astype(int), film.at(0.6).astype(int)
    x0, y0, x1, y1 = (round(side) for side in film._glasses[0].box)
    assert np.abs(first - later)[y0:y1, x0:x1].max() > 60  # the balls come and go in the lens
    bottom = round(film._canvas.seen[3])
    end = film.at(answers[2].aimed.track.duration)  # type: ignore[union-attr]
    middle = slice(200, 640)  # beside the ball's face, which tells the spin
    assert np.array_equal(first[bottom + 2 :, middle], end[bottom + 2 :, middle].astype(int))
    made = clip(TWO, str(tmp_path / "a.gif"), ClipWishes(size=(160, 100), fps=5, seconds=1.0, closer="shot"))
    assert made.frames == 5


def test_marks_of_the_margin() -> None:
    """A part that is the table's own size is the table."""
    assert on_table(TWO, whole_table(TWO)) is None
    x0, y0, x1, y1 = whole_table(TWO)
    assert (x0, y0) == (-MARGIN_M, -MARGIN_M)
    assert on_table(TWO, (x0, y0, x1, y1 - 0.1)) is not None
