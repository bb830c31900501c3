"""Fit the gear to one's own cue and table: what a person can measure there, turned into the gear's numbers.

Each test is a shot that shows one number almost alone, read with a tape or a
stopwatch (calibrate_cue.py, calibrate_table.py).  A finding's fields that bear the
name of a field of the gear are what :func:`with_finding` puts there.
"""

from __future__ import annotations

from dataclasses import dataclass

from tablesim.errors import NameUnknown, unknown_name
from tablesim.model.base import Model
from tablesim.model.gear import Cue
from tablesim.model.scenario import Scenario
from tablesim.units import number

from .calibrate_cue import CueFinding
from .calibrate_table import BallsFinding, ClothFinding, RailsFinding
from .measured import Measured
from .went import side_word

Finding = CueFinding | ClothFinding | RailsFinding | BallsFinding
PARTS: dict[type, str] = {CueFinding: "cues", ClothFinding: "cloth", RailsFinding: "rails", BallsFinding: "ball_set"}

# How a figure is said: words, unit with its blank, decimals.
SAID = {
    "ball_to_end_mass": ("ball : end mass", "", 1), "pivot_m": ("pivot length", " m", 3),
    "squirt_deg": ("squirt at half a radius", "°", 2), "jab_factor": ("jab factor", "", 2),
    "rolling_resistance": ("rolling resistance", "", 4), "sliding_friction": ("sliding friction", "", 3),
    "restitution": ("restitution", "", 3), "rebound": ("speed off the rail over speed into it", "", 3),
    "condition": ("condition", "", 2), "throw_deg": ("throw", "°", 2),
}  # fmt: skip


@dataclass(frozen=True)
class Figure:
    """A measured number in words: what it is, its value and the ends of its error bar, and their unit."""

    what: str
    value: str
    low: str
    high: str
    unit: str


def figures(finding: Finding) -> list[Figure]:
    """What a finding says, the number for the gear first."""
    said = []
    for field, (what, unit, digits) in SAID.items():
        found = getattr(finding, field, None)
        if isinstance(found, Measured):
            value, low, high = (number(v, digits) for v in (found.value, found.low, found.high))
            said.append(Figure(what, value, low, high, unit))
    return said


def remark(finding: Finding) -> str:
    """What else a person should know of a finding; empty if there is nothing."""
    if isinstance(finding, CueFinding) and finding.off is not None and finding.swerve_mm is not None:
        squirt = finding.off.mean - finding.swerve_mm
        told = f"Squirt alone would have been {squirt:.1f} mm; swerve took {-finding.swerve_mm:.1f} mm of it back."
        return f"{told} {bias_words(finding)}"
    if isinstance(finding, BallsFinding):
        return f"The cue ball left at {finding.pace_m_s:.2f} m/s."
    return ""


def bias_words(finding: CueFinding) -> str:
    """What both sides of english say of tip and eye, or that one side says nothing; empty for a pivot length."""
    if finding.off is None:
        return ""
    if finding.bias_mm is None or finding.tip_bias_mm is None:
        return "What the eye or a tip off centre did is in it: readings with both sides, as 34r 36l, tell that apart."
    side, tip = side_word(finding.bias_mm), side_word(-finding.tip_bias_mm)
    return (
        f"Apart from that all balls went {abs(finding.bias_mm):.1f} mm to the {side}: the eye's or, if the tip stood"
        f" {abs(finding.tip_bias_mm):.1f} mm farther {tip} than it was thought, the tip's."
    )


def with_finding(scenario: Scenario, finding: Finding, cue: str | None = None) -> Scenario:
    """The scenario with a finding's numbers in its gear, in four digits; ``cue``: which one, omitted its first.

    >>> two_cues = ts.open_scenario("two-cues")
    >>> fitted = ts.with_finding(two_cues, ts.cue_of_pivot(two_cues, [0.30]), cue="wood")
    >>> two_cues.cues["wood"].ball_to_end_mass, fitted.cues["wood"].ball_to_end_mass
    (22.0, 22.75)
    """
    part = PARTS[type(finding)]
    gear = getattr(scenario, part)
    if not isinstance(finding, CueFinding):
        return scenario.change(**{part: _with_numbers(gear, finding)})
    name = cue if cue is not None else next(iter(gear))
    return scenario.change(cues={**gear, name: _with_numbers(cue_named(scenario, name), finding)})


def cue_named(scenario: Scenario, name: str | None) -> Cue:
    """The cue of that name, or the first; NameUnknown suggests the nearest."""
    if name is not None and name not in scenario.cues:
        raise NameUnknown(unknown_name("cue", name, scenario.cues))
    return scenario.cues[name if name is not None else next(iter(scenario.cues))]


def numbers_of(finding: Finding, kind: type[Model]) -> dict[str, float]:
    """What a finding puts into the gear, by field, in four digits."""
    found = {name: getattr(finding, name, None) for name in kind.model_fields}
    return {name: float(f"{m.value:.4g}") for name, m in found.items() if isinstance(m, Measured)}


def _with_numbers(gear: Model, finding: Finding) -> Model:
    return type(gear).model_validate(gear.model_dump(exclude_none=True) | numbers_of(finding, type(gear)))
