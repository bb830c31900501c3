"""Every speed that has a target, in one table, with general libraries on the same job in the same run.

``python tests/benchmarks/table.py [--quick]``.  Figures are medians; machines
are noisy, so compare ratios within one run.
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parent.parent)]

import numpy as np
import pymunk
from conftest import MASS, RADIUS, layout, rack, setup_for
from scipy.integrate import solve_ivp
from test_frames import FIRST_PICTURE, drag
from test_speed import three_cushion_start, varied_starts

from tablesim.physics import jit
from tablesim.physics.records import Setup
from tablesim.physics.simulation import Simulation
from tablesim.resources import open_scenario
from tablesim.study.correct import correct_take
from tablesim.study.sweep import Axis, sweep

MM = 0.001


def seconds(f: Callable[[], object], rounds: int = 5, inner: int = 1) -> float:
    """Median seconds of a call."""
    f()
    found = []
    for _ in range(rounds):
        begun = time.perf_counter()
        for _ in range(inner):
            f()
        found.append((time.perf_counter() - begun) / inner)
    return statistics.median(found)


def shown(value: float) -> str:
    """A duration with a unit that suits it."""
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("us", 1e-6)):
        if value >= size:
            return f"{value / size:.3g} {unit}"
    return f"{value / 1e-9:.3g} ns"


def row(what: str, value: float, target: float | None = None, note: str = "") -> None:
    """A line of the table."""
    aim = "" if target is None else f"{shown(target):>10s}  {'met' if value <= target else 'MISSED'}"
    print(f"{what:52s} {shown(value):>10s} {aim:20s} {note}", flush=True)


def run(setup: Setup, start: np.ndarray) -> Simulation:
    """A shot to rest."""
    simulation = Simulation(setup, start)
    simulation.advance(np.inf)
    return simulation


# --- the same two-ball shot by general libraries: slide, roll, meet, slide, roll, rest; no cushion is reached


def two_balls() -> np.ndarray:
    """A stunned cue ball that meets a ball at a cut of 30 degrees, in the open."""
    return layout((0.7, 0.6, 0.7, 0.0), (1.0, 0.6 + RADIUS))


def by_scipy(start: np.ndarray, tolerance: float) -> np.ndarray:
    """Where both balls end, by solve_ivp with events for the contact and the ends of sliding and rolling."""
    mu_s, mu_r, g = 0.2, 0.01, 9.81

    def rates(_: float, s: np.ndarray) -> np.ndarray:
        out = np.zeros(14)
        for i in range(2):
            vx, vy, wx, wy = s[7 * i + 2 : 7 * i + 6]
            ux, uy = vx - RADIUS * wy, vy + RADIUS * wx
            slip, speed = math.hypot(ux, uy), math.hypot(vx, vy)
            # Coulomb's direction softened below 2 mm/s of slip; a ball that has stopped sliding is slowed by the cloth.
            fx, fy = -mu_s * g * ux / max(slip, 2e-3), -mu_s * g * uy / max(slip, 2e-3)
            slow = -mu_r * g / max(speed, 1e-3) if slip < 2e-3 else 0.0
            ax, ay = fx + slow * vx, fy + slow * vy
            tx, ty = 2.5 / RADIUS * fy - slow * vy / RADIUS, -2.5 / RADIUS * fx + slow * vx / RADIUS
            out[7 * i : 7 * i + 6] = vx, vy, ax, ay, tx, ty
        return out

    def contact(_: float, s: np.ndarray) -> float:
        return math.hypot(s[7] - s[0], s[8] - s[1]) - 2 * RADIUS

    contact.terminal, contact.direction = True, -1.0  # type: ignore[attr-defined]
    s, t = start.ravel().astype(float), 0.0
    for _ in range(3):
        found = solve_ivp(rates, (t, 30.0), s, events=contact, rtol=tolerance, atol=tolerance, method="LSODA")
        s, t = found.y[:, -1].copy(), float(found.t[-1])
        if found.status != 1:
            break
        n = (s[7:9] - s[0:2]) / math.hypot(*(s[7:9] - s[0:2]))
        closing = (s[2:4] - s[9:11]) @ n
        s[2:4] -= 0.975 * closing * n
        s[9:11] += 0.975 * closing * n
    return s.reshape(2, 7)[:, :2]


def elastic_start() -> np.ndarray:
    """Two balls on a frictionless table: contacts and cushions only."""
    return layout((0.7, 0.5, 2.0, 0.6), (1.2, 0.7, 0.0, 0.0))


def by_pymunk(start: np.ndarray, until: float, step: float) -> np.ndarray:
    """Where two elastic frictionless balls are after a contact in the open, by fixed steps."""
    space = pymunk.Space()
    space.collision_slop = 0.0
    bodies = []
    for x, y, vx, vy in start[:, :4]:
        body = pymunk.Body(MASS, pymunk.moment_for_circle(MASS, 0, RADIUS))
        body.position, body.velocity = (float(x), float(y)), (float(vx), float(vy))
        shape = pymunk.Circle(body, RADIUS)
        shape.elasticity, shape.friction = 1.0, 0.0
        space.add(body, shape)
        bodies.append(body)
    for _ in range(round(until / step)):
        space.step(step)
    return np.array([tuple(b.position) for b in bodies])


def references() -> None:
    """Our engine and two general libraries on the same shot, each good to 1 mm."""
    setup = setup_for(2, friction=0.0)
    start = two_balls()
    track = run(setup, start).track()
    exact = track.states_at(30.0)[:, :2]
    tolerance = next(t for t in (1e-4, 1e-5, 1e-6, 1e-7, 1e-8) if np.abs(by_scipy(start, t) - exact).max() < MM)
    ours, theirs = seconds(lambda: run(setup, start), inner=50), seconds(lambda: by_scipy(start, tolerance), 3)
    row("two balls to rest: this engine", ours)
    row(f"  scipy solve_ivp, tolerance {tolerance:g}, within 1 mm", theirs, note=f"{theirs / ours:.0f} times as long")
    smooth = setup_for(2, friction=0.0, mu_s=1e-9, restitution=1.0)
    glide = elastic_start()
    exact = run(smooth, glide).track().states_at(0.5)[:, :2]
    step = next((s for s in (1e-3, 1e-4, 1e-5, 1e-6) if np.abs(by_pymunk(glide, 0.5, s) - exact).max() < MM), 1e-6)
    ours = seconds(lambda: Simulation(smooth, glide).advance(0.5), inner=50)
    theirs = seconds(lambda: by_pymunk(glide, 0.5, step), 3)
    row("half a second of two gliding balls: this engine", ours)
    row(f"  pymunk, steps of {step:g} s, within 1 mm", theirs, note=f"{theirs / ours:.0f} times as long")


def growth(most: int) -> None:
    """How cost grows with balls and with shots."""
    print("\nballs, frozen in a cluster and broken:", end=" ")
    for n in (2, 4, 8, 16, 22):
        start = rack(1e-4, 7.0)
        spare = [(0.3 + 0.07 * k, 0.2, 0.0, 0.0) for k in range(max(0, n - len(start)))]
        start = np.vstack([start[:n], layout(*spare)]) if spare else start[:n]
        setup = setup_for(n)
        print(f"{n}: {shown(seconds(lambda s=setup, b=start: run(s, b), inner=5))}", end="  ")  # type: ignore[misc]
    print("\nshots in a batch:", end=" ")
    setup, starts = setup_for(2), varied_starts(1000)
    for count in (1, 100, 10_000, 100_000):
        if count <= most:
            took = seconds(lambda c=count: [run(setup, starts[k % 1000]) for k in range(c)], 1)  # type: ignore[misc]
            print(f"{count}: {shown(took)}", end="  ")
    print()


def engine_rows() -> None:
    """The laws and the questions."""
    two, sixteen = setup_for(2), setup_for(16)
    cushions, broken, varied = three_cushion_start(), rack(1e-4, 9.5), varied_starts(1000)
    row("two balls and three cushions", seconds(lambda: run(two, cushions), inner=200), 60e-6)
    row("full-rack break", seconds(lambda: run(sixteen, broken), inner=20), 3e-3)
    row("a thousand varied shots", seconds(lambda: [run(two, s) for s in varied], 3), 60e-3)
    scenario = open_scenario("two-cues")
    take = scenario.take_named("wood, medium")
    row("one correction", seconds(lambda: correct_take(scenario, take), inner=50), 2e-3)
    axes = (
        Axis("pace", tuple(1.0 + 5.0 * k / 63 for k in range(64))),
        Axis("side", tuple(-0.45 + 0.9 * k / 63 for k in range(64))),
    )
    row("map of 64 x 64 corrections", seconds(lambda: sweep(scenario, scenario.takes[1], axes), 3), 2.0)


def process_rows(quick: bool) -> None:
    """Whole processes and products."""
    tablesim = [sys.executable, "-m", "tablesim"]

    def quiet(*command: str) -> None:
        subprocess.run(command, capture_output=True, check=True)

    row("predict, as a process", seconds(lambda: quiet(*tablesim, "predict", "two-cues"), 3), 1.2)
    with tempfile.TemporaryDirectory() as aside:
        pdf = str(Path(aside) / "a.pdf")
        row("sheet, as a process", seconds(lambda: quiet(*tablesim, "sheet", "two-cues", pdf), 2), 2.0)
        found = []
        for _ in range(3):
            command = [sys.executable, "-c", FIRST_PICTURE, aside, str(time.time())]
            out = subprocess.run(command, capture_output=True, text=True, check=True).stdout
            found.append(float(out.splitlines()[-1].split()[1]))
        row("first picture of the window, warm", statistics.median(found), 1.5)
        if not quick:
            mp4 = [*tablesim, "clip", "two-cues", str(Path(aside) / "a.mp4"), "--seconds", "10"]
            row("clip of 10 s at 1080p60", seconds(lambda: quiet(*mp4), 1), 25.0)
            begun = time.perf_counter()
            cold = {**os.environ, "TABLESIM_CACHE": aside}
            subprocess.run([sys.executable, "-m", "tablesim.physics.jit"], env=cold, capture_output=True, check=True)
            row("compiling the engine, once", time.perf_counter() - begun, 30.0)


def frame_rows() -> None:
    """The drag of the aim, two takes, 1600 x 900."""
    from tablesim.view.answers.worker import Helper
    from tablesim.view.document.places import Places
    from tablesim.view.window.app import App
    from tablesim.view.window.pictures import settle
    from tablesim.view.window.run import start_display

    with tempfile.TemporaryDirectory() as aside:
        app = App(start_display((1600, 900)), Places(Path(aside)), open_scenario("two-cues"), worker=Helper())
        settle(app)
        app.editor.choose(2)
        app.editor.toggle_shown(5)
        settle(app)
        drag(app, 40)
        found = drag(app, 300)
        app.close()
    for name, target in (("frame", 16.7e-3), ("draw", None), ("compute", None), ("to picture", 33e-3)):
        p50, p95, worst = np.percentile(found[name], [50, 95, 100]) / 1000.0
        row(f"drag, {name}, 95th percentile", p95, target, f"median {shown(p50)}, worst {shown(worst)}")


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="without the clip, the compiling and the large batches")
    quick = parser.parse_args().quick
    jit.prepare()
    print(f"{'':52s} {'took':>10s} {'target':>10s}")
    engine_rows()
    references()
    process_rows(quick)
    frame_rows()
    growth(10_000 if quick else 100_000)


if __name__ == "__main__":
    main()
