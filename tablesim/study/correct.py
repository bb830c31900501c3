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
from functools import cached_property
from types import SimpleNamespace

import numpy as np

from tablesim.errors import AimImpossible
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Aim, Take
from tablesim.physics import jit
from tablesim.physics import trial as a
from tablesim.physics import window as w
from tablesim.physics.aim import are_frozen, turn_within
from tablesim.physics.columns import VX, VY, WX, WY, WZ, X, Y
from tablesim.physics.edge import POCKETS
from tablesim.physics.pieces import contact_reach
from tablesim.physics.pocket import bed_clearance
from tablesim.physics.records import BallState, Laws, Setup
from tablesim.physics.simulation import run_for
from tablesim.physics.strike import slipping_squirt
from tablesim.physics.trial import Shot, Trial
from tablesim.physics.window import Solution
from tablesim.units import diamonds_from_m

from .deflection import deflection_of
from .hops import hop_of, hop_words
from .predict import Prediction, predict_take
from .setup import (
    gate_of,
    hangs_in_jaws,
    level_launch,
    miscues,
    plain_heading,
    plain_line,
    resting,
    setup_of,
    target_distance,
    target_of,
)
from .went import spoken_pocket

WINDOW_RESOLUTION_RAD = 2e-5  # how closely the ends of the window are found; finer, a rattle's chaos decides
HARDEST_M_S = 8.0  # pace up to which it is asked whether a harder stroke pots
NO_CORRECTION_MM = 1.0  # at the pocket: less than anyone can aim


@dataclass(frozen=True, slots=True)
class Correction:
    """The corrected aim of a take, or the reason why there is none.

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


class Shooter:
    """One layout and its gear as arrays, ready to be shot at again and again.

    Holds the work space of one thread.
    """

    def __init__(self, scenario: Scenario, kernels: SimpleNamespace | None = None, setup: Setup | None = None) -> None:
        target = target_of(scenario)
        self.scenario = scenario
        self.kernels = kernels or jit.few()
        self.setup = setup or setup_of(scenario)
        self.layout = resting(scenario)
        self.target = scenario.ball_names.index(target.ball)
        self.pocket = POCKETS.index(target.pocket)
        self._start = np.zeros_like(self.layout)
        self._run = run_for(len(self.layout), ROWS)

    def _shot(self, launch: BallState) -> Shot:
        return Shot(launch, self.layout, self._start, self.target, self.pocket)

    def trial(self, heading: float, launch: BallState, laws: Laws | None = None) -> Trial:
        """One stroke along ``heading`` [rad]; see physics/aim.py."""
        setup = self.setup if laws is None else self.setup._replace(laws=laws)
        found: Trial = self.kernels.begin_heading(self._run, self._shot(launch), heading, True, setup)
        return found

    @property
    def cue_ball(self) -> BallState:
        """The cue ball as the latest trial left it: after its last contact, or where it came to rest."""
        return BallState(*self._run.state[0, [X, Y, VX, VY, WX, WY, WZ]].tolist())

    def solve(self, launch: BallState, others: bool = True) -> Solution:
        """The headings that pot with a stroke, and whether there is a wider run; see physics/window.py."""
        near = self.plain
        if near is None:
            (cx, cy), (tx, ty) = self.layout[0, :2], self.layout[self.target, :2]
            near = math.atan2(ty - cy, tx - cx)
        found: Solution = self.kernels.solve_heading(
            self._run, self._shot(launch), near, WINDOW_RESOLUTION_RAD, others, self.setup
        )
        return found

    @cached_property
    def plain(self) -> float | None:
        """Heading [rad] of the plain aim at the gate's centre; None where the cut passes 90 degrees."""
        try:
            return plain_heading(self.scenario)
        except AimImpossible:
            return None


ROWS = 2048  # of track kept for one trial; a target ball's fate takes a few dozen


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


