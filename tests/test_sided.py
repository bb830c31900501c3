"""The squirt test with both sides of english, and its pace by a stopwatch."""

from __future__ import annotations

import json
import math
import subprocess
import sys

import pytest

from tablesim.errors import ScenarioError
from tablesim.model.gear import Cloth, Cue
from tablesim.model.scenario import Scenario
from tablesim.study.calibrate import remark
from tablesim.study.calibrate_cue import SquirtTest, _off_line, calibrate_cue, timed_pace
from tablesim.study.sided import Off, off_of, parse_off


def command(words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "tablesim", *words.split()], capture_output=True, text=True)


PLACE = Scenario(balls={"cue": (0.635, 0.635)})
TEST = SquirtTest(7.0, 1.8, 4.0, 3.0)
CUE = Cue(ball_to_end_mass=30.0)


def test_both_sides_tell_the_cue_from_an_eye_that_is_off() -> None:
    """An eye 6 mm to the left adds to readings with right english and takes from those with left."""
    true = _off_line(PLACE, CUE, TEST).net_mm
    found = calibrate_cue(PLACE, Cue(), TEST, Off(right=(true + 6.0, true + 6.0, true + 6.0), left=(true - 6.0,)))
    assert found.ball_to_end_mass.value == pytest.approx(30.0, rel=1e-6)
    assert found.bias_mm == pytest.approx(6.0)
    assert "all balls went 6.0 mm to the left" in remark(found)


def test_both_sides_tell_the_cue_from_a_tip_that_is_off() -> None:
    """A tip half a millimetre farther right than it is thought, on either side: the cue within a per mille."""
    from dataclasses import replace

    right, left = (_off_line(PLACE, CUE, replace(TEST, offset_mm=7.0 + step)).net_mm for step in (0.5, -0.5))
    found = calibrate_cue(PLACE, Cue(), TEST, Off(right=(right,), left=(left,)))
    assert found.ball_to_end_mass.value == pytest.approx(30.0, rel=2e-3)
    assert found.tip_bias_mm == pytest.approx(0.5, rel=0.01)
    assert "0.5 mm farther right than it was thought" in remark(found)
    one_sided = calibrate_cue(PLACE, Cue(), TEST, Off(right=(right,)))
    assert abs(one_sided.ball_to_end_mass.value - 30.0) > 1.0
    assert "34r 36l" in remark(one_sided)


def test_readings_of_opposite_signs_are_not_averaged() -> None:
    with pytest.raises(ScenarioError, match=r"off the line: .* one sign; got -36 and 34\. .* 34r 36l"):
        calibrate_cue(PLACE, Cue(), TEST, [34.0, -36.0])
    done = command("calibrate cue --off 34 --off -36 --offset 7 --distance 1.8 --pace 4 --elevation 3")
    assert done.returncode == 2
    assert done.stderr.startswith("tablesim: off the line: must be counted away from the english")
    with pytest.raises(ScenarioError, match="got both kinds"):
        off_of(parse_off(["34r", "35"], "--off"), "--off")
    for word in ("", "r", "34x", "1e400", "nan", "3.4.5", "34rl"):
        with pytest.raises(ScenarioError, match="--off: must be numbers, each with the side"):
            parse_off([word], "--off")
    assert parse_off(["34R", "-2l", "3.5 r"], "--off") == Off(right=(34.0, 3.5), left=(-2.0,))


def test_a_side_has_its_own_scatter() -> None:
    """Readings that differ by the bias alone do not widen the error bar."""
    biased = Off(right=(40.0, 41.0, 39.0), left=(20.0, 21.0, 19.0)).reading(0.5)
    assert biased.mean == 30.0
    assert biased.error == pytest.approx(0.5 * math.hypot(1 / math.sqrt(3), 1 / math.sqrt(3)))


def test_a_pace_by_metres_and_seconds() -> None:
    """By hand: d = v t - mu g t^2 / 2 while it slides, until t = 2 v / (7 mu g)."""
    v, mu = 3.0, 0.2
    slides = 2 * v / (7 * mu * 9.81)
    t = 0.5 * slides
    assert timed_pace(PLACE, v * t - 0.5 * mu * 9.81 * t * t, t) == pytest.approx(v, rel=1e-4)
    rolling, g = 5 / 7 * v, 9.81
    d = v * slides - 0.5 * mu * g * slides**2 + rolling * 1.0 - 0.5 * 0.01 * g
    assert timed_pace(PLACE, d, slides + 1.0) == pytest.approx(v, rel=1e-4)
    slow = PLACE.change(cloth=Cloth(rolling_resistance=0.03))
    assert timed_pace(slow, d, slides + 1.0) > v
    with pytest.raises(ScenarioError, match=r"seconds: must be those of a pace .* 0\.01 s over 3 m is none"):
        timed_pace(PLACE, 3.0, 0.01)


def test_timed_on_the_command_line() -> None:
    words = "calibrate cue --off 34r,35r --off 38l --moved 9.8 --distance 1.8 --elevation 3 --json"
    timed = command(f"{words} --timed 1.8,0.55")
    assert timed.returncode == 0, timed.stderr
    paced = command(f"{words} --pace {timed_pace(PLACE, 1.8, 0.55)!r}")
    one, other = (json.loads(done.stdout)["finding"]["ball_to_end_mass"]["value"] for done in (timed, paced))
    assert one == pytest.approx(other, rel=1e-9)
    assert '"bias_mm": -1.75' in timed.stdout
    assert "only one of them" in command(f"{words} --timed 1.8,0.55 --pace 4").stderr
