"""What is selected: the part of the editor that sees to it that it is there, whatever becomes of the document."""

from __future__ import annotations

from tablesim.model.scenario import Scenario


class Selection:
    """The ball or mark that is selected; None as soon as the scenario, as it stands, has it no more."""

    _ball: str | None = None
    _mark: int | None = None

    @property
    def scenario(self) -> Scenario:
        """The scenario as it stands."""
        raise NotImplementedError

    @property
    def selected(self) -> str | None:
        """Name of the ball that is selected."""
        return self._ball if self._ball in self.scenario.balls else None

    @selected.setter
    def selected(self, ball: str | None) -> None:
        self._ball = ball

    @property
    def mark(self) -> int | None:
        """Place of the mark that is selected."""
        return self._mark if self._mark is not None and self._mark < len(self.scenario.marks) else None

    @mark.setter
    def mark(self, place: int | None) -> None:
        self._mark = place
