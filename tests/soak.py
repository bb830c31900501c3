"""Random shots on random layouts, with the invariants of every event: ``python tests/soak.py --shots 100000 --seed 1``.

Two to sixteen balls, frozen clusters and balls against rails among them, on
every table, with every cue, cloth, rail and ball set.  Prints what was seen;
exits with 1 if an invariant broke.  test_soak.py runs a small part of it.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from tablesim.errors import TablesimError
from tablesim.model.gear import CLOTHS, RAILS, BallSet, Cue, OddBall
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Tip
from tablesim.model.table import Table
from tablesim.physics import columns as e
from tablesim.physics import jit
from tablesim.physics.constants import POTTED, K
from tablesim.physics.pocket import bed_clearance
from tablesim.physics.simulation import Simulation, Track
from tablesim.physics.strike import Stroke
from tablesim.study.setup import setup_of
from tablesim.study.stroke import launch_of, level_deg, stroke_at, struck

ENERGY_SLACK = 1e-11  # relative: rounding of a sum of squares
OVERLAP_M = 1e-9
CHUNK = 250
ORDERLY = 12  # events: with more, contact after contact blows rounding up, and mirror images part
MIRROR_M = 1e-7


def as_asked(scenario: Scenario, take: Take) -> Stroke:
    """A take's stroke with its butt as it asks, whatever stands in the cue's way."""
    return stroke_at(scenario, take, level_deg(take))


@dataclass
class Seen:
    """What a run met: counts, the worst of each measure, and the shots that broke a rule."""

    shots: int = 0
    events: int = 0
    statuses: Counter[int] = field(default_factory=Counter)
    gain: float = -math.inf
    overlap: float = 0.0
    off_bed: float = 0.0
    slowest_s: float = 0.0
    mirrored: int = 0
    broken: list[str] = field(default_factory=list)

    def add(self, other: Seen) -> None:
        """Take another run's counts in."""
        self.shots += other.shots
        self.events += other.events
        self.statuses += other.statuses
        self.gain = max(self.gain, other.gain)
        self.overlap = max(self.overlap, other.overlap)
        self.off_bed = max(self.off_bed, other.off_bed)
        self.mirrored += other.mirrored
        self.slowest_s = max(self.slowest_s, other.slowest_s)
        self.broken += other.broken


def random_layout(
    rng: np.random.Generator, table: Table, ball_set: BallSet, count: int
) -> dict[str, tuple[float, float]]:
    """Balls anywhere on the bed, some frozen to each other or to a rail."""
    size, radius = table.surface, ball_set.diameter_m / 2.0
    nose = 0.98 * radius
    touching = radius * math.sqrt(1.0 - 0.27**2)  # a ball of the set at the nose of a standard rail
    balls: dict[str, tuple[float, float]] = {}
    names = ["cue", *(str(k) for k in range(1, count))]
    for name in names:
        for _ in range(200):
            x = rng.uniform(0.1, size.length_m - 0.1)
            y = rng.uniform(0.1, size.width_m - 0.1)
            kind = rng.random()
            if balls and kind < 0.35:  # against a ball that lies already
                ox, oy = balls[str(rng.choice(list(balls)))]
                a = rng.uniform(0, 2 * math.pi)
                x, y = ox + (2 * radius + 1e-9) * math.cos(a), oy + (2 * radius + 1e-9) * math.sin(a)
            elif kind < 0.5:  # close to a rail, or at it
                y = touching + float(rng.choice([0.0, 1e-6, 2e-4, 0.9e-3]))
            inside = 0.09 < x < size.length_m - 0.09 and touching <= y < size.width_m - nose
            if inside and all(math.hypot(x - a, y - b) >= 2 * radius for a, b in balls.values()):
                balls[name] = (x, y)
                break
    return balls


