"""The table of takes in the window: what stays in sight where it is narrow, mouse and keys, copies of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from window import Driver, tab_to

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take, Tip
from tablesim.resources import open_scenario
from tablesim.scene.result_words import COLUMNS
from tablesim.view.answers.steps import ANSWERS, RESULTS
from tablesim.view.controls.results_table import ResultsTable, column_places, kept_columns
from tablesim.view.document.wishes import Wishes
from tablesim.view.window import hand_out
from tablesim.view.window.makers import KINDS, Order

Open = Callable[..., Driver]
TWO = open_scenario("two-cues")
NAMES = [column.heading for column in COLUMNS]


def many(count: int) -> Scenario:
    """So many takes of one layout, of which every fourth is jabbed."""
    takes = [
        Take(name=f"take {k}", pace_m_s=1.0 + 0.04 * k, tip=Tip(right=0.3), stroke="smooth" if k % 4 else "jab")
        for k in range(count)
    ]  # fmt: skip
    return TWO.change(takes=takes)


def table_of(w: Driver) -> ResultsTable:
    """The table in the strip."""
    return w.app.parts.strip.results


def row(w: Driver, i: int) -> tuple[int, int]:
    """A pixel of the row of take i, right of its box."""
    table, high = table_of(w), table_of(w).row_height(w.app.ui)
    return table.rect.x + 120, table.rect.y + high * (1 + i - table.first) + high // 2


def test_columns_go_in_their_turn_and_those_alike_first() -> None:
    rows = (("a", "x", "smooth", "soft", "none", "in", "1", "2", "3"), ("b", "x", "jabbed", "hard", "none", *"iiii"))
    wide = [10] * len(COLUMNS)

    def kept(room: int) -> list[str]:
        return [NAMES[k] for k in kept_columns(wide, rows, room)]

    assert kept(90) == NAMES
    assert kept(89) == [n for n in NAMES if n != "cue"]
    assert kept(79) == [n for n in NAMES if n not in ("english", "cue")]
    assert kept(60) == ["take", "stroke", "as aimed", "aim that works", "room", "cue ball"]
    assert kept(50) == ["take", "stroke", "as aimed", "aim that works", "cue ball"]
    assert kept(20) == ["take", "as aimed"]
    assert kept(5) == ["take"]
    assert "as aimed" not in [NAMES[k] for k in kept_columns(wide, tuple((*r[:5], "", *r[6:]) for r in rows), 90)]


@pytest.mark.parametrize("room", [60, 200, 500, 900, 2000])
def test_columns_lie_beside_each_other_within_the_room(room: int) -> None:
    pygame.font.init()
    rows = tuple((f"a take with a long name, number {k}", *"bcdefghi") for k in range(3))
    places = column_places(rows, room, 13, 11)
    assert places
    ends = [0, *(x + wide for _, x, wide in places)]
    assert all(x >= end for (_, x, _), end in zip(places, ends, strict=False))
    assert ends[-1] <= room
    assert column_places((), room, 13, 11) == ()


def test_results_of_all_takes_are_known_whatever_is_shown(window: Open) -> None:
    w = window()
    assert set(w.findings[ANSWERS]) == {0}
    assert set(w.findings[RESULTS]) == set(range(6))
    told = dict(w.written())
    assert {"goes in", "misses, 354 mm left", "366 mm right", *(take.name for take in TWO.takes)} <= set(told)
    w.app.editor.choose(4)
    w.app.frame()
    assert "…" not in dict(w.written())  # what is known stays known


def test_a_hundred_takes(window: Open) -> None:
    """All worked out; the chosen one is in sight wherever it is."""
    w = window(scenario=many(100))
    assert set(w.findings[RESULTS]) == set(range(100))
    table = table_of(w)
    for chosen in (99, 0, 50):
        w.app.editor.choose(chosen)
        w.settle()
        assert table.first <= chosen < table.first + table.fits(w.app.ui)
    assert {"jabbed", "smooth"} <= set(dict(w.written()))
    assert "english" not in dict(w.written())  # all alike: it went for the others


def test_mouse(window: Open) -> None:
    w = window()
    table = table_of(w)
    w.click((table.rect.x + 12, row(w, 3)[1]))
    assert (w.app.editor.chosen, w.app.editor.shown.takes) == (0, (3,))
    w.click(row(w, 2))
    assert w.app.editor.chosen == 2
    w.click((row(w, 2)[0], table.rect.y + 4))  # the headings
    w.click((row(w, 2)[0], table.rect.bottom - 1))  # below the last row
    assert (w.app.editor.chosen, w.app.editor.shown.takes) == (2, (3,))


def test_keys_and_wheel(window: Open) -> None:
    w = window(scenario=many(40))
    tab_to(w, "takes")
    for code, chosen in ((pygame.K_DOWN, 1), (pygame.K_DOWN, 2), (pygame.K_UP, 1), (pygame.K_UP, 0), (pygame.K_UP, 0)):
        w.key(code)
        assert w.app.editor.chosen == chosen
    w.key(pygame.K_RETURN)
    assert w.app.editor.shown.takes == (0,)
    w.move(row(w, 1))
    for first in (1, 2):
        w.send(pygame.Event(pygame.MOUSEWHEEL, y=-1, x=0, precise_y=-1.0))
        assert table_of(w).first == first
    w.click(row(w, 4))
    assert w.app.editor.chosen == 4


def test_a_row_and_a_heading_tell_the_whole_of_it(window: Open) -> None:
    w = window()
    w.move(row(w, 5))
    w.settle()
    assert table_of(w).note.startswith("wood, hard. cue: wood; stroke: smooth; pace: hard; english: 60 % left; as")
    w.move((row(w, 5)[0], table_of(w).rect.y + 4))
    w.settle()
    assert table_of(w).note == COLUMNS[0].says


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080), (3840, 2160), (1024, 768)])
def test_letters_for_a_projector(window: Open, size: tuple[int, int]) -> None:
    """A forty-fifth of the window's height at least; three rows and the aim that works in any case."""
    w = window(size=size)
    w.key(pygame.K_v)
    w.settle()
    table = table_of(w)
    assert w.app.ui.px(table.letters) >= size[1] // 45
    assert table.fits(w.app.ui) >= 3
    assert {"take", "as aimed", "aim that works"} <= set(dict(w.written()))


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080), (900, 700), (700, 500), (640, 400)])
def test_the_parts_of_the_strip_lie_beside_each_other(window: Open, size: tuple[int, int]) -> None:
    """Within the window; the table has most of it."""
    w = window(size=size)
    for look in range(2):
        if look:
            w.key(pygame.K_v)
            w.settle()
        strip = w.app.parts.strip
        parts = [p for p in (strip.results, strip.chooser, strip.reading, strip.bars) if p.rect.w]
        assert all(w.app.surface.get_rect().contains(p.rect) for p in parts)
        assert all(not a.rect.colliderect(b.rect) for a in parts for b in parts if a is not b)
        assert all(not p.rect.colliderect(w.app.table.rect) for p in parts)
        if strip.results.rect.w and strip.reading.rect.y == strip.results.rect.y:
            assert strip.results.rect.w > 0.5 * sum(p.rect.w for p in (strip.results, strip.reading))


