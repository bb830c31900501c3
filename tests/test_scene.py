"""Scenes and the painter: real proportions, looks, paths."""

from __future__ import annotations

import numpy as np
import pytest

from tablesim.model.scenario import Scenario
from tablesim.output.painter import Painter
from tablesim.resources import open_scenario
from tablesim.scene.look import BALL_COLOURS, EVENING, LOOKS, PATTERNS, PROJECTOR, TAKES_TOGETHER
from tablesim.scene.paths import ball_path
from tablesim.scene.shapes import Ball, Disc, Frame, Path, Pen, Text, fit
from tablesim.scene.shot import balls_scene
from tablesim.scene.table import SIGHT_M, bed_outline, sights, table_scene
from tablesim.scene.ways import hop_scene
from tablesim.scene.words import TERMS, said
from tablesim.study.predict import predict_take


def test_the_bed_is_drawn_from_the_engines_edge() -> None:
    """Every nose, rounded point and facing of the engine lies on the outline; the area is bed plus shelves."""
    edge = Scenario(balls={"cue": (0.5, 0.5)}).table.edge
    outline = bed_outline(edge)
    for row in edge.lines[:6]:
        for t in (0.0, row[4]):
            assert np.hypot(*(outline - (row[:2] + t * row[2:4])).T).min() < 1e-9
    x, y = outline.T
    area = 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    assert edge.length * edge.width < area < 1.02 * edge.length * edge.width


def test_sights_stand_at_eighths_and_quarters() -> None:
    """WPA equipment specification: 18 sights, 12.5 in apart on a 9-ft table, 3 11/16 in from the noses."""
    edge = Scenario(balls={"cue": (0.5, 0.5)}).table.edge
    found = sights(edge)
    assert len(found) == 18
    xs = sorted({round(x / 0.0254, 3) for x, y in found if y < 0})
    assert np.diff(xs)[:2] == pytest.approx(12.5)
    assert pytest.approx(3.6875 * 0.0254, abs=1e-4) == SIGHT_M


def test_a_path_follows_the_ball() -> None:
    scenario = open_scenario("two-cues")
    found = predict_take(scenario, scenario.takes[2])
    track = found.track
    assert track is not None
    for ball in range(2):
        path = ball_path(track, ball)
        for point, t in zip(path.points, path.times, strict=True):
            state = track.state_of(ball, float(t))
            assert point == pytest.approx((state.x, state.y), abs=1e-9)
    assert 0 < ball_path(track, 0).sliding < len(ball_path(track, 0).points)


def test_pixels_and_metres_are_inverse_lying_and_upright() -> None:
    for box in ((0.0, 0.0, 1200.0, 700.0), (10.0, 20.0, 500.0, 1100.0)):
        frame = fit(2.54, 1.27, 0.15, box)
        px = frame.pixels(np.array([[0.3, 0.9]]))[0]
        assert frame.metres(*px) == pytest.approx((0.3, 0.9))
        corners = frame.pixels(np.array([[-0.15, -0.15], [2.69, 1.42]]))
        assert corners.min() >= -1e-9
    assert fit(2.54, 1.27, 0.15, (0, 0, 500, 1100)).matrix[0, 0] == 0.0


def test_the_painter_puts_shapes_where_they_belong() -> None:
    painter = Painter(200, 100, EVENING)
    painter.lay(None)
    frame = Frame(np.array([[100.0, 0.0], [0.0, -100.0]]), np.array([0.0, 100.0]))
    line = Path(np.array([[1.0, 0.5], [2.0, 0.5]]), Pen("#00ff00", 4.0))
    painter.paint([Disc(0.5, 0.5, 0.2, "#ff0000"), line], frame)
    assert tuple(painter.pixels[50, 50, :3]) == (255, 0, 0)
    assert tuple(painter.pixels[50, 150, :3]) == (0, 255, 0)
    assert tuple(painter.pixels[20, 150, :3]) == (0x1B, 0x20, 0x24)


