"""The cues of a scenario changed: no screen, no history."""

from __future__ import annotations

from tablesim.errors import TablesimError
from tablesim.model.gear import Cue
from tablesim.model.scenario import MAX_CUES, Scenario
from tablesim.model.shot import MAX_NAME, Take
from tablesim.study.calibrate import cue_named
from tablesim.study.series import free_name

NEW = "new cue"
SAID = 3  # takes that are named where a cue is in use


def with_cue(scenario: Scenario, name: str, cue: Cue) -> tuple[Scenario, str]:
    """One cue more, after the last one, and the name it got: this one, with a number where it is taken."""
    if len(scenario.cues) >= MAX_CUES:
        raise TablesimError(f"A scenario has at most {MAX_CUES} cues: remove one first.")
    free = free_name([name], scenario.cues)
    return scenario.change(cues={**scenario.cues, free: cue}), free


def with_new_cue(scenario: Scenario) -> tuple[Scenario, str]:
    """An ordinary cue more, and its name."""
    return with_cue(scenario, NEW, Cue())


def with_cue_copied(scenario: Scenario, name: str) -> tuple[Scenario, str]:
    """A cue like another one, and its name."""
    return with_cue(scenario, name, cue_named(scenario, name))


def with_cue_renamed(scenario: Scenario, name: str, new: str) -> Scenario:
    """A cue under another name, in its place and in all takes; TablesimError if the name is empty, long or taken."""
    cue_named(scenario, name)
    if not 1 <= len(new) <= MAX_NAME:
        raise TablesimError(f"cue: a name has 1 to {MAX_NAME} letters; got {len(new)}")
    if new != name and new in scenario.cues:
        raise TablesimError(f"cue: there is a cue {new!r} already; choose another name")
    cues = {new if one == name else one: cue for one, cue in scenario.cues.items()}
    takes = [take.change(cue=new) if take.cue == name else take for take in scenario.takes]
    return scenario.change(cues=cues, takes=takes)


def without_cue(scenario: Scenario, name: str) -> Scenario:
    """One cue less; TablesimError says by which takes it is in use, or that it is the last one."""
    cue_named(scenario, name)
    if users := takes_with(scenario, name):
        named = ", ".join(repr(take.name) for take in users[:SAID])
        more = f" and {len(users) - SAID} more" if len(users) > SAID else ""
        raise TablesimError(f"cue {name!r} is in use by {named}{more}: give them another cue first")
    if len(scenario.cues) == 1:
        raise TablesimError("The last cue stays: a take needs one.")
    return scenario.change(cues={one: cue for one, cue in scenario.cues.items() if one != name})


def takes_with(scenario: Scenario, name: str) -> list[Take]:
    """The takes that are played with a cue, those that name none and have the first one among them."""
    return [take for take in scenario.takes if scenario.cue_name_of(take) == name]


def with_cue_number(scenario: Scenario, name: str, field: str, value: float) -> Scenario:
    """A property of a cue changed."""
    return scenario.change(cues={**scenario.cues, name: cue_named(scenario, name).change(**{field: value})})
