"""The cue ball's distance off the cue's line at each foot or diamond, drawn along its way, sideways magnified."""

from __future__ import annotations

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.physics.simulation import Event, Track
from tablesim.study.answer import Answer
from tablesim.study.deflection import deflection_of, marks_along
from tablesim.study.went import side_word

from .label_places import Callout, Line, callouts_placed, canvas_of
from .look import Look, pattern
from .shapes import Array, Canvas, Dot, Path, Pen, Scene, Shape, Text
from .shot import Shown, heading_vector
from .words import in_unit

ALL_FIGURES = 2  # with so many takes shown beside the chosen one, every mark has its figure
STEPS = 48  # points on the magnified curve
BARS_MM = (1, 2, 5, 10, 20, 50, 100, 200)  # lengths of the bar that tells the sideways scale: the first that is
BAR_POINTS = 40.0  # so long on the picture
CORNER = 26.0  # points from the picture's edges to the bar and the note
LARGER = 1.25  # letters of the distances at the contact


def growth_scene(scenario: Scenario, answers: dict[int, Answer], shown: Shown, look: Look) -> Scene:
    """For each shown take, its magnified distance off the chosen take's line, up to where it meets a ball or rail."""
    canvas = canvas_of(scenario, shown.canvas)
    shapes, ends = list[Shape](), list[Callout]()
    played = {
        i: answer for i, answer in answers.items() if answer.aimed is not None and answer.aimed.launch is not None
    }
    off_mm = {i: _off_at_the_end(scenario, answer) for i, answer in played.items()}
    for lane, index in enumerate(sorted(played, key=lambda i: abs(off_mm[i]))):  # figures in the order of the curves
        shapes += _curve(scenario, played[index], index, lane, shown, look)
        ends.append(_at_the_end(scenario, played[index], index, off_mm[index], shown, look, len(played) > 1))
    every = "foot" if shown.growth_every == "foot" else "diamond"
    drawn = f"drawn ×{shown.growth}" if shown.growth > 1 else "to scale"
    seen, frame = canvas.seen, canvas.frame
    middle = frame.metres(0.5 * (seen[0] + seen[2]), seen[1] + 0.5 * CORNER * frame.point)
    note = f"mm off the cue's line at each {every} and at the end; sideways {drawn}"
    shapes.append(Text(*middle, note, look.letters, look.ink, 0.5, 1.0, look.halo))
    shapes += _bar(canvas, shown.growth, look)
    return shapes + callouts_placed(scenario, ends, shapes, look, canvas)


def _off_at_the_end(scenario: Scenario, answer: Answer) -> float:
    """How far [mm, left +] off the cue's line its way ends; 0 at once at a ball that it is frozen to, or not struck."""
    points = deflection_of(scenario, answer.take, (_reach(scenario, answer),)).points
    return points[0].net_mm if points else 0.0


def _at_the_end(
    scenario: Scenario, answer: Answer, index: int, off_mm: float, shown: Shown, look: Look, named: bool
) -> Callout:
    """The distance where the way off the line ends, in large letters at the end of its curve."""
    assert answer.aimed is not None
    assert answer.aimed.launch is not None
    reach, u = _reach(scenario, answer), heading_vector(answer.aimed.launch.heading_deg)
    x, y = np.array(scenario.balls[CUE_BALL]) + reach * u + shown.growth / 1000.0 * off_mm * np.array([-u[1], u[0]])
    met = first_met(answer.aimed.track) if answer.aimed.track is not None else None
    where = "where it stops" if met is None else "at the ball" if met.kind == "ball" else "at the rail"
    side = f" {side_word(off_mm)}" if abs(off_mm) >= 0.5 else ""
    told = in_unit(f"{abs(off_mm):.0f} mm{side}", shown.unit)
    words = f"{answer.take.name}: {told}" if named else f"{told} {where}"
    return Callout((float(x), float(y)), (Line(words, LARGER * look.letters, True),), look.take_colour(index))


def _bar(canvas: Canvas, growth: int, look: Look) -> Scene:
    """A bar as long as some millimetres are drawn sideways, at the lower left of the picture."""
    frame = canvas.frame
    points_a_mm = growth / 1000.0 * frame.pixels_a_metre / frame.point
    mm = next((mm for mm in BARS_MM if mm * points_a_mm >= BAR_POINTS), BARS_MM[-1])
    left, low = canvas.seen[0] + CORNER * frame.point, canvas.seen[3] - CORNER * frame.point
    ends = [frame.metres(left + long * frame.point, low) for long in (0.0, mm * points_a_mm)]
    bar = np.array(ends)
    return [
        Path(bar, Pen(look.halo, 2.4 * look.line)), Path(bar, Pen(look.ink, 1.2 * look.line)),
        Text(*ends[1], f"{mm} mm sideways", look.letters, look.ink, 0.0, 0.5, look.halo, 8.0),
    ]  # fmt: skip


def first_met(track: Track) -> Event | None:
    """The first thing that the cue ball meets."""
    return next((ev for ev in track.events if ev.kind != "phase" and 0 in (ev.first, ev.second)), None)


def _reach(scenario: Scenario, answer: Answer) -> float:
    """Distance [m] along the cue's line at which the cue ball first meets something, or stops."""
    assert answer.aimed is not None
    track = answer.aimed.track
    start = np.array(scenario.balls[CUE_BALL])
    assert answer.aimed.launch is not None
    u = heading_vector(answer.aimed.launch.heading_deg)
    if track is None:
        return 0.0
    met = first_met(track)
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
