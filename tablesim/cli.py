"""The command line: a Ctrl-C is heard from here on, then the commands are loaded and run.

Exit codes: 0 done, 1 a check failed, 2 bad input (one plain message on stderr,
nothing written), 130 interrupted, 141 nobody reads on (as shells count SIGPIPE).

The console script looks for no module in the current folder.  ``python -m
tablesim`` does until :func:`main` is reached, which Python alone decides
(``python -P -m tablesim`` does not).
"""

from __future__ import annotations

import os
import sys


def main() -> None:
    """Run a command, or open the window; people get messages, not tracebacks."""
    _leave_current_folder()
    from tablesim.interrupts import obeyed

    with obeyed():
        from tablesim.commands import run
        from tablesim.commands.streams import guarded, message_line
        from tablesim.errors import TablesimError

        with guarded():
            try:
                run(sys.argv[1:])
            except TablesimError as error:
                print(f"tablesim: {message_line(str(error))}", file=sys.stderr)
                sys.exit(2)


def _leave_current_folder() -> None:
    """Look for no module in the current folder, unless this package itself is run from there."""
    here, ours = os.path.realpath(os.curdir), os.path.dirname(os.path.dirname(os.path.realpath(__file__)))  # noqa: PTH120
    if not sys.flags.safe_path and here != ours and os.path.realpath(sys.path[0]) == here:
        del sys.path[0]
