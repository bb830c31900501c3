"""What is selected, which is there, whatever becomes of the document."""

from __future__ import annotations

from tablesim.model.scenario import Scenario

from .document import Document


class Selection:
    """The ball or mark that is selected; None as soon as the scenario, as it stands, has it no more."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._ball: str | None = None
        self._mark: int | None = None

    @property
    def _scenario(self) -> Scenario:
        return self._document.scenario

    @property
    def ball(self) -> str | None:
        """Name of the ball that is selected."""
        return self._ball if self._ball in self._scenario.balls else None

    @property
    def mark(self) -> int | None:
        """Place of the mark that is selected."""
        return self._mark if self._mark is not None and self._mark < len(self._scenario.marks) else None

    @property
    def anything(self) -> bool:
        """True if a ball or a mark is selected."""
        return self.ball is not None or self.mark is not None

    def choose(self, ball: str | None = None, mark: int | None = None) -> None:
        """Select a ball, or a mark, and nothing else."""
        self._ball, self._mark = ball, mark
