"""The command that makes many takes in one action."""

from __future__ import annotations

from typing import Annotated

import typer

from tablesim.errors import TablesimError

from .common import File, OneTake, echo_json, one_of

Paces = Annotated[str, typer.Option("--pace", metavar="A,B,...", help="1.5,3,4.5 in m/s, 6,8mph, or soft,firm,hard")]
Cues = Annotated[
    list[str] | None, typer.Option("--cue", metavar="A,B,...", help="cues of FILE by name; may be repeated")
]
Strokes = Annotated[str, typer.Option("--stroke", metavar="A,B", help="smooth,jabbed")]
Sides = Annotated[
    str, typer.Option("--side", metavar="A,B,...", help="english: 60 left,none,60 right (per cent), half a tip left")
]
Heights = Annotated[str, typer.Option("--height", metavar="A,B,...", help="the tip: 40 low,level,half a tip high")]
Adding = Annotated[bool, typer.Option("--add", help="after the takes there are, not in their place")]
Out = Annotated[str | None, typer.Option("--out", metavar="FILE", help="write there instead of printing")]


def series(
    file: File,
    pace: Paces = "",
    cue: Cues = None,
    stroke: Strokes = "",
    side: Sides = "",
    height: Heights = "",
    take: OneTake = None,
    add: Adding = False,
    out: Out = None,
) -> None:
    """Make a take of each pace with each cue, stroke and tip, like the first take in all else; print the scenario."""
    from tablesim.model.scenario import to_json
    from tablesim.model.whole import must_differ, write_whole
    from tablesim.resources import files_of, open_scenario
    from tablesim.study.series import Series, with_series
    from tablesim.study.series_said import cues_said, heights_said, paces_said, sides_said, strokes_said

    if out is not None:
        must_differ(out, *files_of(file))
    scenario = open_scenario(file)
    if not scenario.takes:
        raise TablesimError(f"{file}: has no take to begin with")
    common = scenario.takes_for(one_of(take))[0]
    wanted = Series(
        paces_said(pace), cues_said(cue or (), list(scenario.cues)), strokes_said(stroke), sides_said(side),
        heights_said(height),
    )  # fmt: skip
    made = with_series(scenario, wanted, common, adding=add)
    if out is None:
        echo_json(to_json(made))
        return
    write_whole(out, to_json(made).encode("utf-8"))
    names = [one.name for one in made.takes][-wanted.count :]
    typer.echo(f"{out}: {wanted.count} takes like {common.name!r}: {'; '.join(names)}")
