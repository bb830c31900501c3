"""Why the aim misses: the miss split by cause, and said in a sentence.

The causes are switched off one at a time, in this order, each staying off:

1. squirt: the shaft gives no impulse across the cue;
2. swerve: no spin about the line of travel, so the cue ball's path is straight;
3. throw from side: no sidespin;
4. throw from the cut: no friction between the balls.

Each part is the change of the miss when its cause goes; what is left when all
are off, less the point aimed at, is the remainder.  Parts and remainder add up
to the whole.  Another order gives somewhat other parts, because the causes act
on one another (squirt changes the cut, and the cut changes the throw).  Where a
stage is lost, as where the cue ball passes the target ball with squirt off, there
is no split: it is said why (:mod:`tablesim.study.lost`), and how far off the cue's
line squirt and swerve bring the cue ball by the target ball.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tablesim.model.scenario import CUE_BALL, Scenario, Which
from tablesim.model.shot import Aim, Take
from tablesim.physics.records import BallState, Laws
from tablesim.physics.strike import off_the_tip, rubbed_on_bed, vertical_impulse
from tablesim.physics.trial import Trial

from .correct import Correction, correct_take, heading_of, plain_offset_m
from .deflection import OffLine
from .hops import hop_sentence
from .lost import Fate, fate_of, lost_words, off_line_at_target
from .predict import predict_take
from .prediction import Prediction
from .reading import reading, sentence
from .refusal import unplayed_words
from .setup import plain_heading
from .shooter import Shooter
from .stroke import butt_sentence, stroke_of
from .went import scratch_sentence

Array = NDArray[np.float64]

NO_SPLIT = "the plain line of the aim sends the target ball nowhere near the pocket"
CAUSES = ("squirt", "swerve", "throw")


@dataclass(frozen=True)
class Part:
    """What one cause does: at the mouth line [mm] and to the target ball's direction [deg], left +."""

    cause: str
    mm: float
    deg: float


@dataclass(frozen=True)
class Explanation:
    """A take's miss of the point it was aimed at, split by cause; ``reason`` says why there is no split.

    ``aim_mm`` is where the plain line of the aim crosses the mouth line, ``miss_mm`` how far from there the ball
    crosses it, both left +; ``parts`` and ``remainder_mm`` add up to the miss.  ``off_line`` is the cue ball, with
    no ball or cushion in its way, level with the target ball; None if it does not get that far, or at a miscue.
    ``remark`` is what else is to be said of the cue ball along this aim: a scratch, a ball met in a hop.
    """

    take: str
    cue: str
    aim_mm: float | None
    miss_mm: float | None
    miss_deg: float | None
    parts: tuple[Part, ...]
    remainder_mm: float | None
    reading: str
    correction: Correction
    reason: str | None
    off_line: OffLine | None = None
    remark: str = ""


def without_swerve(launch: BallState) -> BallState:
    """The launch less its spin about the line of travel: nothing is left to bend the path."""
    vx, vy, wx, wy = launch.vx, launch.vy, launch.wx, launch.wy
    speed = math.hypot(vx, vy)
    about = (wx * vx + wy * vy) / speed
    return launch._replace(wx=wx - about * vx / speed, wy=wy - about * vy / speed)


def stage(scenario: Scenario, take: Take, laws: Laws, off: frozenset[str], heading: float) -> tuple[BallState, Laws]:
    """A take's launch along ``heading`` [rad] and laws with causes switched ``off``: squirt, swerve, side, friction.

    What the bed does at the strike belongs to swerve: it is the same friction of
    the same cloth, and takes away of the later curve what it turns at once.
    """
    stroke, radius = stroke_of(scenario, take, heading), scenario.ball_set.radius_m(CUE_BALL)
    ball = off_the_tip(stroke._replace(stroke_factor=0.0) if "squirt" in off else stroke, radius)
    ball = without_swerve(ball) if "swerve" in off else ball
    ball = rubbed_on_bed(ball, radius, max(0.0, -vertical_impulse(stroke)), laws.cloth.mu_s)
    ball = ball._replace(wz=0.0) if "side" in off else ball
    return ball, laws._replace(balls=laws.balls._replace(a=0.0, b=0.0)) if "friction" in off else laws


