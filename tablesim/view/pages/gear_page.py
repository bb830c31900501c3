"""The page of the gear: table, cloth, rails and balls; what was measured of them; and how the window speaks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple, get_args

from tablesim.model.base import Model
from tablesim.model.gear import CLOTHS, CONDITIONS, RAILS, BallSet, Cloth, Cue, FrictionLaw, Rails
from tablesim.model.shot import MAX_NAME
from tablesim.scene.look import LOOKS
from tablesim.study.calibrate_cue import offset_of_shift_mm

from ..controls.fields import Choice, TextField
from ..controls.number_fields import NumberField
from ..controls.widgets import BODY, SMALL, Button, Label
from ..document.measuring import NONE, TESTS, Entry
from ..document.places import UNITS
from ..numbers import Range
from .host import Host, PanelPage, Row

OWN = "own numbers"
SHOWN = {"evening": "dark"}  # names that a person sees under others
SCALES = ("1", "1.25", "1.5", "1.75", "2")
PARTS: dict[str, type[Model]] = {"cloth": Cloth, "rails": Rails, "ball_set": BallSet}


class GearNumber(NamedTuple):
    """A number of the gear: what it is called, the part and the field that have it, its step, decimals and unit."""

    words: str
    part: str
    field: str
    step: float
    digits: int
    unit: str = ""


NUMBERS = (
    GearNumber("sliding", "cloth", "sliding_friction", 0.01, 3),
    GearNumber("rolling", "cloth", "rolling_resistance", 0.001, 4),
    GearNumber("spin loss", "cloth", "spin_deceleration_rad_s2", 1.0, 1, "rad/s²"),
    GearNumber("rebound", "rails", "restitution", 0.01, 2),
    GearNumber("facings", "rails", "facing_restitution", 0.01, 2),
    GearNumber("rubbing", "ball_set", "condition", 0.1, 2, "×"),
)


def gear_page(host: Host) -> list[Row]:
    """The rows of the page; with details the numbers behind the presets."""
    e = host.editor

    def table(part: str) -> Callable[[str], None]:
        return lambda v: e.set_gear("table", part, {**e.scenario.table.model_dump(), part: v})

    rows: list[Row] = [
        [choice_by_name("table", ("9ft", "8ft", "7ft"), lambda: e.scenario.table.size, table("size"))],
        [choice_by_name("pockets", ("tight", "standard", "loose"), lambda: e.scenario.table.pockets, table("pockets"))],
        [preset("cloth", CLOTHS, lambda: e.scenario.cloth, lambda v: e.set_gear("cloth", "cloth", v))],
        [preset("rails", RAILS, lambda: e.scenario.rails, lambda v: e.set_gear("rails", "rails", v))],
        [preset("balls", CONDITIONS, lambda: e.scenario.ball_set.condition,
                lambda v: e.set_gear_field("ball_set", "condition", v))],
    ]  # fmt: skip
    rows[-1][0].term = "condition"
    if host.settings.details:
        rows += [[number_field(host, gear)] for gear in NUMBERS]
        rows.append([
            Choice("friction law", "friction", lambda: list(get_args(FrictionLaw)),
                   lambda: e.scenario.ball_set.friction_law, lambda v: e.set_gear_field("ball_set", "friction_law", v)),
        ])  # fmt: skip
        rows[-1][0].term = "friction law"
    if host.measuring.test is not None:  # it needs the room of what has nothing to do with it
        which: list[Row] = [[rack_choice(host)]] if host.measuring.of_a_cue else []
        return [*rows[2:], *which, *measured_rows(host)]
    return rows + cue_rows(host) + measured_rows(host) + window_rows(host)


def choice_by_name(key: str, names: tuple[str, ...], now: Callable[[], object], put: Callable[[str], None]) -> Choice:
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


def number_field(host: Host, gear: GearNumber) -> NumberField:
    """One number of the cloth, the rails or the balls."""
    e = host.editor

    def get() -> float:
        return float(getattr(getattr(e.scenario, gear.part), gear.field))

    def put(value: float) -> None:
        e.set_gear_field(gear.part, gear.field, value)

    term = "condition" if gear.field == "condition" else ""
    limits = Range.of(PARTS[gear.part], gear.field, gear.step, gear.digits)
    return NumberField(gear.words, gear.words, get, put, limits, gear.unit, term, host.tell)


def rack_choice(host: Host) -> Choice:
    """The cue looked at, which is measured too."""
    rack = host.measuring.rack
    choice = Choice("rack cue", "cue", lambda: list(host.editor.scenario.cues), lambda: rack.name, rack.pick, "cue")
    choice.note = "looked at here, and measured below; the takes keep theirs"
    return choice


def cue_rows(host: Host) -> list[Row]:
    """The cues by name: looked at one by one, added, copied, renamed, removed."""
    e, rack = host.editor, host.measuring.rack
    return [
        [Label("cues label", "Cues", 11.5, True)],
        [rack_choice(host)],
        [TextField("cue name", lambda: rack.name, rack.rename, label="its name", most=MAX_NAME)],
        [NumberField(
            "rack end mass", "ball : end mass", lambda: e.scenario.cues[rack.name].ball_to_end_mass,
            lambda v: rack.set_number("ball_to_end_mass", v), Range.of(Cue, "ball_to_end_mass", 1.0, 1), "", "cue",
            host.tell,
        )],
        [Button("new cue", "New", rack.add, note="an ordinary cue, as a new one"),
         Button("copy cue", "Copy", rack.copy, note="a new cue like this one"),
         Button("remove cue", "Remove", rack.remove, note="this cue, if no take is played with it")],
        [Label("cue users", lambda: rack.words, 11.5, True, lines=2)],
    ]  # fmt: skip


def measured_rows(host: Host) -> list[Row]:
    """A test made at the table: its numbers, its readings, what they say, and the way into the gear."""
    m = host.measuring

    def choose(name: str) -> None:
        m.chosen = name

    rows: list[Row] = [
        [Label("measured label", "Measured at the table", SMALL, True)],
        [Choice("test", "test", lambda: [NONE, *TESTS], lambda: m.chosen, choose)],
    ]
    if m.test is None:
        return rows
    fields: Row = [measured_number(host, entry) for entry in m.test.numbers]
    if any(entry.name == "offset" for entry in m.test.numbers):
        fields.insert(1, moved_field(host))
    lists: Row = [readings_field(host, name, note) for name, note in m.test.readings]
    rows += [fields[k : k + 2] for k in range(0, len(fields), 2)]
    rows += [[field] for field in lists]
    into = Button("put measured", lambda: m.into, m.put, None, lambda: m.found,
                  "no other cue is changed; one step of undo")  # fmt: skip
    return [*rows, [Label("measured", lambda: m.words, BODY, lines=5)], [into]]


def measured_number(host: Host, entry: Entry) -> NumberField:
    """A number that the test needs."""
    numbers = host.measuring.numbers[host.measuring.chosen]

    def put(value: float) -> None:
        numbers[entry.name] = value

    field = NumberField(f"test {entry.name}", entry.name, lambda: numbers[entry.name], put, entry.limits, entry.unit,
                        "", host.tell)  # fmt: skip
    field.note = entry.note
    field.share(1.4 if len(entry.name) > 6 else 1.0)
    return field


def moved_field(host: Host) -> NumberField:
    """The same offset, as the way that the cue is moved from the centre: the contact moves less."""
    numbers = host.measuring.numbers[host.measuring.chosen]

    def contact_share() -> float:
        return offset_of_shift_mm(host.editor.scenario, host.measuring.cue, 1.0)

    def put(value: float) -> None:
        numbers["offset"] = value * contact_share()

    field = NumberField("test moved", "moved", lambda: numbers["offset"] / contact_share(), put,
                        Range(1.0, 30.0, 0.5, 1), "mm", "", host.tell)  # fmt: skip
    field.note = "the cue's own way from the centre; the contact moves less"
    return field


def readings_field(host: Host, name: str, note: str) -> TextField:
    """A list of readings."""
    texts = host.measuring.texts[host.measuring.chosen]

    def put(text: str) -> None:
        texts[name] = text

    field = TextField(f"test {name}", lambda: texts[name], put, label=name)
    field.note = note
    return field


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
        [Label("window label", "This window", SMALL, True)],
        setting("look", looks, lambda: s.look, "look", str),
        setting("size", SCALES, lambda: f"{s.scale:g}", "scale", float),
        setting("positions in", UNITS, lambda: s.unit, "unit", str),
        setting("words", ("American", "British"), lambda: "British" if s.british else "American", "british",
                lambda v: v == "British"),
        setting("numbers", ("few", "all"), lambda: "all" if s.details else "few", "details", lambda v: v == "all"),
    ]  # fmt: skip


GEAR = PanelPage(gear_page, lambda host: (host.settings.details, host.measuring.chosen))
