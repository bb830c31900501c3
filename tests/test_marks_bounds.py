"""Marks lie on the table or some metres about it: elsewhere they cannot be drawn, and are refused in plain words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from window import Driver

from tablesim.errors import ScenarioError
from tablesim.model.lesson import load_lesson
from tablesim.model.scenario import Scenario, from_json, load, to_json
from tablesim.output.still import StillWishes, still
from tablesim.resources import open_scenario, ready_lessons, ready_scenarios
from tablesim.scene.table import RAIL_M

Open = Callable[..., Driver]


def marked(**mark: object) -> Scenario:
    """An ordinary layout with a mark."""
    return open_scenario("two-cues").change(marks=[{"kind": "label", "at": [1.0, 0.5], "text": "here", **mark}])


@pytest.mark.parametrize(
    ("mark", "told"),
    [
        ({"at": [1e308, 0.0]}, r"marks\[0\]\.at\[0\]: must be at most 10; got 1e\+308"),
        ({"at": [0.0, -5.01]}, r"marks\[0\]\.at\[1\]: must be at least -5; got -5\.01"),
        ({"kind": "zone", "radius_m": 0.1, "at": [0.0, 1e300]}, r"marks\[0\]\.at\[1\]: must be at most 10"),
        ({"kind": "arrow", "to": [-1e9, 0.0]}, r"marks\[0\]\.to\[0\]: must be at least -5"),
    ],
)
def test_a_mark_out_of_sight_is_refused(mark: dict[str, object], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        marked(**mark)


@pytest.mark.parametrize("suffix", ["png", "svg"])
def test_the_farthest_marks_are_drawn(tmp_path: Path, suffix: str) -> None:
    far = marked(at=[-5.0, 10.0]).marks + marked(kind="arrow", to=[10.0, -5.0]).marks
    scenario = open_scenario("two-cues").change(marks=far)
    assert from_json(to_json(scenario)) == scenario
    picture = tmp_path / f"a.{suffix}"
    still(scenario, str(picture), StillWishes(size=(320, 200)))
    if suffix == "svg":
        assert "inf" not in picture.read_text(encoding="utf-8")


def test_what_is_ready_keeps_the_bounds() -> None:
    for path in ready_scenarios().values():
        load(path)
    for path in ready_lessons().values():
        load_lesson(path)


@pytest.mark.parametrize("kind", ["zone", "arrow", "label"])
def test_in_the_window_a_mark_stays_on_the_table(window: Open, kind: str) -> None:
    w = window()
    w.press("page Layout")
    w.press(f"add {kind}")
    (mark,) = w.scenario.marks
    size = w.scenario.table.surface
    w.drag(w.table(*mark.at), (99_999, -99_999))
    for field in ("position 0", "position 1"):
        w.press(field)
        w.send(pygame.Event(pygame.TEXTINPUT, text="1e308"))
        w.key(pygame.K_RETURN)
    for _ in range(3):
        w.key(pygame.K_RIGHT, pygame.KMOD_SHIFT)
    (mark,) = w.scenario.marks
    for x, y in (mark.at, *([mark.to] if mark.to is not None else [])):
        assert -RAIL_M <= x <= size.length_m + RAIL_M
        assert -RAIL_M <= y <= size.width_m + RAIL_M
    assert from_json(to_json(w.scenario)) == w.scenario
