"""What changes when one thing changes, or two: corrections over ranges of them.

A sweep takes one take of a scenario and varies any of ``AXES``; each cell is
solved on the full engine.  Work is spread over threads (the kernels release
Python's lock) and stops cleanly when asked.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import product
from threading import Event
from typing import Any, get_args

from tablesim.errors import NameUnknown, ScenarioError, TablesimError, unknown_name
from tablesim.model.gear import FrictionLaw
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics import jit

from .columns_text import csv_text
from .correct import Correction, correct_takes, without_answer
from .setup import gate_of, plain_heading, target_distance, target_of
from .shooter import Shooter

MAX_CELLS = 100_000
STILL = Take(name="any", pace_m_s=1.0)  # to hold a value of an axis against the rules
MAX_STEPS_AN_AXIS = 10_000
CHUNK = 64  # cells one thread takes at a time

# Axis, what it is, its unit.
AXES = {
    "pace": ("pace", "m/s"),
    "side": ("tip right of centre", "ball radii"),
    "height": ("tip above centre", "ball radii"),
    "elevation": ("elevation of the butt", "deg"),
    "cue": ("cue", ""),
    "stroke": ("stroke", ""),
    "cloth": ("sliding friction of the cloth", ""),
    "condition": ("condition of the balls", ""),
    "friction": ("law of ball friction", ""),
    "distance": ("cue ball to object ball", "m"),
    "cut": ("cut angle, left +", "deg"),
}
NAMED_AXES = ("cue", "stroke", "friction")
BALL_FIELDS = {"condition": "condition", "friction": "friction_law"}
LAYOUT_AXES = ("cloth", "condition", "friction", "distance", "cut")


@dataclass(frozen=True)
class Axis:
    """A thing to vary, one of :data:`AXES`, and its values in that one's unit."""

    name: str
    values: tuple[Any, ...]

    @property
    def label(self) -> str:
        """Name and unit for a heading."""
        what, unit = AXES[self.name]
        return f"{what}, {unit}" if unit else what


@dataclass(frozen=True, slots=True)
class Cell:
    """One combination of values and its corrected aim."""

    values: tuple[Any, ...]
    correction: Correction


@dataclass(frozen=True)
class Sweep:
    """All cells of a sweep, the last axis running fastest."""

    take: str
    axes: tuple[Axis, ...]
    cells: tuple[Cell, ...]


def parse_axis(text: str) -> Axis:
    """An axis from text: ``pace=1:6:0.25`` (from, to, step), ``cue=wood,low-squirt`` or ``side=-0.3,0,0.3``."""
    name, equals, rest = text.partition("=")
    if not equals or not rest:
        raise ScenarioError(f"--over: must be NAME=FROM:TO:STEP or NAME=A,B,...; got {text[:60]!r}")
    if name not in AXES:
        raise NameUnknown("--over: " + unknown_name("thing to vary", name, AXES))
    if name in NAMED_AXES:
        return Axis(name, tuple(part.strip() for part in rest.split(",")))
    try:
        numbers = [float(part) for part in (rest.split(":") if ":" in rest else rest.split(","))]
    except ValueError:
        raise ScenarioError(f"--over {name}: must be numbers; got {rest[:60]!r}") from None
    if not all(math.isfinite(v) for v in numbers):
        raise ScenarioError(f"--over {name}: must be finite numbers; got {rest[:60]!r}")
    if ":" not in rest:
        return Axis(name, tuple(numbers))
    if len(numbers) != 3:
        raise ScenarioError(f"--over {name}: a range is FROM:TO:STEP; got {rest[:60]!r}")
    low, high, step = numbers
    if step <= 0.0 or high < low:
        raise ScenarioError(f"--over {name}: FROM must not exceed TO and STEP must be above 0; got {rest[:60]!r}")
    if (high - low) / step > MAX_STEPS_AN_AXIS:
        raise ScenarioError(f"--over {name}: at most {MAX_STEPS_AN_AXIS} steps; got {(high - low) / step:.0f}")
    count = math.floor((high - low) / step + 1e-9) + 1
    return Axis(name, tuple(round(low + k * step, 12) for k in range(count)))


