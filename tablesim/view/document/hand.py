"""The balls of the scenario under a person's hand: as discs to be shoved, and the one that is being dragged."""

from __future__ import annotations

from tablesim.model.scenario import Scenario
from tablesim.staging.carry import Carry
from tablesim.staging.space import Staging


class Hand:
    """What is known of the balls as they lie, kept as long as they do."""

    def __init__(self) -> None:
        self._staging: tuple[Scenario, Staging] | None = None
        self._carried: tuple[Scenario, Carry] | None = None  # the drag, and what it has made of the scenario so far
        self._brought: str | None = None

    def staging(self, scenario: Scenario) -> Staging:
        """The balls as things that can be shoved."""
        if self._staging is None or self._staging[0] is not scenario:
            self._staging = (scenario, Staging(scenario))
        return self._staging[1]

    def bring(self, ball: str) -> None:
        """A ball comes from the tray in this movement."""
        self._brought = ball

    def dragged(self, scenario: Scenario, ball: str, x: float, y: float, snap: bool) -> Scenario:
        """The scenario with a ball dragged to (x, y) [m]; see :class:`Carry`.

        A drag goes on as long as nothing else changes the scenario; what does begins another one.
        """
        carried = self._carried
        if carried is None or carried[0] is not scenario or carried[1].ball != ball:
            carried = (scenario, Carry(scenario, ball))
        balls = carried[1].to(x, y, snap)
        changed = scenario if balls == scenario.balls else scenario.change(balls=balls)
        self._carried = (changed, carried[1])
        return changed

    def words(self, ball: str) -> str:
        """What has been done to the ball that is dragged."""
        return f"ball {ball} {'added' if ball == self._brought else 'moved'}"

    def let_go(self) -> None:
        """The movement is done."""
        self._carried = self._brought = None
