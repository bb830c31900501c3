"""A finding as a teacher would say it, in one or two sentences."""

from __future__ import annotations

import math

from tablesim.model.shot import Take
from tablesim.units import pace_word

from .correct import Correction
from .prediction import TargetFinding
from .went import fate_words, side_word

LITTLE_MM = 5.0  # at the pocket: what needs no mention
CENTRE_MM = 2.0  # an aim, or a miss, this near is at the centre
HEART_MM = 5.0  # a heart this far off the mouth's centre is mentioned
AIMED_WELL_DEG = 0.01  # an aim this near the corrected one is the corrected one


def correction_words(correction: Correction) -> str:
    """A correction in a few words: the aim that works, or why none does."""
    if correction.reason is not None:
        return correction.reason
    offset = correction.aim_offset_mm
    if offset is None:
        return f"turn {correction.turn_deg or 0.0:+.2f}°"
    return f"corrected {abs(offset):.0f} mm {side_word(offset)}"


def room_words(correction: Correction) -> str:
    """How far apart the aims lie that pot: at the pocket where that can be said, else as a turn of the cue."""
    if correction.window_mm is not None:
        return f"{correction.window_mm:.0f} mm"
    return "" if correction.window_deg is None else f"{correction.window_deg:.2f}°"


def reading(
    take: Take,
    parts_mm: tuple[float, float, float] | None,
    correction: Correction,
    heading_deg: float,
    aim_mm: float | None,
    target: TargetFinding,
    lost: str | None = None,
) -> str:
    """What wins, what becomes of the target ball, where to aim; ``parts_mm`` of squirt, swerve, throw [mm, left +].

    The take's aim as it is: its heading, where its plain line points on the mouth
    line [mm, left +], None if it misses the target ball, and what becomes of the
    ``target`` ball along it; ``lost`` says why there are no parts.
    """
    right = take.tip.right
    english = "No english" if abs(right) < 1e-9 else f"{'Right' if right > 0 else 'Left'} english"
    told = f"{english} at {pace_word(take.pace_m_s)} pace ({take.pace_m_s:.1f} m/s):"
    goes_in = target.outcome == "potted"
    if correction.reason:
        straight = f" it {fate_words(target)}. Straight at the pocket:" if goes_in else ""
        return f"{told}{straight} {correction.reason}."
    off = math.remainder((correction.heading_deg or 0.0) - heading_deg, 360.0)
    within = correction.window_deg is not None and abs(off) < 0.5 * correction.window_deg
    if goes_in and abs(off) < AIMED_WELL_DEG:
        return f"{told} {_aimed_well(correction, off, target)}" + (f" {sentence(lost)}" if lost else "")
    decides = f" {lost}." if lost else _winner(parts_mm)
    if goes_in and within:
        middle = _aim(correction)
        return (
            f"{told}{decides} It {fate_words(target)}, with {_room(correction, off)}; the middle of it:"
            f" {middle[:1].lower()}{middle[1:]}"
        )
    if goes_in:
        return f"{told}{decides} It {fate_words(target)}, by a narrow way. The window: {_aim(correction)}"
    gap = "It misses, in a gap of the window. " if within else ""
    return f"{told}{decides} {gap or _too_far(correction, aim_mm)}{_aim(correction)}"


def sentence(words: str) -> str:
    """The words with a capital and a full stop."""
    return f"{words[:1].upper()}{words[1:]}."


def _winner(parts_mm: tuple[float, float, float] | None) -> str:
    """Which cause decides the miss."""
    if parts_mm is None:
        return ""
    squirt, swerve, throw = parts_mm
    bend = squirt + swerve
    whole = bend + throw
    if max(abs(squirt), abs(swerve), abs(throw)) < LITTLE_MM:
        return " there is next to nothing to correct."
    if abs(whole) < LITTLE_MM:
        return " the causes cancel."
    if math.copysign(1.0, whole) * bend >= math.copysign(1.0, whole) * throw:
        return " squirt wins." if abs(squirt) >= abs(swerve) else " swerve wins."
    if min(abs(squirt), abs(swerve)) > abs(throw):
        return " squirt and swerve nearly cancel, throw wins."
    return " throw wins."


def _place(offset_mm: float) -> str:
    if abs(offset_mm) < CENTRE_MM:
        return "at the pocket's centre"
    return f"{abs(offset_mm):.0f} mm {side_word(offset_mm)} of centre"


def _relation(correction: Correction) -> str:
    return {"same": ", on the side of the english", "opposite": ", opposite the english", "none": ""}[
        correction.relative_to_english
    ]


def _too_far(correction: Correction, aim_mm: float | None) -> str:
    """What is wrong with an aim that is not the plain one: the correction is told from the centre, not from it."""
    if aim_mm is None or abs(aim_mm) < LITTLE_MM or correction.aim_offset_mm is None:
        return ""
    too_far = aim_mm - correction.aim_offset_mm
    return f"This aim, {_place(aim_mm)}, is {abs(too_far):.0f} mm too far {side_word(too_far)}. "


def _room(correction: Correction, off_deg: float) -> str:
    """How far the aim may go to either side and still pot, the window's middle being ``off_deg`` left (+) of it.

    At the pocket where that can be said: turning the cue right moves the aim there to the left.
    """
    window = correction.window_deg or 0.0
    shares = 0.5 - off_deg / window, 0.5 + off_deg / window
    if correction.window_mm is None:
        return f"{shares[1] * window:.2f}° of room to turn the cue left and {shares[0] * window:.2f}° to turn it right"
    left, right = (share * correction.window_mm for share in shares)
    if round(left) == round(right):
        return f"{left:.0f} mm of room on either side"
    return f"{left:.0f} mm of room on the left and {right:.0f} mm on the right"


def _aimed_well(correction: Correction, off_deg: float, target: TargetFinding) -> str:
    place = "" if correction.aim_offset_mm is None else f", {_place(correction.aim_offset_mm)},"
    return f"this aim{place} is the corrected one: it {fate_words(target)}, with {_room(correction, off_deg)}."


def _aim(correction: Correction) -> str:
    """Where to aim; where the pocket takes the ball off its centre, that is said apart from the correction."""
    offset, heart, shift = correction.aim_offset_mm, correction.heart_mm, correction.correction_mm
    if offset is None:
        turn = correction.turn_deg or 0.0
        return f"Turn the cue {abs(turn):.2f} degrees {side_word(turn)} of the plain aim{_relation(correction)}."
    if heart is None or shift is None or abs(heart) < HEART_MM:
        relation = _relation(correction) if abs(offset) >= CENTRE_MM else ""
        return f"Aim {_place(offset)}{relation}."
    if abs(shift) < CENTRE_MM:
        return f"Aim {_place(offset)}, where the pocket takes the ball best from there."
    best = f"{abs(shift):.0f} mm {side_word(shift)} of where the pocket takes the ball best from there"
    return f"Aim {_place(offset)}: {best}{_relation(correction)}."
