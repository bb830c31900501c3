"""The figures of the field, each against the engine: what ``tablesim check`` prints and the tests assert.

Kinds, and what each is worth: published.KINDS.  Mechanics and what is built in:
checks_mechanics.py; the world: checks_world.py.
"""

from __future__ import annotations

from .checks_mechanics import mechanics
from .checks_world import world
from .published import Check, Verdict


def all_checks() -> tuple[Check, ...]:
    """Every figure, mechanics first, in the order of the laws."""
    return (*mechanics(), *world())


def make_checks() -> tuple[Verdict, ...]:
    """All checks made."""
    verdicts = []
    for c in all_checks():
        value = c.value()
        ok = abs(value - c.expected) <= c.tolerance
        verdicts.append(Verdict(c.name, c.kind, c.source, c.expected, c.tolerance, c.unit, value, ok, c.miss))
    return tuple(verdicts)
