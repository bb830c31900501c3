"""What can be done to the marks of a drill: scenario in, scenario out."""

from __future__ import annotations

import math
from typing import Any

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Mark
from tablesim.scene.table import RAIL_M

from .mark_places import nearest_on_table, on_the_table, room_for, shifted

ZONE_M, ARROW_M = 0.15, 0.25  # a new zone's radius, a new arrow's length
SMALLEST_M, LARGEST_M = 0.02, 2.0  # radius of a zone that is pulled


def with_mark(scenario: Scenario, kind: str, text: str = "") -> Scenario:
    """One more zone, arrow or label where there is room near the middle, to be dragged where it belongs."""
    extras: dict[str, dict[str, Any]] = {"zone": {"radius_m": ZONE_M}, "arrow": {"to": (ARROW_M, 0.0)}}
    words = text or ("label" if kind == "label" else "")
    mark = Mark.model_validate({"kind": kind, "at": (0.0, 0.0), "text": words, **extras.get(kind, {})})
    mark = shifted(mark, *room_for(mark, scenario))
    return scenario.change(marks=[*scenario.marks, mark])


def with_mark_changed(scenario: Scenario, place: int, **fields: Any) -> Scenario:
    """Other fields for the mark at a place of their list."""
    marks = list(scenario.marks)
    marks[place] = Mark.model_validate({**marks[place].model_dump(exclude_none=True), **fields})
    return scenario.change(marks=marks)


def without_mark(scenario: Scenario, place: int) -> Scenario:
    """One mark less."""
    return scenario.change(marks=[mark for i, mark in enumerate(scenario.marks) if i != place])


def moved(scenario: Scenario, place: int, dx: float, dy: float) -> dict[str, Any]:
    """The fields of a mark moved by (dx, dy) [m], an arrow as a whole, as far as it stays on the table."""
    mark = scenario.marks[place]
    there = shifted(mark, *on_the_table(mark, dx, dy, scenario.table.surface))
    return {"at": there.at, "to": there.to}


def pulled(scenario: Scenario, place: int, handle: str, x: float, y: float) -> dict[str, Any]:
    """The fields of a mark pulled by a handle (at, to, radius_m) to a place [m], as far as the table goes."""
    mark, size = scenario.marks[place], scenario.table.surface
    x, y = round(x, 4), round(y, 4)
    if handle == "radius_m":
        most = min(LARGEST_M, max(mark.at[0] + RAIL_M, size.length_m + RAIL_M - mark.at[0]))
        return {"radius_m": min(most, max(SMALLEST_M, round(math.dist((x, y), mark.at), 4)))}
    if handle == "at":
        return moved(scenario, place, x - mark.at[0], y - mark.at[1])
    return {"to": nearest_on_table(x, y, size)}
