"""The engine: frames, replay, mirror, energy, frozen balls, ends."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from conftest import MASS, RADIUS, layout, rack, setup_for

from tablesim.model.scenario import load
from tablesim.physics import columns as e
from tablesim.physics import engine, jit
from tablesim.physics.pocket import bed_clearance
from tablesim.physics.simulation import Simulation, Track, kinetic_energy
from tablesim.resources import ready_scenarios
from tablesim.study.correct import heading_of
from tablesim.study.setup import setup_of
from tablesim.study.stroke import launch_of, struck

SAME_M = 1e-9  # metres and seconds: what frame length may change
OVERLAP_M = 1e-9


def shipped_shots() -> list[tuple[str, int]]:
    return [(name, i) for name, path in ready_scenarios().items() for i in range(len(load(path).takes))]


def simulation_of(name: str, take: int) -> Simulation:
    scenario = load(ready_scenarios()[name])
    shot = scenario.takes[take]
    return Simulation(setup_of(scenario), struck(scenario, launch_of(scenario, shot, heading_of(scenario, shot))))


@pytest.mark.parametrize(("name", "take"), shipped_shots())
def test_frame_length_does_not_matter(name: str, take: int, fast: SimpleNamespace) -> None:
    whole = simulation_of(name, take).run()
    for frame in (1 / 60, 1 / 1000):
        framed = simulation_of(name, take)
        while not framed.finished:
            framed.step(frame)
        track = framed.track()
        assert track.event_rows[:, 0] == pytest.approx(whole.event_rows[:, 0], abs=SAME_M)
        assert track.states_at(1e3) == pytest.approx(whole.states_at(1e3), abs=SAME_M)


@pytest.mark.parametrize("name", ["two-cues", "opening-break", "three-rails"])
def test_plain_and_compiled_agree(name: str, kernels: SimpleNamespace) -> None:
    """Whole shots to 1e-12 between the two ways of running the same source."""
    with jit.using(jit.plain()):
        plain = simulation_of(name, 0).run()
    other = simulation_of(name, 0).run()

    assert other.pieces[:, : 1 + e.T_END] == pytest.approx(plain.pieces[:, : 1 + e.T_END], rel=1e-12, abs=1e-12)


def test_replay_gives_the_same_bits(fast: SimpleNamespace) -> None:
    first, second = (Simulation(setup_for(16), rack()).run() for _ in range(2))

    assert first.pieces.tobytes() == second.pieces.tobytes()
    assert first.event_rows.tobytes() == second.event_rows.tobytes()


def mirrored(start: np.ndarray, width: float) -> np.ndarray:
    """The layout seen in the long centre line: y and spins about x and z change sign."""
    other = start.copy()
    other[:, 1] = width - start[:, 1]
    other[:, 3] *= -1
    other[:, 4] *= -1
    other[:, 6] *= -1
    return other


@pytest.mark.parametrize("seed", range(30))
def test_mirrored_layout_gives_mirrored_result(seed: int, fast: SimpleNamespace) -> None:
    rng = np.random.default_rng(seed)
    setup = setup_for(2)
    v, a = rng.uniform(0.5, 4), rng.uniform(-0.3, 0.3)
    start = layout(
        (0.6, 0.5, v * math.cos(a), v * math.sin(a), *rng.normal(size=3) * 20), (1.5, 0.5 + rng.uniform(-0.03, 0.03))
    )
    width = setup.edge.width
    one = Simulation(setup, start).run()
    other = Simulation(setup, mirrored(start, width)).run()

    assert one.duration == pytest.approx(other.duration, abs=1e-6)
    assert one.states_at(1e3) == pytest.approx(mirrored(other.states_at(1e3), width), abs=1e-6)


def test_symmetric_rack_breaks_symmetrically(fast: SimpleNamespace) -> None:
    """Touching balls struck at one instant are struck together, so a square hit stays mirror symmetric."""
    track = Simulation(setup_for(16), rack(speed=3.0))
    track.advance(0.6)
    states = track.track().states_at(0.6)
    # The second row's two balls, and the third row's outer ones, in mirror image.
    for left, right in ((2, 3), (4, 6), (7, 10)):
        assert states[left, 0] == pytest.approx(states[right, 0], abs=1e-9)
        assert states[left, 1] - 0.635 == pytest.approx(0.635 - states[right, 1], abs=1e-9)


def invariants(track: Track, setup_table_rho: float) -> None:
    """Energy never grows from event to event; no overlap; every ball on the bed; finite."""
    setup = track.setup
    times = sorted({float(t) for t in track.event_rows[:, 0]})
    last = math.inf
    for before, after in zip([0.0, *times], [*times, times[-1] + 1.0], strict=True):
        t = 0.5 * (before + after)
        states = track.states_at(t)
        assert np.isfinite(states).all()
        now = kinetic_energy(setup, states)
        assert now <= last * (1 + 1e-9) + 1e-15
        last = now
        on = [i for i in range(track.n_balls) if track.phase_of(i, t) != "potted"]
        for n, i in enumerate(on):
            assert bed_clearance(states[i, 0], states[i, 1], setup_table_rho, setup.edge) > -OVERLAP_M
            for j in on[:n]:
                gap = math.hypot(*(states[i, :2] - states[j, :2])) - 2 * RADIUS
                assert gap > -OVERLAP_M


@pytest.mark.parametrize("seed", range(40))
def test_invariants_on_random_layouts(seed: int, fast: SimpleNamespace) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 17))
    setup = setup_for(n, mu_s=rng.uniform(0.1, 0.4), mu_r=rng.uniform(0.005, 0.02), restitution=rng.uniform(0.9, 1.0))
    rho = float(setup.balls[0, e.NOSE_DISTANCE])
    spots: list[tuple[float, float]] = []
    while len(spots) < n:
        if seed % 2 and spots:  # frozen to another ball
            a, (x, y) = rng.uniform(0, 2 * math.pi), spots[rng.integers(len(spots))]
            p = (x + 2 * RADIUS * math.cos(a), y + 2 * RADIUS * math.sin(a))
        else:
            p = (rng.uniform(rho, 2.54 - rho), rng.choice([rho, rng.uniform(rho, 1.27 - rho)]))
        clear = bed_clearance(*p, rho, setup.edge) > -1e-12
        if clear and all(math.hypot(p[0] - q[0], p[1] - q[1]) >= 2 * RADIUS - 1e-12 for q in spots):
            spots.append(p)
    start = layout(*spots)
    v, a = rng.uniform(0.3, 9), rng.uniform(0, 2 * math.pi)
    start[0, 2:] = [v * math.cos(a), v * math.sin(a), *rng.normal(size=3) * v / RADIUS]
    track = Simulation(setup, start).run()

    assert track.status == e.AT_REST
    invariants(track, rho)


def test_a_line_of_frozen_balls_passes_the_shock_on(kernels: SimpleNamespace) -> None:
    """Equal balls, e = 1, no friction: the last of a frozen line leaves with all the speed (Newton's cradle)."""
    d = 2 * RADIUS
    start = layout((1.0 - d - 1e-4, 0.6, 1.0, 0.0), *((1.0 + k * d, 0.6) for k in range(4)))
    simulation = Simulation(setup_for(5, restitution=1.0, friction=0.0), start)
    simulation.advance(2e-4)
    speeds = np.hypot(*simulation.track().states_at(2e-4)[:, 2:4].T)

    assert speeds == pytest.approx([0.0, 0.0, 0.0, 0.0, 1.0], abs=1e-3)


def test_a_ball_driven_into_the_rail_by_its_spin_settles(kernels: SimpleNamespace) -> None:
    """Strong follow at a cushion: endless shrinking bounces come to an end, and no energy appears."""
    start = layout((1.0, 0.1, 0.0, -1.0, 150.0, 0.0, 0.0))
    track = Simulation(setup_for(1), start).run()

    assert track.status == e.AT_REST
    assert len(track.event_rows) < 200
    invariants(track, RADIUS * math.sqrt(1 - 0.27**2))


def test_two_balls_pressed_together_by_spin_end(kernels: SimpleNamespace) -> None:
    start = layout((1.0, 0.6, 0.0, 0.0, 0.0, 200.0, 0.0), (1.0 + 2 * RADIUS, 0.6))
    track = Simulation(setup_for(2), start).run()

    assert track.status == e.AT_REST
    assert len(track.event_rows) < 100
    assert track.states_at(99.0)[1, 0] > 1.0 + 2 * RADIUS


def test_heavy_cue_ball_ploughs_on(kernels: SimpleNamespace) -> None:
    """Stun, full hit: a cue ball of mass ratio r keeps (r - e)/(r + 1) of its speed (rigid-body mechanics)."""
    setup = setup_for(2)
    setup.balls[0, e.MASS] = 1.2 * MASS
    start = layout((1.0, 0.6, 1.0, 0.0), (1.0 + 2 * RADIUS, 0.6))
    simulation = Simulation(setup, start)
    simulation.advance(1e-9)
    event = simulation.track().events[0]

    assert event.after[0].vx == pytest.approx((1.2 - 0.95) / 2.2, abs=1e-12)


def parted(masses: np.ndarray, normals: np.ndarray, pairs: list[tuple[int, int]], v: np.ndarray) -> np.ndarray:
    """Velocities (n, 2) after frictionless contacts struck at one instant, each parting at 0.95 of its closing speed.

    Independent of the engine's iteration: momentum and Newton's restitution as one system of linear equations,
    right where every impulse pushes.
    """
    across = np.zeros((len(pairs), 2 * len(masses)))  # closing speeds from velocities
    for row, (i, j), n in zip(across, pairs, normals, strict=True):
        row[2 * i : 2 * i + 2], row[2 * j : 2 * j + 2] = n, -n
    given = across.T / np.repeat(masses, 2)[:, None]
    closing = across @ v.ravel()
    impulse = np.linalg.solve(across @ given, 1.95 * closing)
    assert (closing > 0.0).all()
    assert (impulse > 0.0).all()
    return np.asarray(v - (given @ impulse).reshape(-1, 2))


@pytest.mark.parametrize("angles_deg", [(0.0,), (50.0,), (-30.0, 30.0), (-70.0, 10.0), (-75.0, -10.0, 52.0)])
def test_contacts_struck_together_are_one_system_of_equations(
    angles_deg: tuple[float, ...], kernels: SimpleNamespace
) -> None:
    """One cue ball into balls it touches, alone or several at once, against numpy's linear solver."""
    setup = setup_for(1 + len(angles_deg), friction=0.0)
    setup.balls[0, e.MASS] = 1.1 * MASS
    normals = np.array([(math.cos(math.radians(a)), math.sin(math.radians(a))) for a in angles_deg])
    start = layout((1.0, 0.6, 2.0, 0.0), *((1.0 + 2 * RADIUS * x, 0.6 + 2 * RADIUS * y) for x, y in normals))
    simulation = Simulation(setup, start)
    simulation.advance(1e-9)
    found = simulation.track().states_at(1e-9)[:, 2:4]
    expected = parted(setup.balls[:, e.MASS], normals, [(0, k + 1) for k in range(len(angles_deg))], start[:, 2:4])

    assert found == pytest.approx(expected, abs=1e-7)


def test_a_ball_that_rolls_along_a_rail_does_not_sink_into_it(kernels: SimpleNamespace) -> None:
    """Closing by half the least parting speed, for seconds: too slow for a contact, but not for ever."""
    setup = setup_for(1)
    rho = float(setup.balls[0, e.NOSE_DISTANCE])
    start = layout((0.4, rho, 0.4, -5e-10, 5e-10 / RADIUS, 0.4 / RADIUS))
    track = Simulation(setup, start).run()

    assert track.status == e.AT_REST
    assert track.duration > 3.0
    assert track.states_at(track.duration)[0, 1] >= rho - 3e-10


def test_too_many_events_end_with_a_clear_status(fast: SimpleNamespace, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "MAX_EVENTS", 5)
    with jit.using(jit.plain()):
        track = Simulation(setup_for(16), rack()).run()

    assert track.status == e.CUT_OFF


def test_sampling_is_continuous_between_events(fast: SimpleNamespace) -> None:
    track = Simulation(setup_for(2), layout((0.6, 0.5, 2.0, 0.3), (1.5, 0.65))).run()
    for event in track.events:
        for ball, state in zip([event.first, event.second], event.before, strict=False):
            assert ball is not None
            assert track.state_of(ball, event.time - 1e-10)[:2] == pytest.approx(state[:2], abs=1e-8)


def test_balls_rattle_out_of_the_jaws(fast: SimpleNamespace) -> None:
    """Aimed 40 mm beside a corner's heart a firm ball meets both jaws and comes out; at the heart it drops clean."""
    outcomes = {}
    for beside in (-0.040, 0.0, 0.040):
        mouth_x, mouth_y = 2.54 - 0.041 + beside / math.sqrt(2), 0.041 + beside / math.sqrt(2)
        a = math.atan2(mouth_y - 0.44, mouth_x - 2.1)
        track = Simulation(setup_for(1), layout((2.1, 0.44, 3 * math.cos(a), 3 * math.sin(a)))).run()
        outcomes[beside] = (track.potted_in(0), sum("jaw" in event.where for event in track.events))

    assert outcomes[0.0] == ("foot-right", 0)
    assert outcomes[-0.040][0] is None
    assert outcomes[-0.040][1] >= 2
    assert outcomes[0.040][0] is None
