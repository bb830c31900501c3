"""Where to aim, on the cloth: the mark, the window, the words, and labels that never lie on each other or on a ball."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from conftest import known, many_shots

from tablesim.errors import TablesimError
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.output.painter import width_of
from tablesim.physics.edge import POCKETS
from tablesim.resources import open_scenario
from tablesim.scene.aim_here import aim_here, amount_words, aside_words
from tablesim.scene.closer import MARGIN_M
from tablesim.scene.lettering import LEADING
from tablesim.scene.look import EVENING, PROJECTOR, Look, pattern
from tablesim.scene.picture import paths_scene
from tablesim.scene.shapes import Canvas, Frame, Path, Text, fit
from tablesim.scene.shot import Shown
from tablesim.scene.staged import staged_words
from tablesim.scene.table import RAIL_M
from tablesim.study.answer import Answer, answer_take
from tablesim.study.correct import correct_take
from tablesim.study.setup import gate_of

TWO = open_scenario("two-cues")
SIZES = ((960, 620), (1500, 900))  # of the table in windows of 1280 x 800 and 1920 x 1080


def straight_shot(cut_deg: float) -> Scenario:
    """A target ball before the middle of a side pocket, cut by so much."""
    at, pocket = (1.27, 0.80), (1.27, 1.27)
    away = math.radians(-90.0 + cut_deg)
    ghost = (at[0], at[1] - 0.05715)
    cue = (ghost[0] + 0.4 * math.cos(away), ghost[1] + 0.4 * math.sin(away))
    assert pocket[1] > at[1]
    return Scenario(
        balls={"cue": cue, "1": at}, target=Target(ball="1", pocket="side-left"),
        takes=[Take(name="a", pace_m_s=2.0, aim=Aim(toward="pocket"))],
    )  # fmt: skip


@pytest.mark.parametrize(("cut_deg", "covered"), [(0.0, 1.0), (14.4775, 0.75), (30.0, 0.5), (48.5904, 0.25)])
def test_how_much_of_the_ball_is_covered(cut_deg: float, covered: float) -> None:
    """Common practice, no source: a full, 3/4, half and 1/4 ball are cuts of 0, 14.5, 30 and 48.6 degrees."""
    scenario = straight_shot(cut_deg)
    found = correct_take(scenario, scenario.takes[0])
    plain = known(aim_here(scenario, found))
    aimed_off = math.radians(known(found.turn_deg))  # throw asks for a little more or less of it
    assert plain.overlap == pytest.approx(covered, abs=0.01 + 8.0 * abs(aimed_off))


def test_the_mark_lies_where_the_correction_says() -> None:
    gate = gate_of(TWO)
    for take in TWO.takes:
        found = correct_take(TWO, take)
        aim = known(aim_here(TWO, found))
        off = (np.array(aim.place) - (gate.x, gate.y)) @ np.array(gate.left)
        assert 1000.0 * off == pytest.approx(known(found.aim_offset_mm), abs=1e-6)
        ends = [float((np.array(end) - (gate.x, gate.y)) @ np.array(gate.left)) for end in known(aim.window)]
        assert min(ends) < off < max(ends)
        assert 1000.0 * (max(ends) - min(ends)) == pytest.approx(known(found.window_mm), rel=1e-5)


def test_words_in_units() -> None:
    found = correct_take(TWO, TWO.take_named("wood, soft"))
    assert amount_words(found, "mm") == "181 mm right"
    assert amount_words(found, "inch") == "7.1 in right"
    assert amount_words(found, "diamond") == "0.57 diamonds right"  # a diamond is an eighth of 2540 mm
    assert aside_words(found, known(aim_here(TWO, found))).startswith("1.6 pocket widths, ")


def boxes_of(shapes: list[object], frame: Frame) -> list[tuple[float, float, float, float]]:
    """What words cover [pixels], by the painter's own measure."""
    found = []
    for text in shapes:
        if isinstance(text, Text):
            x, y = frame.pixels(np.array([[text.x, text.y]]))[0]
            half, high = 0.5 * width_of(text.text, text.size) * frame.point, 0.5 * LEADING * text.size * frame.point
            found.append((x - half, y - high, x + half, y + high))
    return found


def share_under(path: Path, boxes: list[tuple[float, float, float, float]], frame: Frame) -> float:
    """Share of a line that lies under words."""
    points = frame.pixels(path.points)
    far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.linspace(0.0, far[-1], 400)
    x, y = (np.interp(at, far, points[:, k]) for k in (0, 1))
    under = np.zeros(400, dtype=bool)
    for left, top, right, bottom in boxes:
        under |= (x > left) & (x < right) & (y > top) & (y < bottom)
    return float(under.mean())


