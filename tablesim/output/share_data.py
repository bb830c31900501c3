"""What a page for a browser is told of a scene: table, balls, takes and their tracks, as plain data.

Lengths in metres, times in seconds, angles in degrees; ways are rounded to a
tenth of a millimetre.  A track goes over as its pieces of closed-form motion,
so that the page places a ball where the engine has it, at any time.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from tablesim.model.lesson import Scene
from tablesim.model.scenario import Scenario
from tablesim.physics import columns as e
from tablesim.physics.simulation import Track
from tablesim.scene.aim_here import aim_here
from tablesim.scene.closer import about_shot, on_table
from tablesim.scene.look import TAKES_TOGETHER, ball_colour, pattern
from tablesim.scene.paths import ball_path
from tablesim.scene.shot import plain_ghost, tip_gap
from tablesim.scene.table import CUSHION_M, RAIL_M, bed_outline, pocket_discs, sights
from tablesim.scene.ways import decided_at
from tablesim.scene.words import events_words
from tablesim.study.answer import Answer
from tablesim.study.correct import Correction
from tablesim.study.prediction import Prediction, first_contact
from tablesim.study.reading import correction_words
from tablesim.study.results import as_aimed_words, cue_ball_end_words, result_of
from tablesim.study.setup import gate_of
from tablesim.units import number

from .sheet_words import Told, pace_line, tip_lines

Data = dict[str, Any]
TENTHS = 1e4  # of a millimetre, in a metre
PIECE = (e.T0, e.X, e.Y, e.VX, e.VY, e.AX, e.AY, e.WX, e.WY, e.WZ, e.BX, e.BY, e.PHASE)
"""What the page is told of a piece, in this order: motion.js reads it."""
FIGURES = (
    "as aimed", "off the cue's line, mm", "cue ball ends", "aim that works", "turn of the cue, °", "aim, mm",
    "aim, diamonds", "aim, pocket mouths", "side to aim on", "window, °", "window, mm", "bridge, m", "note",
)  # fmt: skip
"""What is told of every stroke: the words of the table of takes, and the figures of the corrected aim."""


def figure_texts(scenario: Scenario, answer: Answer) -> list[str]:
    """The texts for :data:`FIGURES`; empty where there is nothing to tell, "-" where there is no number."""
    result = result_of(scenario, answer)
    contact = answer.aimed.contact if answer.aimed is not None else None
    off_line = "" if contact is None else number(contact.off_line_mm, 1, sign=True)
    aim = _aim_figures(answer.correction)
    return [as_aimed_words(result), off_line, cue_ball_end_words(scenario, result), *aim]


def _aim_figures(c: Correction | None) -> list[str]:
    if c is None:
        return [""] * (len(FIGURES) - 3)
    if c.reason is not None:
        return [c.reason, *[""] * (len(FIGURES) - 4)]
    return [
        correction_words(c), number(c.turn_deg, 3, sign=True), number(c.aim_offset_mm, 1, sign=True),
        number(c.aim_offset_diamonds, 2, sign=True), number(c.aim_offset_pocket_widths, 2, sign=True),
        c.relative_to_english, number(c.window_deg, 3), number(c.window_mm, 1), number(c.bridge_m, 2), c.warning or "",
    ]  # fmt: skip


def places_shown(scene: Scene, scenario: Scenario) -> tuple[list[int], list[int]]:
    """Places of the takes that a page has, the chosen one first, and how many of the first it shows to begin with."""
    shown = list(scene.places_in(scenario))[:TAKES_TOGETHER]
    rest = [i for i in range(len(scenario.takes)) if i not in shown]
    return shown, sorted([*shown, *rest[: TAKES_TOGETHER - len(shown)]])


def scene_data(scene: Scene, scenario: Scenario, told: Sequence[Told], places: Sequence[int]) -> Data:
    """A scene for the page: ``told`` of the takes at those ``places`` in the scenario."""
    shown, _ = places_shown(scene, scenario)
    answers = {place: one.answer for place, one in zip(places, told, strict=True)}
    names = scenario.ball_names
    return {
        "caption": scene.caption or scenario.title, "title": scenario.title, "notes": scenario.notes,
        "table": table_data(scenario), "balls": [ball_data(scenario, name) for name in names],
        "target": names.index(scenario.target.ball) if scenario.target else None,
        "gate": _gate(scenario), "marks": [mark.model_dump(exclude_none=True) for mark in scenario.marks],
        "decay": scenario.cloth.spin_deceleration_rad_s2,
        "closer": bool(scene.closer), "part": _part(scene, scenario, {i: answers[i] for i in shown}),
        "corrected": scene.corrected, "spin": scene.spin, "speed": scene.speed, "contact_speed": scene.contact_speed,
        "takes": [take_data(scenario, one, place) for place, one in zip(places, told, strict=True)],
        "left_out": len(scenario.takes) - len(places), "shown": [places.index(i) for i in shown],
    }  # fmt: skip


def _part(scene: Scene, scenario: Scenario, answers: dict[int, Answer]) -> list[float] | None:
    """The part of the table that is looked at closer: the scene's own, else that of the shot."""
    part = about_shot(scenario, answers) if scene.closer is None else on_table(scenario, scene.closer)
    return None if part is None else [round(v, 4) for v in part]


