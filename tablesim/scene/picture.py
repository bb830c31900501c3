"""The whole picture of a scenario: at rest, or at a moment of takes being played.

Shapes lie in the order in which they are painted.  Each picture comes in parts
too, so that what stands still can be painted once.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics import columns as e
from tablesim.physics.constants import POTTED
from tablesim.physics.simulation import Track
from tablesim.study.answer import Answer

from .aim_here import aim_lines, aim_marks
from .following import labels_following
from .growth import growth_scene
from .label_places import Callout, Line, canvas_of
from .look import CORRECTED, Look, pattern
from .motion import turning_of
from .paths import BallPath, ball_path
from .shapes import Ball, Disc, Pen, Scene
from .shot import (
    Former,
    Shown,
    aim_line,
    balls_scene,
    cue_scene,
    marks_scene,
    mouth_scene,
    take_scene,
    tip_gap,
    trace_scene,
)
from .spin import spin_scene
from .table import table_scene
from .ways import CUE_SHARE, Extent, decided_at, played_scene, way_scene

Array = NDArray[np.float64]

RING = 1.28  # radius of the ring round a ball of a take, in ball radii


# --- at rest


def lively_names(scenario: Scenario) -> tuple[str, ...]:
    """The balls that lie over the paths: cue ball and target ball."""
    return (CUE_BALL,) if scenario.target is None else (CUE_BALL, scenario.target.ball)


def ground_scene(scenario: Scenario, look: Look) -> Scene:
    """The table, and the balls that lie under the paths."""
    lively = lively_names(scenario)
    still = [s for s in balls_scene(scenario) if not (isinstance(s, Ball) and s.name in lively)]
    return table_scene(scenario.table.edge, look) + still


def under_scene(scenario: Scenario, shown: Shown, look: Look, former: Former | None = None) -> Scene:
    """What lies under the paths and does not change with the aim: marks, the target's mouth, the former shot."""
    shapes = marks_scene(scenario, look) + mouth_scene(scenario, look)
    return shapes if former is None or shown.growth else shapes + trace_scene(former, shown, look)


def paths_scene(scenario: Scenario, answers: dict[int, Answer], shown: Shown, look: Look) -> Scene:
    """The takes, the chosen one last, or the distance off the cue's line."""
    if shown.growth:
        return growth_scene(scenario, answers, shown, look)
    shapes = aim_lines(scenario, answers, shown, look)
    for index in sorted(answers, key=lambda i: i == shown.chosen):
        shapes += take_scene(scenario, answers[index], index, replace(shown, labels=False), look)
        aimed = answers[index].aimed
        if shown.spin and aimed is not None and index == shown.chosen:
            shapes += spin_scene(scenario, aimed, shown, look, look.take_colour(index))
    return shapes + aim_marks(scenario, answers, shown, look, shapes)


def lively_scene(scenario: Scenario) -> Scene:
    """Cue ball and target ball where they lie."""
    lively = lively_names(scenario)
    return [s for s in balls_scene(scenario) if isinstance(s, Ball) and s.name in lively]


def picture_scene(
    scenario: Scenario, answers: dict[int, Answer], shown: Shown, look: Look, former: Former | None = None
) -> Scene:
    """Everything there is to see of a scenario at rest: ``answers`` to the shown takes, by their places."""
    return (
        ground_scene(scenario, look)
        + under_scene(scenario, shown, look, former)
        + paths_scene(scenario, answers, shown, look)
        + lively_scene(scenario)
    )


# --- being played


def track_of(answer: Answer | None) -> Track | None:
    """The track of a take as aimed, if it has one."""
    return None if answer is None or answer.aimed is None else answer.aimed.track


def is_potted(track: Track, ball: int, t: float) -> bool:
    """True once a ball has dropped."""
    return int(track.piece_at(ball, t)[e.PHASE]) == POTTED


