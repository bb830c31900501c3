"""From the window to files and clipboard: pictures, clips, sheets, layout as text."""

from __future__ import annotations

import math
import shutil
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import av
import pygame
import pytest
from PIL import Image
from pypdf import PdfReader
from window import Driver, page_over, tab_to

from tablesim.errors import TablesimError
from tablesim.model.scenario import load
from tablesim.output import clip as films
from tablesim.output.film import SHOWN
from tablesim.output.still import StillWishes, still
from tablesim.view.controls import clipboard
from tablesim.view.pages.file_page import FilePage
from tablesim.view.pages.hand_out_page import HandOutPage

Open = Callable[..., Driver]


def finish(w: Driver, seconds: float = 60.0) -> None:
    """Wait for what is being made."""
    until = time.monotonic() + seconds
    while w.app.hand_out.job is not None and time.monotonic() < until:
        w.app.frame()
        time.sleep(0.02)
    assert w.app.hand_out.job is None


@pytest.mark.parametrize(
    ("system", "quoted"), [("win32", "FromFile('it''s \"x\".png')"), ("darwin", 'POSIX file "it\'s \\"x\\".png"')]
)
def test_quotes_in_a_path_stay_in_the_path(monkeypatch: pytest.MonkeyPatch, system: str, quoted: str) -> None:
    monkeypatch.setattr(sys, "platform", system)
    ((_, arguments, _),) = clipboard._tools(Path('it\'s "x".png'))
    assert quoted in arguments[-1]


def test_by_key_page_and_name(window: Open, tmp_path: Path) -> None:
    w = window()
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    assert isinstance(w.app.overlay, HandOutPage)
    w.press("Picture (PNG)")
    assert isinstance(w.app.overlay, FilePage)
    assert w.app.overlay.path_text.endswith(".png")
    w.app.overlay.field.begin()
    w.app.overlay.field.typed(str(tmp_path / "shot.png"))
    w.key(pygame.K_RETURN)
    finish(w)
    assert w.app.message == "Made shot.png"
    with Image.open(tmp_path / "shot.png") as picture:
        assert picture.size == (1920, 1080)


def test_a_picture_is_of_the_screen_with_caption_and_shape_as_chosen(window: Open, tmp_path: Path) -> None:
    """The same file as from the command's function, asked for what the screen shows."""
    w = window()
    w.key(pygame.K_e)  # sliding, and the english left
    w.key(pygame.K_c)  # no corrected paths
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    w.press("caption")
    w.type("mine")
    w.key(pygame.K_RETURN)
    w.pick("shape", "square")
    shape = w.app.hand_out.wishes.shape
    w.app.hand_out.make("Picture (PNG)", tmp_path / "a.png")
    finish(w)

    def differs(caption: str, spin: bool = False) -> bool:
        size = {"square": (1080, 1080)}[shape]
        takes = w.app.hand_out.takes()
        wishes = StillWishes(takes=takes, size=size, corrected=False, caption=caption, spin=spin)
        still(w.scenario, str(tmp_path / "b.png"), wishes)
        return (tmp_path / "a.png").read_bytes() != (tmp_path / "b.png").read_bytes()

    assert not differs(caption="mine", spin=True)
    assert differs(caption="mine")
    assert differs(caption="other", spin=True)


@pytest.mark.parametrize("words", ["Picture (PNG)", "Clip (MP4)", "Sheet, A4 (PDF)"])
def test_a_wrong_ending_is_told_before_a_file_is_replaced(window: Open, tmp_path: Path, words: str) -> None:
    w = window()
    there = tmp_path / "there.mov"
    there.write_text("a film")
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    w.press(words)
    page = w.app.overlay
    assert isinstance(page, FilePage)
    page.field.typed(str(there))
    w.key(pygame.K_RETURN)
    assert w.app.overlay is page
    assert f"must end in {page.suffix}" in page.trouble
    assert there.read_text() == "a film"
    used: list[Path] = []
    page.use = lambda path: lambda: used.append(path)
    page.field.typed(str(tmp_path / "named"))
    w.key(pygame.K_RETURN)
    assert used == [tmp_path / f"named{page.suffix}"]


@pytest.mark.parametrize(
    ("words", "suffix", "begins"),
    [("Drawing (SVG)", "svg", b"<"), ("Sheet, A4 (PDF)", "pdf", b"%PDF"), ("Sheet, Letter (PDF)", "pdf", b"%PDF")],
)
def test_drawings_and_sheets(window: Open, tmp_path: Path, words: str, suffix: str, begins: bytes) -> None:
    w = window()
    file = tmp_path / f"a.{suffix}"
    w.app.hand_out.make(words, file)
    finish(w)
    assert file.read_bytes().startswith(begins)


