"""A moving picture of takes being played, in step from the strike: MP4, GIF or animated WebP.

The main thread paints each frame onto a ground painted once; another thread
encodes them (pipe.py).  The file is written aside and moved into place when it
is whole.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Literal

from tablesim.errors import AimImpossible, TablesimError, unknown_name
from tablesim.model.scenario import Scenario
from tablesim.model.whole import aside, by_suffix
from tablesim.scene.picture import track_of
from tablesim.scene.shapes import Box
from tablesim.study.answer import Answer, answer_take
from tablesim.study.predict import predict_take
from tablesim.study.prediction import first_contact

from .encode import KINDS, Kind, Reel, Stopped
from .film import OVERLAYS, SHOWN, Film, Screening
from .pipe import Pipe
from .still import check_size, look_named, part_wanted, take_places
from .timing import BEFORE_S, Timing

LARGEST = 4096  # pixels each way


@dataclass(frozen=True)
class Clip:
    """What was written: size [pixels], frames, frames a second, length [s], and what had to be done otherwise."""

    path: str
    size: tuple[int, int]
    frames: int
    fps: int
    seconds: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class ClipWishes:
    """How a clip is wanted.

    ``takes``: names of those to play, the first one chosen (None: the scenario's
    first); ``size`` in pixels, 64 to 4096 each way, made even for MP4 (None:
    1920x1080; GIF and WebP 1280x720, at which a GIF of
    an ordinary shot, up to 10 s, has less than 2 MB); ``fps`` 1 to 120, GIF at most 50 (None: 60;
    GIF 25, WebP 30); ``speed`` 1/50 to 10, ``contact_speed`` the same about the
    cue ball's contact (None: as the rest); ``seconds``: length of the clip (None:
    until everything lies still, and one more); ``closer``: as of a still;
    ``overlays``: see :data:`film.OVERLAYS`.
    """

    takes: Sequence[str] | None = None
    size: tuple[int, int] | None = None
    fps: int | None = None
    speed: float = 1.0
    contact_speed: float | None = None
    seconds: float | None = None
    look: str = "evening"
    caption: str | None = None
    closer: Box | Literal["shot"] | None = None
    overlays: Collection[str] = SHOWN


def clip(
    scenario: Scenario,
    out_path: str,
    wishes: ClipWishes = ClipWishes(),
    progress: Callable[[int, int], object] = lambda done, whole: None,
    stop: threading.Event | None = None,
) -> Clip:
    """Write a clip of takes played together to an .mp4, .gif or .webp.

    ``progress`` hears of (frames done, frames in all); ``stop`` ends it early
    with :class:`Stopped`.  TablesimError says what is wrong; nothing is written.

    >>> wishes = ts.ClipWishes(takes=["wood, hard"], size=(160, 100), fps=5, seconds=1.0)
    >>> made = ts.clip(ts.open_scenario("two-cues"), "two-cues.gif", wishes)
    >>> made.frames, made.seconds
    (5, 1.0)
    """
    w, kind = wishes, by_suffix(out_path, KINDS)
    colours = look_named(w.look)
    _check_overlays(w.overlays)
    fps = _checked_fps(kind.fps if w.fps is None else w.fps, kind)
    size, notes = _checked_size(kind.size if w.size is None else w.size, kind)
    answers = _played(scenario, take_places(scenario, w.takes), "corrected" in w.overlays)
    timing = timing_of(answers, w.speed, w.contact_speed, BEFORE_S if "aim" in w.overlays else 0.0)
    moments = timing.moments(w.seconds, fps)
    closer = part_wanted(scenario, answers, w.closer)
    how = Screening(colours, size, fps, w.caption, timing.note, closer, w.overlays)
    film = Film(scenario, answers, how, moments)
    samples = tuple(film.at(moments[k * (len(moments) - 1) // 3]) for k in range(4)) if kind.palette else ()
    with aside(out_path) as beside, Pipe(kind.sink, str(beside), Reel(size, fps, colours, samples)) as pipe:
        for k, t in enumerate(moments):
            if stop is not None and stop.is_set():
                raise Stopped
            if not pipe.put(film.at(t)):
                break  # the encoder has failed, which the pipe tells
            progress(k + 1, len(moments))
    return Clip(out_path, size, len(moments), fps, len(moments) / fps, notes)


def timing_of(answers: dict[int, Answer], speed: float, contact_speed: float | None, before: float) -> Timing:
    """How takes are played together: to the end of the last one, slower about each one's first contact."""
    tracks = [track for track in map(track_of, answers.values()) if track is not None]
    contacts = tuple(event.time for event in map(first_contact, tracks) if event is not None)
    return Timing(speed, contact_speed, contacts, before, max(track.duration for track in tracks))


# --- what is asked for


def _check_overlays(overlays: Collection[str]) -> None:
    for name in overlays:
        if name not in OVERLAYS:
            raise TablesimError("overlays: " + unknown_name("overlay", name, OVERLAYS))


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
