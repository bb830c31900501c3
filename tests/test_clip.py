"""Clips: what is in the file, that its colours are true, and that nothing half-made stays."""

from __future__ import annotations

import inspect
import math
import threading
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import av
import numpy as np
import pytest
from PIL import Image

from tablesim.commands.pictures import clip as clip_command
from tablesim.commands.pictures import size_of, speed_of
from tablesim.errors import TablesimError
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take, Target, Tip
from tablesim.output.clip import ClipWishes, clip
from tablesim.output.encode import KINDS, Stopped
from tablesim.output.face import stroke_room
from tablesim.output.film import HOLD_S, OVERLAYS, SHOWN, Film, Screening, boxes_of
from tablesim.output.plate import lettered, plate, safe_size
from tablesim.output.strip import Below, TakeWords
from tablesim.output.timing import AFTER_S, BEFORE_S, NEAR_S, Timing, speed_words
from tablesim.resources import open_scenario
from tablesim.scene.look import LOOKS
from tablesim.scene.picture import playing_balls
from tablesim.scene.shapes import Path as Line
from tablesim.scene.shapes import Text
from tablesim.scene.shot import Shown, tip_gap
from tablesim.study.answer import Answer
from tablesim.study.predict import predict_take
from tablesim.study.prediction import first_contact

BOTH = ["wood, hard", "low-squirt, hard"]


@pytest.fixture(scope="module")
def two_cues() -> Scenario:
    """A scenario with six takes."""
    return open_scenario("two-cues")


class Decoded(NamedTuple):
    """A video file: what its stream says of itself, and its frames (height, width, 3)."""

    codec: str
    size: tuple[int, int]
    fps: float
    seconds: float
    colours: tuple[int, int]  # colour space and range
    frames: list[np.ndarray]


def decoded(file: Path) -> Decoded:
    """Read while the file is open: a closed stream knows nothing any more."""
    with av.open(str(file)) as container:
        stream = container.streams.video[0]
        assert stream.average_rate is not None
        assert stream.duration is not None
        assert stream.time_base is not None
        context = stream.codec_context
        return Decoded(
            context.name, (context.width, context.height), float(stream.average_rate),
            float(stream.duration * stream.time_base), (context.colorspace, context.color_range),
            [frame.to_ndarray(format="rgb24") for frame in container.decode(stream)],
        )  # fmt: skip


def unpacked(file: Path) -> tuple[list[np.ndarray], list[float]]:
    """Frames (height, width, 3) and how long each is shown [ms]."""
    frames, shown = [], []
    with Image.open(file) as picture:
        for k in range(getattr(picture, "n_frames", 1)):
            picture.seek(k)
            frames.append(np.asarray(picture.convert("RGB")))
            shown.append(picture.info["duration"])
    return frames, shown


def colour(text: str) -> np.ndarray:
    return np.array([int(text[k : k + 2], 16) for k in (1, 3, 5)])


@pytest.mark.parametrize(
    ("size", "look", "cloth_at"),
    [((640, 360), "evening", (0.2, 0.25)), ((270, 480), "projector", (0.3, 0.3)), ((400, 400), "evening", (0.2, 0.5))],
)
def test_an_mp4_has_what_was_asked_for(
    size: tuple[int, int], look: str, cloth_at: tuple[float, float], two_cues: Scenario, tmp_path: Path
) -> None:
    """Frames, size, length, speed; the cloth is within 6/255 of its colour in every frame."""
    file, heard = tmp_path / "a.mp4", []
    made = clip(
        two_cues, str(file),
        ClipWishes(takes=BOTH, size=size, fps=30, seconds=1.5, speed=0.5, look=look, caption="Two cues"),
        progress=lambda done, whole: heard.append((done, whole)),
    )  # fmt: skip
    codec, shown, fps, seconds, colours, frames = decoded(file)

    assert (made.frames, made.fps, made.size, made.seconds) == (45, 30, size, 1.5)
    assert len(frames) == 45
    assert (codec, shown, fps, colours) == ("h264", size, 30, (1, 1))
    assert seconds == pytest.approx(1.5, abs=0.01)
    assert heard == [(k + 1, 45) for k in range(45)]
    x, y = round(cloth_at[0] * size[0]), round(cloth_at[1] * size[1])
    for frame in frames[::9]:
        assert np.abs(frame[y - 2 : y + 3, x - 2 : x + 3].astype(int) - colour(LOOKS[look].cloth)).max() <= 6
    assert np.abs(frames[0].astype(int) - frames[40]).max() > 60  # something has moved
    assert [p.name for p in tmp_path.iterdir()] == ["a.mp4"]


