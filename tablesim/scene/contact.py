"""The moment of contact, enlarged: line of centres, rubbing, throw."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.physics.simulation import Event

from .look import Look
from .shapes import Array, Ball, Path, Pen, Scene
from .ways import arrow

SLIP_ARROW_M = 0.016  # the longest arrow of rubbing, at SLIP_FULL_M_S or more
SLIP_FULL_M_S = 2.0
LEAST_SLIP_M_S = 0.01
BEYOND_M = 0.026  # of the line of centres and of the arrow where the second ball goes, beyond that ball


@dataclass(frozen=True)
class Touch:
    """What happens where two balls touch.

    ``slip_m_s`` is how fast the first ball's surface rubs across the second's
    there: sideways (left + of the line of centres) and downward; ``throw_deg``
    how far off that line, left +, the second ball leaves.
    """

    at: tuple[float, float]
    normal: tuple[float, float]
    slip_m_s: tuple[float, float]
    throw_deg: float


def contact_of(scenario: Scenario, event: Event) -> Touch:
    """Read a ball-to-ball event."""
    assert event.second is not None
    names = scenario.ball_names
    r1, r2 = (scenario.ball_set.radius_m(names[i]) for i in (event.first, event.second))
    one, two = event.before
    n = np.array(event.normal)
    left = np.array([-n[1], n[0]])
    # Surface velocity of each ball at the contact: v + w x (r n), n from first to second.
    side = [b.vx * left[0] + b.vy * left[1] + s * r * b.wz for b, r, s in ((one, r1, 1.0), (two, r2, -1.0))]
    # (w x n) has the vertical component w_x n_y - w_y n_x.
    up = [s * r * (b.wx * n[1] - b.wy * n[0]) for b, r, s in ((one, r1, 1.0), (two, r2, -1.0))]
    after = event.after[1]
    leaves = math.atan2(after.vx * left[0] + after.vy * left[1], after.vx * n[0] + after.vy * n[1])
    at = np.array([one.x, one.y]) + r1 * n
    throw = math.degrees(leaves) if math.hypot(two.vx, two.vy) < 1e-9 else 0.0
    return Touch(
        (float(at[0]), float(at[1])),
        (float(n[0]), float(n[1])),
        (float(side[0] - side[1]), float(up[0] - up[1])),
        throw,
    )


def contact_scene(scenario: Scenario, event: Event, look: Look) -> Scene:
    """The two balls about the contact, in table metres."""
    assert event.second is not None
    found = contact_of(scenario, event)
    names = scenario.ball_names
    n, at = np.array(found.normal), np.array(found.at)
    left = np.array([-n[1], n[0]])
    shapes: Scene = []
    for i, state in zip((event.first, event.second), event.before, strict=True):
        shapes.append(Ball(state.x, state.y, scenario.ball_set.radius_m(names[i]), names[i]))
    across = 2.0 * scenario.ball_set.radius_m(names[event.second])
    shapes += [
        Path(np.array([at + near * n, at + far * n]), Pen(look.ink, 1.4, (5, 4)))
        for near, far in ((-0.07, 0.0), (across, across + BEYOND_M))  # the second ball's number stays clear
    ]
    shapes += _goes(event, 0.5 * across, look)
    slip = found.slip_m_s[0]
    if abs(slip) > LEAST_SLIP_M_S:
        size = SLIP_ARROW_M * min(1.0, max(0.35, abs(slip) / SLIP_FULL_M_S)) * math.copysign(1.0, slip)
        start = at - 0.5 * size * left
        shapes += arrow(_pair(start), _pair(start + size * left), Pen(look.warning, 3.0))
    return shapes


def _pair(point: Array) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _goes(event: Event, radius_m: float, look: Look) -> Scene:
    """Where the second ball leaves to, from its edge on."""
    after, two = event.after[1], event.before[1]
    speed = math.hypot(after.vx, after.vy)
    if speed < 1e-6:
        return []
    u = np.array([after.vx, after.vy]) / speed
    centre = np.array([two.x, two.y])
    return arrow(_pair(centre + radius_m * u), _pair(centre + (radius_m + BEYOND_M) * u), Pen(look.accent, 2.6))


def contact_words(scenario: Scenario, event: Event) -> tuple[str, str]:
    """Throw, and how the first ball rubs on the other."""
    found, name = contact_of(scenario, event), scenario.ball_names[event.first]
    throw, slip = found.throw_deg, found.slip_m_s[0]
    first = "cue ball" if name == CUE_BALL else f"ball {name}"
    return (
        f"thrown {abs(throw):.1f}° {'left' if throw > 0.0 else 'right'}" if abs(throw) >= 0.05 else "no throw",
        f"{first} rubs {'left' if slip > 0.0 else 'right'}, {abs(slip):.2f} m/s"
        if abs(slip) > LEAST_SLIP_M_S
        else "no rubbing sideways",
    )
