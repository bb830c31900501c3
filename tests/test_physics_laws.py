"""The laws by kind of test: invariants with a bound, symmetry, round trips, limits."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from conftest import MASS, RADIUS, SIN_THETA, edge_of, moving
from hypothesis import given, settings
from hypothesis import strategies as st

from tablesim.physics.ball_ball import Contact, collide_balls, contact_distance, contact_slip
from tablesim.physics.cloth import drift, finish_slip_along, motion
from tablesim.physics.contact_time import Course, meeting_time, quadratic_fall, quartic_fall
from tablesim.physics.cushion import STEP_ERROR, bounce_cushion
from tablesim.physics.edge import POCKETS
from tablesim.physics.pocket import bed_clearance, edge_name, edge_time
from tablesim.physics.records import BallLaw, ClothLaw

ENERGY_BOUND = 1e-9  # relative: rounding and, at a cushion, the integration's own error

speeds = st.floats(-5, 5)
spins = st.floats(-200, 200)


def energy(v: tuple[float, ...], w: tuple[float, ...], mass: float = MASS, radius: float = RADIUS) -> float:
    return 0.5 * mass * (sum(x * x for x in v) + radius**2 / 2.5 * sum(x * x for x in w))


BALLS = BallLaw(0.95, 0.00995, 0.108, 1.088, 1.0)
GRIPPING = BallLaw(0.95, 10.0, 0.0, 1.088, 1.0)
Vector = tuple[float, float, float]
Moving = tuple[tuple[float, float], Vector]  # velocity and spin
STILL: Moving = ((0.0, 0.0), (0.0, 0.0, 0.0))


def collide(one: Moving, two: Moving, contact: Contact, law: BallLaw = BALLS) -> tuple[Moving, Moving]:
    """Velocity and spin of each after the contact."""
    first, second = collide_balls(moving(*one), moving(*two), contact, law)
    return (first[2:4], first[4:]), (second[2:4], second[4:])


balls = st.tuples(st.tuples(speeds, speeds), st.tuples(spins, spins, spins))
laws = st.builds(
    lambda e, condition: BALLS._replace(restitution=e, condition=condition), st.floats(0.5, 1.0), st.floats(0, 4)
)
contacts = st.builds(
    lambda angle, mass, size: Contact(math.cos(angle), math.sin(angle), MASS * mass, MASS, RADIUS * size, RADIUS),
    st.floats(0, 2 * math.pi), st.floats(0.7, 1.4), st.floats(0.9, 1.1),
)  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(balls, balls, contacts, laws)
def test_collision_keeps_momentum_and_gains_no_energy(one: Moving, two: Moving, at: Contact, law: BallLaw) -> None:
    (v1, _), (v2, _) = one, two
    if (v1[0] - v2[0]) * at.nx + (v1[1] - v2[1]) * at.ny <= 0:
        one, two = two, one
    after = collide(one, two, at, law)
    masses, radii = (at.mass_1, at.mass_2), (at.radius_1, at.radius_2)

    def total(pair: tuple[Moving, Moving]) -> float:
        return sum(energy(*ball, mass, radius) for ball, mass, radius in zip(pair, masses, radii, strict=True))

    assert total(after) <= total((one, two)) * (1 + ENERGY_BOUND) + 1e-15
    for axis in range(2):
        kept = masses[0] * one[0][axis] + masses[1] * two[0][axis]
        assert masses[0] * after[0][0][axis] + masses[1] * after[1][0][axis] == pytest.approx(kept, abs=1e-12)


def test_unequal_balls_keep_angular_momentum_about_the_contact() -> None:
    """For equal radii each spin changes by (k/mR) n x J with the same J, so m R (w1 - w2) across n is kept apart."""
    before = (5.0, -20.0, 30.0)
    one, two = collide(((1.0, 0.4), before), STILL, Contact(1.0, 0.0, 2 * MASS, MASS, RADIUS, RADIUS))

    assert 2 * (np.array(one[1]) - before) == pytest.approx(np.array(two[1]), abs=1e-12)


def test_gripping_collision_ends_all_slip() -> None:
    touching = Contact(1.0, 0.0, MASS, MASS, RADIUS, RADIUS)
    one, two = collide(((2.0, 0.5), (0.0, 0.0, 10.0)), STILL, touching, GRIPPING)

    assert contact_slip(moving(*one), moving(*two), touching) == pytest.approx((0.0, 0.0, 0.0), abs=1e-12)


def test_balls_of_unequal_size_touch_nearer_than_the_sum_of_radii() -> None:
    """Both stand on the bed: the level distance is sqrt((R1+R2)^2 - (R1-R2)^2)."""
    small, large = 0.0286, 0.0302

    assert contact_distance(small, large) == pytest.approx(math.sqrt((small + large) ** 2 - (large - small) ** 2))


@settings(max_examples=200, deadline=None)
@given(speeds, st.floats(0.01, 5), spins, spins, spins, st.floats(0.3, 1.0), st.floats(0, 0.3), st.floats(0.05, 0.4))
def test_cushion_gains_no_energy_and_is_mirror_symmetric(
    vx: float, vy: float, wx: float, wy: float, wz: float, e: float, mu_w: float, mu_s: float
) -> None:
    law = (RADIUS, SIN_THETA, e, mu_w, mu_s, STEP_ERROR)
    r = bounce_cushion(moving((vx, vy), (wx, wy, wz)), *law)[2:]
    mirrored = bounce_cushion(moving((-vx, vy), (wx, -wy, -wz)), *law)[2:]

    assert r[1] <= 0.0
    assert energy(r[:2], r[2:]) <= energy((vx, vy), (wx, wy, wz)) * (1 + ENERGY_BOUND)
    scale = abs(vx) + vy + RADIUS * (abs(wx) + abs(wy) + abs(wz))
    assert r == pytest.approx(
        (-mirrored[0], mirrored[1], mirrored[2], -mirrored[3], -mirrored[4]), rel=1e-6, abs=1e-6 * scale / RADIUS
    )


def test_cushion_without_friction_is_a_plain_bounce() -> None:
    r = bounce_cushion(moving((0.7, 1.3), (4.0, 5.0, 6.0)), RADIUS, SIN_THETA, 0.8, 0.0, 0.0, STEP_ERROR)[2:]

    assert r == pytest.approx((0.7, -0.8 * 1.3, 4.0, 5.0, 6.0), rel=1e-7)


def rebound_deg(speed: float, incidence_deg: float, wz: float) -> float:
    """Rebound angle from the rail's normal, + onward along the rail; wz > 0 is running for a ball moving to -x."""
    a = math.radians(incidence_deg)
    vx, vy = -speed * math.sin(a), speed * math.cos(a)
    rolling = moving((vx, vy), (-vy / RADIUS, vx / RADIUS, wz))
    r = bounce_cushion(rolling, RADIUS, SIN_THETA, 0.85, 0.14, 0.2, STEP_ERROR)
    return math.degrees(math.atan2(-r.vx, -r.vy))


