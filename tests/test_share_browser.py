"""A page for a phone's browser, in a real browser: looked at, touched, played, and kept from doing anything else.

The browser is Debian's chromium; TABLESIM_NEEDS_SCREEN=1 makes its absence a failure instead of a skip.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from browser import BROWSER, Browser
from pages import EVIL, LESSON, bare, made

import tablesim as ts
from tablesim.output.share import share
from tablesim.output.timing import Timing
from tablesim.resources import ready_lessons
from tablesim.scene.look import EVENING, PROJECTOR
from tablesim.scene.motion import orientation
from tablesim.study.predict import predict_take


@pytest.fixture(scope="module")
def browser(folder: Path) -> Iterator[Browser]:
    if BROWSER is None:
        if os.environ.get("TABLESIM_NEEDS_SCREEN"):
            pytest.fail("missing command: chromium")
        pytest.skip("needs chromium")
    found = Browser(folder)
    yield found
    found.close()


class TestInABrowser:
    @pytest.mark.parametrize(
        ("wide", "high", "phone"), [(390, 844, True), (844, 390, True), (320, 568, True), (1280, 800, False)]
    )
    @pytest.mark.parametrize("dark", [False, True])
    def test_it_opens_quietly_and_fits(
        self, browser: Browser, lesson_page: Path, wide: int, high: int, phone: bool, dark: bool
    ) -> None:
        """No complaint, no request but for itself, nothing wider than the screen, the look that is liked."""
        browser.look(wide, high, dark, phone)
        browser.open(lesson_page)
        for _ in range(3):
            browser.run("document.getElementById('scene-on').click()")
            browser.settle()

        assert browser.complaints() == []
        assert browser.requests() == [lesson_page.as_uri()]
        assert browser.run("document.documentElement.scrollWidth") <= wide
        assert browser.run("document.getElementById('scene-place').textContent") == "4 of 4"
        room = (EVENING if dark else PROJECTOR).room
        rgb = ", ".join(str(int(room[k : k + 2], 16)) for k in (1, 3, 5))
        assert browser.run("getComputedStyle(document.documentElement).backgroundColor") == f"rgb({rgb})"
        seen = "(r => r.width > 150 && r.height > 100)(document.getElementById('table').getBoundingClientRect())"
        assert browser.run(seen)

    def test_the_slider_shows_the_nearest_stroke_worked_out(self, browser: Browser, lesson_page: Path) -> None:
        """By finger: the figures are those of that stroke, and the page says which it is."""
        browser.look(390, 844, phone=True)
        browser.open(lesson_page)
        browser.slide("#pace", 0.71)
        browser.touch("#sides label:first-child")
        browser.until(lambda: browser.run("stroke.side") == 0)
        browser.touch("#cues label:first-child")
        browser.until(lambda: browser.run("stroke.cue") == 0)
        grid = made(lesson_page).data["scenes"][0]["others"]
        chosen = float(browser.run("document.getElementById('pace').value"))
        nearest = min(grid["paces"], key=lambda pace: abs(pace - chosen))
        cell = grid["cells"][grid["paces"].index(nearest)]
        shown = browser.run("[...document.querySelectorAll('#other-figures dd')].map(d => d.textContent)")

        assert chosen > 4.6
        assert chosen != nearest
        assert shown == [text for text in cell["figures"] if text]
        assert browser.run("document.getElementById('nearest').textContent") == (
            f"Shown: the nearest that is worked out, {nearest:g} m/s."
        )
        assert browser.run("document.getElementById('other-name').textContent") == (
            f"{nearest:g} m/s, 100 % left, cue {grid['cues'][0]}"
        )
        assert "another stroke" in browser.run("document.getElementById('now').textContent")
        assert str(len(grid["cells"])) in browser.run("document.getElementById('grid').textContent")
        assert browser.complaints() == []

    def test_takes_by_touch(self, browser: Browser, lesson_page: Path) -> None:
        browser.look(390, 844, phone=True)
        browser.open(lesson_page)
        scene = made(lesson_page).data["scenes"][0]
        browser.touch("#takes li:nth-child(2) button")
        browser.until(lambda: browser.run("view.chosen") == 1)

        assert browser.run("document.getElementById('about-head').textContent") == scene["takes"][1]["name"]
        assert browser.run("document.getElementById('said').textContent") == scene["takes"][1]["said"]
        assert browser.run("[...view.shown].sort()") == sorted({1, *scene["shown"]})
        browser.touch("#takes li:nth-child(6) input")
        browser.until(lambda: browser.run("view.shown.has(5)") is not (5 in scene["shown"]))

    def test_playing_by_touch_slower_at_the_contact(self, browser: Browser, lesson_page: Path) -> None:
        browser.look(390, 844, phone=True)
        browser.open(lesson_page)
        browser.run("view.slow = 0.1; view.t = running()[0].contact - 0.05")
        browser.touch("#play")
        browser.until(lambda: browser.run("view.t > running()[0].contact"))
        browser.touch("#play")
        browser.until(lambda: not browser.run("view.playing"))
        said = browser.run("document.getElementById('now').textContent")

        assert "the cue ball meets ball 3" in said
        assert browser.run("document.getElementById('play').textContent") == "Play"
        browser.run("view.slow = null; view.t = ends() - 0.01; play()")
        browser.until(lambda: not browser.run("view.playing"))
        assert browser.run("view.t === ends()")
        assert browser.complaints() == []

    def test_balls_are_where_the_engine_has_them(self, browser: Browser, lesson_page: Path) -> None:
        """Places, sidespin and turning, at any time, of a take as aimed."""
        browser.open(lesson_page)
        scenario = ts.open_scenario(f"{LESSON}#1")
        shown = made(lesson_page).data["scenes"][0]
        name = shown["takes"][shown["shown"][0]]["name"]
        track = predict_take(scenario, scenario.take_named(name)).track
        assert track is not None
        for t in np.linspace(0.0, track.duration, 23).tolist():
            for ball in (0, 1):
                rows = f"take().aimed.tracks[{ball}]"
                there = browser.run(f"stateAt({rows}, {t}, scene().decay)")
                state = track.state_of(ball, t)
                assert math.dist((there["x"], there["y"]), (state.x, state.y)) < 1e-6
                assert there["wz"] == pytest.approx(state.wz, abs=1e-5)
                turn = browser.run(f"new Turning({rows}, take().aimed.ends, scene().decay).at({t})")
                if turn is not None:
                    assert np.abs(np.array(turn) - orientation(track, ball, t)).max() < 0.01

    def test_time_runs_as_in_clips(self, browser: Browser, lesson_page: Path) -> None:
        browser.open(lesson_page)
        for contacts in ((0.3,), (0.3, 0.34), (0.02, 2.0)):
            timing = Timing(0.5, 0.05, contacts, 0.0, 5.0)
            for t, seconds in ((-0.5, 0.7), (0.0, 0.5), (0.25, 4.0), (0.29, 0.01), (0.35, 9.0)):
                there = browser.run(f"timeAfter({t}, {seconds}, 0.5, 0.05, {list(contacts)}, data.near)")
                assert there == pytest.approx(timing.after(t, seconds), abs=1e-12)

    def test_the_saved_file_is_the_lesson(self, browser: Browser, lesson_page: Path, folder: Path) -> None:
        browser.look(390, 844, phone=True)
        browser.open(lesson_page)
        browser.touch("#save")
        saved = folder / f"{LESSON}.json"
        browser.until(
            lambda: (
                any(
                    event["method"] == "Browser.downloadProgress" and event["params"]["state"] == "completed"
                    for event in browser.events
                )
                or (browser.run("0") and False)
            )
        )

        assert saved.read_bytes() == ready_lessons()[LESSON].read_bytes()
        assert ts.load_lesson(saved).title == "When to aim elsewhere"
        assert browser.complaints() == []

    def test_markup_stays_text(self, browser: Browser, evil_page: Path) -> None:
        browser.look(1280, 800)
        browser.open(evil_page)

        assert browser.run("document.title") == EVIL
        assert browser.run("document.getElementById('title').textContent") == EVIL
        assert browser.run("document.getElementById('notes').textContent") == EVIL
        assert "<s>two</s>" in browser.run("document.getElementById('scenes').textContent")
        assert browser.run("document.querySelectorAll('img, b, i, u, s').length") == 0
        assert browser.run("document.querySelector('.take strong').textContent") == "<i>take</i>"
        assert browser.run("typeof window.evil") == "undefined"
        browser.run("document.getElementById('play').click()")
        browser.settle()
        assert browser.complaints() == []

    def test_no_script_of_others_runs_and_no_network_is_reached(self, browser: Browser, evil_page: Path) -> None:
        browser.open(evil_page)
        browser.run(
            "{const s = document.createElement('script'); s.textContent = 'window.evil = 1'; document.body.append(s)}"
        )
        browser.run("fetch('data:text/plain,x').then(() => { window.evil = 2; }, () => {})")

        assert browser.run("typeof window.evil") == "undefined"
        assert any("Content Security Policy" in words for words in browser.complaints())

    def test_strokes_and_takes_without_an_answer(self, browser: Browser, folder: Path) -> None:
        """A miscue, an aim that has no line, no target: the page says so and plays nothing."""
        miscue = ts.Take(name="slips", pace_m_s=2.0, tip=ts.Tip(right=0.9))
        blocked = bare(
            balls={"cue": (0.94, 0.48), "3": (0.3, 0.75)},
            takes=[miscue, ts.Take(name="none", pace_m_s=2.0, aim=ts.Aim(corrected=True))],
        )
        alone = ts.Scenario(
            balls={"cue": (0.6, 0.6)}, takes=[ts.Take(name="lag", pace_m_s=3.0, aim=ts.Aim(heading_deg=0.0))]
        )
        lesson = ts.Lesson(title="Odd", scenes=[ts.Scene(scenario=blocked), ts.Scene(scenario=alone)])
        share(lesson, str(folder / "odd.html"))
        browser.look(390, 844, phone=True)
        browser.open(folder / "odd.html")

        assert "miscue" in browser.run("document.querySelector('#figures dd').textContent")
        assert browser.run("document.getElementById('play').disabled")
        browser.touch("#takes li:nth-child(2) button")
        browser.until(lambda: browser.run("view.chosen") == 1)
        assert browser.run("document.querySelector('#figures dd').textContent.length") > 5
        browser.touch("#scene-on")
        browser.until(lambda: browser.run("view.scene") == 1)
        browser.slide("#pace", 0.9)
        browser.touch("#play")
        browser.until(lambda: browser.run("view.t > 0"))
        assert browser.complaints() == []
