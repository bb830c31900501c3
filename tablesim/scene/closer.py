"""Looking closer: at a part of the table instead of all of it, and through lenses at contact and pocket mouth."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.study.answer import Answer
from tablesim.study.prediction import Prediction
from tablesim.study.setup import gate_of

from .aim_here import aim_here
from .paths import ball_path
from .shapes import Box, Frame, fit, fit_part
from .shot import Shown
from .table import RAIL_M
from .ways import decided_at

Array = NDArray[np.float64]

MARGIN_M = RAIL_M + 0.02  # noses to the edge of a picture
LEAST_M = 0.15  # the shorter side of a part: two balls and what happens between them
AROUND = 0.10  # of its longer side, what is shown about a shot
AROUND_M, LINE_M = 0.12, 0.07  # and at least [m]; about the cue's line
CONTACT_HALF, MOUTH_HALF = 3.0, 1.75  # half a lens's side: in radii of the cue ball, in half widths of the mouth


def whole_table(scenario: Scenario) -> Box:
    """The table with its rails."""
    size = scenario.table.surface
    return -MARGIN_M, -MARGIN_M, size.length_m + MARGIN_M, size.width_m + MARGIN_M


def on_table(scenario: Scenario, part: Box) -> Box | None:
    """The part, no smaller than LEAST_M, shifted so that it lies on the table; None where it is all of the table."""
    table = np.array(whole_table(scenario)).reshape(2, 2)
    box = np.array(part, dtype=float).reshape(2, 2)
    most, side = table[1] - table[0], np.maximum(box[1] - box[0], LEAST_M)
    if (side >= 0.999 * most).all():
        return None
    side = np.minimum(side, most)
    low = np.clip(0.5 * (box[0] + box[1]) - 0.5 * side, table[0], table[1] - side)
    x0, y0, x1, y1 = (float(v) for v in (*low, *(low + side)))
    return x0, y0, x1, y1


def zoomed(scenario: Scenario, part: Box | None, factor: float, at: tuple[float, float]) -> Box | None:
    """The part ``factor`` times as large on the picture, the place ``at`` [m] staying where it is."""
    box, fixed = np.array(part or whole_table(scenario)).reshape(2, 2), np.array(at)
    low, high = fixed + (box - fixed) / factor
    return on_table(scenario, (float(low[0]), float(low[1]), float(high[0]), float(high[1])))


def panned(scenario: Scenario, part: Box | None, by: tuple[float, float]) -> Box | None:
    """The part moved by so much [m], as far as the table goes."""
    if part is None:
        return None
    return on_table(scenario, (part[0] + by[0], part[1] + by[1], part[2] + by[0], part[3] + by[1]))


def about_shot(scenario: Scenario, answers: dict[int, Answer]) -> Box | None:
    """The smallest part with cue ball and target ball, the first legs and the aims of the takes shown, and air."""
    places = [np.array([scenario.balls[CUE_BALL]])]
    if scenario.target is not None:
        gate = gate_of(scenario)
        places.append(np.array([scenario.balls[scenario.target.ball], (gate.x, gate.y)]))
    for answer in answers.values():
        played = (answer.aimed, answer.corrected)
        places += [leg for found in played if found is not None for leg in _first_legs(scenario, found)]
        aim = None if answer.correction is None else aim_here(scenario, answer.correction)
        if aim is not None:
            places.append(np.array([aim.place]))
    return _with_air(scenario, places, AROUND_M)


def _first_legs(scenario: Scenario, found: Prediction) -> Iterable[Array]:
    """The ways of cue ball and target ball to the first thing they meet."""
    chief = {CUE_BALL} | ({scenario.target.ball} if scenario.target is not None else set())
    for i, name in enumerate(scenario.ball_names if found.track is not None else ()):
        if name in chief and found.track is not None:
            path = ball_path(found.track, i)
            yield path.points[path.times <= decided_at(found, i) + 1e-9]


def along_line(scenario: Scenario) -> Box | None:
    """The part with the way from the cue ball to the target ball; all of the table without a target."""
    if scenario.target is None:
        return None
    return _with_air(scenario, [np.array([scenario.balls[CUE_BALL], scenario.balls[scenario.target.ball]])], LINE_M)


def _with_air(scenario: Scenario, places: list[Array], least: float) -> Box | None:
    """The part about places [m], with ``least`` [m] of air; what lies beyond the table is left out."""
    points, table = np.concatenate(places), np.array(whole_table(scenario)).reshape(2, 2)
    low, high = (np.clip(end, table[0], table[1]) for end in (points.min(axis=0), points.max(axis=0)))
    air = max(least, AROUND * float((high - low).max()))
    return on_table(scenario, (*(float(v) for v in low - air), *(float(v) for v in high + air)))  # type: ignore[arg-type]


def part_seen(scenario: Scenario, shown: Shown) -> Box | None:
    """The part that is looked at: the one chosen, or the cue's line if that is what is shown; None: all."""
    return shown.closer or (along_line(scenario) if shown.growth else None)


def picture_frame(
    scenario: Scenario, shown: Shown, box: tuple[float, float, float, float], point: float = 1.0
) -> Frame:
    """The frame of what is looked at, in a box (left, top, width, height) of pixels; a part lies as the table does."""
    size = scenario.table.surface
    whole = fit(size.length_m, size.width_m, MARGIN_M, box, point)
    part = part_seen(scenario, shown)
    return whole if part is None else fit_part(part, whole.matrix / whole.pixels_a_metre, box, point)


@dataclass(frozen=True)
class Lens:
    """A place enlarged: what it is called, its middle, and half its side [m]."""

    name: str
    at: tuple[float, float]
    half_m: float


def lenses(scenario: Scenario) -> tuple[Lens, ...]:
    """Contact and pocket mouth; none without a target."""
    if scenario.target is None:
        return ()
    cue_ball, ball = np.array(scenario.balls[CUE_BALL]), np.array(scenario.balls[scenario.target.ball])
    radius, gate = scenario.ball_set.radius_m(CUE_BALL), gate_of(scenario)
    way = (cue_ball - ball) / float(np.hypot(*(cue_ball - ball)))
    x, y = (float(v) for v in ball + radius * way)
    return (
        Lens("contact", (x, y), CONTACT_HALF * radius),
        Lens("pocket mouth", (gate.x, gate.y), MOUTH_HALF * gate.half_width),
    )
