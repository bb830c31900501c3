"""Marks of a drill in the window: they stay on the table, and a new one has a place of its own."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import pygame
import pytest
from window import Driver

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Mark
from tablesim.scene.table import RAIL_M
from tablesim.view.document.document import Document
from tablesim.view.document.editor import Editor
from tablesim.view.document.mark_places import patches_of

Open = Callable[..., Driver]


def on_table(w: Driver) -> bool:
    """True if every end of every mark lies on the table, rails and all."""
    size = w.scenario.table.surface
    ends = [end for mark in w.scenario.marks for end in (mark.at, mark.to) if end is not None]
    return all(
        -RAIL_M - 1e-9 <= x <= size.length_m + RAIL_M + 1e-9 and -RAIL_M - 1e-9 <= y <= size.width_m + RAIL_M + 1e-9
        for x, y in ends
    )


@pytest.fixture
def drill(window: Open) -> Driver:
    """A window with the page of marks."""
    w = window()
    w.app.open_page("Layout")
    w.app.frame()
    return w


def test_an_arrow_pulled_by_its_tail_stays_on_the_table(drill: Driver) -> None:
    w = drill
    w.press("add arrow")
    before = w.scenario.marks[0]
    w.drag(w.table(*before.at), w.table(2.5, 1.2))
    mark = w.scenario.marks[0]
    assert on_table(w)
    assert mark.to == pytest.approx((2.54 + RAIL_M, mark.at[1]))
    assert mark.to[0] - mark.at[0] == pytest.approx(before.to[0] - before.at[0])
    assert mark.at[1] == pytest.approx(1.2, abs=0.004)  # along the rail it went on
    handle = w.table(*mark.to)
    assert w.app.parts.widget_at(handle) is None  # within reach
    w.drag(handle, w.table(1.0, 0.6))
    assert w.scenario.marks[0].to == pytest.approx((1.0, 0.6), abs=0.004)


def test_an_arrows_head_goes_as_far_as_the_rail(drill: Driver) -> None:
    """It may point at a sight."""
    w = drill
    w.press("add arrow")
    w.drag(w.table(*w.scenario.marks[0].to), (w.table(1.5, 0.0)[0], w.app.table.rect.bottom + 80))
    assert w.scenario.marks[0].to == pytest.approx((1.5, -RAIL_M), abs=0.004)


@pytest.mark.parametrize("kind", ["zone", "arrow", "label"])
def test_a_mark_is_nudged_as_far_as_the_table_goes(drill: Driver, kind: str) -> None:
    w = drill
    w.app.editor.add_mark(kind)
    for dx, dy in ((0.4, 0.0), (0.0, 0.4), (-0.7, 0.0), (0.0, -0.7)):
        for _ in range(8):
            w.app.editor.nudge(dx, dy)
        assert on_table(w)
    assert min(end[1] for end in (w.scenario.marks[0].at, w.scenario.marks[0].to) if end) == pytest.approx(-RAIL_M)
    x = w.scenario.marks[0].at[0]
    w.key(pygame.K_RIGHT, pygame.KMOD_SHIFT)
    assert w.scenario.marks[0].at[0] == pytest.approx(x + 0.01)


def test_a_zones_handle_stays_within_reach(drill: Driver) -> None:
    w = drill
    w.press("add zone")
    w.drag(w.table(*w.scenario.marks[0].at), w.table(2.62, 0.6))
    zone = w.scenario.marks[0]
    assert zone.at == pytest.approx((2.62, 0.6), abs=0.004)
    w.drag(w.table(zone.at[0] - zone.radius_m, zone.at[1]), w.table(2.2, 0.6))
    assert w.scenario.marks[0].radius_m == pytest.approx(0.42, abs=0.006)


def test_what_lay_off_the_table_in_a_file_can_come_back(two_cues: Scenario) -> None:
    editor = Editor(Document(two_cues.change(marks=[Mark(kind="label", at=(3.5, 0.5), text="far")])))
    editor.select(mark=0)
    editor.move_mark(0.1, 0.0)
    assert editor.scenario.marks[0].at == (3.5, 0.5)
    editor.move_mark(-0.3, 0.0)
    assert editor.scenario.marks[0].at == pytest.approx((3.2, 0.5))


@pytest.fixture
def two_cues() -> Scenario:
    """A layout to draw on, the cue ball in the middle of the bed."""
    from tablesim.resources import open_scenario

    found = open_scenario("two-cues")
    return found.change(balls={**found.balls, "cue": (1.27, 0.635)})


@pytest.mark.parametrize("size", ["7ft", "9ft"])
def test_new_marks_lie_clear_of_noses_balls_and_each_other(two_cues: Scenario, size: str) -> None:
    balls = {"cue": (0.98, 0.49), "3": (0.8, 0.3)} if size == "7ft" else two_cues.balls
    editor = Editor(Document(two_cues.change(balls=balls, table={"size": size})))
    for kind in ("zone", "label", "arrow", "label", "zone", "label", "zone"):
        editor.add_mark(kind)
    marks, bed = editor.scenario.marks, editor.scenario.table.surface
    covered = [
        [(*at, patch.radius_m) for patch in patches_of(mark) for at in patch.points().tolist()] for mark in marks
    ]
    for x, y, r in itertools.chain(*covered):
        assert r <= x <= bed.length_m - r
        assert r <= y <= bed.width_m - r
    covered += [[(*at, editor.scenario.ball_set.radius_m(name))] for name, at in balls.items()]
    for one, other in itertools.combinations(covered, 2):
        for (x, y, r), (u, v, s) in itertools.product(one, other):
            assert math.hypot(x - u, y - v) >= r + s - 1e-3


def test_a_full_bed_still_takes_marks(two_cues: Scenario) -> None:
    editor = Editor(Document(two_cues))
    for _ in range(40):
        editor.add_mark("zone")
    assert len(editor.scenario.marks) == 40
