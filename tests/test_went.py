"""How a shot went: no sentence of any surface contradicts the events."""

from __future__ import annotations

import math
import re
from types import SimpleNamespace

import numpy as np
import pytest
from windows import random_layout

from tablesim.errors import AimImpossible
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.output.sheet_words import watch_line
from tablesim.physics import jit
from tablesim.study.answer import answer_take
from tablesim.study.change import fate
from tablesim.study.correct import correct_take
from tablesim.study.explain import explain_take
from tablesim.study.predict import Prediction, predict_take
from tablesim.study.went import fate_words, spoken_pocket

GOES_IN = re.compile(r"\bit goes in\b", re.IGNORECASE)
TAKES = 500 if jit.wanted() else 20


def some_take(rng: np.random.Generator, scenario: Scenario) -> Take:
    """The layout's take with an aim of any kind: near the target ball, at the pocket, or corrected."""
    (cx, cy), (tx, ty) = scenario.balls["cue"], scenario.balls["1"]
    full = math.degrees(math.atan2(ty - cy, tx - cx))
    kind = rng.integers(4)
    if kind == 0:
        aim = Aim(toward="pocket", offset_mm=float(rng.uniform(-300, 300)))
    elif kind == 1:
        aim = Aim(corrected=True)
    elif kind == 2:
        aim = Aim(heading_deg=float(rng.uniform(-180, 180)))
    else:
        aim = Aim(heading_deg=full + float(rng.normal()) * 2.0)
    return scenario.takes[0].model_copy(update={"aim": aim})


def dropped(played: Prediction, ball: str) -> str | None:
    """The pocket that a ball drops in, by the events."""
    return next((ev.where for ev in played.events if ev.what == "potted" and ev.balls == (ball,)), None)


def meets_after(played: Prediction, ball: str) -> bool:
    """True if a ball meets anything once it has been struck."""
    mine = [ev for ev in played.events if ball in ev.balls and ev.what in ("meets", "cushion")]
    return len(mine) > 1


@pytest.mark.parametrize("seed", range(10))
def test_no_sentence_contradicts_the_events(seed: int, fast: SimpleNamespace) -> None:
    rng = np.random.default_rng(40_000 + seed)
    for k in range(TAKES // 10):
        scenario = random_layout(rng, k % 2 == 1)
        take = some_take(rng, scenario)
        try:
            answer = answer_take(scenario, take)
            told = explain_take(scenario, take, answer.correction, answer.aimed)
        except AimImpossible:
            continue
        if answer.aimed is None or (take.aim.corrected and answer.corrected is None):
            continue
        aimed, pocket = answer.aimed, scenario.target.pocket  # type: ignore[union-attr]
        where = dropped(aimed, "1")
        words = fate_words(aimed.target)
        assert words.startswith("goes in") == (where == pocket), (seed, k)
        assert ("drops in" in words) == (where is not None and where != pocket)
        assert fate(answer).startswith(words)
        assert words in watch_line(scenario, answer)
        if words == "stops short":
            assert not any(ev.what == "potted" for ev in aimed.events if ev.balls == ("1",))
        if words == "is not reached":
            assert not any(ev.what == "meets" and "1" in ev.balls for ev in aimed.events)
        # The reading speaks of the take's own aim.
        assert bool(GOES_IN.search(told.reading)) == (where == pocket), (seed, k, told.reading)
        if "too soft" in told.reading:
            harder = float(re.search(r"it takes ([0-9.]+) m/s", told.reading)[1])  # type: ignore[index]
            assert correct_take(scenario, take.model_copy(update={"pace_m_s": harder})).heading_deg is not None
        # A scratch is told, with its pocket, as aimed and as corrected.
        scratch = dropped(aimed, "cue")
        assert ("The cue ball drops in" in answer.remarks) == (scratch is not None), (seed, k)
        assert ("The cue ball drops in" in told.remark) == (scratch is not None), (seed, k)
        if scratch is not None:
            assert spoken_pocket(scratch) in answer.remarks
            assert spoken_pocket(scratch) in told.remark
        if answer.corrected is not None:
            also = dropped(answer.corrected, "cue")
            assert dropped(answer.corrected, "1") == pocket
            assert ("cue ball drops too" in (answer.correction.warning or "")) == (also is not None)  # type: ignore[union-attr]
            if also is not None:
                assert spoken_pocket(also) in answer.remarks


def bank() -> Scenario:
    """A bank across the table, found by a scan: off the right rail into the left side pocket."""
    take = Take(name="t", pace_m_s=3.0, elevation_deg=2.0, aim=Aim(heading_deg=0.0))
    return Scenario(
        balls={"cue": (0.5, 0.75), "1": (0.9, 0.5)}, target=Target(ball="1", pocket="side-left"), takes=[take]
    )


def test_a_bank_that_pots_is_a_pot_everywhere(fast: SimpleNamespace) -> None:
    scenario = bank()
    heading = math.degrees(math.atan2(-0.25, 0.4))
    found = None
    for off in np.arange(-8.0, 8.0, 0.02):
        take = scenario.takes[0].model_copy(update={"aim": Aim(heading_deg=heading + float(off))})
        played = predict_take(scenario, take)
        if played.target.outcome == "potted" and "off the right rail" in played.target.by:
            found = take
            break
    assert found is not None
    told = explain_take(scenario, found)
    assert "it goes in off the right rail" in told.reading.replace("It", "it")
    assert "goes in off the right rail" in watch_line(scenario, answer_take(scenario, found))


def test_jaws_are_told_apart(fast: SimpleNamespace) -> None:
    """Along the left rail into the left foot pocket: the near jaw is the one on that rail."""
    scenario = Scenario(
        balls={"cue": (1.0, 0.9), "1": (1.9, 1.1)}, target=Target(ball="1", pocket="foot-left"),
        takes=[Take(name="t", pace_m_s=1.5, tip=Tip(), elevation_deg=2.0)],
    )  # fmt: skip
    found = correct_take(scenario, scenario.takes[0])
    assert found.heading_deg is not None
    assert found.window_deg is not None
    seen = set()
    for share in np.linspace(-0.48, 0.48, 25):
        aim = Aim(heading_deg=found.heading_deg + float(share) * found.window_deg)
        target = predict_take(scenario, scenario.takes[0].model_copy(update={"aim": aim})).target
        assert target.outcome == "potted"
        side = "left" if (target.miss_mm or 0.0) > 0 else "right"
        for jaw in target.by:
            seen.add(jaw)
            plainly = len(target.by) == 1 and abs(target.miss_mm or 0.0) > 5.0
            if jaw == "off the near jaw" and plainly:
                assert side == "left"
            if jaw == "off the far jaw" and plainly:
                assert side == "right"
    assert "off the far jaw" in seen or "off the near jaw" in seen
