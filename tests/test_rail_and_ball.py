"""A rail and a ball met together: one rule, continuous in the hit (engine.py)."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from conftest import RADIUS, SIN_THETA, layout, setup_for

from tablesim.physics.constants import FROZEN_M
from tablesim.physics.records import BallState
from tablesim.physics.simulation import Simulation
from tablesim.units import INCH_M

WIDTH = 50 * INCH_M
RHO = RADIUS * math.sqrt(1 - SIN_THETA**2)
OBJECT = (1.6, WIDTH - RHO)
GHOST = (OBJECT[0] - 2 * RADIUS, OBJECT[1])


def kinetic(balls: tuple[BallState, ...]) -> float:
    """Kinetic energy over half the mass [m^2/s^2]."""
    return sum(b.vx**2 + b.vy**2 + 0.4 * RADIUS**2 * (b.wx**2 + b.wy**2 + b.wz**2) for b in balls)


def rolled(angle_deg: float, aside_m: float, speed: float) -> tuple[float, float, bool]:
    """A cue ball rolled toward the place where it meets rail and frozen ball at once, ``aside_m`` off it.

    Returns the object ball's throw [deg], how far off the rail the cue ball is a
    fifth of a second later [m], and whether the rail came first.
    """
    a = math.radians(angle_deg)
    cue = (GHOST[0] - 0.5 * math.cos(a), GHOST[1] - 0.5 * math.sin(a))
    heading = a + aside_m / 0.5
    v = (speed * math.cos(heading), speed * math.sin(heading))
    start = layout((*cue, *v, -v[1] / RADIUS, v[0] / RADIUS), OBJECT)
    simulation = Simulation(setup_for(2), start)
    simulation.advance(0.5 / speed + 0.2)
    events = [ev for ev in simulation.track().events if ev.kind in ("ball", "edge") and 0 in (ev.first, ev.second)]
    hit = next(ev for ev in events if ev.kind == "ball")
    ball, (nx, ny) = hit.after[1], hit.normal
    cue_ball = simulation.track().state_of(0, simulation.time)
    throw = math.degrees(math.atan2(ball.vy, ball.vx) - math.atan2(ny, nx))
    return throw, WIDTH - cue_ball.y, events[0].kind == "edge"


@pytest.mark.parametrize("angle_deg", [10.0, 25.0, 40.0, 60.0])
def test_throw_and_cue_ball_change_without_a_jump(angle_deg: float, fast: SimpleNamespace) -> None:
    """Rounding decided which came first, and at 40 degrees a micrometre changed the throw by 1.4 degrees."""
    asides = np.arange(-1.5e-3, 0.5e-3, 1e-5)
    found = [rolled(angle_deg, aside, 2.0) for aside in asides]
    assert {first for _, _, first in found} == {True, False}
    throws, off = np.array([f[0] for f in found]), np.array([f[1] for f in found])
    assert np.abs(np.diff(throws)).max() < 0.1
    # A jump would stay as large however fine the steps are: ten times finer, all steps are smaller in proportion.
    steepest = asides[np.abs(np.diff(off)).argmax()]
    finer = [rolled(angle_deg, aside, 2.0) for aside in np.arange(steepest - 1e-5, steepest + 2e-5, 1e-6)]
    assert np.abs(np.diff([f[1] for f in finer])).max() < 0.2 * np.abs(np.diff(off)).max()
    assert np.abs(np.diff([f[0] for f in finer])).max() < 0.2 * max(np.abs(np.diff(throws)).max(), 1e-3)
    together = [rolled(angle_deg, aside, 2.0) for aside in np.arange(-2e-6, 2e-6, 1e-7)]
    assert np.ptp([f[0] for f in together]) < 0.02


def test_beyond_a_frozen_gap_it_is_the_balls_impact_alone(fast: SimpleNamespace) -> None:
    """With the rail farther than FROZEN_M when the balls meet, a rail that would strike otherwise changes nothing."""
    a = math.radians(40.0)
    for gap, alike in ((1.05 * FROZEN_M, True), (0.5 * FROZEN_M, False)):
        thrown = []
        for rail in (0.5, 0.9):
            at = (GHOST[0] + 1e-9, OBJECT[1] - gap)
            cue = (at[0] - 0.3 * math.cos(a), at[1] - 0.3 * math.sin(a))
            other = (at[0] + math.sqrt(4 * RADIUS**2 - gap**2), OBJECT[1])
            start = layout((*cue, 2.0 * math.cos(a), 2.0 * math.sin(a)), other)
            simulation = Simulation(setup_for(2, rail=rail), start)
            simulation.advance(0.5)
            hit = next(ev for ev in simulation.track().events if ev.kind == "ball")
            thrown.append(math.atan2(hit.after[1].vy, hit.after[1].vx))
        assert (abs(thrown[0] - thrown[1]) < 1e-9) == alike


HAIRS_BREADTH = {
    # Sliding ends in the last millimetre before the rail; and a jaw's point that the cue ball just touches or passes.
    "end of a phase": (
        (1.3855495019657622, 1.2424862662941305),
        (1.4980767083968556, 1.1592194354874308, -0.40451497947277626, 0.608105918303333, 14.896732906818308,
         9.909378324792419),
        (1.4980767083918929, 1.1592194354841296, -0.40451497947277626, 0.608105918303333, 14.896732906818308,
         9.909378324792419),
    ),
    "a jaw's point": (
        (2.5134731124469933, 1.2551126667686254),
        (2.5094214603828737, 1.1892237669867312, 0.970233972480852, 1.7488985215397792),
        (2.509421462131772, 1.1892237660164975, 0.970233622701128, 1.7488987155865388),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", HAIRS_BREADTH)
def test_a_hairs_breadth_decides_nothing(name: str, kernels: SimpleNamespace) -> None:
    """Where the balls went 25 % and 38 % faster or slower."""
    other, *starts = HAIRS_BREADTH[name]
    after = []
    for start in starts:
        simulation = Simulation(setup_for(2), layout(start, other))
        simulation.advance(0.4)
        hit = next(ev for ev in simulation.track().events if ev.kind == "ball")
        after.append([hit.after[0].vx, hit.after[0].vy, hit.after[1].vx, hit.after[1].vy])
    assert after[0] == pytest.approx(after[1], abs=1e-5)


def test_exactly_together_is_the_rail_first(kernels: SimpleNamespace) -> None:
    """At no gap at all the outcome is that of the rail's impact and then the balls'."""
    before, after = (rolled(40.0, aside, 2.0)[:2] for aside in (-1e-9, 1e-7))
    assert before == pytest.approx(after, abs=2e-3)


@pytest.mark.parametrize("seed", range(6))
def test_no_energy_is_made(seed: int, fast: SimpleNamespace) -> None:
    rng = np.random.default_rng(seed)
    for _ in range(60):
        angle, aside, speed = rng.uniform(3, 85), rng.uniform(-1.2e-3, 0.2e-3), rng.uniform(0.3, 6.0)
        a = math.radians(angle) + aside / 0.3
        cue = (GHOST[0] - 0.3 * math.cos(math.radians(angle)), GHOST[1] - 0.3 * math.sin(math.radians(angle)))
        start = layout((*cue, speed * math.cos(a), speed * math.sin(a), *(rng.normal(size=3) * 40)), OBJECT)
        simulation = Simulation(setup_for(2), start)
        simulation.advance(np.inf)
        for ev in simulation.track().events:
            assert kinetic(ev.after) <= kinetic(ev.before) * (1 + 1e-11) + 1e-15
