"""The command line: a Ctrl-C is heard from here on, then the commands are loaded and run.

Exit codes: 0 done, 1 a check failed, 2 bad input (one plain message on stderr,
nothing written), 130 interrupted.
"""

from __future__ import annotations

import sys

from tablesim.interrupts import obeyed


def main() -> None:
    """Run a command, or open the window; people get messages, not tracebacks."""
    with obeyed():
        from tablesim.commands import run
        from tablesim.errors import TablesimError

        try:
            run(sys.argv[1:])
        except TablesimError as error:
            print(f"tablesim: {error}", file=sys.stderr)
            sys.exit(2)
