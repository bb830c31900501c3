"""Commands that ask a scenario a question."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from tablesim import __version__
from tablesim.errors import TablesimError
from tablesim.study.went import spoken_pocket
from tablesim.units import number

from .common import (
    AsJson,
    File,
    OneTake,
    TakeNames,
    dump,
    dump_takes,
    engine_prepared,
    one_of,
    print_table,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tablesim.study.deflection import OffLine
    from tablesim.study.halves import Half, Halves
    from tablesim.study.landing import Landing
    from tablesim.study.prediction import CueBallFinding, Prediction


def predict(file: File, take: TakeNames = None, as_json: AsJson = False) -> None:
    """Say where both balls go, take by take."""
    from tablesim.physics import jit
    from tablesim.resources import open_scenario
    from tablesim.study.hops import hop_sentence
    from tablesim.study.predict import predict as run
    from tablesim.study.reading import sentence
    from tablesim.study.refusal import unplayed_words
    from tablesim.study.stroke import butt_sentence, line_before

    scenario = open_scenario(file)
    solved = any(played.aim.corrected for played in scenario.takes_for(take))
    with jit.using(jit.engine() if solved else jit.at_hand()):  # some shots take less than loading the engine
        found = run(scenario, take)
    if as_json:
        dump({"tablesim": __version__, "title": scenario.title, "takes": [p.for_json() for p in found]})
        return
    rows = [_predicted(p) for p in found]
    print_table(
        [
            "take", "cue", "pace", "squirt deg", "off line mm", "cut deg", "throw deg", "arrives", "target", "miss mm",
            "cue ball ends",
        ],
        rows,
        scenario.title or file,
    )  # fmt: skip
    typer.echo(
        "Angles and distances to the left are +. Squirt: off the cue's line at the start; off line: of the cue ball\n"
        "at the contact; arrives: how the cue ball moves there; throw: of the target ball off the line of centres;\n"
        "miss: at the pocket's mouth line."
    )
    for p in found:
        played = scenario.take_named(p.take)
        heading = line_before(scenario, played) if p.launch is None else math.radians(p.launch.heading_deg)
        out = sentence(unplayed_words(scenario, played, heading)) if p.launch is None else ""
        if told := " ".join(filter(None, (out, butt_sentence(scenario, played, heading), hop_sentence(p.hop)))):
            typer.echo(f"{p.take}: {told}")
    _zones(found)


def _predicted(p: Prediction) -> list[str]:
    """A prediction as a row of the table."""
    from tablesim.study.went import fate_words

    c, t = p.contact, p.target
    return [
        p.take, p.cue,
        f"{p.pace_m_s:.2f} m/s",
        "-" if p.launch is None else number(p.launch.squirt_deg, 2, sign=True),
        "-" if c is None else number(c.off_line_mm, 1, sign=True),
        "-" if c is None else number(c.cut_deg, 1, sign=True),
        "-" if c is None else number(c.throw_deg, 2, sign=True),
        "-" if c is None else c.phase,
        fate_words(t) or "-",
        number(t.miss_mm, 1, sign=True),
        _ends(p.cue_ball),
    ]  # fmt: skip


def _ends(cue_ball: CueBallFinding) -> str:
    """Where the cue ball ends, in a cell."""
    if cue_ball.pocket:
        return f"drops in {spoken_pocket(cue_ball.pocket)}"
    end = cue_ball.end_m
    return cue_ball.outcome if end is None or cue_ball.outcome != "at_rest" else f"{end[0]:.3f}, {end[1]:.3f}"


def _zones(found: Sequence[Prediction]) -> None:
    """Print take by take in which zones the cue ball stops, if there are zones."""
    if not any(p.zones for p in found):
        return
    typer.echo()
    print_table(
        ["take", "zone", "cue ball"],
        ([p.take, one.zone or f"zone {k}", _rests(p, one)] for p in found for k, one in enumerate(p.zones, 1)),
        "Where the cue ball stops",
    )
    typer.echo("In: its centre rests within the zone's radius; outside: how far beyond the zone's edge.")


def _rests(p: Prediction, one: Landing) -> str:
    """Where the cue ball is to a zone, in a cell."""
    if one.outside_mm is None:
        return p.cue_ball.outcome
    return "in" if one.inside else f"{number(one.outside_mm, 1)} mm outside"


def correct(file: File, take: TakeNames = None, as_json: AsJson = False) -> None:
    """Say which aim sends the target ball to the heart of its pocket, take by take."""
    from tablesim.resources import open_scenario
    from tablesim.study.correct import correct as run

    scenario = open_scenario(file)
    found = run(scenario, take)
    if as_json:
        dump_takes(scenario.title, found)
        return
    print_table(
        [
            "take", "cue", "turn deg", "aim mm", "diamonds", "pockets", "side", "window deg", "window mm", "takes mm",
            "bridge m", "note",
        ],
        (
            [
                c.take, c.cue, number(c.turn_deg, 3, sign=True), number(c.aim_offset_mm, 1, sign=True),
                number(c.aim_offset_diamonds, 2, sign=True), number(c.aim_offset_pocket_widths, 2, sign=True),
                c.relative_to_english, number(c.window_deg, 3), number(c.window_mm, 1),
                number(c.taken_mm, 1), number(c.bridge_m, 2), c.reason or c.warning or "",
            ]
            for c in found
        ),
        scenario.title or file,
    )  # fmt: skip
    typer.echo(
        "Turn, aim and bridge are from one plain aim: centre ball, at the centre of the pocket's mouth. Turn of the\n"
        "cue to the aim that works, left +. Aim: where its plain line crosses the mouth, left of the centre +; in mm,\n"
        "diamonds and mouths. Side: of the english. Window: the aims that pot; takes: how wide a strip of the mouth\n"
        "takes the ball's centre, less by what throw turns back. Bridge: from the ball's centre, for a pivot by the\n"
        "back hand."
    )


def _off_line(at: OffLine) -> str:
    """What can still be split where the miss cannot, in a line."""
    squirt, swerve, net = (number(mm, 1, sign=True) for mm in (at.squirt_mm, at.swerve_mm, at.net_mm))
    return (
        f"  No split at the pocket. Off the cue's line by the object ball, {at.distance_m:.2f} m on:"
        f" squirt {squirt}, swerve {swerve}, in all {net} mm."
    )


def explain(
    file: File,
    take: TakeNames = None,
    halves: Annotated[
        bool, typer.Option("--halves", help="also split throw into what comes from side and from the cut")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Say why the aim misses: squirt, swerve, throw."""
    from tablesim.resources import open_scenario
    from tablesim.study.explain import CAUSES
    from tablesim.study.explain import explain as run
    from tablesim.study.findings import as_json as plain
    from tablesim.study.halves import halves as split

    scenario = open_scenario(file)
    found = run(scenario, take)
    throws = split(scenario, take) if halves else ()
    if as_json:
        takes = [{**plain(x), **({"halves": plain(throws[k])} if halves else {})} for k, x in enumerate(found)]
        dump({"tablesim": __version__, "title": scenario.title, "takes": takes})
        return
    print_table(
        ["take", "cue", "aim mm", *CAUSES, "remainder", "miss mm"],
        (
            [
                x.take, x.cue, number(x.aim_mm, 1, sign=True),
                *((number(p.mm, 1, sign=True) for p in x.parts) if x.parts else "-" * len(CAUSES)),
                number(x.remainder_mm, 1, sign=True),
                number(None if x.miss_mm is None else x.miss_mm + (x.aim_mm or 0.0), 1, sign=True),
            ]
            for x in found
        ),
        scenario.title or file,
    )  # fmt: skip
    for x in found:
        told = x.reason is None or x.reason.lower() in x.reading.lower()
        why = "" if told else f" ({x.reason})"
        typer.echo(f"{x.take}: {x.reading}{why} {x.remark}".rstrip())
        if x.off_line is not None and not x.parts:
            typer.echo(_off_line(x.off_line))
    typer.echo(
        "Millimetres at the pocket's mouth, left of its centre +: the plain line of the aim, what each cause adds\n"
        "(switched off one after the other, in this order), and where the ball crosses."
    )
    if halves:
        _halves(throws)


