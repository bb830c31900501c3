"""Takes on the table: the line aimed, both balls' ways as aimed and as corrected, ghost balls, misses, rests."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.study.answer import Answer
from tablesim.study.prediction import Prediction
from tablesim.study.setup import gate_of, target_distance

from .look import CORRECTED, SOLID, Look, pattern
from .paths import ball_path
from .shapes import Ball, Box, Canvas, Disc, Dot, Path, Pen, Scene, Text
from .ways import Extent, arrow, decided_at, played_scene, thinner

Array = NDArray[np.float64]
XY = tuple[float, float]

CUE_M = 0.62  # as much of the cue as is drawn
FADED = 0.72  # opacity of takes that are not the chosen one
SAME_LINE_M = 0.002  # lines nearer than this half-way need no words to tell them apart
CUE_GAP_M = 0.012  # tip to ball


@dataclass(frozen=True)
class Shown:
    """What of a scenario is drawn: the take chosen, those shown with it, and the overlays that are on."""

    chosen: int = 0
    takes: tuple[int, ...] = ()
    corrected: bool = True
    spin: bool = False  # sliding parts and the sidespin left along the way
    others: bool = True
    labels: bool = True
    aim: bool = True  # the cue's line, while takes are played
    growth: int = 0  # sideways magnification of the distance off the cue's line; 0 is off
    growth_every: str = "foot"
    all_numbers: bool = False
    unit: str = "mm"  # of positions, as the person likes them
    whole_ways: bool = False  # of all takes to their ends, not only the chosen one's, and no part of them faint
    closer: Box | None = None  # the part of the table that is looked at [m]; None: all of it
    lens: bool = False  # contact and pocket mouth enlarged beside the table's picture
    canvas: Canvas | None = None  # of the surface, for labels to find their places


@dataclass(frozen=True, eq=False)
class Former:
    """The shot before the latest change, kept as a faint trace."""

    scenario: Scenario
    answers: dict[int, Answer] = field(default_factory=dict)


def line(*points: tuple[float, float]) -> Array:
    """Points as an array (n, 2)."""
    return np.array(points, dtype=float)


def heading_vector(heading_deg: float) -> Array:
    """Unit vector of a heading [deg]."""
    return np.array([math.cos(math.radians(heading_deg)), math.sin(math.radians(heading_deg))])


def balls_scene(scenario: Scenario, states: Array | None = None, turns: Sequence[Array] | None = None) -> Scene:
    """The balls where they lie, or at other places (n, 2), turned as they have rolled."""
    shapes: Scene = []
    for i, name in enumerate(scenario.ball_names):
        x, y = scenario.balls[name] if states is None else (float(states[i, 0]), float(states[i, 1]))
        turn = None if turns is None else turns[i]
        shapes.append(Ball(x, y, scenario.ball_set.radius_m(name), name, turn))
    return shapes


def tip_gap(take: Take) -> float:
    """How far [m] from the cue ball the tip is drawn before the stroke: farther for a harder one."""
    return CUE_GAP_M + 0.01 * take.pace_m_s


def cue_scene(scenario: Scenario, take: Take, heading_deg: float, gap_m: float, look: Look, colour: str) -> Scene:
    """The cue behind the cue ball, its tip ``gap_m`` away, moved sideways as the tip asks."""
    u = heading_vector(heading_deg)
    right = np.array([u[1], -u[0]])
    radius = scenario.ball_set.radius_m(CUE_BALL)
    cue = scenario.cue_of(take)
    at = np.array(scenario.balls[CUE_BALL]) + take.tip.right * radius * right
    face = radius * math.sqrt(max(0.0, 1.0 - take.tip.right**2)) + gap_m
    tip, half = at - face * u, cue.tip_diameter_m / 2.0
    wide = half * 1.6

    edge = Pen(look.rail_edge, 0.3 * look.line)  # without it a ferrule is lost on a light cloth

    def piece(start: float, end: float, fill: str) -> Path:
        a, b = half + (wide - half) * start / CUE_M, half + (wide - half) * end / CUE_M
        p, q = tip - start * u, tip - end * u
        return Path(np.array([p + a * right, p - a * right, q - b * right, q + b * right]), edge, fill, closed=True)

    return [
        piece(0.0, CUE_M, "#c79a5e"), piece(0.0, 0.004, "#355c8a"), piece(0.004, 0.022, "#f2ece0"),
        Path(line(tuple(tip - 0.03 * u), tuple(tip - CUE_M * u)), Pen(colour, 2.0)),
    ]  # fmt: skip


def plain_ghost(scenario: Scenario, heading_deg: float) -> tuple[float, float] | None:
    """Where a ball going straight along the heading first touches the target ball (or any ball, without target)."""
    u = heading_vector(heading_deg)
    start = np.array(scenario.balls[CUE_BALL])
    best: tuple[float, tuple[float, float]] | None = None
    for name, place in scenario.balls.items():
        if name == CUE_BALL or (scenario.target is not None and name != scenario.target.ball):
            continue
        apart = (
            target_distance(scenario)
            if scenario.target is not None
            else scenario.ball_set.radius_m(CUE_BALL) + scenario.ball_set.radius_m(name)
        )
        to = np.array(place) - start
        ahead, aside = float(to @ u), float(to[0] * u[1] - to[1] * u[0])
        if ahead > 0.0 and abs(aside) < apart:
            reach = ahead - math.sqrt(apart * apart - aside * aside)
            if best is None or reach < best[0]:
                x, y = start + max(reach, 0.0) * u
                best = (reach, (float(x), float(y)))
    return best[1] if best else None


def mouth_scene(scenario: Scenario, look: Look) -> Scene:
    """The mouth line of the target's pocket, its centre marked, and a ring about the target ball."""
    if scenario.target is None:
        return []
    mouth = gate_of(scenario)
    at, left = np.array([mouth.x, mouth.y]), np.array(mouth.left)
    x, y = scenario.balls[scenario.target.ball]
    radius = scenario.ball_set.radius_m(scenario.target.ball)
    return [
        Path(np.array([at - mouth.half_width * left, at + mouth.half_width * left]), Pen(look.ink_soft, 1.0, (2, 3))),
        Dot(mouth.x, mouth.y, 2.4, look.ink),
        Disc(x, y, radius * 1.28, None, Pen(look.ink, 1.2)),
    ]


