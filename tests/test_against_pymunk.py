"""Two methods agreeing: pymunk, a general 2-D rigid-body library, on elastic frictionless collisions."""

from __future__ import annotations

import numpy as np
import pymunk
import pytest
from conftest import MASS, RADIUS

from tablesim.study.laws import ball_ball_law


def pymunk_collision(v: tuple[float, float], mass_ratio: float) -> tuple[pymunk.Vec2d, pymunk.Vec2d]:
    """Final velocities of a moving and a resting disc that overlap by a nanometre along +x."""
    space = pymunk.Space()
    space.collision_slop = 0.0
    space.collision_bias = 1.0  # leave the overlap alone: only the impact is wanted
    bodies = []
    for x, mass, velocity in ((-2 * RADIUS + 1e-9, MASS * mass_ratio, v), (0.0, MASS, (0.0, 0.0))):
        body = pymunk.Body(mass, pymunk.moment_for_circle(mass, 0, RADIUS))
        body.position, body.velocity = (x, 0.0), velocity
        shape = pymunk.Circle(body, RADIUS)
        shape.elasticity, shape.friction = 1.0, 0.0
        space.add(body, shape)
        bodies.append(body)
    space.iterations = 50
    space.step(1e-12)
    space.step(1e-12)
    return bodies[0].velocity, bodies[1].velocity


@pytest.mark.parametrize("seed", range(10))
def test_elastic_frictionless_collision(seed: int) -> None:
    rng = np.random.default_rng(seed)
    v = (rng.uniform(0.5, 5), rng.normal() * 2)
    ratio = rng.uniform(0.7, 1.4)
    found = ball_ball_law(v, (0.0, 0.0, 0.0), restitution=1.0, friction=0.0, mass_ratio=ratio)
    first, second = pymunk_collision(v, ratio)

    assert found.first_velocity_m_s == pytest.approx(tuple(first), rel=1e-6, abs=1e-6)
    assert found.second_velocity_m_s == pytest.approx(tuple(second), rel=1e-6, abs=1e-6)