def _halves(found: Sequence[Halves]) -> None:
    """Print the halves of throw, take by take."""
    typer.echo()
    print_table(
        ["take", "throw from side", "in any order", "throw from the cut", "in any order"],
        (
            [h.take, *(text for half in (h.side, h.cut) for text in _half(half))]
            for h in found
        ),
        "Throw in two halves",
    )  # fmt: skip
    typer.echo(
        "Side switched off before friction; in any order: least and most over all 24 orders of squirt, swerve, side\n"
        "and friction. Which half is to blame, and for how much, is a matter of the order."
    )


def _half(half: Half | None) -> tuple[str, str]:
    """A half of throw, and its least and most, in two cells."""
    if half is None:
        return "-", "-"
    low, high = (number(mm, 1, sign=True) for mm in (half.low_mm, half.high_mm))
    return number(half.mm, 1, sign=True), f"{low} to {high}"


def deflection(
    file: File,
    take: TakeNames = None,
    every: Annotated[str, typer.Option("--every", help="foot or diamond")] = "foot",
    chart: Annotated[str | None, typer.Option("--chart", metavar="FILE", help="also draw it, .png or .svg")] = None,
    as_json: AsJson = False,
) -> None:
    """Say how far off the cue's line the cue ball is along its way: it grows with distance."""
    from tablesim.errors import unknown_name
    from tablesim.resources import open_scenario
    from tablesim.study.deflection import STEPS
    from tablesim.study.deflection import deflection as run

    if every not in STEPS:
        raise TablesimError("--every: " + unknown_name("step", every, STEPS))
    _check_written(file, None, chart or None)
    scenario = open_scenario(file)
    found = run(scenario, take, every)
    if chart:
        from tablesim.output.chart import deflection_chart

        deflection_chart(scenario, scenario.takes_for(take), chart)
    if as_json:
        dump_takes(scenario.title, found)
        return
    longest = max((d.points for d in found), key=len, default=())
    print_table(
        ["take", "cue", *(f"{p.distance_m:.2f} m" for p in longest)],
        (
            [
                d.take, d.cue, *(number(p.net_mm, 1, sign=True) for p in d.points),
                *"-" * (len(longest) - len(d.points)),
            ]
            for d in found
        ),
        f"{scenario.title or file}: mm off the cue's line, left +, at each {every}",
    )  # fmt: skip


