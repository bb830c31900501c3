"""The command that sets the takes one beside the other."""

from __future__ import annotations

from typing import Annotated

import typer

from tablesim import __version__

from .common import AsJson, File, TakeNames, dump, print_table


def compare(
    file: File,
    take: TakeNames = None,
    csv: Annotated[str | None, typer.Option("--csv", metavar="FILE", help="write the table for a spreadsheet")] = None,
    as_json: AsJson = False,
) -> None:
    """Say what becomes of the takes, one beside the other: as aimed, aim that works, room, end of the cue ball."""
    from tablesim.model.whole import must_differ, write_whole
    from tablesim.resources import files_of, open_scenario
    from tablesim.scene.result_words import COLUMNS, Manner, result_rows
    from tablesim.study.results import CSV_HEADER, csv_rows, results_csv
    from tablesim.study.results import compare as run

    if csv is not None:
        must_differ(csv, *files_of(file), option="--csv")
    scenario = open_scenario(file)
    scenario = scenario.change(takes=list(scenario.takes_for(take)))
    found = run(scenario)
    if csv:
        write_whole(csv, results_csv(scenario, found).encode("utf-8"))
    if as_json:
        takes = [dict(zip(CSV_HEADER, row, strict=True)) for row in csv_rows(scenario, found)]
        dump({"tablesim": __version__, "title": scenario.title, "takes": takes})
        return
    rows = result_rows(scenario, dict(enumerate(found)), Manner(details=True))
    print_table([column.heading for column in COLUMNS], rows, scenario.title or file)
    typer.echo("Misses and aims from the centre of the pocket's mouth. Room: how far apart the aims lie that pot.")
    typer.echo("Cue ball: diamonds from the head rail, then from the right rail as seen from the head end.")
