"""A running shot and its track: the engine's arrays, held together.

simulation = Simulation(setup, start)
simulation.step(1 / 60)          # a frame; or run() to the end
track = simulation.track()       # sampled at any time, with its events
"""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from . import columns as e
from . import jit
from .cloth import drift
from .constants import POTTED, REST, ROLLING, SLIDING, SPINNING, K
from .pieces import begun, rates_of
from .pocket import DROP, edge_name
from .records import BallState, Run, Setup

Array = NDArray[np.float64]

PHASE_NAMES = {REST: "at rest", SLIDING: "sliding", ROLLING: "rolling", SPINNING: "spinning", POTTED: "potted"}


class Event(NamedTuple):
    """Something that happened at ``time`` [s].

    ``kind`` is phase, edge, ball or drop; ``second`` is the other ball or None;
    ``where`` the rail, jaw or pocket, or for a phase the one that ended;
    ``normal`` the unit normal seen from above: towards the bed at an edge, from
    first to second between balls.  ``before`` and ``after`` hold the states of
    the balls involved.
    """

    time: float
    kind: str
    first: int
    second: int | None
    where: str
    normal: tuple[float, float]
    before: tuple[BallState, ...]
    after: tuple[BallState, ...]


KIND_NAMES = {e.PHASE_EVENT: "phase", e.EDGE_EVENT: "edge", e.BALL_EVENT: "ball", e.DROP_EVENT: "drop"}


def _event(row: Array) -> Event:
    kind, first, second = int(row[e.E_KIND]), int(row[e.E_FIRST]), int(row[e.E_SECOND])
    where = ""
    if kind == e.PHASE_EVENT:
        where = PHASE_NAMES[int(row[e.E_ROW])]
    elif kind != e.BALL_EVENT:
        where = edge_name(int(row[e.E_EDGE]), int(row[e.E_ROW]))
    spans = [0] if second < 0 else [0, 7]
    before = tuple(BallState(*row[e.E_BEFORE + s : e.E_BEFORE + s + 7].tolist()) for s in spans)
    after = tuple(BallState(*row[e.E_AFTER + s : e.E_AFTER + s + 7].tolist()) for s in spans)
    normal = (float(row[e.E_NX]), float(row[e.E_NY]))
    return Event(
        float(row[e.E_TIME]), KIND_NAMES[kind], first, second if second >= 0 else None, where, normal, before, after
    )


class Track:
    """A shot that has been run: pieces of closed-form motion, and the events between them.

    ``pieces`` (m, 15) and ``event_rows`` (k, 36) as in columns.py; ``status`` is
    what :func:`engine.advance` answered last.
    """

    def __init__(self, setup: Setup, pieces: Array, event_rows: Array, end_time: float, status: int) -> None:
        self.setup = setup
        self.pieces = pieces
        self.event_rows = event_rows
        self.end_time = end_time
        self.status = status

    @property
    def n_balls(self) -> int:
        return int(self.setup.balls.shape[0])

    @property
    def duration(self) -> float:
        """Time [s] of the last event: when everything came to rest, if it did."""
        return float(self.event_rows[-1, e.E_TIME]) if len(self.event_rows) else 0.0

    @cached_property
    def events(self) -> tuple[Event, ...]:
        """All events in order of time."""
        return tuple(_event(row) for row in self.event_rows)

    @cached_property
    def _pieces_of(self) -> list[Array]:
        return [self.pieces[self.pieces[:, 0] == i, 1:] for i in range(self.n_balls)]

    def pieces_of(self, ball: int) -> Array:
        """Rows (m_i, 14) of one ball's pieces, in order of time; columns as in columns.py."""
        return self._pieces_of[ball]

    def piece_at(self, ball: int, t: float) -> Array:
        """The piece (14,) that ball ``ball`` is in at time t; at an event, the one after it."""
        rows = self._pieces_of[ball]
        row: Array = rows[max(int(np.searchsorted(rows[:, e.T0], t, side="right")) - 1, 0)]
        return row

    def state_of(self, ball: int, t: float) -> BallState:
        """One ball at time t [s]; after the end, as it ended."""
        p = self.piece_at(ball, t)
        last = min(t, self.end_time if self.status != e.AT_REST else t)
        rows = p[np.newaxis]
        return drift(
            begun(rows, 0), rates_of(rows, 0), self.setup.laws.cloth.spin_deceleration, max(last - float(p[e.T0]), 0.0)
        )

    def phase_of(self, ball: int, t: float) -> str:
        """Name of the phase that a ball is in at time t."""
        return PHASE_NAMES[int(self.piece_at(ball, t)[e.PHASE])]

    def states_at(self, t: float) -> Array:
        """All balls at time t: (n, 7) of x, y, v_x, v_y, w_x, w_y, w_z."""
        return np.array([self.state_of(i, t) for i in range(self.n_balls)])

    def potted_in(self, ball: int) -> str | None:
        """The pocket that a ball has dropped into, or None."""
        rows = self.event_rows
        hits = rows[(rows[:, e.E_KIND] == e.DROP_EVENT) & (rows[:, e.E_FIRST] == ball)]
        return edge_name(DROP, int(hits[0, e.E_ROW])) if len(hits) else None