def test_running_english_widens_and_checking_narrows_the_rebound() -> None:
    """Published sign (Mathavan et al. 2010, and common practice)."""
    for incidence in (15.0, 30.0, 45.0):
        # Moving to -x into a rail on the +y side, running english turns the nose contact back: w_z < 0 there.
        running, none, checking = (rebound_deg(1.5, incidence, wz) for wz in (-40.0, 0.0, 40.0))
        assert running > none > checking


def test_english_matters_more_at_steeper_incidence_and_higher_spin_to_speed() -> None:
    """Published sign (Mathavan et al. 2010)."""

    def spread(speed: float, incidence: float, wz: float) -> float:
        return rebound_deg(speed, incidence, -wz) - rebound_deg(speed, incidence, wz)

    assert spread(1.5, 15.0, 25.0) > spread(1.5, 45.0, 25.0) > spread(1.5, 65.0, 25.0)
    assert spread(1.5, 30.0, 30.0) > spread(1.5, 30.0, 10.0)
    assert spread(1.0, 30.0, 25.0) > spread(3.0, 30.0, 25.0)


def test_finishing_a_slip_at_once_equals_sliding_it_out() -> None:
    v, w = (1.0, 0.0), (0.0, -30.0)
    ball = moving(v, (*w, 0.0))
    rates = motion(ball, RADIUS, ClothLaw(0.2, 0.01, 10.0, 9.81))
    slid = drift(ball, rates, 10.0, rates.duration)

    assert finish_slip_along(ball, RADIUS, 1.0, 0.0)[2:] == pytest.approx(slid[2:], abs=1e-12)


@settings(max_examples=300, deadline=None)
@given(st.lists(st.floats(-3, 3), min_size=5, max_size=5), st.floats(0.1, 5.0))
def test_first_fall_is_the_first(coefficients: list[float], horizon: float) -> None:
    """No earlier sign change from + to - on a fine grid, and the value there is zero."""
    c0, c1, c2, c3, c4 = coefficients
    found = quartic_fall(c0, c1, c2, c3, c4, horizon)
    t = np.linspace(0.0, horizon, 4001)
    values = np.polynomial.polynomial.polyval(t, coefficients)
    falls = np.nonzero((values[:-1] > 1e-9) & (values[1:] < -1e-9))[0]
    if len(falls):
        assert found <= t[falls[0] + 1] + 1e-9
    if math.isfinite(found) and found > 0.0 and coefficients[0] > 0.0:
        scale = sum(abs(c) * max(1.0, found) ** i for i, c in enumerate(coefficients))
        assert np.polynomial.polynomial.polyval(found, coefficients) == pytest.approx(0.0, abs=1e-12 * scale)


