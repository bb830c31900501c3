"""Speed, as figures: run with ``pytest tests/benchmarks --benchmark-enable -n 0``.

Targets are for compiled kernels on one core and stand in each name's docstring;
machines are noisy, so nothing here asserts a time.
"""

from __future__ import annotations

import math
import subprocess
import sys
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from conftest import RADIUS, layout, moving, rack, setup_for

from tablesim.physics import jit
from tablesim.physics.cushion import STEP_ERROR
from tablesim.physics.simulation import Simulation
from tablesim.resources import open_scenario
from tablesim.study.correct import correct_take
from tablesim.study.sweep import Axis, sweep


def three_cushion_start() -> np.ndarray:
    """A cue ball with running english that meets a ball and three cushions before it rests."""
    v, a = 3.2, 0.74
    return layout((0.5, 0.3, v * math.cos(a), v * math.sin(a), 0.0, 0.0, 15.0), (0.79, 0.66))


def varied_starts(count: int) -> list[np.ndarray]:
    rng = np.random.default_rng(1)
    starts = []
    for _ in range(count):
        v, a = rng.uniform(1, 3), rng.uniform(-0.05, 0.05)
        spin = (0.0, rng.uniform(-0.5, 0.5) * v / RADIUS, rng.uniform(-0.8, 0.8) * v / RADIUS)
        starts.append(layout((0.6, 0.6, v * math.cos(a), v * math.sin(a), *spin), (1.6, 0.62)))
    return starts


def test_two_balls_three_cushions(benchmark: Any, fast: SimpleNamespace) -> None:
    """Target: 60 microseconds."""
    setup, start = setup_for(2), three_cushion_start()

    benchmark(lambda: Simulation(setup, start).advance(np.inf))
    simulation = Simulation(setup, start)
    simulation.advance(np.inf)
    events = simulation.track().events
    assert sum(e.kind == "edge" for e in events) == 3
    assert sum(e.kind == "ball" for e in events) >= 1


def test_full_rack_break(benchmark: Any, fast: SimpleNamespace) -> None:
    """Target: 3 ms."""
    setup, start = setup_for(16), rack(gap=1e-4, speed=9.5)

    benchmark(lambda: Simulation(setup, start).advance(np.inf))


def test_a_thousand_varied_shots(benchmark: Any, fast: SimpleNamespace) -> None:
    """Target: 60 ms on one core."""
    setup, starts = setup_for(2), varied_starts(1000)

    def batch() -> None:
        for start in starts:
            Simulation(setup, start).advance(np.inf)

    benchmark(batch)


def test_cushion_oblique(benchmark: Any, fast: SimpleNamespace) -> None:
    benchmark(
        lambda: fast.bounce_cushion(
            moving((-1.0, 1.5), (-1.5 / RADIUS, -1.0 / RADIUS, -20.0)), RADIUS, 0.27, 0.85, 0.14, 0.2, STEP_ERROR
        )
    )


def test_cushion_head_on(benchmark: Any, fast: SimpleNamespace) -> None:
    """The costly case: the nose slip dies just as the ball leaves."""
    benchmark(
        lambda: fast.bounce_cushion(
            moving((0.15, 1.5), (-1.5 / RADIUS, 0.15 / RADIUS, 0.0)), RADIUS, 0.27, 0.85, 0.14, 0.2, STEP_ERROR
        )
    )


@pytest.mark.parametrize("name", ["two-cues"])
def test_predict_as_a_process(benchmark: Any, name: str) -> None:
    """Target: 1.2 s warm, as a whole process."""
    command = [sys.executable, "-m", "tablesim", "predict", name]
    benchmark.pedantic(lambda: subprocess.run(command, capture_output=True, check=True), rounds=3, warmup_rounds=1)


def test_one_correction(benchmark: Any, fast: SimpleNamespace) -> None:
    """Target: 2 ms."""
    scenario = open_scenario("two-cues")
    take = scenario.take_named("wood, medium")

    benchmark(lambda: correct_take(scenario, take))


@pytest.mark.skipif(not jit.wanted(), reason="four thousand corrections in plain Python take minutes")
def test_map_of_64_by_64_corrections(benchmark: Any, fast: SimpleNamespace) -> None:
    """Target: 2 s on two cores.  Where nothing is measured, a small map is enough to see that it can be made."""
    scenario, last = open_scenario("two-cues"), 63 if benchmark.enabled else 7
    axes = (
        Axis("pace", tuple(1.0 + 5.0 * k / last for k in range(last + 1))),
        Axis("side", tuple(-0.45 + 0.9 * k / last for k in range(last + 1))),
    )
    benchmark.pedantic(lambda: sweep(scenario, scenario.takes[1], axes), rounds=2)
