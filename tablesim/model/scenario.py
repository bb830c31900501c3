"""A scenario: table, gear, balls, target and takes; read from and written to JSON."""

from __future__ import annotations

import json
import math
import os
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import combinations
from pathlib import Path
from typing import Annotated, Any

from pydantic import AfterValidator, Field, model_validator

from tablesim.errors import NameUnknown, ScenarioError, unknown_name
from tablesim.physics.ball_ball import contact_distance
from tablesim.physics.pocket import bed_clearance

from .base import Model, check_format, is_plain_text, shown, written
from .gear import DEFAULT_CUES, MAX_BALLS, BallSet, Cloth, Cue, Rails
from .shot import Mark, Name, Point, Take, Target
from .table import Table
from .whole import read_text, write_whole

FORMAT = 1
CUE_BALL = "cue"
LONGEST_TITLE = 200  # letters
MAX_CUES = 50
MAX_FILE_BYTES = 1_000_000
TOUCHING_M = 1e-6  # positions are written to the micrometre: closer than this counts as touching, not overlapping


Which = Take | str | Sequence[str] | None  # all takes; one by name or stated; several by name


class Scenario(Model):
    """A staged layout and the ways of playing it: metres from a corner of the noses, x to the foot, y to the left.

    Does not change: ``change(title="Mine")`` makes another.  ScenarioError names
    field, rule and value where a rule is broken.

    >>> shot = ts.Scenario(
    ...     balls={"cue": (0.94, 0.48), "3": (1.75, 0.75)},
    ...     target=ts.Target(ball="3", pocket="foot-left"),
    ...     takes=[ts.Take(name="left english", pace_m_s=1.9, tip=ts.Tip(right=-0.3))],
    ... )
    >>> round(ts.predict(shot)[0].target.miss_mm)
    161
    >>> shot.change(takes=[{"name": "too hard", "pace_m_s": 99}])
    Traceback (most recent call last):
        ...
    tablesim.errors.ScenarioError: takes[0].pace_m_s: must be at most 20; got 99
    """

    tablesim: int = Field(FORMAT, description="number of the file format")
    title: str = Field("", max_length=LONGEST_TITLE)
    notes: str = Field("", max_length=20_000)
    table: Table = Table()
    cloth: Cloth = Cloth()
    rails: Rails = Rails()
    ball_set: BallSet = BallSet()
    cues: Annotated[dict[Name, Cue], AfterValidator(OrderedDict)] = Field(
        DEFAULT_CUES, min_length=1, max_length=MAX_CUES
    )
    balls: dict[Name, Point] = Field(description='centres [m]; the cue ball is named "cue"', max_length=MAX_BALLS)
    target: Target | None = None
    takes: list[Take] = Field([], max_length=100)
    marks: list[Mark] = Field([], max_length=200)

    @model_validator(mode="before")
    @classmethod
    def _known_format(cls, data: Any) -> Any:
        return check_format(data, "tablesim", FORMAT)

    @model_validator(mode="after")
    def _names_agree(self) -> Scenario:
        if CUE_BALL not in self.balls:
            raise ValueError('balls: there must be a cue ball, named "cue"')
        if self.target is not None:
            if self.target.ball not in self.balls:
                raise ValueError("target.ball: " + unknown_name("ball", self.target.ball, self.balls))
            if self.target.ball == CUE_BALL:
                raise ValueError("target.ball: must be an object ball; got 'cue'")
        seen: set[str] = set()
        for i, take in enumerate(self.takes):
            if take.cue is not None and take.cue not in self.cues:
                raise ValueError(f"takes[{i}].cue: " + unknown_name("cue", take.cue, self.cues))
            if take.name in seen:
                raise ValueError(f"takes[{i}].name: names must differ; {take.name!r} is there twice")
            if take.aim.heading_deg is None and self.target is None:
                raise ValueError(f"takes[{i}].aim: needs a target, or give heading_deg")
            seen.add(take.name)
        for name in self.ball_set.odd:
            if name not in self.balls:
                raise ValueError("ball_set.odd: " + unknown_name("ball", name, self.balls))
        return self

    @model_validator(mode="after")
    def _pockets_take_the_balls(self) -> Scenario:
        p = self.table.pocket_set
        for name in self.balls:
            if not -0.4 <= self.nose_sine(name) <= 0.6:
                raise ValueError(
                    f"ball_set: cushion noses {1000 * self.rails.nose_height * self.ball_set.diameter_m:.1f} mm high"
                    f" cannot hold ball {name!r} of radius {1000 * self.ball_set.radius_m(name):.1f} mm"
                )
            diameter = 2.0 * self.ball_set.radius_m(name)
            for kind, mouth, cut, shelf in (
                ("corner", p.corner_mouth_m, p.corner_cut_deg - 135.0, p.corner_shelf_m),
                ("side", p.side_mouth_m, p.side_cut_deg - 90.0, p.side_shelf_m),
            ):
                throat = mouth - 2.0 * shelf * math.tan(math.radians(cut))
                if min(mouth, throat) < 1.02 * diameter:
                    raise ValueError(
                        f"table.pockets: the {kind} pocket narrows to {1000 * min(mouth, throat):.1f} mm,"
                        f" too tight for ball {name!r} of {1000 * diameter:.1f} mm"
                    )
        return self

    @model_validator(mode="after")
    def _balls_lie_apart_on_the_bed(self) -> Scenario:
        edge = self.table.edge
        for name, (x, y) in self.balls.items():
            rho = self.nose_distance_m(name)
            if not (abs(x) < 10.0 and abs(y) < 10.0) or bed_clearance(x, y, rho, edge) < -TOUCHING_M:
                raise ValueError(
                    f"balls.{name}: must lie on the bed, {1000 * rho:.1f} mm or more from the noses of a"
                    f" {edge.length:g} x {edge.width:g} m table; got [{x:g}, {y:g}]"
                )
        for (one, a), (two, b) in combinations(self.balls.items(), 2):
            apart = contact_distance(self.ball_set.radius_m(one), self.ball_set.radius_m(two))
            distance = math.hypot(a[0] - b[0], a[1] - b[1])
            if distance < apart - TOUCHING_M:
                raise ValueError(
                    f"balls.{two}: overlaps ball {one!r}: centres must be {1000 * apart:.3f} mm apart or more;"
                    f" got {1000 * distance:.3f} mm"
                )
        return self

    def nose_sine(self, ball: str) -> float:
        """sin(theta) = (h - R)/R of the cushion nose against a ball."""
        radius = self.ball_set.radius_m(ball)
        return (self.rails.nose_height * self.ball_set.diameter_m - radius) / radius

    def nose_distance_m(self, ball: str) -> float:
        """Distance [m] of a ball's centre from the nose it touches: R cos(theta)."""
        return self.ball_set.radius_m(ball) * math.sqrt(1.0 - self.nose_sine(ball) ** 2)

    @cached_property
    def ball_names(self) -> tuple[str, ...]:
        """All balls, the cue ball first: the order of the engine's arrays."""
        return (CUE_BALL, *(name for name in self.balls if name != CUE_BALL))

    def cue_of(self, take: Take) -> Cue:
        """The cue that a take is played with."""
        return self.cues[self.cue_name_of(take)]

    def cue_name_of(self, take: Take) -> str:
        """Name of the cue that a take is played with."""
        return take.cue if take.cue is not None else next(iter(self.cues))

    def take_named(self, name: str) -> Take:
        """The take of that name; NameUnknown suggests the nearest."""
        for take in self.takes:
            if take.name == name:
                return take
        raise NameUnknown(unknown_name("take", name, [t.name for t in self.takes]))

    def takes_for(self, which: Which) -> list[Take]:
        """All takes for None or no names; else those named, each once and in that order.

        Or a take that is stated, held against the scenario's rules.
        """
        if isinstance(which, Take):
            return [which] if which in self.takes else self.change(takes=[which]).takes
        named = [which] if isinstance(which, str) else which or [take.name for take in self.takes]
        return [self.take_named(name) for name in dict.fromkeys(named)]


