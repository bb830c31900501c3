"""A miss that cannot be split at the pocket: which stage is lost is said, and what can be split still adds up."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tablesim.model.scenario import Scenario, to_json
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.resources import open_scenario
from tablesim.study.correct import correct
from tablesim.study.explain import Explanation, explain
from tablesim.study.predict import predict
from tablesim.study.setup import plain_heading
from tablesim.view.controls.dials import ledger_rows

BALLS = {"cue": (0.4827, 0.4038), "1": (1.7, 0.7)}  # 1.2 m apart, a cut of 23 degrees to the left foot pocket


def shot(balls: dict[str, tuple[float, float]] | None = None, right: float = 0.5, **take: Any) -> Scenario:
    """A shot on an 8-ft table with the ordinary cue, full english, 2 m/s, unless said otherwise."""
    how = {"pace_m_s": 2.0, "tip": Tip(right=right), **take}
    target = Target(ball="1", pocket="foot-left")
    return Scenario.model_validate(
        {"table": {"size": "8ft"}, "balls": balls or BALLS, "target": target, "takes": [Take(name="t", **how)]}
    )


def told(scenario: Scenario) -> Explanation:
    return explain(scenario)[0]


def mirrored(scenario: Scenario) -> Scenario:
    """The same shot to the other foot pocket, seen in a mirror along the table."""
    width, take = scenario.table.surface.width_m, scenario.takes[0]
    return scenario.change(
        balls={name: (x, width - y) for name, (x, y) in scenario.balls.items()},
        target=Target(ball="1", pocket="foot-right"),
        takes=[take.model_copy(update={"tip": Tip(right=-take.tip.right, up=take.tip.up)})],
    )


def output_of(*args: str) -> str:
    """What a command prints."""
    done = subprocess.run([sys.executable, "-m", "tablesim", *args], capture_output=True, text=True, check=True)
    return done.stdout


def test_the_stage_at_which_swerve_alone_passes_the_ball_is_named_with_the_miss() -> None:
    found = told(shot())
    assert "medium pace (2.0 m/s): swerve alone would carry the cue ball past ball 1, on its right;" in found.reading
    assert "squirt keeps it on. Aim 247 mm left of centre" in found.reading
    assert found.parts == ()
    assert found.remainder_mm is None
    assert found.miss_mm == pytest.approx(predict(shot())[0].target.miss_mm, abs=0.01)
    assert "on its left; squirt keeps it on" in told(mirrored(shot())).reading


def test_a_shaft_without_squirt_does_what_is_said_of_swerve_alone() -> None:
    """A cue whose shaft has all but no end mass, played to rest: it passes the ball, on the right of its centre."""
    scenario = shot()
    house = scenario.cues["house"].model_copy(update={"ball_to_end_mass": 1000.0})
    played = predict(scenario.change(cues={"house": house}))[0]
    met = next(event for event in played.events if event.what in ("meets", "cushion"))
    assert (met.what, met.balls) == ("cushion", ("cue",))
    (x, y), (tx, ty), heading = met.at_m, scenario.balls["1"], plain_heading(scenario)
    assert (y - ty) * math.cos(heading) - (x - tx) * math.sin(heading) < -0.5 * scenario.ball_set.diameter_m


def test_squirt_and_swerve_at_the_ball_are_the_free_cue_balls_and_add_up() -> None:
    """Against the engine's track on a table from which the target ball has been taken out of the way."""
    scenario = shot()
    at = told(scenario).off_line
    assert at is not None
    assert at.squirt_mm + at.swerve_mm == pytest.approx(at.net_mm, abs=1e-9)
    take, heading = scenario.takes[0], plain_heading(scenario)
    take = take.model_copy(update={"aim": Aim(heading_deg=math.degrees(heading))})
    track = predict(scenario.change(balls=BALLS | {"1": (0.2, 1.0)}, takes=[take]))[0].track
    assert track is not None
    (cx, cy), (tx, ty), u = BALLS["cue"], BALLS["1"], np.array([math.cos(heading), math.sin(heading)])
    level = (tx - cx) * u[0] + (ty - cy) * u[1]
    low, high = 0.0, 1.6
    for _ in range(60):
        time = 0.5 * (low + high)
        ball = track.state_of(0, time)
        low, high = (low, time) if (ball.x - cx) * u[0] + (ball.y - cy) * u[1] > level else (time, high)
    assert 1000.0 * ((ball.y - cy) * u[0] - (ball.x - cx) * u[1]) == pytest.approx(at.net_mm, abs=1e-3)
    launch = predict(scenario)[0].launch
    assert launch is not None
    assert 1000.0 * level * math.tan(math.radians(launch.squirt_deg)) == pytest.approx(at.squirt_mm, abs=1e-6)


