"""What a finding is called: every threshold of the words, from both sides."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tablesim.model.shot import Take, Tip
from tablesim.study.correct import Correction, bridge_for, without_answer
from tablesim.study.prediction import TargetFinding
from tablesim.study.reading import correction_words, reading

TAKE = Take(name="t", pace_m_s=2.0, tip=Tip(right=0.2))
MISSED = TargetFinding("1", "missed", None, 30.0, None)
POTTED = TargetFinding("1", "potted", "foot-left", 1.0, None)
# The corrected aim is 40 mm left of centre, along heading 0, in the middle of a window of 0.8 degrees or 20 mm.
AIM = replace(
    without_answer(TAKE, "wood", ""), reason=None, heading_deg=0.0, turn_deg=-0.5, heart_mm=0.0, aim_offset_mm=40.0,
    correction_mm=40.0, relative_to_english="opposite", window_deg=0.8, window_mm=20.0,
)  # fmt: skip
ELSEWHERE_DEG = 5.0
PARTS = (50.0, 0.0, 0.0)


def missed(
    parts_mm: tuple[float, float, float] | None = PARTS, correction: Correction = AIM, aim_mm: float | None = None
) -> str:
    """Said of a take that misses, without what it says of the take."""
    return reading(TAKE, parts_mm, correction, ELSEWHERE_DEG, aim_mm, MISSED).split(": ", 1)[1]


def potted(heading_deg: float, correction: Correction = AIM) -> str:
    """Said of a take that pots along a heading."""
    return reading(TAKE, PARTS, correction, heading_deg, None, POTTED).split(": ", 1)[1]


@pytest.mark.parametrize(
    ("right", "pace", "words"),
    [
        (0.2, 2.0, "Right english at medium pace (2.0 m/s):"), (-0.2, 2.0, "Left english at medium pace (2.0 m/s):"),
        (0.0, 2.0, "No english at medium pace (2.0 m/s):"), (1e-6, 1.4, "Right english at soft pace (1.4 m/s):"),
        (-1e-6, 1.41, "Left english at medium pace (1.4 m/s):"), (0.2, 2.4, "Right english at medium pace (2.4 m/s):"),
        (0.2, 2.41, "Right english at firm pace (2.4 m/s):"), (0.2, 3.6, "Right english at firm pace (3.6 m/s):"),
        (0.2, 3.61, "Right english at hard pace (3.6 m/s):"), (0.2, 6.0, "Right english at hard pace (6.0 m/s):"),
        (0.2, 6.01, "Right english at power pace (6.0 m/s):"),
    ],
)  # fmt: skip
def test_the_take_is_named_by_its_english_and_pace(right: float, pace: float, words: str) -> None:
    take = Take(name="t", pace_m_s=pace, tip=Tip(right=right))
    assert reading(take, PARTS, AIM, ELSEWHERE_DEG, None, MISSED).startswith(words)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ((4.9, -4.9, 4.9), "there is next to nothing to correct."),
        ((5.0, 0.0, 0.0), "squirt wins."), ((0.0, 5.0, 0.0), "swerve wins."), ((0.0, 0.0, 5.0), "throw wins."),
        ((20.0, 0.0, -15.1), "the causes cancel."), ((20.0, 0.0, -15.0), "squirt wins."),
        ((20.0, 0.0, -25.0), "throw wins."),
        ((10.0, 0.0, 10.0), "squirt wins."), ((10.0, 0.0, 10.1), "throw wins."),
        ((10.0, 10.0, 0.0), "squirt wins."), ((10.0, 10.1, 0.0), "swerve wins."),
        ((20.0, -19.0, 18.9), "squirt and swerve nearly cancel, throw wins."), ((20.0, -19.0, 19.0), "throw wins."),
    ],
)  # fmt: skip
def test_the_winner(parts: tuple[float, float, float], words: str, sign: float) -> None:
    """Left or right makes no difference to which cause decides."""
    squirt, swerve, throw = parts
    assert missed((sign * squirt, sign * swerve, sign * throw)) == f"{words} {missed(None)}"


def test_what_is_lost_stands_for_the_winner() -> None:
    told = reading(TAKE, PARTS, AIM, ELSEWHERE_DEG, None, MISSED, lost="no split")
    assert told.endswith(": no split. Aim 40 mm left of centre, opposite the english.")
    corrected = reading(TAKE, PARTS, AIM, 0.0, None, POTTED, lost="no split")
    assert corrected.endswith("of room on either side. No split.")


@pytest.mark.parametrize(
    ("offset", "words"),
    [
        (1.9, "Aim at the pocket's centre."), (-1.9, "Aim at the pocket's centre."),
        (2.0, "Aim 2 mm left of centre, on the side of the english."),
        (-2.0, "Aim 2 mm right of centre, on the side of the english."),
    ],
)  # fmt: skip
def test_an_aim_near_the_centre_is_at_it(offset: float, words: str) -> None:
    assert missed(None, replace(AIM, aim_offset_mm=offset, relative_to_english="same")) == words


@pytest.mark.parametrize(
    ("heart", "shift", "words"),
    [
        (4.9, 35.1, "Aim 40 mm left of centre, opposite the english."),
        (-5.0, 45.0, "Aim 40 mm left of centre: 45 mm left of where the pocket takes the ball best from there,"
                     " opposite the english."),
        (38.1, 1.9, "Aim 40 mm left of centre, where the pocket takes the ball best from there."),
        (42.0, -2.0, "Aim 40 mm left of centre: 2 mm right of where the pocket takes the ball best from there,"
                     " opposite the english."),
    ],
)  # fmt: skip
def test_a_heart_off_the_centre_is_told_apart_from_the_correction(heart: float, shift: float, words: str) -> None:
    assert missed(None, replace(AIM, heart_mm=heart, correction_mm=shift)) == words


@pytest.mark.parametrize(
    ("turn", "words"), [(-0.5, "Turn the cue 0.50 degrees right"), (0.5, "Turn the cue 0.50 degrees left")]
)
def test_where_the_plain_line_misses_the_ball_the_cue_is_turned(turn: float, words: str) -> None:
    aim = replace(AIM, aim_offset_mm=None, turn_deg=turn, relative_to_english="none")
    assert missed(None, aim, aim_mm=50.0) == f"{words} of the plain aim."


@pytest.mark.parametrize(
    ("aim_mm", "words"),
    [
        (None, ""), (4.9, ""), (-4.9, ""), (5.0, "This aim, 5 mm left of centre, is 35 mm too far right. "),
        (-5.0, "This aim, 5 mm right of centre, is 45 mm too far right. "),
        (60.0, "This aim, 60 mm left of centre, is 20 mm too far left. "),
    ],
)  # fmt: skip
def test_an_aim_off_the_plain_one_is_told_how_far_it_is_off(aim_mm: float | None, words: str) -> None:
    assert missed(None, aim_mm=aim_mm) == f"{words}Aim 40 mm left of centre, opposite the english."


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_heading_is_the_corrected_one_within_a_window_or_beside_it(sign: float) -> None:
    """A hundredth of a degree, and half the window, from both sides; headings go round."""
    corrected = "this aim, 40 mm left of centre, is the corrected one: it goes in, with 10 mm of room on either side."
    assert potted(sign * 0.0099) == corrected
    assert potted(sign * 359.9901) == corrected
    assert potted(sign * 0.0101) == (
        "squirt wins. It goes in, with 10 mm of room on either side; the middle of it: aim 40 mm left of centre,"
        " opposite the english."
    )
    assert potted(sign * 0.399).startswith("squirt wins. It goes in, with ")
    assert potted(sign * 0.401).startswith("squirt wins. It goes in, by a narrow way. The window: Aim 40 mm left")
    gap = reading(TAKE, None, AIM, sign * 0.399, 60.0, MISSED)
    assert gap.endswith(": It misses, in a gap of the window. Aim 40 mm left of centre, opposite the english.")
    assert "gap" not in reading(TAKE, None, AIM, sign * 0.401, 60.0, MISSED)


def test_the_room_to_either_side() -> None:
    """A window of 0.8 degrees, its middle 0.2 left of the aim: 0.6 to turn the cue left, which moves the aim right."""
    assert "with 5 mm of room on the left and 15 mm on the right" in potted(-0.2)
    assert "with 15 mm of room on the left and 5 mm on the right" in potted(0.2)
    told = "with 0.60° of room to turn the cue left and 0.20° to turn it right"
    assert told in potted(-0.2, replace(AIM, window_mm=None))


def test_without_a_correction_its_reason_stands() -> None:
    none = without_answer(TAKE, "wood", "cut too thin")
    assert missed(PARTS, none) == "cut too thin."
    assert potted(0.0, none) == "it goes in. Straight at the pocket: cut too thin."
    assert correction_words(none) == "cut too thin"
    assert correction_words(AIM) == "corrected 40 mm left"
    assert correction_words(replace(AIM, aim_offset_mm=None)) == "turn -0.50°"


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_bridge_is_at_most_five_metres_from_the_ball(sign: float) -> None:
    """The tip goes half a radius of 30 mm aside: 15 mm over the length is the sine of the turn."""
    assert bridge_for(sign * 0.5, -sign * 0.05, 0.03) == pytest.approx(0.3, rel=1e-3)
    assert bridge_for(sign * 0.5, -sign * 0.0030001, 0.03) == pytest.approx(5.0, abs=1e-3)
    assert bridge_for(sign * 0.5, -sign * 0.0029999, 0.03) is None
    assert bridge_for(sign * 0.5, sign * 0.05, 0.03) is None  # the pivot would turn the cue the other way
    assert bridge_for(0.0, sign * 0.05, 0.03) is None
    assert bridge_for(sign * 0.5, 0.0, 0.03) is None
