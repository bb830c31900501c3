"""The page of the gear: table, cloth, rails and balls; and how the window speaks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from tablesim.model.gear import CLOTHS, CONDITIONS, RAILS
from tablesim.scene.look import LOOKS

from .fields import Choice, NumberField, Range
from .host import Host, Row
from .places import UNITS
from .widgets import Label

OWN = "own numbers"
SHOWN = {"evening": "dark"}  # names that a person sees under others
SCALES = ("1", "1.25", "1.5", "1.75", "2")
NUMBERS = (
    ("sliding", "cloth", "sliding_friction", Range(0.02, 0.5, 0.01, 3), ""),
    ("rolling", "cloth", "rolling_resistance", Range(0.001, 0.05, 0.001, 4), ""),
    ("spin loss", "cloth", "spin_deceleration_rad_s2", Range(0.5, 50.0, 1.0, 1), "rad/s²"),
    ("rebound", "rails", "restitution", Range(0.3, 1.0, 0.01, 2), ""),
    ("rubbing", "ball_set", "condition", Range(0.0, 6.0, 0.1, 2), "×"),
)


def gear_page(host: Host) -> list[Row]:
    """The rows of the page; with details the numbers behind the presets."""
    e = host.editor

    def table(part: str) -> Callable[[str], None]:
        return lambda v: e.set_gear("table", part, {**e.scenario.table.model_dump(), part: v})

    rows: list[Row] = [
        [named(host, "table", ("9ft", "8ft", "7ft"), lambda: e.scenario.table.size, table("size"))],
        [named(host, "pockets", ("tight", "standard", "loose"), lambda: e.scenario.table.pockets, table("pockets"))],
        [preset("cloth", CLOTHS, lambda: e.scenario.cloth, lambda v: e.set_gear("cloth", "cloth", v))],
        [preset("rails", RAILS, lambda: e.scenario.rails, lambda v: e.set_gear("rails", "rails", v))],
        [preset("balls", CONDITIONS, lambda: e.scenario.ball_set.condition,
                lambda v: e.set_gear_number("ball_set", "condition", v))],
    ]  # fmt: skip
    rows[-1][0].term = "condition"
    if host.settings.details:
        rows += [[number(host, *entry)] for entry in NUMBERS]
    return rows + window_rows(host)


def named(
    host: Host, key: str, names: tuple[str, ...], now: Callable[[], object], put: Callable[[str], None]
) -> Choice:
    """A choice by name, which may stand at numbers of one's own."""

    def value() -> str:
        found = now()
        return found if isinstance(found, str) else OWN

    return Choice(key, key, lambda: list(names), value, put)


def preset(key: str, values: Mapping[str, Any], now: Callable[[], Any], put: Callable[[Any], None]) -> Choice:
    """A choice among presets, which may stand at numbers of one's own."""

    def value() -> str:
        return next((name for name, known in values.items() if known == now()), OWN)

    return Choice(key, key, lambda: list(values), value, lambda name: put(values[name]))


def number(host: Host, key: str, part: str, name: str, limits: Range, unit: str) -> NumberField:
    """One number of the cloth, the rails or the balls."""
    e = host.editor

    def get() -> float:
        return float(getattr(getattr(e.scenario, part), name))

    def put(value: float) -> None:
        e.set_gear_number(part, name, value)

    term = "condition" if name == "condition" else ""
    return NumberField(key, key, get, put, limits, unit, term, host.tell)


def window_rows(host: Host) -> list[Row]:
    """Settings of the window."""
    s = host.settings

    def setting(
        key: str, values: tuple[str, ...], now: Callable[[], str], name: str, read: Callable[[str], Any]
    ) -> Row:
        def put(value: str) -> None:
            setattr(s, name, read(value))
            host.restyle()

        return [Choice(key, key, lambda: list(values), now, put, shown=lambda v: SHOWN.get(v, v))]

    looks = tuple(name for name in LOOKS if name != "paper")
    return [
        [Label("window label", "This window", 11.5, True)],
        setting("look", looks, lambda: s.look, "look", str),
        setting("size", SCALES, lambda: f"{s.scale:g}", "scale", float),
        setting("positions in", UNITS, lambda: s.unit, "unit", str),
        setting("words", ("American", "British"), lambda: "British" if s.british else "American", "british",
                lambda v: v == "British"),
        setting("numbers", ("few", "all"), lambda: "all" if s.details else "few", "details", lambda v: v == "all"),
    ]  # fmt: skip
