"""The command line: thin commands over the studies.

Exit codes: 0 done, 1 a check failed, 2 bad input (one plain message on stderr,
nothing written), 130 interrupted.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from typing import Annotated, Any

import typer

from tablesim import __version__
from tablesim.errors import TablesimError

app = typer.Typer(
    name="tablesim",
    help="Stage a shot with sidespin, see where both balls go and why.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
law = typer.Typer(help="One law at a time: vectors in and out, so that anyone can check it.", no_args_is_help=True)
app.add_typer(law, name="law")

File = Annotated[str, typer.Argument(metavar="FILE", help="a scenario file, or the name of a ready one")]
VERDICT = {True: "ok", False: "FAILS"}

TakeName = Annotated[str | None, typer.Option("--take", metavar="NAME", help="only this take")]
AsJson = Annotated[bool, typer.Option("--json", help="print JSON instead of a table")]


def _dump(data: Any) -> None:
    typer.echo(json.dumps(data, indent=1, ensure_ascii=False))


def _table(columns: Iterable[str], rows: Iterable[Iterable[str]], title: str | None = None) -> None:
    """Print a table; numbers are right-aligned by their column's last cell."""
    from rich import box
    from rich.console import Console
    from rich.table import Table

    cells = [list(row) for row in rows]
    table = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for i, column in enumerate(columns):
        numeric = bool(cells) and cells[-1][i].lstrip("+-").replace(".", "").isdigit()
        table.add_column(column, justify="right" if numeric else "left", overflow="fold")
    for row in cells:
        table.add_row(*row)
    console = Console(highlight=False, markup=False)
    if not console.is_terminal:
        console = Console(highlight=False, markup=False, width=160)
    console.print(table)


def _number(value: float | None, digits: int = 1, sign: bool = False) -> str:
    """A number for a table: never '-0', '-' where there is none."""
    if value is None:
        return "-"
    rounded = round(value, digits) + 0.0
    return f"{rounded:{'+' if sign and rounded else ''}.{digits}f}"


def _vector(text: str, name: str, size: int) -> tuple[float, ...]:
    parts = text.split(",")
    try:
        values = tuple(float(part) for part in parts)
    except ValueError:
        values = ()
    if len(values) != size:
        raise TablesimError(
            f"{name}: must be {size} numbers with commas between, such as {','.join('0' * size)}; got {text[:60]!r}"
        )
    return values


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"tablesim {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="print the version")
    ] = False,
) -> None:
    pass


