"""The aim that works: the heading that sends the target ball to the heart of its pocket.

The heart is the middle of the headings that pot, with the real jaws, at that
speed and from that side; for a straight approach it is the mouth's centre.  For
a ball that hangs in the jaws, over the mouth line already, a line parallel to
it and twice as deep as the ball's front stands for it.  The correction is what
squirt, swerve and throw ask for: the heading, less that of the plain aim at the
same point of that line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tablesim.errors import AimImpossible
from tablesim.model.scenario import CUE_BALL, Scenario, Which
from tablesim.model.shot import Aim, Take
from tablesim.physics import potting
from tablesim.physics.aim import turn_within
from tablesim.physics.potting import Solution
from tablesim.units import diamonds_from_m

from .hops import hop_of, hop_words
from .prediction import Prediction, predict_along
from .refusal import refusal_words, unplayed_words
from .setup import gate_of, hangs_in_jaws, plain_cut, plain_heading, target_distance
from .shooter import Shooter
from .stroke import butt_along, butt_words, held_along, level_launch, why_unplayable
from .thin import is_past_square, reach_words, throws

REACHES = 3  # near a rail the butt depends on the line, and the line on the butt: solved anew so often
NO_CORRECTION_MM = 1.0  # at the pocket: less than anyone can aim


@dataclass(frozen=True, slots=True)
class Correction:
    """The corrected aim of a take, or the reason why there is none.

    ``cut_deg`` (left +) is the cut of the plain aim at the gate's centre; it may pass 90.
    ``turn_deg`` (left +) turns the plain aim at the mouth's centre into
    ``heading_deg``, whose own plain line crosses the mouth ``aim_offset_mm`` from
    that centre; ``correction_deg`` and ``correction_mm`` are the same from the
    plain aim at the heart.  At the pocket, left + as the travelling ball sees it:
    ``heart_mm`` of the aimed point from the mouth's centre, ``aim_offset_mm``
    (null if the plain line misses the target ball), ``correction_mm`` from the
    heart to there.  ``window_deg`` is
    the width of the headings that pot, ``window_mm`` the same as plain aim at
    the pocket (null for a target ball in the jaws), ``taken_mm`` how far apart
    the target ball crosses its gate at the two ends, as it leaves what sets it
    going: what the pocket takes of ball centres.  Throw makes the two differ: it
    turns the ball back by up to a seventh.  ``bridge_m`` is the bridge
    at which a pivot by the back hand from the centre-ball aim at the mouth's
    centre gives exactly this line, where one does.
    """

    take: str
    cue: str
    cut_deg: float | None
    heading_deg: float | None
    turn_deg: float | None
    correction_deg: float | None
    heart_mm: float | None
    aim_offset_mm: float | None
    aim_offset_diamonds: float | None
    aim_offset_pocket_widths: float | None
    correction_mm: float | None
    relative_to_english: str
    window_deg: float | None
    window_mm: float | None
    taken_mm: float | None
    mouth_centre_heading_deg: float | None
    bridge_m: float | None
    warning: str | None
    reason: str | None


def plain_offset_m(scenario: Scenario, heading: float) -> float | None:
    """Where on its gate [m, left +] the plain aim along ``heading`` sends the target ball; None if it misses."""
    assert scenario.target is not None
    mouth = gate_of(scenario)
    (cx, cy), (tx, ty) = scenario.balls[CUE_BALL], scenario.balls[scenario.target.ball]
    ch, sh = math.cos(heading), math.sin(heading)
    aside = (ch * (ty - cy) - sh * (tx - cx)) / target_distance(scenario)
    if abs(aside) >= 1.0:
        return None
    line = heading + math.asin(aside)
    ux, uy = math.cos(line), math.sin(line)
    toward = ux * mouth.into[0] + uy * mouth.into[1]
    if toward <= 0.0:
        return None
    gap = ((mouth.x - tx) * mouth.into[0] + (mouth.y - ty) * mouth.into[1]) / toward
    return (tx + ux * gap - mouth.x) * mouth.left[0] + (ty + uy * gap - mouth.y) * mouth.left[1]


def relative_to_english(right: float, correction_mm: float | None, correction_deg: float) -> str:
    """same or opposite side as the english, or none: a correction at the pocket is seen from the cue.

    Where the plain line misses the target ball only the turn of the cue is
    left: turning the cue left makes the target ball go right.
    """
    side = correction_mm if correction_mm is not None else -math.copysign(1e3, correction_deg)
    if abs(right) < 1e-9 or abs(side) < NO_CORRECTION_MM:
        return "none"
    return "same" if (side < 0.0) == (right > 0.0) else "opposite"


def bridge_for(right: float, turn: float, radius_m: float) -> float | None:
    """Bridge length [m] from the ball's centre at which a pivot from centre ball turns the cue by ``turn`` [rad].

    The pivot moves the tip to its side and the heading to the same side:
    s R / sin(turn); None where the turn goes the other way or needs over 5 m.
    """
    if right == 0.0 or abs(turn) < 1e-9:
        return None
    length = -right * radius_m / math.sin(turn)
    return length if 0.0 < length < 5.0 else None


def correct_takes(shooter: Shooter, takes: Sequence[Take], others: bool = False) -> tuple[Correction, ...]:
    """Solve the corrected aim of several takes on one layout; ``others``: look for wider windows elsewhere, too."""
    return tuple(_answer(shooter, take, others) for take in takes)


def correct_take(scenario: Scenario, take: Take) -> Correction:
    """Solve the corrected aim of a take."""
    return correct_takes(Shooter(scenario), [take], others=True)[0]


def without_answer(
    take: Take, cue: str, reason: str, centre_deg: float | None = None, cut_deg: float | None = None
) -> Correction:
    """The correction that does not exist, and why."""
    numbers = dict.fromkeys(
        (
            "heading_deg", "turn_deg", "correction_deg", "heart_mm", "aim_offset_mm", "aim_offset_diamonds",
            "aim_offset_pocket_widths", "correction_mm", "window_deg", "window_mm", "taken_mm", "bridge_m",
        )
    )  # fmt: skip
    return Correction(
        take=take.name, cue=cue, cut_deg=cut_deg, relative_to_english="none", mouth_centre_heading_deg=centre_deg,
        warning=None, reason=reason, **numbers,
    )  # fmt: skip


def _answer(shooter: Shooter, take: Take, others: bool) -> Correction:
    scenario = shooter.scenario
    cue, cut_deg = scenario.cue_name_of(take), math.degrees(plain_cut(scenario))
    unplayed = unplayed_words(scenario, take, shooter.plain)
    if unplayed:
        return without_answer(take, cue, unplayed, cut_deg=cut_deg)
    s, heading = shooter.solve(level_launch(scenario, take, shooter.plain), others), shooter.plain
    for _ in range(REACHES):
        if s.code != potting.SOLVED or _same_butt(scenario, take, heading, s.heading):
            break
        heading = s.heading
        s = shooter.solve(level_launch(scenario, take, heading), others)
    if s.code == potting.SOLVED:
        alike = held_along(scenario, s.heading) == held_along(scenario, shooter.plain)
        unplayed = "" if alike else unplayed_words(scenario, take, s.heading)
        if unplayed:
            return without_answer(take, cue, unplayed, _centre_deg(s), cut_deg)
        return _solved(shooter, take, s, others)
    return without_answer(take, cue, refusal_words(shooter, take, s, others), _centre_deg(s), cut_deg)


def _same_butt(scenario: Scenario, take: Take, one: float, other: float) -> bool:
    """True if the butt is held alike along two headings, or cannot be held along the second."""
    if held_along(scenario, one) == held_along(scenario, other):
        return True
    if why_unplayable(scenario, take, other) is not None:
        return True
    return butt_along(scenario, take, one).deg == butt_along(scenario, take, other).deg


def _centre_deg(s: Solution) -> float | None:
    return None if math.isnan(s.centre) else math.degrees(turn_within(s.centre))


def _solved(shooter: Shooter, take: Take, s: Solution, thorough: bool) -> Correction:
    scenario, heading = shooter.scenario, s.heading
    # A ball that drops from the jaws without heading for its gate has no heart to speak of.
    heart_mm = (
        1000.0 * s.trial.crossing
        if math.isfinite(s.trial.crossing)
        else _played(scenario, take, heading).target.miss_mm
    )
    turn = _turn(scenario, heading, 0.0)
    from_heart = None if heart_mm is None else _turn(scenario, heading, heart_mm)
    offset = plain_offset_m(scenario, heading)
    offset_mm = None if offset is None else 1000.0 * offset
    correction_mm = None if offset_mm is None or heart_mm is None else offset_mm - heart_mm
    # The ends of a window for a ball in the jaws run nearly along its gate: their distance on it says nothing.
    ends = [None if hangs_in_jaws(scenario) else plain_offset_m(scenario, end) for end in (s.low, s.high)]
    window_mm = None if ends[0] is None or ends[1] is None else 1000.0 * abs(ends[1] - ends[0])
    width_m = 2.0 * gate_of(scenario).half_width
    english = "none" if from_heart is None else relative_to_english(take.tip.right, correction_mm, from_heart)
    return Correction(
        take=take.name,
        cue=scenario.cue_name_of(take),
        cut_deg=math.degrees(plain_cut(scenario)),
        heading_deg=math.degrees(turn_within(heading)),
        turn_deg=math.degrees(turn),
        correction_deg=None if from_heart is None else math.degrees(from_heart),
        heart_mm=heart_mm,
        aim_offset_mm=offset_mm,
        aim_offset_diamonds=None if offset is None else diamonds_from_m(offset, scenario.table.surface.length_m),
        aim_offset_pocket_widths=None if offset is None else offset / width_m,
        correction_mm=correction_mm,
        relative_to_english=english,
        window_deg=math.degrees(s.high - s.low),
        window_mm=window_mm,
        taken_mm=1000.0 * abs(taken) if math.isfinite(taken := s.high_crossing - s.low_crossing) else None,
        mouth_centre_heading_deg=_centre_deg(s),
        bridge_m=bridge_for(take.tip.right, turn, scenario.ball_set.radius_m(CUE_BALL)),
        warning=_warning(shooter, take, s, thorough),
        reason=None,
    )


def _turn(scenario: Scenario, heading: float, offset_mm: float) -> float:
    """Turn [rad, left +] of a heading from the plain aim at a point of the mouth."""
    return turn_within(heading - plain_heading(scenario, offset_mm))


def _played(scenario: Scenario, take: Take, heading: float) -> Prediction:
    """A take played along another heading [rad]."""
    aim = Aim(heading_deg=math.degrees(turn_within(heading)))
    return predict_along(scenario, take.model_copy(update={"aim": aim}), math.radians(aim.heading_deg or 0.0))


def _warning(shooter: Shooter, take: Take, s: Solution, thorough: bool) -> str | None:
    """What a pot by the corrected aim brings with it: a scratch, a wider window elsewhere, a ball met in a hop."""
    scenario = shooter.scenario
    told = ["the cue ball drops too"] if s.trial.scratch else []
    if math.isfinite(s.other_low):
        turn = math.degrees(turn_within(0.5 * (s.other_low + s.other_high) - s.heading))
        side, width = "left" if turn > 0.0 else "right", math.degrees(s.other_high - s.other_low)
        told.append(f"another window, {width:.2f}° wide, lies {abs(turn):.2f}° to the {side} of this aim")
    told += filter(None, [butt_words(scenario, take, s.heading)])
    if thorough and is_past_square(scenario):
        told.append("a cut of " + reach_words(shooter, throws(shooter, take)))
    if hop_of(scenario, take, s.heading) is not None:
        words = hop_words(_played(scenario, take, s.heading).hop)
        told += [f"the cue ball is {words}"] if words else []
    return "; ".join(told) or None


def correct(scenario: Scenario, take: Which = None) -> tuple[Correction, ...]:
    """The aim that works, of every take or of the one that is named or stated; ``reason`` says why there is none.

    AimImpossible without a target, NameUnknown for a take that is not there.

    >>> found = ts.correct(ts.open_scenario("two-cues"), "wood, soft")[0]
    >>> round(found.turn_deg, 2), round(found.aim_offset_mm), found.relative_to_english
    (0.76, -181, 'opposite')
    """
    return correct_takes(Shooter(scenario), scenario.takes_for(take), others=True)


def corrected_heading(scenario: Scenario, take: Take) -> float:
    """The corrected heading [rad] of a take; AimImpossible with the reason where there is none."""
    found = correct_take(scenario, take)
    if found.heading_deg is None:
        raise AimImpossible(f"take {take.name!r}: no corrected aim: {found.reason}")
    return math.radians(found.heading_deg)


def heading_of(scenario: Scenario, take: Take) -> float:
    """Heading [rad] of a take's cue, as its aim states it."""
    if take.aim.heading_deg is not None:
        return math.radians(take.aim.heading_deg)
    if take.aim.toward is not None:
        return plain_heading(scenario, take.aim.offset_mm or 0.0)
    return corrected_heading(scenario, take)
