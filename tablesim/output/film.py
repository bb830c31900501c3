"""The frames of takes being played together: what stands still is painted once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.scene.look import Look
from tablesim.scene.picture import lively_names, playing_balls, playing_ground, track_of
from tablesim.scene.shapes import Array, Box, Frame, Scene, Text, without_words
from tablesim.scene.shot import Shown, crossing_scene
from tablesim.scene.spin import spin_ratio
from tablesim.scene.strike_plate import played_words, strike_scene
from tablesim.study.answer import Answer
from tablesim.study.prediction import first_contact
from tablesim.study.went import outcome_words

from .face import face_frame, stroke_room
from .inset import AIR_POINTS, bed_seen, busy_places, contact_picture, free_corner, glass_words, in_a_row
from .painter import Bytes, Painter, width_of
from .plate import layered, lettered, names_of, painted, plate, words_settled
from .strip import DOTS, Below, TakeWords
from .timing import AFTER_S

OVERLAYS = (
    "title", "aim", "trails", "paths", "corrected", "marks", "names", "stroke", "contact", "outcome", "lens",
)  # fmt: skip
"""What can be shown: the title where there is no caption, the cue and its line, ways so far, ways to their ends,
corrected ways, a drill's marks, the takes' letters at their balls and names, how they are struck, the contact as it
happens, at the end what became of them, lenses on contact and mouth."""
SHOWN = ("title", "aim", "trails", "marks", "names", "stroke", "contact", "outcome")
INSET_SHARE = 0.46  # side of an enlarged contact, of the bed's shorter side
INSETS = 2  # at most
LEAST_INSET = 60  # pixels
PLACES = 24  # looked at along a ball's way while contacts are enlarged
HOLD_S = 2.0  # of the clip for which it is shown, from the contact on


@dataclass(frozen=True, eq=False)
class Inset:
    """An enlarged contact (side, side, 4), where its corner lies, and when it is shown [s after the strike]."""

    pixels: Bytes
    left: int
    top: int
    since: float
    until: float

    @property
    def box(self) -> Box:
        """Where it lies [pixels]."""
        side = len(self.pixels)
        return float(self.left), float(self.top), float(self.left + side), float(self.top + side)


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
    """The frames of takes being played at some moments: what stands still is painted once.

    The last frames, from ``over`` [s after the strike] on, tell what became of the takes.
    """

    def __init__(
        self, scenario: Scenario, answers: dict[int, Answer], how: Screening, moments: Sequence[float]
    ) -> None:
        overlays = how.overlays
        shown = Shown(
            chosen=next(iter(answers)),
            takes=tuple(answers),
            corrected="corrected" in overlays,
            labels="names" in overlays,
            aim="aim" in overlays,
            closer=how.closer,
            lens="lens" in overlays,
        )
        below = _below(scenario, answers, how)
        picture = plate(scenario, shown, how.size, how.look, below)
        look, shown = picture.look, replace(shown, canvas=picture.canvas)
        ground = playing_ground(scenario, answers, shown, look, "paths" in overlays, "marks" in overlays)
        self._grounds = [painted(picture, layered(picture, ground, [], [], over)).pixels for over in (False, True)]
        self._painter = Painter(*how.size, look)
        self._canvas, self._glasses = picture.canvas, picture.glasses
        self._words = tuple(boxes_of(words_settled(ground, picture), picture.canvas.frame))
        self._scene, self._letters = (scenario, answers, shown, look), tag_letters(answers)
        self._trails = "trails" in overlays
        self._corner = face_frame(picture.free) if "stroke" in overlays else None
        self._insets = _insets(self._scene, self._letters, moments, how.fps) if "contact" in overlays else []
        self._ends = max([_ends(answers), *(inset.until for inset in self._insets)])
        self._over = _over(_ends(answers), moments, how.fps) if "outcome" in overlays else np.inf
        self._crossings = [
            shape for i, a in answers.items() if a.aimed is not None
            for shape in crossing_scene(scenario, a.aimed, look.take_colour(i), True)
        ]  # fmt: skip
        self._last: Bytes | None = None

    def at(self, t: float) -> Bytes:
        """The frame (height, width, 4) at ``t`` seconds after the strike, RGBA; not to be written to."""
        if t >= self._ends and self._last is not None:
            return self._last
        over, painter = t >= self._over, self._painter
        ground = self._grounds[over]
        lying = [inset for inset in self._insets if inset.since <= t < inset.until]
        moving = self._moving(t, lying) + (self._crossings if over else [])
        painter.lay(ground)
        with painter.within(self._canvas.seen):
            painter.paint(moving, self._canvas.frame)
        for glass in self._glasses:
            painter.put(ground, glass.box)
            with painter.within(glass.box):
                painter.paint(without_words(moving) + glass_words(glass, self._canvas.frame, painter.look), glass.frame)
        if self._corner is not None:
            self._painter.paint(self._stroke(t), self._corner)
        pixels = self._painter.pixels.copy()
        for inset in lying:
            side = len(inset.pixels)
            pixels[inset.top : inset.top + side, inset.left : inset.left + side] = inset.pixels
        self._last = pixels if t >= self._ends and over >= (self._over < np.inf) else None
        return pixels

    def _moving(self, t: float, lying: Sequence[Inset]) -> Scene:
        """What moves; labels are clear of the words on the ground and of the insets that lie over it."""
        scenario, answers, shown, look = self._scene
        covered = (*self._canvas.covered, *self._words, *(inset.box for inset in lying))
        shown = replace(shown, canvas=replace(self._canvas, covered=covered))
        return playing_balls(scenario, answers, shown, look, t, self._trails, self._letters)

    def _stroke(self, t: float) -> Scene:
        scenario, answers, shown, look = self._scene
        answer = answers[shown.chosen]
        ratio = None
        if t >= 0.0 and answer.aimed is not None and answer.aimed.track is not None:
            ratio = spin_ratio(answer.aimed, scenario.ball_set.radius_m(CUE_BALL), t)
        return strike_scene(scenario, answer.take, look, ratio)


def _below(scenario: Scenario, answers: dict[int, Answer], how: Screening) -> Below:
    """What stands under the table: the caption, else the scenario's title, and of each take how it went."""
    overlays, letters, names = how.overlays, tag_letters(answers), names_of(answers)
    told: dict[int, TakeWords] = {}
    for i in sorted(answers):
        name = f"{letters[i]}  {names[i]}" if names and "names" in overlays else names.get(i, "")
        played = played_words(scenario, answers[i].take) if "stroke" in overlays else ""
        aimed = answers[i].aimed
        outcome = outcome_words(scenario, aimed) if "outcome" in overlays and aimed is not None else ""
        if name or played or outcome:
            told[i] = TakeWords(name, played, outcome)
    if "corrected" in overlays:
        told[DOTS] = TakeWords("corrected")
    look, _ = lettered(how.look, how.size)
    free = stroke_room(next(iter(answers.values())).take, look) if "stroke" in overlays else (0.0, 0.0)
    return Below(how.caption or (scenario.title if "title" in overlays else None), told, how.note, free)


