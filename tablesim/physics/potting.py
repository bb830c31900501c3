"""The window: the unbroken run of headings that pot the target ball in any way, and its middle, which is the aim.

From a heading that pots (headings.py) outwards, on the full engine.  Angles in
radians.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from .aim import turn_within
from .headings import HITS, Hits, is_least, is_nearer, last_contact, least_miss, reach_of, roots_of, try_hits
from .jit import kernel
from .records import Run, Setup, Vector
from .trial import CUE_BALL_BLOCKED, MISSES, NOT_REACHED, POTS, Shot, Trial, gate_for, play_on, scratched, try_heading

# Codes of an answer: a trial's code where every hit ends that way, or
SOLVED, TOO_THIN, REFUSED = 10, 11, 12
# A rattle leaves gaps in a run, and pots beyond its end.  What breaks a run is a gap that shows when headings are tried
# GRID apart outwards from its middle, twice that far from SPARSE off it; a run is first looked for FIRST apart.
GRID, FIRST = math.radians(0.01), math.radians(0.03)
SPARSE = math.radians(8.0)
SETTLED = math.radians(0.001)  # a middle found again so near is the middle
PASSES = 14  # from middle to middle
LEAST_RUN = math.radians(0.05)  # narrower ones no person can hit: common practice, no source; a good hand errs by 0.1
LONGEST = 6000  # headings tried from the inside of a run outwards: half a turn
BESIDE = 8  # steps to either side of a root in which a heading that pots is sought
BETWEEN = 8  # parts of the way between two hits at whose ends a heading is tried if no other pots,
OFF_LINE = 0.5  # where the target ball heads up to so much [rad] farther off its gate's centre than at best
NEVER = Trial(NOT_REACHED, math.nan, math.nan, -1, 0)


class Solution(NamedTuple):
    """The answer: its code, the heading in the middle of the run of headings that pot, the run's ends, the heading for
    the gate's centre, the trial at the middle, played to the end (or of the refusal), where the target ball crosses
    its gate at either end [m, left +], and the ends of another, wider run; nan where there is none."""

    code: int
    heading: float
    low: float
    high: float
    centre: float
    trial: Trial
    low_crossing: float
    high_crossing: float
    other_low: float
    other_high: float


@kernel
def answer_without(code: int, centre: float, trial: Trial) -> Solution:
    """The answer where no aim works."""
    nan = math.nan
    return Solution(code, nan, nan, nan, centre, trial, nan, nan, nan, nan)


@kernel
def unsolved(hits: Hits) -> Solution:
    """The answer where no hit sends the target ball to the pocket."""
    code = TOO_THIN
    if hits.blocked > 0 and hits.blocked + hits.short == HITS + 1:
        code = CUE_BALL_BLOCKED
    elif hits.short == HITS + 1:
        code = NOT_REACHED
    return answer_without(code, math.nan, Trial(code, math.nan, math.nan, hits.obstacle, 0))


@kernel
def run_end(run: Run, shot: Shot, inside: float, step: float, resolution: float, setup: Setup) -> float:
    """Where the potting ends, from a heading that pots in steps (left +), then narrowed."""
    within = outside = inside
    for k in range(1, LONGEST):
        outside = inside + k * step
        if abs(outside - inside) > SPARSE and k % 2 == 1:
            continue
        if try_heading(run, shot, outside, True, setup).code != POTS:
            break
        within = outside
    while abs(outside - within) > resolution:
        mid = 0.5 * (within + outside)
        if try_heading(run, shot, mid, True, setup).code == POTS:
            within = mid
        else:
            outside = mid
    return 0.5 * (within + outside)


@kernel
def run_around(
    run: Run, shot: Shot, inside: float, step: float, resolution: float, setup: Setup
) -> tuple[float, float]:
    """The ends of the run of headings that pot around one that does, looked for ``step`` by step."""
    low = run_end(run, shot, inside, -step, resolution, setup)
    return low, run_end(run, shot, inside, step, resolution, setup)


@kernel
def hits_that_pot(run: Run, shot: Shot, hits: Hits, setup: Setup) -> Vector:
    """The headings of hits that pot, by whatever way; every second hit is tried."""
    found, count = np.empty(HITS + 1), 0
    for k in range(0, HITS + 1, 2):
        if try_heading(run, shot, float(hits.headings[k]), True, setup).code == POTS:
            found[count] = hits.headings[k]
            count += 1
    return found[:count]


@kernel
def min_of(a: float, b: float) -> float:
    """The smaller of two numbers, or the only one of them; nan if both are."""
    return b if math.isnan(a) or b < a else a


@kernel
def other_headings(run: Run, shot: Shot, hits: Hits, near: float, setup: Setup) -> Vector:
    """Headings worth a try beside the roots: the plain aim, hits that cross the gate, at the ends of contact, of least
    miss, and between hits.

    A ball in the jaws need not cross the middle of its gate; beside a ball at a
    rail the cue ball may not come to where it would have to be for that; a ball
    frozen to the target may turn it off.
    """
    found, count, half_width = np.empty((3 + BETWEEN) * (HITS + 1)), 1, gate_for(shot, setup).half_width
    found[0] = near
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
    least = math.inf
    for k in range(HITS + 1):
        least = min_of(abs(float(hits.misses[k])), least)
    for k in range(HITS):
        low, high = float(hits.headings[k]), float(hits.headings[k + 1])
        if min_of(abs(float(hits.misses[k])), abs(float(hits.misses[k + 1]))) < least + OFF_LINE:
            for part in range(1, BETWEEN):
                found[count] = low + part * (high - low) / BETWEEN
                count += 1
    return found[:count]


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
def is_within(heading: float, low: float, high: float) -> bool:
    """True if a heading lies in a run; False for no run."""
    return bool(turn_within(heading - low) >= 0.0 and turn_within(high - heading) >= 0.0)


@kernel
def better_run(
    run: Run, shot: Shot, inside: float, near: float, best: tuple[float, float], resolution: float, setup: Setup
) -> tuple[float, float]:
    """Of the run around a heading and the ``best`` so far the one to take.

    The one whose middle is nearer ``near`` if a person can hit both, the wider
    if neither or one can be hit.
    """
    low, high = best
    if math.isnan(inside) or is_within(inside, low, high):
        return best
    a, b = run_around(run, shot, inside, FIRST, resolution, setup)
    if math.isnan(low) or min(b - a, high - low) < LEAST_RUN:
        return (a, b) if math.isnan(low) or b - a > high - low else best
    return (a, b) if is_nearer(0.5 * (a + b), 0.5 * (low + high), near) else best


@kernel
def wider_run(
    run: Run, shot: Shot, potting: Vector, best: tuple[float, float], resolution: float, setup: Setup
) -> tuple[float, float]:
    """A run wider than the ``best`` among those around headings that pot; nan if there is none."""
    low, high = math.nan, math.nan
    last_low, last_high = best
    for k in range(potting.shape[0]):
        heading = float(potting[k])
        if not (is_within(heading, best[0], best[1]) or is_within(heading, last_low, last_high)):
            last_low, last_high = run_around(run, shot, heading, FIRST, resolution, setup)
            widest = high - low if high > low else best[1] - best[0]
            if last_high - last_low > widest:
                low, high = last_low, last_high
    return low, high


@kernel
def settle_run(
    run: Run, shot: Shot, low: float, high: float, resolution: float, setup: Setup
) -> tuple[float, float, float]:
    """A run's middle and ends, looked at GRID apart from that very middle.

    Where a gap shows, the run that is left about the middle has another middle;
    where the middle itself lies in a gap, the run beside it is taken.  If no middle
    comes back to itself, the heading nearest the middle of its own run is taken.
    """
    middle, best, least = 0.5 * (low + high), (0.0, 0.0, 0.0), math.inf
    heading = middle
    for k in range(PASSES):
        heading = middle if 2 * k < PASSES else heading + 0.4 * (middle - heading)  # two middles may lead to each other
        beside = pot_beside(run, shot, heading, GRID, setup)[0]
        heading = heading if math.isnan(beside) else beside
        low, high = run_around(run, shot, heading, GRID, resolution, setup)
        middle = 0.5 * (low + high)
        if abs(middle - heading) < least:
            best, least = (heading, low, high), abs(middle - heading)
        if least < SETTLED:
            break
    return best


@kernel
def play_out(run: Run, shot: Shot, heading: float, setup: Setup) -> Trial:
    """The stroke along a heading to the very end: a scratch may come after the pot."""
    trial = try_heading(run, shot, heading, True, setup)
    play_on(run, -1, setup)
    return Trial(trial.code, trial.crossing, trial.direction, trial.obstacle, scratched(run))


@kernel
def solve_heading(run: Run, shot: Shot, near: float, resolution: float, others: bool, setup: Setup) -> Solution:
    """Find the run of headings that pot the target ball, in any way, and its middle.

    ``near`` is the plain aim's heading.  Where the direction of the target ball passes its gate's centre between two
    hits there is a root; it, or a heading beside it where the pocket's heart is
    off that centre, pots.  Of several runs the one nearest ``near`` that a person
    can hit is taken; ``others``: look whether there is a wider one.  ``resolution``
    [rad] is how closely its ends are found.
    """
    reach = reach_of(shot, setup)
    hits = try_hits(run, shot, reach, setup)
    roots = roots_of(run, shot, hits, near, setup)
    best, refusal, centre = (math.nan, math.nan), NEVER, float(roots[0]) if roots.shape[0] > 0 else math.nan
    for k in range(roots.shape[0]):
        inside, trial = pot_beside(run, shot, float(roots[k]), reach.step, setup)
        refusal = trial if k == 0 else refusal
        best = better_run(run, shot, inside, near, best, resolution, setup)
        if best[1] - best[0] >= LEAST_RUN:
            break
    if not best[1] - best[0] >= LEAST_RUN or hits.frozen:
        beside = np.concatenate((other_headings(run, shot, hits, near, setup), hits_that_pot(run, shot, hits, setup)))
        for k in range(beside.shape[0]):
            heading = float(beside[k])
            if not is_within(heading, best[0], best[1]) and try_heading(run, shot, heading, True, setup).code == POTS:
                best = better_run(run, shot, heading, near, best, resolution, setup)
    low, high = best
    if math.isnan(low):
        if math.isnan(centre):
            return unsolved(hits)
        return answer_without(REFUSED if refusal.code == MISSES else refusal.code, centre, refusal)
    for k in range(roots.shape[0]):
        centre = float(roots[k]) if is_within(float(roots[k]), low, high) else centre
    heading, low, high = settle_run(run, shot, low, high, resolution, setup)
    trial = play_out(run, shot, heading, setup)
    crossings = (math.nan, math.nan)
    for end in (low, high):
        crossings = crossings[1], try_heading(run, shot, end, False, setup).crossing
    other = (math.nan, math.nan)
    if others:
        other = wider_run(run, shot, hits_that_pot(run, shot, hits, setup), best, resolution, setup)
    return Solution(SOLVED, heading, low, high, centre, trial, crossings[0], crossings[1], other[0], other[1])
