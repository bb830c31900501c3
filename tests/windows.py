"""The window of a correction against a scan, heading by heading: ``python tests/windows.py --layouts 1000 --seed 1``.

Half of the layouts have cue ball or target ball within 60 mm of a rail, or the
target ball in the jaws.  The scan knows nothing of how the window is found: it
plays the whole shot along headings a hundredth of a degree apart and looks
where the target ball ends.  Prints what differs; exits with 1 if anything does.
test_windows.py runs a small part of it.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from tablesim.errors import AimImpossible, TablesimError
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take, Target, Tip
from tablesim.model.table import Table
from tablesim.physics import jit
from tablesim.physics.edge import POCKETS
from tablesim.physics.simulation import Simulation
from tablesim.study.correct import Correction, correct_take
from tablesim.study.setup import plain_cut, plain_heading, setup_of, target_of
from tablesim.study.stroke import launch_of, struck, why_unplayable

GRID_DEG = 0.01
SHARE, SLACK_DEG = 0.10, 0.02  # of the width, or at least so much: what may differ of it
AIM_SHARE = 0.15
CHUNK = 25
THINNEST = math.radians(100.0)


@dataclass
class Seen:
    """What a run met."""

    layouts: int = 0
    solved: int = 0
    reasons: Counter[str] = field(default_factory=Counter)
    seconds: list[float] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def add(self, other: Seen) -> None:
        """Take another run's counts in."""
        self.layouts += other.layouts
        self.solved += other.solved
        self.reasons += other.reasons
        self.seconds += other.seconds
        self.wrong += other.wrong


def random_layout(rng: np.random.Generator, corner: bool) -> Scenario:
    """Cue ball and target ball, at times others; in a ``corner`` case near a rail or in the jaws."""
    table = Table(size=str(rng.choice(["9ft", "8ft", "7ft"])))  # type: ignore[arg-type]
    size, edge = table.surface, table.edge
    nose = Scenario(table=table, balls={"cue": (0.6, 0.5)}).nose_distance_m("cue")
    while True:
        places = [
            (float(rng.uniform(nose, size.length_m - nose)), float(rng.uniform(nose, size.width_m - nose)))
            for _ in range(int(rng.choice([2, 2, 2, 3, 5])))
        ]
        pocket = str(rng.choice(POCKETS))
        if corner:
            who = int(rng.integers(2))  # the cue ball or the target ball
            off = float(rng.choice([0.0, 5e-4, 0.002, rng.uniform(0.0, 0.06)]))
            x, y = places[who]
            if rng.random() < 0.2:
                who, row = 1, POCKETS.index(pocket)
                mx, my, ix, iy, half = edge.mouths[row]
                deep, left = rng.uniform(-0.03, 0.03), rng.uniform(-0.4, 0.4) * half
                places[who] = (float(mx + deep * ix - left * iy), float(my + deep * iy + left * ix))
            elif rng.random() < 0.5:
                places[who] = (x, nose + off if rng.random() < 0.5 else size.width_m - nose - off)
            else:
                places[who] = (nose + off if rng.random() < 0.5 else size.length_m - nose - off, y)
        balls = dict(zip(("cue", "1", "2", "3", "4"), places, strict=False))
        take = Take(
            name="t", pace_m_s=float(rng.choice([1.2, 2.0, 3.5, 5.0])),
            tip=Tip(right=float(rng.choice([0.0, 0.0, -0.3, 0.3])), up=float(rng.choice([0.0, 0.2, -0.3]))),
            elevation_deg=float(rng.choice([2.0, 4.0])),
        )  # fmt: skip
        try:
            scenario = Scenario(table=table, balls=balls, target=Target(ball="1", pocket=pocket), takes=[take])  # type: ignore[arg-type]
        except (TablesimError, ValueError):
            continue
        if abs(plain_cut(scenario)) > THINNEST or why_unplayable(scenario, take, plain_heading(scenario)):
            continue
        return scenario


