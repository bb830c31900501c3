"""Balls wedged between others, or between a ball and a rail: the contacts that would repeat without end; see engine.py.

A ball that creeps between two others whose lines of centres make a small angle
d is handed to and fro, and each turn takes only d^2 of its speed: 50,000 contacts
at one instant, where in truth it is stuck.
"""

from __future__ import annotations

from .columns import BALL_EVENT, E_AFTER, E_FIRST, E_KIND
from .jit import kernel
from .pieces import begin_piece, begun, put_ball
from .records import BallState, Run, Setup

# A ball that settles against others and rails so often within so long is stuck, and stands still.
WEDGED_CONTACTS = 24
WEDGED_S = 1e-3
SINCE, COUNT = 0, 1  # columns of a run's ``settles``


@kernel
def note_settling(run: Run, i: int, t: float) -> bool:
    """Count that ball i has settled against something at time t [s]; True if it has so often that it is wedged."""
    settles = run.settles
    if t - settles[i, SINCE] > WEDGED_S:
        settles[i, SINCE], settles[i, COUNT] = t, 0.0
    settles[i, COUNT] += 1.0
    if settles[i, COUNT] < WEDGED_CONTACTS:
        return False
    settles[i, COUNT] = 0.0
    return True


@kernel
def stop_wedged(run: Run, row: int, i: int, t: float, setup: Setup) -> None:
    """Bring ball i, which event ``row`` has just brought to settle, to a standstill if it is wedged."""
    if not note_settling(run, i, t):
        return
    ball = begun(run.state, i)
    after = BallState(ball.x, ball.y, 0.0, 0.0, 0.0, 0.0, ball.wz)
    begin_piece(run, i, t, after, setup)
    event = run.events[row]
    second = event[E_KIND] == BALL_EVENT and event[E_FIRST] != i
    put_ball(run.events, row, E_AFTER + (7 if second else 0), begun(run.state, i))
