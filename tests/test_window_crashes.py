"""What once ended the window, or could: keys in an odd order, text that no letters show, names that no disk takes."""

from __future__ import annotations

import os
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pygame
import pytest
from window import Driver

from tablesim.model.base import longest
from tablesim.model.layout_text import to_text
from tablesim.model.lesson import Lesson, Scene
from tablesim.model.scenario import Scenario, from_json, to_json
from tablesim.model.shot import Mark, Take
from tablesim.output.painter import Painter
from tablesim.resources import open_scenario, ready_scenarios
from tablesim.scene.look import EVENING
from tablesim.scene.shapes import Text, fit
from tablesim.view.controls import fields, widgets
from tablesim.view.controls.keys import CTRL, HELP_ONLY, KEYS
from tablesim.view.document.document import Document, Work
from tablesim.view.document.places import Places
from tablesim.view.pages.file_page import FilePage
from tablesim.view.pages.overlays import QuestionPage
from tablesim.view.pages.panel import PAGES
from tablesim.view.window import hand_out
from tablesim.view.window.run import title_of

Open = Callable[..., Driver]

ODD = [
    "a\0b", "\0", "two\nlines", "\r", "\t", "\x01\x1f\x7f\x85", "\u200b", "\u202e", "\ufeff", "\u2028", "\u0301",
    "\ufdd0", "\U0001f3b1", "\u05d0\u0600", "\xad",
]  # fmt: skip


@pytest.fixture
def clipboard(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """A clipboard of the test's own: the last text in the list."""
    texts = [""]
    for module in (hand_out, fields):
        monkeypatch.setattr(module, "copy_text", texts.append)
        monkeypatch.setattr(module, "pasted_text", lambda: texts[-1])
    return texts


def press(w: Driver, keys: str) -> None:
    """Keys by the names that the help page shows, blanks between them."""
    codes = {"Insert": pygame.K_INSERT, "Delete": pygame.K_DELETE, "F2": pygame.K_F2}
    for key in keys.split():
        ctrl, name = key.startswith("^"), key.removeprefix("^")
        w.key(codes.get(name) or pygame.key.key_code(name), CTRL if ctrl else 0)


# --- what is selected is there


@pytest.mark.parametrize("page", PAGES)
def test_a_selected_ball_that_a_paste_takes_away(window: Open, clipboard: list[str], page: str) -> None:
    w = window()
    w.app.open_page(page)
    w.app.frame()
    for then in ("", "z", "g", "left", "^up", "return", "Delete", "b", "^z ^y z", "Insert"):
        w.app.editor.select()
        press(w, "^c Insert")
        assert w.app.editor.selected == "1"
        press(w, "^v")
        assert w.app.editor.selected is None
        press(w, then)
        assert from_json(to_json(w.scenario)) == w.scenario
        clipboard.append(to_text(open_scenario("two-cues")))
        press(w, "^v")


def test_a_selected_mark_that_another_scene_has_not(window: Open) -> None:
    w = window()
    w.press("page Layout")
    w.press("add zone")
    assert w.app.editor.mark == 0
    w.app.editor.document.change(w.scenario.change(marks=[]), "other marks")
    assert w.app.editor.mark is None
    w.app.frame()
    w.key(pygame.K_LEFT)
    w.key(pygame.K_DELETE)


def test_a_ball_that_goes_while_it_is_held(window: Open, clipboard: list[str]) -> None:
    w = window()
    press(w, "^c Insert")
    at = w.table(*w.scenario.balls["1"])
    w.move(at)
    w.send(pygame.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=at))
    w.move((at[0] + 30, at[1]), held=True)
    press(w, "^v")
    assert "1" not in w.scenario.balls
    w.move((at[0] + 60, at[1]), held=True)
    w.send(pygame.Event(pygame.MOUSEBUTTONUP, button=1, pos=at))
    assert "1" not in w.scenario.balls


