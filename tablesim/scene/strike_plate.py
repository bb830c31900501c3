"""How the cue ball was struck, for pictures and clips: face and tip, beside them pace and sidespin over speed."""

from __future__ import annotations

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics.strike import miscue_offset
from tablesim.study.change import percent_words
from tablesim.units import pace_word

from .look import IVORY, Look
from .shapes import Disc, Path, Pen, Scene, Text

PATCH = 0.35  # of the tip's radius that touches the ball, as drawn; common practice, no source
WORDS = 1.35  # where the words begin, in radii of the face from its middle


def strike_words(take: Take, ratio: float | None) -> tuple[str, str]:
    """Pace, and R w_z / v just now if the ball moves (None: it does not)."""
    return (
        f"{pace_word(take.pace_m_s)}, {take.pace_m_s:.1f} m/s",
        "" if ratio is None else f"spin : speed {abs(ratio):.2f}",
    )


def played_words(scenario: Scenario, take: Take) -> str:
    """How a take is played: where the tip strikes, its pace and its cue."""
    sides = ((take.tip.right, "right", "left"), (take.tip.up, "high", "low"))
    tip = ", ".join(percent_words(offset, *words) for offset, *words in sides if round(100.0 * offset))
    stroke = ["jabbed"] if take.stroke == "jab" else []
    return ", ".join([f"tip {tip or 'at the centre'}", f"{take.pace_m_s:.1f} m/s", *stroke, scenario.cue_name_of(take)])


def strike_scene(scenario: Scenario, take: Take, look: Look, ratio: float | None) -> Scene:
    """The face with its tip and the words of :func:`strike_words`, in radii of the face from its middle."""
    cue = scenario.cue_of(take)
    patch = PATCH * cue.tip_radius_m / scenario.ball_set.radius_m(CUE_BALL)
    pace, spin = strike_words(take, ratio)
    return [
        Disc(0.0, 0.0, 1.0, IVORY, Pen(look.edge, 1.0)),
        Path(np.array([[-0.9, 0.0], [0.9, 0.0]]), Pen("#c9c0ab", 1.0)),
        Path(np.array([[0.0, -0.9], [0.0, 0.9]]), Pen("#c9c0ab", 1.0)),
        Disc(0.0, 0.0, miscue_offset(cue.tip_friction), None, Pen("#b5482f", 1.2, (4, 3))),
        Disc(take.tip.right, take.tip.up, max(patch, 0.12), "#2b5f8f"),
        Text(WORDS, 0.0, pace, look.letters, look.text, 0.0, dy=0.7 * look.letters),
        Text(WORDS, 0.0, spin, look.letters, look.text, 0.0, dy=-0.7 * look.letters),
    ]
