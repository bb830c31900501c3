"""What can be done to the marks of a drill: the part of the editor that knows them."""

from __future__ import annotations

import math
from typing import Any

from tablesim.model.base import read_model
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Mark
from tablesim.scene.table import RAIL_M

from .mark_places import nearest_on_table, on_the_table, room_for, shifted
from .selection import Selection

ZONE_M, ARROW_M = 0.15, 0.25  # a new zone's radius, a new arrow's length
SMALLEST_M, LARGEST_M = 0.02, 2.0  # radius of a zone that is pulled


class MarkEdits(Selection):
    """Zones, arrows and labels: added, changed, moved, removed.  The editor has the rest."""

    def change(
        self, scenario: Scenario, done: str, thing: str, gesture: bool = False, chosen: int | None = None
    ) -> None:
        """Take a new scenario."""
        raise NotImplementedError

    def add_mark(self, kind: str, text: str = "") -> None:
        """A zone, an arrow or a label where there is room near the middle, to be dragged where it belongs."""
        extras: dict[str, dict[str, Any]] = {"zone": {"radius_m": ZONE_M}, "arrow": {"to": (ARROW_M, 0.0)}}
        words = text or ("label" if kind == "label" else "")
        mark = Mark.model_validate({"kind": kind, "at": (0.0, 0.0), "text": words, **extras.get(kind, {})})
        mark = shifted(mark, *room_for(mark, self.scenario))
        self.change(self.scenario.change(marks=[*self.scenario.marks, mark]), f"{kind} added", "marks")
        self.mark, self.selected = len(self.scenario.marks) - 1, None

    def set_mark(self, gesture: bool = True, **fields: Any) -> None:
        """Change the mark that is selected."""
        if self.mark is None:
            return
        marks = list(self.scenario.marks)
        marks[self.mark] = read_model(Mark, {**marks[self.mark].model_dump(exclude_none=True), **fields})
        self.change(self.scenario.change(marks=marks), f"{marks[self.mark].kind} changed", "marks", gesture)

    def move_mark(self, dx: float, dy: float) -> None:
        """Move the mark that is selected, an arrow as a whole, as far as it stays on the table."""
        if self.mark is not None:
            mark = self.scenario.marks[self.mark]
            moved = shifted(mark, *on_the_table(mark, dx, dy, self.scenario.table.surface))
            self.set_mark(at=moved.at, to=moved.to)

    def pull_mark(self, handle: str, x: float, y: float) -> None:
        """Pull the mark that is selected by a handle (at, to, radius_m) to a place [m], as far as the table goes."""
        if self.mark is None:
            return
        mark, size = self.scenario.marks[self.mark], self.scenario.table.surface
        x, y = round(x, 4), round(y, 4)
        if handle == "radius_m":
            most = min(LARGEST_M, max(mark.at[0] + RAIL_M, size.length_m + RAIL_M - mark.at[0]))
            self.set_mark(radius_m=min(most, max(SMALLEST_M, round(math.dist((x, y), mark.at), 4))))
        elif handle == "at":
            self.move_mark(x - mark.at[0], y - mark.at[1])
        else:
            self.set_mark(to=nearest_on_table(x, y, size))

    def remove_mark(self) -> None:
        """Remove the mark that is selected."""
        if self.mark is not None:
            marks = [m for i, m in enumerate(self.scenario.marks) if i != self.mark]
            self.change(self.scenario.change(marks=marks), "mark removed", "marks")
            self.mark = None
