"""Two methods agreeing: scipy's general integrator on the raw equations of motion."""

from __future__ import annotations

import math
import os
import sys
from types import SimpleNamespace
from typing import NamedTuple

import numpy as np
import pytest
from conftest import RADIUS, moving
from scipy.integrate import solve_ivp

from tablesim.cli import main
from tablesim.physics import cushion_stiff, jit
from tablesim.physics.cloth import drift, motion
from tablesim.physics.constants import SLIDING
from tablesim.physics.cushion import STEP_ERROR
from tablesim.physics.records import BallState, ClothLaw
from tablesim.study.laws import cushion_law

K = 2.5
AGREEMENT = 1e-6  # relative, of speeds and of spins times the radius


def sliding(state: np.ndarray, mu_s: float) -> list[float]:
    """Raw equations: Coulomb friction at the lowest point of a solid ball, sidespin decaying apart."""
    _, _, vx, vy, wx, wy, _ = state
    ux, uy = vx - RADIUS * wy, vy + RADIUS * wx
    slip = math.hypot(ux, uy)
    fx, fy = -mu_s * 9.81 * ux / slip, -mu_s * 9.81 * uy / slip
    # torque = r x F with r = (0, 0, -R): per unit I / m = R^2 / k
    return [vx, vy, fx, fy, K / RADIUS * fy, -K / RADIUS * fx, -10.0]


@pytest.mark.parametrize("seed", range(20))
def test_sliding_and_swerve(seed: int) -> None:
    rng = np.random.default_rng(seed)
    start = np.array([0.0, 0.0, *rng.normal(size=2) * 2, *rng.normal(size=3) * 60])
    start[6] = abs(start[6]) + 20.0
    mu_s = rng.uniform(0.1, 0.4)
    ball = BallState(*start)
    rates = motion(ball, RADIUS, ClothLaw(mu_s, 0.01, 10.0, 9.81))
    assert rates.phase == SLIDING

    for part in (0.3, 0.9, 0.999):
        t = part * rates.duration
        found = drift(ball, rates, 10.0, t)
        reference = solve_ivp(lambda _, s: sliding(s, mu_s), (0, t), start, rtol=1e-11, atol=1e-12, method="DOP853")
        assert found == pytest.approx(reference.y[:, -1], rel=AGREEMENT, abs=1e-8)


class Hit(NamedTuple):
    """A ball's impact on a cushion: velocity [m/s], spin [rad/s], radius [m], sin(theta), restitution, frictions."""

    v: np.ndarray
    w: np.ndarray
    radius: float
    s: float
    e: float
    mu_w: float
    mu_s: float


def cushion_reference(hit: Hit, soft: float) -> np.ndarray:
    """The impulse equations as printed in Mathavan et al. 2010, integrated over the normal impulse.

    Coulomb's direction s/|s| is softened below a slip of ``soft`` m/s, so that a
    contact which stops rubbing can be followed by a stiff solver.
    """
    s, radius, mu_w, mu_s = hit.s, hit.radius, hit.mu_w, hit.mu_s
    c = math.sqrt(1 - s * s)

    def rhs(_: float, q: np.ndarray) -> list[float]:
        vx, vy, wx, wy, wz, _ = q
        sx, sy = vx + wy * radius * s - wz * radius * c, -vy * s + wx * radius
        tx, ty = vx - wy * radius, vy + wx * radius
        n, b = max(math.hypot(sx, sy), soft), max(math.hypot(tx, ty), soft)
        cn, sn, cb, sb = sx / n, sy / n, tx / b, ty / b
        bed = max(0.0, s + mu_w * sn * c)  # the bed pushes, it cannot pull
        return [
            -(mu_w * cn + mu_s * bed * cb),
            -(c - mu_w * s * sn + mu_s * bed * sb),
            -(K / radius) * (mu_w * sn + mu_s * bed * sb),
            -(K / radius) * (mu_w * s * cn - mu_s * bed * cb),
            (K / radius) * mu_w * c * cn,
            c * vy,
        ]

    def compressed(_: float, q: np.ndarray) -> float:
        return float(q[1])

    compressed.terminal, compressed.direction = True, -1  # type: ignore[attr-defined]
    method = {"method": "Radau", "rtol": 1e-10, "atol": 1e-12}
    first = solve_ivp(rhs, (0, 1000), [*hit.v, *hit.w, 0.0], events=compressed, **method)
    middle = first.y_events[0][0].copy()
    work, middle[5] = middle[5], 0.0

    def returned(_: float, q: np.ndarray) -> float:
        return float(-q[5] - hit.e * hit.e * work)

    returned.terminal = True  # type: ignore[attr-defined]
    second = solve_ivp(rhs, (0, 1000), middle, events=returned, **method)
    return np.asarray(second.y_events[0][0][:5])


def moving_ball(rng: np.random.Generator, i: int, radius: float) -> tuple[np.ndarray, np.ndarray]:
    """A ball on its way into a rail: any spin; every third one rolls, every tenth comes head on."""
    v = np.array([rng.normal() * 1.5, abs(rng.normal()) * 1.5 + 0.05])
    w = rng.normal(size=3) * 1.5 / radius
    if i % 3 == 0:  # rolling into the rail, with and without sidespin
        v[0] *= 0.3
        w[:2] = -v[1] / radius, v[0] / radius
    if i % 6 == 0:
        w[2] = 0.0
    if i % 10 == 9:
        v[0], w[1], w[2] = 0.0, 0.0, 0.0
    return v, w


