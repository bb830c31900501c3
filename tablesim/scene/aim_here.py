"""Where to aim: the line on which the cue has to point, the mark that it aims the ball at, and how far off that is.

The corrected aim of every take shown, told as a player aims: along the ghost
ball that knows no squirt, swerve or throw, at a place on the line of the
pocket's mouth, or beyond it at an arrow toward that place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.study.answer import Answer
from tablesim.study.correct import Correction, plain_offset_m
from tablesim.study.reading import CENTRE_MM
from tablesim.study.setup import gate_of, plain_line, target_distance, target_of
from tablesim.study.went import side_word

from .label_places import Callout, Line, callouts_placed
from .look import Look
from .shapes import Disc, Dot, Path, Pen, Scene, Shape
from .shot import Shown, way_middles
from .table import RAIL_M
from .ways import arrow, thinner
from .words import in_unit

Array = NDArray[np.float64]
XY = tuple[float, float]

INSET_M = 0.02  # of an arrow's point from the table's edge
SHAFT_M = 0.14  # of an arrow toward a place that is off the picture
BAND = 5.0  # width of the window's band, in lines' widths
OUTER, INNER = 2.0, 1.0  # widths of the hollow line and of its inside, in lines' widths
LARGER = 1.25  # letters of the chosen take's amount


@dataclass(frozen=True)
class AimHere:
    """A corrected aim on the table: the ghost ball, the place aimed at, the ends of the window beside it [m].

    ``overlap``: share of the target ball that the ghost ball covers, seen along
    the cue, for balls of one size: 1 - sin(cut), so half at a cut of 30 degrees.
    Without a window where the correction states none on the gate, as in the jaws.
    """

    ghost: XY
    place: XY
    window: tuple[XY, XY] | None
    overlap: float


def aim_here(scenario: Scenario, correction: Correction) -> AimHere | None:
    """Where a correction aims; None if there is none, or its plain line misses the target ball."""
    if correction.aim_offset_mm is None or correction.heading_deg is None:
        return None
    gate, offset_m = gate_of(scenario), correction.aim_offset_mm / 1000.0
    gx, gy, _, _ = plain_line(scenario, correction.aim_offset_mm)

    def on_gate(along_m: float) -> XY:
        return gate.x + along_m * gate.left[0], gate.y + along_m * gate.left[1]

    heading, half = math.radians(correction.heading_deg), math.radians(correction.window_deg or 0.0) / 2.0
    ends = [plain_offset_m(scenario, heading + side * half) for side in (-1.0, 1.0)]
    told = correction.window_mm is not None and ends[0] is not None and ends[1] is not None
    window = (on_gate(ends[0] or 0.0), on_gate(ends[1] or 0.0)) if told else None
    (cx, cy), (tx, ty) = scenario.balls[CUE_BALL], _target_at(scenario)
    aside = math.cos(heading) * (ty - cy) - math.sin(heading) * (tx - cx)
    return AimHere((gx, gy), on_gate(offset_m), window, 1.0 - abs(aside) / target_distance(scenario))


def _target_at(scenario: Scenario) -> XY:
    return scenario.balls[target_of(scenario).ball]


def amount_words(correction: Correction, unit: str) -> str:
    """How far off the pocket's centre to aim, in the person's unit."""
    offset = correction.aim_offset_mm or 0.0
    if abs(offset) < CENTRE_MM:
        return "at the centre"
    if unit == "diamond":
        return f"{abs(correction.aim_offset_diamonds or 0.0):.2f} diamonds {side_word(offset)}"
    return in_unit(f"{abs(offset):.0f} mm {side_word(offset)}", unit)


def aside_words(correction: Correction, aim: AimHere) -> str:
    """The same in widths of the pocket, and how much of the ball is covered."""
    widths = abs(correction.aim_offset_pocket_widths or 0.0)
    return f"{widths:.2g} pocket widths, {100.0 * aim.overlap:.0f} % of the ball covered"


def aim_lines(scenario: Scenario, answers: dict[int, Answer], shown: Shown, look: Look) -> Scene:
    """The line of the chosen take's corrected aim, to lie under the balls' ways."""
    aim = _aims(scenario, answers, shown).get(shown.chosen)
    if aim is None:
        return []
    mark, _ = _in_sight(scenario, aim.place)
    return _lines(scenario, aim, mark, look.take_colour(shown.chosen), look)


def aim_marks(
    scenario: Scenario, answers: dict[int, Answer], shown: Shown, look: Look, drawn: Scene, legs: bool = True
) -> Scene:
    """Mark, window and words of every shown take's corrected aim, the chosen one's in front.

    Words find their places clear of the shapes already ``drawn``; ``legs``: also
    those for the target ball's ways as aimed and corrected.
    """
    shapes, labels, ways = list[Shape](), list[Callout](), list[Callout]()
    for index, aim in _aims(scenario, answers, shown).items():
        chosen, colour, answer = index == shown.chosen, look.take_colour(index), answers[index]
        mark, onward = _in_sight(scenario, aim.place)
        shapes += _mark(scenario, aim, mark, onward, colour, look, chosen)
        if chosen:
            labels.insert(0, _label(answer, aim, mark, colour, look, shown))
            named = way_middles(scenario, answer) if legs else []
            ways = [Callout(at, (Line(words, look.letters),), colour, 6.0) for words, at in named]
        else:
            labels.append(_name_label(answer, mark, colour, look, shown))
    return shapes + (
        callouts_placed(scenario, labels + ways, [*drawn, *shapes], look, shown.canvas) if shown.labels else []
    )


def _aims(scenario: Scenario, answers: dict[int, Answer], shown: Shown) -> dict[int, AimHere]:
    """The aims that can be shown, by the places of their takes, the chosen one's last."""
    if scenario.target is None or not shown.corrected:
        return {}
    found: dict[int, AimHere] = {}
    for index in sorted(answers, key=lambda i: i == shown.chosen):
        correction = answers[index].correction
        aim = None if correction is None else aim_here(scenario, correction)
        if aim is not None:
            found[index] = aim
    return found


