"""Why a miss cannot be split at the pocket: with which causes off the shot is lost, and what becomes of it there.

A split needs the target ball to head for its gate at every stage of
:mod:`tablesim.study.explain`.  With much side on a long shot it does not: swerve
alone, say, carries the cue ball past the target ball on which squirt keeps it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics.records import BallState
from tablesim.physics.trial import CUE_BALL_BLOCKED, NOT_REACHED, Trial

from .deflection import OffLine, deflection_of
from .setup import target_of

AS_PLAYED, NO_SQUIRT, STRAIGHT = range(3)  # stages: every cause at work; squirt off; swerve off, too


@dataclass(frozen=True)
class Fate:
    """What becomes of a stage that is lost; ``side`` +1 where the cue ball passes the target ball on its left, -1
    on its right, 0 where it does not pass; ``where`` ends "the cue ball goes ..."."""

    side: int
    where: str


def along_and_aside(scenario: Scenario, heading: float, x: float, y: float) -> tuple[float, float]:
    """How far [m] a place is along the cue's line from the cue ball's start, and left (+) of that line."""
    x0, y0 = scenario.balls[CUE_BALL]
    ch, sh = math.cos(heading), math.sin(heading)
    return (x - x0) * ch + (y - y0) * sh, (y - y0) * ch - (x - x0) * sh


def off_line_at_target(scenario: Scenario, take: Take, heading: float) -> OffLine | None:
    """The cue ball off the cue's line when it is level with the target ball; None if it never gets there."""
    level = along_and_aside(scenario, heading, *scenario.balls[target_of(scenario).ball])[0]
    points = deflection_of(scenario, take, (level,)).points if level > 0.0 else ()
    return points[0] if points else None


def fate_of(scenario: Scenario, heading: float, trial: Trial, cue_ball: BallState) -> Fate | None:
    """What becomes of a trial that has no crossing, ``cue_ball`` as that trial left it; None for one that has."""
    if math.isfinite(trial.crossing):
        return None
    ball = target_of(scenario).ball
    if trial.code == CUE_BALL_BLOCKED:
        return Fate(0, f"onto ball {scenario.ball_names[trial.obstacle]}")
    if trial.code != NOT_REACHED:
        return Fate(0, f"onto ball {ball} so that it heads nowhere near the pocket")
    level, aside = along_and_aside(scenario, heading, *scenario.balls[ball])
    if level <= 0.0:
        return Fate(0, f"away from ball {ball}")
    along, off = along_and_aside(scenario, heading, cue_ball.x, cue_ball.y)
    if along > level:
        side = 1 if off > aside else -1
        return Fate(side, f"past ball {ball}, on its {'left' if side > 0 else 'right'}")
    if cue_ball.vx == 0.0 and cue_ball.vy == 0.0:
        return Fate(0, f"not far enough to reach ball {ball}")
    return Fate(0, f"onto a cushion before it reaches ball {ball}")


def lost_words(aim: str, fates: Sequence[Fate | None], off_line: OffLine | None) -> str | None:
    """Which cause loses the shot and which keeps it, by the fates of the stages; None if no stage is lost.

    ``aim`` is what the aim of the stages is called: "this aim", "the plain aim".
    """
    played, no_squirt, straight = fates[AS_PLAYED], fates[NO_SQUIRT], fates[STRAIGHT]
    if played is not None:
        if straight is not None or off_line is None:
            return f"{aim} sends the cue ball {played.where}"
        return f"{_loses(played, no_squirt, off_line)} the cue ball {played.where}"
    if straight is not None:
        saves = "squirt" if no_squirt is not None else "swerve"
        return f"along the cue's line the cue ball would go {straight.where}; {saves} {_mends(straight, 'brings')}"
    if no_squirt is not None:
        return f"swerve alone would carry the cue ball {no_squirt.where}; squirt {_mends(no_squirt, 'keeps')}"
    if any(fate is not None for fate in fates):
        return "without throw the object ball would head nowhere near the pocket"
    return None


def _loses(played: Fate, no_squirt: Fate | None, off_line: OffLine) -> str:
    """The cause that carries the cue ball off a line that is right."""
    if no_squirt is None or played.side * off_line.squirt_mm > 0.0:
        return "squirt carries"
    return "swerve carries" if played.side * off_line.swerve_mm > 0.0 else "squirt and swerve carry"


def _mends(fate: Fate, how: str) -> str:
    return f"{how} it on" if fate.side else "makes up for it"
