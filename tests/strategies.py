"""Valid scenarios and lessons of every kind, for properties (hypothesis).

Bounds and lengths are read off the models' fields, so that a new number is
tried as soon as it is there; what ties fields together is stated here.
"""

from __future__ import annotations

import math
from typing import Any, get_args

from hypothesis import strategies as st

from tablesim.model.base import Model
from tablesim.model.gear import CLOTHS, DEFAULT_CUES, RAILS, BallSet, Cloth, Cue, FrictionLaw, OddBall, Rails
from tablesim.model.lesson import Lesson, Scene
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Aim, Mark, Take, Target, Tip
from tablesim.model.table import POCKET_SETS, SIZES, PocketSet, Size, Table
from tablesim.physics.ball_ball import contact_distance
from tablesim.physics.edge import POCKETS
from tablesim.physics.pocket import bed_clearance

ROOM = 1.0 + 1e-9  # keeps rounding on the right side of a bound
ODD_TEXTS = ["", " ", "null", "\ufeffa", "a\u2028b", "\u202eabc", "e\u0301", "👩‍🏫", "\\\"'", "Straße\n\tÉffet"]


PLAIN = st.characters(exclude_categories=("Cc", "Cs")) | st.sampled_from("\n\t")  # what a text may hold


def texts(most: int, least: int = 0) -> st.SearchStrategy[str]:
    """Texts of any characters, odd ones often."""
    return st.one_of(
        st.sampled_from([text for text in ODD_TEXTS if least <= len(text) <= most]),
        st.text(PLAIN, min_size=least, max_size=most),
    )


names = texts(40, 1)


def numbers(
    model: type[Model], field: str, least: float = -math.inf, most: float = math.inf
) -> st.SearchStrategy[float]:
    """Values of a model's number, within bounds that may be narrower here."""
    rules = model.model_fields[field].metadata
    low = max(getattr(rule, "ge", getattr(rule, "gt", -math.inf)) for rule in rules)
    high = min(getattr(rule, "le", math.inf) for rule in rules)
    above = any(hasattr(rule, "gt") for rule in rules)
    return st.floats(max(low, least), min(high, most), exclude_min=above)


@st.composite
def numbered(draw: st.DrawFn, model: type[Model]) -> dict[str, float]:
    """The numbers among a model's fields, any of them left out if the model allows it."""
    fields = {}
    for name, field in model.model_fields.items():
        if field.annotation is float and (field.is_required() or draw(st.booleans())):
            fields[name] = draw(numbers(model, name))
    return fields


def of_numbers(model: type[Model]) -> st.SearchStrategy[Any]:
    """A model that has nothing but independent numbers."""
    return numbered(model).map(lambda fields: model(**fields))


@st.composite
def ball_sets(draw: st.DrawFn, rails: Rails, balls: list[str]) -> BallSet:
    """A set whose balls the noses hold: sin(theta) of -0.4 to 0.6 for each."""
    fields = draw(numbered(BallSet))
    nose = rails.nose_height * fields.get("diameter_m", BallSet().diameter_m)
    odd = {}
    for name in draw(st.lists(st.sampled_from(balls), unique=True, max_size=3)):
        size = numbers(OddBall, "diameter_m", ROOM * nose / 0.8, nose / 0.3 / ROOM)
        odd[name] = OddBall(diameter_m=draw(st.none() | size), mass_kg=draw(st.none() | numbers(OddBall, "mass_kg")))
    return BallSet(**fields, odd=odd, friction_law=draw(st.sampled_from(get_args(FrictionLaw))))


@st.composite
def pocket_sets(draw: st.DrawFn, largest_m: float) -> PocketSet:
    """Pockets that take balls of up to a diameter [m]."""
    fields = draw(numbered(PocketSet))
    for kind, square in (("corner", 135.0), ("side", 90.0)):
        shelf = fields.get(f"{kind}_shelf_m", getattr(PocketSet(), f"{kind}_shelf_m"))
        cut = fields.get(f"{kind}_cut_deg", getattr(PocketSet(), f"{kind}_cut_deg"))
        narrows = max(0.0, 2.0 * shelf * math.tan(math.radians(cut - square)))
        fields[f"{kind}_mouth_m"] = draw(numbers(PocketSet, f"{kind}_mouth_m", ROOM * (1.02 * largest_m + narrows)))
    return PocketSet(**fields)


