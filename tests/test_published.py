"""Every figure of the field against the engine; the sources stand in study/checks_*.py beside each figure."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import typer
from conftest import RADIUS, moving

from tablesim.commands import ready
from tablesim.physics.ball_ball import collide_balls
from tablesim.physics.cloth import motion
from tablesim.physics.records import ClothLaw
from tablesim.physics.strike import miscue_offset, off_the_tip, pivot_length
from tablesim.study import laws
from tablesim.study.checks import all_checks
from tablesim.study.checks_mechanics import squirt, throw
from tablesim.study.laws import strike_law
from tablesim.study.published import KINDS, Check


@pytest.mark.parametrize("check", all_checks(), ids=lambda c: c.name.strip())
def test_figure_of_the_field(check: Check) -> None:
    """Met, or missed where it is said to be missed and why."""
    met = abs(check.value() - check.expected) <= check.tolerance
    assert met == (not check.miss), check.source


def test_every_check_names_its_kind_and_source() -> None:
    for check in all_checks():
        assert check.kind in KINDS, check
        assert check.source
        assert (check.kind == "practice") == ("no source" in check.source), check
        room = (
            0.06 * max(1.0, abs(check.expected)) + 0.2 if check.kind in ("derived", "built in") else abs(check.expected)
        )
        assert check.tolerance <= room, f"{check.name} could not fail"


def test_no_figure_that_the_engine_is_made_of_passes_for_a_measurement() -> None:
    """The fit of ball friction, and what follows from it by its own formula, are built in; so is the rails' rebound."""
    for check in all_checks():
        own = "TP A.14" in check.source or "was chosen for it" in check.source
        assert (check.kind == "built in") == own, check


def spoilt(monkeypatch: pytest.MonkeyPatch, how: str) -> None:
    """A law bent on purpose."""
    if how == "throw":
        monkeypatch.setattr(
            laws, "collide_balls", lambda a, b, c, law: collide_balls(a, b, c, law._replace(condition=1.3))
        )
    elif how == "restitution":
        lossy = {"restitution": 0.8}
        monkeypatch.setattr(laws, "collide_balls", lambda a, b, c, law: collide_balls(a, b, c, law._replace(**lossy)))
    elif how == "squirt":
        monkeypatch.setattr(
            laws, "off_the_tip", lambda stroke, radius: off_the_tip(stroke._replace(ball_to_end_mass=8.0), radius)
        )


@pytest.mark.parametrize(
    ("how", "named"),
    [
        ("throw", "largest throw of a slow stun shot"), ("restitution", "stun at 45 deg: object ball's share"),
        ("squirt", "squirt of an ordinary shaft"),
    ],
)  # fmt: skip
def test_a_law_that_is_off_fails_a_figure_of_the_world(monkeypatch: pytest.MonkeyPatch, how: str, named: str) -> None:
    check = next(c for c in all_checks() if c.name.startswith(named))
    assert check.kind in ("measured", "published")
    spoilt(monkeypatch, how)
    assert abs(check.value() - check.expected) > check.tolerance


def test_the_command_tells_what_is_missed_and_what_each_kind_is_worth(capsys: pytest.CaptureFixture[str]) -> None:
    ready.check()
    said = " ".join(capsys.readouterr().out.split())
    assert "FAILS" not in said
    assert "missed, largest throw with the constant friction law: a constant 0.06 cannot throw more" in said
    for worth in KINDS.values():
        assert worth in said
    assert "No measured figure of swerve was found" in said


def test_readme_counts_what_is_measured_and_met() -> None:
    measured = [c for c in all_checks() if c.kind == "measured"]
    met = sum(not c.miss for c in measured)
    text = " ".join((Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8").split())
    assert f"of {len(measured)} such figures the engine meets {met}" in text


def test_the_command_ends_with_1_where_a_figure_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    spoilt(monkeypatch, "squirt")
    with pytest.raises(typer.Exit) as ended:
        ready.check(as_json=True)
    assert ended.value.exit_code == 1


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