def usual_hits() -> list[Hit]:
    """On the noses of usual rails."""
    rng = np.random.default_rng(11)
    gear = ((0.2, 0.35), (0.6, 1.0), (0.05, 0.3), (0.1, 0.4))
    return [Hit(*moving_ball(rng, i, RADIUS), RADIUS, *(rng.uniform(*g) for g in gear)) for i in range(60)]


def hits_on_any_gear(count: int, seed: int) -> list[Hit]:
    """Over all that a scenario file accepts, its ends included: balls, noses above and below the centre, frictions."""
    rng = np.random.default_rng(seed)
    gear = ((-0.4, 0.6), (0.3, 1.0), (0.0, 0.4), (0.02, 0.5))
    hits = []
    for i in range(count):
        radius = rng.uniform(0.02, 0.04)
        numbers = [g[rng.integers(2)] if rng.random() < 0.05 else rng.uniform(*g) for g in gear]
        hits.append(Hit(*moving_ball(rng, i, radius), radius, *numbers))
    return hits


def cushion_difference(kernels: SimpleNamespace, hit: Hit, reference: np.ndarray) -> float:
    """The largest difference of the velocities and surface speeds after the impact, over the size of those before."""
    found = kernels.bounce_cushion(moving(hit.v.tolist(), hit.w.tolist()), *hit[2:], STEP_ERROR)
    size = np.linalg.norm(hit.v) + hit.radius * np.linalg.norm(hit.w)
    scale = np.array([1, 1, hit.radius, hit.radius, hit.radius]) / size
    return float(np.abs((np.array(found)[2:] - reference) * scale).max())


@pytest.mark.parametrize("case", range(60))
def test_cushion_impulse(kernels: SimpleNamespace, case: int) -> None:
    hit = usual_hits()[case]
    assert cushion_difference(kernels, hit, cushion_reference(hit, soft=1e-6)) < AGREEMENT


ANY_GEAR_HITS = int(os.environ.get("TABLESIM_HITS", "200"))
ANY_GEAR = hits_on_any_gear(ANY_GEAR_HITS, int(os.environ.get("TABLESIM_SEED", "23")))


@pytest.mark.filterwarnings("ignore::RuntimeWarning:scipy")  # a step that Radau tries and throws away
@pytest.mark.parametrize("part", range(10))
def test_cushion_impulse_on_any_gear(part: int) -> None:
    found = {name: twin for name, twin in (("plain", jit.plain()), ("compiled", jit.compiled())) if twin is not None}
    for hit in ANY_GEAR[part::10]:
        reference = cushion_reference(hit, soft=1e-7)
        for name, twin in found.items():
            assert cushion_difference(twin, hit, reference) < 1e-5, (name, hit)


# Hits whose nose or bed slip hardly dies.  The first came off the rail at 0.986 m/s when the integration stopped
# half-way without a word; its neighbours with friction 0.17 and 0.18 come off at 1.239 and 1.229.
SLOW = {
    "nose slip": Hit(np.array([0.5, 1.5]), np.array([-52.493, 17.498, 20.0]), RADIUS, 0.27, 0.85, 0.177, 0.2),
    "bed slip": Hit(np.array([-0.6022, 0.7332]), np.array([-28.853, -5.031, -61.544]), 0.0235, 0.58466, 0.9824, 0.04319,
                    0.48574),
    "both": Hit(np.array([0.3404, 2.6522]), np.array([-62.844, 36.888, -84.379]), 0.0251, 0.57512, 0.9976, 0.0067,
                0.42638),
    # High noses, head on: nose slip and rebound die together, and the last step has to be found within itself.
    "both die": Hit(np.array([0.0, 1.0]), np.zeros(3), RADIUS, 0.55, 0.891, 1e-4, 0.5),
    "bed all but holds": Hit(np.array([0.0, 1.0]), np.array([0.0, 0.0043141290078328705, 0.0032355967558746527]),
                             RADIUS, 0.6, 0.667119, 0.2, 0.5),
    # Nose below the centre: it lifts the ball, and the bed has nothing to rub with, even where the nose holds.
    "low nose": Hit(np.array([0.0, 0.7157]), np.array([-8.475, 0.0, 0.0]), 0.02886, -0.2943, 0.9594, 0.3577, 0.4741),
}  # fmt: skip


@pytest.mark.parametrize("name", SLOW)
def test_cushion_impulse_that_is_slow_to_end(kernels: SimpleNamespace, name: str) -> None:
    assert cushion_difference(kernels, SLOW[name], cushion_reference(SLOW[name], soft=1e-7)) < 1e-5


def test_the_cushion_law_between_its_neighbours() -> None:
    out = [-cushion_law((0.5, 1.5), (-52.493, 17.498, 20.0), friction=f).velocity_m_s[1] for f in (0.17, 0.177, 0.18)]
    assert out == pytest.approx([1.239, 1.232, 1.229], abs=6e-4)


def test_an_impact_without_an_end_is_a_fault_not_a_number(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(cushion_stiff, "MAX_STIFF_STEPS", 2)
    monkeypatch.setenv("TABLESIM_PLAIN", "1")
    monkeypatch.setattr(sys, "argv", ["tablesim", "law", "cushion", "--velocity=0.5,1.5",
                                      "--spin=-52.493,17.498,20", "--friction=0.177"])  # fmt: skip
    with pytest.raises(SystemExit) as ended:
        main()
    said = capsys.readouterr()
    assert ended.value.code == 2
    assert said.out == ""
    assert said.err.startswith("tablesim: a ball's impact on a cushion cannot be computed to its end; change rails")