@st.composite
def tables(draw: st.DrawFn, largest_m: float) -> Table:
    """Tables by name and by numbers, with room for their pockets and pockets for the balls."""
    pockets: Any = draw(st.sampled_from(sorted(POCKET_SETS)) | pocket_sets(largest_m))
    size: Any = draw(st.sampled_from(sorted(SIZES)) | st.none())
    if size is None:
        own = POCKET_SETS[pockets] if isinstance(pockets, str) else pockets
        corners = math.sqrt(2.0) * own.corner_mouth_m
        size = Size(
            length_m=draw(numbers(Size, "length_m", ROOM * (corners + own.side_mouth_m + 0.4))),
            width_m=draw(numbers(Size, "width_m", ROOM * (corners + 0.1))),
        )
    return Table(size=size, pockets=pockets)


@st.composite
def places(draw: st.DrawFn, stage: Scenario, balls: list[str]) -> dict[str, tuple[float, float]]:
    """Balls on the bed of a scenario, apart or frozen to another, jaws included; who finds no room is left out.

    ``stage`` has the gear, and the cue ball somewhere.
    """
    bed, edge, gear = stage.table.surface, stage.table.edge, stage.ball_set
    share, turn = st.floats(0.0, 1.0), st.floats(0.0, 2.0 * math.pi)
    lain: dict[str, tuple[float, float]] = {}
    for name in [CUE_BALL, *(ball for ball in balls if ball != CUE_BALL)]:
        x, y = draw(share) * bed.length_m, draw(share) * bed.width_m
        beside = bool(lain) and draw(st.booleans())
        if beside:
            other, angle = draw(st.sampled_from(list(lain))), draw(turn)
            apart = contact_distance(gear.radius_m(name), gear.radius_m(other))
            x, y = lain[other][0] + apart * math.cos(angle), lain[other][1] + apart * math.sin(angle)
        if draw(st.booleans()):
            x, y = round(x, 6), round(y, 6)
        clear = [
            math.dist((x, y), place) - contact_distance(gear.radius_m(name), gear.radius_m(other))
            for other, place in lain.items()
        ]
        sine = (stage.rails.nose_height * gear.diameter_m - gear.radius_m(name)) / gear.radius_m(name)
        rho = gear.radius_m(name) * math.sqrt(1.0 - sine * sine)
        if min(clear, default=0.0) >= -0.9e-6 and bed_clearance(x, y, rho, edge) >= -0.9e-6:
            lain[name] = (x, y)
        elif name == CUE_BALL:
            lain[name] = (bed.length_m / 4.0, bed.width_m / 2.0)
    return {name: lain[name] for name in balls if name in lain}


def aims(target: bool) -> st.SearchStrategy[Aim]:
    """Aims of each kind that the scenario allows."""
    heading = st.builds(Aim, heading_deg=numbers(Aim, "heading_deg"))
    if not target:
        return heading
    pocket = st.builds(Aim, toward=st.just("pocket"), offset_mm=st.none() | numbers(Aim, "offset_mm"))
    return st.one_of(heading, pocket, st.builds(Aim, corrected=st.just(True)))


@st.composite
def tips(draw: st.DrawFn) -> Tip:
    """Anywhere on the ball's face."""
    offset, angle = draw(st.floats(0.0, 0.98)), draw(st.floats(0.0, 2.0 * math.pi))
    return Tip(right=offset * math.sin(angle), up=offset * math.cos(angle))


@st.composite
def takes(draw: st.DrawFn, cues: list[str], target: bool, least: int = 0) -> list[Take]:
    """Takes with names of their own, any field left out that may be."""
    made = []
    for name in draw(st.lists(names, unique=True, min_size=least, max_size=5)):
        how: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
            {"pace_m_s": numbers(Take, "pace_m_s"), "aim": aims(target)},
            optional={
                "cue": st.none() | st.sampled_from(cues),
                "tip": tips(),
                "elevation_deg": numbers(Take, "elevation_deg"),
                "stroke": st.sampled_from(["smooth", "jab"]),
            },
        )
        made.append(Take(name=name, **draw(how)))
    return made


