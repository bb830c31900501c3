"""A moving picture of takes being played, in step from the strike: MP4, GIF or animated WebP.

The main thread paints each frame onto a ground painted once; another thread
encodes them (pipe.py).  The file is written aside and moved into place when it
is whole.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from tablesim.errors import AimImpossible, TablesimError, unknown_name
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.model.whole import aside
from tablesim.scene.look import Look
from tablesim.scene.picture import playing_balls, playing_ground, track_of
from tablesim.scene.shapes import BOTTOM_UP, Frame, Scene
from tablesim.scene.shot import Shown
from tablesim.scene.spin import spin_ratio
from tablesim.scene.strike_plate import WORDS, strike_scene, strike_words
from tablesim.study.answer import Answer, answer_take
from tablesim.study.predict import predict_take

from .encode import KINDS, Kind, Reel, Stopped
from .painter import Bytes, width_of
from .pipe import Pipe
from .still import PAD, by_suffix, check_size, look_named, names_of, painted, plate, take_places

LARGEST = 4096  # pixels each way
LONGEST_S = 120.0
SLOWEST, FASTEST = 1.0 / 50.0, 10.0
BEFORE_S = 1.0  # of the clip, with the cue at the ball
AFTER_S = 1.0  # of the clip, once everything lies still
OVERLAYS = ("aim", "trails", "paths", "corrected", "marks", "names", "stroke")
SHOWN = ("aim", "trails", "marks", "names", "stroke")
FACE_POINTS = 26.0  # radius of the ball's face that shows the stroke
WIDEST_RATIO = 88.88  # of spin to speed, for which room is kept


@dataclass(frozen=True)
class Clip:
    """What was written: size [pixels], frames, frames a second, length [s], and what had to be done otherwise."""

    path: str
    size: tuple[int, int]
    frames: int
    fps: int
    seconds: float
    notes: tuple[str, ...] = ()


def clip(
    scenario: Scenario,
    out_path: str,
    *,
    takes: Sequence[str] | None = None,
    size: tuple[int, int] | None = None,
    fps: int | None = None,
    speed: float = 1.0,
    seconds: float | None = None,
    look: str = "evening",
    caption: str | None = None,
    overlays: Collection[str] = SHOWN,
    progress: Callable[[int, int], object] = lambda done, whole: None,
    stop: threading.Event | None = None,
) -> Clip:
    """Write a clip of takes played together; the first one named is the chosen one (default: the scenario's first).

    ``out_path`` ends in .mp4, .gif or .webp; ``size`` in pixels, 64 to 4096 each
    way, made even for MP4 (default 1920x1080; GIF and WebP 960x540); ``fps``
    1 to 120, GIF at most 50 (default 60; GIF 25, WebP 30); ``speed`` 1/50 to
    10; ``seconds``: length of the clip (default: until everything lies still,
    and one more); ``overlays`` among aim, trails, paths, corrected, marks,
    names, stroke; with aim, a second before the strike shows the cue.
    ``progress`` hears of (frames done, frames in all); ``stop`` ends it early
    with :class:`Stopped`.  TablesimError says what is wrong; nothing is written.
    """
    kind = by_suffix(out_path, KINDS)
    colours = look_named(look)
    for name in overlays:
        if name not in OVERLAYS:
            raise TablesimError("overlays: " + unknown_name("overlay", name, OVERLAYS))
    fps = _checked_fps(kind.fps if fps is None else fps, kind)
    size, notes = _checked_size(kind.size if size is None else size, kind)
    answers = _played(scenario, take_places(scenario, takes), "corrected" in overlays)
    ends = max(track.duration for track in map(track_of, answers.values()) if track is not None)
    before = BEFORE_S if "aim" in overlays else 0.0
    frames = _frame_count(before, ends, speed, seconds, fps)
    film = Film(scenario, answers, colours, size, caption, "" if speed == 1.0 else speed_words(speed), overlays, ends)
    moments = [(k / fps - before) * speed for k in range(frames)]
    samples = tuple(film.at(moments[k * (frames - 1) // 3]) for k in range(4)) if kind.palette else ()
    with aside(out_path) as beside, Pipe(kind.sink, str(beside), Reel(size, fps, colours, samples)) as pipe:
        for k, t in enumerate(moments):
            if stop is not None and stop.is_set():
                raise Stopped
            if not pipe.put(film.at(t)):
                break  # the encoder has failed, which the pipe tells
            progress(k + 1, frames)
    return Clip(out_path, size, frames, fps, frames / fps, notes)


# --- what is asked for


def _checked_fps(fps: int, kind: Kind) -> int:
    if not 1 <= fps <= kind.most_fps:
        raise TablesimError(f"fps: must be 1 to {kind.most_fps} frames a second; got {fps}")
    return fps


def _checked_size(size: tuple[int, int], kind: Kind) -> tuple[tuple[int, int], tuple[str, ...]]:
    """The size that can be made, and a note if that is not the one asked for."""
    check_size(size, LARGEST)
    even = (size[0] // 2 * 2, size[1] // 2 * 2)
    if not kind.even or even == size:
        return size, ()
    return even, (f"width and height must be even: {even[0]}x{even[1]} instead of {size[0]}x{size[1]}",)


def _played(scenario: Scenario, places: tuple[int, ...], corrected: bool) -> dict[int, Answer]:
    """The takes run to their ends, the chosen one first."""
    if not places:
        raise TablesimError("takes: the scenario has none to play; give it one")
    answers = {}
    for i in places:
        take = scenario.takes[i]
        try:
            answer = Answer(take, predict_take(scenario, take), None, None, None)
        except AimImpossible as error:
            raise TablesimError(f"take {take.name!r} cannot be played: {error}") from None
        if track_of(answer) is None:
            raise TablesimError(
                f"take {take.name!r} cannot be played: the tip slips off the ball; strike nearer its centre"
            )
        answers[i] = answer_take(scenario, take) if corrected else answer
    return answers


def _frame_count(before: float, ends: float, speed: float, seconds: float | None, fps: int) -> int:
    """Frames of the clip of motions that end at ``ends`` [s], with ``before`` [s of the clip] ahead of them."""
    if not SLOWEST * (1.0 - 1e-9) <= speed <= FASTEST:
        raise TablesimError(f"speed: must be 1/{1 / SLOWEST:.0f} to {FASTEST:g}; got {speed:g}")
    if seconds is None:
        seconds = before + ends / speed + AFTER_S
        if seconds > LONGEST_S:
            raise TablesimError(
                f"seconds: a clip lasts at most {LONGEST_S:g} s; at {speed_words(speed)} these takes last"
                f" {seconds:.0f} s: give a greater speed, or the seconds to show"
            )
    if not (0.0 < seconds <= LONGEST_S and math.isfinite(seconds)):
        raise TablesimError(f"seconds: must be more than 0 and at most {LONGEST_S:g}; got {seconds:g}")
    return max(1, round(seconds * fps))


def speed_words(speed: float) -> str:
    """A speed as people say it: "1/10 speed", "2× speed", "full speed"."""
    if speed == 1.0:
        return "full speed"
    share = Fraction(speed).limit_denominator(50)
    if speed < 1.0 and share.numerator and abs(float(share) - speed) < 1e-3 * speed:
        return f"{share.numerator}/{share.denominator} speed"
    return f"{speed:.3g}× speed"


# --- painting


class Film:
    """The frames of takes being played: what stands still is painted once."""

    def __init__(
        self,
        scenario: Scenario,
        answers: dict[int, Answer],
        look: Look,
        size: tuple[int, int],
        caption: str | None,
        note: str,
        overlays: Collection[str],
        ends: float,
    ) -> None:
        shown = Shown(
            chosen=next(iter(answers)),
            takes=tuple(answers),
            corrected="corrected" in overlays,
            labels="names" in overlays,
            aim="aim" in overlays,
        )
        ground = playing_ground(scenario, answers, shown, look, "paths" in overlays, "marks" in overlays)
        free = stroke_room(next(iter(answers.values())).take, look) if "stroke" in overlays else (0.0, 0.0)
        picture = plate(scenario, ground, size, look, caption, names_of(answers), note, free)
        self._painter = painted(picture)
        self._ground = self._painter.pixels.copy()
        self._frame = picture.layers[0][1]
        self._scene = (scenario, answers, shown, look)
        self._trails = "trails" in overlays
        self._corner = _stroke_frame(picture.free) if "stroke" in overlays else None
        self._ends = ends
        self._last: Bytes | None = None

    def at(self, t: float) -> Bytes:
        """The frame (height, width, 4) at ``t`` seconds after the strike, RGBA; not to be written to."""
        if t >= self._ends and self._last is not None:
            return self._last
        self._painter.lay(self._ground)
        self._painter.paint(playing_balls(*self._scene, t, self._trails), self._frame)
        if self._corner is not None:
            self._painter.paint(self._stroke(t), self._corner)
        pixels = self._painter.pixels.copy()
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
