"""A layout as a few lines of text that a person can read, send and paste back.

    Title Left english, two paces
    Layout in diamonds from the head rail, then from the right rail as seen from the head end.
    Table 9ft, one diamond is 317.5 mm
    Ball cue   2.96   1.50
    Ball 3     5.51   2.36
    Zone 6.50  1.00  radius 0.50: stop here
    Target ball 3 to foot-left
    Take soft: 60 % left, soft, 1.3 m/s
    Take hard: 60 % left, hard, 4.5 m/s

Distances are of centres from the cushion noses.  Lines may come in any order; what
there is no line of stays as it was, and so do the cues of takes.  Empty lines,
spaces, the line of the layout and decimal commas do not matter.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

from tablesim.errors import ScenarioError, unknown_name
from tablesim.physics.ball_ball import contact_distance
from tablesim.physics.constants import FROZEN_M
from tablesim.physics.edge import POCKETS
from tablesim.physics.pocket import bed_clearance
from tablesim.units import DIAMONDS_LONG, diamonds_from_m, m_from_diamonds

from .gear import MAX_BALLS
from .scenario import Scenario
from .shot import MAX_NAME, Mark, Take, Target
from .table import Table
from .take_text import read_take, take_words

HEADING = "Layout in diamonds from the head rail, then from the right rail as seen from the head end."
SHORT = 2  # decimals, as people read them
NEAR_M = 0.003  # so near has a short text to be
DECIMALS = range(4, 13)  # of a finer one: the least that leaves touching balls touching
NUMBER = r"([+\u2212-]?\d{1,9}(?:[.,]\d{0,20})?)"
PAIR = rf"{NUMBER}(?:\s*[;/]\s*|,?\s+){NUMBER}"
BALL = re.compile(rf"(.+?):?\s+{PAIR}")
ZONE = re.compile(rf"(?:at\s+)?{PAIR}[,;]?\s+radius\s+{NUMBER}\s*(?::\s*(.*))?", re.IGNORECASE)
TAKE = re.compile(r"(\"(?:[^\"\\]|\\.)*\"|[^\":]+?)\s*:\s*(.*)")
SIZE = re.compile(r"(\d+(?:[.,]\d+)?)\s*[x×]\s*(\d+(?:[.,]\d+)?)\s*mm\b", re.IGNORECASE)
NAMED_SIZE = re.compile(r"([789])[\s-]*(?:ft|foot|feet)\b", re.IGNORECASE)
PLAIN_NAME = re.compile(r"[^\s\"]+(?: [^\s\"]+)*(?<!:)")


def to_text(scenario: Scenario, finer: bool = False) -> str:
    """The layout in diamonds, to two decimals: balls and zones within 3 mm, frozen balls frozen, no others so.

    To four or more, within 0.03 mm, if ``finer`` or where two would not do.
    """
    if not finer and (text := _written(scenario, SHORT)) and _keeps(text, scenario, _stays):
        return text
    for decimals in DECIMALS:
        text = _written(scenario, decimals)
        if _keeps(text, scenario):
            break
    return text


def _keeps(text: str, scenario: Scenario, alike: Callable[[Scenario, Scenario], bool] = lambda one, two: True) -> bool:
    """True if the text can be read, as a scenario that is alike."""
    try:
        return alike(scenario, from_text(text, scenario))
    except ScenarioError:
        return False


def _stays(one: Scenario, two: Scenario) -> bool:
    """True if all balls and zones are near where they were, and the same balls frozen to others or to a rail."""
    places = [*((one.balls[name], two.balls[name]) for name in one.balls)]
    zones = list(zip(_zones(one), _zones(two), strict=True))
    places += [(a.at, b.at) for a, b in zones]
    radii = (abs((a.radius_m or 0.0) - (b.radius_m or 0.0)) for a, b in zones)
    near = all(math.dist(a, b) <= NEAR_M for a, b in places) and all(off <= NEAR_M for off in radii)
    return near and _frozen(one) == _frozen(two)


def _frozen(scenario: Scenario) -> set[tuple[str, ...]]:
    """Balls frozen to one another, in pairs, and those frozen to an edge, alone."""
    radius, balls = scenario.ball_set.radius_m, scenario.balls
    pairs = {
        (one, two)
        for one, two in combinations(balls, 2)
        if math.dist(balls[one], balls[two]) - contact_distance(radius(one), radius(two)) <= FROZEN_M
    }
    edge = scenario.table.edge
    rails = {(n,) for n, at in balls.items() if bed_clearance(*at, scenario.nose_distance_m(n), edge) <= FROZEN_M}
    return pairs | rails


def _zones(scenario: Scenario) -> list[Mark]:
    return [mark for mark in scenario.marks if mark.kind == "zone"]


def _written(scenario: Scenario, decimals: int) -> str:
    length = scenario.table.surface.length_m

    def told(*metres: float) -> str:
        return "  ".join(f"{diamonds_from_m(v, length):{decimals + 3}.{decimals}f}" for v in metres)

    names = {name: _name(name) for name in scenario.ball_names}
    wide = max(len(shown) for shown in names.values())
    lines = [f"Title {_quoted(scenario.title)}"] if scenario.title else []
    lines += [HEADING, _table_line(scenario.table)]
    lines += [f"Ball {shown:<{wide}}  {told(*scenario.balls[name])}" for name, shown in names.items()]
    for zone in _zones(scenario):
        words = f": {_quoted(zone.text)}" if zone.text else ""
        radius = max(zone.radius_m or 0.0, m_from_diamonds(10.0**-decimals, length))  # never none at all
        lines.append(f"Zone {told(*zone.at)}  radius {told(radius).strip()}{words}")
    target = scenario.target
    lines.append(f"Target ball {_name(target.ball)} to {target.pocket}" if target else "Target none")
    lines += [f"Take {_name(take.name, but=':')}: {take_words(take)}" for take in scenario.takes]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """A text, in quotes where its ends or control characters could mislead."""
    return text if text.isprintable() and text == text.strip() and not text.startswith('"') else json.dumps(text)


def _unquoted(text: str, line: int) -> str:
    """What was meant by a text that may be in quotes."""
    if not text.startswith('"'):
        return text
    try:
        return str(json.loads(text))
    except ValueError:
        raise _fault(line, "the quotes do not close", text) from None


def _name(name: str, but: str = "") -> str:
    """A name, in quotes where spaces, quotes or a sign that it must not have could mislead."""
    plain = PLAIN_NAME.fullmatch(name) and name.isprintable() and not (but and but in name)
    return name if plain else json.dumps(name)


def _table_line(table: Table) -> str:
    size = table.size if isinstance(table.size, str) else None
    length, width = table.surface.length_m, table.surface.width_m
    what = size or f"{1000.0 * length!r} x {1000.0 * width!r} mm"
    return f"Table {what}, one diamond is {1000.0 * length / DIAMONDS_LONG:.1f} mm"


@dataclass
class _Said:
    """What the lines of a text have said so far, each with its line."""

    base: Scenario
    title: str | None = None
    table: tuple[int, str] | None = None
    balls: dict[str, tuple[int, float, float]] = field(default_factory=dict)
    zones: list[tuple[int, str]] = field(default_factory=list)
    target: tuple[Target | None] | None = None
    takes: dict[str, Take] = field(default_factory=dict)

    def add_title(self, line: int, rest: str) -> None:
        self.title = _unquoted(rest, line)

    def add_table(self, line: int, rest: str) -> None:
        self.table = line, rest

    def add_ball(self, line: int, rest: str) -> None:
        name, x, y = _read_ball(rest, line)
        if name in self.balls:
            raise _fault(line, f"ball {name!r} stands in line {self.balls[name][0]} already; keep one")
        self.balls[name] = (line, x, y)

    def add_zone(self, line: int, rest: str) -> None:
        self.zones.append((line, rest))

    def add_target(self, line: int, rest: str) -> None:
        self.target = (_read_target(rest, line),)

    def add_take(self, line: int, rest: str) -> None:
        found = TAKE.fullmatch(rest)
        if found is None:
            raise _fault(line, "must be Take, its name, a colon and how it is played", f"Take {rest}")
        name = _read_name(found[1], line, "take")
        if name in self.takes:
            raise _fault(line, f"take {name!r} is there twice; keep one")
        known = next((take for take in self.base.takes if take.name == name), None)
        try:
            self.takes[name] = read_take(name, found[2].strip(), known)
        except ScenarioError as error:
            raise _fault(line, f"take {name!r}: {error}") from None


LINES: dict[str, Callable[[_Said, int, str], None]] = {
    "ball": _Said.add_ball, "table": _Said.add_table, "target": _Said.add_target, "title": _Said.add_title,
    "zone": _Said.add_zone, "take": _Said.add_take,
}  # fmt: skip


def from_text(text: str, base: Scenario) -> Scenario:
    """``base`` with what the text says; ScenarioError names the line and what is wrong.

    A text without a line of some kind (title, table, target, zones, takes) keeps
    those of ``base``, the target as long as its ball is there.  A take that
    ``base`` has under its name keeps its cue.
    """
    said = _Said(base)
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.strip().lstrip("\ufeff>").strip()
        words = line.split(maxsplit=1)
        what = words[0].rstrip(":").lower() if words else ""
        if not what or what == "layout" or what.startswith("#"):
            continue
        if what not in LINES:
            raise _fault(number, "must begin with Ball, Zone, Table, Target, Take or Title", line)
        LINES[what](said, number, words[1].strip() if len(words) > 1 else "")
    return _assembled(base, said)


def _assembled(base: Scenario, said: _Said) -> Scenario:
    balls = said.balls
    if not balls:
        raise ScenarioError("layout text: no ball in it; write a line such as: Ball cue 2.0 2.0")
    if len(balls) > MAX_BALLS:
        raise ScenarioError(f"layout text: at most {MAX_BALLS} balls; got {len(balls)}")
    table = base.table if said.table is None else _read_table(said.table[1], said.table[0], base.table)
    length = table.surface.length_m
    odd = {name: ball for name, ball in base.ball_set.odd.items() if name in balls}
    fields: dict[str, Any] = {
        "balls": {name: (m_from_diamonds(x, length), m_from_diamonds(y, length)) for name, (_, x, y) in balls.items()},
        "table": table,
        "target": said.target[0] if said.target is not None else _target_left(base, balls),
        "ball_set": base.ball_set.model_copy(update={"odd": odd}),
    }
    fields |= {"title": said.title} if said.title is not None else {}
    fields |= {"takes": list(said.takes.values())} if said.takes else {}
    if said.zones:
        fields["marks"] = _with_zones(base.marks, [_read_zone(rest, line, length) for line, rest in said.zones])
    try:
        return base.change(**fields)
    except ScenarioError as error:
        for name, (number, _, _) in balls.items():
            if str(error).startswith(f"balls.{name}: "):
                raise _fault(number, str(error).removeprefix("balls.")) from None
        raise ScenarioError(f"layout text: {error}") from None


def _target_left(base: Scenario, balls: Iterable[str]) -> Target | None:
    return base.target if base.target is not None and base.target.ball in balls else None


def _with_zones(marks: list[Mark], zones: list[Mark]) -> list[Mark]:
    """The marks with other zones, which take the places of those there were, one by one."""
    left = iter(zones)
    placed = [next(left, None) if mark.kind == "zone" else mark for mark in marks]
    return [*(mark for mark in placed if mark is not None), *left]


def _fault(line: int, rule: str, got: str | None = None) -> ScenarioError:
    return ScenarioError(f"layout text, line {line}: {rule}" + (f"; got {got[:60]!r}" if got is not None else ""))


def _value(text: str) -> float:
    return float(text.replace("\u2212", "-").replace(",", "."))


def _read_ball(rest: str, line: int) -> tuple[str, float, float]:
    """Name and two distances [diamonds]."""
    found = BALL.fullmatch(rest)
    if found is None:
        rule = "must be Ball, its name and two numbers of diamonds, such as Ball 3 5.5 2.25"
        raise _fault(line, rule, f"Ball {rest}")
    return _read_name(found[1], line), _value(found[2]), _value(found[3])


def _read_zone(rest: str, line: int, length_m: float) -> Mark:
    found = ZONE.fullmatch(rest)
    if found is None:
        rule = "must be Zone, two numbers of diamonds and its radius, such as Zone 6.5 1.0 radius 0.5: stop here"
        raise _fault(line, rule, f"Zone {rest}")
    x, y, radius = (round(m_from_diamonds(_value(found[k]), length_m), 9) for k in (1, 2, 3))
    try:
        return Mark(kind="zone", at=(x, y), radius_m=radius, text=_unquoted(found[4] or "", line))
    except ScenarioError as error:
        raise error if str(error).startswith("layout text") else _fault(line, str(error)) from None


def _read_name(text: str, line: int, what: str = "ball") -> str:
    name = _unquoted(text.strip(), line)
    if not 1 <= len(name) <= MAX_NAME:
        raise _fault(line, f"a {what}'s name has 1 to {MAX_NAME} characters", text)
    return name


def _read_table(rest: str, line: int, base: Table) -> Table:
    """The table of that size, with the pockets of ``base``."""
    own, named = SIZE.search(rest), NAMED_SIZE.match(rest)
    if named:
        size: dict[str, float] | str = f"{named[1]}ft"
    elif own:
        size = {"length_m": _metres(own[1]), "width_m": _metres(own[2])}
    else:
        raise _fault(line, "must be Table and 9ft, 8ft, 7ft or a size such as 2540 x 1270 mm", f"Table {rest}")
    try:
        return Table.model_validate({"size": size, "pockets": base.pockets})
    except ValueError:
        raise _fault(
            line, "no such table: 1 to 4.5 m long, 0.5 to 2.3 m wide, with room for the pockets", rest
        ) from None


def _metres(millimetres: str) -> float:
    return float(millimetres.replace(",", ".")) / 1000.0


def _read_target(rest: str, line: int) -> Target | None:
    if rest.lower().rstrip(".") == "none":
        return None
    ball, to, pocket = rest.rpartition(" to ")
    if not to:
        raise _fault(line, "must be Target ball, its name, to and a pocket, or Target none", f"Target {rest}")
    ball = re.sub(r"^ball\s+", "", ball.strip(), flags=re.IGNORECASE)
    pocket = re.sub(r"\s+", "-", pocket.strip().lower().rstrip("."))
    if pocket not in POCKETS:
        raise _fault(line, unknown_name("pocket", pocket, POCKETS))
    return Target.model_validate({"ball": _read_name(ball, line), "pocket": pocket})
