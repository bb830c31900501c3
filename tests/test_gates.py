"""Gates and crossings, by geometry and by small steps of time; all as plain functions."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
from conftest import RADIUS, edge_of, moving

from tablesim.physics import aim
from tablesim.physics.aim import Mouth
from tablesim.physics.cloth import motion
from tablesim.physics.constants import FROZEN_M, TOUCH_M
from tablesim.physics.edge import NOSES, POCKETS
from tablesim.physics.records import BallState, ClothLaw

LAW = ClothLaw(0.2, 0.01, 10.0, 9.81)
NOSE = 0.0275
STRAIGHT = Mouth(2.0, 0.5, 1.0, 0.0, 0.06)
TILTED = Mouth(2.0, 0.5, 0.6, 0.8, 0.06)
MOUTHS = [STRAIGHT, TILTED, Mouth(0.1, 0.2, -0.8, 0.6, 0.06), Mouth(1.0, 0.0, 0.0, -1.0, 0.06)]


def at(ball: BallState, x: float, y: float) -> BallState:
    return ball._replace(x=x, y=y)


def place(mouth: Mouth, deep: float, left: float) -> tuple[float, float]:
    """A point by its depth beyond a mouth line and its distance left of the mouth's centre."""
    return (
        mouth.x + deep * mouth.into[0] + left * mouth.left[0],
        mouth.y + deep * mouth.into[1] + left * mouth.left[1],
    )


def steps(ball: BallState, length: float, dt: float = 2e-5) -> Iterator[tuple[float, float, float, float]]:
    """Place and velocity of a ball on the cloth, in small steps: friction against the slip, then rolling resistance."""
    x, y, vx, vy, wx, wy, _ = ball
    for _ in range(round(length / dt)):
        ux, uy = vx - RADIUS * wy, vy + RADIUS * wx
        slip, speed = math.hypot(ux, uy), math.hypot(vx, vy)
        if slip > 3.5 * LAW.mu_s * LAW.gravity * dt:
            fx, fy = -LAW.mu_s * LAW.gravity * ux / slip, -LAW.mu_s * LAW.gravity * uy / slip
            wx, wy = wx + 2.5 / RADIUS * fy * dt, wy - 2.5 / RADIUS * fx * dt
        else:
            fx, fy = (-LAW.mu_r * LAW.gravity * v / speed for v in (vx, vy))
            wx, wy = -(vy + fy * dt) / RADIUS, (vx + fx * dt) / RADIUS
        x, y = x + vx * dt + 0.5 * fx * dt * dt, y + vy * dt + 0.5 * fy * dt * dt
        vx, vy = vx + fx * dt, vy + fy * dt
        yield x, y, vx, vy


def rolling(vx: float, vy: float) -> BallState:
    return moving((vx, vy), (-vy / RADIUS, vx / RADIUS, 0.0))


@pytest.mark.parametrize("turns", [-2, -1, 0, 1, 2])
@pytest.mark.parametrize("angle", [-3.0, -0.5, 0.0, 1.0, 3.1])
def test_an_angle_is_the_same_after_whole_turns(angle: float, turns: int) -> None:
    assert aim.turn_within(angle + turns * math.tau) == pytest.approx(angle, abs=1e-12)


def test_mouths_lie_at_the_table_s_pockets() -> None:
    """Into a pocket is out of the table; to the left of a ball that enters is a quarter of a turn on."""
    edge = edge_of()
    for row in range(len(POCKETS)):
        mouth = aim.mouth_of(edge, row)
        outward = (mouth.x - 0.5 * edge.length) * mouth.into[0] + (mouth.y - 0.5 * edge.width) * mouth.into[1]
        assert outward > 0.5
        assert math.hypot(*mouth.into) == pytest.approx(1.0)
        assert mouth.into[0] * mouth.left[1] - mouth.into[1] * mouth.left[0] == pytest.approx(1.0)
        assert mouth.half_width == edge.mouths[row, 4]


@pytest.mark.parametrize("mouth", MOUTHS)
@pytest.mark.parametrize(("deep", "left"), [(0.03, 0.2), (-0.4, -0.1), (0.0, 0.05)])
def test_depth_is_measured_across_the_mouth_line(mouth: Mouth, deep: float, left: float) -> None:
    assert aim.depth_in(mouth, *place(mouth, deep, left)) == pytest.approx(deep, abs=1e-12)


