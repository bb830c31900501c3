"""The engine: exact events, any number of balls, any frame length.

Between events every ball moves in closed form (cloth.py).  An event is the end
of a phase, a ball meeting the table's edge (pocket.py, cushion.py) or balls
meeting each other (contact_time.py, ball_ball.py).  Events are found ahead, in
absolute time, and taken in order; :func:`advance` goes up to any given time and
stops there without touching a ball, so how a shot is cut into frames cannot
change it, not by one bit.

Simultaneous contacts.  Balls nearer than TOUCH_M count as touching.  All
touching pairs that are closing at the instant of an impact are struck together
(Moreau's impact law: every pair parts at e times its closing speed or faster,
impulses only push); pairs that come to close as a result are struck in the next
round, at the same instant.  So a shock runs through a line of frozen balls and
a symmetric rack breaks symmetrically.

Rail and ball together.  A ball that meets another while it closes on a nose or
jaw less than FROZEN_M away meets both together: to the share by which it is
nearer than that, the edge has already struck it when the balls meet, and the
outcome is the mean, by that share, of this and of the balls' impact alone.  So
it goes over without a jump from ball first to edge first, whichever way a hit is
turned, and rounding decides nothing.

Settling.  A contact that closes slower than SETTLE_M_S does not bounce, so that
the endless shrinking bounces of exact contacts come to an end.  A slip with which
the cloth drives a ball into the contact is taken up at once; then the bodies
keep a common speed along the normal, the chasing ball SETTLE_M_S less, or none
if that speed is below SETTLE_M_S; and a ball slower than SETTLE_M_S stands
still (it would have rolled a few micrometres).  Settling takes energy out; the
parting speed PART_M_S that keeps rounding from joining the bodies again puts
back less than 1e-18 J.

Wedged balls.  A ball that so settles against others or rails WEDGED_CONTACTS times
within WEDGED_S is stuck between them and stands still (wedge.py).

The end.  A shot is over when every ball rests or is potted.  It is cut off, with
a status that says so, after MAX_EVENTS events or MAX_TIME_S seconds.
"""

from __future__ import annotations

import math

from .cloth import cloth_slip, finish_slip_along, phase_end
from .columns import (
    AT_REST,
    BALL_EVENT,
    BUFFER_FULL,
    CUT_OFF,
    DROP_EVENT,
    E_AFTER,
    E_BEFORE,
    EDGE_EVENT,
    EVENTS,
    HANDLED,
    NOSE_DISTANCE,
    PHASE,
    PHASE_EVENT,
    PIECES,
    RADIUS,
    REACHED,
    SIN_THETA,
    T0,
    T_END,
    VX,
    VY,
    WATCHED,
    WX,
    WY,
    WZ,
)
from .constants import FROZEN_M, PART_M_S, REST, SETTLE_M_S
from .cushion import STEP_ERROR, bounce_cushion
from .jit import kernel
from .pieces import (
    MAX_TIME_S,
    STOPPED,
    ball_at,
    begin_piece,
    begun,
    look_ahead,
    open_event,
    put_ball,
    row_ball,
    write_piece,
)
from .pocket import ARC, DROP, LINE, NOTHING, edge_gap, edge_normal, foot_on_line, is_nose
from .records import BallState, Edge, Matrix, Pairs, RailLaw, Run, Setup
from .together import closing_speed, gather_pairs, strike_pair, strike_together
from .wedge import stop_wedged

MAX_EVENTS = 50_000


@kernel
def end_phase(run: Run, i: int, t: float, setup: Setup) -> None:
    """Ball i's phase is over: drop the rounding left of its slip or speed, and begin the next phase."""
    ball = ball_at(run.state, i, t, setup.laws.cloth.spin_deceleration)
    phase = int(run.state[i, PHASE])
    row = open_event(run, t, PHASE_EVENT, i, -1, (NOTHING, phase), (0.0, 0.0))
    put_ball(run.events, row, E_BEFORE, ball)
    begin_piece(run, i, t, phase_end(phase, ball, float(setup.balls[i, RADIUS])), setup)
    put_ball(run.events, row, E_AFTER, begun(run.state, i))