def crossing_scene(scenario: Scenario, found: Prediction, colour: str, filled: bool) -> Scene:
    """A mark where the target ball crosses the mouth line, if that is at the pocket or its jaws."""
    if scenario.target is None or found.target.miss_mm is None or found.target.short:
        return []
    mouth = gate_of(scenario)
    off = found.target.miss_mm / 1000.0
    if abs(off) > 1.2 * mouth.half_width:
        return []
    x, y = np.array([mouth.x, mouth.y]) + off * np.array(mouth.left)
    return [Dot(float(x), float(y), 4.6, colour if filled else None, Pen(colour, 1.6), corners=0 if filled else 4)]


def take_scene(scenario: Scenario, answer: Answer, index: int, shown: Shown, look: Look) -> Scene:
    """One take: its line, ways as aimed and as corrected; of others than the chosen one the first legs, paler."""
    chosen = index == shown.chosen
    colour = look.take_colour(index) if chosen else thinner(look.take_colour(index), FADED)
    whole = shown.whole_ways
    shapes: Scene = []
    if answer.corrected is not None and shown.corrected:
        soft = colour if chosen else thinner(colour, FADED)
        pen = Pen(soft, 0.95 * look.line, CORRECTED)
        shapes += played_scene(scenario, answer.corrected, pen, Extent(ends=whole and chosen))
        shapes += crossing_scene(scenario, answer.corrected, soft, False)
    if answer.aimed is None or answer.aimed.launch is None:
        return shapes
    heading = answer.aimed.launch.heading_deg
    if chosen:
        shapes += aim_line(scenario, heading, look)
    extent = Extent(chosen or whole, whole, shown.others and chosen)
    shapes += played_scene(scenario, answer.aimed, Pen(colour, look.line, pattern(index)), extent)
    shapes += crossing_scene(scenario, answer.aimed, colour, True)
    if chosen:
        shapes += cue_scene(scenario, answer.take, heading, tip_gap(answer.take), look, colour)
        if shown.labels and shown.corrected:
            shapes += labels(scenario, answer, colour, look)
    return shapes


