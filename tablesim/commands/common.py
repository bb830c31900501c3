"""What the commands share: their arguments, and how answers are printed."""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Annotated, Any

import typer

from tablesim import __version__
from tablesim.errors import TablesimError
from tablesim.interrupts import insist, unwound

from .streams import harmless, printable_json, styled

File = Annotated[
    str, typer.Argument(metavar="FILE", help="a scenario file, the name of a ready one, or a lesson's scene, LESSON#2")
]
TakeNames = Annotated[list[str] | None, typer.Option("--take", metavar="NAME", help="only this take; may be repeated")]
OneTake = Annotated[list[str] | None, typer.Option("--take", metavar="NAME", help="this take, not the first")]
AsJson = Annotated[bool, typer.Option("--json", help="print JSON instead of a table")]


def one_of(names: list[str] | None) -> str | None:
    """The only name of an option that can be repeated where one is wanted; TablesimError if there are more."""
    if names is not None and len(names) > 1:
        got = ", ".join(repr(name[:40]) for name in names[:5])
        raise TablesimError(f"--take: one take is varied at a time; got {len(names)}, {got}. Ask once for each of them")
    return names[0] if names else None


def dump(data: Any) -> None:
    """Print JSON."""
    echo_json(json.dumps(data, indent=1, ensure_ascii=False) + "\n")


def echo_json(text: str) -> None:
    """Print a JSON text as it stands, or so that it means the same where that could not be printed."""
    typer.echo(printable_json(text, getattr(sys.stdout, "encoding", None)), nl=False)


def dump_takes(title: str, found: Iterable[Any]) -> None:
    """Print what was found about each take as JSON."""
    from tablesim.study.findings import as_json

    dump({"tablesim": __version__, "title": title, "takes": [as_json(one) for one in found]})


def print_table(columns: Iterable[str], rows: Iterable[Iterable[str]], title: str | None = None) -> None:
    """Print a table; numbers are right-aligned by their column's last cell."""
    from rich import box
    from rich.console import Console
    from rich.table import Table

    cells = [[harmless(cell) for cell in row] for row in rows]
    table = Table(title=title and harmless(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for i, column in enumerate(columns):
        numeric = bool(cells) and cells[-1][i].lstrip("+-").replace(".", "").isdigit()
        table.add_column(harmless(column), justify="right" if numeric else "left", overflow="fold")
    for row in cells:
        table.add_row(*row)
    out = styled(sys.stdout)
    width = None if out.isatty() else 160
    Console(file=out, highlight=False, markup=False, emoji=False, width=width).print(table)


def numbers(text: str, name: str) -> tuple[float, ...]:
    """The finite numbers of an option such as ``20,24``, one or more; a TablesimError names it otherwise."""
    values = _parsed(text)
    if not values or not all(map(math.isfinite, values)):
        raise TablesimError(f"{name}: must be a number, or several with commas between; got {text[:60]!r}")
    return values


def vector(text: str, name: str, size: int) -> tuple[float, ...]:
    """The numbers of an option such as ``1,0,-2``; a TablesimError names it otherwise."""
    values = _parsed(text)
    if len(values) != size:
        raise TablesimError(
            f"{name}: must be {size} numbers with commas between, such as {','.join('0' * size)}; got {text[:60]!r}"
        )
    return values


def _parsed(text: str) -> tuple[float, ...]:
    """Numbers with commas between; none where one of them is no number."""
    try:
        return tuple(float(part) for part in text.split(","))
    except ValueError:
        return ()


@contextmanager
def progress_bar(doing: str) -> Iterator[Callable[..., None]]:
    """A progress bar on stderr, silent where that is no terminal; what it yields takes news of the work.

    News are ``description``, ``completed`` and ``total``.
    """
    if not sys.stderr.isatty():
        with unwound():
            yield lambda **news: insist()
        return
    from rich.console import Console
    from rich.progress import Progress

    bar = Progress(console=Console(file=styled(sys.stderr)), transient=True)
    with unwound(), bar:
        task = bar.add_task(doing, total=None)

        def tell(**news: Any) -> None:
            insist()
            bar.update(task, **news)

        yield tell


@contextmanager
def engine_prepared() -> Iterator[Callable[..., None]]:
    """The compiled engine made ready, once for all, under a progress bar that may go on telling of the work."""
    from tablesim.physics import jit

    if jit.wanted() and (why := jit.refusal()) is not None:
        print(f"tablesim: {why}", file=sys.stderr)
    with progress_bar("solving" if jit.is_prepared() else "preparing the engine (once)") as tell:
        jit.prepare(lambda kernel: tell(description=f"preparing the engine, once: {kernel}"))
        yield tell