def random_shot(rng: np.random.Generator) -> tuple[Scenario, Take]:
    """A valid scenario and a take on it."""
    while True:
        table = Table(
            size=str(rng.choice(["9ft", "8ft", "7ft"])),  # type: ignore[arg-type]
            pockets=str(rng.choice(["tight", "standard", "loose"])),  # type: ignore[arg-type]
        )
        ball_set = BallSet(
            condition=float(rng.choice([0.0, 1.0, 3.0])), restitution=float(rng.uniform(0.9, 1.0)),
            friction_law=str(rng.choice(["falling", "constant"])),  # type: ignore[arg-type]
        )  # fmt: skip
        facings = {"facing_restitution": float(rng.uniform(0.2, 1.0)), "facing_friction": float(rng.uniform(0.0, 0.4))}
        if rng.random() < 0.15:
            heavy = OddBall(mass_kg=float(rng.uniform(0.14, 0.21)), diameter_m=float(rng.uniform(0.056, 0.058)))
            ball_set = ball_set.model_copy(update={"odd": {"cue": heavy}})
        take = Take(
            name="t", cue="c", pace_m_s=float(np.exp(rng.uniform(math.log(0.2), math.log(12.0)))),
            tip=Tip(right=float(rng.uniform(-0.35, 0.35)), up=float(rng.uniform(-0.35, 0.35))),
            elevation_deg=float(rng.uniform(0, 12)), stroke=str(rng.choice(["smooth", "jab"])),  # type: ignore[arg-type]
            aim=Aim(heading_deg=float(rng.uniform(-180, 180))),
        )  # fmt: skip
        try:
            scenario = Scenario(
                table=table, ball_set=ball_set, cloth=CLOTHS[str(rng.choice(list(CLOTHS)))],
                rails=RAILS[str(rng.choice(list(RAILS)))].model_copy(update=facings),
                cues={"c": Cue(ball_to_end_mass=float(rng.uniform(8, 100)))},
                balls=random_layout(rng, table, ball_set, int(rng.integers(2, 17))), takes=[take],
            )  # fmt: skip
        except (TablesimError, ValueError):
            continue
        return scenario, take


def energies(track: Track) -> tuple[np.ndarray, np.ndarray]:
    """Kinetic energy [J] before and after each instant at which something happens, of the balls it happens to.

    Balls struck in several events of one instant count once: as they came and as they went.
    """
    came: dict[tuple[float, int], float] = {}
    went: dict[tuple[float, int], float] = {}
    for row in track.event_rows:
        for column, offset in ((e.E_FIRST, 0), (e.E_SECOND, 7)):
            if row[column] >= 0:
                key = (float(row[e.E_TIME]), int(row[column]))
                came.setdefault(key, energy(track, key[1], row[e.E_BEFORE + offset : e.E_BEFORE + offset + 7]))
                went[key] = energy(track, key[1], row[e.E_AFTER + offset : e.E_AFTER + offset + 7])
    times = sorted({t for t, _ in came})
    place = {t: k for k, t in enumerate(times)}
    before, after = np.zeros(len(times)), np.zeros(len(times))
    for (t, ball), value in came.items():
        before[place[t]] += value
        after[place[t]] += went[t, ball]
    return before, after


def energy(track: Track, ball: int, s: np.ndarray) -> float:
    """Kinetic energy [J] of a ball in a state (7,)."""
    mass, radius = track.setup.balls[ball, e.MASS], track.setup.balls[ball, e.RADIUS]
    return float(0.5 * mass * (s[2:4] @ s[2:4] + radius * radius / K * (s[4:7] @ s[4:7])))