def _reason(scenario: Scenario, code: int, obstacle: int) -> str:
    """Why no aim works, in words."""
    target = scenario.target
    assert target is not None
    name = scenario.ball_names[obstacle] if obstacle >= 0 else None
    pocket = spoken_pocket(target.pocket)
    return {
        a.CUE_BALL_BLOCKED: f"blocked: ball {name} stands in the cue ball's way",
        a.TARGET_BLOCKED: f"blocked: ball {name} is in the way of ball {target.ball} to {pocket}",
        w.TOO_THIN: f"cut too thin: no hit sends ball {target.ball} to {pocket}",
    }.get(code, f"{pocket} does not take the ball from there at this pace")


def correct_takes(shooter: Shooter, takes: Sequence[Take], others: bool = False) -> tuple[Correction, ...]:
    """Solve the corrected aim of several takes on one layout; ``others``: look for wider windows elsewhere, too."""
    return tuple(_answer(shooter, take, others) for take in takes)


def correct_take(scenario: Scenario, take: Take, kernels: SimpleNamespace | None = None) -> Correction:
    """Solve the corrected aim of a take."""
    return correct_takes(Shooter(scenario, kernels), [take], others=True)[0]


def without_answer(take: Take, cue: str, reason: str, centre_deg: float | None = None) -> Correction:
    """The correction that does not exist, and why."""
    numbers = dict.fromkeys(
        (
            "heading_deg", "turn_deg", "correction_deg", "heart_mm", "aim_offset_mm", "aim_offset_diamonds",
            "aim_offset_pocket_widths", "correction_mm", "window_deg", "window_mm", "taken_mm", "bridge_m",
        )
    )  # fmt: skip
    return Correction(
        take=take.name, cue=cue, relative_to_english="none", mouth_centre_heading_deg=centre_deg, warning=None,
        reason=reason, **numbers,
    )  # fmt: skip


def _miscue(scenario: Scenario, take: Take) -> Correction:
    away = math.degrees(slipping_squirt(take.tip.offset, scenario.cue_of(take).tip_friction))
    way = " to the left" if take.tip.right > 0.0 else " to the right" if take.tip.right < 0.0 else ""
    reason = (
        f"miscue: the tip strikes {take.tip.offset:.2f} radii off centre, more than it can hold;"
        f" it slips, and the ball goes about {away:.0f} degrees{way} off the cue's line or more, with less spin"
    )
    return without_answer(take, scenario.cue_name_of(take), reason)


def _answer(shooter: Shooter, take: Take, others: bool) -> Correction:
    scenario = shooter.scenario
    if miscues(scenario, take):
        return _miscue(scenario, take)
    launch = level_launch(scenario, take)
    s = shooter.solve(launch, others)
    if s.code == w.SOLVED:
        return _solved(scenario, take, s)
    code, obstacle = s.code, s.trial.obstacle
    if shooter.plain is not None and code in (w.TOO_THIN, w.REFUSED, a.SHORT):
        trial = shooter.trial(shooter.plain, launch)
        if trial.obstacle >= 0 and (code == w.TOO_THIN or _pushed(shooter, trial)):
            # A cut that could be played, but for a ball where the cue ball would have to be, or frozen to the target.
            code, obstacle = trial.code, trial.obstacle
        elif code == w.TOO_THIN and _ghost_clearance(scenario) < 0.0:
            code = a.NOT_REACHED
    short = code in (a.SHORT, a.NOT_REACHED)
    reason = _stays_short(shooter, take, code) if short else _reason(scenario, code, obstacle)
    return without_answer(take, scenario.cue_name_of(take), reason, _centre_deg(s))


def _stays_short(shooter: Shooter, take: Take, code: int) -> str:
    """Why a stroke that leaves one of the balls short has no aim: the pace from which it has one, or that none has."""
    scenario, target = shooter.scenario, target_of(shooter.scenario)
    words = f"ball {target.ball} stops short of {spoken_pocket(target.pocket)}"
    if code == a.NOT_REACHED:
        words = f"the cue ball does not reach ball {target.ball}"
        way = math.dist(scenario.balls[CUE_BALL], plain_line(scenario)[:2])
        if deflection_of(scenario, take, ()).reach_m > way:
            return f"{words}: a cushion comes first"
    takes = _pace_it_takes(shooter, take)
    if takes is None:
        return f"{words}, and no harder stroke sends it there"
    return f"too soft: {words}; it takes {takes:.1f} m/s"