def _over(ends: float, moments: Sequence[float], fps: int) -> float:
    """From when on [s] the outcome is told: once all lies still or, in a clip that ends before, in its last part."""
    held = max(1, min(round(AFTER_S * fps), len(moments) // 2))
    return ends if moments[-held] >= ends else moments[-held]


def _ends(answers: dict[int, Answer]) -> float:
    """When everything lies still [s]."""
    return max(track.duration for track in map(track_of, answers.values()) if track is not None)


def tag_letters(answers: dict[int, Answer]) -> dict[int, str]:
    """A letter for each take: A, B, ... in their order."""
    return {i: chr(ord("A") + k) for k, i in enumerate(sorted(answers))}


def boxes_of(scene: Scene, frame: Frame) -> Iterable[Box]:
    """The boxes [pixels] of words, as they are drawn: ascenders and descenders are in it."""
    for words in scene:
        if isinstance(words, Text):
            x, y = frame.pixels(np.array([[words.x, words.y]]))[0] + frame.point * np.array([words.dx, -words.dy])
            size, wide = words.size * frame.point, width_of(words.text, words.size) * frame.point
            base, left = float(y) + 0.73 * words.up * size, float(x) - words.across * wide
            yield left, base - 0.78 * size, left + wide, base + 0.22 * size


def _insets(
    scene: tuple[Scenario, dict[int, Answer], Shown, Look], letters: dict[int, str], moments: Sequence[float], fps: int
) -> list[Inset]:
    """The contacts of the first takes enlarged, in a row in the corner farthest from the shot and its balls."""
    scenario, answers, shown, look = scene
    canvas = shown.canvas
    met = [(i, ev) for i, a in answers.items() if (track := track_of(a)) is not None and (ev := first_contact(track))]
    met = met[:INSETS]
    if not met or canvas is None or canvas.covered:
        return []
    bed = bed_seen(scenario, canvas)
    side = round(INSET_SHARE * float((bed[1] - bed[0]).min()))
    if side < LEAST_INSET:
        return []
    spans = [(ev.time, _until(ev.time, moments, fps)) for _, ev in met]
    ways = [_chief_places(scenario, a, min(s for s, _ in spans), max(u for _, u in spans)) for a in answers.values()]
    places, size = in_a_row(len(met), side, 0, bed)
    left, top = free_corner(np.concatenate([busy_places(scenario), *ways]), canvas.frame, bed, size)
    found = []
    for (index, event), (since, until), (x, y) in zip(met, spans, places, strict=True):
        name = _name_within(side / canvas.frame.point, letters[index], answers[index].take.name, look)
        painter = contact_picture(
            scenario, event, look, canvas.frame, side, name if len(answers) > 1 else "", look.take_colour(index)
        )
        found.append(Inset(painter.pixels, left + x, top + y, since, until))
    return found


def _name_within(wide: float, letter: str, name: str, look: Look) -> str:
    """A take's letter and name where they fit into ``wide`` points, else its letter."""
    full = f"{letter}  {name}"
    return full if width_of(full, look.letters) <= wide - 2.0 * AIR_POINTS else letter


def _until(contact: float, moments: Sequence[float], fps: int) -> float:
    """When the enlarged contact goes again [s after the strike]."""
    begins = int(np.searchsorted(np.array(moments), contact)) + round(HOLD_S * fps)
    return float(moments[begins]) if begins < len(moments) else np.inf


def _chief_places(scenario: Scenario, answer: Answer, since: float, until: float) -> Array:
    """Where a take's cue ball and target ball are meanwhile: places (n, 2) [m]."""
    track = track_of(answer)
    if track is None:
        return np.zeros((0, 2))
    balls = [scenario.ball_names.index(name) for name in lively_names(scenario)]
    times = np.linspace(since, min(until, track.duration), PLACES)
    return np.array([(s.x, s.y) for i in balls for t in times for s in (track.state_of(i, float(t)),)])