def table_data(scenario: Scenario) -> Data:
    """The table as it is drawn."""
    edge = scenario.table.edge
    lips = [[x - half * py, y + half * px, x + half * py, y - half * px] for x, y, px, py, half in edge.drops]
    return {
        "length": edge.length, "width": edge.width, "rail": RAIL_M, "cushion": CUSHION_M,
        "bed": _tenths(bed_outline(edge)), "pockets": _rounded(pocket_discs(edge)), "lips": _rounded(lips),
        "sights": _rounded(sights(edge)),
    }  # fmt: skip


def ball_data(scenario: Scenario, name: str) -> Data:
    """A ball where it lies, with its looks."""
    (x, y), (colour, stripe) = scenario.balls[name], ball_colour(name)
    return {"name": name, "x": x, "y": y, "r": scenario.ball_set.radius_m(name), "colour": colour, "stripe": stripe}


def _gate(scenario: Scenario) -> Data | None:
    if scenario.target is None:
        return None
    gate = gate_of(scenario)
    return {"x": gate.x, "y": gate.y, "left": [float(v) for v in gate.left], "half": gate.half_width}


def take_data(scenario: Scenario, told: Told, place: int) -> Data:
    """A take: how it is played, what is said of it, its figures, and both ways of playing it."""
    take, answer = told.take, told.answer
    return {
        "name": take.name, "colour": place % TAKES_TOGETHER, "dashes": pattern(place),
        "stroke": [f"cue {scenario.cue_name_of(take)}", pace_line(take), *tip_lines(scenario, take)],
        "said": told.sentence, "watch": told.watch, "figures": figure_texts(scenario, answer),
        "tip": [take.tip.right, take.tip.up], "pace": take.pace_m_s, "gap": tip_gap(take),
        "aim": aim_data(scenario, answer.correction),
        "aimed": played_data(scenario, answer.aimed), "corrected": played_data(scenario, answer.corrected),
    }  # fmt: skip


def aim_data(scenario: Scenario, correction: Correction | None) -> Data | None:
    """Where the corrected aim points; None where there is none, or its plain line misses the target ball."""
    aim = None if correction is None else aim_here(scenario, correction)
    if aim is None:
        return None
    window = None if aim.window is None else _rounded(aim.window)
    return {"ghost": _rounded([aim.ghost])[0], "place": _rounded([aim.place])[0], "window": window}


def played_data(scenario: Scenario, found: Prediction | None) -> Data | None:
    """A shot as it runs: its pieces by ball, when its first legs end, what happens when; None where none is played."""
    if found is None or found.track is None or found.launch is None:
        return None
    track, contact = found.track, first_contact(found.track)
    moving = [i for i in range(track.n_balls) if ball_path(track, i).moves]
    events = groupby(found.events, key=lambda event: round(event.time_s, 6))
    ghost = plain_ghost(scenario, found.launch.heading_deg)
    return {
        "heading": found.launch.heading_deg, "ends": track.duration, "contact": contact.time if contact else None,
        "touch": list(ghost) if ghost else None,
        "met": [contact.before[0 if contact.first == 0 else 1][k] for k in (0, 1)] if contact else None,
        "legs": {i: _time(decided_at(found, i)) for i in moving},
        "tracks": {i: pieces_data(track, i) for i in moving},
        "events": [[time, events_words(list(group))] for time, group in events],
        "miss": None if found.target.short else found.target.miss_mm,
    }  # fmt: skip


def pieces_data(track: Track, ball: int) -> list[list[float]]:
    """The pieces of one ball's motion, each the numbers of :data:`PIECE`."""
    return [[_number(row[k]) for k in PIECE] for row in track.pieces_of(ball)]


def legs_data(scenario: Scenario, found: Prediction | None) -> list[list[int]]:
    """The first legs of cue ball and target ball as x, y, x, y, ... [0.1 mm]; none of a ball that stays."""
    if found is None or found.track is None:
        return []
    target = [] if scenario.target is None else [scenario.ball_names.index(scenario.target.ball)]
    legs = []
    for ball in (0, *target):
        path, until = ball_path(found.track, ball), decided_at(found, ball)
        cut = int((path.times <= until + 1e-9).sum())
        legs.append(_tenths(path.points[:cut]) if path.moves and cut > 1 else [])
    return legs


def _tenths(points: Any) -> list[int]:
    return [round(float(v) * TENTHS) for point in points for v in point]


def _rounded(rows: Any) -> list[list[float]]:
    return [[round(float(v), 4) for v in row] for row in rows]


def _time(value: float) -> float:
    return round(value, 6)


def _number(value: float) -> float:
    """A number of a piece in nine digits: over ten seconds a ball at 10 m/s is placed within a micrometre."""
    short = float(f"{value:.9g}")
    return int(short) if short == int(short) else short
