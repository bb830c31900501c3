"""What taking a ball away does to the rest of a scenario, and which ball or pocket is near: no screen, no history."""

from __future__ import annotations

import math
from typing import Any

from tablesim.errors import TablesimError
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Aim, Target
from tablesim.physics.aim import turn_within
from tablesim.physics.edge import POCKETS
from tablesim.study.correct import heading_of


def toward_target(scenario: Scenario) -> float:
    """Heading [rad] from the cue ball to the target ball; along the table where there is none."""
    x, y = scenario.balls[CUE_BALL]
    tx, ty = scenario.balls[scenario.target.ball] if scenario.target else (x + 1.0, y)
    return math.atan2(ty - y, tx - x)


def nearest_ball(scenario: Scenario, ball: str, *but: str) -> str:
    """The ball nearest to another, of all but those named; there has to be one."""
    here = scenario.balls[ball]
    others = [name for name in scenario.balls if name not in (ball, *but)]
    return min(others, key=lambda name: math.dist(here, scenario.balls[name]))


def nearest_pocket(scenario: Scenario, ball: str) -> str:
    """The pocket whose mouth is nearest to a ball."""
    mouths = dict(zip(POCKETS, scenario.table.edge.mouths, strict=True))
    return min(POCKETS, key=lambda pocket: math.dist(scenario.balls[ball], mouths[pocket][:2]))


def with_target(scenario: Scenario, ball: str | None = None, pocket: str | None = None) -> Scenario:
    """Another ball to pot, another pocket, or both; TablesimError if there is no object ball."""
    old = scenario.target
    name = ball or (old.ball if old else next((n for n in scenario.balls if n != CUE_BALL), None))
    if name is None or name == CUE_BALL:
        raise TablesimError("There is no object ball to pot: add one first.")
    where = pocket or (old.pocket if old else nearest_pocket(scenario, name))
    return scenario.change(target=Target.model_validate({"ball": name, "pocket": where}))


def without_ball(scenario: Scenario, ball: str) -> Scenario:
    """One ball less, what is said of it included; the target moves on to the nearest other ball."""
    fields: dict[str, Any] = {"balls": {n: at for n, at in scenario.balls.items() if n != ball}}
    odd = scenario.ball_set.odd
    if ball in odd:
        fields["ball_set"] = scenario.ball_set.model_copy(update={"odd": {n: o for n, o in odd.items() if n != ball}})
    if scenario.target is not None and scenario.target.ball == ball:
        fields |= _without_target(scenario, scenario.target)
    return scenario.change(**fields)


def _without_target(scenario: Scenario, target: Target) -> dict[str, Any]:
    """The target moved to the nearest other ball, or none with every aim turned into a heading."""
    if len(scenario.balls) > 2:
        return {"target": Target(ball=nearest_ball(scenario, target.ball, CUE_BALL), pocket=target.pocket)}
    takes = []
    for take in scenario.takes:
        try:
            heading = heading_of(scenario, take)
        except TablesimError:
            heading = toward_target(scenario)
        takes.append(take.model_copy(update={"aim": Aim(heading_deg=math.degrees(turn_within(heading)))}))
    return {"target": None, "takes": takes}
