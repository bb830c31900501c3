"""The frames of takes being played together: what stands still is painted once."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.scene.look import Look
from tablesim.scene.picture import playing_balls, playing_ground, track_of
from tablesim.scene.shapes import BOTTOM_UP, Box, Canvas, Frame, Scene, without_words
from tablesim.scene.shot import Shown
from tablesim.scene.spin import spin_ratio
from tablesim.scene.strike_plate import WORDS, strike_scene, strike_words
from tablesim.study.answer import Answer
from tablesim.study.prediction import first_contact

from .inset import bed_seen, busy_places, contact_picture, free_corner, glass_words
from .painter import Bytes, width_of
from .plate import DOTS, PAD, Below, layered, names_of, painted, plate

OVERLAYS = ("aim", "trails", "paths", "corrected", "marks", "names", "stroke", "contact", "lens")
"""What can be shown: the cue and its line, ways so far, ways to their ends, corrected ways, a drill's marks, the takes'
names at their balls, strike point and pace under the table, the contact as it happens, lenses on contact and mouth."""
SHOWN = ("aim", "trails", "marks", "names", "stroke", "contact")
FACE_POINTS = 26.0  # radius of the ball's face that shows the stroke
WIDEST_RATIO = 88.88  # of spin to speed, for which room is kept
INSET_SHARE = 0.42  # side of an enlarged contact, of the bed's shorter side
INSETS = 2  # at most
HOLD_S = 2.0  # of the clip for which it is shown, from the contact on


@dataclass(frozen=True, eq=False)
class Inset:
    """An enlarged contact (side, side, 4), where its corner lies, and when it is shown [s after the strike]."""

    pixels: Bytes
    left: int
    top: int
    since: float
    until: float


@dataclass(frozen=True)
class Screening:
    """How takes are shown: ``size`` in pixels, ``caption`` under the table, ``note`` beside it; :data:`OVERLAYS`."""

    look: Look
    size: tuple[int, int]
    fps: int
    caption: str | None = None
    note: str = ""
    closer: Box | None = None
    overlays: Collection[str] = SHOWN


class Film:
    """The frames of takes being played at some moments: what stands still is painted once."""

    def __init__(
        self, scenario: Scenario, answers: dict[int, Answer], how: Screening, moments: Sequence[float]
    ) -> None:
        look, overlays = how.look, how.overlays
        shown = Shown(
            chosen=next(iter(answers)),
            takes=tuple(answers),
            corrected="corrected" in overlays,
            labels="names" in overlays,
            aim="aim" in overlays,
            closer=how.closer,
            lens="lens" in overlays,
        )
        free = stroke_room(next(iter(answers.values())).take, look) if "stroke" in overlays else (0.0, 0.0)
        below = Below(how.caption, _names(answers, shown.corrected), how.note, free)
        picture = plate(scenario, shown, how.size, look, below)
        shown = replace(shown, canvas=picture.canvas)
        ground = playing_ground(scenario, answers, shown, look, "paths" in overlays, "marks" in overlays)
        self._painter = painted(picture, layered(picture, ground, [], []))
        self._ground = self._painter.pixels.copy()
        self._canvas, self._glasses = picture.canvas, picture.glasses
        self._scene = (scenario, answers, shown, look)
        self._trails = "trails" in overlays
        self._corner = _stroke_frame(picture.free) if "stroke" in overlays else None
        self._insets = (
            _insets(scenario, answers, look, picture.canvas, moments, how.fps) if "contact" in overlays else []
        )
        self._ends = max([_ends(answers), *(inset.until for inset in self._insets)])
        self._last: Bytes | None = None

    def at(self, t: float) -> Bytes:
        """The frame (height, width, 4) at ``t`` seconds after the strike, RGBA; not to be written to."""
        if t >= self._ends and self._last is not None:
            return self._last
        painter, moving = self._painter, playing_balls(*self._scene, t, self._trails)
        painter.lay(self._ground)
        with painter.within(self._canvas.seen):
            painter.paint(moving, self._canvas.frame)
        for glass in self._glasses:
            painter.put(self._ground, glass.box)
            with painter.within(glass.box):
                painter.paint(without_words(moving) + glass_words(glass, self._canvas.frame, painter.look), glass.frame)
        if self._corner is not None:
            self._painter.paint(self._stroke(t), self._corner)
        pixels = self._painter.pixels.copy()
        for inset in self._insets:
            if inset.since <= t < inset.until:
                side = len(inset.pixels)
                pixels[inset.top : inset.top + side, inset.left : inset.left + side] = inset.pixels
        self._last = pixels if t >= self._ends else None
        return pixels

    def _stroke(self, t: float) -> Scene:
        scenario, answers, shown, look = self._scene
        answer = answers[shown.chosen]
        ratio = None
        if t >= 0.0 and answer.aimed is not None and answer.aimed.track is not None:
            ratio = spin_ratio(answer.aimed, scenario.ball_set.radius_m(CUE_BALL), t)
        return strike_scene(scenario, answer.take, look, ratio)


def stroke_room(take: Take, look: Look) -> tuple[float, float]:
    """Width and height [points] that the stroke takes at the left of the strip."""
    words = max(width_of(line, look.letters) for line in strike_words(take, WIDEST_RATIO))
    return (1.0 + WORDS) * FACE_POINTS + words + 2.0 * PAD, 2.0 * FACE_POINTS + PAD


def _stroke_frame(free: Frame) -> Frame:
    """Where the face lies in the room kept for it."""
    middle = free.pixels(np.array([[FACE_POINTS, FACE_POINTS + 0.5 * PAD]]))[0]
    return Frame(FACE_POINTS * free.point * BOTTOM_UP, middle, free.point)


def _ends(answers: dict[int, Answer]) -> float:
    """When everything lies still [s]."""
    return max(track.duration for track in map(track_of, answers.values()) if track is not None)


def _names(answers: dict[int, Answer], corrected: bool) -> dict[int, str]:
    """Names for the strip, with the paces where they differ, and what the dots mean if there are any."""
    names = names_of(answers)
    if len({answer.take.pace_m_s for answer in answers.values()}) > 1:
        names = {i: f"{name} ({answers[i].take.pace_m_s:.1f} m/s)" for i, name in names.items()}
    return names | {DOTS: "corrected"} if corrected else names


def _insets(
    scenario: Scenario, answers: dict[int, Answer], look: Look, canvas: Canvas, moments: Sequence[float], fps: int
) -> list[Inset]:
    """The contacts of the first takes enlarged, side by side in the corner farthest from the shot."""
    met = [(i, ev) for i, a in answers.items() if (track := track_of(a)) is not None and (ev := first_contact(track))]
    met, bed = met[:INSETS], bed_seen(scenario, canvas)
    side = round(INSET_SHARE * float((bed[1] - bed[0]).min()))
    if not met or side < 60 or canvas.covered:
        return []
    left, top = free_corner(busy_places(scenario), canvas.frame, bed, (len(met) * side, side))
    found = []
    for k, (index, event) in enumerate(met):
        name = answers[index].take.name if len(answers) > 1 else ""
        painter = contact_picture(scenario, event, look, canvas.frame, side, name, look.take_colour(index))
        begins = int(np.searchsorted(np.array(moments), event.time)) + round(HOLD_S * fps)
        until = moments[begins] if begins < len(moments) else np.inf
        found.append(Inset(painter.pixels, left + k * side, top, event.time, float(until)))
    return found
