"""Commands that make things to hand on: a practice sheet to print, a layout as text."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from tablesim.errors import TablesimError

from .common import File, TakeNames, echo_json

Paper = Annotated[str, typer.Option("--paper", metavar="a4|letter", help="the paper to print on")]
Student = Annotated[
    bool, typer.Option("--student/--no-student", help="with or without name, date and boxes to tick")
]  # fmt: skip
Results = Annotated[bool, typer.Option("--results", help="with a page for the student's results before and after")]
Out = Annotated[str | None, typer.Option("--out", metavar="FILE", help="write there instead of printing")]
Read = Annotated[
    str | None, typer.Option("--read", metavar="TEXT", help="lay the balls as this text file says; - is standard input")
]
Finer = Annotated[bool, typer.Option("--finer", help="to four decimals or more, 0.03 mm; else two, within 3 mm")]
Distance = Annotated[
    str | None,
    typer.Option(
        "--distance", metavar="LENGTH", help="between the centres of cue ball and target ball: 2ft, 60cm, 1.5 diamonds"
    ),
]
Cut = Annotated[
    str | None,
    typer.Option("--cut", metavar="CUT", help="for the target's pocket: 30, 30 left, half ball, straight in"),
]
LONGEST_TEXT = 100_000  # characters


def sheet(
    file: File,
    out: Annotated[str, typer.Argument(metavar="PDF", help="the file to write")],
    paper: Paper = "a4",
    take: TakeNames = None,
    student: Student = True,
    results: Results = False,
) -> None:
    """Make a practice sheet to print: layout to scale, tip, pace, where to aim, boxes to tick, true-size template."""
    from tablesim.output.page import paper_size
    from tablesim.output.sheet import sheet as make
    from tablesim.resources import opened

    paper_size(paper)
    found = opened(file)
    shown = found.takes or []
    order = [*shown, *(one.name for one in found.scenario.takes if one.name not in shown)]
    scenario, caption = (found.scenario, found.kept.caption) if found.scenario.title else (found.titled, "")
    pages = make(scenario, out, paper=paper, takes=take or order, student=student, results=results, caption=caption)
    typer.echo(f"{out}: {pages} {'page' if pages == 1 else 'pages'}; print at 100 %, actual size")


def measuring(
    out: Annotated[str, typer.Argument(metavar="PDF", help="the file to write")],
    paper: Paper = "a4",
    into: Annotated[str | None, typer.Option("--balls", metavar="FILE", help="a scenario: its balls' size")] = None,
) -> None:
    """Make cards to print for the tests of `calibrate`, with rows to write on, and a true-size protractor for throw."""
    from tablesim.output.page import paper_size
    from tablesim.output.sheet_measuring import measuring_sheets
    from tablesim.resources import open_scenario

    paper_size(paper)
    balls = None if into is None else open_scenario(into).ball_set
    pages = measuring_sheets(out, paper=paper, balls=balls)
    typer.echo(f"{out}: {pages} pages; print at 100 %, actual size")


def layout(file: File, read: Read = None, finer: Finer = False, out: Out = None) -> None:
    """Print layout and takes as short text in diamonds; with --read, make a scenario of FILE with what a text says."""
    from tablesim.model.layout_text import from_text, to_text
    from tablesim.model.scenario import to_json
    from tablesim.model.whole import must_differ, write_whole
    from tablesim.resources import files_of, open_scenario

    if out is not None:
        must_differ(out, *files_of(file), read)
    scenario = open_scenario(file)
    text = to_text(scenario, finer) if read is None else to_json(from_text(_text_of(read), scenario))
    if out is None and read is not None:
        echo_json(text)
    elif out is None:
        typer.echo(text, nl=False)
    else:
        write_whole(out, text.encode("utf-8"))


def stage(file: File, distance: Distance = None, cut: Cut = None, out: Out = None) -> None:
    """Put the cue ball at a distance from the target ball, or at a cut for its pocket; what is not given stays."""
    from tablesim.model.scenario import to_json
    from tablesim.model.whole import must_differ, write_whole
    from tablesim.resources import files_of, open_scenario
    from tablesim.scene.staged import staged_words
    from tablesim.staging.by_numbers import stage_shot
    from tablesim.staging.said import cut_said, distance_said

    if out is not None:
        must_differ(out, *files_of(file))
    scenario = open_scenario(file)
    distance_m, liked = (None, "mm") if distance is None else distance_said(distance, scenario)
    cut_deg = None if cut is None else cut_said(cut, scenario)
    staged = stage_shot(scenario, distance_m, cut_deg, liked)
    if out is None:
        echo_json(to_json(staged))
    else:
        write_whole(out, to_json(staged).encode("utf-8"))
        typer.echo(f"{out}: {staged_words(staged, liked)}")


def _text_of(source: str) -> str:
    """The text of a file, or of standard input for "-"; TablesimError if it cannot be read or is too long."""
    try:
        data = sys.stdin.buffer.read(4 * LONGEST_TEXT) if source == "-" else _bytes_of(source)
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise TablesimError(f"{source}: must be UTF-8 text") from None
    except (OSError, ValueError) as error:
        raise TablesimError(f"{source[:200]}: cannot be read ({getattr(error, 'strerror', None) or error})") from None
    if len(text) > LONGEST_TEXT:
        raise TablesimError(f"{source}: a layout has at most {LONGEST_TEXT} characters; got {len(text)} or more")
    return text


def _bytes_of(path: str) -> bytes:
    with Path(path).open("rb") as file:
        return file.read(4 * LONGEST_TEXT)


COMMANDS: tuple[Callable[..., None], ...] = (sheet, measuring, layout, stage)
