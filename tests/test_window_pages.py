"""Pages over the window: a double click on them stays theirs, and what cannot be opened is said on them."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from window import Driver

from tablesim.model.scenario import save
from tablesim.resources import open_scenario
from tablesim.view.controls.widgets import Widget
from tablesim.view.document.measuring import NONE, TESTS
from tablesim.view.document.places import UNITS
from tablesim.view.numbers import Range
from tablesim.view.pages.file_page import FilePage
from tablesim.view.pages.panel import PAGES

Open = Callable[..., Driver]
TWO = open_scenario("throw-at-thirty")


def double_click(w: Driver, pos: tuple[int, int]) -> None:
    """Two presses within the time of a double click."""
    w.click(pos)
    w.now += 0.1
    w.send(pygame.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=pos))
    w.send(pygame.Event(pygame.MOUSEBUTTONUP, button=1, pos=pos))


def list_open(w: Driver) -> FilePage:
    """The page on which a file is picked, with its folder read."""
    w.key(pygame.K_o, pygame.KMOD_CTRL)
    page = w.app.overlay
    assert isinstance(page, FilePage)
    read(w, page)
    return page


def read(w: Driver, page: FilePage) -> None:
    """Wait until the folder is read."""
    for _ in range(500):
        if page.list.items is not None:
            break
        w.settle()
    w.app.dirty = True
    w.app.frame()


def line(page: FilePage, name: str) -> tuple[int, int]:
    """The pixel of a line of the list."""
    assert page.list.items is not None
    at = [entry.name for entry in page.list.items].index(name)
    return page.list.rect.centerx, page.list.rect.y + 4 + 24 * (at - page.list.first) + 12


@pytest.fixture
def drill(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A scenario's file in the folder that is looked into."""
    monkeypatch.chdir(tmp_path)
    save(TWO, tmp_path / "drill.json")
    return tmp_path / "drill.json"


def test_a_double_click_on_a_file_opens_it_and_leaves_the_shot_alone(window: Open, drill: Path) -> None:
    w = window()
    double_click(w, line(list_open(w), drill.name))
    assert w.scenario == TWO
    assert not w.app.document.unsaved
    assert w.app.editor.selected is None
    pos = w.table(1.3, 0.2)
    double_click(w, pos)  # the table still has its own
    assert w.take.aim != TWO.takes[0].aim


def test_a_double_click_on_an_answer_presses_nothing_under_it(window: Open) -> None:
    w = window()
    w.key(pygame.K_d)
    changed = w.scenario
    w.key(pygame.K_n, pygame.KMOD_CTRL)
    double_click(w, w.control("Cancel").rect.center)
    assert w.app.overlay is None
    assert w.scenario == changed


def test_a_double_click_on_a_folder_takes_nothing_inside_it(window: Open, drill: Path) -> None:
    inside = drill.parent / "a"
    inside.mkdir()
    for k in range(12):
        save(TWO, inside / f"{k}.json")
    w = window()
    page = list_open(w)
    pos = line(page, "a/")
    w.click(pos)
    read(w, page)
    w.now -= 0.9
    w.click(pos)
    assert w.app.overlay is page
    assert page.folder == inside


def test_a_slow_second_click_is_the_tables(window: Open, drill: Path) -> None:
    w = window()
    w.click(line(list_open(w), drill.name))
    w.click(w.table(*TWO.balls["cue"]))
    assert w.app.editor.selected == "cue"


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("none.json", None, "cannot be read"),
        ("bad.json", '{"balls": {"cue": [0.5, NaN]}}', "numbers must be finite"),
        ("bad.json", '{"tablesim_lesson": 1, "sceens": []}', "did you mean 'scenes'"),
        ("x" * 300, None, "too long"),
        ("~nobody-of-that-name/x.json", None, "home directory"),
    ],
)
def test_what_cannot_be_opened_is_said_on_the_page_which_keeps_the_keys(
    window: Open, drill: Path, name: str, text: str | None, said: str
) -> None:
    w = window()
    if text is not None:
        (drill.parent / name).write_text(text)
    before = w.scenario
    page = list_open(w)
    page.field.begin()
    page.field.typed(name if name[0] == "~" else str(drill.parent / name))
    w.key(pygame.K_RETURN)
    assert w.app.overlay is page
    assert said in page.trouble
    assert w.app.message == ""
    w.type("d")
    assert w.scenario == before
    page.field.text = str(drill)
    w.key(pygame.K_RETURN)
    assert w.app.overlay is None
    assert w.scenario == TWO