def _unmoved(scenario: Scenario, answers: dict[int, Answer], shown: Shown) -> set[str]:
    """Balls that lie under the paths and that the chosen take does not move."""
    track = track_of(answers.get(shown.chosen))
    names = set(scenario.ball_names) - set(lively_names(scenario))
    return {n for n in names if track is None or not ball_path(track, scenario.ball_names.index(n)).moves}


def playing_ground(
    scenario: Scenario, answers: dict[int, Answer], shown: Shown, look: Look, whole: bool = False, marks: bool = True
) -> Scene:
    """What does not change while takes are played; ``whole``: with the balls' ways to their ends."""
    still = _unmoved(scenario, answers, shown)
    shapes = table_scene(scenario.table.edge, look)
    shapes += [s for s in balls_scene(scenario) if isinstance(s, Ball) and s.name in still]
    if marks:
        shapes += marks_scene(scenario, look)
    shapes += [s for s in mouth_scene(scenario, look) if not isinstance(s, Disc)]
    chosen = _aimed(answers, shown)
    if chosen is not None and shown.aim:
        shapes += aim_line(scenario, chosen[1], look)
    shapes += aim_lines(scenario, answers, shown, look)
    for index in sorted(answers, key=lambda i: i == shown.chosen):
        answer, colour = answers[index], look.take_colour(index)
        if shown.corrected and answer.corrected is not None:
            extent = Extent(ends=whole or shown.whole_ways)
            shapes += played_scene(scenario, answer.corrected, Pen(colour, 0.95 * look.line, CORRECTED), extent)
        if whole and answer.aimed is not None:
            extent = Extent(others=shown.others and index == shown.chosen)
            shapes += played_scene(scenario, answer.aimed, Pen(colour, look.line, pattern(index)), extent)
    quiet = shown if len(answers) < 2 else replace(shown, labels=False)  # names run with the balls of several takes
    return shapes + aim_marks(scenario, answers, quiet, look, shapes, False)


def playing_balls(
    scenario: Scenario,
    answers: dict[int, Answer],
    shown: Shown,
    look: Look,
    t: float,
    trails: bool = True,
    names: Mapping[int, str] | None = None,
) -> Scene:
    """What moves, ``t`` seconds after the strike: the balls of all takes, turned, those of several takes ringed.

    Up to the strike (``t`` is negative before it) the cue comes forward.  ``names``: what stands at each take's
    cue ball (None: its name).
    """
    order = sorted(answers, key=lambda i: i == shown.chosen)
    shapes, before, t = _cue(scenario, answers, shown, look, t), t < 0.0, max(t, 0.0)
    for index in order if trails and not before else ():
        shapes += _trails(scenario, answers[index], index, shown, look, t)
    several = len(answers) > 1
    for index in order:
        shapes += _rings(scenario, answers[index], index, look, t) if several else []
        if index != shown.chosen:
            shapes += _balls_of(scenario, answers[index], lively_names(scenario), t)
    shapes += _chosen_balls(scenario, answers, shown, look, t)
    if several and shown.labels:
        still = [
            s for s in balls_scene(scenario) if isinstance(s, Ball) and s.name in _unmoved(scenario, answers, shown)
        ]
        labels = _take_labels(answers, names or {}, look, t)
        shapes += labels_following(labels, [*shapes, *still], look, canvas_of(scenario, shown.canvas))
    return shapes


def _aimed(answers: dict[int, Answer], shown: Shown) -> tuple[Take, float] | None:
    """The chosen take and the heading [deg] of its cue, if it is played."""
    answer = answers.get(shown.chosen)
    if answer is None or answer.aimed is None or answer.aimed.launch is None:
        return None
    return answer.take, answer.aimed.launch.heading_deg


def _cue(scenario: Scenario, answers: dict[int, Answer], shown: Shown, look: Look, t: float) -> Scene:
    """The chosen take's cue until its tip, which is drawn as if it came at the take's pace, has met the ball."""
    chosen = _aimed(answers, shown)
    if chosen is None or not shown.aim or t > 0.0:
        return []
    take, heading = chosen
    return cue_scene(
        scenario, take, heading, min(tip_gap(take), -t * take.pace_m_s), look, look.take_colour(shown.chosen)
    )


