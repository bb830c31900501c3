"""Words in stills and clips: large enough, clear of what plays, where phones leave room, and what they tell."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Mark, Take, Target, Tip
from tablesim.output.clip import ClipWishes, clip
from tablesim.output.encode import KINDS
from tablesim.output.film import OVERLAYS, SHOWN, Film, Screening, boxes_of
from tablesim.output.inset import contact_picture
from tablesim.output.painter import Painter, lines_of
from tablesim.output.plate import least_letters, lettered
from tablesim.output.still import StillWishes, still
from tablesim.output.timing import AFTER_S, Timing
from tablesim.resources import open_scenario
from tablesim.scene.look import EVENING, LOOKS
from tablesim.scene.shapes import BOTTOM_UP, Ball, Disc, Dot, Frame, Scene, Text
from tablesim.scene.shapes import Path as Line
from tablesim.study.answer import Answer, answer_take
from tablesim.study.predict import predict_take
from tablesim.study.prediction import first_contact
from tablesim.study.went import outcome_words, place_words

SIZES = [(1920, 1080), (1280, 720), (1080, 1920), (1080, 1080)]
TWO = open_scenario("two-cues")
MARKED = TWO.change(
    marks=[
        Mark(kind="zone", at=(2.3, 0.3), radius_m=0.05, text="stop here, if you can"),
        Mark(kind="label", at=(2.5, 1.2), text="far corner"),
        Mark(kind="arrow", at=(0.3, 0.3), to=(0.8, 0.3), text="this way"),
    ]
)
Painted = list[tuple[Scene, Frame, tuple[int, int]]]


@pytest.fixture
def painted(monkeypatch: pytest.MonkeyPatch) -> Painted:
    """All that is painted: scenes, their frames, the size [pixels] of what they are painted on."""
    heard: Painted = []
    paint = Painter.paint

    def listen(self: Painter, scene: Scene, frame: Frame) -> None:
        heard.append((list(scene), frame, self.size))
        paint(self, scene, frame)

    monkeypatch.setattr(Painter, "paint", listen)
    return heard


def words_of(painted: Painted) -> list[tuple[str, float]]:
    """Words and the size of their letters [pixels], as they are shown."""
    return [
        (line.text, line.size * frame.point)
        for scene, frame, size in painted for shape in scene if isinstance(shape, Text) and shape.text
        for line in lines_of(shape, frame, size)
    ]  # fmt: skip


def film_of(
    scenario: Scenario, takes: tuple[int, ...], size: tuple[int, int], look: str = "evening", fps: int = 10,
    overlays: tuple[str, ...] = SHOWN,
) -> tuple[Film, list[float]]:  # fmt: skip
    answers = {i: answer_take(scenario, scenario.takes[i]) for i in takes}
    ends = max(a.aimed.track.duration for a in answers.values())  # type: ignore[union-attr]
    moments = Timing(1.0, None, (), 1.0, ends).moments(None, fps)
    return Film(scenario, answers, Screening(LOOKS[look], size, fps, overlays=overlays), moments), moments


def least(size: tuple[int, int]) -> float:
    return size[1] / (36.0 if size[1] > size[0] else 45.0)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("look", LOOKS)
def test_no_letters_of_a_still_are_too_small(
    look: str, size: tuple[int, int], painted: Painted, tmp_path: Path
) -> None:
    common = {"size": size, "look": look, "takes": ["wood, hard", "low-squirt, hard", "wood, soft"], "stroke": True}
    for more in ({"lens": True, "caption": "Two cues"}, {"growth": 5, "spin": True}, {"closer": "shot"}):
        still(MARKED, str(tmp_path / "a.png"), StillWishes(**common, **more))  # type: ignore[arg-type]
    told = words_of(painted)
    assert {"far corner", "this way", "Two cues"} <= {words for words, _ in told}
    assert [(words, letters) for words, letters in told if letters < least(size) - 1e-6] == []
    assert any("low-squirt, hard" in words for words, _ in told)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("look", LOOKS)
def test_no_letters_of_a_clip_are_too_small(look: str, size: tuple[int, int], painted: Painted) -> None:
    for overlays in (OVERLAYS, SHOWN):  # no contact is enlarged where lenses are
        film, moments = film_of(MARKED, (2, 5), size, look, overlays=tuple(overlays))
        for t in (moments[0], 0.9, moments[-1]):
            film.at(t)
    told = words_of(painted)
    assert {"A", "B", "The same shot with two cues"} <= {words for words, _ in told}
    assert [(words, letters) for words, letters in told if letters < least(size) - 1e-6] == []


@pytest.mark.parametrize("size", [(1080, 1920), (720, 1280), (1080, 1350)])
def test_an_upright_picture_keeps_clear_of_what_phones_lay_over_it(
    size: tuple[int, int], painted: Painted, tmp_path: Path
) -> None:
    """Nothing but the room in the bottom sixth and the right eighth, and no words or insets that would be cut there."""
    pictures: list[np.ndarray] = []
    for closer in (None, "shot"):
        still(MARKED, str(tmp_path / "a.png"), StillWishes(size=size, stroke=True, caption="Two", closer=closer))
        with Image.open(tmp_path / "a.png") as picture:
            pictures.append(np.asarray(picture.convert("RGB")))
    film, moments = film_of(MARKED, (2, 5), size)
    pictures += [film.at(t)[:, :, :3] for t in moments[::7]]
    right, bottom = round(7.0 / 8.0 * size[0]), round(5.0 / 6.0 * size[1])
    for pixels in pictures:
        assert (pixels[:, right + 1 :] == pixels[-1, -1]).all()
        assert (pixels[bottom + 1 :] == pixels[-1, -1]).all()
        assert not (pixels[:, : right - 10] == pixels[-1, -1]).all()
    boxes = [box for scene, frame, on in painted if on == size for box in boxes_of(scene, frame)]
    boxes += [inset.box for inset in film._insets]
    assert len(boxes) > 50
    for _, _, x1, y1 in boxes:
        assert x1 <= right + 0.5
        assert y1 <= bottom + 0.5


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("takes", [(2, 5), (0, 1, 2, 3, 4, 5)])
def test_the_letters_of_takes_lie_on_no_ball_ring_or_other_words(size: tuple[int, int], takes: tuple[int, ...]) -> None:
    film, moments = film_of(MARKED, takes, size, overlays=tuple(n for n in OVERLAYS if n not in ("corrected", "lens")))
    frame = film._canvas.frame
    assert len(film._words) >= 2  # of the drill
    for t in moments[::5]:
        lying = [inset for inset in film._insets if inset.since <= t < inset.until]
        moving = film._moving(t, lying)
        boxes = list(boxes_of(moving, frame))
        assert len(boxes) == len(takes)
        for one, other in itertools.combinations([*boxes, *(b for b in film._words), *(i.box for i in lying)], 2):
            if one in boxes:
                assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1], t
        for shape in moving:
            if isinstance(shape, Ball | Disc):
                at = frame.pixels(np.array([[shape.x, shape.y]]))[0]
                for x0, y0, x1, y1 in boxes:
                    gap = np.hypot(*(np.clip(at, (x0, y0), (x1, y1)) - at))
                    assert gap >= shape.radius_m * frame.pixels_a_metre, t


def test_every_take_has_real_balls_a_ring_and_a_letter() -> None:
    film, _ = film_of(TWO, (2, 5), (1280, 720))
    moving = film._moving(1.5, [])
    balls = [shape for shape in moving if isinstance(shape, Ball)]
    assert sorted(ball.name for ball in balls) == ["3", "3", "cue", "cue"]
    assert all(ball.turn is not None for ball in balls)  # painted as they have turned
    rings = [shape for shape in moving if isinstance(shape, Disc)]
    assert len({ring.pen for ring in rings}) == 2
    assert {words.text: words.colour for words in moving if isinstance(words, Text)} == {
        "A": EVENING.take_colour(2), "B": EVENING.take_colour(5),
    }  # fmt: skip


@pytest.mark.parametrize("name", ["two-cues", "throw-at-thirty", "far-from-the-ball", "thin-cut-outside"])
@pytest.mark.parametrize("turned", range(0, 360, 30))
def test_in_an_enlarged_contact_nothing_lies_over_words(name: str, turned: int, painted: Painted) -> None:
    """Balls, arrows and the line of centres keep to the room between the words, whichever way the shot goes."""
    scenario = open_scenario(name)
    found = predict_take(scenario, scenario.takes[0]).track
    assert found is not None
    event = first_contact(found)
    assert event is not None
    a = np.radians(turned)
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]) @ BOTTOM_UP
    for side in (330, 150):
        painted.clear()
        contact_picture(scenario, event, EVENING, Frame(400.0 * turn, np.zeros(2), 1.0), side, "A  name", "#ffffff")
        (balls, frame, _), (texts, plain, _), _ = painted
        words = list(boxes_of(texts, plain))
        assert len(words) >= (3 if side == 330 else 1)
        for x0, y0, x1, y1 in words:
            assert min(x0, y0) >= 0.0
            assert max(x1, y1) <= side
        for shape in balls:
            if isinstance(shape, Line):
                ends = frame.pixels(shape.points)
                ends = ends[:1] + (ends[-1] - ends[0]) * np.linspace(0.0, 1.0, 50)[:, None]
            else:
                assert isinstance(shape, Ball)
                ends = frame.pixels(np.array([[shape.x, shape.y]])) + shape.radius_m * frame.pixels_a_metre * np.array(
                    [(np.cos(k), np.sin(k)) for k in np.linspace(0.0, 6.3, 40)]
                )
            assert (ends >= 0.0).all()
            assert (ends <= side).all()
            for x0, y0, x1, y1 in words:
                inside = (ends > (x0, y0)).all(axis=1) & (ends < (x1, y1)).all(axis=1)
                assert not inside.any()


# --- what they tell


def test_a_clip_tells_how_it_is_played_and_at_the_end_what_happened(painted: Painted) -> None:
    film, moments = film_of(TWO, (1, 5), (1280, 720))
    grounds = " ".join(words for words, _ in words_of(painted))
    for words in ("The same shot with two cues", "tip 60 % left, 1.9 m/s, low-squirt", "tip 60 % left, 4.5 m/s, wood"):
        assert words in grounds
    for i in (1, 5):
        target = film._scene[1][i].aimed.target  # type: ignore[union-attr]
        assert f"Ball 3 {place_words(target)}" in grounds
    low = round(film._canvas.seen[3])
    first, before, end = film.at(moments[0]), film.at(film._over - 0.01), film.at(moments[-1])
    beside = slice(400, None)  # of the face, which tells the spin
    assert np.array_equal(first[low:, beside], before[low:, beside])
    assert not np.array_equal(before[low:, beside], end[low:, beside])
    held = [t for t in moments if t >= film._over]
    assert len(held) == pytest.approx(10 * AFTER_S, abs=1)
    assert np.array_equal(film.at(held[0]), end)
    dots = [shape for shape in film._crossings if isinstance(shape, Dot)]
    assert [dot.fill for dot in dots] == [EVENING.take_colour(1)]  # the other one comes nowhere near the pocket


def test_a_clip_cut_short_tells_it_too() -> None:
    answers = {2: Answer(TWO.takes[2], predict_take(TWO, TWO.takes[2]), None, None, None)}
    for count in (1, 2, 8, 40):
        moments = [k / 10.0 for k in range(count)]
        film = Film(TWO, answers, Screening(EVENING, (320, 180), 10), moments)
        assert film._over <= moments[-1]
        assert count < 3 or film._over > moments[0]


def test_the_outcome_in_words() -> None:
    goes_in = TWO.take_named("low-squirt, medium")
    assert outcome_words(TWO, predict_take(TWO, goes_in)).startswith("Ball 3 goes in")
    end = predict_take(TWO, goes_in).cue_ball.end_m
    assert end is not None
    zoned = TWO.change(marks=[Mark(kind="zone", at=end, radius_m=0.1, text="here")])
    told = outcome_words(zoned, predict_take(zoned, goes_in))
    assert told == "Ball 3 goes in, 4 mm left; the cue ball stops in the zone “here”"
    straight = Scenario(
        balls={"cue": (1.9, 0.635), "1": (2.2, 0.935)}, target=Target(ball="1", pocket="foot-left"),
        takes=[Take(name="follow", pace_m_s=3.0, tip=Tip(up=0.4), aim=Aim(corrected=True))],
    )  # fmt: skip
    words = outcome_words(straight, predict_take(straight, straight.takes[0]))
    assert words.startswith("Ball 1 goes in")
    assert words.endswith("; the cue ball drops in the left foot pocket: a scratch")
    track = predict_take(straight, straight.takes[0])
    alone = straight.change(target=None, takes=[])
    assert outcome_words(alone, track).startswith("Ball 1 in; the cue ball drops")


def test_a_still_carries_tip_pace_and_cue_when_asked(tmp_path: Path) -> None:
    def drawn(stroke: bool) -> str:
        still(TWO, str(tmp_path / "a.svg"), StillWishes(takes=["wood, hard", "low-squirt, soft"], stroke=stroke))
        return (tmp_path / "a.svg").read_text()

    for words in ("tip 60 % left, 4.5 m/s, wood<", "tip 60 % left, 1.3 m/s, low-squirt<", "hard, 4.5 m/s<"):
        assert words in drawn(True)
        assert words not in drawn(False)


# --- sizes


@pytest.mark.parametrize("size", [(1920, 1080), (1080, 1080), (1080, 1920)])
def test_the_look_for_paper_is_made_for_its_printed_size(size: tuple[int, int], tmp_path: Path) -> None:
    """180 mm along its longer side, as the file says, with letters of 10 points or what a phone needs."""
    still(TWO, str(tmp_path / "a.png"), StillWishes(size=size, look="paper"))
    with Image.open(tmp_path / "a.png") as picture:
        dots_an_inch = picture.info["dpi"][0]
    assert max(size) / dots_an_inch * 25.4 == pytest.approx(180.0, abs=0.1)
    look, point = lettered(LOOKS["paper"], size)
    assert point * 72.0 == pytest.approx(dots_an_inch, rel=1e-3)
    assert look.letters == pytest.approx({(1920, 1080): 10.0, (1080, 1080): 11.34, (1080, 1920): 14.2}[size], rel=0.01)
    assert look.letters * point >= least_letters(size) - 1e-9
    still(TWO, str(tmp_path / "b.png"), StillWishes(size=size))
    with Image.open(tmp_path / "b.png") as picture:
        assert "dpi" not in picture.info


def test_a_gif_of_an_ordinary_shot_is_as_small_as_its_help_says(tmp_path: Path) -> None:
    made = clip(TWO, str(tmp_path / "a.gif"), ClipWishes(takes=["low-squirt, soft", "wood, soft"]))
    assert made.size == KINDS[".gif"].size == (1280, 720)
    assert (tmp_path / "a.gif").stat().st_size < 2e6 * made.seconds / 10.0