def test_a_bad_file_picked_from_the_list_leaves_the_list_open(window: Open, drill: Path) -> None:
    (drill.parent / "bad.json").write_text("{")
    w = window()
    page = list_open(w)
    w.click(line(page, "bad.json"))
    assert w.app.overlay is page
    assert "not JSON" in page.trouble
    w.type("d")
    w.click(line(page, drill.name))
    assert w.app.overlay is None
    assert w.scenario == TWO


def test_changes_are_asked_about_after_the_page_is_closed(window: Open, drill: Path) -> None:
    w = window()
    w.key(pygame.K_d)
    w.click(line(list_open(w), drill.name))
    w.press("Don't save")
    assert w.app.overlay is None
    assert w.scenario == TWO


def made_of(widget: Widget) -> dict[str, object]:
    """What a control was made with, without what changes while it is used."""
    used = {"rect", "text", "caret", "whole", "first", "value", "change"}
    kinds = (str, bool, int, float, tuple, Range, type(None))
    return {k: v for k, v in vars(widget).items() if k not in used and k[0] != "_" and isinstance(v, kinds)}


@pytest.mark.parametrize("seed", range(4))
def test_a_page_is_made_anew_whenever_anything_that_it_shows_has_changed(window: Open, seed: int) -> None:
    """After any of many changes, the controls in the panel are those that the page would make now."""
    rng, w = random.Random(seed), window()
    e, settings = w.app.editor, w.app.settings
    changes: list[Callable[[], object]] = [
        lambda: w.app.act("details"), lambda: setattr(settings, "unit", rng.choice(UNITS)), lambda: e.add_mark("zone"),
        lambda: e.select(rng.choice(["cue", "1"])), lambda: e.select(mark=0), e.remove_mark, lambda: w.app.act("keep"),
        lambda: e.set_gear("table", "table", {"size": rng.choice(["7ft", "8ft", "9ft"])}), lambda: e.add_ball("9"),
        lambda: setattr(w.app.measuring, "chosen", rng.choice([NONE, *TESTS])), e.add_take, w.app.document.undo,
        lambda: setattr(settings, "british", not settings.british), lambda: w.app.act("look"),
    ]  # fmt: skip
    for _ in range(40):
        w.app.open_page(rng.choice(list(PAGES)))
        w.app.frame()
        w.app.guard(rng.choice(changes))
        w.app.frame()
        fresh = [widget for row in PAGES[w.app.parts.page].rows(w.app) for widget in row]
        assert [made_of(a) for a in w.app.parts.widgets] == [made_of(b) for b in fresh]


def test_the_key_that_opens_the_help_closes_it(window: Open) -> None:
    w = window()
    w.key(pygame.K_F1)
    assert w.app.overlay is not None
    w.key(pygame.K_F1)
    assert w.app.overlay is None


def test_the_speed_of_playing_is_kept(window: Open) -> None:
    w = window()
    w.key(pygame.K_SPACE)
    w.key(pygame.K_LEFTBRACKET)
    w.key(pygame.K_LEFTBRACKET)
    w.key(pygame.K_ESCAPE)
    w.key(pygame.K_SPACE)
    assert w.app.playing_speed() == 0.2
    assert w.app.places.settings().speed == "1/5"


def test_how_it_is_staged_is_told_while_a_ball_is_dragged(window: Open) -> None:
    w = window()
    w.move(start := w.table(*w.scenario.balls["3"]))
    w.send(pygame.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=start))
    w.move((start[0] + 30, start[1]), held=True)
    assert [note.text for note in w.app.notes() if "from the cue ball to ball 3" in note.text]
    w.send(pygame.Event(pygame.MOUSEBUTTONUP, button=1, pos=start))
    assert not [note.text for note in w.app.notes() if "from the cue ball to ball 3" in note.text]


def test_a_definition_never_covers_its_control(window: Open) -> None:
    """Wherever the mouse rests on a control that is explained, the words stand beside it."""
    w = window()
    for widget in [one for one in w.app.parts.controls() if one.note or one.term]:
        w.move(widget.rect.center)
        before = w.app.surface.subsurface(widget.rect).copy()
        w.now += 1.0
        w.app.dirty = True
        w.app.frame()
        after = w.app.surface.subsurface(widget.rect)
        assert pygame.image.tobytes(before, "RGB") == pygame.image.tobytes(after, "RGB"), widget.key
