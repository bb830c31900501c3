"""How the cue ball was struck, as a small plate for pictures and clips: face, tip, pace, sidespin over speed."""

from __future__ import annotations

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics.strike import miscue_offset
from tablesim.units import pace_word

from .look import IVORY, Look
from .shapes import Disc, Path, Pen, Scene, Text

PATCH = 0.35  # of the tip's radius that touches the ball, as drawn; common practice, no source
WIDE, TOP, BOTTOM = 1.75, 1.25, -2.45  # the plate's edges from the middle of the face, in radii of the face


def strike_scene(scenario: Scenario, take: Take, look: Look, ratio: float | None) -> Scene:
    """The plate, in radii of the face from its middle; ``ratio`` is R w_z / v just now, if the ball moves."""
    cue = scenario.cue_of(take)
    patch = PATCH * cue.tip_radius_m / scenario.ball_set.radius_m(CUE_BALL)
    plate = np.array([[-WIDE, TOP], [WIDE, TOP], [WIDE, BOTTOM], [-WIDE, BOTTOM]])
    size = 0.85 * look.letters
    spin = "" if ratio is None else f"spin : speed {abs(ratio):.2f}"
    return [
        Path(plate, Pen(look.edge, 1.0), look.panel, closed=True),
        Disc(0.0, 0.0, 1.0, IVORY, Pen(look.edge, 1.0)),
        Path(np.array([[-0.9, 0.0], [0.9, 0.0]]), Pen("#c9c0ab", 1.0)),
        Path(np.array([[0.0, -0.9], [0.0, 0.9]]), Pen("#c9c0ab", 1.0)),
        Disc(0.0, 0.0, miscue_offset(cue.tip_friction), None, Pen("#b5482f", 1.2, (4, 3))),
        Disc(take.tip.right, take.tip.up, max(patch, 0.12), "#2b5f8f"),
        Text(0.0, -1.45, f"{pace_word(take.pace_m_s)}, {take.pace_m_s:.1f} m/s", size, look.text),
        Text(0.0, -2.0, spin, size, look.text),
    ]
