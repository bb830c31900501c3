"""The commands: thin, over the studies and the surfaces; imports of what they need are inside them."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any

import typer
from pydantic import ValidationError
from typer.core import TyperGroup

from tablesim import __version__
from tablesim.errors import TablesimError, unknown_name
from tablesim.model.base import plain_message
from tablesim.resources import is_ready

from . import calibrate, compare, handouts, laws, lessons, pictures, questions, ready, series, share


class PlainGroup(TyperGroup):
    """The commands, with an option's broken rule in our words."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command that is named."""
        try:
            return super().invoke(ctx)
        except typer.BadParameter as error:
            if isinstance(error.__cause__, ValidationError):
                error.message = plain_message(error.__cause__)
            raise


app = typer.Typer(
    cls=PlainGroup,
    name="tablesim",
    help="Stage a shot with sidespin, see where both balls go and why.  With a FILE, or nothing, a window opens.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
for command in (*questions.COMMANDS, *pictures.COMMANDS, *handouts.COMMANDS):
    app.command()(command)
app.command()(compare.compare)
app.command()(share.share)
app.command()(series.series)
app.add_typer(calibrate.calibrate, name="calibrate")
app.add_typer(laws.law, name="law")
app.command()(ready.check)
app.command()(ready.scenarios)
app.command()(lessons.lesson)
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


def _asks_for_the_window(arguments: list[str]) -> bool:
    """True for no argument, or one that is neither an option nor a command but may name a scenario."""
    commands = {c.name or getattr(c.callback, "__name__", "") for c in app.registered_commands}
    commands |= {group.name or "" for group in app.registered_groups}
    if not arguments:
        return True
    first = arguments[0]
    if len(arguments) > 1 or first.startswith("-") or first in commands:
        return False
    if get_close_matches(first, commands, 1, 0.75) and not Path(first).exists() and not is_ready(first):
        raise TablesimError(unknown_name("command", first, sorted(commands)))
    return True


def run(arguments: list[str]) -> None:
    """Run the command that the arguments ask for, or open the window."""
    if _asks_for_the_window(arguments):
        from tablesim.view.window.run import run as open_window

        open_window(*arguments)
    else:
        app(arguments)