@kernel
def settled_on_rail(ball: BallState, nx: float, ny: float, radius: float) -> tuple[bool, BallState]:
    """Whether a ball creeping into a cushion of normal n stays there, and the ball as it then is.

    The slip with which the cloth drives it into the cushion is taken up first.
    """
    ux, uy = cloth_slip(ball, radius)
    if ux * nx + uy * ny > 0.0:
        ball = finish_slip_along(ball, radius, nx, ny)
    closing = -(ball.vx * nx + ball.vy * ny)
    if closing >= SETTLE_M_S:
        return False, ball
    vx, vy = ball.vx + (closing + PART_M_S) * nx, ball.vy + (closing + PART_M_S) * ny
    if vx * vx + vy * vy < SETTLE_M_S * SETTLE_M_S:
        return True, BallState(ball.x, ball.y, 0.0, 0.0, 0.0, 0.0, ball.wz)
    return True, BallState(ball.x, ball.y, vx, vy, ball.wx, ball.wy, ball.wz)


@kernel
def in_rail_axes(ball: BallState, nx: float, ny: float) -> BallState:
    """The ball seen along the rail: X = (-n_y, n_x), Y = -n into it, Z up, right-handed."""
    along_x, along_y = -ny, nx
    return BallState(
        ball.x,
        ball.y,
        ball.vx * along_x + ball.vy * along_y,
        -(ball.vx * nx + ball.vy * ny),
        ball.wx * along_x + ball.wy * along_y,
        -(ball.wx * nx + ball.wy * ny),
        ball.wz,
    )


@kernel
def from_rail_axes(ball: BallState, nx: float, ny: float) -> BallState:
    """The inverse of :func:`in_rail_axes`."""
    along_x, along_y = -ny, nx
    return BallState(
        ball.x,
        ball.y,
        ball.vx * along_x - ball.vy * nx,
        ball.vx * along_y - ball.vy * ny,
        ball.wx * along_x - ball.wy * nx,
        ball.wx * along_y - ball.wy * ny,
        ball.wz,
    )


@kernel
def meet_cushion(
    ball: BallState, nx: float, ny: float, radius: float, sin_theta: float, law: RailLaw, mu_s: float
) -> BallState:
    """The ball after meeting a cushion of unit normal n (towards the bed): bounced or settled."""
    if -(ball.vx * nx + ball.vy * ny) < SETTLE_M_S:
        stays, ball = settled_on_rail(ball, nx, ny, radius)
        if stays:
            return ball
    into = in_rail_axes(ball, nx, ny)
    out = bounce_cushion(into, radius, sin_theta, law.restitution, law.friction, mu_s, STEP_ERROR)
    return from_rail_axes(out, nx, ny)


@kernel
def off_edge(ball: BallState, kind: int, row: int, i: int, setup: Setup) -> BallState:
    """Ball i after meeting a line or arc of the edge."""
    nx, ny = edge_normal(ball.x, ball.y, kind, row, setup.edge)
    radius, sin_theta = float(setup.balls[i, RADIUS]), float(setup.balls[i, SIN_THETA])
    law = setup.laws.rails if is_nose(kind, row) else setup.laws.facings
    return meet_cushion(ball, nx, ny, radius, sin_theta, law, setup.laws.cloth.mu_s)


@kernel
def closes_on(ball: BallState, kind: int, row: int, edge: Edge) -> bool:
    """True if a ball moves toward a line or arc of the edge, faster than it would settle there."""
    nx, ny = edge_normal(ball.x, ball.y, kind, row, edge)
    return -(ball.vx * nx + ball.vy * ny) >= SETTLE_M_S


@kernel
def strike_edge(run: Run, i: int, t: float, setup: Setup) -> None:
    """Ball i meets what its look ahead found of the edge, at time t: it bounces, or drops and is out of play."""
    ball = ball_at(run.state, i, t, setup.laws.cloth.spin_deceleration)
    kind, edge_row = int(run.edge_times[i, 1]), int(run.edge_times[i, 2])
    if kind == DROP:
        row = open_event(run, t, DROP_EVENT, i, -1, (kind, edge_row), (0.0, 0.0))
        after = BallState(ball.x, ball.y, 0.0, 0.0, 0.0, 0.0, 0.0)
        write_piece(run, i, t, after, STOPPED)
    else:
        normal = edge_normal(ball.x, ball.y, kind, edge_row, setup.edge)
        row = open_event(run, t, EDGE_EVENT, i, -1, (kind, edge_row), normal)
        after = off_edge(ball, kind, edge_row, i, setup)
        begin_piece(run, i, t, after, setup)
    put_ball(run.events, row, E_BEFORE, ball)
    put_ball(run.events, row, E_AFTER, after)
    if kind != DROP and not closes_on(ball, kind, edge_row, setup.edge):
        stop_wedged(run, row, i, t, setup)