@pytest.mark.parametrize("row", range(len(POCKETS)))
def test_the_gate_is_the_mouth_line_or_twice_as_deep_as_the_balls_front(row: int) -> None:
    edge = edge_of()
    mouth = aim.mouth_of(edge, row)
    assert aim.gate_at(edge, row, *place(mouth, -NOSE, 0.01), NOSE) == mouth
    assert aim.gate_at(edge, row, *place(mouth, -NOSE - 0.3, 0.01), NOSE) == mouth
    for front in (0.001, 0.02, 0.05):
        gate = aim.gate_at(edge, row, *place(mouth, front - NOSE, 0.01), NOSE)
        assert (gate.x, gate.y) == pytest.approx(place(mouth, 2.0 * (front - TOUCH_M), 0.0), abs=1e-12)
        assert gate[2:] == mouth[2:]


@pytest.mark.parametrize("mouth", MOUTHS)
@pytest.mark.parametrize("left", [-0.05, 0.0, 0.03])
@pytest.mark.parametrize("off", [-0.9, 0.0, 0.4])
def test_a_straight_line_crosses_where_it_leads(mouth: Mouth, left: float, off: float) -> None:
    """From half a metre before and behind a point of the line, to it, or away from it."""
    x, y = place(mouth, 0.0, left)
    line = math.atan2(mouth.into[1], mouth.into[0]) + off
    vx, vy = 2.0 * math.cos(line), 2.0 * math.sin(line)
    ball = moving((vx, vy))
    assert aim.speed_into(mouth, ball) == pytest.approx(2.0 * math.cos(off))
    for way in (-0.25, 0.25):
        assert aim.crossing_ahead(mouth, at(ball, x + way * vx, y + way * vy)) == pytest.approx(left, abs=1e-12)
    back = moving((-vx, -vy))
    assert math.isnan(aim.crossing_ahead(mouth, at(back, x - 0.25 * vx, y - 0.25 * vy)))
    assert math.isnan(aim.crossing_ahead(mouth, moving((0.0, 0.0))))


@pytest.mark.parametrize("mouth", MOUTHS)
def test_a_rolling_ball_crosses_when_it_comes_there(mouth: Mouth) -> None:
    """Slowed by 0.0981 m/s^2.  It stays on its line, so where it crosses is known before."""
    x, y = place(mouth, -0.4, -0.03)
    line = math.atan2(mouth.into[1], mouth.into[0]) + math.atan(0.05)
    ball = at(rolling(math.cos(line), math.sin(line)), x, y)
    rates = motion(ball, RADIUS, LAW)
    way = 0.4 * math.hypot(1.0, 0.05)
    wait = (1.0 - math.sqrt(1.0 - 2.0 * 0.0981 * way)) / 0.0981
    for length, comes in ((wait - 1e-6, False), (wait + 1e-6, True), (rates.duration, True), (0.01, False)):
        crosses, crossing = aim.crossing_within(mouth, ball, rates, LAW, length)
        assert crosses == comes
        assert crossing == pytest.approx(-0.01, abs=1e-9)


def test_a_ball_beyond_the_line_or_on_it_crosses_no_more() -> None:
    for x in (2.0, 2.01):
        ball = at(rolling(1.0, 0.0), x, 0.47)
        crosses, crossing = aim.crossing_within(STRAIGHT, ball, motion(ball, RADIUS, LAW), LAW, 1.0)
        assert not crosses
        assert crossing == pytest.approx(-0.03)


def test_a_ball_that_stops_short_would_have_crossed_on_its_line() -> None:
    ball = at(rolling(0.1, 0.01), 1.0, 0.4)
    assert aim.crossing_by(STRAIGHT, ball, RADIUS, LAW, 60.0) == pytest.approx(0.0, abs=1e-6)
    crosses, _ = aim.crossing_within(STRAIGHT, ball, motion(ball, RADIUS, LAW), LAW, 60.0)
    assert not crosses


@pytest.mark.parametrize("x", [1.9, 1.6, 0.8])
@pytest.mark.parametrize("spin", [-150.0, 0.0, 80.0])
def test_a_curving_ball_crosses_where_small_steps_of_time_lead(x: float, spin: float) -> None:
    """It slides on a curve, then rolls: the line lies within the slide, near its end, and well beyond."""
    ball = at(moving((1.5, 0.1), (spin, 10.0, 0.0)), x, 0.5)
    last = (ball.x, ball.y)
    for now in steps(ball, 1.5):
        if now[0] >= 2.0:
            break
        last = now[:2]
    expected = last[1] + (2.0 - last[0]) * now[3] / now[2] - 0.5
    assert aim.crossing_by(STRAIGHT, ball, RADIUS, LAW, 1.5) == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize("length", [0.02, 0.1, 0.4])
