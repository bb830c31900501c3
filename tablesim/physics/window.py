"""The window of headings that pot the target ball, and its middle: trials (aim.py), bracketed.

Numbers of a solution (``SOLUTION_NUMBERS``) are named below; angles in radians.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .aim import (
    CODE,
    CROSSING,
    CUE_BALL_BLOCKED,
    DIRECTION,
    MISSES,
    NOT_REACHED,
    OBSTACLE,
    POTS,
    TRIAL_NUMBERS,
    try_heading,
    turn_within,
)
from .ball_ball import contact_distance
from .cloth import drift, motion, phase_end
from .columns import GRAVITY, MU_R, MU_S, RADIUS, SPIN_DECELERATION
from .constants import ROLLING, SLIDING
from .contact_time import quartic_fall
from .jit import kernel

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Numbers of a solution: code of the answer, heading in the middle of the window, its lower and upper end [rad],
# trial at that heading, and the heading for the mouth's centre (nan where none crosses it).
S_CODE, S_HEADING, S_LOW, S_HIGH, S_CENTRE, S_TRIAL = 0, 1, 2, 3, 4, 5
SOLUTION_NUMBERS = S_TRIAL + TRIAL_NUMBERS
# Codes of an answer: a trial's code where every hit ends that way, or
SOLVED, TOO_THIN, REFUSED = 10, 11, 12
HITS = 16  # hits tried over the whole width of the target ball
THINNEST = 16  # halvings between the thinnest hit and a miss
PROBE = 0.3  # where an end is sought between a pot and a miss: nearer the pot, as a rattle costs ten times as long


@kernel("f8(f8,f8,f8,f8,f8,f8,f8,f8)")
def leaving_time(
    x: float, y: float, vx: float, vy: float, ax: float, ay: float, distance: float, horizon: float
) -> float:
    """First time in [0, horizon] at which a point gets ``distance`` away from the origin; inf if it does not."""
    return quartic_fall(
        distance * distance - x * x - y * y,
        -2.0 * (x * vx + y * vy),
        -(vx * vx + vy * vy + x * ax + y * ay),
        -(vx * ax + vy * ay),
        -0.25 * (ax * ax + ay * ay),
        horizon,
    )


@kernel("f8(f8[:],f8,f8,f8,f8,f8,f8)")
def bearing_at(launch: Array, radius: float, mu_s: float, mu_r: float, spin: float, g: float, distance: float) -> float:
    """Angle [rad, left +] off the cue's line at which the free cue ball is ``distance`` from its start.

    nan if it stops short of it.
    """
    x = y = 0.0
    vx, vy, wx, wy, wz = launch[0], launch[1], launch[2], launch[3], launch[4]
    for _ in range(3):
        phase, ax, ay, bx, by, duration = motion(vx, vy, wx, wy, wz, radius, mu_s, mu_r, spin, g)
        if phase != SLIDING and phase != ROLLING:
            return math.nan
        wait = leaving_time(x, y, vx, vy, ax, ay, distance, duration)
        if wait <= duration:
            x, y, _, _, _, _, _ = drift(x, y, vx, vy, ax, ay, wx, wy, wz, bx, by, spin, wait)
            return math.atan2(y, x)
        x, y, vx, vy, wx, wy, wz = drift(x, y, vx, vy, ax, ay, wx, wy, wz, bx, by, spin, duration)
        vx, vy, wx, wy = phase_end(phase, vx, vy, wx, wy, radius)
    return math.nan


@kernel(
    "f8(f8,f8,f8,"
    "f8[:],f8[:,:],i8,i8,f8[:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],"
    "f8[:,:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],i8[:],f8[:])"
)
def window_end(
    inside: float,
    outside: float,
    resolution: float,
    launch: Array,
    layout: Array,
    target: int,
    pocket: int,
    mouth: Array,
    balls: Array,
    laws: Array,
    lines: Array,
    arcs: Array,
    drops: Array,
    start: Array,
    state: Array,
    clock: Array,
    pair_times: Array,
    edge_times: Array,
    pieces: Array,
    events: Array,
    counts: IntArray,
    trial: Array,
) -> float:
    """The heading between one that pots and one that does not at which the potting ends, by narrowing."""
    while abs(outside - inside) > resolution:
        mid = inside + PROBE * (outside - inside)
        try_heading(
            mid, 1, launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
            start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
        )  # fmt: skip
        if trial[CODE] == POTS:
            inside = mid
        else:
            outside = mid
    return 0.5 * (inside + outside)


@kernel(
    "f8(f8,f8,f8,f8,"
    "f8[:],f8[:,:],i8,i8,f8[:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],"
    "f8[:,:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],i8[:],f8[:])"
)
def zero_direction(
    low: float,
    f_low: float,
    high: float,
    f_high: float,
    launch: Array,
    layout: Array,
    target: int,
    pocket: int,
    mouth: Array,
    balls: Array,
    laws: Array,
    lines: Array,
    arcs: Array,
    drops: Array,
    start: Array,
    state: Array,
    clock: Array,
    pair_times: Array,
    edge_times: Array,
    pieces: Array,
    events: Array,
    counts: IntArray,
    trial: Array,
) -> float:
    """The heading in [low, high] that sends the target ball across the mouth's centre; f is the miss there.

    Illinois' form of false position, on the direction of the target ball until
    it crosses the mouth line and on the crossing from then on.
    """
    side = 0
    mid = low
    for _ in range(60):
        mid = (low * f_high - high * f_low) / (f_high - f_low) if f_high != f_low else 0.5 * (low + high)
        if not low < mid < high:
            mid = 0.5 * (low + high)
        try_heading(
            mid, 0, launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
            start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
        )  # fmt: skip
        value = trial[DIRECTION]
        if math.isnan(value):
            return math.nan
        if abs(trial[CROSSING]) < 4.0 * mouth[4]:
            value = trial[CROSSING] / math.hypot(mouth[0] - layout[target, 0], mouth[1] - layout[target, 1])
        if abs(value) < 1e-10 or high - low < 1e-13:
            return mid
        if (value > 0.0) == (f_high > 0.0):
            high, f_high = mid, value
            if side == 1:
                f_low *= 0.5
            side = 1
        else:
            low, f_low = mid, value
            if side == -1:
                f_high *= 0.5
            side = -1
    return mid


@kernel(
    "void(f8,f8,f8[:],"
    "f8[:],f8[:,:],i8,i8,f8[:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],"
    "f8[:,:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],i8[:],f8[:])"
)
def solve_heading(
    near: float,
    resolution: float,
    solution: Array,
    launch: Array,
    layout: Array,
    target: int,
    pocket: int,
    mouth: Array,
    balls: Array,
    laws: Array,
    lines: Array,
    arcs: Array,
    drops: Array,
    start: Array,
    state: Array,
    clock: Array,
    pair_times: Array,
    edge_times: Array,
    pieces: Array,
    events: Array,
    counts: IntArray,
    trial: Array,
) -> None:
    """Find the window of headings that pot the target ball, and its middle; ``near`` is the plain aim's heading.

    Hits over the whole width of the target ball are tried, thick to thin on
    both sides; where the direction of the target ball passes the mouth's centre
    between two of them there is a root.  Of several the one nearest ``near`` is
    taken.  ``resolution`` [rad] is how closely the window's ends are found.
    """
    for k in range(SOLUTION_NUMBERS):
        solution[k] = math.nan
    dx, dy = layout[target, 0] - layout[0, 0], layout[target, 1] - layout[0, 1]
    distance = math.hypot(dx, dy)
    apart = contact_distance(float(balls[0, RADIUS]), float(balls[target, RADIUS]))
    reach = math.sqrt(max(distance * distance - apart * apart, 1e-12))
    bearing = bearing_at(
        launch, float(balls[0, RADIUS]), float(laws[MU_S]), float(laws[MU_R]),
        float(laws[SPIN_DECELERATION]), float(laws[GRAVITY]), reach,
    )  # fmt: skip
    if math.isnan(bearing):
        bearing = math.atan2(launch[1], launch[0])
    full = math.atan2(dy, dx) - bearing
    widest = math.asin(min(1.0, apart / distance))
    codes = np.zeros(6)
    obstacle = -1.0
    best = math.nan
    last, f_last = math.nan, math.nan
    thin = np.full((2, 3), math.nan)  # thinnest hit on each side, its direction, and the miss beside it
    for k in range(HITS + 1):
        # Thin hits need the finer steps: the direction turns fastest there.
        part = math.sin(math.pi * (k / HITS - 0.5)) * 1.02
        heading = full + math.asin(min(1.0, max(-1.0, part * math.sin(widest)))) if widest > 0.0 else full
        try_heading(
            heading, 0, launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
            start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
        )  # fmt: skip
        codes[int(trial[CODE])] += 1.0
        if trial[OBSTACLE] >= 0.0:
            obstacle = trial[OBSTACLE]
        value = trial[DIRECTION]
        if not math.isnan(value) and not math.isnan(f_last) and value * f_last <= 0.0 and abs(value - f_last) < 2.5:
            root = zero_direction(
                last, f_last, heading, value, launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
            start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
            )  # fmt: skip
            if math.isnan(best) or abs(turn_within(root - near)) < abs(turn_within(best - near)):
                best = root
        if k > 0 and math.isnan(value) != math.isnan(f_last):
            side = 1 if math.isnan(value) else 0
            thin[side, 0], thin[side, 1], thin[side, 2] = (
                (last, f_last, heading) if side == 1 else (heading, value, last)
            )
        last, f_last = heading, value
    if math.isnan(best):
        # Thinner than the thinnest hit tried: towards where the balls just miss, on both sides.
        for side in range(2):
            hit, f_hit, miss = thin[side, 0], thin[side, 1], thin[side, 2]
            for _ in range(THINNEST):
                if math.isnan(hit) or not math.isnan(best):
                    break
                heading = 0.5 * (hit + miss)
                try_heading(
                    heading, 0, launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
                    start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
                )  # fmt: skip
                value = trial[DIRECTION]
                if math.isnan(value):
                    miss = heading
                    continue
                if value * f_hit <= 0.0:
                    low, f_low, high, f_high = hit, f_hit, heading, value
                    if high < low:
                        low, f_low, high, f_high = heading, value, hit, f_hit
                    best = zero_direction(
                        low, f_low, high, f_high,
                        launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
                    start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
                    )  # fmt: skip
                hit, f_hit = heading, value
    solution[S_CENTRE] = best
    if math.isnan(best):
        solution[S_CODE] = TOO_THIN
        if codes[CUE_BALL_BLOCKED] > 0 and codes[CUE_BALL_BLOCKED] + codes[NOT_REACHED] == HITS + 1:
            solution[S_CODE] = CUE_BALL_BLOCKED
        elif codes[NOT_REACHED] == HITS + 1:
            solution[S_CODE] = NOT_REACHED
        solution[S_TRIAL + OBSTACLE] = obstacle
        return
    # A heading that pots: the root itself, or one beside it where the pocket's heart is off the mouth's centre.
    to_pocket = math.hypot(mouth[0] - layout[target, 0], mouth[1] - layout[target, 1])
    step = 0.25 * mouth[4] * apart / (distance * to_pocket)
    inside = math.nan
    for k in range(17):
        heading = best + (k + 1) // 2 * step * (1.0 if k % 2 == 0 else -1.0)
        try_heading(
            heading, 1, launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
            start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
        )  # fmt: skip
        if trial[CODE] == POTS:
            inside = heading
            break
        if k == 0:
            for n in range(TRIAL_NUMBERS):
                solution[S_TRIAL + n] = trial[n]
    if math.isnan(inside):
        code = int(solution[S_TRIAL + CODE])
        solution[S_CODE] = REFUSED if code == MISSES else code
        return
    for side in range(2):
        sign = -1.0 if side == 0 else 1.0
        outside = inside
        for _ in range(60):
            outside += sign * step
            try_heading(
                outside, 1, launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
            start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
            )  # fmt: skip
            if trial[CODE] != POTS:
                break
        solution[S_LOW + side] = window_end(
            outside - sign * step, outside, resolution,
            launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
            start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
        )  # fmt: skip
    solution[S_HEADING] = 0.5 * (solution[S_LOW] + solution[S_HIGH])
    try_heading(
        solution[S_HEADING], 1, launch, layout, target, pocket, mouth, balls, laws, lines, arcs, drops,
            start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
    )  # fmt: skip
    for n in range(TRIAL_NUMBERS):
        solution[S_TRIAL + n] = trial[n]
    solution[S_CODE] = SOLVED


@kernel(
    "void(f8,f8,f8[:,:],f8[:,:],"
    "f8[:,:],i8,i8,f8[:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],"
    "f8[:,:],f8[:,:],f8[:],f8[:,:],f8[:,:],f8[:,:],f8[:,:],i8[:],f8[:])"
)
def solve_headings(
    near: float,
    resolution: float,
    launches: Array,
    solutions: Array,
    layout: Array,
    target: int,
    pocket: int,
    mouth: Array,
    balls: Array,
    laws: Array,
    lines: Array,
    arcs: Array,
    drops: Array,
    start: Array,
    state: Array,
    clock: Array,
    pair_times: Array,
    edge_times: Array,
    pieces: Array,
    events: Array,
    counts: IntArray,
    trial: Array,
) -> None:
    """:func:`solve_heading` for many strokes (m, 5) on one layout, into ``solutions`` (m, 10)."""
    for i in range(launches.shape[0]):
        solve_heading(
            near, resolution, solutions[i], launches[i], layout, target, pocket, mouth, balls, laws,
            lines, arcs, drops, start, state, clock, pair_times, edge_times, pieces, events, counts, trial,
        )  # fmt: skip
