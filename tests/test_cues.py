"""Cues by name: added, copied, renamed in all takes, removed if none is played with them, measured one at a time."""

from __future__ import annotations

from collections.abc import Callable

import pygame
import pytest
from window import Driver

from tablesim.errors import TablesimError
from tablesim.model.gear import Cue
from tablesim.model.scenario import MAX_CUES
from tablesim.model.shot import MAX_NAME, Take
from tablesim.resources import open_scenario
from tablesim.view.document.cue_edits import (
    takes_with,
    with_cue_copied,
    with_cue_number,
    with_cue_renamed,
    with_new_cue,
    without_cue,
)
from tablesim.view.document.cue_rack import CueRack
from tablesim.view.document.document import Document
from tablesim.view.document.editor import Editor
from tablesim.view.document.measuring import Measuring

Open = Callable[..., Driver]
TWO = open_scenario("two-cues")  # low-squirt first, then wood
UNNAMED = TWO.change(takes=[Take(name="any", pace_m_s=2.0), TWO.takes[3]])  # the first is played with the first cue


def test_added_and_copied_cues_get_free_names_and_stand_last() -> None:
    one, name = with_new_cue(TWO)
    two, second = with_new_cue(one)
    three, third = with_cue_copied(two, "wood")

    assert (name, second, third) == ("new cue", "new cue 2", "wood 2")
    assert list(three.cues) == ["low-squirt", "wood", "new cue", "new cue 2", "wood 2"]
    assert three.cues["new cue"] == Cue()
    assert three.cues["wood 2"] == TWO.cues["wood"]
    assert three.takes == TWO.takes


def test_there_are_no_more_cues_than_a_scenario_may_have() -> None:
    full = TWO.change(cues={**TWO.cues, **{str(k): Cue() for k in range(MAX_CUES - 2)}})
    for add in (with_new_cue, lambda scenario: with_cue_copied(scenario, "wood")):
        with pytest.raises(TablesimError, match="at most 50 cues: remove one first"):
            add(full)
    assert len(with_new_cue(without_cue(full, "0"))[0].cues) == MAX_CUES


def test_a_new_name_is_the_takes_too_and_keeps_the_place() -> None:
    named = with_cue_renamed(TWO, "low-squirt", "mine")

    assert list(named.cues) == ["mine", "wood"]
    assert [take.cue for take in named.takes] == ["mine"] * 3 + ["wood"] * 3
    assert with_cue_renamed(named, "mine", "low-squirt") == TWO
    assert with_cue_renamed(TWO, "wood", "wood") == TWO
    assert with_cue_renamed(UNNAMED, "low-squirt", "mine").takes == UNNAMED.takes
    assert with_cue_renamed(TWO, "wood", "x" * MAX_NAME).takes[3].cue == "x" * MAX_NAME


@pytest.mark.parametrize(("name", "new", "words"), [
    ("wood", "low-squirt", "there is a cue 'low-squirt' already; choose another name"),
    ("wood", "", "a name has 1 to 40 letters; got 0"),
    ("wood", "x" * (MAX_NAME + 1), "a name has 1 to 40 letters; got 41"),
    ("wod", "mine", "unknown cue 'wod'; did you mean 'wood'?"),
])  # fmt: skip
def test_names_that_will_not_do(name: str, new: str, words: str) -> None:
    with pytest.raises(TablesimError) as refused:
        with_cue_renamed(TWO, name, new)
    assert words in str(refused.value)


def test_a_cue_in_use_stays_and_it_is_said_by_which_takes() -> None:
    with pytest.raises(TablesimError) as refused:
        without_cue(TWO, "wood")
    assert str(refused.value) == (
        "cue 'wood' is in use by 'wood, soft', 'wood, medium', 'wood, hard': give them another cue first"
    )
    many = TWO.change(takes=[*TWO.takes, TWO.takes[3].change(name="more")])
    with pytest.raises(TablesimError, match="'wood, hard' and 1 more: give"):
        without_cue(many, "wood")
    with pytest.raises(TablesimError, match="'low-squirt' is in use by 'any'"):  # which names none
        without_cue(UNNAMED, "low-squirt")
    assert [take.name for take in takes_with(UNNAMED, "low-squirt")] == ["any"]


def test_a_cue_that_no_take_has_goes_but_for_the_last() -> None:
    left = without_cue(TWO.change(takes=TWO.takes[:3]), "wood")
    assert list(left.cues) == ["low-squirt"]
    with pytest.raises(TablesimError, match="The last cue stays"):
        without_cue(left.change(takes=[]), "low-squirt")


def test_a_number_of_one_cue_alone_is_changed() -> None:
    changed = with_cue_number(TWO, "wood", "ball_to_end_mass", 30.0)
    assert changed.change(cues=TWO.cues) == TWO
    assert (changed.cues["wood"].ball_to_end_mass, changed.cues["low-squirt"]) == (30.0, TWO.cues["low-squirt"])


@pytest.mark.parametrize("chosen", [0, 4])
@pytest.mark.parametrize("test", ["squirt: the cue", "pivot: the cue"])
def test_measuring_my_cue_changes_no_other(chosen: int, test: str) -> None:
    editor = Editor(Document(TWO))
    editor.choose(chosen)
    measuring = Measuring(editor)
    rack = measuring.rack
    rack.add()
    rack.rename("mine")
    measuring.chosen = test
    measuring.texts[test] |= {"off, mm": "51 55 60"} if test.startswith("squirt") else {"pivot, m": "0.3"}
    assert measuring.into == "Put it into cue 'mine'"
    measuring.put()

    after = editor.scenario
    assert after.cues["mine"].ball_to_end_mass != Cue().ball_to_end_mass
    assert {name: after.cues[name] for name in TWO.cues} == dict(TWO.cues)
    assert after.takes == TWO.takes
    editor.undo()
    assert editor.scenario.cues["mine"] == Cue()


def test_the_cue_looked_at_follows_the_take_until_one_is_picked() -> None:
    editor = Editor(Document(TWO))
    rack = CueRack(editor)
    assert rack.name == "low-squirt"
    rack.pick("wood")
    assert rack.name == "wood"
    rack.rename("ash")
    assert rack.name == "ash"
    editor.undo()
    assert rack.name == "low-squirt"  # there is no ash any more
    editor.choose(3)
    assert rack.name == "wood"
    rack.copy()
    assert (rack.name, rack.words) == ("wood 2", "played by no take")
    editor.choose(0)
    assert rack.name == "low-squirt"


def test_cues_in_the_window(window: Open) -> None:
    w = window()
    w.app.open_page("Gear")
    w.settle()
    w.press("remove cue")
    assert w.app.message.startswith("Cue 'low-squirt' is in use by 'low-squirt, soft'")
    w.press("copy cue")
    w.settle()
    w.press("cue name")
    w.type("mine")
    w.key(pygame.K_RETURN)
    w.settle()
    w.press("rack end mass")
    w.type("33")
    w.key(pygame.K_RETURN)
    w.settle()
    assert list(w.scenario.cues) == ["low-squirt", "wood", "mine"]
    assert w.scenario.cues["mine"].ball_to_end_mass == 33.0
    assert w.scenario.cues["low-squirt"] == TWO.cues["low-squirt"]
    w.press("remove cue")
    w.settle()
    assert w.scenario == TWO
    for _ in range(4):
        w.key(pygame.K_z, pygame.KMOD_CTRL)
    assert not w.app.document.can_undo