def random_shot(rng: random.Random) -> Scenario | None:
    """A layout with up to eight balls and takes, half of the balls near rails."""

    def place() -> tuple[float, float]:
        near = rng.random() < 0.5
        x = rng.choice([rng.uniform(0.03, 0.12), rng.uniform(2.42, 2.51)]) if near else rng.uniform(0.1, 2.4)
        return x, rng.uniform(0.03, 1.24)

    balls = {"cue": place()} | {str(k): place() for k in range(1, rng.randint(2, 9))}
    takes = [
        Take(
            name=f"take number {k}", pace_m_s=rng.choice([1.0, 2.0, 3.5, 5.0]), aim=Aim(toward="pocket"),
            tip=Tip(right=rng.uniform(-0.5, 0.5)), stroke=rng.choice(["smooth", "jab"]),
        )
        for k in range(rng.randint(1, 8))
    ]  # fmt: skip
    try:
        return Scenario(
            balls=balls, target=Target.model_validate({"ball": "1", "pocket": rng.choice(POCKETS)}), takes=takes
        )
    except TablesimError:
        return None


def answered(scenario: Scenario) -> dict[int, Answer]:
    """Answers to all takes."""
    return {i: answer_take(scenario, take) for i, take in enumerate(scenario.takes)}


@many_shots
@pytest.mark.parametrize("look", [EVENING, PROJECTOR], ids=lambda look: look.name)
def test_labels_lie_on_no_label_no_ball_and_little_of_a_line(look: Look, fast: SimpleNamespace) -> None:
    """Over 200 random layouts of one to eight takes, at two sizes; none is cut off by the edge of the table."""
    rng, seen, hidden = random.Random(20261128), 0, []
    while seen < 200:
        scenario = random_shot(rng)
        if scenario is None:
            continue
        answers = answered(scenario)
        if not any(a.correction is not None and a.correction.aim_offset_mm is not None for a in answers.values()):
            continue
        seen += 1
        for size in SIZES:
            frame = fit(2.54, 1.27, MARGIN_M, (0.0, 0.0, float(size[0]), float(size[1])), size[1] / 700.0)
            canvas = Canvas(frame, (0.0, 0.0, float(size[0]), float(size[1])))
            shown = Shown(chosen=rng.randrange(len(answers)), takes=tuple(answers), all_numbers=True, canvas=canvas)
            shapes = paths_scene(scenario, answers, shown, look)
            boxes = boxes_of(list(shapes), frame)
            edges = np.array([[-RAIL_M, 1.27 + RAIL_M], [2.54 + RAIL_M, -RAIL_M]])
            (left, top), (right, bottom) = frame.pixels(edges)
            for k, box in enumerate(boxes):
                assert left - 1 <= box[0] <= box[2] <= right + 1, scenario
                assert top - 1 <= box[1] <= box[3] <= bottom + 1, scenario
                for other in boxes[:k]:
                    apart = box[2] <= other[0] or other[2] <= box[0] or box[3] <= other[1] + 1 or other[3] <= box[1] + 1
                    assert apart, scenario
                for name, (x, y) in scenario.balls.items():
                    at = frame.pixels(np.array([[x, y]]))[0]
                    near = np.clip(at, box[:2], box[2:]) - at
                    radius = scenario.ball_set.radius_m(name) * frame.pixels_a_metre
                    assert float(np.hypot(*near)) >= radius - 1, (name, scenario)
            ways = [s for s in shapes if isinstance(s, Path) and not s.closed and len(s.points) > 1 and s.pen]
            long = [way for way in ways if np.hypot(*np.diff(way.points, axis=0).T).sum() > 0.3]
            hidden += [share_under(way, boxes, frame) for way in long]
    assert np.quantile(hidden, 0.95) < 0.15
    assert np.mean(hidden) < 0.03


def test_how_a_shot_is_staged_in_words() -> None:
    """Centres are a ball's width and 40 cm apart; from the right of the straight line the ball is cut to the right."""
    assert staged_words(straight_shot(0.0), "mm") == "0.46 m from the cue ball to ball 1, straight in"
    assert staged_words(straight_shot(0.0), "inch").startswith("1.50 ft")
    assert staged_words(straight_shot(0.0), "diamond").startswith("1.44 diamonds")
    assert staged_words(straight_shot(30.0), "inch").endswith("ball 1, a cut of 30° to the right")
    assert staged_words(straight_shot(-30.0), "mm").endswith("ball 1, a cut of 30° to the left")
    assert staged_words(straight_shot(0.0).change(target=None, takes=[]), "mm") == "no target ball"


def test_twelve_takes_have_no_colour_and_pattern_in_common() -> None:
    for look in (EVENING, PROJECTOR):
        assert len({(look.take_colour(k), pattern(k)) for k in range(36)}) == 36


def test_a_ball_in_the_jaws_has_a_mark_but_no_band() -> None:
    """Its window says nothing on the gate (window_mm is None), so none is drawn there."""
    found = correct_take(TWO, TWO.takes[0])
    assert known(aim_here(TWO, found)).window is not None
    assert known(aim_here(TWO, replace(found, window_mm=None))).window is None