def sweep(
    file: File,
    over: Annotated[
        list[str], typer.Option("--over", metavar="NAME=FROM:TO:STEP", help="or NAME=A,B,...; once or twice")
    ],
    take: OneTake = None,
    csv: Annotated[str | None, typer.Option("--csv", metavar="FILE", help="write the cells")] = None,
    chart: Annotated[str | None, typer.Option("--chart", metavar="FILE", help="draw them, .png or .svg")] = None,
    as_json: AsJson = False,
) -> None:
    """Say how the correction changes with pace, side, cue, distance and more, one or two at a time."""
    from tablesim.model.whole import write_whole
    from tablesim.resources import open_scenario
    from tablesim.study import sweep as study
    from tablesim.study.findings import as_json as plain

    scenario = open_scenario(file)
    if not scenario.takes:
        raise TablesimError(f"{file}: has no take to vary")
    named = one_of(take)
    varied = scenario.takes_for(named)[0]
    axes = tuple(study.parse_axis(text) for text in over)
    _check_written(file, csv, chart)
    with engine_prepared() as tell:
        found = study.sweep(
            scenario, varied, axes, lambda done, whole: tell(description="solving", completed=done, total=whole)
        )
    if csv:
        write_whole(csv, study.as_csv(found).encode("utf-8"))
    if chart:
        from tablesim.output.chart import sweep_chart

        sweep_chart(found, scenario.title, chart)
    if as_json:
        dump({"tablesim": __version__, "title": scenario.title, **plain(found)})
        return
    print_table(
        [*(axis.name for axis in axes), "turn deg", "correction mm", "aim mm", "side", "window deg", "note"],
        (
            [
                *(f"{v:g}" if isinstance(v, float) else v for v in cell.values),
                number(c.turn_deg, 3, sign=True), number(c.correction_mm, 1, sign=True),
                number(c.aim_offset_mm, 1, sign=True), c.relative_to_english, number(c.window_deg, 3),
                c.reason or c.warning or "",
            ]
            for cell in found.cells
            for c in [cell.correction]
        ),
        f"{scenario.title or file}: {varied.name}",
    )  # fmt: skip


def _check_written(file: str, csv: str | None, chart: str | None) -> None:
    """TablesimError unless a chart's name says what it is, and nothing is written over what is read or written."""
    from tablesim.model.whole import by_suffix, must_differ
    from tablesim.output.chart import CHARTS
    from tablesim.resources import files_of

    for written, option, others in ((csv, "--csv", (chart,)), (chart, "--chart", ())):
        if written is not None:
            must_differ(written, *files_of(file), *others, option=option)
    if chart is not None:
        by_suffix(chart, CHARTS)


def neutral(file: File, take: TakeNames = None, as_json: AsJson = False) -> None:
    """Say at which pace, side and distance nothing needs correcting."""
    from tablesim.resources import open_scenario
    from tablesim.study.neutral import neutral as run
    from tablesim.study.neutral import side_in_words, zeros_in_words

    scenario = open_scenario(file)
    scenario.takes_for(take)  # an unknown name is told before the engine is prepared
    with engine_prepared():
        found = run(scenario, take)
    if as_json:
        dump_takes(scenario.title, found)
        return
    print_table(
        ["take", "cue", "neutral pace", "side without throw", "neutral distance, straight in"],
        (
            [
                n.take, n.cue, zeros_in_words(n.pace, "m/s"), side_in_words(n),
                zeros_in_words(n.distance, "m"),
            ]
            for n in found
        ),
        scenario.title or file,
    )  # fmt: skip
    typer.echo(
        "Pace and straight distance at which the plain aim is right, squirt, swerve and throw cancelling; side at\n"
        "which the cut throws nothing (R: ball radii; per cent of full english). --json has the curves."
    )


COMMANDS: tuple[Callable[..., None], ...] = (predict, correct, explain, neutral, deflection, sweep)