def _in_sight(scenario: Scenario, place: XY) -> tuple[XY, bool]:
    """A place on the table, rails and all; one beyond is where the way to it from the target ball leaves the table."""
    size, edge = scenario.table.surface, RAIL_M - INSET_M
    start = np.array(_target_at(scenario))
    way = np.array(place) - start
    share = 1.0
    for k, most in enumerate((size.length_m, size.width_m)):
        if abs(way[k]) > 1e-9:
            share = min(share, ((most + edge if way[k] > 0.0 else -edge) - start[k]) / way[k])
    x, y = start + share * way
    return (float(x), float(y)), share < 1.0


def _lines(scenario: Scenario, aim: AimHere, mark: XY, colour: str, look: Look) -> Scene:
    """The line of the cue to the ghost ball, and from the target ball on to the mark: hollow, unlike balls' ways."""
    ways = [np.array([scenario.balls[CUE_BALL], aim.ghost]), np.array([_target_at(scenario), mark])]
    pens = Pen(colour, OUTER * look.line), Pen(look.cloth, INNER * look.line)
    ghost = Disc(*aim.ghost, scenario.ball_set.radius_m(CUE_BALL), None, Pen(colour, look.line))
    return [*(Path(way, pen) for pen in pens for way in ways), ghost]


def _mark(scenario: Scenario, aim: AimHere, mark: XY, onward: bool, colour: str, look: Look, chosen: bool) -> Scene:
    """The mark at the place aimed at, its window as a band; off the table an arrow toward it."""
    if onward:
        ball = np.array(_target_at(scenario))
        way = np.array(mark) - ball
        back = np.array(mark) - min(SHAFT_M, 0.6 * float(np.hypot(*way))) * way / float(np.hypot(*way))
        return arrow((float(back[0]), float(back[1])), mark, Pen(colour, (1.4 if chosen else 0.9) * look.line))
    size = 3.2 * look.line if chosen else 2.2 * look.line
    band = [] if aim.window is None else [Path(np.array(aim.window), Pen(thinner(colour, 0.55), BAND * look.line))]
    around = [
        Dot(*mark, size, None, Pen(pen, w * look.line), corners=4) for pen, w in ((look.halo, 2.4), (colour, 1.1))
    ]
    return [*band, *around, Dot(*mark, 0.8 * look.line, colour)]


def _label(answer: Answer, aim: AimHere, mark: XY, colour: str, look: Look, shown: Shown) -> Callout:
    """What stands at the mark of the chosen take: the amount, large, and more of it where numbers are wanted."""
    correction = answer.correction
    assert correction is not None
    lines = [Line(f"Aim {amount_words(correction, shown.unit)}", LARGER * look.letters, True)]
    if shown.all_numbers and abs(correction.aim_offset_mm or 0.0) >= CENTRE_MM:
        lines.append(Line(aside_words(correction, aim), 0.9 * look.letters))
    return Callout(mark, tuple(lines), colour)


def _name_label(answer: Answer, mark: XY, colour: str, look: Look, shown: Shown) -> Callout:
    """What stands at the mark of another take: its name and amount."""
    assert answer.correction is not None
    words = f"{answer.take.name}: {amount_words(answer.correction, shown.unit)}"
    return Callout(mark, (Line(words, look.letters),), colour)