def _no_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    data: dict[str, Any] = {}
    for key, value in pairs:
        if key in data:
            raise ScenarioError(f"key {key[:60]!r} stands twice in one object; keep one")
        data[key] = value
    return data


def _not_finite(token: str) -> float:
    raise ScenarioError(f"numbers must be finite; got {token}")


def parse_object(text: str, what: str) -> dict[str, Any]:
    """A JSON object without duplicate keys or infinite numbers; ScenarioError in plain words otherwise."""
    try:
        data = json.loads(text, object_pairs_hook=_no_duplicates, parse_constant=_not_finite)
    except json.JSONDecodeError as error:
        raise ScenarioError(f"not JSON: {error.msg} at line {error.lineno}, column {error.colno}") from None
    except (RecursionError, ValueError) as error:
        if isinstance(error, ScenarioError):
            raise
        raise ScenarioError(f"not {what}: nested too deep or a number too long") from None
    if not isinstance(data, dict):
        raise ScenarioError(f"{what} is a JSON object; got {shown(data)}")
    for words in _texts(data):
        if not is_plain_text(words):
            raise ScenarioError(f"texts must be without control characters; got {words[:40]!r}")
    return data


def _texts(value: Any) -> Iterator[str]:
    """Every text of a JSON value, the keys of its objects included."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield key
            yield from _texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner)


def from_json(text: str) -> Scenario:
    """A scenario from JSON text; ScenarioError in plain words if it breaks a rule.

    >>> ts.from_json('{"balls": {"cue": [0.6, 0.6]}}').balls
    {'cue': (0.6, 0.6)}
    """
    data = parse_object(text, "a scenario")
    if "tablesim_lesson" in data:
        raise ScenarioError(
            "this is a lesson, not a scenario: open it in the window, or name a scene of its file, as FILE#1"
        )
    return Scenario.model_validate(data)


def to_json(scenario: Scenario) -> str:
    """The scenario as JSON text, without the fields that hold their defaults.

    >>> ts.to_json(ts.Scenario(title="One ball", balls={"cue": (0.6, 0.6)})).splitlines()[:3]
    ['{', ' "tablesim": 1,', ' "title": "One ball",']
    """
    return written(scenario, "tablesim", FORMAT)


def load(path: str | os.PathLike[str], pipes: bool = False) -> Scenario:
    """Read a scenario file; ScenarioError names the file and what is wrong with it.

    ``pipes``: it may be a pipe, which keeps one waiting until something is written to it.

    >>> ts.load("no-such-file.json")
    Traceback (most recent call last):
        ...
    tablesim.errors.ScenarioError: no-such-file.json: cannot be read (No such file or directory)
    """
    file = Path(path)
    text = read_text(file, MAX_FILE_BYTES, pipes)
    try:
        return from_json(text)
    except ScenarioError as error:
        raise ScenarioError(f"{file}: {error}") from None


def save(scenario: Scenario, path: str | os.PathLike[str]) -> None:
    """Write a scenario file, whole or not at all; ScenarioError where that cannot be done.

    >>> two_cues = ts.open_scenario("two-cues")
    >>> ts.save(two_cues, "mine.json")
    >>> ts.load("mine.json") == two_cues
    True
    """
    write_whole(path, to_json(scenario).encode("utf-8"))
