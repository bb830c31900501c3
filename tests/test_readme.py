"""Every example of README is run, and must print what stands there; ``python tests/test_readme.py`` writes it anew.

A line of three dots stands for any lines.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

README = Path(__file__).parent.parent / "README.md"
EXAMPLE = re.compile(r"```\n\$ tablesim ([^\n]*)\n(.*?)```", re.DOTALL)


def examples() -> list[tuple[str, str]]:
    """(arguments, output) of each example."""
    return [(match[1], match[2]) for match in EXAMPLE.finditer(README.read_text(encoding="utf-8"))]


def output_of(arguments: str) -> str:
    """What the command prints, without blanks at the ends of lines."""
    done = subprocess.run(
        [sys.executable, "-m", "tablesim", *shlex.split(arguments)],
        capture_output=True, text=True, check=True, cwd=README.parent,
    )  # fmt: skip
    return "\n".join(line.rstrip() for line in done.stdout.splitlines()).strip("\n") + "\n"


def matches(shown: str, printed: str) -> bool:
    """True if the output is the one shown, three dots standing for any lines."""
    parts = [re.escape(part) for part in re.split(r"(?m)^\.\.\.\n", shown)]
    return re.fullmatch("(?:.*\n)*?".join(parts), printed) is not None


@pytest.mark.parametrize(("arguments", "shown"), examples(), ids=[a for a, _ in examples()])
def test_examples_print_what_readme_says(arguments: str, shown: str) -> None:
    printed = output_of(arguments)
    assert matches(shown, printed), printed


def test_readme_names_every_command() -> None:
    from tablesim.commands import app

    text = README.read_text(encoding="utf-8")
    names = [c.name or getattr(c.callback, "__name__", "") for c in app.registered_commands]
    assert [name for name in names if f"`tablesim {name}" not in text] == []


def test_pictures_exist() -> None:
    for path in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README.read_text(encoding="utf-8")):
        assert (README.parent / path).is_file(), path


def write() -> None:
    """Put what the commands print now into README, except where three dots leave something out."""

    def renew(match: re.Match[str]) -> str:
        if "\n...\n" in match[0]:
            return match[0]
        return f"```\n$ tablesim {match[1]}\n{output_of(match[1])}```"

    README.write_text(EXAMPLE.sub(renew, README.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    write()