def test_the_index_stands_first(two_cues: Scenario, tmp_path: Path) -> None:
    """So that a browser can play while it loads."""
    clip(two_cues, str(tmp_path / "a.mp4"), ClipWishes(size=(128, 128), fps=10, seconds=0.5))
    data = (tmp_path / "a.mp4").read_bytes()
    assert 0 < data.index(b"moov") < data.index(b"mdat")


def test_a_clip_lasts_until_everything_lies_still(tmp_path: Path) -> None:
    scenario = Scenario(balls={"cue": (0.5, 0.5)}, takes=[Take(name="a", pace_m_s=0.5, aim=Aim(heading_deg=10.0))])
    lasts = predict_take(scenario, scenario.takes[0]).duration_s
    for overlays, before in ((SHOWN, BEFORE_S), (["trails"], 0.0)):
        made = clip(scenario, str(tmp_path / "a.mp4"), ClipWishes(size=(96, 64), fps=10, speed=2.0, overlays=overlays))
        assert made.seconds == pytest.approx(before + lasts / 2.0 + AFTER_S, abs=0.06)


@pytest.mark.parametrize("size", [(960, 540), (540, 540), (540, 960), (64, 64)])
@pytest.mark.parametrize("look", ["evening", "projector"])
@pytest.mark.parametrize("caption", ["", "Two cues, one aim", "words " * 40])
@pytest.mark.parametrize("note", ["", "1/50 speed"])
@pytest.mark.parametrize("other", ["wood, hard", "a name " * 20])
def test_nothing_under_the_table_lies_over_anything_else(
    size: tuple[int, int], look: str, caption: str, note: str, other: str, two_cues: Scenario
) -> None:
    """Caption, names, speed and the stroke: each has its own room, inside the picture."""
    take = two_cues.takes[2]
    room = stroke_room(take, lettered(LOOKS[look], size)[0])
    takes = {2: TakeWords("A  low-squirt, hard", "tip", "goes in"), 5: TakeWords(other, "tip " * 30, "misses " * 30)}
    found = plate(two_cues, Shown(2), size, LOOKS[look], Below(caption, takes, note, room))
    for over in (False, True):
        boxes = [(*found.free.pixels(np.array([[0.0, 0.0], room])).ravel(),)]
        words, frame = found.words(over)[:2]
        boxes += boxes_of(words, frame)
        assert len(boxes) >= 4 + bool(caption) + bool(note)
        for k, (left, top, right, bottom) in enumerate(boxes):
            assert bottom <= safe_size(size)[1] + 1e-6
            if size != (64, 64):
                assert 0 <= left < right <= safe_size(size)[0] + 1
            for x1, y1, x2, y2 in boxes[k + 1 :]:
                assert right <= x1 or x2 <= left or bottom <= y1 + 1e-6 or y2 <= top + 1e-6


