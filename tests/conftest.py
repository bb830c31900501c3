"""Shared by the tests: kernels in both ways of running them, and small builders."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any, TypeVar

import numpy as np
import pytest

from tablesim.physics import jit
from tablesim.physics.edge import PocketSize, build_edge
from tablesim.physics.records import BallLaw, BallState, ClothLaw, Edge, Laws, RailLaw, Setup
from tablesim.units import INCH_M

# Tests of thousands of shots, which plain Python would take minutes for.
many_shots = pytest.mark.skipif(not jit.wanted(), reason="thousands of shots in plain Python take minutes")

# Modules whose questions are answered through the kernels that are to be had: what plain Python may do otherwise.
# Not all of them: facings, paces, the cue's reach and how shots went would take longer, through the same doors.
THROUGH_KERNELS = {
    "test_clusters", "test_correct", "test_engine", "test_facts", "test_field_cases", "test_friction_laws",
    "test_halves", "test_jaws_and_frozen", "test_lost", "test_published", "test_rail_and_ball", "test_sweep",
    "test_thin", "test_windows",
}  # fmt: skip

RADIUS = 0.028575
MASS = 0.170
SIN_THETA = 0.27
T = TypeVar("T")


def known(value: T | None) -> T:
    """What may be None, and is not here."""
    assert value is not None
    return value


def pytest_configure(config: pytest.Config) -> None:
    """Compile once, before workers begin: each would, and windows do not wait for ever."""
    config.addinivalue_line("markers", "plain: worth repeating with plain Python instead of compiled kernels")
    if not hasattr(config, "workerinput") and not config.option.collectonly:
        jit.prepare()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what is worth repeating."""
    for item in items:
        if item.path.stem in THROUGH_KERNELS:
            item.add_marker("plain")


@pytest.fixture(params=["plain", "compiled"])
def kernels(request: pytest.FixtureRequest) -> Iterator[SimpleNamespace]:
    """The kernels, once as plain Python and once compiled; everything in the test runs with them."""
    if request.param == "compiled" and not jit.wanted():
        pytest.skip("plain Python was asked for")
    assert request.param == "plain" or jit.prepare(), "the kernels do not compile: run python -m tablesim.physics.jit"
    found = jit.plain() if request.param == "plain" else jit.engine()
    with jit.using(found):
        yield found


@pytest.fixture(scope="session")
def fast() -> SimpleNamespace:
    """The fastest kernels to be had, for tests of many shots; everything runs with them from then on."""
    jit.prepare()
    return jit.engine()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where pages to share are made."""
    jit.prepare()
    return tmp_path_factory.mktemp("shared")


@pytest.fixture(scope="module")
def lesson_page(folder: Path) -> Path:
    """The ready lesson's page."""
    from pages import lesson_page_in

    return lesson_page_in(folder)


@pytest.fixture(scope="module")
def evil_page(folder: Path) -> Path:
    """A page whose texts try to be markup."""
    from pages import evil_page_in

    return evil_page_in(folder)


def edge_of(length: float = 100 * INCH_M, width: float = 50 * INCH_M) -> Edge:
    """A 9-ft WPA table."""
    corner = PocketSize(4.5625 * INCH_M, math.radians(142), 1.625 * INCH_M)
    side = PocketSize(5.0625 * INCH_M, math.radians(104), 0.1875 * INCH_M)
    return build_edge(length, width, corner, side, 0.005)


def setup_for(n: int, **changes: float) -> Setup:
    """Arrays for n standard balls; ``changes`` name laws: mu_s, mu_r, restitution, friction (constant), rail ..."""
    balls = np.tile([MASS, RADIUS, RADIUS * math.sqrt(1 - SIN_THETA**2), SIN_THETA], (n, 1))
    friction = changes.get("friction")
    laws = Laws(
        ClothLaw(changes.get("mu_s", 0.2), changes.get("mu_r", 0.01), 10.0, 9.81),
        BallLaw(
            changes.get("restitution", 0.95), 0.00995 if friction is None else friction,
            0.108 if friction is None else 0.0, 1.088, 1.0,
        ),
        RailLaw(changes.get("rail", 0.85), 0.14),
        RailLaw(changes.get("facing", changes.get("rail", 0.85)), 0.14),
    )  # fmt: skip
    return Setup(balls, laws, edge_of())


def moving(v: Sequence[float], w: Sequence[float] = (0.0, 0.0, 0.0)) -> BallState:
    """A ball at the origin with velocity (x, y) and spin (x, y, z)."""
    return BallState(0.0, 0.0, float(v[0]), float(v[1]), float(w[0]), float(w[1]), float(w[2]))


def layout(*rows: tuple[float, ...]) -> np.ndarray:
    """Starting numbers from rows of x, y[, v_x, v_y[, w_x, w_y, w_z]]."""
    start = np.zeros((len(rows), 7))
    for i, row in enumerate(rows):
        start[i, : len(row)] = row
    return start


def rack(gap: float = 0.0, speed: float = 9.0) -> np.ndarray:
    """A cue ball rolled square into fifteen racked balls."""
    step = 2 * RADIUS + gap
    balls: list[tuple[float, ...]] = [(0.635, 0.635, speed, 0.0, 0.0, 0.3 * speed / RADIUS, 0.0)]
    for row in range(5):
        balls += [(1.905 + row * step * math.sqrt(3) / 2, 0.635 + (k - row / 2) * step) for k in range(row + 1)]
    return layout(*balls)


@pytest.fixture
def window(tmp_path: Path) -> Iterator[Callable[..., Any]]:
    """Opens windows without a screen (window.py), and closes them."""
    from window import Driver

    opened: list[Driver] = []

    def start(**how: Any) -> Driver:
        opened.append(Driver(tmp_path / "kept", **how))
        return opened[-1]

    yield start
    for driver in opened:
        driver.close()
