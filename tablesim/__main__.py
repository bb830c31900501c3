"""``python -m tablesim``."""

from tablesim.cli import main

main()