def kinetic_energy(setup: Setup, states: Array) -> float:
    """Kinetic energy [J] of all balls, moving and turning; states (n, 7)."""
    mass, radius = setup.balls[:, e.MASS], setup.balls[:, e.RADIUS]
    v2 = (states[:, 2:4] ** 2).sum(axis=1)
    w2 = (states[:, 4:7] ** 2).sum(axis=1)
    return float((0.5 * mass * (v2 + radius**2 / K * w2)).sum())


def run_for(n: int, rows: int) -> Run:
    """Room for a shot of n balls, with a track of so many rows."""
    return Run(
        np.zeros((n, e.STATE_COLUMNS)), np.zeros(1), np.empty((n, n)), np.zeros((n, 3)),
        np.empty((rows, e.PIECE_COLUMNS)), np.empty((rows, e.EVENT_COLUMNS)), np.zeros(3, dtype=np.int64),
        np.zeros((n, 7)), np.zeros((3 * n, 2), dtype=np.int64), np.zeros((n, 2)),
    )  # fmt: skip


class Simulation:
    """A shot being run, from starting numbers (n, 7): x, y, v_x, v_y, w_x, w_y, w_z of each ball."""

    def __init__(self, setup: Setup, start: Array) -> None:
        n = len(start)
        self.setup = setup
        self.kernels = jit.engine()
        self.status = e.REACHED
        self._run = run_for(n, 64 + 8 * n)
        self.kernels.set_going(self._run, np.ascontiguousarray(start, dtype=np.float64), setup)

    @property
    def time(self) -> float:
        """Time [s] reached."""
        return float(self._run.clock[0])

    @property
    def finished(self) -> bool:
        """True when nothing moves any more, or the shot was cut off."""
        return self.status in (e.AT_REST, e.CUT_OFF)

    def advance(self, t_stop: float, watch: int = -1) -> int:
        """Run to ``t_stop`` [s], or to just after the next contact of ball ``watch``; returns the status."""
        while True:
            self.status = int(self.kernels.advance(self._run, t_stop, watch, self.setup))
            if self.status != e.BUFFER_FULL:
                return self.status
            pieces, events = self._run.pieces, self._run.events
            self._run = self._run._replace(
                pieces=np.concatenate([pieces, np.empty_like(pieces)]),
                events=np.concatenate([events, np.empty_like(events)]),
            )

    def step(self, dt: float) -> int:
        """Run one frame of ``dt`` seconds."""
        return self.advance(self.time + dt)

    def run(self) -> Track:
        """Run to the end and return the track."""
        self.advance(np.inf)
        return self.track()

    def track(self) -> Track:
        """What has been run so far."""
        run = self._run
        pieces, events = run.pieces[: run.counts[e.PIECES]], run.events[: run.counts[e.EVENTS]]
        return Track(self.setup, pieces.copy(), events.copy(), self.time, self.status)
