"""The cue ball's distance off the cue's line at each foot or diamond, drawn along its way, sideways magnified."""

from __future__ import annotations

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.study.answer import Answer
from tablesim.study.deflection import deflection_of, marks_along

from .look import Look, pattern
from .shapes import Array, Dot, Path, Pen, Scene, Text
from .shot import Shown, heading_vector

ALL_FIGURES = 2  # with so many takes shown beside the chosen one, every mark has its figure
NOTE_BELOW = 0.45  # of the table's width: balls lying beyond it on the mean leave the lower side free
STEPS = 48  # points on the magnified curve


def growth_scene(scenario: Scenario, answers: dict[int, Answer], shown: Shown, look: Look) -> Scene:
    """For each shown take, its magnified distance off the chosen take's line, up to where it meets a ball or rail."""
    shapes: Scene = []
    for lane, (index, answer) in enumerate(sorted(answers.items())):
        if answer.aimed is not None and answer.aimed.launch is not None:
            shapes += _curve(scenario, answer, index, lane, shown, look)
    every = "foot" if shown.growth_every == "foot" else "diamond"
    drawn = f"drawn ×{shown.growth}" if shown.growth > 1 else "to scale"
    size = scenario.table.surface
    places = [scenario.balls[CUE_BALL]] + ([scenario.balls[scenario.target.ball]] if scenario.target else [])
    below = sum(y for _, y in places) / len(places) > NOTE_BELOW * size.width_m  # where there is more room for it
    words = f"mm off the cue's line at each {every}; sideways {drawn}"
    shapes.append(
        Text(size.length_m / 2, 0.0 if below else size.width_m, words, look.letters,
             look.ink, 0.5, 0.0 if below else 1.0, look.halo, 0.0, 10.0 if below else -10.0)
    )  # fmt: skip
    return shapes


def _reach(scenario: Scenario, answer: Answer) -> float:
    """Distance [m] along the cue's line at which the cue ball first meets something, or stops."""
    assert answer.aimed is not None
    track = answer.aimed.track
    start = np.array(scenario.balls[CUE_BALL])
    assert answer.aimed.launch is not None
    u = heading_vector(answer.aimed.launch.heading_deg)
    if track is None:
        return 0.0
    met = next((ev for ev in track.events if ev.kind != "phase" and 0 in (ev.first, ev.second)), None)
    end = track.state_of(0, track.end_time if met is None else met.time)
    return float((np.array([end.x, end.y]) - start) @ u)


def _curve(scenario: Scenario, answer: Answer, index: int, lane: int, shown: Shown, look: Look) -> Scene:
    assert answer.aimed is not None
    assert answer.aimed.launch is not None
    u = heading_vector(answer.aimed.launch.heading_deg)
    left = np.array([-u[1], u[0]])
    start, reach = np.array(scenario.balls[CUE_BALL]), _reach(scenario, answer)
    marks = tuple(d for d in marks_along(scenario, shown.growth_every) if d <= reach)
    along = tuple(reach * (k + 1) / STEPS for k in range(STEPS))
    points = deflection_of(scenario, answer.take, along).points
    ticks = deflection_of(scenario, answer.take, marks).points
    colour, scale = look.take_colour(index), shown.growth / 1000.0
    line = np.array([start] + [start + p.distance_m * u + scale * p.net_mm * left for p in points])
    shapes: Scene = [
        Path(np.array([start, start + reach * u]), Pen(look.ink, 1.2)),
        Path(line, Pen(colour, 1.3 * look.line, pattern(index))),
    ]
    for p in ticks:
        foot = start + p.distance_m * u
        at = foot + scale * p.net_mm * left
        shapes.append(Path(np.array([foot, at]), Pen(colour, 1.4)))
        shapes.append(Dot(float(at[0]), float(at[1]), 3.0, colour))
    for p in ticks if shown.all_numbers or len(shown.takes) <= ALL_FIGURES else ticks[-1:]:
        shapes.append(_figure(start + p.distance_m * u, left, p.net_mm, lane, colour, look))
    return shapes


def _figure(foot: Array, left: Array, net_mm: float, lane: int, colour: str, look: Look) -> Text:
    """The distance in figures, in a lane of each take's own on the other side of the line."""
    size = look.letters
    away = -(1.0 if net_mm > 0.0 else -1.0) * left * size * (1.1 + 1.45 * lane)
    words = f"{abs(net_mm):.0f}"
    x, y = float(foot[0]), float(foot[1])
    return Text(x, y, words, size, colour, 0.5, 0.5, look.halo, float(away[0]), float(away[1]))