@st.composite
def marks(draw: st.DrawFn) -> Mark:
    """Marks of every kind, anywhere, with more than their kind needs or not."""
    kind: Any = draw(st.sampled_from(["label", "zone", "arrow"]))
    place = st.tuples(*[st.floats(-5.0, 10.0)] * 2)
    radius = numbers(Mark, "radius_m")
    return Mark(
        kind=kind,
        at=draw(place),
        to=draw(place if kind == "arrow" else st.none() | place),
        radius_m=draw(radius if kind == "zone" else st.none() | radius),
        text=draw(texts(200)),
    )


def racks_of_cues() -> st.SearchStrategy[dict[str, Cue]]:
    """Cues by name in any order: the usual two as well, the other way round too."""
    usual = st.permutations(list(DEFAULT_CUES.items())).map(dict)
    return usual | st.dictionaries(names, of_numbers(Cue), min_size=1, max_size=4)


@st.composite
def scenarios(draw: st.DrawFn, most_balls: int = 6, least_balls: int = 1, least_takes: int = 0) -> Scenario:
    """Scenarios over all fields of the model; fewer balls where there is no room for them."""
    others = draw(st.lists(names, unique=True, min_size=least_balls - 1, max_size=most_balls - 1))
    balls = draw(st.permutations(list({CUE_BALL: None} | dict.fromkeys(others))))
    rails = draw(st.sampled_from(list(RAILS.values())) | of_numbers(Rails))
    ball_set = draw(ball_sets(rails, balls))
    table = draw(tables(max(2.0 * ball_set.radius_m(ball) for ball in balls)))
    cloth = draw(st.sampled_from(list(CLOTHS.values())) | of_numbers(Cloth))
    middle = (table.surface.length_m / 4.0, table.surface.width_m / 2.0)
    own = {name: ball for name, ball in ball_set.odd.items() if name == CUE_BALL}
    stage = Scenario(
        table=table, rails=rails, balls={CUE_BALL: middle}, ball_set=ball_set.model_copy(update={"odd": own})
    )
    lain = draw(places(stage.model_copy(update={"ball_set": ball_set}), balls))
    objects = [name for name in lain if name != CUE_BALL]
    cues = draw(racks_of_cues())
    pots = bool(objects) and draw(st.booleans())
    target = Target(ball=draw(st.sampled_from(objects)), pocket=draw(st.sampled_from(POCKETS))) if pots else None
    return stage.change(
        title=draw(texts(200)), notes=draw(texts(300)), cloth=cloth, cues=cues, balls=lain, target=target,
        ball_set=ball_set.model_copy(update={"odd": {k: v for k, v in ball_set.odd.items() if k in lain}}),
        takes=draw(takes(list(cues), target is not None, least_takes)), marks=draw(st.lists(marks(), max_size=3)),
    )  # fmt: skip


@st.composite
def scenes(draw: st.DrawFn) -> Scene:
    """Scenes with a scenario of their own or the file of one."""
    own = draw(st.none() | scenarios(3))
    return Scene(
        scenario=own,
        file=None if own is not None else draw(texts(1000)),
        caption=draw(texts(400)),
        take=draw(st.none() | names),
        with_takes=draw(st.lists(names, max_size=3)),
        corrected=draw(st.booleans()),
        off_the_line=draw(st.integers(0, 10)),
        spin=draw(st.booleans()),
        whole_ways=draw(st.booleans()),
        closer=draw(st.none() | st.tuples(*(st.floats(low, low + 3.0) for low in (-1.0, -2.0, 2.5, 2.0)))),
        lens=draw(st.booleans()),
        speed=draw(st.none() | st.floats(0.02, 1.0)),
        contact_speed=draw(st.none() | st.floats(0.02, 1.0)),
    )


def lessons() -> st.SearchStrategy[Lesson]:
    """Lessons of a few scenes."""
    return st.builds(Lesson, title=texts(200), scenes=st.lists(scenes(), max_size=3))