@kernel
def is_changed(state: Matrix, i: int, t: float, ball: BallState) -> bool:
    """True unless ball i's piece begins at time t with this ball."""
    moves = state[i, VX] != ball.vx or state[i, VY] != ball.vy
    turns = state[i, WX] != ball.wx or state[i, WY] != ball.wy or state[i, WZ] != ball.wz
    return bool(state[i, T0] != t or moves or turns)


@kernel
def strike_pairs(now: Matrix, pairs: Pairs, n_pairs: int, setup: Setup) -> None:
    """Strike one pair, or several together; changes ``now``."""
    if n_pairs == 1:
        strike_pair(now, pairs[0, 0], pairs[0, 1], setup.balls, setup.laws.balls)
    else:
        strike_together(now, pairs, n_pairs, setup.balls, setup.laws.balls)


@kernel
def edge_near(ball: BallState, rho: float, edge: Edge) -> tuple[float, int, int]:
    """The nearest line or arc of the edge within FROZEN_M of a ball that closes on it: (gap [m], kind, row).

    Whether the ball would come to it in the end is not asked: what passes a jaw by
    a hair, and what touches it, is struck alike.
    """
    best, kind, row = FROZEN_M, NOTHING, -1
    far = rho + FROZEN_M
    if far <= ball.x <= edge.length - far and far <= ball.y <= edge.width - far:
        return best, kind, row
    for i in range(edge.lines.shape[0]):
        if foot_on_line(ball.x, ball.y, edge.lines, i):
            gap = edge_gap(ball.x, ball.y, rho, LINE, i, edge)
            if gap < best and gap > -FROZEN_M and closes_on(ball, LINE, i, edge):
                best, kind, row = gap, LINE, i
    for i in range(edge.arcs.shape[0]):
        gap = edge_gap(ball.x, ball.y, rho, ARC, i, edge)
        if gap < best and closes_on(ball, ARC, i, edge):
            best, kind, row = gap, ARC, i
    return best, kind, row


@kernel
def at_edge(run: Run, n_pairs: int, setup: Setup) -> tuple[int, float, int, int]:
    """Of the balls that are struck together the one nearest the edge, to what share it is there, and at what of it.

    The share is 1 at the edge and 0 from FROZEN_M before it on; -1 for no ball,
    also where a pair only settles.
    """
    nearest, gap, kind, row = -1, FROZEN_M, NOTHING, -1
    if n_pairs == 1 and closing_speed(run.now, run.pairs[0, 0], run.pairs[0, 1], setup.balls) < SETTLE_M_S:
        return nearest, 0.0, kind, row
    for p in range(n_pairs):
        for side in range(2):
            i = run.pairs[p, side]
            found = edge_near(row_ball(run.now, i, 0), float(setup.balls[i, NOSE_DISTANCE]), setup.edge)
            if found[0] < gap:
                nearest, gap, kind, row = i, found[0], found[1], found[2]
    return nearest, 1.0 - max(0.0, gap) / FROZEN_M, kind, row


@kernel
def strike_edge_too(run: Run, i: int, share: float, edge: tuple[int, int], n_pairs: int, setup: Setup) -> None:
    """Strike the run's pairs while ball i is at a piece of the edge (kind, row) to some ``share``; changes ``now``."""
    ball, edge_first = row_ball(run.now, i, 0), run.now.copy()
    put_ball(edge_first, i, 0, off_edge(ball, edge[0], edge[1], i, setup))
    strike_together(edge_first, run.pairs, n_pairs, setup.balls, setup.laws.balls)
    strike_pairs(run.now, run.pairs, n_pairs, setup)
    for row in range(run.now.shape[0]):
        for k in range(2, 7):
            run.now[row, k] += share * (edge_first[row, k] - run.now[row, k])


@kernel
def strike_balls(run: Run, first: int, second: int, t: float, setup: Setup) -> int:
    """Balls first and second meet at time t, and with them every pair struck at that instant.

    Returns the number of pairs, listed in the run's ``pairs``; writes an event for each.
    """
    now, pairs, events, state = run.now, run.pairs, run.events, run.state
    for i in range(now.shape[0]):
        put_ball(now, i, 0, ball_at(state, i, t, setup.laws.cloth.spin_deceleration))
    n_pairs = gather_pairs(run, first, second, setup.balls)
    row = run.counts[EVENTS]
    for p in range(n_pairs):
        i, j = pairs[p, 0], pairs[p, 1]
        dx, dy = float(now[j, 0] - now[i, 0]), float(now[j, 1] - now[i, 1])
        size = math.sqrt(dx * dx + dy * dy)
        open_event(run, t, BALL_EVENT, i, j, (NOTHING, -1), (dx / size, dy / size))
        put_ball(events, row + p, E_BEFORE, row_ball(now, i, 0))
        put_ball(events, row + p, E_BEFORE + 7, row_ball(now, j, 0))
    settles = n_pairs == 1 and closing_speed(now, pairs[0, 0], pairs[0, 1], setup.balls) < SETTLE_M_S
    near, share, kind, edge_row = at_edge(run, n_pairs, setup)
    if near >= 0:
        strike_edge_too(run, near, share, (kind, edge_row), n_pairs, setup)
    else:
        strike_pairs(now, pairs, n_pairs, setup)
    for p in range(n_pairs):
        for side in range(2):
            ball = row_ball(now, pairs[p, side], 0)
            put_ball(events, row + p, E_AFTER + 7 * side, ball)
            if is_changed(state, pairs[p, side], t, ball):
                begin_piece(run, pairs[p, side], t, ball, setup)
            if settles:
                stop_wedged(run, row + p, pairs[p, side], t, setup)
    return n_pairs