@pytest.mark.parametrize("seed", range(int(os.environ.get("TABLESIM_SEEDS", "2"))))
def test_a_storm_of_all_keys_and_pastes(
    window: Open, clipboard: list[str], seed: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every key but those that leave or write files, on any page, with layouts and odd texts to be pasted."""
    rng = random.Random(seed)
    monkeypatch.chdir(tmp_path)
    names = list(ready_scenarios())
    texts = [to_text(open_scenario(name)) for name in names] + ODD
    w = window(scenario=rng.choice(names), size=(1000, 640))
    left_out = {"leave", "save", "save_as", "full_screen"}
    keys = [k for k in KEYS if k.code != HELP_ONLY and k.action not in left_out]
    for _ in range(250):
        key = rng.choice(keys)
        if key.action == "paste_layout":
            clipboard.append(rng.choice([*clipboard[-3:], rng.choice(texts)]))
        mod = (CTRL if key.ctrl else 0) | (pygame.KMOD_SHIFT if key.shift or rng.random() < 0.1 else 0)
        w.key(key.code, mod, chr(key.code) if 32 <= key.code < 127 and not key.ctrl else "")
        if rng.random() < 0.1:
            w.app.open_page(rng.choice(list(PAGES)))
            w.click((rng.randrange(1000), rng.randrange(640)))
    assert from_json(to_json(w.scenario)) == w.scenario


# --- any text can be shown


def oddly_named(text: str) -> Scenario:
    """A layout with a text in every place that takes one, by whatever way it came there: no rule is asked."""
    plain = open_scenario("two-cues")
    takes = [t.model_copy(update={"name": f"{text}{k}", "cue": None}) for k, t in enumerate(plain.takes)]
    places: dict[str, Any] = {"at": (1.0, 0.5), "to": (1.2, 0.6), "radius_m": 0.2}
    marks = [Mark.model_construct(kind=kind, text=text, **places) for kind in ("label", "zone", "arrow")]
    balls = {**plain.balls, text: (0.3, 0.3)}
    cues = {text: next(iter(plain.cues.values())), **plain.cues}
    return plain.model_copy(
        update={"title": text, "takes": takes, "marks": marks, "balls": balls, "cues": cues, "notes": text}
    )


def test_text_of_any_letters_is_drawn(window: Open) -> None:
    w = window()
    for text in ODD:
        show_everywhere(w, text)


def show_everywhere(w: Driver, text: str) -> None:
    """A text in the title, in names and marks and in the lesson, on all pages, edited, told, shown and played."""
    scenario = oddly_named(text)
    w.app.document.open(scenario, None)
    w.app.editor.opened(scenario)
    lesson = Lesson.model_construct(title=text, scenes=[Scene.model_construct(caption=text, scenario=scenario)])
    w.app.document.open_lesson(lesson, None)
    w.app.editor.show_all()
    for page in PAGES:
        w.app.open_page(page)
        w.app.frame()
    w.press("page Lesson")
    w.press("caption")
    for key in (pygame.K_HOME, pygame.K_RIGHT, pygame.K_ESCAPE):
        w.key(key)
    w.app.tell(text)
    w.app.frame()
    pygame.display.set_caption(title_of(w.app.document))
    w.key(pygame.K_F5)
    w.key(pygame.K_ESCAPE)
    w.key(pygame.K_SPACE)
    w.key(pygame.K_ESCAPE)
    assert w.scenario.title == text
    assert w.app.document.lesson == lesson


@pytest.mark.parametrize("text", [*ODD, "\ud83d"])
def test_letters_of_window_and_painter(text: str) -> None:
    pygame.font.init()
    assert widgets.letters(text, 13, "#ffffff", False).get_height() > 5
    assert isinstance(widgets.in_lines(text, 200, 13, False), tuple)
    painter = Painter(64, 64, EVENING)
    painter.paint([Text(1.0, 0.5, text, 12.0, "#ffffff")], fit(2.0, 1.0, 0.1, (0.0, 0.0, 64.0, 64.0)))


def leave_behind(places: Places, scenario: Scenario, path: Path) -> None:
    """As if a window with this unsaved work had died."""
    places.keep_unsaved(Work(scenario, path))
    places.release()


def test_kept_work_with_odd_text_is_offered_and_recovered(window: Open, tmp_path: Path) -> None:
    scenario = open_scenario("two-cues").change(title="two\nlines\u200b\u202e")
    leave_behind(Places(tmp_path / "kept"), scenario, Path("odd\0.json"))
    w = window()
    assert isinstance(w.app.overlay, QuestionPage)
    w.press("Recover it")
    w.settle()
    assert w.scenario == scenario


@pytest.mark.parametrize("text", ["a\0b", "two\nlines", "\u200b"])
def test_kept_work_with_any_text_lets_the_window_start(window: Open, tmp_path: Path, text: str) -> None:
    leave_behind(Places(tmp_path / "kept"), oddly_named(text), Path(f"{text}.json"))
    w = window()
    w.app.frame()
    assert w.app.running


def test_recovered_work_with_notes_as_long_as_may_be() -> None:
    scenario = open_scenario("two-cues")
    document = Document(scenario)
    document.open(scenario.change(notes="x" * longest(Scenario, "notes")), None, unsaved=True)
    assert document.unsaved


def test_a_name_that_the_clipboard_refuses_is_told(window: Open) -> None:
    w = window(scenario=oddly_named("a\0b"))
    press(w, "^c")
    assert w.app.message


# --- however long it is


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("text", ["W" * 4_000, "W" * 200_000, "W " * 20_000, "\0" * 4_000])
def test_a_message_of_any_length(window: Open, text: str, scale: float) -> None:
    w = window()
    w.app.settings.scale = scale
    w.app.tell(text)
    w.app.frame()
    w.app.open_overlay(QuestionPage(text, text, [(text, lambda: None)]))
    w.app.frame()
    assert widgets.letters(text, 26, "#ffffff", False).get_width() <= widgets.MOST_PIXELS


def test_words_wider_than_a_line_are_broken_and_nothing_is_lost() -> None:
    text = "a " + "Widest" * 40 + " and more"
    lines = widgets.in_lines(text, 200, 13, False)
    assert all(widgets.letters_width(line, 13) <= 200 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert widgets.in_lines("WWW", 1, 13, False) == ("W", "W", "W")


def test_words_are_cut_to_their_room() -> None:
    whole = widgets.letters_width("whole", 13)
    assert widgets.cut("whole", whole, 13, False) == "whole"
    short = widgets.cut("whole", whole - 1, 13, False)
    assert short.endswith(widgets.DOTS)
    assert widgets.letters_width(short, 13) < whole
    assert widgets.cut("whole", 0, 13, False) == widgets.DOTS


def test_a_field_with_a_long_text_shows_where_its_caret_is(window: Open) -> None:
    w = window()
    w.key(pygame.K_o, CTRL)
    page = w.app.overlay
    assert isinstance(page, FilePage)
    page.field.begin()
    page.field.typed("W" * 5_000)
    w.app.frame()
    assert page.field.text == "W" * fields.MOST_TYPED
    w.now += 1.0
    w.click((page.field.rect.x + 20, page.field.rect.centery))
    assert 0 < page.field.caret < fields.MOST_TYPED


# --- what is typed is as long as it may be


@pytest.mark.parametrize(
    ("page", "key", "most"),
    [
        ("Stroke", "title", longest(Scenario, "title")), ("Stroke", "take name", longest(Take, "name")),
        ("Lesson", "lesson title", longest(Lesson, "title")), ("Lesson", "caption", longest(Scene, "caption")),
        ("Layout", "mark text", 200),
    ],
)  # fmt: skip
def test_a_field_takes_as_many_letters_as_the_model(window: Open, page: str, key: str, most: int) -> None:
    w = window()
    w.press(f"page {page}")
    w.press("add label" if page == "Layout" else "keep" if page == "Lesson" else f"page {page}")
    w.press(key)
    w.send(pygame.Event(pygame.TEXTINPUT, text="é" * 1_000))
    w.key(pygame.K_RETURN)
    field = w.control(key)
    assert isinstance(field, fields.TextField)
    assert field.value() == "é" * most
    assert w.app.message == "" or not w.app.message_warns
    assert from_json(to_json(w.scenario)) == w.scenario


@pytest.mark.parametrize("name", ["n" * 240, "n" * 252, "é" * 127, "n" * 900])
def test_a_name_that_the_disk_refuses_is_told(window: Open, tmp_path: Path, name: str) -> None:
    w = window()
    scenario = w.scenario
    press(w, "^s")
    page = w.app.overlay
    assert isinstance(page, FilePage)
    page.field.begin()
    page.field.typed(str(tmp_path / name))
    w.key(pygame.K_RETURN)
    told = page.trouble + w.app.message
    assert "too long" in told or "Saved" in told
    assert w.scenario == scenario
