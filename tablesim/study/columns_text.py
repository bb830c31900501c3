"""Rows as text: columns one under the other for a person, commas between for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

FORMULA_BEGINS = ("=", "+", "-", "@")


def csv_text(header: Sequence[str], rows: Iterable[Sequence[str | float | None]]) -> str:
    """CSV, a header first: numbers as numbers, None as nothing, no text that a spreadsheet would take for a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([_harmless_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _harmless_cell(value: str | float | None) -> str | float:
    """A cell; before a text that begins like a formula goes an apostrophe, as is usual."""
    if value is None:
        return ""
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA_BEGINS) else value


def aligned_text(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Columns two spaces apart, each as wide as its widest cell; those without any cell are left out."""
    used = [k for k in range(len(header)) if any(row[k] for row in rows)]
    lines = [[row[k] for k in used] for row in (header, *rows)]
    wide = [max(len(line[k]) for line in lines) for k in range(len(used))]
    return "".join("  ".join(f"{c:<{w}}" for c, w in zip(line, wide, strict=True)).rstrip() + "\n" for line in lines)