def _chosen_balls(scenario: Scenario, answers: dict[int, Answer], shown: Shown, look: Look, t: float) -> Scene:
    """The chosen take's balls, but for those that it never moves; of one take the target ball is ringed."""
    answer = answers.get(shown.chosen)
    track = track_of(answer)
    if answer is None or track is None:
        return lively_scene(scenario)
    still = _unmoved(scenario, answers, shown)
    balls = _balls_of(scenario, answer, [name for name in scenario.ball_names if name not in still], t)
    if scenario.target is None or len(answers) > 1:
        return balls
    ring = Pen(look.ink, 1.2)
    return [
        shape for ball in balls if isinstance(ball, Ball)
        for shape in (
            (Disc(ball.x, ball.y, RING * ball.radius_m, None, ring), ball) if ball.name == scenario.target.ball
            else (ball,)
        )
    ]  # fmt: skip


def _balls_of(scenario: Scenario, answer: Answer, names: Collection[str], t: float) -> Scene:
    """Balls of a take that have not dropped, turned as they have rolled."""
    track = track_of(answer)
    shapes: Scene = []
    for i, name in enumerate(scenario.ball_names if track is not None else ()):
        if track is None or name not in names or is_potted(track, i, t):
            continue
        state, turning = track.state_of(i, t), turning_of(track, i)
        turn = turning.at(t) if turning.turns_by(t) else None
        shapes.append(Ball(state.x, state.y, scenario.ball_set.radius_m(name), name, turn))
    return shapes


def _trails(scenario: Scenario, answer: Answer, index: int, shown: Shown, look: Look, t: float) -> Scene:
    """The ways of a take's balls up to a moment."""
    found, track = answer.aimed, track_of(answer)
    if found is None or track is None:
        return []
    colour, chief = look.take_colour(index), lively_names(scenario)
    shapes: Scene = []
    for i, name in enumerate(scenario.ball_names):
        path = so_far(track, i, t)
        if not path.moves or not (name in chief or (shown.others and index == shown.chosen)):
            continue
        if name in chief:
            share = CUE_SHARE if i == 0 else 1.0
            shapes += way_scene(path, decided_at(found, i), Pen(colour, share * look.line, pattern(index)))
        else:
            shapes += way_scene(path, -1.0, Pen(colour, look.line, pattern(index)))[:1]
    return shapes


def so_far(track: Track, ball: int, t: float) -> BallPath:
    """A ball's way up to a time [s]."""
    path = ball_path(track, ball)
    cut = int(np.searchsorted(path.times, t, side="right"))
    if cut == 0 or cut == len(path.times):
        return path if cut else BallPath(path.points[:1], path.times[:1], 0)
    here = track.state_of(ball, t)
    return BallPath(
        np.vstack([path.points[:cut], [[here.x, here.y]]]), np.append(path.times[:cut], t), min(path.sliding, cut + 1)
    )


def _rings(scenario: Scenario, answer: Answer, index: int, look: Look, t: float) -> Scene:
    """Rings in a take's colour and pattern about its cue ball and target ball."""
    pen = Pen(look.take_colour(index), 0.8 * look.line, pattern(index))
    return [
        Disc(ball.x, ball.y, RING * ball.radius_m, None, pen)
        for ball in _balls_of(scenario, answer, lively_names(scenario), t)
        if isinstance(ball, Ball)
    ]


def _take_labels(answers: dict[int, Answer], names: Mapping[int, str], look: Look, t: float) -> list[Callout]:
    """Each take's name for its cue ball, if that lies on the table."""
    labels = []
    for i in sorted(answers):
        track = track_of(answers[i])
        if track is not None and not is_potted(track, 0, t):
            state, words = track.state_of(0, t), names.get(i, answers[i].take.name)
            labels.append(Callout((state.x, state.y), (Line(words, look.letters, True),), look.take_colour(i)))
    return labels