def test_time_runs_slower_about_the_contacts_only() -> None:
    """The frames there are as many as the slower speed asks; without it they are evenly spaced."""
    near = NEAR_S[0] + NEAR_S[1]
    for contacts, spans in (((0.5,), near), ((0.5, 0.55), near + 0.05), ((0.5, 2.9), 2 * near), ((), 0.0)):
        timing = Timing(0.5, 0.05, contacts, BEFORE_S, 3.0)
        moments = np.array(timing.moments(None, 100))
        steps = np.diff(moments)
        assert set(np.round(steps, 9)) <= {0.005, 0.0005}
        assert (steps < 0.001).sum() == pytest.approx(spans / 0.0005, abs=2 * len(contacts) + 1)
        for t in contacts:
            assert (steps[(moments[:-1] >= t - 0.05) & (moments[:-1] < t + 0.09)] < 0.001).all()
        assert moments[0] == pytest.approx(-0.5 * BEFORE_S)
        assert moments[-1] == pytest.approx(3.0 + 0.5 * AFTER_S, abs=0.02)
        assert len(moments) == round(100 * timing.seconds())
    assert Timing(0.5, None, (0.5,), 0.0, 1.0).spans() == []
    assert Timing(1.0, 0.05, (), 0.0, 1.0).note == "contact at 1/20"
    assert Timing(0.5, 0.05, (), 0.0, 1.0).note == "1/2 speed, contact at 1/20"
    for speed, contact_speed, word in (
        (0.0, None, "speed"), (1.0, 0.001, "contact speed"), (1.0, 11.0, "contact speed"),
    ):  # fmt: skip
        with pytest.raises(TablesimError, match=f"^{word}: must be 1/50 to 10"):
            Timing(speed, contact_speed, (), 0.0, 1.0)
    with pytest.raises(TablesimError, match="contact at 1/50 these takes last"):
        Timing(1.0, 0.02, tuple(np.arange(0.0, 20.0, 0.5)), 0.0, 20.0).seconds()


@pytest.mark.parametrize("size", [(640, 360), (360, 640)])
def test_the_contact_is_enlarged_for_each_take_and_goes_again(two_cues: Scenario, size: tuple[int, int]) -> None:
    """From the contact on, in a corner away from balls and pocket, for two seconds of the clip."""
    answers = {
        i: Answer(two_cues.takes[i], predict_take(two_cues, two_cues.takes[i]), None, None, None) for i in (2, 5)
    }
    met = {i: first_contact(a.aimed.track).time for i, a in answers.items()}  # type: ignore[union-attr, arg-type]
    moments = [k / 30.0 for k in range(150)]
    films = {
        name: Film(two_cues, answers, Screening(LOOKS["evening"], size, 30, overlays=overlays), moments)
        for name, overlays in (("with", ["contact"]), ("without", []))
    }

    def differs(t: float) -> np.ndarray:
        return np.asarray((films["with"].at(t) != films["without"].at(t)).any(axis=2))

    first, second = sorted(met.values())
    assert not differs(first - 1e-6).any()
    one = differs(first)
    assert one.any()
    both = differs(second + 0.05)
    assert both.sum() > 1.8 * one.sum()
    assert not differs(second + HOLD_S + 0.1).any()
    rows, columns = np.nonzero(both)
    high, wide = rows.max() + 1 - rows.min(), columns.max() + 1 - columns.min()
    assert (wide == 2 * high) if size[0] > size[1] else (high == 2 * wide)
    frame = films["with"]._canvas.frame
    for place in (two_cues.balls["cue"], two_cues.balls["3"]):
        x, y = frame.pixels(np.array([place]))[0]
        assert not both[round(y), round(x)]


