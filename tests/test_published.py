"""Every published check value against the engine; the sources stand in study/checks.py beside each figure."""

from __future__ import annotations

import math

import pytest
from conftest import RADIUS, moving

from tablesim.physics.cloth import motion
from tablesim.physics.records import ClothLaw
from tablesim.physics.strike import miscue_offset, pivot_length
from tablesim.study.checks import Check, all_checks, squirt, throw
from tablesim.study.laws import strike_law


@pytest.mark.parametrize("check", all_checks(), ids=lambda c: c.name.strip())
def test_figure_of_the_field(check: Check) -> None:
    assert check.value() == pytest.approx(check.expected, abs=check.tolerance), check.source


def test_every_check_names_its_kind_and_source() -> None:
    for check in all_checks():
        assert check.kind in ("derived", "published", "from memory", "practice"), check
        assert check.source
        assert check.tolerance <= 0.06 * max(1.0, abs(check.expected)) + 0.2, f"{check.name} could not fail"


def test_squirt_classes_cover_the_published_range() -> None:
    """Squirt of 1-3 deg measured at maximum side. Alciatore, property list (published)."""
    assert 2.2 < squirt(0.5, 25.0) < squirt(0.5, 18.0) < 3.0
    assert 0.9 < squirt(0.5, 60.0) < squirt(0.5, 40.0) < 1.5


def test_squirt_does_not_depend_on_speed() -> None:
    """Published measurements find squirt independent of speed (Alciatore)."""
    angles = [strike_law(v, 0.4, 0.1, 0.0, 22.0).squirt_deg for v in (0.5, 2.0, 8.0)]

    assert angles == pytest.approx([angles[0]] * 3, rel=1e-12)


def test_pivot_length_turns_the_ball_back_onto_the_line() -> None:
    """Back-hand english: bridge b / sin(squirt); the small-offset form is (2R/5)(q + 7/2) (rigid-body mechanics)."""
    radius = 0.028575
    for offset in (0.1, 0.3, 0.5):
        assert pivot_length(offset, 22.0, radius) == pytest.approx(
            offset * radius / math.sin(math.radians(squirt(offset, 22.0))), rel=1e-12
        )
    assert pivot_length(0.0, 22.0, radius) == pytest.approx(pivot_length(1e-5, 22.0, radius), rel=1e-8)


def test_miscue_limit_is_the_grip_of_the_tip() -> None:
    """tan(asin(b/R)) is the friction needed at offset b (Alciatore, property list)."""
    limit = miscue_offset(0.6)

    assert math.tan(math.asin(limit)) == pytest.approx(0.6, rel=1e-12)


def test_rolling_deceleration_is_mu_r_g() -> None:
    rates = motion(moving((1.0, 0.0), (0.0, 1 / RADIUS, 0.0)), RADIUS, ClothLaw(0.2, 0.01, 10.0, 9.81))

    assert (rates.ax, rates.ay) == pytest.approx((-0.0981, 0.0))
    assert rates.duration == pytest.approx(1 / 0.0981)


def test_inside_english_on_a_large_cut_reduces_throw() -> None:
    """Sign check (Alciatore, published)."""
    assert throw(60.0, 1.3, english_percent=-50.0) < throw(60.0, 1.3)


def test_a_little_outside_on_a_large_cut_can_increase_throw() -> None:
    """Sign check (Alciatore, published)."""
    assert throw(60.0, 1.3, english_percent=15.0) > throw(60.0, 1.3)
