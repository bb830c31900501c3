"""One layout and its gear as arrays, ready to be shot at again and again."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np

from tablesim.model.scenario import Scenario
from tablesim.physics import jit
from tablesim.physics.columns import VX, VY, WX, WY, WZ, X, Y
from tablesim.physics.edge import POCKETS
from tablesim.physics.potting import Solution
from tablesim.physics.records import BallState, Laws, Setup
from tablesim.physics.simulation import run_for
from tablesim.physics.trial import Shot, Trial

from .setup import plain_heading, resting, setup_of, target_of

WINDOW_RESOLUTION_RAD = 2e-5  # how closely the ends of the window are found; finer, a rattle's chaos decides
ROWS = 2048  # of track kept for one trial; a target ball's fate takes a few dozen


class Shooter:
    """One layout and its gear as arrays, ready to be shot at again and again.

    Holds the work space of one thread.
    """

    def __init__(self, scenario: Scenario, setup: Setup | None = None) -> None:
        target = target_of(scenario)
        self.scenario = scenario
        self.kernels = jit.engine()
        self.setup = setup or setup_of(scenario)
        self.layout = resting(scenario)
        self.target = scenario.ball_names.index(target.ball)
        self.pocket = POCKETS.index(target.pocket)
        self._start = np.zeros_like(self.layout)
        self._run = run_for(len(self.layout), ROWS)

    def _shot(self, launch: BallState) -> Shot:
        return Shot(launch, self.layout, self._start, self.target, self.pocket)

    def trial(self, heading: float, launch: BallState, laws: Laws | None = None) -> Trial:
        """One stroke along ``heading`` [rad]; see physics/aim.py."""
        setup = self.setup if laws is None else self.setup._replace(laws=laws)
        found: Trial = self.kernels.begin_heading(self._run, self._shot(launch), heading, True, setup)
        return found

    def solve(self, launch: BallState, others: bool = True) -> Solution:
        """The headings that pot with a stroke, and whether there is a wider run; see physics/potting.py."""
        found: Solution = self.kernels.solve_heading(
            self._run, self._shot(launch), self.plain, WINDOW_RESOLUTION_RAD, others, self.setup
        )
        return found

    def hit(self, launch: BallState, heading: float) -> tuple[BallState, BallState] | None:
        """Cue ball and target ball as a stroke along ``heading`` [rad] leaves them; None if they do not meet so."""
        trial: Trial = self.kernels.begin_heading(self._run, self._shot(launch), heading, False, self.setup)
        return None if math.isnan(trial.direction) else (self.cue_ball, self._ball(self.target))

    def _ball(self, row: int) -> BallState:
        return BallState(*self._run.state[row, [X, Y, VX, VY, WX, WY, WZ]].tolist())

    @property
    def cue_ball(self) -> BallState:
        """The cue ball as the latest trial left it: after its last contact, or where it came to rest."""
        return self._ball(0)

    @cached_property
    def plain(self) -> float:
        """Heading [rad] of the plain aim at the gate's centre."""
        return plain_heading(self.scenario)
