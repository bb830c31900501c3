"""A zone's words stay within it, whatever their length, the zone and the surface."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Mark
from tablesim.output.page import Page
from tablesim.output.painter import Painter, lines_of, width_of
from tablesim.output.sheet_drawing import frame_at, scale_for
from tablesim.output.still import still
from tablesim.resources import open_scenario
from tablesim.scene.lettering import SMALLEST, TALL, fitted
from tablesim.scene.look import EVENING, PAPER
from tablesim.scene.shapes import Text, fit
from tablesim.scene.shot import marks_scene

BASE = open_scenario("two-cues")
WORDS = (
    "stop", "the cue ball stops here, ten times out of ten", "unattainable" * 6, "Ünïcode – “quotes” $x$",
    "position for the 8, then a stop shot, then the long way round three rails to the 9 " * 2, "WWW MMM WWW", "a " * 99,
)  # fmt: skip


def text_of(words: str, radius_m: float = 0.2) -> Text:
    """The words of a zone, as the scene has them."""
    zone = Mark(kind="zone", at=(0.6, 0.9), radius_m=radius_m, text=words[:200])
    return next(s for s in marks_scene(BASE.change(marks=[zone]), EVENING) if isinstance(s, Text))


@pytest.mark.parametrize("words", WORDS)
@pytest.mark.parametrize("radius", [7.0, 12.0, 30.0, 67.0, 200.0])
def test_every_line_lies_within_the_round(words: str, radius: float) -> None:
    """All four corners of every line do, in letters that can be read; what is cut has dots."""
    lines = fitted(text_of(words), radius, width_of)
    for line in lines:
        assert line.size >= SMALLEST
        for up in (-0.5, 0.5):
            corner = (0.5 * width_of(line.text, line.size), line.dy + up * TALL * line.size)
            assert math.hypot(*corner) <= radius + 1e-6
    said = "".join(line.text for line in lines).replace(" ", "")
    whole = words[:200].replace(" ", "")
    assert said == whole or (said.endswith("…") and whole.startswith(said[:-1])) or radius < 2.0 * SMALLEST


def test_short_words_stay_as_they_were() -> None:
    """At full size, under the centre, where the handle and the ball are."""
    text = text_of("stop here")
    (line,) = fitted(text, 60.0, width_of)
    assert (line.text, line.size, line.dy) == ("stop here", text.size, text.dy)


def test_long_words_are_wrapped_before_they_shrink() -> None:
    text = text_of(WORDS[1])
    lines = fitted(text, 67.0, width_of)
    assert len(lines) > 1
    assert lines[0].size == text.size
    assert " ".join(line.text for line in lines) == WORDS[1]
    tight = fitted(text, 35.0, width_of)
    assert SMALLEST < tight[0].size < text.size
    assert " ".join(line.text for line in tight) == WORDS[1]


def zoned(words: str) -> Scenario:
    """A layout with one zone."""
    return BASE.change(marks=[Mark(kind="zone", at=(0.6, 0.9), radius_m=0.15, text=words)])


@pytest.mark.parametrize("size", [(640, 400), (1280, 800), (400, 900)])
def test_no_letter_is_painted_outside_the_zone(size: tuple[int, int]) -> None:
    """Lying and upright, large and small: pixels change only within the zone."""
    frame = fit(2.54, 1.27, 0.15, (0.0, 0.0, float(size[0]), float(size[1])))
    pictures = []
    for words in ("", WORDS[1]):
        painter = Painter(*size, EVENING)
        painter.lay(None)
        painter.paint(marks_scene(zoned(words), EVENING), frame)
        pictures.append(painter.pixels.astype(int))
    rows, columns = np.nonzero(np.abs(pictures[1] - pictures[0]).max(axis=2) > 40)
    x, y = frame.pixels(np.array([[0.6, 0.9]]))[0]
    assert len(rows) > 50
    assert np.hypot(columns + 0.5 - x, rows + 0.5 - y).max() <= 0.15 * frame.pixels_a_metre + 1.5


def test_stills_and_sheets_wrap_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    scenario = zoned(WORDS[1])
    still(scenario, str(tmp_path / "a.svg"))
    drawn = re.findall(r">([^<>]+)</text>", (tmp_path / "a.svg").read_text(encoding="utf-8"))
    assert WORDS[1] not in drawn
    assert WORDS[1] in " ".join(dict.fromkeys(drawn))
    page = Page("a4")
    n = scale_for(scenario, page.across, 100.0)
    written: list[tuple[float, float, str]] = []

    def words(x: float, y: float, text: str, size: float, **more: object) -> float:
        written.append((x, x + page.width_of(text, size), text))
        return x

    monkeypatch.setattr(page, "words", words)
    frame = frame_at(scenario, 1000.0 / n, page.left, page.top)
    page.paint(marks_scene(scenario, PAPER), frame)
    x, radius = float(frame.pixels(np.array([[0.6, 0.9]]))[0][0]), 0.15 * frame.pixels_a_metre
    assert " ".join(text for _, _, text in written) == WORDS[1]
    assert len(written) > 1
    assert all(x - radius <= left and right <= x + radius for left, right, _ in written)
    assert page.data().startswith(b"%PDF")  # which also closes the fonts


@pytest.mark.parametrize("words", ["stop", WORDS[1], WORDS[2], WORDS[4]])
@pytest.mark.parametrize("at", [(0.0, 0.0), (2.54, 1.27), (1.27, 1.27), (0.02, 0.6)])
@pytest.mark.parametrize("up", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("across", [0.0, 0.5, 1.0])
def test_words_on_the_table_stay_in_the_picture(words: str, at: tuple[float, float], up: float, across: float) -> None:
    """Every line of them, and no word is lost; where they fit they stay where they were."""
    text = Text(*at, words, 13.0, "#ffffff", across, up, "#000000", 3.0, -8.0)
    for size in ((320, 560), (560, 320)):
        frame = fit(2.54, 1.27, 0.1, (0.0, 0.0, float(size[0]), float(size[1])), 1.5)
        lines = lines_of(text, frame, size)
        px, py = frame.pixels(np.array([at]))[0]
        for line in lines:
            wide = 1.5 * width_of(line.text, line.size)
            left = px + 1.5 * line.dx - across * wide
            base = py - 1.5 * line.dy + up * 0.73 * 1.5 * line.size
            assert left >= 0.0
            assert left + wide <= size[0]
            assert base <= size[1]
            assert base - 0.73 * 1.5 * line.size >= 0.0
        assert "".join(line.text for line in lines).replace(" ", "") == words.replace(" ", "")
        tops = [line.dy for line in lines]
        assert all(a - b == pytest.approx(1.3 * 13.0) for a, b in itertools.pairwise(tops))


def test_words_that_fit_stay_where_they_were() -> None:
    text = Text(1.2, 0.6, "stop", 13.0, "#ffffff", 0.5, 0.0, "#000000", 3.0, -8.0)
    frame = fit(2.54, 1.27, 0.1, (0.0, 0.0, 560.0, 320.0))
    assert lines_of(text, frame, (560, 320)) == (text,)
    plain = replace(text, x=2.6, halo=None)  # laid out by whoever wrote it
    assert lines_of(plain, frame, (560, 320)) == (plain,)


def test_a_long_label_near_the_rail_is_whole_on_the_sheet_too() -> None:
    label = Mark(kind="label", at=(2.5, 0.6), text="Outside english, two rails, stop in the ring")
    page = Page("a4", compress=False)
    frame = frame_at(BASE, 1000.0 / scale_for(BASE, 100.0, 100.0), 20.0, 20.0)
    with page.clipped(20.0, 20.0, 100.0, 60.0):
        page.paint(marks_scene(BASE.change(marks=[label]), PAPER), frame)
    written = re.findall(rb"([-0-9.]+) [-0-9.]+ Td", page.data())
    assert all(20.0 <= float(x) * 25.4 / 72.0 <= 120.0 for x in written)
    assert written