def test_the_cue_comes_to_the_ball_and_is_gone_after_the_strike(two_cues: Scenario) -> None:
    take = two_cues.takes[2]
    answers = {2: Answer(take, predict_take(two_cues, take), None, None, None)}

    def gap(t: float, shown: Shown) -> float | None:
        """From the tip to the ball, along the cue's line [m]."""
        cue = [s for s in playing_balls(two_cues, answers, shown, LOOKS["evening"], t, False) if isinstance(s, Line)]
        if not cue:
            return None
        middle = cue[0].points[:2].mean(axis=0) - np.array(two_cues.balls["cue"])
        radius = two_cues.ball_set.radius_m("cue")
        assert middle @ [-u[1], u[0]] == pytest.approx(-take.tip.right * radius)  # aside by the tip's offset
        return float(-middle @ u) - radius * math.sqrt(1.0 - take.tip.right**2)

    heading = math.radians(answers[2].aimed.launch.heading_deg)  # type: ignore[union-attr]
    u = np.array([math.cos(heading), math.sin(heading)])
    assert gap(-0.5, Shown(2)) == pytest.approx(tip_gap(take))
    assert gap(-0.004, Shown(2)) == pytest.approx(0.004 * take.pace_m_s)
    assert gap(0.0, Shown(2)) == pytest.approx(0.0)
    assert gap(1e-6, Shown(2)) is None
    assert gap(-0.5, Shown(2, aim=False)) is None


def test_a_gif_keeps_time_and_colours(two_cues: Scenario, tmp_path: Path) -> None:
    file = tmp_path / "a.gif"
    made = clip(two_cues, str(file), ClipWishes(takes=BOTH, size=(481, 271), fps=30, seconds=1.2, speed=0.25))
    frames, shown = unpacked(file)

    assert made.size == (481, 271)
    assert (made.frames, len(frames)) == (36, 36)
    assert sum(shown) == pytest.approx(1200, abs=40)
    assert tuple(frames[20][60, 100]) == tuple(colour(LOOKS["evening"].cloth))
    assert len(np.unique(frames[20].reshape(-1, 3), axis=0)) <= 128


def test_a_webp_keeps_time_and_colours(two_cues: Scenario, tmp_path: Path) -> None:
    file = tmp_path / "a.webp"
    made = clip(two_cues, str(file), ClipWishes(size=(480, 270), seconds=1.0, speed=0.25, overlays=["trails"]))
    frames, shown = unpacked(file)

    assert (made.frames, len(frames)) == (30, 30)
    assert sum(shown) == pytest.approx(1000, abs=40)
    assert np.abs(frames[20][60, 100].astype(int) - colour(LOOKS["evening"].cloth)).max() <= 6


