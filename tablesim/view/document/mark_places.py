"""Where marks may lie: on the table, rails and all; a new one on the bed, clear of noses, balls and other marks."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Mark
from tablesim.model.table import Size
from tablesim.scene.table import RAIL_M

Array = NDArray[np.float64]
XY = tuple[float, float]

LETTER_M = 0.024  # width of a letter in an ordinary window: enough to keep words apart
HALF_LINE_M = 0.03  # of words, and room beside an arrow
AIR_M = 0.01
STEP_M = 0.03  # from place tried to place tried, and along what is long


class Patch(NamedTuple):
    """What covers the bed within a radius [m] of a straight way."""

    start: XY
    end: XY
    radius_m: float

    def points(self) -> Array:
        """Points (n, 2) along the way."""
        count = 2 + int(np.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1]) / STEP_M)
        return np.linspace(self.start, self.end, count)


def patches_of(mark: Mark) -> list[Patch]:
    """What a mark covers, its words included."""
    x, y = mark.at
    if mark.kind == "zone":
        return [Patch(mark.at, mark.at, mark.radius_m or 0.0)]
    half = 0.5 * LETTER_M * len(mark.text)
    words = [Patch((x - half, y), (x + half, y), HALF_LINE_M)] if mark.text else []
    return words + ([Patch(mark.at, mark.to, HALF_LINE_M)] if mark.to is not None else [])


def shifted(mark: Mark, dx: float, dy: float) -> Mark:
    """The mark moved by (dx, dy) [m], an arrow as a whole."""
    moved = {"at": (round(mark.at[0] + dx, 6), round(mark.at[1] + dy, 6))}
    if mark.to is not None:
        moved["to"] = (round(mark.to[0] + dx, 6), round(mark.to[1] + dy, 6))
    return mark.model_copy(update=moved)


def nearest_on_table(x: float, y: float, size: Size) -> XY:
    """The place on the table, rails and all, that is nearest to (x, y) [m]."""
    return min(max(x, -RAIL_M), size.length_m + RAIL_M), min(max(y, -RAIL_M), size.width_m + RAIL_M)


def on_the_table(mark: Mark, dx: float, dy: float, size: Size) -> XY:
    """As much of the shift (dx, dy) [m] as keeps the mark's ends on the table; what lies beyond may only come back."""
    ends = [mark.at] if mark.to is None else [mark.at, mark.to]
    return (
        _as_far_as(dx, [end[0] for end in ends], size.length_m + RAIL_M),
        _as_far_as(dy, [end[1] for end in ends], size.width_m + RAIL_M),
    )


def _as_far_as(step: float, places: list[float], far: float) -> float:
    return min(max(step, min(0.0, -RAIL_M - min(places))), max(0.0, far - max(places)))


def room_for(mark: Mark, scenario: Scenario) -> XY:
    """The shift [m] to the free place nearest to the middle of the bed; to the one with most room if none is free."""
    size = scenario.table.surface
    mine = patches_of(mark)
    middle = np.mean([p for patch in mine for p in (patch.start, patch.end)], axis=0)
    xs, ys = (np.arange(0.5 * wide % STEP_M, wide, STEP_M) for wide in (size.length_m, size.width_m))
    places = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    shifts = places - middle
    others = [Patch(at, at, scenario.ball_set.radius_m(name)) for name, at in scenario.balls.items()]
    others += [patch for other in scenario.marks for patch in patches_of(other)]
    room = np.min([_room(patch, shifts, others, size) for patch in mine], axis=0)
    aside = np.hypot(*(places - (0.5 * size.length_m, 0.5 * size.width_m)).T)
    best = int(np.argmin(np.where(room >= AIR_M, aside, np.inf)) if np.any(room >= AIR_M) else np.argmax(room))
    return round(float(shifts[best, 0]), 3), round(float(shifts[best, 1]), 3)


def _room(mine: Patch, shifts: Array, others: list[Patch], size: Size) -> Array:
    """Room (n,) [m] round a patch at each of the shifts (n, 2): to noses and to what lies on the bed; < 0 is over."""
    at = shifts[:, None, :] + mine.points()[None, :, :]
    room: Array = np.minimum(at, np.array([size.length_m, size.width_m]) - at).min(axis=(1, 2))
    for other in others:
        off = at[:, :, None, :] - other.points()[None, None, :, :]
        room = np.minimum(room, np.hypot(off[..., 0], off[..., 1]).min(axis=(1, 2)) - other.radius_m)
    return room - mine.radius_m