def cue_ball_at(scenario: Scenario, distance_m: float | None = None, cut_deg: float | None = None) -> Scenario:
    """The layout with the cue ball moved: along its plain line, or turned round the target ball.

    ``distance_m`` from centre to centre as the ghost ball stands from the cue
    ball plus two radii; ``cut_deg`` left +.  Refused where it cannot lie.
    """
    target = target_of(scenario)
    mouth = gate_of(scenario)
    tx, ty = scenario.balls[target.ball]
    cx, cy = scenario.balls[CUE_BALL]
    line = math.atan2(mouth.y - ty, mouth.x - tx)
    apart = target_distance(scenario)
    gx, gy = tx - apart * math.cos(line), ty - apart * math.sin(line)
    heading = plain_heading(scenario) if cut_deg is None else line - math.radians(cut_deg)
    gap = math.hypot(gx - cx, gy - cy) if distance_m is None else distance_m - apart
    if gap < 0.0 or (cut_deg is not None and abs(cut_deg) >= 90.0):
        raise ScenarioError(
            f"distance {distance_m}: must be at least {apart:.4f} m, where the balls touch"
            if gap < 0.0
            else f"cut {cut_deg}: must lie within 90 degrees"
        )
    place = (gx - gap * math.cos(heading), gy - gap * math.sin(heading))
    try:
        return scenario.change(balls={**scenario.balls, CUE_BALL: place})
    except ScenarioError:
        raise ScenarioError(
            f"the cue ball cannot lie {gap + apart:.2f} m from ball {target.ball} there: off the bed or in a ball"
        ) from None


def _check(scenario: Scenario, axes: tuple[Axis, ...]) -> None:
    target_of(scenario)
    if not 1 <= len(axes) <= 2:
        raise ScenarioError(f"--over: one or two things at a time; got {len(axes)}")
    if len({axis.name for axis in axes}) != len(axes):
        raise ScenarioError(f"--over: {axes[0].name} is given twice")
    cells = math.prod(len(axis.values) for axis in axes)
    if cells > MAX_CELLS:
        raise ScenarioError(f"--over: at most {MAX_CELLS} cells; got {cells}")
    for axis in axes:
        if axis.name not in AXES:
            raise NameUnknown("--over: " + unknown_name("thing to vary", axis.name, AXES))
        if axis.name == "cue":
            for value in axis.values:
                if value not in scenario.cues:
                    raise NameUnknown("--over cue: " + unknown_name("cue", value, scenario.cues))
        if axis.name == "friction":
            for value in axis.values:
                if value not in get_args(FrictionLaw):
                    raise NameUnknown("--over friction: " + unknown_name("law", value, get_args(FrictionLaw)))
    for axis in axes:
        for value in axis.values:
            _check_value(scenario, axis.name, value)


def _check_value(scenario: Scenario, axis: str, value: Any) -> None:
    """ScenarioError where a value breaks a rule wherever the balls lie."""
    try:
        if axis in ("distance", "cut"):
            return
        if axis in LAYOUT_AXES:
            placed(scenario, {axis: value})
        else:
            played(STILL, {axis: value})
    except ScenarioError as trouble:
        raise ScenarioError(f"--over {axis}: {str(trouble).partition(': ')[2]}") from None


def placed(scenario: Scenario, settings: dict[str, Any]) -> Scenario:
    """The scenario with what concerns table, balls and layout set; ScenarioError where a value breaks a rule."""
    changes: dict[str, Any] = {}
    if "cloth" in settings:
        changes["cloth"] = {**scenario.cloth.model_dump(), "sliding_friction": settings["cloth"]}
    of_balls = {field: settings[axis] for axis, field in BALL_FIELDS.items() if axis in settings}
    if of_balls:
        changes["ball_set"] = {**scenario.ball_set.model_dump(), **of_balls}
    if changes:
        scenario = scenario.change(**changes)
    if "distance" in settings or "cut" in settings:
        scenario = cue_ball_at(scenario, settings.get("distance"), settings.get("cut"))
    return scenario