def test_squirt_that_carries_the_cue_ball_past() -> None:
    found = told(shot(right=-0.5, pace_m_s=5.0))
    assert "squirt carries the cue ball past ball 1, on its right. Aim" in found.reading
    assert found.miss_mm is None
    played = predict(shot(right=-0.5, pace_m_s=5.0))[0]
    assert next(event.what for event in played.events if event.what in ("meets", "cushion")) == "cushion"


def test_an_aim_beside_the_ball_is_said_to_be_one() -> None:
    left = told(shot(aim=Aim(heading_deg=17.5)))
    assert "this aim sends the cue ball past ball 1, on its left. Aim" in left.reading
    assert left.aim_mm is None
    assert "this aim sends the cue ball away from ball 1. Aim" in told(shot(aim=Aim(heading_deg=150.0))).reading
    right = told(shot(right=0.0, aim=Aim(heading_deg=9.0)))
    assert "this aim sends the cue ball past ball 1, on its right. Aim" in right.reading


def test_the_plain_line_of_an_aim_that_works_may_pass_the_ball() -> None:
    """Thin cuts with english away from the cut: the cue points past the ball, squirt brings the cue ball on."""
    scenario = shot({"cue": (0.6, 1.0), "1": (1.2, 1.0)}, right=0.5, pace_m_s=4.0)
    for y in np.linspace(0.62, 0.8, 10):
        thin = scenario.change(balls={"cue": (0.75, float(y)), "1": (1.2, 0.5)})
        found = correct(thin)[0]
        if found.heading_deg is not None and found.aim_offset_mm is None:
            break
    take = thin.takes[0].model_copy(update={"aim": Aim(heading_deg=found.heading_deg)})
    reading = told(thin.change(takes=[take])).reading
    assert "this aim is the corrected one: it goes in, with 0.14° of room to turn the cue left and" in reading
    assert "Along the cue's line the cue ball would go past ball 1, on its " in reading
    assert reading.endswith("; squirt brings it on.")


def test_a_cushion_or_a_ball_in_the_way_of_a_stage() -> None:
    jaws = told(shot({"cue": (0.9, 0.5), "1": (2.31, 1.14)}))
    assert "swerve alone would carry the cue ball onto a cushion before it reaches ball 1; squirt makes" in jaws.reading
    frozen = told(shot({"cue": (0.6, 0.5), "1": (1.6, 1.1408)}))
    assert "this aim sends the cue ball onto a cushion before it reaches ball 1" in frozen.reading
    blocked = told(shot(BALLS | {"2": (1.2, 0.5)}))
    assert "swerve alone would carry the cue ball onto ball 2; squirt makes up for it" in blocked.reading


def test_too_soft_or_slipping_there_is_nothing_to_split() -> None:
    soft = told(shot(pace_m_s=0.8))
    assert "too soft" in soft.reading
    assert soft.reason == "this aim sends the cue ball not far enough to reach ball 1"
    assert soft.off_line is None
    assert ledger_rows(soft) == []
    slip = told(shot(right=0.7))
    assert slip.reading.startswith("Miscue")
    assert slip.off_line is None


def test_a_straight_shot_is_split_as_before() -> None:
    found = told(open_scenario("straight-in-with-english"))
    assert found.reason is None
    assert found.miss_mm == pytest.approx(sum(p.mm for p in found.parts) + found.remainder_mm, abs=1e-9)  # type: ignore[operator]


def test_the_bars_show_what_can_be_split() -> None:
    found = told(shot())
    rows = dict(ledger_rows(found))
    assert list(rows) == ["squirt", "swerve", "off line"]
    assert rows["squirt"] + rows["swerve"] == pytest.approx(rows["off line"])
    assert ledger_rows(told(shot(right=0.0, aim=Aim(heading_deg=9.0)))) == []
    assert next(reversed(dict(ledger_rows(told(open_scenario("two-cues")))))) == "in all"


def test_the_command_tells_it(tmp_path: Path) -> None:
    file = tmp_path / "shot.json"
    file.write_text(to_json(shot()), encoding="utf-8")
    printed = output_of("explain", str(file))
    assert "past ball 1, on its right; squirt keeps it on. Aim 247 mm left" in printed
    assert "1.25 m on: squirt +54.6, swerve -36.4, in all +18.3 mm." in printed
    assert printed.count("past ball 1") == 1
    (data,) = json.loads(output_of("explain", str(file), "--json"))["takes"]
    assert data["off_line"]["net_mm"] == pytest.approx(told(shot()).off_line.net_mm)  # type: ignore[union-attr]
