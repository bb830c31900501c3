"""Every example of README is run, and must print what stands there; ``python tests/test_readme.py`` writes it anew.

An example is a command with its output, or Python with its output in the block that follows.
A line of three dots stands for any lines.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

README = Path(__file__).parent.parent / "README.md"
COMMAND = re.compile(r"```\n\$ tablesim (?P<said>[^\n]*)\n(?P<shown>.*?)```", re.DOTALL)
PYTHON = re.compile(r"```python\n(?P<said>.*?)```\n\n```\n(?P<shown>.*?)```", re.DOTALL)
RUN: dict[re.Pattern[str], Callable[[str], list[str]]] = {
    COMMAND: lambda arguments: ["-m", "tablesim", *shlex.split(arguments)],
    PYTHON: lambda code: ["-c", code],
}


def examples() -> list[tuple[re.Pattern[str], str, str]]:
    """(kind, command or code, output) of each example."""
    text = README.read_text(encoding="utf-8")
    return [(kind, match["said"], match["shown"]) for kind in RUN for match in kind.finditer(text)]


def output_of(kind: re.Pattern[str], said: str) -> str:
    """What the example prints, without blanks at the ends of lines."""
    done = subprocess.run(
        [sys.executable, *RUN[kind](said)], capture_output=True, text=True, check=True, cwd=README.parent
    )
    return "\n".join(line.rstrip() for line in done.stdout.splitlines()).strip("\n") + "\n"


def matches(shown: str, printed: str) -> bool:
    """True if the output is the one shown, three dots standing for any lines."""
    parts = [re.escape(part) for part in re.split(r"(?m)^\.\.\.\n", shown)]
    return re.fullmatch("(?:.*\n)*?".join(parts), printed) is not None


@pytest.mark.parametrize(
    ("kind", "said", "shown"), examples(), ids=[said.partition("\n")[0] for _, said, _ in examples()]
)
def test_examples_print_what_readme_says(kind: re.Pattern[str], said: str, shown: str) -> None:
    printed = output_of(kind, said)
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
    """Put what the examples print now into README, except where three dots leave something out."""

    def renew(match: re.Match[str]) -> str:
        if "\n...\n" in match["shown"]:
            return match[0]
        before = match[0].removesuffix(f"{match['shown']}```")
        return f"{before}{output_of(match.re, match['said'])}```"

    text = README.read_text(encoding="utf-8")
    for kind in RUN:
        text = kind.sub(renew, text)
    README.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write()