@settings(max_examples=300, deadline=None)
@given(st.floats(-3, 3), st.floats(-3, 3), st.floats(-3, 3), st.floats(0.1, 5.0))
def test_quadratic_and_quartic_agree(c0: float, c1: float, c2: float, horizon: float) -> None:
    one, other = quadratic_fall(c0, c1, c2, horizon), quartic_fall(c0, c1, c2, 0.0, 0.0, horizon)
    near_end = min(abs(one - horizon), abs(other - horizon)) < 1e-6
    grazing = abs(c1 * c1 - 4 * c0 * c2) < 1e-6

    assert one == pytest.approx(other, abs=1e-6) or near_end or grazing


def test_grazing_and_missing_balls() -> None:
    """At an offset just under two radii they meet, just over they do not."""
    d = 2 * RADIUS
    for offset, meets in ((0.9999999 * d, True), (1.0000001 * d, False)):
        assert (meeting_time(Course(1.0, offset, -1.0, 0.0, 0.0, 0.0, 5.0), d) < math.inf) is meets


def test_touching_balls_meet_at_once_if_closing_and_never_if_parting() -> None:
    d = 2 * RADIUS
    assert meeting_time(Course(d, 0.0, -1.0, 0.0, 0.0, 0.0, 5.0), d) == 0.0
    assert meeting_time(Course(d, 0.0, 1.0, 0.2, 0.0, 0.0, 5.0), d) == math.inf
    assert 0.0 < meeting_time(Course(d, 0.0, 1.0, 0.0, -1.0, 0.0, 5.0), d) < 5.0


def test_mouths_and_facings_follow_the_specification() -> None:
    """WPA: mouths point to point, facings 142 and 104 deg to the nose line; a corner narrows by 0.246 of the depth,
    a side pocket by 0.499 (derived)."""
    edge = edge_of()
    for index, name in enumerate(POCKETS):
        mouth = edge.mouths[index]
        lines = edge.lines[6 + 2 * index : 8 + 2 * index]
        narrowing = 0.499 if name.startswith("side") else 0.246
        widths = []
        for depth in (0.01, 0.03):
            across = []
            for x, y, tx, ty, *_ in lines:
                into = tx * mouth[2] + ty * mouth[3]
                start = (x - mouth[0]) * mouth[2] + (y - mouth[1]) * mouth[3]
                u = (depth - start) / into
                across.append((x + u * tx - mouth[0]) * -mouth[3] + (y + u * ty - mouth[1]) * mouth[2])
            widths.append(abs(across[0] - across[1]))
        assert widths[0] - widths[1] == pytest.approx(0.02 * narrowing, rel=2e-3)
        assert widths[0] + 0.01 * narrowing == pytest.approx(2 * mouth[4], rel=1e-3)


def test_a_ball_meets_the_nose_above_its_centre() -> None:
    """A nose at 0.635 of the diameter touches 0.27 R above the centre, R cos(theta) from it seen from above."""
    edge, rho = edge_of(), RADIUS * math.cos(math.asin(0.27))
    t, kind, row = edge_time(Course(0.6, 0.3, 0.0, -1.0, 0.0, 0.0, 9.0), rho, edge)

    assert (kind, edge_name(kind, row)) == (1, "right rail")
    assert 0.3 - t == pytest.approx(rho, abs=1e-12)


def test_a_ball_rolled_at_the_heart_of_each_pocket_drops_untouched() -> None:
    edge, rho = edge_of(), RADIUS * math.cos(math.asin(0.27))
    for index, name in enumerate(POCKETS):
        mx, my, ax, ay, _ = edge.mouths[index]
        x, y = mx - 0.3 * ax, my - 0.3 * ay
        t, kind, row = edge_time(Course(float(x), float(y), ax, ay, 0.0, 0.0, 9.0), rho, edge)
        shelf = 0.0047625 if name.startswith("side") else 0.041275
        assert (kind, edge_name(kind, row)) == (3, name)
        assert t == pytest.approx(0.3 + shelf, abs=1e-9)


def test_clearance_knows_bed_rail_and_jaw() -> None:
    edge, rho = edge_of(), RADIUS * math.cos(math.asin(0.27))

    assert bed_clearance(1.0, 0.5, rho, edge) > 0.1
    assert bed_clearance(0.6, rho, rho, edge) == pytest.approx(0.0, abs=1e-12)
    assert bed_clearance(0.6, rho - 0.001, rho, edge) == pytest.approx(-0.001)
    assert bed_clearance(0.03, 0.03, rho, edge) > 0.0  # hanging in the corner's mouth
    assert bed_clearance(0.0, 0.0, rho, edge) < 0.0  # over the hole
    assert bed_clearance(-0.5, 0.3, rho, edge) < 0.0
    assert bed_clearance(1.27, -0.3, rho, edge) < 0.0


def test_plain_and_compiled_kernels_give_the_same_numbers(kernels: SimpleNamespace) -> None:
    """To 1e-12: here on one law; test_engine has whole shots."""
    args = (moving((0.4, 1.1), (-20.0, 10.0, 30.0)), RADIUS, SIN_THETA, 0.85, 0.14, 0.2, STEP_ERROR)

    assert kernels.bounce_cushion(*args) == pytest.approx(bounce_cushion(*args), rel=1e-12)
