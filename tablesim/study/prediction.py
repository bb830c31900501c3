"""Where both balls go, and why: one take, run to rest and read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import takewhile
from typing import Any

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics import aim
from tablesim.physics import columns as e
from tablesim.physics.aim import are_frozen, crossing_by, rail_beside, turn_within
from tablesim.physics.constants import FROZEN_M
from tablesim.physics.edge import POCKETS
from tablesim.physics.pieces import contact_reach
from tablesim.physics.pocket import LINE, edge_name
from tablesim.physics.records import BallState
from tablesim.physics.simulation import Event, Simulation, Track
from tablesim.units import mph_from_m_s

from .findings import as_json
from .hops import Hop, hop_of
from .landing import Landing, landings
from .setup import gate_of, setup_of
from .stroke import Launch, launch_of, struck, why_unplayable


@dataclass(frozen=True)
class LaunchFinding:
    """The cue ball off the tip: the cue's heading, speed, squirt (left +), spin (x, y, z of the table)."""

    heading_deg: float
    speed_m_s: float
    speed_mph: float
    squirt_deg: float
    spin_rad_s: tuple[float, float, float]


@dataclass(frozen=True)
class ContactFinding:
    """The cue ball's first meeting with a ball.

    ``distance_m`` along the cue's line from the start, ``off_line_mm`` of the
    cue ball's centre from that line (left +), ``cut_deg`` between the cue
    ball's direction and the line of centres (left +), ``throw_deg`` of the
    object ball off that line (left +), speed and phase of the cue ball.
    """

    ball: str
    distance_m: float
    off_line_mm: float
    cut_deg: float
    throw_deg: float
    speed_m_s: float
    phase: str


@dataclass(frozen=True)
class TargetFinding:
    """The target ball: potted, missed, not_reached, blocked, miscue or out_of_reach (of the cue).

    ``pocket`` is where it fell, if it did; ``miss_mm`` where its centre crosses
    its gate (the mouth line of its pocket; deeper for a ball in the jaws), left
    (+) of the gate's centre: as it rolls, or as it would have gone on from its
    first other contact or its rest; what it was frozen to it leaves first.
    ``blocked_by`` is the ball in the way; ``short`` true if it missed because it
    came to rest before it met anything; ``by`` by what it went in that did not go in
    straight: off a jaw, off a rail, off or by way of another ball.
    """

    ball: str | None
    outcome: str | None
    pocket: str | None
    miss_mm: float | None
    blocked_by: str | None
    short: bool = False
    by: tuple[str, ...] = ()


@dataclass(frozen=True)
class CueBallFinding:
    """Where the cue ball ends, and whether it is at_rest, potted (a scratch) or unfinished."""

    end_m: tuple[float, float] | None
    outcome: str
    pocket: str | None


@dataclass(frozen=True)
class EventFinding:
    """One event in the words of the command line."""

    time_s: float
    what: str
    balls: tuple[str, ...]
    where: str | None
    at_m: tuple[float, float]


@dataclass(frozen=True)
class Prediction:
    """What a take does."""

    take: str
    cue: str
    pace_m_s: float
    launch: LaunchFinding | None
    contact: ContactFinding | None
    target: TargetFinding
    cue_ball: CueBallFinding
    duration_s: float
    finished: bool
    events: tuple[EventFinding, ...]
    track: Track | None = None
    zones: tuple[Landing, ...] = ()
    hop: Hop | None = None

    def for_json(self) -> dict[str, Any]:
        """The finding without its track, and without zones where there are none."""
        left_out = {"track"} if self.zones else {"track", "zones"}
        return {name: as_json(value) for name, value in vars(self).items() if name not in left_out}


def predict_along(scenario: Scenario, take: Take, heading: float | None) -> Prediction:
    """Run one take along a heading [rad] to rest and read it; None for one that miscues along any."""
    cue = scenario.cue_name_of(take)
    why = why_unplayable(scenario, take, heading)
    if why is not None:
        ball = scenario.target.ball if scenario.target else None
        return Prediction(
            take.name, cue, take.pace_m_s, None, None,
            TargetFinding(ball, why, None, None, None),
            CueBallFinding(None, why, None), 0.0, True, (), zones=landings(scenario, why, None),
        )  # fmt: skip
    assert heading is not None
    launch = launch_of(scenario, take, heading)
    track = Simulation(setup_of(scenario), struck(scenario, launch)).run()
    return read_track(scenario, take, launch, track)


def first_contact(track: Track) -> Event | None:
    """The cue ball's first meeting with a ball."""
    return next((ev for ev in track.events if ev.kind == "ball" and 0 in (ev.first, ev.second)), None)


