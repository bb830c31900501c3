"""The squirt test: what a cue's ball does off its line, turned into the end mass of the shaft.

The engine inverted; or the closed form, from a pivot length that is known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from tablesim.errors import ScenarioError
from tablesim.model.base import bounds_of
from tablesim.model.gear import Cue
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import MAX_ELEVATION_DEG, Aim, Take, Tip
from tablesim.physics.cloth import drift, free_course
from tablesim.physics.records import BallState
from tablesim.physics.roots import root
from tablesim.physics.strike import contact_offset, deflection_slope, miscue_offset, pivot_length
from tablesim.units import HALF_RADIUS

from .deflection import OffLine, deflection_of
from .laws import within
from .measured import (
    OFFSET_MM,
    READ,
    TAPE_M,
    Law,
    Measured,
    Reading,
    positive,
    propagated,
    radius_m,
    reading_of,
    some,
)
from .sided import Off, off_of
from .stroke import stroke_at

PIVOT_M = 0.025  # how well a pivot length is known; this and what follows: common practice, no source
PACE_SHARE = 0.1
BUTT_DEG = 0.5


@dataclass(frozen=True)
class CueFinding:
    """A cue as measured; pivot length at the test's offset, squirt at half a radius of it.

    ``off``: the reading [mm], away from the side of the english +, of which swerve is ``swerve_mm``.  From both
    sides of english: ``bias_mm`` left (+) of the line all balls went, and how far right (+) of where it was thought
    the tip would have to stand for that, ``tip_bias_mm``, if it is not the eye.
    """

    ball_to_end_mass: Measured
    pivot_m: Measured
    squirt_deg: Measured
    jab_factor: Measured | None = None
    off: Reading | None = None
    swerve_mm: float | None = None
    bias_mm: float | None = None
    tip_bias_mm: float | None = None


@dataclass(frozen=True)
class SquirtTest:
    """Conditions of a fair squirt test (common practice, no source).

    Tip on the horizontal centre line, its contact ``offset_mm`` beside the
    ball's centre axis; cue as level as the rail allows; a firm, repeatable
    pace; read at the far end, ``distance_m`` along the cue's line, how many mm off
    it the ball is.  Offset and reading err anew with every shot; pace (a share
    of it) and elevation once for all of them.
    """

    offset_mm: float
    distance_m: float
    pace_m_s: float
    elevation_deg: float
    offset_error_mm: float = OFFSET_MM
    off_error_mm: float = 1000.0 * TAPE_M
    pace_error: float = PACE_SHARE
    elevation_error_deg: float = BUTT_DEG


def calibrate_cue(
    scenario: Scenario, cue: Cue, test: SquirtTest, off_mm: Sequence[float] | Off, jabbed_mm: Sequence[float] | Off = ()
) -> CueFinding:
    """End mass of a cue's shaft from squirt tests, and its jab factor from the same test jabbed.

    The engine inverted: squirt (strike.py) less swerve on this cloth (cloth.py).
    ``off_mm``: readings, away from the side of the english +; with the side of
    each (:mod:`tablesim.study.sided`) right and left together also tell how far
    all of them went to one side.  The jab factor is what this cue's squirt must
    be multiplied by to give the jabbed readings.  ScenarioError for an unfair test,
    or readings that no cue explains.

    >>> two_cues = ts.open_scenario("two-cues")
    >>> test = ts.SquirtTest(offset_mm=7.1, distance_m=1.8, pace_m_s=4.0, elevation_deg=3.0)
    >>> readings = ts.Off(right=(34.0, 38.0), left=(41.0,))
    >>> shaft = ts.calibrate_cue(two_cues, two_cues.cues["wood"], test, readings).ball_to_end_mass
    >>> round(shaft.value, 1), round(shaft.low, 1), round(shaft.high, 1)
    (18.7, 16.7, 21.1)
    """
    _fair(scenario, cue, test)
    off = off_of(off_mm, "off the line")
    jabbed = off_of(jabbed_mm, "off the line, jabbed") if _any(jabbed_mm) else None
    for reading_mm in (*off.all, *(jabbed.all if jabbed else ())):
        within("off the line, mm", reading_mm, -READ[1], READ[1])

    def shaft(ball_to_end_mass: float) -> Cue:
        return cue.model_copy(update={"ball_to_end_mass": ball_to_end_mass})

    law = Law(
        lambda q: _off_line(scenario, shaft(q), test).net_mm,
        *bounds_of(Cue, "ball_to_end_mass"), "ball : end mass", "off the line", " mm",
        "Check offset, distance and pace; play firmer or with the butt lower where swerve is large.",
    )  # fmt: skip
    mine = shaft(law.solve(off.reading(0.0).mean))
    reading = _reading(scenario, mine, test, off)
    return _cue_finding(
        scenario,
        law.measured(reading),
        test.offset_mm,
        jab_factor=_jab_factor(scenario, mine, test, reading, jabbed) if jabbed else None,
        off=reading,
        swerve_mm=_off_line(scenario, mine, test).swerve_mm,
        bias_mm=off.bias_mm,
        tip_bias_mm=None if off.bias_mm is None else off.bias_mm / _mm_per_mm(scenario, mine, test),
    )


def _any(readings: Sequence[float] | Off) -> bool:
    return bool(readings.all if isinstance(readings, Off) else readings)


def _mm_per_mm(scenario: Scenario, cue: Cue, test: SquirtTest) -> float:
    """How much farther off the line [mm] a ball is for each millimetre of its contact beside the centre."""
    more, less = (replace(test, offset_mm=test.offset_mm + step) for step in (0.05, -0.05))
    return (_off_line(scenario, cue, more).net_mm - _off_line(scenario, cue, less).net_mm) / 0.1


def timed_pace(scenario: Scenario, distance_m: float, seconds: float) -> float:
    """Pace [m/s] of a level stroke at centre ball by which the ball goes ``distance_m`` in ``seconds`` from rest.

    Sliding first, then rolling, on this cloth (cloth.py).  ScenarioError where no pace does.

    >>> round(ts.timed_pace(ts.open_scenario("two-cues"), distance_m=2.0, seconds=0.62), 2)
    3.83
    """
    positive(distance=distance_m, seconds=seconds)
    radius, law = radius_m(scenario), scenario.cloth.law

    def shortfall(pace: float) -> float:
        """How far [m] short of the distance the ball is by then."""
        there = 0.0
        for start, ball, rates in free_course(BallState(0.0, 0.0, pace, 0.0, 0.0, 0.0, 0.0), radius, law):
            if start > seconds:
                break
            there = drift(ball, rates, law.spin_deceleration, min(seconds - start, rates.duration)).x
        return distance_m - there

    low, high = bounds_of(Take, "pace_m_s")
    slowest, fastest = shortfall(low), shortfall(high)
    if not fastest <= 0.0 <= slowest:
        raise ScenarioError(
            f"seconds: must be those of a pace from {low:g} to {high:g} m/s; {seconds:g} s over"
            f" {distance_m:g} m is none"
        )
    return root(shortfall, low, high)


def _reading(scenario: Scenario, cue: Cue, test: SquirtTest, off: Off) -> Reading:
    """Mean and standard error of the readings: what errs with each shot over sqrt(n), and what errs in all of them."""

    def at_offset(offset_mm: float) -> float:
        return _off_line(scenario, cue, replace(test, offset_mm=offset_mm)).net_mm

    def played(pace_m_s: float, elevation_deg: float) -> float:
        how = replace(test, pace_m_s=pace_m_s, elevation_deg=min(max(elevation_deg, 0.0), MAX_ELEVATION_DEG))
        return _off_line(scenario, cue, how).net_mm

    aside = propagated(at_offset, [test.offset_mm], [test.offset_error_mm])
    common = propagated(
        played, [test.pace_m_s, test.elevation_deg], [test.pace_error * test.pace_m_s, test.elevation_error_deg]
    )
    each = off.reading(math.hypot(test.off_error_mm, aside))
    return Reading(each.mean, math.hypot(each.error, common))


def _fair(scenario: Scenario, cue: Cue, test: SquirtTest) -> None:
    most = 1000.0 * miscue_offset(cue.tip_friction) * radius_m(scenario)
    if not 0.0 < test.offset_mm - test.offset_error_mm < test.offset_mm <= most:
        raise ScenarioError(
            f"offset: must lie above its uncertainty of {test.offset_error_mm:g} mm and, so that the tip holds, not"
            f" above {most:.1f} mm; got {test.offset_mm:g}"
        )
    positive(distance=test.distance_m)
    within("uncertainty of the offset, mm", test.offset_error_mm, 0.0, 10.0)
    within("uncertainty of a reading, mm", test.off_error_mm, 0.0, 1000.0)
    within("uncertainty of the pace, as a share", test.pace_error, 0.0, 0.5)
    within("uncertainty of the butt, deg", test.elevation_error_deg, 0.0, MAX_ELEVATION_DEG)


def _off_line(scenario: Scenario, cue: Cue, test: SquirtTest, stroke: str = "smooth") -> OffLine:
    """Where the engine has the ball of the test, right english: left + is away from the side of the english."""
    take = Take.model_validate({
        "name": "squirt test", "pace_m_s": test.pace_m_s, "elevation_deg": test.elevation_deg, "stroke": stroke,
        "tip": Tip(right=test.offset_mm / 1000.0 / radius_m(scenario)), "aim": Aim(heading_deg=0.0),
    })  # fmt: skip
    tested = scenario.model_copy(update={"cues": {"tested": cue}})
    found = deflection_of(tested, take, (test.distance_m,), stroke_at(tested, take, test.elevation_deg))
    if not found.points:
        raise ScenarioError(
            f"distance: must not exceed the {found.reach_m:.2f} m that a pace of {test.pace_m_s:g} m/s carries here;"
            f" got {test.distance_m:g}. Play firmer"
        )
    return found.points[0]


def _jab_factor(scenario: Scenario, cue: Cue, test: SquirtTest, smooth: Reading, off: Off) -> Measured:
    def jabbed(factor: float) -> float:
        jabbing = cue.model_copy(update={"jab_factor": factor})
        return _off_line(scenario, jabbing, test, "jab").net_mm

    way_out = "Jab at the same pace, offset and distance as the smooth strokes."
    law = Law(jabbed, *bounds_of(Cue, "jab_factor"), "jab factor", "off the line, jabbed", " mm", way_out)
    reading = _reading(scenario, cue, test, off)
    error = math.hypot(reading.error, law.solve(reading.mean) * smooth.error)
    return law.measured(Reading(reading.mean, error))


def offset_of_shift_mm(scenario: Scenario, cue: Cue, shift_mm: float) -> float:
    """Contact offset when the cue is moved sideways from centre by so much: the contact moves less (strike.py)."""
    return contact_offset(shift_mm, radius_m(scenario), cue.tip_radius_m) * radius_m(scenario)


def cue_of_pivot(
    scenario: Scenario, pivots_m: Sequence[float], pivot_error_m: float = PIVOT_M, offset_mm: float = 0.0
) -> CueFinding:
    """End mass of the shaft from its pivot length, found once or more.

    It is the bridge at which a pivot by the back hand needs no correction.  The
    closed form of strike.pivot_length inverted; ``offset_mm`` 0 is its
    small-offset limit.  ScenarioError for readings that no cue explains.

    >>> found = ts.cue_of_pivot(ts.open_scenario("two-cues"), [0.29, 0.30, 0.31])
    >>> round(found.ball_to_end_mass.value, 1), round(found.squirt_deg.value, 2)
    (22.7, 2.42)
    """
    some("pivot length", pivots_m)
    for pivot in pivots_m:
        positive(pivot_length=pivot)
    radius = radius_m(scenario)
    offset = offset_mm / 1000.0 / radius
    if not 0.0 <= offset < 0.99:
        raise ScenarioError(f"offset: must lie from 0 to {990.0 * radius:.1f} mm; got {offset_mm:g}")
    law = Law(
        lambda q: pivot_length(offset, _ratio(scenario, q), radius), *bounds_of(Cue, "ball_to_end_mass"),
        "ball : end mass", "pivot length", " m", "It is measured from the centre of the ball to the bridge.",
    )  # fmt: skip
    return _cue_finding(scenario, law.measured(reading_of(pivots_m, pivot_error_m)), offset_mm)


def _ratio(scenario: Scenario, ball_to_end_mass: float) -> float:
    """The mass of this cue ball over the end mass of a shaft that has so much on a standard ball."""
    shaft = Cue.model_construct(ball_to_end_mass=ball_to_end_mass)
    return shaft.mass_ratio_to_end(scenario.ball_set.mass_of_kg(CUE_BALL))


def _cue_finding(
    scenario: Scenario, mass: Measured, offset_mm: float, jab_factor: Measured | None = None,
    off: Reading | None = None, swerve_mm: float | None = None, bias_mm: float | None = None,
    tip_bias_mm: float | None = None,
) -> CueFinding:  # fmt: skip
    radius = radius_m(scenario)

    def squirt_deg(q: float) -> float:
        return math.degrees(math.atan(HALF_RADIUS * deflection_slope(HALF_RADIUS, 0.0, _ratio(scenario, q))))

    pivot = mass.through(lambda q: pivot_length(offset_mm / 1000.0 / radius, _ratio(scenario, q), radius))
    return CueFinding(mass, pivot, mass.through(squirt_deg), jab_factor, off, swerve_mm, bias_mm, tip_bias_mm)
