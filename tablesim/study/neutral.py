"""Where nothing needs correcting: the neutral pace, the gearing side, the neutral distance.

Each is read off a curve of the full engine, returned with it: samples over the
whole range, and between samples of opposite sign the zero by bisection.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from tablesim.errors import TablesimError
from tablesim.model.base import bounds_of
from tablesim.model.scenario import Scenario, Which
from tablesim.model.shot import Aim, Take
from tablesim.physics.roots import narrowed
from tablesim.units import english_percent

from .correct import NO_CORRECTION_MM, correct_take
from .predict import predict_take
from .setup import target_distance
from .sweep import cue_ball_at, played

PACES_M_S = tuple(0.6 + 0.3 * k for k in range(25))  # 0.6 to 7.8
SIDES = tuple(-0.5 + 0.05 * k for k in range(21))  # ball radii, within the usual miscue limit
DISTANCES_M = tuple(0.08 + 0.12 * k for k in range(20))  # centre to centre, as far as the bed goes
DYING_M_S = 1e-3  # how closely the dying pace is found
FINER = 2**24  # than samples lie apart zeros are found


@dataclass(frozen=True)
class Curve:
    """A curve and its zeros: ``what`` over ``over``; values are null where the shot cannot be played."""

    over: str
    what: str
    at: tuple[float, ...]
    values: tuple[float | None, ...]
    zeros: tuple[float, ...]


@dataclass(frozen=True)
class Neutral:
    """The neutral points of a take, each possibly none, and the gearing side also in per cent of full english."""

    take: str
    cue: str
    pace: Curve
    side: Curve
    side_percent: tuple[float, ...]
    distance: Curve


def _zeros(
    at: tuple[float, ...], values: tuple[float | None, ...], f: Callable[[float], float | None]
) -> tuple[float, ...]:
    found: list[float] = []
    for k in range(len(at) - 1):
        left, right = values[k], values[k + 1]
        if left is None or right is None or (left > 0.0) == (right > 0.0):
            continue
        low, high = narrowed(_turned_from(left, f), at[k], at[k + 1], (at[k + 1] - at[k]) / FINER)
        found.append(0.5 * (low + high))
    return tuple(found)


def _turned_from(left: float, f: Callable[[float], float | None]) -> Callable[[float], bool | None]:
    """Whether a curve has another sign than ``left``; None where it has no value."""

    def turned(x: float) -> bool | None:
        value = f(x)
        return None if value is None else (value > 0.0) != (left > 0.0)

    return turned


def _curve(over: str, what: str, at: tuple[float, ...], f: Callable[[float], float | None]) -> Curve:
    def safe(x: float) -> float | None:
        try:
            return f(x)
        except TablesimError:
            return None

    values = tuple(safe(x) for x in at)
    if all(v is None or abs(v) < NO_CORRECTION_MM for v in values) and what.startswith("correction"):
        return Curve(over, what, at, values, ())
    return Curve(over, what, at, values, _zeros(at, values, safe))


def neutral_take(scenario: Scenario, take: Take) -> Neutral:
    """The neutral points of a take on its layout; the distance on a straight shot to its pocket."""

    def at_pace(pace: float) -> float | None:
        return correct_take(scenario, played(take, {"pace": pace})).correction_mm

    def at_side(side: float) -> float | None:
        shot = played(take, {"side": side})
        found = correct_take(scenario, shot)
        if found.heading_deg is None:
            return None
        contact = predict_take(scenario, shot.model_copy(update={"aim": Aim(heading_deg=found.heading_deg)})).contact
        return None if contact is None else contact.throw_deg

    apart = target_distance(scenario)

    def at_distance(distance: float) -> float | None:
        return correct_take(cue_ball_at(scenario, distance, 0.0), take).correction_mm

    side = _curve("tip right of centre, ball radii", "throw, deg, left +", SIDES, at_side)
    return Neutral(
        take.name,
        scenario.cue_name_of(take),
        _curve("pace, m/s", "correction at the pocket, mm, left +", PACES_M_S, at_pace),
        side,
        tuple(english_percent(abs(zero)) for zero in side.zeros),
        _curve(
            "centre to centre on a straight shot, m",
            "correction at the pocket, mm, left +",
            tuple(d for d in DISTANCES_M if d > apart),
            at_distance,
        ),
    )


@dataclass(frozen=True)
class PaceMarks:
    """Paces [m/s] worth a mark on a ruler: ``neutral`` ones, and the ``dying`` one that just brings the ball in."""

    neutral: tuple[float, ...]
    dying: float | None


def pace_marks(
    scenario: Scenario,
    take: Take,
    leave: Callable[[], bool] = lambda: False,
) -> PaceMarks | None:
    """The neutral paces of a take and its dead-weight pace; None if ``leave`` says, in between, to stop."""

    def at_pace(pace: float) -> float | None:
        if leave():
            raise _Left
        return correct_take(scenario, played(take, {"pace": pace})).correction_mm

    try:
        curve = _curve("pace, m/s", "correction at the pocket, mm, left +", PACES_M_S, at_pace)
        return PaceMarks(curve.zeros, _dying_pace(at_pace))
    except _Left:
        return None


class _Left(Exception):
    """The one who asked has gone on."""


def _dying_pace(at_pace: Callable[[float], float | None]) -> float | None:
    """Least pace [m/s], to DYING_M_S, with an aim that pots; None if none up to the fastest of PACES_M_S does."""
    fastest, slowest = next((p for p in PACES_M_S if at_pace(p) is not None), None), bounds_of(Take, "pace_m_s")[0]
    if fastest is None:
        return None
    return narrowed(lambda pace: pace >= slowest and at_pace(pace) is not None, 0.0, fastest, DYING_M_S)[1]


def neutral(scenario: Scenario, take: Which = None) -> tuple[Neutral, ...]:
    """Where nothing needs correcting: pace [m/s], side [ball radii, right +] and distance [m], with their curves.

    Of every take, or of the one that is named or stated.  Some hundred corrections
    a take: call :func:`tablesim.prepare` before.  AimImpossible without a target.

    >>> found = ts.neutral(ts.open_scenario("two-cues"), "low-squirt, medium")[0]
    >>> [round(pace, 1) for pace in found.pace.zeros]
    [1.8]
    """
    return tuple(neutral_take(scenario, t) for t in scenario.takes_for(take))


def zeros_in_words(curve: Curve, unit: str, digits: int = 2) -> str:
    """The zeros for a table; why there is none, where there is none."""
    if curve.zeros:
        return " and ".join(f"{zero:.{digits}f} {unit}" for zero in curve.zeros)
    if curve.zeros == () and all(v is None for v in curve.values):
        return "cannot be played"
    if all(v is None or abs(v) < NO_CORRECTION_MM for v in curve.values):
        return "everywhere"
    signs = {math.copysign(1.0, v) for v in curve.values if v is not None}
    return "none: always " + ("left" if signs == {1.0} else "right")


def side_in_words(found: Neutral) -> str:
    """The side that throws nothing, as tip position and per cent of full english."""
    if not found.side.zeros:
        return zeros_in_words(found.side, "R")
    zero = found.side.zeros[0]
    return f"{abs(zero):.2f} R {'right' if zero > 0.0 else 'left'} ({found.side_percent[0]:.0f} %)"
