"""Frozen clusters struck at any pace: ``python tests/clusters.py --shots 20000 --seed 1``.

Rows straight and bent, grids, racks, heaps and balls along a rail or in a corner, frozen
to the micrometre that a file has, most with a gap or two a hair wider.  Every shot
has to end at rest, within the energy, overlap and bed bounds of soak.py, and no
shot may compute for long.  test_clusters.py runs a small part of it.
"""

from __future__ import annotations

import math
import sys
import time

import numpy as np
import soak

from tablesim.errors import TablesimError
from tablesim.model.gear import BallSet, Cloth, Cue
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Tip
from tablesim.physics import jit
from tablesim.physics.simulation import Simulation
from tablesim.study.setup import setup_of
from tablesim.study.stroke import launch_of, struck

D = 0.05715
NOSE = 0.02752  # of a ball's centre that touches a rail
CHUNK = 250
LONGEST_S = 0.5  # of computing a shot, compiled


def row(rng: np.random.Generator) -> list[tuple[float, float]]:
    """Balls in a row, straight or bent by the same small angle from ball to ball."""
    turn, way = float(rng.choice([0.0, 0.0, 1e-3, 0.02, 0.2])), 0.0
    places = [(0.0, 0.0)]
    for _ in range(int(rng.integers(1, 9))):
        places.append((places[-1][0] + D * math.cos(way), places[-1][1] + D * math.sin(way)))
        way += turn * float(rng.choice([-1.0, 1.0]))
    return places


def grid(rng: np.random.Generator) -> list[tuple[float, float]]:
    """Balls in a grid, square or close-packed."""
    across, down, packed = int(rng.integers(2, 5)), int(rng.integers(2, 4)), rng.random() < 0.5
    pitch = D * math.sqrt(0.75) if packed else D
    return [(D * (i + 0.5 * (j % 2) * packed), pitch * j) for i in range(across) for j in range(down)]


def rack(rng: np.random.Generator) -> list[tuple[float, float]]:
    """Balls in a triangle of 2 to 5 rows."""
    rows = int(rng.integers(2, 6))
    return [(D * math.sqrt(0.75) * j, D * (i - 0.5 * j)) for j in range(rows) for i in range(j + 1)]


def heap(rng: np.random.Generator) -> list[tuple[float, float]]:
    """Balls laid one against another in any direction."""
    places = [(0.0, 0.0)]
    for _ in range(int(rng.integers(2, 9))):
        for _try in range(50):
            x, y = places[int(rng.integers(len(places)))]
            a = rng.uniform(0, math.tau)
            new = (x + D * math.cos(a), y + D * math.sin(a))
            if all(math.dist(new, other) >= D - 1e-12 for other in places):
                places.append(new)
                break
    return places


def placed(rng: np.random.Generator) -> list[tuple[float, float]]:
    """A cluster somewhere on the bed of a 9-ft table, turned, or at a rail or in a corner."""
    kinds = (row, grid, rack, heap)
    places = np.array(kinds[int(rng.integers(4))](rng))
    by_rail = rng.random()
    turn = float(rng.choice([0.0, math.pi / 2, math.pi / 6, rng.uniform(0, math.tau)]))
    c, s = math.cos(turn), math.sin(turn)
    places = places @ np.array([[c, s], [-s, c]])
    low = places.min(axis=0)
    places -= low
    x, y = rng.uniform(0.4, 1.6), rng.uniform(0.2, 0.7)
    if by_rail < 0.4:
        y = NOSE
    if by_rail < 0.15:
        x = NOSE + float(rng.choice([0.0, 0.1]))
    places += [x, y]
    if rng.random() < 0.5:  # a hair's gap here and there
        places += rng.uniform(0.0, float(rng.choice([2e-6, 1e-4])), places.shape) * (rng.random(places.shape) < 0.3)
    return [(round(float(a), 6), round(float(b), 6)) for a, b in places]


def random_shot(rng: np.random.Generator) -> tuple[Scenario, Take]:
    """A cluster, and the cue ball played at it or frozen to it."""
    while True:
        places = placed(rng)
        aim = np.array(places[int(rng.integers(len(places)))]) + rng.uniform(-0.02, 0.02, 2)
        a = rng.uniform(0, math.tau)
        far = float(rng.choice([rng.uniform(0.08, 0.9), D]))
        start = aim + far * np.array([math.cos(a), math.sin(a)])
        heading = math.degrees(math.atan2(*(aim - start)[::-1]))
        take = Take(
            name="t", cue="c", pace_m_s=float(np.exp(rng.uniform(math.log(0.1), math.log(12.0)))),
            tip=Tip(right=float(rng.uniform(-0.3, 0.3)), up=float(rng.uniform(-0.3, 0.3))),
            aim=Aim(heading_deg=heading),
        )  # fmt: skip
        try:
            scenario = Scenario(
                balls={"cue": (round(float(start[0]), 6), round(float(start[1]), 6))}
                | {str(k + 1): place for k, place in enumerate(places)},
                ball_set=BallSet(restitution=float(rng.choice([0.9, 0.95, 1.0]))),
                cloth=Cloth(spin_deceleration_rad_s2=float(rng.choice([0.5, 10.0]))), cues={"c": Cue()}, takes=[take],
            )  # fmt: skip
        except (TablesimError, ValueError):
            continue
        return scenario, take


def run(seed: int, shots: int) -> soak.Seen:
    """A run of random shots."""
    jit.compiled()
    rng, seen = np.random.default_rng(seed), soak.Seen()
    for k in range(shots):
        scenario, take = random_shot(rng)
        launch = launch_of(scenario, take, math.radians(take.aim.heading_deg or 0.0), soak.as_asked(scenario, take))
        begun = time.perf_counter()
        track = Simulation(setup_of(scenario), struck(scenario, launch)).run()
        took = time.perf_counter() - begun
        seen.slowest_s = max(seen.slowest_s, took)
        label = f"seed {seed} shot {k}"
        if took > LONGEST_S:
            seen.broken.append(f"{label}: {took:.2f} s of computing, {len(track.event_rows)} events")
        soak.check(track, scenario, seen, label)
    return seen


if __name__ == "__main__":
    sys.exit(soak.long_run(__doc__ or "", run, 20_000, CHUNK))
