"""A moving picture of takes being played, in step from the strike: MP4, GIF or animated WebP.

The main thread paints each frame onto a ground painted once; another thread
encodes what a short queue hands it.  The file is written aside and moved into
place when it is whole.
"""

from __future__ import annotations

import math
import queue
import threading
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from tablesim.errors import AimImpossible, TablesimError, unknown_name
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.whole import aside
from tablesim.scene.look import Look
from tablesim.scene.picture import playing_balls, playing_ground, track_of
from tablesim.scene.shapes import BOTTOM_UP, Frame, Scene
from tablesim.scene.shot import Shown
from tablesim.scene.spin import spin_ratio
from tablesim.scene.strike_plate import BOTTOM, TOP, WIDE, strike_scene
from tablesim.study.answer import Answer, answer_take
from tablesim.study.predict import predict_take
from tablesim.study.setup import gate_of

from .encode import KINDS, Kind, Reel, Sink, Stopped
from .painter import Bytes
from .still import by_suffix, check_size, look_named, names_of, painted, plate, take_places

LARGEST = 4096  # pixels each way
LONGEST_S = 120.0
SLOWEST, FASTEST = 1.0 / 50.0, 10.0
AFTER_S = 1.0  # of the clip, once everything lies still
QUEUE_BYTES = 40_000_000  # of frames painted ahead of the encoder
OVERLAYS = ("trails", "paths", "corrected", "marks", "names", "stroke")
SHOWN = ("trails", "marks", "names", "stroke")
FACE_POINTS = 34.0  # radius of the ball's face on the plate that shows the stroke


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
    and one more); ``overlays`` among trails, paths, corrected, marks, names, stroke.
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
    frames = _frame_count(ends, speed, seconds, fps)
    film = Film(scenario, answers, colours, size, caption, "" if speed == 1.0 else speed_words(speed), overlays, ends)
    moments = [k / fps * speed for k in range(frames)]
    samples = tuple(film.at(moments[k * (frames - 1) // 3]) for k in range(4)) if kind.palette else ()
    with aside(out_path) as beside:
        _encode(kind.sink, str(beside), Reel(size, fps, colours, samples), film, moments, progress, stop)
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


def _frame_count(ends: float, speed: float, seconds: float | None, fps: int) -> int:
    """Frames of the clip of motions that end at ``ends`` [s]."""
    if not SLOWEST * (1.0 - 1e-9) <= speed <= FASTEST:
        raise TablesimError(f"speed: must be 1/{1 / SLOWEST:.0f} to {FASTEST:g}; got {speed:g}")
    if seconds is None:
        seconds = ends / speed + AFTER_S
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
        )
        ground = playing_ground(scenario, answers, shown, look, "paths" in overlays, "marks" in overlays)
        picture = plate(scenario, ground, size, look, caption, names_of(answers), note)
        self._painter = painted(picture)
        self._ground = self._painter.pixels.copy()
        self._frame = picture.layers[0][1]
        self._scene = (scenario, answers, shown, look)
        self._trails = "trails" in overlays
        self._corner = self._plate_frame(scenario, size) if "stroke" in overlays else None
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

    def _plate_frame(self, scenario: Scenario, size: tuple[int, int]) -> Frame:
        """Where the plate of the stroke lies: in the corner that is farthest from balls and pocket."""
        scale = FACE_POINTS * self._frame.point
        bed = scenario.table.surface
        points = [scenario.balls[CUE_BALL]]
        if scenario.target is not None:
            points += [scenario.balls[scenario.target.ball], gate_of(scenario)[:2]]
        busy = self._frame.pixels(np.array(points))
        corners = self._frame.pixels(np.array([[0.0, 0.0], [bed.length_m, bed.width_m]]))
        (left, top), (right, bottom) = corners.min(axis=0), corners.max(axis=0)
        places = [
            np.array([x, y])
            for x in (left + WIDE * scale, right - WIDE * scale)
            for y in (top + TOP * scale, bottom + BOTTOM * scale)
        ]
        place = max(places, key=lambda p: float(np.hypot(*(busy - p).T).min()))
        return Frame(scale * BOTTOM_UP, place, self._frame.point)

    def _stroke(self, t: float) -> Scene:
        scenario, answers, shown, look = self._scene
        answer = answers[shown.chosen]
        ratio = None
        if answer.aimed is not None and answer.aimed.track is not None:
            ratio = spin_ratio(answer.aimed, scenario.ball_set.radius_m(CUE_BALL), t)
        return strike_scene(scenario, answer.take, look, ratio)


# --- encoding


def _encode(
    sink: Sink,
    path: str,
    reel: Reel,
    film: Film,
    moments: Sequence[float],
    progress: Callable[[int, int], object],
    stop: threading.Event | None,
) -> None:
    """Paint in this thread what another one encodes; whatever goes wrong in either ends both."""
    pipe: queue.Queue[Bytes | None] = queue.Queue(min(16, max(1, QUEUE_BYTES // (4 * math.prod(reel.size)))))
    given_up = threading.Event()
    failed: list[Exception] = []

    def coming() -> Iterator[Bytes]:
        while (pixels := pipe.get()) is not None:
            if not given_up.is_set():
                yield pixels
        if given_up.is_set():
            raise Stopped("stopped before the end; nothing written")

    def work() -> None:
        try:
            sink(path, reel, coming())
        except Exception as error:
            failed.append(error)

    worker = threading.Thread(target=work, name="encoder", daemon=True)
    worker.start()
    try:
        for k, t in enumerate(moments):
            if stop is not None and stop.is_set():
                raise Stopped("stopped before the end; nothing written")
            if not _put(pipe, film.at(t), worker):
                break
            progress(k + 1, len(moments))
    except BaseException:
        given_up.set()
        raise
    finally:
        _put(pipe, None, worker)
        worker.join()
    if failed:
        raise failed[0]


def _put(pipe: queue.Queue[Bytes | None], pixels: Bytes | None, worker: threading.Thread) -> bool:
    """Hand something over; False if nobody takes it any more."""
    while worker.is_alive():
        with suppress(queue.Full):
            pipe.put(pixels, timeout=0.2)
            return True
    return False
