"""What can be done to the marks of a drill: the part of the editor that knows them."""

from __future__ import annotations

from typing import Any

from tablesim.model.base import read_model
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Mark


class MarkEdits:
    """Zones, arrows and labels: added, changed, moved, removed.  The editor has the rest."""

    selected: str | None
    mark: int | None

    @property
    def scenario(self) -> Scenario:
        """The scenario as it stands."""
        raise NotImplementedError

    def change(
        self, scenario: Scenario, done: str, thing: str, gesture: bool = False, chosen: int | None = None
    ) -> None:
        """Take a new scenario."""
        raise NotImplementedError

    def add_mark(self, kind: str, text: str = "") -> None:
        """A zone, an arrow or a label in the middle of the table, to be dragged where it belongs."""
        size = self.scenario.table.surface
        aside = 0.09 * (len(self.scenario.marks) % 9 - 4)  # several added in a row do not lie on each other
        at = (round(size.length_m / 2 + 2.0 * aside, 3), round(size.width_m / 2 + aside, 3))
        extras: dict[str, dict[str, Any]] = {"zone": {"radius_m": 0.15}, "arrow": {"to": (at[0] + 0.25, at[1])}}
        mark = Mark.model_validate(
            {"kind": kind, "at": at, "text": text or ("label" if kind == "label" else ""), **extras.get(kind, {})}
        )
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
        """Move the mark that is selected, an arrow as a whole."""
        if self.mark is not None:
            mark = self.scenario.marks[self.mark]
            moved: dict[str, Any] = {"at": (round(mark.at[0] + dx, 6), round(mark.at[1] + dy, 6))}
            if mark.to is not None:
                moved["to"] = (round(mark.to[0] + dx, 6), round(mark.to[1] + dy, 6))
            self.set_mark(**moved)

    def remove_mark(self) -> None:
        """Remove the mark that is selected."""
        if self.mark is not None:
            marks = [m for i, m in enumerate(self.scenario.marks) if i != self.mark]
            self.change(self.scenario.change(marks=marks), "mark removed", "marks")
            self.mark = None