STAGES = (frozenset[str](), frozenset({"squirt"}), frozenset({"squirt", "swerve"}),
          frozenset({"squirt", "swerve", "side", "friction"}))  # fmt: skip


def explain_take(
    scenario: Scenario,
    take: Take,
    correction: Correction | None = None,
    aimed: Prediction | None = None,
) -> Explanation:
    """Split the miss of a take's own aim by cause, and say it.

    ``correction`` and ``aimed`` are the take's, if they have been found already.
    The aim of a take that asks for a corrected one, where none works, is the plain one.
    """
    cue = scenario.cue_name_of(take)
    correction = correction or correct_take(scenario, take)
    heading, named = own_heading(scenario, take, correction)
    unplayed = unplayed_words(scenario, take, heading)
    if unplayed:
        words = sentence(unplayed)
        return Explanation(take.name, cue, None, None, None, (), None, words, correction, unplayed)
    if aimed is None or take.aim.corrected:
        aim = Aim(heading_deg=math.remainder(math.degrees(heading), 360.0))
        aimed = predict_take(scenario, take.model_copy(update={"aim": aim}))
    remark = " ".join(
        filter(None, (scratch_sentence(aimed, None), butt_sentence(scenario, take, heading), hop_sentence(aimed.hop)))
    )
    off_line, offset = off_line_at_target(scenario, take, heading), plain_offset_m(scenario, heading)
    trials, fates = _trials(scenario, take, heading)
    aim_mm = None if offset is None else 1000.0 * offset
    miss = 1000.0 * trials[0].crossing - aim_mm if fates[0] is None and aim_mm is not None else None
    why = lost_words(named, fates, off_line)
    if miss is None or why is not None:
        # What is lost on the straight way may go in all the same, by another.
        said = None if aimed.target.outcome == "potted" and fates[0] is not None else why
        words = reading(take, None, correction, math.degrees(heading), aim_mm, aimed.target, said)
        turned = math.degrees(trials[0].direction) if miss is not None else None
        return Explanation(
            take.name, cue, aim_mm, miss, turned, (), None, words, correction, why or NO_SPLIT, off_line, remark
        )  # fmt: skip
    parts = tuple(
        Part(cause, 1000.0 * (on.crossing - off.crossing), math.degrees(on.direction) - math.degrees(off.direction))
        for cause, (on, off) in zip(CAUSES, pairwise(trials), strict=True)
    )
    squirt, swerve, throw = (p.mm for p in parts)
    words = reading(take, (squirt, swerve, throw), correction, math.degrees(heading), aim_mm, aimed.target)
    return Explanation(
        take.name, cue, aim_mm, miss, math.degrees(trials[0].direction), parts, miss - sum(p.mm for p in parts), words,
        correction, None, off_line, remark,
    )  # fmt: skip


def own_heading(scenario: Scenario, take: Take, correction: Correction) -> tuple[float, str]:
    """Heading [rad] of a take's own aim, and its name; the plain one's where no corrected one exists."""
    if not take.aim.corrected:
        return heading_of(scenario, take), "this aim"
    if correction.heading_deg is not None:
        return math.radians(correction.heading_deg), "the corrected aim"
    return plain_heading(scenario), "the plain aim"


def _trials(scenario: Scenario, take: Take, heading: float) -> tuple[list[Trial], list[Fate | None]]:
    """Every stage played along a heading [rad], and what becomes of those that are lost."""
    shooter = Shooter(scenario)
    trials, fates = [], []
    for off in STAGES:
        launch, laws = stage(scenario, take, shooter.setup.laws, off, heading)
        trials.append(shooter.trial(heading, launch, laws))
        fates.append(fate_of(scenario, heading, trials[-1], shooter.cue_ball))
    return trials, fates


def explain(scenario: Scenario, take: Which = None) -> tuple[Explanation, ...]:
    """Why the aim misses: every take of a scenario, or the one that is named or stated, its miss split by cause.

    AimImpossible without a target, NameUnknown for a take that is not there.

    >>> told = ts.explain(ts.open_scenario("two-cues"), "wood, soft")[0]
    >>> [(part.cause, round(part.mm)) for part in told.parts]
    [('squirt', 403), ('swerve', -195), ('throw', -32)]
    """
    return tuple(explain_take(scenario, t) for t in scenario.takes_for(take))
