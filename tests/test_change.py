"""What one change does, in a line: what was changed, the miss and the correction before and after."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pygame
import pytest
from conftest import known
from window import Driver

from tablesim.model.gear import CLOTHS
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Target
from tablesim.resources import open_scenario
from tablesim.scene.words import in_unit, said
from tablesim.study.answer import answer_take
from tablesim.study.change import change_words
from tablesim.study.correct import correct
from tablesim.study.predict import predict

Open = Callable[..., Driver]
BASE = open_scenario("two-cues")


def line(after: Scenario, take: int = 1, before: Scenario = BASE) -> str:
    """The line from one scenario to another."""
    return change_words(
        before, answer_take(before, before.takes[take]), after, answer_take(after, after.takes[take])
    )  # fmt: skip


def with_take(**fields: Any) -> Scenario:
    """The second take played otherwise."""
    takes = list(BASE.takes)
    takes[1] = takes[1].model_validate({**takes[1].model_dump(exclude_none=True), **fields})
    return BASE.change(takes=takes)


def left_right(mm: float | None) -> str:
    """Millimetres as a person says them."""
    mm = known(mm)
    return f"{abs(mm):.0f} mm {'left' if mm > 0.0 else 'right'}"


def test_the_figures_are_those_of_predict_and_correct() -> None:
    """Medium to hard: from a pot to a miss."""
    after = with_take(pace_m_s=4.5)
    was, now = (predict(s, "low-squirt, medium")[0].target for s in (BASE, after))
    aims = [correct(s, "low-squirt, medium")[0].aim_offset_mm for s in (BASE, after)]
    assert line(after) == (
        f"Pace 1.9 → 4.5 m/s. Ball 3 goes in, {left_right(was.miss_mm)} → misses, {left_right(now.miss_mm)}."
        f" Correction {left_right(aims[0])} → {left_right(aims[1])}."
    )


@pytest.mark.parametrize(
    ("after", "words"),
    [
        (with_take(tip={"right": 0.2, "up": 0.0}), "English 60 % left → 40 % right."),
        (with_take(tip={"right": 0.0, "up": -0.1}), "English 60 % left → none, tip centre → 20 % low."),
        (with_take(elevation_deg=5.0), "Butt 3 → 5°."),
        (with_take(stroke="jab"), "Stroke smooth → jab."),
        (with_take(cue="wood"), "Cue low-squirt → wood."),
        (with_take(aim={"toward": "pocket", "offset_mm": 100.0}), "Cue turned 0."),
        (BASE.change(cloth=CLOTHS["humid"]), "Cloth ordinary → humid."),
        (BASE.change(cloth={"rolling_resistance": 0.02}), "Cloth, rolling resistance 0.01 → 0.02."),
        (BASE.change(cloth={"rolling_resistance": 0.02, "sliding_friction": 0.3}), "Other cloth."),
        (BASE.change(ball_set=BASE.ball_set.model_copy(update={"condition": 2.0})), "Balls clean → dirty."),
        (BASE.change(table={"size": "8ft"}), "Table, size 9ft → 8ft."),
        (BASE.change(cues={**BASE.cues, "low-squirt": {"ball_to_end_mass": 30.0}}), "Cue low-squirt, ball to end mass"),
        (BASE.change(balls={**BASE.balls, "3": (1.70, 0.75)}), "Ball 3 moved 50 mm."),
        (BASE.change(balls={**BASE.balls, "8": (0.3, 0.3)}), "Ball 8 added."),
        (BASE.change(target=Target(ball="3", pocket="foot-right")), "Ball 3 to foot left → ball 3 to foot right."),
    ],
)
def test_what_was_changed_is_named(after: Scenario, words: str) -> None:
    assert line(after).startswith(words)
    assert ". Ball 3 " in line(after)


def test_shots_without_a_pot_are_said_too() -> None:
    too_soft = with_take(pace_m_s=0.3)
    assert "is not reached" in line(too_soft)
    assert line(too_soft).endswith("→ none.")
    harder = too_soft.change(cloth=CLOTHS["humid"])
    assert "still is not reached. Correction still none." in line(harder, before=too_soft)
    assert "stays: miscue" in line(with_take(tip={"right": 0.8, "up": 0.0}))
    assert "is blocked by ball 8" in line(BASE.change(balls={**BASE.balls, "8": (1.3, 0.60)}))
    free = [take.model_copy(update={"aim": Aim(heading_deg=15.0)}) for take in BASE.takes]
    firmer = [take.model_copy(update={"pace_m_s": 5.0}) for take in free]
    alone = BASE.change(target=None, takes=free)
    assert line(alone.change(takes=firmer), before=alone) == "Pace 1.9 → 5 m/s."


def test_what_does_not_matter_is_not_said() -> None:
    assert line(BASE) == ""
    assert line(BASE.change(title="Another", notes="x")) == ""


def test_inches_and_british_words() -> None:
    words = line(with_take(pace_m_s=4.5, tip={"right": 0.0, "up": 0.0}))
    assert "mm" not in in_unit(words, "inch")
    assert in_unit("aim 127 mm right, 12.7 mm", "inch") == "aim 5.0 in right, 0.5 in"
    assert in_unit(words, "mm") == in_unit(words, "diamond") == words
    assert said(words, True).startswith("Pace 1.9 → 4.5 m/s, side 60 % left → none.")


def test_the_window_says_it_until_escape(window: Open) -> None:
    w = window()
    assert w.app.parts.strip.change_text() == ""
    for _ in range(4):
        w.key(pygame.K_MINUS, 0, "-")
    w.settle()
    old, new = BASE.takes[0].pace_m_s, w.take.pace_m_s
    assert w.app.parts.strip.change_text().startswith(f"Pace {old:.4g} → {new:.4g} m/s. Ball 3 ")
    assert w.app.parts.strip.change_text() == line(w.scenario, 0)
    w.app.settings.unit = "inch"
    assert " mm" not in w.app.parts.strip.change_text() + w.app.parts.strip.reading_text()
    for _ in range(4):
        w.key(pygame.K_PLUS, 0, "+")
    w.settle()
    assert w.app.parts.strip.change_text() == ""  # as it was
    w.key(pygame.K_PLUS, 0, "+")
    w.settle()
    w.key(pygame.K_ESCAPE)
    assert w.app.parts.strip.change_text() == ""


def test_the_line_fits_the_smallest_window(window: Open) -> None:
    """Nothing of it is cut off, and it leaves the table alone."""
    w = window(size=(640, 400))
    w.key(pygame.K_MINUS, 0, "-")
    w.settle()
    told = [
        (words, place) for words, place in w.written() if place.x > -1000 and words in w.app.parts.strip.change_text()
    ]
    assert " ".join(words for words, _ in told) == w.app.parts.strip.change_text()
    assert all(w.app.surface.get_rect().contains(place) for _, place in told)
    assert not any(w.app.table.rect.colliderect(place) for _, place in told)