def read_track(scenario: Scenario, take: Take, launch: Launch, track: Track) -> Prediction:
    """Findings of a run take."""
    events = track.events
    first = first_contact(track)
    cue_ball = _cue_ball(track)
    contact = None if first is None else _contact(scenario, launch, track, first)
    met = () if first is None or contact is None else (contact.ball, first.time)
    return Prediction(
        take.name,
        scenario.cue_name_of(take),
        take.pace_m_s,
        LaunchFinding(
            math.degrees(launch.heading), launch.speed, mph_from_m_s(launch.speed),
            math.degrees(launch.squirt), launch.spin,
        ),
        contact,
        _target(scenario, track, first),
        cue_ball,
        track.duration,
        track.status == e.AT_REST,
        tuple(_event(scenario, ev) for ev in events),
        track,
        landings(scenario, cue_ball.outcome, cue_ball.end_m),
        hop_of(scenario, take, launch.heading, *met),
    )  # fmt: skip


def _of_cue_ball(event: Event) -> tuple[BallState, BallState, BallState, BallState, float, float]:
    """An impact seen from the cue ball: (its before, other's before, its after, other's after, n_x, n_y)."""
    if event.first == 0:
        return (*event.before[:2], *event.after[:2], *event.normal)  # type: ignore[return-value]
    b, a = event.before, event.after
    return b[1], b[0], a[1], a[0], -event.normal[0], -event.normal[1]


def _contact(scenario: Scenario, launch: Launch, track: Track, event: Event) -> ContactFinding:
    """The cue ball's first contact with a ball."""
    mine, _, _, theirs_after, nx, ny = _of_cue_ball(event)
    other = event.second if event.first == 0 else event.first
    assert other is not None
    x0, y0 = scenario.balls[CUE_BALL]
    ch, sh = math.cos(launch.heading), math.sin(launch.heading)
    dx, dy = mine.x - x0, mine.y - y0
    centres = math.atan2(ny, nx)
    moves = math.hypot(theirs_after.vx, theirs_after.vy) > 0.0
    return ContactFinding(
        scenario.ball_names[other],
        dx * ch + dy * sh,
        1000.0 * (dy * ch - dx * sh),
        math.degrees(turn_within(centres - math.atan2(mine.vy, mine.vx))),
        math.degrees(turn_within(math.atan2(theirs_after.vy, theirs_after.vx) - centres)) if moves else 0.0,
        math.hypot(mine.vx, mine.vy),
        track.phase_of(0, event.time - 1e-9) if event.time > 0.0 else "sliding",
    )


def crossing_after(scenario: Scenario, track: Track, ball: int, after: float) -> float | None:
    """Where [m, left +] a ball crosses the target ball's gate after ``after``; None if it never heads there.

    The true crossing if it comes before the ball's next contact; else that of
    the straight line on which the ball then was, or on which it came to rest.
    """
    assert scenario.target is not None
    contacts = (ev.time for ev in track.events if ev.kind != "phase" and ball in (ev.first, ev.second))
    end = next((time for time in contacts if time > after), math.inf)
    setup = track.setup
    gate = gate_of(scenario)
    radius = float(setup.balls[ball, e.RADIUS])
    crossing = crossing_by(gate, track.state_of(ball, after), radius, setup.laws.cloth, end - after)
    return crossing if math.isfinite(crossing) else None


def leaving(track: Track, ball: int) -> list[Event]:
    """The contacts with which an object ball sets off: with the ball that strikes it, then with what it was frozen to.

    See physics/aim.py; empty for a ball that no other meets.
    """
    contacts = [event for event in track.events if event.kind != "phase" and ball in (event.first, event.second)]
    struck_at = next((k for k, event in enumerate(contacts) if event.kind == "ball"), len(contacts))
    left = contacts[struck_at : struck_at + 1]
    if left:
        after = left[0].after[0 if left[0].first == ball else 1]
        speed = math.hypot(after.vx, after.vy)
        until = left[0].time + (FROZEN_M / speed if speed > 0.0 else 0.0)
        left += takewhile(lambda event: _parts(track, ball, event, left[-1].time, until), contacts[struck_at + 1 :])
    return left


def _parts(track: Track, ball: int, event: Event, last: float, until: float) -> bool:
    """True if a ball meets in an event what it was frozen to: :func:`aim.parts_next`, on a track."""
    balls, place = track.setup.balls, track.state_of(ball, 0.0)
    if event.kind == "drop":
        return False
    if event.kind == "edge":
        rail = rail_beside(track.setup.edge, place.x, place.y, float(balls[ball, e.NOSE_DISTANCE]))
        return event.time <= until or (rail >= 0 and event.where == edge_name(LINE, rail))
    other = _partner(event, ball)
    if other is None:
        return event.time <= last
    return are_frozen(place, track.state_of(other, 0.0), contact_reach(balls, ball, other))