def test_a_stamped_ball_is_the_painted_one() -> None:
    """The stamp at a quarter of a pixel differs from the painted ball by anti-aliasing only."""
    frame = Frame(np.array([[300.0, 0.0], [0.0, -300.0]]), np.array([0.0, 100.0]))
    ball = Ball(0.165, 0.16, 0.05, "11")
    stamped, painted = (Painter(100, 100, PROJECTOR) for _ in range(2))
    for painter in (stamped, painted):
        painter.lay(None)
    stamped.paint([ball], frame)
    painted.ball(ball, frame)
    assert np.abs(stamped.pixels.astype(int) - painted.pixels.astype(int)).mean() < 2.0
    words = Painter(100, 100, EVENING)
    words.lay(None)
    words.paint([Text(0.16, 0.16, "left", 20.0, "#ffffff", halo="#000000")], frame)
    assert words.pixels[:, :, :3].max() == 255


def test_looks_tell_takes_apart_without_colour() -> None:
    assert len(set(PATTERNS)) == len(PATTERNS)
    for look in LOOKS.values():
        assert len(look.takes) == TAKES_TOGETHER
        assert len(table_scene(Scenario(balls={"cue": (0.5, 0.5)}).table.edge, look)) > 20


@pytest.mark.parametrize("look", [EVENING, PROJECTOR], ids=lambda look: look.name)
def test_lines_stand_out_from_the_cloth(look: object) -> None:
    """WCAG 2.2, 1.4.11: graphics have a contrast of 3:1 or more; text (1.4.3) 4.5:1."""
    assert isinstance(look, type(EVENING))

    def luminance(colour: str) -> float:
        parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
        r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    def contrast(one: str, two: str) -> float:
        a, b = sorted((luminance(one), luminance(two)))
        return (b + 0.05) / (a + 0.05)

    for colour in look.takes:
        assert contrast(colour, look.cloth) >= 3.0, colour
    assert contrast(look.text, look.panel) >= 4.5
    assert contrast(look.muted, look.panel) >= 4.5
    assert contrast(look.ink, look.cloth) >= 4.5


def test_ball_colours_of_the_trade() -> None:
    """Common practice, no source: 1 yellow, 2 blue, 3 red, 8 black."""
    assert set(BALL_COLOURS) == set(range(1, 9))
    for number, strongest in ((2, 2), (3, 0), (6, 1)):
        parts = [int(BALL_COLOURS[number][k : k + 2], 16) for k in (1, 3, 5)]
        assert parts.index(max(parts)) == strongest
    assert max(int(BALL_COLOURS[8][k : k + 2], 16) for k in (1, 3, 5)) < 40
    assert len(balls_scene(open_scenario("opening-break"))) == 16


def test_words_in_both_englishes() -> None:
    assert said("Aim right, opposite the english.", True) == "Aim right, opposite the side."
    assert said("Aim right, opposite the english.", False) == "Aim right, opposite the english."
    assert all(words.endswith(".") and words.count(". ") == 0 for words in TERMS.values())


def test_any_words_can_be_drawn() -> None:
    frame = Frame(np.array([[1.0, 0.0], [0.0, -1.0]]), np.array([50.0, 50.0]))
    painter = Painter(200, 100, EVENING)
    for words in ("", "  ", r"$\foo$", "100 $ and $", "Ünïcode – 台球", "\u2192"):
        painter.paint([Text(0.0, 0.0, words, 12.0, "#ffffff", halo="#000000")], frame)


def test_ticks_show_where_the_cue_ball_lands_from_a_hop_until_it_meets_something() -> None:
    scenario = open_scenario("two-cues")
    hard = scenario.take_named("low-squirt, hard").model_copy(update={"elevation_deg": 8.0})
    near = scenario.change(balls={**scenario.balls, "cue": (1.45, 0.66)})
    for place, take, ticks in ((scenario, hard, 3), (near, hard, 1), (scenario, scenario.takes[0], 0)):
        found = predict_take(place, take)
        drawn = hop_scene(found, Pen("#ffffff", 1.0))
        assert len(drawn) == ticks
        assert found.track is not None
        for shape, when in zip(drawn, found.hop.landings_s if found.hop else (), strict=False):
            assert isinstance(shape, Path)
            ball = found.track.state_of(0, when)
            assert shape.points.mean(axis=0) == pytest.approx([ball.x, ball.y])
            assert (shape.points[1] - shape.points[0]) @ [ball.vx, ball.vy] == pytest.approx(0.0, abs=1e-12)
