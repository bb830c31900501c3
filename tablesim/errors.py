"""What can go wrong for a person, as exceptions.

    TablesimError (ValueError)
    +-- ScenarioError     a scenario, or a file of one, breaks a rule
    |   +-- FileChanged   a file is another than the one that was read
    +-- NameUnknown       no ball, pocket, cue, take or scenario of that name
    +-- AimImpossible     no line of that kind exists for the shot
    +-- ImpactUnfinished  the engine cannot integrate a ball's impact on a cushion to its end

Every message names the field, the rule and the value received, and where there
is one, the way out.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


class TablesimError(ValueError):
    """Something a person can mend; the message says how."""


class ScenarioError(TablesimError):
    """A scenario breaks a rule."""


class FileChanged(ScenarioError):
    """A file that is to be written was changed by another program after it was read."""


class NameUnknown(TablesimError):
    """There is nothing of that name."""


class AimImpossible(TablesimError):
    """No line of the kind asked for exists."""


class ImpactUnfinished(TablesimError):
    """An impact on a cushion whose integration does not come to its end: there is no answer, and none is made up."""


def unknown_name(what: str, name: str, known: Iterable[str]) -> str:
    """Message for an unknown name, with the nearest known one or the list of them."""
    names = list(known)
    near = get_close_matches(str(name), names, n=1, cutoff=0.5)
    shown = str(name)[:60]
    if near:
        return f"unknown {what} {shown!r}; did you mean {near[0]!r}?"
    listed = ", ".join(repr(n) for n in names[:24]) or "none"
    return f"unknown {what} {shown!r}; known: {listed}"