def test_a_clip_can_be_stopped_and_leaves_nothing(window: Open, tmp_path: Path) -> None:
    w = window()
    w.app.hand_out.make("Clip (MP4)", tmp_path / "a.mp4")
    with pytest.raises(TablesimError, match="already"):
        w.app.hand_out.make("Clip (MP4)", tmp_path / "b.mp4")
    while w.app.hand_out.job is not None and w.app.hand_out.job.done < 3:
        w.app.frame()
        time.sleep(0.02)
    w.key(pygame.K_ESCAPE)
    finish(w)
    assert "stopped" in w.app.message
    assert list(tmp_path.glob("*.mp4")) == []
    assert [p for p in tmp_path.iterdir() if p.name.startswith(".")] == []


def test_a_clip_of_a_slow_table(window: Open, tmp_path: Path) -> None:
    w = window(scenario="throw-at-thirty")
    w.app.hand_out.make("Clip (GIF)", tmp_path / "a.gif")
    finish(w)
    with av.open(str(tmp_path / "a.gif")) as film:
        assert sum(1 for _ in film.decode(video=0)) > 20


@pytest.mark.parametrize(
    ("shape", "pixels"), [("wide", (1280, 720)), ("portrait", (720, 1280)), ("square", (720, 720))]
)
def test_a_clip_as_it_is_wanted(
    window: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, shape: str, pixels: tuple[int, int]
) -> None:
    """Speed, shape and caption are chosen by keys, as the page's other controls are."""
    w = window(scenario="throw-at-thirty")
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    tab_to(w, "caption")
    w.key(pygame.K_RETURN)
    w.type("throw")
    w.key(pygame.K_RETURN)
    w.key(pygame.K_TAB)
    for _ in ("wide", "portrait", "square"):
        if w.app.hand_out.wishes.shape != shape:
            w.key(pygame.K_RIGHT)
    w.key(pygame.K_TAB)
    w.key(pygame.K_LEFT)
    w.key(pygame.K_RIGHT)
    w.key(pygame.K_RIGHT)  # 1/2
    w.key(pygame.K_TAB)
    w.key(pygame.K_RIGHT)  # 1/5 at the contact
    w.key(pygame.K_TAB)
    w.key(pygame.K_RIGHT)  # 3 s
    assert (w.app.hand_out.wishes.speed, w.app.hand_out.wishes.caption) == ("1/2", "throw")
    asked: list[films.ClipWishes] = []
    made = films.clip

    def short(scenario: Any, out: str, wishes: films.ClipWishes, *how: Any) -> films.Clip:
        asked.append(wishes)
        return made(scenario, out, replace(wishes, seconds=0.2), *how)

    monkeypatch.setattr(films, "clip", short)
    w.press("Clip (GIF)")
    field = page_over(w, FilePage).field
    field.begin()
    field.typed(str(tmp_path / "a.gif"))
    w.key(pygame.K_RETURN)
    finish(w)
    assert w.app.message == "Made a.gif"
    with Image.open(tmp_path / "a.gif") as film:
        assert film.size == pixels
    assert (asked[0].speed, asked[0].caption, asked[0].size) == (0.5, "throw", pixels)
    assert (asked[0].contact_speed, asked[0].seconds) == (0.2, 3.0)
    assert asked[0].overlays == [*SHOWN, "corrected"]  # as on the screen


def test_a_clip_is_offered_as_it_is_being_played(window: Open) -> None:
    """As long as no speed was chosen; what was chosen is kept."""
    w = window()
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    assert (w.app.hand_out.wishes.speed, w.app.hand_out.wishes.shape) == ("1", "wide")
    assert w.app.hand_out.wishes.caption == w.scenario.title
    w.pick("shape", "square")
    w.key(pygame.K_ESCAPE)
    w.key(pygame.K_SPACE)
    w.key(pygame.K_LEFTBRACKET)
    w.key(pygame.K_LEFTBRACKET)
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    assert (w.app.hand_out.wishes.speed, w.app.hand_out.wishes.shape) == ("1/5", "square")
    assert w.app.hand_out.wishes.caption == w.scenario.title


