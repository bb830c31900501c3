"""Commands that turn what was measured at a table into the gear's numbers."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated

import typer

from tablesim.errors import ScenarioError, TablesimError
from tablesim.model.gear import Cue
from tablesim.model.scenario import MAX_CUES, Scenario, load, save
from tablesim.model.shot import LEVEL_DEG, MAX_NAME
from tablesim.model.whole import alone
from tablesim.resources import file_and_scene, is_ready
from tablesim.study.calibrate import PARTS, Finding, cue_named, figures, numbers_of, remark, with_finding
from tablesim.study.calibrate_cue import SquirtTest

from .common import AsJson, dump, numbers, print_table, vector

if TYPE_CHECKING:
    from tablesim.study.sided import Off

calibrate = typer.Typer(
    help="Fit the gear to your own cue and table: what was measured there, turned into the gear's numbers.",
    no_args_is_help=True,
)

Into = Annotated[
    str | None, typer.Option("--into", metavar="FILE", help="a scenario file of yours: use its gear, and write into it")
]
CueName = Annotated[str | None, typer.Option("--cue", metavar="NAME", help="which cue of FILE; omitted: its first")]
CueMeasured = Annotated[
    str | None, typer.Option("--cue", metavar="NAME", help="which cue of FILE, or a new one for it; omitted: its first")
]
Again = "repeat it, or commas between"
OFF_HELP = f"off the line; 34r: with right english; {Again}"

# Options of a squirt test.
OffReadings = Annotated[
    list[str] | None, typer.Option("--off", metavar="MM", help=f"off the line, 34r with right english; {Again}")
]
Offset = Annotated[float | None, typer.Option("--offset", metavar="MM", help="contact beside the centre")]
Moved = Annotated[float | None, typer.Option("--moved", metavar="MM", help="instead: the cue's way from the centre")]
Distance = Annotated[float | None, typer.Option("--distance", metavar="M", help="from the ball's place")]
Pace = Annotated[float | None, typer.Option("--pace", metavar="M/S", help="of the same stroke at the centre")]
Timed = Annotated[str | None, typer.Option("--timed", metavar="M,S", help="instead: way and seconds of it from rest")]
Elevation = Annotated[float | None, typer.Option("--elevation", metavar="DEG", help="of the butt")]
Jabbed = Annotated[list[str] | None, typer.Option("--jabbed", metavar="MM", help=f"off when jabbed; {Again}")]
Pivot = Annotated[list[str] | None, typer.Option("--pivot", metavar="M", help=f"or just the pivot length; {Again}")]
OffsetError = Annotated[float, typer.Option("--offset-error", metavar="MM", help="of each shot's contact")]
OffError = Annotated[float, typer.Option("--off-error", metavar="MM", help="of each reading")]
PaceError = Annotated[float, typer.Option("--pace-error", metavar="SHARE", help="of the pace")]
ElevationError = Annotated[float, typer.Option("--elevation-error", metavar="DEG", help="of the butt")]


@calibrate.command("cue")
def calibrate_cue(
    off: OffReadings = None,
    offset: Offset = None,
    moved: Moved = None,
    distance: Distance = None,
    pace: Pace = None,
    timed: Timed = None,
    elevation: Elevation = None,
    jabbed: Jabbed = None,
    pivot: Pivot = None,
    offset_error: OffsetError = SquirtTest.offset_error_mm,
    off_error: OffError = SquirtTest.off_error_mm,
    pace_error: PaceError = SquirtTest.pace_error,
    elevation_error: ElevationError = SquirtTest.elevation_error_deg,
    into: Into = None,
    cue: CueMeasured = None,
    as_json: AsJson = False,
) -> None:
    """End mass of the shaft, from a squirt test with right or left english, or from a pivot length."""
    from tablesim.study import calibrate_cue as study

    if offset is not None and moved is not None:
        raise TablesimError(
            f"--offset, --moved: only one of them can say where the tip touches; got {offset:g} and {moved:g}"
        )
    gear = _gear(into, cue)
    scenario = _with_cue(gear, cue)
    new, shaft = scenario is not gear, cue_named(scenario, cue)
    if moved is not None:
        offset = study.offset_of_shift_mm(scenario, shaft, moved)
    if pivot is not None:
        found = study.cue_of_pivot(scenario, _readings(pivot, "--pivot"), offset_mm=offset or 0.0)
        _answer(scenario, found, into, cue, as_json, new)
        return
    pace = _pace(scenario, pace, timed)
    _check_complete({"--off": off, "--offset or --moved": offset, "--distance": distance, "--pace or --timed": pace,
                     "--elevation": elevation})  # fmt: skip
    assert offset is not None and distance is not None and pace is not None and elevation is not None  # noqa: PT018
    test = SquirtTest(offset, distance, pace, elevation, offset_error, off_error, pace_error, elevation_error)
    smooth, jabs = _sided(off or (), "--off"), _sided(jabbed or (), "--jabbed")
    _answer(scenario, study.calibrate_cue(scenario, shaft, test, smooth, jabs), into, cue, as_json, new)


def _pace(scenario: Scenario, pace: float | None, timed: str | None) -> float | None:
    """The pace [m/s] as it is said, or as it was timed."""
    from tablesim.study.calibrate_cue import timed_pace

    if timed is None:
        return pace
    if pace is not None:
        raise TablesimError(f"--pace, --timed: only one of them can say the pace; got {pace:g} and {timed[:60]}")
    return timed_pace(scenario, *_pair(timed, "--timed"))


def _check_complete(given: dict[str, object]) -> None:
    """TablesimError that names what a squirt test lacks."""
    missing = [name for name, value in given.items() if value is None]
    if missing:
        raise TablesimError(f"{', '.join(missing)}: required for a squirt test; or give --pivot")


@calibrate.command("cloth")
def calibrate_cloth(
    roll: Annotated[
        list[str] | None, typer.Option("--roll", metavar="M,S", help="a slow roll: distance, seconds; may be repeated")
    ] = None,
    stop: Annotated[
        list[str] | None,
        typer.Option("--stop", metavar="M,M", help="a stop shot: gap, way of the object ball; may be repeated"),
    ] = None,
    low: Annotated[float | None, typer.Option("--low", metavar="MM", help="contact under the centre")] = None,
    elevation: Annotated[float, typer.Option("--elevation", metavar="DEG", help="of the butt, stop shot")] = LEVEL_DEG,
    into: Into = None,
    cue: CueName = None,
    as_json: AsJson = False,
) -> None:
    """Rolling resistance, from slow rolls; sliding friction, from stop shots."""
    from tablesim.study import calibrate_table as study

    scenario = _gear(into, cue)
    if not roll and not stop:
        raise TablesimError("--roll: is required for rolling resistance; or give --stop and --low for sliding friction")
    rolled = study.calibrate_roll([_pair(text, "--roll") for text in roll]) if roll else study.ClothFinding()
    if stop:
        if low is None:
            raise TablesimError("--low: is required for a stop shot: how far under the centre the tip touches, in mm")
        stops = [_pair(text, "--stop") for text in stop]
        place = with_finding(scenario, rolled)
        slid = study.calibrate_slide(place, low, stops, cue_named(scenario, cue), elevation)
        rolled = study.ClothFinding(rolled.rolling_resistance, slid.sliding_friction)
    _answer(scenario, rolled, into, None, as_json)


@calibrate.command("rails")
def calibrate_rails(
    free: Annotated[list[str], typer.Option("--free", metavar="M", help=f"roll with no rail in the way; {Again}")],
    rail: Annotated[float, typer.Option("--rail", metavar="M", help="from the mark to the rail, ramp moved")],
    back: Annotated[list[str], typer.Option("--back", metavar="M", help=f"where it stops, off the rail; {Again}")],
    into: Into = None,
    as_json: AsJson = False,
) -> None:
    """Restitution of the rails, from a ball rolled down a ramp straight at one."""
    from tablesim.study import calibrate_table as study

    scenario = _gear(into, None)
    found = study.calibrate_rails(scenario, _readings(free, "--free"), rail, _readings(back, "--back"))
    _answer(scenario, found, into, None, as_json)


@calibrate.command("balls")
def calibrate_balls(
    cut: Annotated[float, typer.Option("--cut", metavar="DEG", help="from the line of centres to the cue's")],
    stop: Annotated[
        list[str],
        typer.Option(
            "--stop", metavar="MM,MM", help="where the object ball stops: along, off the line; may be repeated"
        ),
    ],
    into: Into = None,
    as_json: AsJson = False,
) -> None:
    """Condition of the balls (factor on their friction), from the throw of a frozen ball."""
    from tablesim.study import calibrate_table as study

    scenario = _gear(into, None)
    stops = [_pair(text, "--stop") for text in stop]
    _answer(scenario, study.calibrate_balls(scenario, cut, stops), into, None, as_json)


def _readings(texts: Iterable[str], name: str) -> list[float]:
    """Readings given one by one or with commas between."""
    return [value for text in texts for value in numbers(text, name)]


def _sided(texts: Iterable[str], name: str) -> Off:
    """Readings with the side of their english, given one by one or with commas between."""
    from tablesim.study.sided import parse_off

    return parse_off([word for text in texts for word in text.split(",")], name)


def _pair(text: str, name: str) -> tuple[float, float]:
    one, two = vector(text, name, 2)
    return one, two


def _gear(into: str | None, cue: str | None) -> Scenario:
    """The gear of the file that is to be written into; ordinary gear without one."""
    if into is not None and is_ready(into):
        raise ScenarioError(f"--into: needs a file of yours; {into!r} comes with the program: save a copy of it first")
    if into is not None:
        file, scene = file_and_scene(into)
        if scene is not None:
            raise ScenarioError(f"--into: needs a scenario file; {into[:200]!r} names a scene of {file[:200]}")
        return load(into)
    if cue is not None:
        raise ScenarioError(f"--cue: goes with --into FILE, whose cue it names; got {cue[:60]!r}")
    return Scenario(balls={"cue": (0.635, 0.635)})


def _with_cue(scenario: Scenario, name: str | None) -> Scenario:
    """The scenario itself if it has that cue, or none is named; else one with an ordinary cue of that name, last."""
    if name is None or name in scenario.cues:
        return scenario
    if len(scenario.cues) >= MAX_CUES:
        raise ScenarioError(f"--cue: a file has at most {MAX_CUES} cues; {name[:60]!r} would be one more")
    if not 1 <= len(name) <= MAX_NAME:
        raise ScenarioError(f"--cue: a name has 1 to {MAX_NAME} letters; got {len(name)}")
    return scenario.change(cues={**scenario.cues, name: Cue()})


def _answer(
    scenario: Scenario, finding: Finding, into: str | None, cue: str | None, as_json: bool, new: bool = False
) -> None:
    """Print a finding; write its numbers into the file, if there is one; ``new``: the cue was not there before."""
    from tablesim.study.findings import as_json as plain

    fitted, part = with_finding(scenario, finding, cue), PARTS[type(finding)]
    gear = getattr(fitted, part)
    name = cue or next(iter(scenario.cues))
    numbers = numbers_of(finding, type(gear[name] if part == "cues" else gear))
    entry = {part: {name: numbers} if part == "cues" else numbers}
    if into is not None:
        with alone(into):  # another program may have changed the file since it was read: only these numbers are put in
            save(with_finding(_with_cue(load(into), cue), finding, cue), into)
    if as_json:
        dump({"finding": plain(finding), "scenario": entry} | ({"new_cue": name} if new else {}))
        return
    rows = ([f"{f.what}, {f.unit.strip()}".rstrip(", "), f.value, f.low, f.high] for f in figures(finding))
    print_table(["measured", "value", "from", "to"], rows)
    typer.echo(" ".join(filter(None, [remark(finding), "From, to: one standard error. In a scenario file:"])))
    typer.echo(json.dumps(entry)[1:-1])
    if into is not None:
        others = ", ".join(repr(n) for n in gear if n != name)
        what = f", new cue {name}, beside {others}" if new else f", cue {name}" if part == "cues" else ""
        typer.echo(f"Written into {into}{what}.")
