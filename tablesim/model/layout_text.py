"""A layout as a few lines of text that a person can read, send and paste back.

    Layout in diamonds from the head rail, then from the right rail as seen from the head end.
    Table 9ft, one diamond is 317.5 mm
    Ball cue   2.9584   1.5033
    Ball 3     5.5118   2.3622
    Target ball 3 to foot-left

Distances are of centres from the cushion noses.  Lines may come in any order;
empty lines, spaces, the first line and decimal commas do not matter.
"""

from __future__ import annotations

import json
import re

from tablesim.errors import ScenarioError, unknown_name
from tablesim.physics.edge import POCKETS
from tablesim.units import DIAMONDS_LONG, diamonds_from_m, m_from_diamonds

from .gear import MAX_BALLS
from .scenario import Scenario
from .shot import MAX_NAME, Target
from .table import Table

HEADING = "Layout in diamonds from the head rail, then from the right rail as seen from the head end."
DECIMALS = range(4, 13)  # the least that leaves touching balls touching
NUMBER = r"([+\u2212-]?\d{1,9}(?:[.,]\d{0,20})?)"
BALL = re.compile(rf"(.+?):?\s+{NUMBER}(?:\s*[;/]\s*|,?\s+){NUMBER}")
SIZE = re.compile(r"(\d+(?:[.,]\d+)?)\s*[x×]\s*(\d+(?:[.,]\d+)?)\s*mm\b", re.IGNORECASE)
NAMED_SIZE = re.compile(r"([789])[\s-]*(?:ft|foot|feet)\b", re.IGNORECASE)
PLAIN_NAME = re.compile(r"[^\s\"]+(?: [^\s\"]+)*(?<!:)")


def to_text(scenario: Scenario) -> str:
    """The balls, the table's size and the target in diamonds; read back within 0.03 mm, touching balls touching."""
    for decimals in DECIMALS:
        text = _written(scenario, decimals)
        try:
            from_text(text, scenario)
        except ScenarioError:
            continue
        break
    return text


def _written(scenario: Scenario, decimals: int) -> str:
    length = scenario.table.surface.length_m
    names = {name: _name(name) for name in scenario.ball_names}
    wide = max(len(shown) for shown in names.values())
    lines = [HEADING, _table_line(scenario.table)]
    for name, shown in names.items():
        x, y = (diamonds_from_m(v, length) for v in scenario.balls[name])
        lines.append(f"Ball {shown:<{wide}}  {x:{decimals + 3}.{decimals}f}  {y:{decimals + 3}.{decimals}f}")
    target = scenario.target
    lines.append(f"Target ball {_name(target.ball)} to {target.pocket}" if target else "Target none")
    return "\n".join(lines) + "\n"


def _name(name: str) -> str:
    """A ball's name, in quotes where spaces or quotes could mislead."""
    return name if PLAIN_NAME.fullmatch(name) and name.isprintable() else json.dumps(name)


def _table_line(table: Table) -> str:
    size = table.size if isinstance(table.size, str) else None
    length, width = table.surface.length_m, table.surface.width_m
    what = size or f"{1000.0 * length!r} x {1000.0 * width!r} mm"
    return f"Table {what}, one diamond is {1000.0 * length / DIAMONDS_LONG:.1f} mm"


def from_text(text: str, base: Scenario) -> Scenario:
    """``base`` with the balls, table size and target of the text; ScenarioError names the line and what is wrong.

    A text that names no table or no target keeps those of ``base``, the target
    as long as its ball is there.
    """
    balls: dict[str, tuple[int, float, float]] = {}
    table, target, aimed = base.table, base.target, False
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.strip().lstrip("\ufeff>").strip()
        words = line.split(maxsplit=1)
        what = words[0].rstrip(":").lower() if words else ""
        rest = words[1].strip() if len(words) > 1 else ""
        if not what or what == "layout" or what.startswith("#"):
            continue
        if what == "table":
            table = _read_table(rest, number, base.table)
        elif what == "ball":
            name, x, y = _read_ball(rest, number)
            if name in balls:
                raise _fault(number, f"ball {name!r} stands in line {balls[name][0]} already; keep one")
            balls[name] = (number, x, y)
        elif what == "target":
            target, aimed = _read_target(rest, number), True
        else:
            raise _fault(number, "must begin with Ball, Table or Target", line)
    if target is not None and target.ball not in balls and not aimed:
        target = None
    return _assembled(base, balls, table, target)


def _assembled(
    base: Scenario, balls: dict[str, tuple[int, float, float]], table: Table, target: Target | None
) -> Scenario:
    if not balls:
        raise ScenarioError("layout text: no ball in it; write a line such as: Ball cue 2.0 2.0")
    if len(balls) > MAX_BALLS:
        raise ScenarioError(f"layout text: at most {MAX_BALLS} balls; got {len(balls)}")
    length = table.surface.length_m
    places = {name: (m_from_diamonds(x, length), m_from_diamonds(y, length)) for name, (_, x, y) in balls.items()}
    odd = {name: ball for name, ball in base.ball_set.odd.items() if name in balls}
    ball_set = base.ball_set.model_copy(update={"odd": odd})
    try:
        return base.change(balls=places, table=table, target=target, ball_set=ball_set)
    except ScenarioError as error:
        for name, (number, _, _) in balls.items():
            if str(error).startswith(f"balls.{name}: "):
                raise _fault(number, str(error).removeprefix("balls.")) from None
        raise ScenarioError(f"layout text: {error}") from None


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


def _read_name(text: str, line: int) -> str:
    name = text.strip()
    if name.startswith('"'):
        try:
            name = json.loads(name)
        except ValueError:
            raise _fault(line, "the name's quotes do not close", text) from None
    if not isinstance(name, str) or not 1 <= len(name) <= MAX_NAME:
        raise _fault(line, f"a ball's name has 1 to {MAX_NAME} characters", text)
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