def test_odd_sizes_are_made_even_and_it_is_said(two_cues: Scenario, tmp_path: Path) -> None:
    made = clip(two_cues, str(tmp_path / "a.mp4"), ClipWishes(size=(161, 91), fps=5, seconds=0.4))
    assert made.size == (160, 90)
    assert "160x90 instead of 161x91" in made.notes[0]


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"out_path": "a.avi"}, "must end in .mp4 or .gif or .webp; got '.avi'"),
        ({"out_path": "no/folder/a.mp4"}, "cannot be written (No such file or directory)"),
        ({"seconds": 0.0}, "more than 0 and at most 120; got 0"),
        ({"seconds": float("nan")}, "got nan"),
        ({"seconds": 121.0}, "at most 120; got 121"),
        ({"speed": 0.02}, "at 1/50 speed these takes last"),
        ({"speed": 0.0}, "speed: must be 1/50 to 10; got 0"),
        ({"speed": 11.0}, "got 11"),
        ({"fps": 0}, "fps: must be 1 to 120"),
        ({"fps": 60, "out_path": "a.gif"}, "fps: must be 1 to 50"),
        ({"size": (5000, 100)}, "64 to 4096 pixels each way; got 5000x100"),
        ({"takes": ["wod, hard"]}, "did you mean 'wood, hard'"),
        ({"look": "dusk"}, "unknown look 'dusk'"),
        ({"overlays": ["trail"]}, "did you mean 'trails'"),
    ],
)
def test_what_cannot_be_made_gets_a_plain_message(
    how: dict[str, object], message: str, two_cues: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    wishes = {"size": (128, 72), **how}
    out = str(wishes.pop("out_path", "a.mp4"))
    with pytest.raises(TablesimError) as caught:
        clip(two_cues, out, ClipWishes(**wishes))  # type: ignore[arg-type]
    assert message in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_takes_that_cannot_be_played_are_named(tmp_path: Path) -> None:
    slips = Scenario(
        balls={"cue": (0.6, 0.4), "1": (1.6, 0.6)},
        target=Target(ball="1", pocket="foot-left"),
        takes=[Take(name="far out", pace_m_s=2.0, tip=Tip(right=0.6))],
    )
    for scenario, message in ((slips, "'far out' cannot be played"), (Scenario(balls={"cue": (1, 1)}), "has none")):
        with pytest.raises(TablesimError, match=message):
            clip(scenario, str(tmp_path / "a.mp4"))


@pytest.mark.parametrize("suffix", ["mp4", "gif", "webp"])
def test_a_clip_given_up_leaves_nothing(suffix: str, two_cues: Scenario, tmp_path: Path) -> None:
    """And what was there before stays as it was."""
    file, stop = tmp_path / f"a.{suffix}", threading.Event()
    file.write_bytes(b"before")
    threads = threading.active_count()
    with pytest.raises(Stopped, match="nothing written"):
        clip(
            two_cues, str(file), ClipWishes(size=(320, 180), seconds=4.0), stop=stop,
            progress=lambda done, whole: stop.set() if done == 12 else None,
        )  # fmt: skip
    assert file.read_bytes() == b"before"
    assert len(list(tmp_path.iterdir())) == 1
    assert threading.active_count() == threads


def test_an_encoder_that_fails_leaves_nothing(
    two_cues: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk is an OSError in the other thread; here it comes after three frames."""
    from dataclasses import replace

    def full(path: str, reel: object, frames: object) -> None:
        for _ in range(3):
            next(frames)  # type: ignore[call-overload]
        raise OSError(28, "No space left on device")

    monkeypatch.setitem(KINDS, ".mp4", replace(KINDS[".mp4"], sink=full))
    with pytest.raises(TablesimError, match="cannot be written \\(No space left on device\\)"):
        clip(two_cues, str(tmp_path / "a.mp4"), ClipWishes(size=(128, 72), seconds=4.0))
    assert list(tmp_path.iterdir()) == []


def test_the_help_names_every_overlay_and_the_ones_left_out() -> None:
    words = inspect.signature(clip_command).parameters["overlays"].annotation
    assert f"of {', '.join(OVERLAYS)}; or none" in words
    assert f"all but {', '.join(name for name in OVERLAYS if name not in SHOWN)}" in words


def test_sizes_and_speeds_as_people_write_them() -> None:
    assert (size_of("1280x720"), size_of("Portrait"), size_of("4k")) == ((1280, 720), (1080, 1920), (3840, 2160))
    assert (speed_of("1/10"), speed_of("0.25"), speed_of("2")) == (0.1, 0.25, 2.0)
    for text in ("1/0", "fast", "1e999999", ""):
        with pytest.raises(TablesimError, match="--speed"):
            speed_of(text)
    for text in ("12", "axb", "1280x"):
        with pytest.raises(TablesimError, match="--size"):
            size_of(text)
    assert [speed_words(float(Fraction(s))) for s in ("1/10", "1/50", "2/3", "1", "2")] == [
        "1/10 speed", "1/50 speed", "2/3 speed", "full speed", "2× speed",
    ]  # fmt: skip


def test_a_clip_shows_line_strike_point_pace_and_ratio() -> None:
    """What viewers want drawn on a picture: common practice, no source."""
    from tablesim.scene.look import EVENING
    from tablesim.scene.shapes import Disc
    from tablesim.scene.strike_plate import strike_scene

    scenario = open_scenario("two-cues")
    take = scenario.take_named("low-squirt, hard")
    shapes = strike_scene(scenario, take, EVENING, -0.72)
    words = [shape.text for shape in shapes if isinstance(shape, Text)]
    assert words == ["hard, 4.5 m/s", "spin : speed 0.72"]
    assert any(isinstance(s, Disc) and (s.x, s.y) == (take.tip.right, take.tip.up) for s in shapes)