class Player:
    """One take of a layout, played along any heading."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario, self.take = scenario, scenario.takes[0]
        self.setup = setup_of(scenario)
        target = target_of(scenario)
        self.target, self.pocket = scenario.ball_names.index(target.ball), target.pocket

    def pots(self, heading_deg: float) -> bool:
        """True if the whole shot along a heading drops the target ball in its pocket."""
        try:
            launch = launch_of(self.scenario, self.take, math.radians(heading_deg))
        except AimImpossible:  # the cue cannot get there
            return False
        track = Simulation(self.setup, struck(self.scenario, launch)).run()
        return track.potted_in(self.target) == self.pocket

    def run_around(self, heading_deg: float) -> tuple[float, float] | None:
        """The unbroken run of potting headings around one, to half a step of the grid; None if that one misses."""
        if not self.pots(heading_deg):
            return None
        ends = []
        for sign in (-1.0, 1.0):
            k = 1
            while k < 36_000 and self.pots(heading_deg + sign * k * GRID_DEG):
                k += 1
            ends.append(heading_deg + sign * (k - 0.5) * GRID_DEG)
        return ends[0], ends[1]


def fault_of(scenario: Scenario, found: Correction) -> str | None:
    """What is wrong with a correction, by a scan; None if nothing is."""
    player = Player(scenario)
    if found.heading_deg is None or found.window_deg is None:
        return missed_run(player, found)
    run = player.run_around(found.heading_deg)
    if run is None:
        return "the aim misses"
    width, middle = run[1] - run[0], 0.5 * (run[0] + run[1])
    if abs(found.window_deg - width) > max(SHARE * width, SLACK_DEG):
        return f"window {found.window_deg:.3f} deg, by the scan {width:.3f}"
    if abs(found.heading_deg - middle) > max(AIM_SHARE * width, SLACK_DEG):
        return f"aim {found.heading_deg - middle:+.3f} deg off the middle of a run of {width:.3f}"
    return None


def missed_run(player: Player, found: Correction) -> str | None:
    """A wide run where the answer says that no aim works: of a fourth of the hits on the target ball."""
    (cx, cy), (tx, ty) = player.scenario.balls["cue"], player.scenario.balls["1"]
    full = math.degrees(math.atan2(ty - cy, tx - cx))
    widest = math.degrees(math.asin(min(1.0, 0.057 / math.dist((cx, cy), (tx, ty)))))
    for heading in np.linspace(full - widest, full + widest, 17):
        if player.pots(float(heading)):
            run = player.run_around(float(heading))
            if run is not None and run[1] - run[0] > 0.5 * widest:
                return f"no aim ({found.reason}), but a run of {run[1] - run[0]:.3f} deg at {heading:.3f}"
    return None


def run(seed: int, layouts: int) -> Seen:
    """Some random layouts, every other one in a corner."""
    rng, seen = np.random.default_rng(seed), Seen()
    for k in range(layouts):
        scenario = random_layout(rng, k % 2 == 1)
        begun = time.perf_counter()
        try:
            found = correct_take(scenario, scenario.takes[0])
        except AimImpossible as trouble:
            seen.wrong.append(f"seed {seed} layout {k}: {trouble}")
            continue
        seen.seconds.append(time.perf_counter() - begun)
        seen.layouts += 1
        seen.solved += found.heading_deg is not None
        if found.reason:
            seen.reasons[found.reason.split(":")[0]] += 1
        fault = fault_of(scenario, found)
        if fault is not None:
            seen.wrong.append(f"seed {seed} layout {k}: {fault}")
    return seen


def main() -> int:
    """Run on all cores and print what was seen."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--layouts", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    jit.prepare()
    begun, seen = time.perf_counter(), Seen()
    chunks = [(chosen.seed * 1_000_000 + k, CHUNK) for k in range(math.ceil(chosen.layouts / CHUNK))]
    with ProcessPoolExecutor() as pool:
        for part in pool.map(run, *zip(*chunks, strict=True)):
            seen.add(part)
    p50, p95, worst = (1000.0 * float(v) for v in np.percentile(seen.seconds, [50, 95, 100]))
    print(f"{seen.layouts} layouts, {seen.solved} with an aim, in {time.perf_counter() - begun:.0f} s")
    print(f"a correction took {p50:.2f} ms in the middle, 95 of 100 under {p95:.2f}, at most {worst:.2f}")
    print(f"without an aim: {dict(seen.reasons)}")
    for line in seen.wrong:
        print(line)
    print(f"{len(seen.wrong)} differ")
    return 1 if seen.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