def _pace_it_takes(shooter: Shooter, take: Take) -> float | None:
    """The least pace [m/s, to a tenth] above a take's at which its stroke has an aim; None up to HARDEST_M_S."""

    def has_an_aim(pace_m_s: float) -> bool:
        harder = level_launch(shooter.scenario, take.model_copy(update={"pace_m_s": pace_m_s}))
        return shooter.solve(harder, others=False).code == w.SOLVED

    pace = take.pace_m_s
    while pace < HARDEST_M_S:
        soft, pace = pace, min(1.25 * pace, HARDEST_M_S)
        if has_an_aim(pace):
            while pace - soft > 0.05:
                mid = 0.5 * (soft + pace)
                soft, pace = (soft, mid) if has_an_aim(mid) else (mid, pace)
            tenth = math.ceil(10.0 * pace) / 10.0
            return tenth if has_an_aim(tenth) else pace
    return None


def _pushed(shooter: Shooter, trial: Trial) -> bool:
    """True if the ball in the target ball's way is frozen to it."""
    ball, other = (BallState(*shooter.layout[i].tolist()) for i in (shooter.target, trial.obstacle))
    apart = contact_reach(shooter.setup.balls, shooter.target, trial.obstacle)
    return trial.code == a.TARGET_BLOCKED and are_frozen(ball, other, apart)


def _ghost_clearance(scenario: Scenario) -> float:
    """How far [m] the ghost ball of the plain aim is clear of the cushions; negative if it would be inside one."""
    x, y = plain_line(scenario)[:2]
    return bed_clearance(x, y, scenario.nose_distance_m(CUE_BALL), scenario.table.edge)


def _centre_deg(s: Solution) -> float | None:
    return None if math.isnan(s.centre) else math.degrees(turn_within(s.centre))


def _solved(scenario: Scenario, take: Take, s: Solution) -> Correction:
    heading = s.heading
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
        heading_deg=math.degrees(turn_within(heading)),
        turn_deg=None if turn is None else math.degrees(turn),
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
        bridge_m=None if turn is None else bridge_for(take.tip.right, turn, scenario.ball_set.radius_m(CUE_BALL)),
        warning=_warning(scenario, take, s),
        reason=None,
    )


def _turn(scenario: Scenario, heading: float, offset_mm: float) -> float | None:
    """Turn [rad, left +] of a heading from the plain aim at a point of the mouth; None where that aim has no line."""
    try:
        return turn_within(heading - plain_heading(scenario, offset_mm))
    except AimImpossible:
        return None


def _played(scenario: Scenario, take: Take, heading: float) -> Prediction:
    """A take played along another heading [rad]."""
    return predict_take(scenario, take.model_copy(update={"aim": Aim(heading_deg=math.degrees(turn_within(heading)))}))


def _warning(scenario: Scenario, take: Take, s: Solution) -> str | None:
    """What a pot by the corrected aim brings with it: a scratch, a wider window elsewhere, a ball met in a hop."""
    told = ["the cue ball drops too"] if s.trial.scratch else []
    if math.isfinite(s.other_low):
        turn = math.degrees(turn_within(0.5 * (s.other_low + s.other_high) - s.heading))
        side, width = "left" if turn > 0.0 else "right", math.degrees(s.other_high - s.other_low)
        told.append(f"another window, {width:.2f}° wide, lies {abs(turn):.2f}° to the {side} of this aim")
    if hop_of(scenario, take) is not None:
        words = hop_words(_played(scenario, take, s.heading).hop)
        told += [f"the cue ball is {words}"] if words else []
    return "; ".join(told) or None


def correct(scenario: Scenario, take: str | None = None) -> tuple[Correction, ...]:
    """The corrected aim of every take, or of the one named."""
    takes = scenario.takes if take is None else [scenario.take_named(take)]
    return correct_takes(Shooter(scenario), takes, others=True)


def corrected_heading(scenario: Scenario, take: Take) -> float:
    """The corrected heading [rad] of a take; AimImpossible with the reason where there is none."""
    found = correct_take(scenario, take)
    if found.heading_deg is None:
        raise AimImpossible(f"take {take.name!r}: no corrected aim: {found.reason}")
    return math.radians(found.heading_deg)