def _partner(event: Event, ball: int) -> int | None:
    """The object ball that a ball meets in an event; None if that is the cue ball or no ball."""
    return (event.second if event.first == ball else event.first) or None


def _target(scenario: Scenario, track: Track, first: Event | None) -> TargetFinding:
    """What became of the target ball."""
    if scenario.target is None:
        return TargetFinding(None, None, None, None, None)
    name = scenario.target.ball
    index = scenario.ball_names.index(name)
    left = leaving(track, index)
    potted = track.potted_in(index)
    hit_first = None if first is None else (first.second if first.first == 0 else first.first)
    if not left:
        blocker = None if hit_first is None else scenario.ball_names[hit_first]
        return TargetFinding(name, "blocked" if blocker else "not_reached", None, None, blocker)
    miss = crossing_after(scenario, track, index, left[-1].time)
    miss_mm = None if miss is None else 1000.0 * miss
    if potted == scenario.target.pocket:
        return TargetFinding(name, "potted", potted, miss_mm, None, by=_by(scenario, track, index, left))
    later = (ev for ev in track.events if ev.kind in ("ball", "edge") and ev.time > left[-1].time)
    met = next((ev for ev in later if index in (ev.first, ev.second)), None)
    in_the_way = hit_first if hit_first != index else None
    if in_the_way is None and met is not None:
        in_the_way = _partner(met, index)
    if in_the_way is None and (miss is None or abs(miss) > gate_of(scenario).half_width):
        in_the_way = next((other for ev in left[1:] if (other := _partner(ev, index)) is not None), None)
    blocker = None if in_the_way is None else scenario.ball_names[in_the_way]
    short = blocker is None and met is None and potted is None
    return TargetFinding(name, "blocked" if blocker else "missed", potted, miss_mm, blocker, short)


def _by(scenario: Scenario, track: Track, index: int, left: list[Event]) -> tuple[str, ...]:
    """By what a potted target ball went in, in the order of things."""
    names = scenario.ball_names
    mine = [ev for ev in track.events if ev.kind != "phase" and 0 in (ev.first, ev.second) and ev.time < left[0].time]
    told = [f"the cue ball off the {ev.where} first" for ev in mine if ev.kind == "edge"]
    striker = _partner(left[0], index)
    told += [f"by way of ball {names[striker]}"] if striker is not None else []
    for ev in track.events:
        if index in (ev.first, ev.second) and ev.time > left[-1].time:
            if ev.kind == "edge":
                told.append(f"off {_edge(scenario, track, index, ev)}")
            elif ev.kind == "ball":
                other = _partner(ev, index)
                told.append("off the cue ball again" if other is None else f"off ball {names[other]}")
    return tuple(dict.fromkeys(told))


def _edge(scenario: Scenario, track: Track, index: int, event: Event) -> str:
    """What a target ball meets of the edge: a rail; the near or the far jaw of its pocket; another pocket's jaw."""
    assert scenario.target is not None
    pocket = scenario.target.pocket
    if event.where != f"{pocket} jaw":
        return f"the {event.where}"
    mouth = aim.mouth_of(track.setup.edge, POCKETS.index(pocket))
    start, (lx, ly) = track.state_of(index, 0.0), mouth.left
    came = (start.x - mouth.x) * lx + (start.y - mouth.y) * ly
    met = (event.before[0].x - mouth.x) * lx + (event.before[0].y - mouth.y) * ly
    return "the near jaw" if came * met > 0.0 else "the far jaw"


def _cue_ball(track: Track) -> CueBallFinding:
    """Where the cue ball ends."""
    end = track.state_of(0, track.end_time)
    pocket = track.potted_in(0)
    outcome = "potted" if pocket else ("at_rest" if track.status == e.AT_REST else "unfinished")
    return CueBallFinding((end.x, end.y), outcome, pocket)


WHAT = {"ball": "meets", "edge": "cushion", "drop": "potted"}
AFTER_PHASE = {"sliding": "rolls", "rolling": "stops", "spinning": "spin ends"}


def _event(scenario: Scenario, event: Event) -> EventFinding:
    names = scenario.ball_names
    balls = (names[event.first],) if event.second is None else (names[event.first], names[event.second])
    what = AFTER_PHASE[event.where] if event.kind == "phase" else WHAT[event.kind]
    where = event.where if event.kind in ("edge", "drop") else None
    return EventFinding(event.time, what, balls, where, (event.before[0].x, event.before[0].y))
