"""The command line: thin commands over the studies.

Exit codes: 0 done, 1 a check failed, 2 bad input (one plain message on stderr,
nothing written), 130 interrupted.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Annotated

import typer

from tablesim import __version__
from tablesim.commands import laws, questions, ready
from tablesim.errors import TablesimError

app = typer.Typer(
    name="tablesim",
    help="Stage a shot with sidespin, see where both balls go and why.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
QUESTIONS: tuple[Callable[..., None], ...] = (
    questions.predict, questions.correct, questions.explain, questions.neutral, questions.deflection, questions.sweep,
)  # fmt: skip
for command in QUESTIONS:
    app.command()(command)
app.add_typer(laws.law, name="law")
app.command()(ready.check)
app.command()(ready.scenarios)
app.command()(ready.schema)


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


def main() -> None:
    """Run the command line; people get messages, not tracebacks."""
    try:
        app()
    except TablesimError as error:
        print(f"tablesim: {error}", file=sys.stderr)
        sys.exit(2)