def played(take: Take, settings: dict[str, Any]) -> Take:
    """The take with what concerns the stroke set; ScenarioError where a value breaks a rule."""
    data = take.model_dump(exclude_none=True)
    for axis, field in (("pace", "pace_m_s"), ("elevation", "elevation_deg"), ("cue", "cue"), ("stroke", "stroke")):
        if axis in settings:
            data[field] = settings[axis]
    for axis, field in (("side", "right"), ("height", "up")):
        if axis in settings:
            data["tip"] = {**data["tip"], field: settings[axis]}
    return Take.model_validate(data)


def _cells(axes: tuple[Axis, ...]) -> Iterator[tuple[Any, ...]]:
    return product(*(axis.values for axis in axes))


def _solved(scenario: Scenario, take: Take, axes: tuple[Axis, ...], chunk: list[tuple[Any, ...]]) -> list[Cell]:
    """Some cells, those on one layout by one shooter."""
    found: dict[int, Correction] = {}
    on_layout: dict[tuple[Any, ...], tuple[Scenario, list[tuple[int, Take]]]] = {}
    for k, values in enumerate(chunk):
        settings = {axis.name: value for axis, value in zip(axes, values, strict=True)}
        key = tuple(value for name, value in settings.items() if name in LAYOUT_AXES)
        try:
            if key not in on_layout:
                on_layout[key] = (placed(scenario, settings), [])
            on_layout[key][1].append((k, played(take, settings)))
        except TablesimError as error:
            found[k] = without_answer(take, scenario.cue_name_of(take), str(error))
    for place, takes in on_layout.values():
        answers = correct_takes(Shooter(place), [played for _, played in takes])
        found |= {k: answer for (k, _), answer in zip(takes, answers, strict=True)}
    return [Cell(values, found[k]) for k, values in enumerate(chunk)]


def sweep(
    scenario: Scenario,
    take: Take | str,
    axes: Sequence[Axis],
    progress: Callable[[int, int], object] = lambda done, whole: None,
    stop: Event | None = None,
) -> Sweep:
    """Corrections over all combinations of the values of one or two axes, on all cores.

    ``take``: its name, or one stated for the purpose.  ``progress`` hears how many
    cells are done and how many there are; ``stop``, when set, ends the work early
    with the cells done so far.  For hundreds of cells call :func:`tablesim.prepare`
    before.  A cell without an aim that works says so in its ``reason``; a value
    that breaks a rule is a ScenarioError or NameUnknown.

    >>> two_cues = ts.open_scenario("two-cues")
    >>> found = ts.sweep(two_cues, "wood, soft", [ts.Axis("pace", (1.3, 1.9, 4.5))])
    >>> [(cell.values, round(cell.correction.correction_mm)) for cell in found.cells]
    [((1.3,), -180), ((1.9,), -219), ((4.5,), -365)]
    """
    (varied,), axes = scenario.takes_for(take), tuple(axes)
    _check(scenario, axes)
    engine, cells = jit.engine(), list(_cells(axes))

    def solve(chunk: list[tuple[Any, ...]]) -> list[Cell]:
        if stop is not None and stop.is_set():
            return []
        with jit.using(engine):  # said anew in every thread
            return _solved(scenario, varied, axes, chunk)

    done: list[Cell] = []
    chunks = [cells[k : k + CHUNK] for k in range(0, len(cells), CHUNK)]
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        try:
            for part in pool.map(solve, chunks):
                done.extend(part)
                progress(len(done), len(cells))
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return Sweep(varied.name, axes, tuple(done))


def as_csv(found: Sweep) -> str:
    """A sweep as CSV: a column for each axis, then the correction's numbers."""
    columns = (
        "heading_deg", "turn_deg", "correction_deg", "correction_mm", "aim_offset_mm", "aim_offset_diamonds",
        "heart_mm", "relative_to_english", "window_deg", "window_mm", "taken_mm", "bridge_m", "warning", "reason",
    )  # fmt: skip
    rows = ([*cell.values, *(getattr(cell.correction, name) for name in columns)] for cell in found.cells)
    return csv_text([*(axis.name for axis in found.axes), *columns], rows)