def places(track: Track, times: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Positions (k, n, 2) at the times (k,), and whether each ball is still on the bed (k, n)."""
    n = track.n_balls
    found, there = np.zeros((len(times), n, 2)), np.ones((len(times), n), dtype=bool)
    for i in range(n):
        rows = track.pieces_of(i)
        p = rows[np.maximum(np.searchsorted(rows[:, e.T0], times, side="right") - 1, 0)]
        t = np.maximum(times - p[:, e.T0], 0.0)
        found[:, i, 0] = p[:, e.X] + (p[:, e.VX] + 0.5 * p[:, e.AX] * t) * t
        found[:, i, 1] = p[:, e.Y] + (p[:, e.VY] + 0.5 * p[:, e.AY] * t) * t
        there[:, i] = p[:, e.PHASE] != POTTED
    return found, there


def check(track: Track, scenario: Scenario, seen: Seen, label: str) -> None:
    """The invariants of one shot; what breaks is put into ``seen``."""
    rows = track.event_rows
    seen.shots += 1
    seen.events += len(rows)
    seen.statuses[track.status] += 1
    if track.status != e.AT_REST:
        seen.broken.append(f"{label}: not at rest, status {track.status}")
    if not (np.isfinite(track.pieces[:, 1:5]).all() and np.isfinite(rows[:, e.E_BEFORE :]).all()):
        seen.broken.append(f"{label}: a state is not finite")
    if len(rows):
        before, after = energies(track)
        gain = float(((after - before) / np.maximum(before, 1e-9)).max())
        seen.gain = max(seen.gain, gain)
        if gain > ENERGY_SLACK:
            seen.broken.append(f"{label}: energy grew by {gain:.3g}")
    times = np.concatenate([[0.0], rows[:, e.E_TIME], [track.duration]])
    at, there = places(track, times)
    radius = track.setup.balls[:, e.RADIUS]
    apart = 2.0 * np.sqrt(radius[:, None] * radius[None, :])
    for i in range(track.n_balls - 1):
        gap = np.hypot(*(at[:, i + 1 :] - at[:, i : i + 1]).transpose(2, 0, 1)) - apart[i, i + 1 :]
        gap -= np.minimum(gap[0], 0.0)  # what a file may have to begin with: positions to the micrometre
        gap[~(there[:, i : i + 1] & there[:, i + 1 :])] = 1.0
        seen.overlap = max(seen.overlap, -float(gap.min()))
        if gap.min() < -OVERLAP_M:
            seen.broken.append(f"{label}: balls overlap by {-float(gap.min()):.3g} m")
    for i, name in enumerate(scenario.ball_names):
        if there[-1, i]:
            x, y = at[-1, i].tolist()
            clear = bed_clearance(x, y, scenario.nose_distance_m(name), scenario.table.edge)
            seen.off_bed = max(seen.off_bed, -clear)
            if clear < -OVERLAP_M:
                seen.broken.append(f"{label}: ball {name} ends off the bed by {-clear:.3g} m")


def differs(scenario: Scenario, take: Take, track: Track, frame_s: float) -> float:
    """How far [m] the end differs when the shot is cut into frames."""
    launch = launch_of(scenario, take, math.radians(take.aim.heading_deg or 0.0), as_asked(scenario, take))
    cut = Simulation(track.setup, struck(scenario, launch))
    while not cut.finished:
        cut.step(frame_s)
    end = max(track.end_time, cut.time)
    return float(np.abs(cut.track().states_at(end)[:, :2] - track.states_at(end)[:, :2]).max())


def mirrored_differs(scenario: Scenario, take: Take, track: Track) -> float:
    """How far [m] the end differs from the mirror image of the same shot played on the mirrored layout."""
    width = scenario.table.surface.width_m
    other = scenario.change(balls={name: (x, width - y) for name, (x, y) in scenario.balls.items()})
    turned = take.model_copy(update={"tip": Tip(right=-take.tip.right, up=take.tip.up)})
    launch = launch_of(other, turned, -math.radians(take.aim.heading_deg or 0.0), as_asked(other, turned))
    mirrored = Simulation(setup_of(other), struck(other, launch)).run()
    end = max(track.duration, mirrored.duration)
    one, two = track.states_at(end)[:, :2], mirrored.states_at(end)[:, :2]
    return float(np.abs(one - np.column_stack([two[:, 0], width - two[:, 1]])).max())


def run(seed: int, shots: int) -> Seen:
    """A run of random shots; every fiftieth is also cut into frames and mirrored."""
    jit.compiled()
    rng, seen = np.random.default_rng(seed), Seen()
    for k in range(shots):
        scenario, take = random_shot(rng)
        label = f"seed {seed} shot {k}"
        begun = time.perf_counter()
        launch = launch_of(scenario, take, math.radians(take.aim.heading_deg or 0.0), as_asked(scenario, take))
        track = Simulation(setup_of(scenario), struck(scenario, launch)).run()
        seen.slowest_s = max(seen.slowest_s, time.perf_counter() - begun)
        check(track, scenario, seen, label)
        if k % 50 == 0 and track.status == e.AT_REST:
            off = differs(scenario, take, track, float(rng.choice([1 / 60, 1 / 240])))
            if off > 1e-9:
                seen.broken.append(f"{label}: frames change the end by {off:.3g} m")
        if len(track.event_rows) <= ORDERLY and track.status == e.AT_REST and k % 5 == 0:
            off = mirrored_differs(scenario, take, track)
            seen.mirrored += 1
            if off > MIRROR_M:
                seen.broken.append(f"{label}: the mirrored shot ends {off:.3g} m elsewhere")
    return seen


def long_run(words: str, one: Callable[[int, int], Seen], shots: int, chunk: int) -> int:
    """Run ``one``(seed, shots) on all cores, as the command line asks, and print what was seen; 1 if anything broke."""
    parser = argparse.ArgumentParser(description=words)
    parser.add_argument("--shots", type=int, default=shots)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    jit.prepare()
    begun, seen = time.perf_counter(), Seen()
    chunks = [(chosen.seed * 1_000_000 + k, chunk) for k in range(math.ceil(chosen.shots / chunk))]
    with ProcessPoolExecutor() as pool:
        for part in pool.map(one, *zip(*chunks, strict=True)):
            seen.add(part)
    print(f"{seen.shots} shots, {seen.events} events in {time.perf_counter() - begun:.0f} s")
    print(f"energy gain at most {seen.gain:.3g} (relative), overlap {seen.overlap:.3g} m, off bed {seen.off_bed:.3g} m")
    print(f"slowest shot {seen.slowest_s:.3f} s; {seen.mirrored} mirrored")
    print(f"ends: {dict(seen.statuses)} ({e.AT_REST} is at rest)")
    for line in seen.broken[:20]:
        print("BROKEN", line)
    return 1 if seen.broken else 0


if __name__ == "__main__":
    sys.exit(long_run(__doc__ or "", run, 100_000, CHUNK))
