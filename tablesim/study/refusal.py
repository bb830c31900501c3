"""Why no aim works, in words: what stands in the way, what stops short and which pace it takes, what is too thin."""

from __future__ import annotations

import math

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics import potting
from tablesim.physics import trial as a
from tablesim.physics.aim import are_frozen
from tablesim.physics.pieces import contact_reach
from tablesim.physics.pocket import bed_clearance
from tablesim.physics.potting import Solution
from tablesim.physics.records import BallState
from tablesim.physics.strike import slipping_squirt
from tablesim.physics.trial import Trial

from .deflection import deflection_of
from .setup import plain_line, target_of
from .shooter import Shooter
from .stroke import level_launch, out_of_reach_words, why_unplayable
from .thin import cut_words, is_thin, thin_words
from .went import spoken_pocket

HARDEST_M_S = 8.0  # pace up to which it is asked whether a harder stroke pots


def _reason(scenario: Scenario, code: int, obstacle: int) -> str:
    """Why no aim works, in words."""
    target = scenario.target
    assert target is not None
    name = scenario.ball_names[obstacle] if obstacle >= 0 else None
    pocket = spoken_pocket(target.pocket)
    return {
        a.CUE_BALL_BLOCKED: f"blocked: ball {name} stands in the cue ball's way",
        a.TARGET_BLOCKED: f"blocked: ball {name} is in the way of ball {target.ball} to {pocket}",
    }.get(code, f"{pocket} does not take the ball from there at this pace")


def unplayed_words(scenario: Scenario, take: Take, heading: float | None) -> str:
    """Why a take's stroke along ``heading`` [rad] cannot be made; empty if it can."""
    why = why_unplayable(scenario, take, heading)
    if why is None:
        return ""
    if why == "out_of_reach":
        return out_of_reach_words(scenario, take, heading)
    away = math.degrees(slipping_squirt(take.tip.offset, scenario.cue_of(take).tip_friction))
    way = " to the left" if take.tip.right > 0.0 else " to the right" if take.tip.right < 0.0 else ""
    return (
        f"miscue: the tip strikes {take.tip.offset:.2f} radii off centre, more than it can hold;"
        f" it slips, and the ball goes about {away:.0f} degrees{way} off the cue's line or more, with less spin"
    )


def refusal_words(shooter: Shooter, take: Take, s: Solution, thorough: bool) -> str:
    """Why a take has no aim that works, by the answer of the search for one.

    ``thorough``: say of a cut that is too thin how far throw can carry the ball.
    """
    code, obstacle = s.code, s.trial.obstacle
    if code in (potting.TOO_THIN, potting.REFUSED, a.SHORT):
        trial = shooter.trial(shooter.plain, level_launch(shooter.scenario, take, shooter.plain))
        if trial.obstacle >= 0 and (code == potting.TOO_THIN or _pushed(shooter, trial)):
            # A cut that could be played, but for a ball where the cue ball would have to be, or frozen to the target.
            code, obstacle = trial.code, trial.obstacle
        elif code == potting.TOO_THIN and _ghost_clearance(shooter.scenario) < 0.0:
            code = a.NOT_REACHED
    if code in (a.SHORT, a.NOT_REACHED):
        return _stays_short(shooter, take, code)
    if code == potting.TOO_THIN or (code == potting.REFUSED and is_thin(shooter.scenario)):
        return f"cut too thin: {thin_words(shooter, take) if thorough else cut_words(shooter.scenario)}"
    return _reason(shooter.scenario, code, obstacle)


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
    """The least pace [m/s, in tenths] above a take's at which its stroke has an aim; None up to HARDEST_M_S.

    An aim that a person can hit: some way round the table pots at many a pace.
    """

    def has_an_aim(tenths: int) -> bool:
        s = shooter.solve(
            level_launch(shooter.scenario, take.model_copy(update={"pace_m_s": tenths / 10.0}), shooter.plain), False
        )
        return s.code == potting.SOLVED and s.high - s.low >= potting.LEAST_RUN

    soft, hardest = math.floor(10.0 * take.pace_m_s + 1e-9), round(10.0 * HARDEST_M_S)
    pace = soft
    while pace < hardest:
        soft, pace = pace, min(max(pace + 1, round(1.25 * pace)), hardest)
        if has_an_aim(pace):
            while pace - soft > 1:
                mid = (soft + pace) // 2
                soft, pace = (soft, mid) if has_an_aim(mid) else (mid, pace)
            return pace / 10.0
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
