"""The window of headings that pot the target ball, and its middle: from a heading that pots (headings.py) outwards.

Angles in radians.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from .aim import CUE_BALL_BLOCKED, MISSES, NOT_REACHED, POTS, Shot, Trial, gate_for, try_heading
from .headings import HITS, Hits, is_least, is_nearer, last_contact, least_miss, reach_of, roots_of, try_hits
from .jit import kernel
from .records import Run, Setup, Vector

# Codes of an answer: a trial's code where every hit ends that way, or
SOLVED, TOO_THIN, REFUSED = 10, 11, 12
PROBE = 0.3  # where an end is sought between a pot and a miss: nearer the pot, as a rattle costs ten times as long
BESIDE = 8  # steps to either side of a root in which a heading that pots is sought
WIDEST = 60  # steps out from there in which a heading that does not is sought
NEVER = Trial(NOT_REACHED, math.nan, math.nan, -1, 0)


class Solution(NamedTuple):
    """The answer: its code, the heading in the middle of the window, the window's ends, the heading for the gate's
    centre, the trial at the middle (or of the refusal), and where the target ball crosses its gate at either end
    [m, left +]; nan where there is none.  Where the middle of a window does not pot, the heading is one beside it
    that does."""

    code: int
    heading: float
    low: float
    high: float
    centre: float
    trial: Trial
    low_crossing: float
    high_crossing: float


@kernel
def unsolved(hits: Hits) -> Solution:
    """The answer where no hit sends the target ball to the pocket."""
    code = TOO_THIN
    if hits.blocked > 0 and hits.blocked + hits.short == HITS + 1:
        code = CUE_BALL_BLOCKED
    elif hits.short == HITS + 1:
        code = NOT_REACHED
    trial = Trial(code, math.nan, math.nan, hits.obstacle, 0)
    return Solution(code, math.nan, math.nan, math.nan, math.nan, trial, math.nan, math.nan)


@kernel
def window_end(run: Run, shot: Shot, inside: float, step: float, resolution: float, setup: Setup) -> float:
    """The heading at which the potting ends, from one that pots on in steps, then narrowed to ``resolution``.

    Windows are seldom narrower than the two steps begun with.
    """
    outside = inside + 2.0 * step
    for _ in range(WIDEST):
        if try_heading(run, shot, outside, True, setup).code != POTS:
            break
        inside, outside = outside, outside + step
    while abs(outside - inside) > resolution:
        mid = inside + PROBE * (outside - inside)
        if try_heading(run, shot, mid, True, setup).code == POTS:
            inside = mid
        else:
            outside = mid
    return 0.5 * (inside + outside)


@kernel
def other_headings(run: Run, shot: Shot, hits: Hits, setup: Setup) -> Vector:
    """Headings worth a try where no root pots: hits that cross the gate, those at the ends of contact, of least miss.

    A ball in the jaws need not cross the middle of its gate; beside a ball at a
    rail the cue ball may not come to where it would have to be for that; a ball
    frozen to the target may turn it off.
    """
    found, count, half_width = np.empty(3 * HITS), 0, gate_for(shot, setup).half_width
    for k in range(HITS + 1):
        if abs(hits.crossings[k]) <= half_width:
            found[count] = hits.headings[k]
            count += 1
    for k in range(1, HITS - 1):  # where contact ends at a cushion or ball; beyond the outermost the balls pass
        if math.isnan(hits.misses[k]) != math.isnan(hits.misses[k + 1]):
            meets, lost = (k + 1, k) if math.isnan(hits.misses[k]) else (k, k + 1)
            found[count] = last_contact(run, shot, float(hits.headings[meets]), float(hits.headings[lost]), setup)
            count += 1
        if hits.frozen and is_least(hits.misses, k):
            found[count] = least_miss(run, shot, float(hits.headings[k - 1]), float(hits.headings[k + 1]), setup)
            count += 1
    return found[:count]


@kernel
def nearest_that_pots(run: Run, shot: Shot, hits: Hits, near: float, setup: Setup) -> float:
    """Of :func:`other_headings` the nearest to ``near`` that pots, across the gate between the jaws; nan if none."""
    best, half_width = math.nan, gate_for(shot, setup).half_width
    headings = other_headings(run, shot, hits, setup)
    for k in range(headings.shape[0]):
        if is_nearer(headings[k], best, near):
            trial = try_heading(run, shot, float(headings[k]), True, setup)
            if trial.code == POTS and abs(trial.crossing) <= half_width:
                best = float(headings[k])
    return best


@kernel
def pot_beside(run: Run, shot: Shot, root: float, step: float, setup: Setup) -> tuple[float, Trial]:
    """The heading at a root, or beside it, that pots, nan if none, and the trial at the root."""
    at_root = NEVER
    for k in range(2 * BESIDE + 1):
        heading = root + (k + 1) // 2 * step * (1.0 if k % 2 == 0 else -1.0)
        trial = try_heading(run, shot, heading, True, setup)
        if k == 0:
            at_root = trial
        if trial.code == POTS:
            return heading, at_root
    return math.nan, at_root


@kernel
def solve_heading(run: Run, shot: Shot, near: float, resolution: float, setup: Setup) -> Solution:
    """Find the window of headings that pot the target ball, and its middle; ``near`` is the plain aim's heading.

    Where the direction of the target ball passes its gate's centre between two
    hits there is a root; it, or a heading beside it where the pocket's heart is
    off that centre, pots.  ``resolution`` [rad] is how closely the window's ends
    are found.
    """
    reach = reach_of(shot, setup)
    hits = try_hits(run, shot, reach, setup)
    roots = roots_of(run, shot, hits, near, setup)
    inside, refusal, centre = math.nan, NEVER, float(roots[0]) if roots.shape[0] > 0 else math.nan
    for k in range(roots.shape[0]):
        inside, trial = pot_beside(run, shot, float(roots[k]), reach.step, setup)
        refusal = trial if k == 0 else refusal
        if not math.isnan(inside):
            centre = float(roots[k])
            break
    if math.isnan(inside) or hits.frozen:
        other = nearest_that_pots(run, shot, hits, near, setup)
        inside = other if is_nearer(other, inside, near) else inside
    if math.isnan(inside) and math.isnan(centre):
        return unsolved(hits)
    if math.isnan(inside):
        code = REFUSED if refusal.code == MISSES else refusal.code
        return Solution(code, math.nan, math.nan, math.nan, centre, refusal, math.nan, math.nan)
    low = window_end(run, shot, inside, -reach.step, resolution, setup)
    high = window_end(run, shot, inside, reach.step, resolution, setup)
    heading = 0.5 * (low + high)
    for _ in range(2):
        trial = try_heading(run, shot, heading, True, setup)
        if trial.code == POTS:
            break
        heading = inside  # a hole in the middle of the window: a rattle, or a neighbour in the way
    crossings = (math.nan, math.nan)
    for end in (low, high):
        crossings = crossings[1], try_heading(run, shot, end, False, setup).crossing
    return Solution(SOLVED, heading, low, high, centre, trial, crossings[0], crossings[1])