@kernel
def next_event(run: Run) -> tuple[float, int, int, int]:
    """The earliest event known: (time, kind, first ball, second ball or -1)."""
    state, pair_times, edge_times = run.state, run.pair_times, run.edge_times
    best, kind, first, second = math.inf, PHASE_EVENT, -1, -1
    n = state.shape[0]
    for i in range(n):
        for j in range(i + 1, n):
            if pair_times[i, j] < best:
                best, kind, first, second = float(pair_times[i, j]), BALL_EVENT, i, j
        if edge_times[i, 0] < best:
            best, kind, first, second = float(edge_times[i, 0]), EDGE_EVENT, i, -1
        if state[i, T_END] < best:
            best, kind, first, second = float(state[i, T_END]), PHASE_EVENT, i, -1
    return best, kind, first, second


@kernel
def has_room(run: Run) -> bool:
    """True if the track can take whatever the next event brings."""
    n = run.state.shape[0]
    return bool(run.counts[PIECES] + 2 * n <= run.pieces.shape[0] and run.counts[EVENTS] + 3 * n <= run.events.shape[0])


@kernel
def take_event(run: Run, t: float, kind: int, first: int, second: int, watch: int, setup: Setup) -> bool:
    """Let an event happen and look ahead from it; True if it is a contact of ball ``watch``."""
    if kind == BALL_EVENT:
        seen = False
        for p in range(strike_balls(run, first, second, t, setup)):
            for side in range(2):
                ball = run.pairs[p, side]
                seen = seen or ball == watch
                look_ahead(run, ball, t, setup)
        return seen
    if kind == EDGE_EVENT:
        strike_edge(run, first, t, setup)
    else:
        end_phase(run, first, t, setup)
    look_ahead(run, first, t, setup)
    return kind == EDGE_EVENT and first == watch


@kernel
def advance(run: Run, t_stop: float, watch: int, setup: Setup) -> int:
    """Take every event up to ``t_stop`` [s]; the run's clock is the time reached.

    ``watch`` names a ball: stop right after its next contact, before t_stop; -1
    watches none.  Returns REACHED, AT_REST, WATCHED, CUT_OFF, or BUFFER_FULL
    when the track has no room for another event: give it more and call again.
    """
    clock, counts = run.clock, run.counts
    while True:
        t, kind, first, second = next_event(run)
        if t == math.inf:
            clock[0] = max(float(clock[0]), t_stop) if t_stop < math.inf else float(clock[0])
            return AT_REST
        if t > t_stop:
            clock[0] = t_stop
            return REACHED
        if counts[HANDLED] >= MAX_EVENTS or t > MAX_TIME_S:
            return CUT_OFF
        if not has_room(run):
            return BUFFER_FULL
        counts[HANDLED] += 1
        clock[0] = t
        if take_event(run, t, kind, first, second, watch, setup):
            return WATCHED


@kernel
def set_going(run: Run, start: Matrix, setup: Setup) -> None:
    """Put every ball at its starting numbers (x, y, v_x, v_y, w_x, w_y, w_z) at time 0 and look ahead."""
    n = start.shape[0]
    run.clock[0] = 0.0
    run.counts[PIECES] = run.counts[EVENTS] = run.counts[HANDLED] = 0
    for i in range(n):
        run.settles[i, 0] = run.settles[i, 1] = 0.0
        begin_piece(run, i, 0.0, row_ball(start, i, 0), setup)
        run.edge_times[i, 0] = math.inf
        for j in range(n):
            run.pair_times[i, j] = math.inf
    for i in range(n):
        if run.state[i, PHASE] != REST:
            look_ahead(run, i, 0.0, setup)