def test_the_page_keeps_what_was_chosen(window: Open) -> None:
    """The caption until the scenario, or the scene that is shown, gets another title."""
    w = window()
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    for key, words in (("clip speed", "1/50"), ("shape", "square"), ("sheet", "results before, after")):
        w.pick(key, words)
    w.press("caption")
    w.type("mine")
    w.key(pygame.K_RETURN)
    w.key(pygame.K_ESCAPE)
    w.key(pygame.K_SPACE)
    w.key(pygame.K_LEFTBRACKET)
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    chosen = w.app.hand_out.wishes
    assert (chosen.speed, chosen.shape, chosen.caption) == ("1/50", "square", "mine")
    assert chosen.sheet == "results before, after"
    w.key(pygame.K_ESCAPE)
    w.app.editor.rename("other")
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    assert (w.app.hand_out.wishes.speed, w.app.hand_out.wishes.caption) == ("1/50", "other")
    w.key(pygame.K_ESCAPE)
    w.app.book.keep()
    w.app.book.rename("of the scene")
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    assert w.app.hand_out.wishes.caption == "of the scene"


def test_sheets_have_a_heading_of_their_own(window: Open) -> None:
    w = window()
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    keys = [widget.key for widget in page_over(w, HandOutPage).widgets]
    assert keys.index("sheet label") + 1 == keys.index("sheet")
    assert keys.index("clip speed") < keys.index("sheet label")


@pytest.mark.parametrize(("size", "scale"), [((640, 400), 1.0), ((1280, 800), 2.0), ((640, 400), 2.0)])
def test_the_page_has_room_for_all_of_it(window: Open, size: tuple[int, int], scale: float) -> None:
    w = window(size=size)
    w.app.settings.scale = scale
    w.app.restyle()
    w.key(pygame.K_e, pygame.KMOD_CTRL)
    page = page_over(w, HandOutPage)
    places = [widget.rect for widget in page.widgets]
    assert all(page.rect.contains(place) and place.h >= 16 for place in places)
    assert all(not a.colliderect(b) for i, a in enumerate(places) for b in places[:i])


def test_a_sheet_with_results_is_asked_for_on_the_page(window: Open, tmp_path: Path) -> None:
    w = window(scenario="throw-at-thirty")
    pages = []
    for with_results in (False, True):
        w.key(pygame.K_e, pygame.KMOD_CTRL)
        if with_results:
            w.pick("sheet", "results before, after")
        w.press("Sheet, A4 (PDF)")
        field = page_over(w, FilePage).field
        field.begin()
        field.typed(str(tmp_path / f"{with_results}.pdf"))
        w.key(pygame.K_RETURN)
        finish(w)
        pages.append(len(PdfReader(tmp_path / f"{with_results}.pdf").pages))
    assert pages[1] == pages[0] + 1


def test_the_scenario_alone_can_be_handed_out(window: Open, tmp_path: Path) -> None:
    """Also while a lesson is open, which is what saving writes then."""
    w = window()
    w.app.book.keep()
    w.app.hand_out.make("Scenario (JSON)", tmp_path / "alone.json")
    finish(w)
    assert load(tmp_path / "alone.json") == w.scenario
    assert w.app.document.path is None


def test_no_room_is_said(window: Open, tmp_path: Path) -> None:
    w = window()
    w.app.hand_out.make("Sheet, A4 (PDF)", tmp_path / "none" / "a.pdf")
    finish(w)
    assert "cannot be written" in w.app.message


def test_the_layout_travels_as_text(window: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    board: list[str] = []
    monkeypatch.setattr(pygame.scrap, "put_text", board.append)
    monkeypatch.setattr(pygame.scrap, "get_text", lambda: board[-1])
    w = window()
    balls = w.scenario.balls
    w.key(pygame.K_c, pygame.KMOD_CTRL)
    assert "Ball 3" in board[0]
    w.app.editor.place_ball("3", 1.0, 0.3)
    w.key(pygame.K_v, pygame.KMOD_CTRL)
    assert all(math.dist(w.scenario.balls[name], at) < 3e-3 for name, at in balls.items())
    board.append("Ball 3 on the moon")
    w.key(pygame.K_v, pygame.KMOD_CTRL)
    assert w.app.message_warns


@pytest.mark.skipif(shutil.which("xclip") is not None, reason="there is a tool for pictures here")
def test_copying_a_picture_names_what_is_missing(window: Open) -> None:
    w = window()
    w.app.guard(w.app.hand_out.copy_picture)
    assert "xclip" in w.app.message


def test_copying_a_picture_uses_the_systems_tool(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tool, got = tmp_path / "xclip", tmp_path / "got.png"
    tool.write_text(f"#!/bin/sh\ncat > {got}\n")
    tool.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path), prepend=":")
    monkeypatch.setattr(sys, "platform", "linux")
    picture = tmp_path / "p.png"
    Image.new("RGB", (4, 4)).save(picture)
    clipboard.copy_picture(picture)
    assert got.read_bytes() == picture.read_bytes()