def aim_line(scenario: Scenario, heading_deg: float, look: Look) -> Scene:
    """The cue's line on to the plain ghost ball, which knows no squirt, swerve or throw."""
    start, u = np.array(scenario.balls[CUE_BALL]), heading_vector(heading_deg)
    touch = plain_ghost(scenario, heading_deg)
    end = np.array(touch) if touch else start + 4.0 * u
    if touch is None:
        size = scenario.table.surface
        room = [((size.length_m if u[0] > 0 else 0.0) - start[0]) / u[0]] if abs(u[0]) > 1e-9 else []
        room += [((size.width_m if u[1] > 0 else 0.0) - start[1]) / u[1]] if abs(u[1]) > 1e-9 else []
        end = start + min(room) * u
    shapes: Scene = [Path(np.array([start, end]), Pen(look.ink_soft, 1.2))]
    if touch:
        shapes.append(Disc(touch[0], touch[1], scenario.ball_set.radius_m(CUE_BALL), None, Pen(look.ink_soft, 1.0)))
        if scenario.target:
            tx, ty = scenario.balls[scenario.target.ball]
            shapes.append(Dot((touch[0] + tx) / 2.0, (touch[1] + ty) / 2.0, 2.0, look.ink))
    return shapes


def way_middles(scenario: Scenario, answer: Answer) -> list[tuple[str, XY]]:
    """What is said of the target ball's first legs, as aimed and as corrected, and their middles [m].

    Nothing where they need no words to tell them apart.
    """
    if scenario.target is None:
        return []
    ball = scenario.ball_names.index(scenario.target.ball)
    x, y = scenario.balls[scenario.target.ball]
    found: list[tuple[str, XY]] = []
    for words, played in (("as aimed", answer.aimed), ("corrected", answer.corrected)):
        if played is None or played.track is None or not ball_path(played.track, ball).moves:
            continue
        end = played.track.state_of(ball, decided_at(played, ball))
        found.append((words, (0.5 * (x + end.x), 0.5 * (y + end.y))))
    return found if len(found) > 1 and math.dist(found[0][1], found[1][1]) >= SAME_LINE_M else []


def labels(scenario: Scenario, answer: Answer, colour: str, look: Look) -> Scene:
    """Words beside the first legs of the target ball, as aimed and as corrected."""
    found = way_middles(scenario, answer)
    if not found:
        return []
    left = np.array(gate_of(scenario).left)
    (_, one), (_, two) = found
    across = float((np.array(one) - two) @ left)
    shapes: Scene = []
    for (words, at), sign in zip(found, (1.0, -1.0) if across >= 0.0 else (-1.0, 1.0), strict=True):
        shift = sign * 1.5 * look.letters * left
        left_of = shift[0] < 0.0
        shapes.append(
            Text(*at, words, look.letters, colour, 1.0 if left_of else 0.0, 0.5, look.halo,
                 0.5 * float(shift[0]), float(shift[1]))
        )  # fmt: skip
    return shapes


def trace_scene(former: Former, shown: Shown, look: Look) -> Scene:
    """The former shot, faint."""
    shapes: Scene = []
    for answer in former.answers.values():
        if answer.aimed is not None:
            shapes += played_scene(former.scenario, answer.aimed, Pen(look.trace, 0.8 * look.line, SOLID), Extent())
    return shapes


def marks_scene(scenario: Scenario, look: Look) -> Scene:
    """Zones, arrows and labels of a drill."""
    shapes: Scene = []
    for mark in scenario.marks:
        x, y = mark.at
        if mark.kind == "zone" and mark.radius_m:
            shapes.append(Disc(x, y, mark.radius_m, look.accent[:7] + "26", Pen(look.accent, 1.4, (6, 4))))
        elif mark.kind == "arrow" and mark.to:
            shapes += arrow(mark.at, mark.to, Pen(look.ink, 1.8))
        if mark.text:
            down = {"arrow": 0.0, "zone": -1.4, "label": 0.0}[mark.kind] * look.letters
            up = 0.0 if mark.kind == "arrow" else 0.5
            within = (mark.radius_m or 0.0) if mark.kind == "zone" else 0.0
            shapes.append(Text(x, y, mark.text, look.letters, look.ink, 0.5, up, look.halo, 0.0, down, within_m=within))
    return shapes