@app.command()
def predict(file: File, take: TakeName = None, as_json: AsJson = False) -> None:
    """Say where both balls go, take by take."""
    from tablesim.resources import open_scenario
    from tablesim.study.predict import predict as run

    scenario = open_scenario(file)
    found = run(scenario, take)
    if as_json:
        _dump({"tablesim": __version__, "title": scenario.title, "takes": [p.for_json() for p in found]})
        return
    rows = []
    for p in found:
        c, t = p.contact, p.target
        end = p.cue_ball.end_m
        rows.append([
            p.take, p.cue,
            f"{p.pace_m_s:.2f} m/s",
            "-" if p.launch is None else _number(p.launch.squirt_deg, 2, sign=True),
            "-" if c is None else _number(c.off_line_mm, 1, sign=True),
            "-" if c is None else _number(c.cut_deg, 1, sign=True),
            "-" if c is None else _number(c.throw_deg, 2, sign=True),
            "-" if c is None else c.phase,
            (t.outcome or "-") + (f" by {t.blocked_by}" if t.blocked_by else "") + (f" {t.pocket}" if t.pocket else ""),
            _number(t.miss_mm, 1, sign=True),
            p.cue_ball.outcome if end is None or p.cue_ball.outcome != "at_rest" else f"{end[0]:.3f}, {end[1]:.3f}",
        ])  # fmt: skip
    _table(
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


@app.command()
def correct(file: File, take: TakeName = None, as_json: AsJson = False) -> None:
    """Say which aim sends the target ball to the heart of its pocket, take by take."""
    from tablesim.resources import open_scenario
    from tablesim.study.correct import correct as run
    from tablesim.study.findings import as_json as plain

    scenario = open_scenario(file)
    found = run(scenario, take)
    if as_json:
        _dump({"tablesim": __version__, "title": scenario.title, "takes": [plain(c) for c in found]})
        return
    _table(
        [
            "take", "cue", "turn deg", "aim mm", "diamonds", "pockets", "side", "window deg", "window mm", "bridge m",
            "note",
        ],
        (
            [
                c.take, c.cue, _number(c.correction_deg, 3, sign=True), _number(c.aim_offset_mm, 1, sign=True),
                _number(c.aim_offset_diamonds, 2, sign=True), _number(c.aim_offset_pocket_widths, 2, sign=True),
                c.relative_to_english, _number(c.window_deg, 3), _number(c.window_mm, 1), _number(c.bridge_m, 2),
                c.reason or c.warning or "",
            ]
            for c in found
        ),
        scenario.title or file,
    )  # fmt: skip
    typer.echo(
        "Turn: from the plain aim to the one that works, left +. Aim: where the plain line of that aim crosses the\n"
        "pocket's mouth, left of its centre +; in mm, diamonds and mouths. Side: of the english. Window: the aims\n"
        "that pot. Bridge: from the ball's centre, at which a pivot by the back hand from centre ball gives this aim."
    )


@app.command()
def explain(file: File, take: TakeName = None, as_json: AsJson = False) -> None:
    """Say why the aim misses: squirt, swerve, throw from side, throw from the cut."""
    from tablesim.resources import open_scenario
    from tablesim.study.explain import CAUSES
    from tablesim.study.explain import explain as run
    from tablesim.study.findings import as_json as plain

    scenario = open_scenario(file)
    found = run(scenario, take)
    if as_json:
        _dump({"tablesim": __version__, "title": scenario.title, "takes": [plain(x) for x in found]})
        return
    _table(
        ["take", "cue", "miss mm", *CAUSES, "remainder"],
        (
            [
                x.take, x.cue, _number(x.miss_mm, 1, sign=True),
                *((_number(p.mm, 1, sign=True) for p in x.parts) if x.parts else "-" * len(CAUSES)),
                _number(x.remainder_mm, 1, sign=True),
            ]
            for x in found
        ),
        scenario.title or file,
    )  # fmt: skip
    for x in found:
        typer.echo(f"{x.take}: {x.reading}" + (f" ({x.reason})" if x.reason and x.reason not in x.reading else ""))
    typer.echo("Millimetres at the pocket's mouth, left +; causes switched off one after the other, in this order.")


@app.command()
def deflection(
    file: File,
    take: TakeName = None,
    every: Annotated[str, typer.Option("--every", help="foot or diamond")] = "foot",
    chart: Annotated[str | None, typer.Option("--chart", metavar="PNG", help="also draw it")] = None,
    as_json: AsJson = False,
) -> None:
    """Say how far off the cue's line the cue ball is along its way: it grows with distance."""
    from tablesim.errors import unknown_name
    from tablesim.resources import open_scenario
    from tablesim.study.deflection import deflection as run
    from tablesim.study.findings import as_json as plain

    if every not in ("foot", "diamond"):
        raise TablesimError("--every: " + unknown_name("step", every, ["foot", "diamond"]))
    scenario = open_scenario(file)
    found = run(scenario, every, take)
    if chart:
        from tablesim.output.chart import deflection_chart

        deflection_chart(scenario, scenario.takes if take is None else [scenario.take_named(take)], chart)
    if as_json:
        _dump({"tablesim": __version__, "title": scenario.title, "takes": [plain(d) for d in found]})
        return
    longest = max((d.points for d in found), key=len, default=())
    _table(
        ["take", "cue", *(f"{p.distance_m:.2f} m" for p in longest)],
        (
            [
                d.take, d.cue, *(_number(p.net_mm, 1, sign=True) for p in d.points),
                *"-" * (len(longest) - len(d.points)),
            ]
            for d in found
        ),
        f"{scenario.title or file}: mm off the cue's line, left +, at each {every}",
    )  # fmt: skip


@app.command()
def sweep(
    file: File,
    over: Annotated[
        list[str], typer.Option("--over", metavar="NAME=FROM:TO:STEP", help="or NAME=A,B,...; once or twice")
    ],
    take: TakeName = None,
    csv: Annotated[str | None, typer.Option("--csv", metavar="FILE", help="write the cells")] = None,
    chart: Annotated[str | None, typer.Option("--chart", metavar="PNG", help="draw them")] = None,
    as_json: AsJson = False,
) -> None:
    """Say how the correction changes with pace, side, cue, distance and more, one or two at a time."""
    from tablesim.model.scenario import write_whole
    from tablesim.physics import jit
    from tablesim.resources import open_scenario
    from tablesim.study import sweep as study
    from tablesim.study.findings import as_json as plain

    scenario = open_scenario(file)
    if not scenario.takes:
        raise TablesimError(f"{file}: has no take to vary")
    chosen = scenario.takes[0] if take is None else scenario.take_named(take)
    axes = tuple(study.parse_axis(text) for text in over)
    with _progress() as progress:
        bar = progress.add_task("preparing the engine (once)" if not jit.is_prepared() else "solving", total=None)
        jit.prepare(lambda kernel: progress.update(bar, description=f"preparing the engine, once: {kernel}"))
        found = study.sweep(
            scenario,
            chosen,
            axes,
            lambda done, whole: progress.update(bar, description="solving", completed=done, total=whole),
        )
    if csv:
        write_whole(csv, study.as_csv(found).encode("utf-8"))
    if chart:
        from tablesim.output.chart import sweep_chart

        sweep_chart(found, scenario.title, chart)
    if as_json:
        _dump({"tablesim": __version__, "title": scenario.title, **plain(found)})
        return
    _table(
        [*(axis.name for axis in axes), "turn deg", "correction mm", "aim mm", "side", "window deg", "note"],
        (
            [
                *(f"{v:g}" if isinstance(v, float) else v for v in cell.values),
                _number(c.correction_deg, 3, sign=True), _number(c.correction_mm, 1, sign=True),
                _number(c.aim_offset_mm, 1, sign=True), c.relative_to_english, _number(c.window_deg, 3),
                c.reason or c.warning or "",
            ]
            for cell in found.cells
            for c in [cell.correction]
        ),
        f"{scenario.title or file}: {chosen.name}",
    )  # fmt: skip


@app.command()
def neutral(file: File, take: TakeName = None, as_json: AsJson = False) -> None:
    """Say at which pace, side and distance nothing needs correcting."""
    from tablesim.physics import jit
    from tablesim.resources import open_scenario
    from tablesim.study.findings import as_json as plain
    from tablesim.study.neutral import neutral as run
    from tablesim.study.neutral import side_in_words, zeros_in_words

    scenario = open_scenario(file)
    with _progress() as progress:
        bar = progress.add_task("preparing the engine", total=None)
        jit.prepare(lambda kernel: progress.update(bar, description=f"preparing the engine, once: {kernel}"))
        jit.compiled()
        found = run(scenario, take)
    if as_json:
        _dump({"tablesim": __version__, "title": scenario.title, "takes": [plain(n) for n in found]})
        return
    _table(
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


def _progress() -> Any:
    """A progress bar on stderr, silent where that is no terminal."""
    from rich.console import Console
    from rich.progress import Progress

    return Progress(console=Console(stderr=True), transient=True, disable=not sys.stderr.isatty())


@app.command()
def scenarios(as_json: AsJson = False) -> None:
    """List the ready scenarios."""
    from tablesim.model.scenario import load
    from tablesim.resources import ready_scenarios

    found = {name: load(path) for name, path in ready_scenarios().items()}
    if as_json:
        _dump([{"name": n, "title": s.title, "takes": [t.name for t in s.takes]} for n, s in found.items()])
        return
    _table(["name", "title", "takes"], ([n, s.title, str(len(s.takes))] for n, s in found.items()))


@app.command()
def schema() -> None:
    """Print the JSON Schema of a scenario file."""
    from tablesim.model.scenario import Scenario

    _dump({"$schema": "https://json-schema.org/draft/2020-12/schema", **Scenario.model_json_schema()})


@app.command()
def check(as_json: AsJson = False) -> None:
    """Hold every published check value against the engine; exit 1 if one fails."""
    from tablesim.study.checks import make_checks
    from tablesim.study.findings import as_json as plain

    verdicts = make_checks()
    if as_json:
        _dump([plain(v) for v in verdicts])
    else:
        _table(
            ["check", "kind", "source", "expected", "found", "verdict"],
            (
                [v.name, v.kind, v.source, f"{v.expected:.5g} {v.unit}", f"{v.value + 0.0:.5g}", VERDICT[v.ok]]
                for v in verdicts
            ),
        )  # fmt: skip
        typer.echo(f"{sum(v.ok for v in verdicts)} of {len(verdicts)} hold.")
    if not all(v.ok for v in verdicts):
        raise typer.Exit(1)


def _law_answer(finding: Any, as_json: bool) -> None:
    from tablesim.study.findings import as_json as plain

    data = plain(finding)
    if as_json:
        _dump(data)
        return
    _table(["quantity", "value"], ([name, _law_value(value)] for name, value in data.items() if value is not None))


def _law_value(value: Any) -> str:
    if isinstance(value, dict):
        return "; ".join(f"{k} {_law_value(v)}" for k, v in value.items())
    if isinstance(value, list):
        return ", ".join(f"{v + 0.0:.9g}" for v in value)
    return value if isinstance(value, str) else f"{value + 0.0:.9g}"


Velocity = Annotated[str, typer.Option("--velocity", metavar="X,Y", help="m/s")]
Spin = Annotated[str, typer.Option("--spin", metavar="X,Y,Z", help="rad/s")]
Radius = Annotated[float, typer.Option("--radius", help="ball radius, m")]
DEFAULT_RADIUS = 0.028575  # 2.25 in ball


@law.command("strike")
def law_strike(
    pace: Annotated[float, typer.Option("--pace", help="m/s that the stroke gives on a level centre hit")],
    right: Annotated[float, typer.Option("--right", help="contact offset right of centre, ball radii")] = 0.0,
    up: Annotated[float, typer.Option("--up", help="contact offset above centre, ball radii")] = 0.0,
    elevation: Annotated[float, typer.Option("--elevation", help="of the butt, deg")] = 0.0,
    ball_to_end_mass: Annotated[float, typer.Option("--ball-to-end-mass", help="m/m_e of the shaft")] = 22.0,
    stroke_factor: Annotated[float, typer.Option("--stroke-factor", help="on the impulse across the cue")] = 1.0,
    ball_mass: Annotated[float, typer.Option("--ball-mass", help="kg")] = 0.170,
    cue_mass: Annotated[float, typer.Option("--cue-mass", help="kg; 19 oz")] = 19.0 * 0.028349523125,
    radius: Radius = DEFAULT_RADIUS,
    as_json: AsJson = False,
) -> None:
    """Cue to ball: squirt, velocity [forward, left] and spin [forward, left, up] in the cue's level frame."""
    from tablesim.study.laws import strike_law

    _law_answer(
        strike_law(pace, right, up, elevation, ball_to_end_mass, stroke_factor, ball_mass, cue_mass, radius), as_json
    )


@law.command("cloth")
def law_cloth(
    velocity: Velocity,
    spin: Spin,
    after: Annotated[float | None, typer.Option("--after", help="also the state after so many seconds")] = None,
    sliding_friction: Annotated[float, typer.Option("--sliding-friction")] = 0.20,
    rolling_resistance: Annotated[float, typer.Option("--rolling-resistance")] = 0.010,
    spin_deceleration: Annotated[float, typer.Option("--spin-deceleration", help="rad/s^2")] = 10.0,
    radius: Radius = DEFAULT_RADIUS,
    as_json: AsJson = False,
) -> None:
    """Ball on cloth from the origin: when and where it stops sliding and stops."""
    from tablesim.study.laws import cloth_law

    v, w = _vector(velocity, "--velocity", 2), _vector(spin, "--spin", 3)
    _law_answer(
        cloth_law(v, w, after, sliding_friction, rolling_resistance, spin_deceleration, radius),  # type: ignore[arg-type]
        as_json,
    )


@law.command("ball-ball")
def law_ball_ball(
    velocity: Velocity,
    spin: Spin,
    restitution: Annotated[float, typer.Option("--restitution")] = 0.95,
    condition: Annotated[float, typer.Option("--condition", help="factor on ball friction; 1 clean")] = 1.0,
    friction: Annotated[float | None, typer.Option("--friction", help="a constant instead of the law")] = None,
    mass_ratio: Annotated[float, typer.Option("--mass-ratio", help="first ball's mass over the second's")] = 1.0,
    radius: Radius = DEFAULT_RADIUS,
    as_json: AsJson = False,
) -> None:
    """Ball to ball: the first moves, the second rests on its +x side; throw is + to the left."""
    from tablesim.study.laws import ball_ball_law

    v, w = _vector(velocity, "--velocity", 2), _vector(spin, "--spin", 3)
    _law_answer(
        ball_ball_law(v, w, restitution, condition, friction, mass_ratio, radius),  # type: ignore[arg-type]
        as_json,
    )


@law.command("cushion")
def law_cushion(
    velocity: Velocity,
    spin: Spin,
    restitution: Annotated[float, typer.Option("--restitution", help="energetic")] = 0.85,
    friction: Annotated[float, typer.Option("--friction", help="nose on ball")] = 0.14,
    nose_height: Annotated[float, typer.Option("--nose-height", help="over the ball's diameter")] = 0.635,
    sliding_friction: Annotated[float, typer.Option("--sliding-friction", help="of the cloth")] = 0.20,
    radius: Radius = DEFAULT_RADIUS,
    as_json: AsJson = False,
) -> None:
    """Ball to cushion: the rail lies along x, the ball moves toward +y into it."""
    from tablesim.study.laws import cushion_law

    v, w = _vector(velocity, "--velocity", 2), _vector(spin, "--spin", 3)
    _law_answer(
        cushion_law(v, w, restitution, friction, nose_height, sliding_friction, radius),  # type: ignore[arg-type]
        as_json,
    )


def main() -> None:
    """Run the command line; people get messages, not tracebacks."""
    try:
        app()
    except TablesimError as error:
        print(f"tablesim: {error}", file=sys.stderr)
        sys.exit(2)
