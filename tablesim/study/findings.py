"""Findings as plain data: frozen dataclasses whose fields become the keys of ``--json``."""

from __future__ import annotations

import dataclasses
import math
from typing import Any


def as_json(finding: Any) -> Any:
    """A finding as JSON-able data: dataclasses to objects, tuples to lists, not-finite numbers to null."""
    if dataclasses.is_dataclass(finding) and not isinstance(finding, type):
        return {f.name: as_json(getattr(finding, f.name)) for f in dataclasses.fields(finding)}
    if isinstance(finding, dict):
        return {key: as_json(value) for key, value in finding.items()}
    if isinstance(finding, list | tuple):
        return [as_json(item) for item in finding]
    if isinstance(finding, float):
        return float(finding) if math.isfinite(finding) else None
    return finding
