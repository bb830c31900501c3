"""Two methods agreeing: scipy's general integrator on the raw equations of motion."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from conftest import RADIUS, moving
from scipy.integrate import solve_ivp

from tablesim.physics.cloth import drift, motion
from tablesim.physics.constants import SLIDING
from tablesim.physics.cushion import STEP_ERROR
from tablesim.physics.records import BallState, ClothLaw

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


def cushion_reference(
    v: np.ndarray, w: np.ndarray, s: float, e: float, mu_w: float, mu_s: float, soft: float
) -> np.ndarray:
    """The impulse equations as printed in Mathavan et al. 2010, integrated over the normal impulse.

    Coulomb's direction s/|s| is softened below a slip of ``soft`` m/s, so that a
    contact which stops rubbing can be followed by a stiff solver.
    """
    c = math.sqrt(1 - s * s)

    def rhs(_: float, q: np.ndarray) -> list[float]:
        vx, vy, wx, wy, wz, _ = q
        sx, sy = vx + wy * RADIUS * s - wz * RADIUS * c, -vy * s + wx * RADIUS
        tx, ty = vx - wy * RADIUS, vy + wx * RADIUS
        n, b = max(math.hypot(sx, sy), soft), max(math.hypot(tx, ty), soft)
        cn, sn, cb, sb = sx / n, sy / n, tx / b, ty / b
        bed = max(0.0, s + mu_w * sn * c)  # the bed pushes, it cannot pull
        return [
            -(mu_w * cn + mu_s * bed * cb),
            -(c - mu_w * s * sn + mu_s * bed * sb),
            -(K / RADIUS) * (mu_w * sn + mu_s * bed * sb),
            -(K / RADIUS) * (mu_w * s * cn - mu_s * bed * cb),
            (K / RADIUS) * mu_w * c * cn,
            c * vy,
        ]

    def compressed(_: float, q: np.ndarray) -> float:
        return float(q[1])

    compressed.terminal, compressed.direction = True, -1  # type: ignore[attr-defined]
    method = {"method": "Radau", "rtol": 1e-10, "atol": 1e-12}
    first = solve_ivp(rhs, (0, 100), [*v, *w, 0.0], events=compressed, **method)
    middle = first.y_events[0][0].copy()
    work, middle[5] = middle[5], 0.0

    def returned(_: float, q: np.ndarray) -> float:
        return float(-q[5] - e * e * work)

    returned.terminal = True  # type: ignore[attr-defined]
    second = solve_ivp(rhs, (0, 100), middle, events=returned, **method)
    return np.asarray(second.y_events[0][0][:5])


def cushion_cases() -> list[tuple[np.ndarray, np.ndarray, float, float, float, float]]:
    rng = np.random.default_rng(11)
    cases = []
    for i in range(60):
        v = np.array([rng.normal() * 1.5, abs(rng.normal()) * 1.5 + 0.05])
        w = rng.normal(size=3) * 50
        if i % 3 == 0:  # rolling into the rail, with and without sidespin
            v[0] *= 0.3
            w[:2] = -v[1] / RADIUS, v[0] / RADIUS
        if i % 6 == 0:
            w[2] = 0.0
        if i % 10 == 9:  # head on
            v[0], w[1], w[2] = 0.0, 0.0, 0.0
        cases.append(
            (v, w, rng.uniform(0.2, 0.35), rng.uniform(0.6, 1.0), rng.uniform(0.05, 0.3), rng.uniform(0.1, 0.4))
        )
    return cases


@pytest.mark.parametrize("case", range(60))
def test_cushion_impulse(kernels: SimpleNamespace, case: int) -> None:
    v, w, s, e, mu_w, mu_s = cushion_cases()[case]
    found = np.array(kernels.bounce_cushion(moving(v, w), RADIUS, s, e, mu_w, mu_s, STEP_ERROR))[2:]
    reference = cushion_reference(v, w, s, e, mu_w, mu_s, soft=1e-6)

    size = np.linalg.norm(v) + RADIUS * np.linalg.norm(w)
    scaled = (found - reference) * np.array([1, 1, RADIUS, RADIUS, RADIUS]) / size
    assert np.abs(scaled).max() < AGREEMENT