def test_left_alone_for_a_while_a_ball_is_taken_to_go_on_straight(length: float) -> None:
    ball = at(moving((1.5, 0.1), (-150.0, 10.0, 0.0)), 0.8, 0.5)
    *_, (x, y, vx, vy) = steps(ball, length)
    expected = y + (2.0 - x) * vy / vx - 0.5
    assert aim.crossing_by(STRAIGHT, ball, RADIUS, LAW, length) == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize(("ball", "length"), [(moving((0.0, 0.0)), 1.0), (rolling(1.0, 0.0), 0.0)])
def test_a_ball_that_does_not_move_heads_nowhere(ball: BallState, length: float) -> None:
    assert math.isnan(aim.crossing_by(STRAIGHT, ball, RADIUS, LAW, length))


@pytest.mark.parametrize("mouth", MOUTHS)
@pytest.mark.parametrize(
    ("deep", "into", "leaves"),
    [(-0.01, -0.5, True), (-0.01, 0.5, False), (0.01, -0.5, False), (0.01, 0.5, False), (-0.01, 0.0, False)],
)
def test_a_ball_leaves_a_mouth_outside_it_on_its_way_out(mouth: Mouth, deep: float, into: float, leaves: bool) -> None:
    along = moving((into * mouth.into[0], into * mouth.into[1])) if into else moving((0.0, 0.0))
    assert aim.leaves_mouth(mouth, at(along, *place(mouth, deep, 0.02))) == leaves


@pytest.mark.parametrize("mouth", MOUTHS)
def test_a_ball_is_lost_four_half_mouths_off_or_on_its_way_out(mouth: Mouth) -> None:
    coming = moving((0.5 * mouth.into[0], 0.5 * mouth.into[1]))
    leaving = moving((-0.5 * mouth.into[0], -0.5 * mouth.into[1]))
    for left, deep in ((0.0, -1.0), (1.0, 0.0), (0.6, -0.8)):
        near, far = (place(mouth, share * 0.24 * deep, share * 0.24 * left) for share in (0.999, 1.001))
        assert not aim.is_lost(mouth, at(coming, *near))
        assert aim.is_lost(mouth, at(coming, *far))
    assert aim.is_lost(mouth, at(leaving, *place(mouth, -0.01, 0.0)))
    assert not aim.is_lost(mouth, at(leaving, *place(mouth, 0.01, 0.0)))


def test_a_ball_is_frozen_to_the_nose_that_it_touches() -> None:
    """Half-way along each of six noses, and nowhere else; a pocket's mouth is no nose."""
    edge = edge_of()
    length, width = edge.length, edge.width
    sides = [(0.25 * length, 0.0), (0.75 * length, 0.0), (0.25 * length, width), (0.75 * length, width),
             (0.0, 0.5 * width), (length, 0.5 * width)]  # fmt: skip
    rows = []
    for x, y in sides:
        nx, ny = np.sign(0.5 * length - x) * (x in (0.0, length)), np.sign(0.5 * width - y) * (y in (0.0, width))
        touching, apart = ((x + nx * gap, y + ny * gap) for gap in (NOSE + 0.999 * FROZEN_M, NOSE + 1.001 * FROZEN_M))
        rows.append(aim.rail_beside(edge, *touching, NOSE))
        assert aim.rail_beside(edge, *apart, NOSE) == -1
        assert tuple(edge.lines[rows[-1], 5:7]) == pytest.approx((nx, ny))
    assert sorted(rows) == list(range(len(NOSES)))
    assert aim.rail_beside(edge, 0.5 * length, NOSE, NOSE) == -1
    assert aim.rail_beside(edge, 0.5 * length, 0.5 * width, NOSE) == -1


@pytest.mark.parametrize("angle", [0.0, 1.0, 4.0])
def test_balls_are_frozen_within_the_gap_that_counts_as_none(angle: float) -> None:
    one = at(moving((0.0, 0.0)), 0.7, 0.4)
    for gap, frozen in ((-1e-9, True), (0.999 * FROZEN_M, True), (1.001 * FROZEN_M, False), (0.1, False)):
        reach = 2.0 * RADIUS + gap
        other = at(one, 0.7 + reach * math.cos(angle), 0.4 + reach * math.sin(angle))
        assert aim.are_frozen(one, other, 2.0 * RADIUS) == frozen