def test_copies(window: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    """As text in the person's unit, as CSV in millimetres; not while some are missing."""
    copied: list[str] = []
    monkeypatch.setattr(hand_out, "copy_text", copied.append)
    w = window()
    w.app.settings.unit = "inch"
    w.key(pygame.K_c, pygame.KMOD_CTRL | pygame.KMOD_SHIFT)
    w.press("copy results")
    assert copied[0] == copied[1]
    assert len(copied[0].splitlines()) == 7
    assert "14.4 in right" in copied[0]
    w.app.hand_out.copy_results(True)
    assert [r["take"] for r in csv.DictReader(io.StringIO(copied[2]))] == [take.name for take in TWO.takes]
    w.app.editor.drag_ball("cue", 0.9, 0.5)
    w.key(pygame.K_c, pygame.KMOD_CTRL | pygame.KMOD_SHIFT)
    assert len(copied) == 3
    assert "still being worked out" in w.app.message
    w.settle()
    w.key(pygame.K_c, pygame.KMOD_CTRL)  # that is the layout still
    assert "\nLayout in diamonds" in copied[3]


def test_the_table_is_handed_out_as_a_file(window: Open, tmp_path: Path) -> None:
    w, file = window(), tmp_path / "takes.csv"
    kind = KINDS["Table of takes (CSV)"]
    order = Order(file, w.scenario, [], w.app.editor.shown, "evening", Wishes("1", ""))
    kind.make(order, lambda done, whole: None, None)  # type: ignore[arg-type]
    assert kind.suffix == ".csv"
    rows = csv.DictReader(io.StringIO(file.read_text(encoding="utf-8")))
    assert [r["take"] for r in rows] == [take.name for take in TWO.takes]
