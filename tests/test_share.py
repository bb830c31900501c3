"""A page for a phone's browser: what is in it, and how it works in a real browser.

The browser is Debian's chromium; TABLESIM_NEEDS_SCREEN=1 makes its absence a failure instead of a skip.
"""

from __future__ import annotations

import base64
import hashlib
import json
import math
import os
import re
import signal
import subprocess
import sys
import threading
import time
import tomllib
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browser import BROWSER, Browser
from typer.testing import CliRunner

import tablesim as ts
from tablesim.commands import app
from tablesim.errors import ScenarioError, TablesimError
from tablesim.output import share as sharing
from tablesim.output.encode import Stopped
from tablesim.output.share import ShareWishes, share
from tablesim.output.share_data import FIGURES
from tablesim.output.share_grid import MOST_CUES, cues_about, paces_about, sides_about
from tablesim.output.share_page import parts_folder
from tablesim.output.timing import Timing
from tablesim.physics import jit
from tablesim.resources import ready_lessons
from tablesim.scene.look import EVENING, PROJECTOR
from tablesim.scene.motion import orientation
from tablesim.study.predict import predict_take
from tablesim.units import number

LESSON = "when-to-aim-elsewhere"
EVIL = '</script><img src=x onerror="window.evil=1"><!--<b class=evil>&amp;\u2028'
Data = dict[str, Any]


class Page(HTMLParser):
    """A page's elements, and the texts of its scripts and style."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.inside = ""
        self.texts: dict[str, list[str]] = {}
        self.metas: dict[str, str] = {}
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.inside = tag
        if tag == "meta":
            named = dict(attrs)
            self.metas[named.get("http-equiv") or named.get("name") or "charset"] = named.get("content") or ""

    def handle_endtag(self, tag: str) -> None:
        self.inside = ""

    def handle_data(self, data: str) -> None:
        if self.inside in ("script", "style", "title"):
            self.texts.setdefault(self.inside, []).append(data)

    @property
    def data(self) -> Data:
        found: Data = json.loads(self.texts["script"][0])
        return found


def made(path: Path) -> Page:
    return Page(path.read_text("utf-8"))


def command(*arguments: str) -> str:
    result = CliRunner().invoke(app, ["share", *arguments], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def bare(**changes: Any) -> ts.Scenario:
    """A shot with one take."""
    stated: dict[str, Any] = {
        "balls": {"cue": (0.94, 0.48), "3": (1.75, 0.75)}, "target": ts.Target(ball="3", pocket="foot-left"),
        "takes": [ts.Take(name="left", pace_m_s=1.9, tip=ts.Tip(right=-0.3))],
    }  # fmt: skip
    return ts.Scenario(**{**stated, **changes})


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    jit.prepare()
    return tmp_path_factory.mktemp("shared")


@pytest.fixture(scope="module")
def lesson_page(folder: Path) -> Path:
    """The page of the ready lesson, made by command."""
    command(LESSON, str(folder / "lesson.html"))
    return folder / "lesson.html"


@pytest.fixture(scope="module")
def evil_page(folder: Path) -> Path:
    """A page of a lesson whose every text is markup."""
    mark = ts.Mark(kind="label", at=(1.0, 1.0), text=EVIL[:60])
    take = ts.Take(name="<i>take</i>", pace_m_s=1.9)
    evil = bare(
        title=EVIL[:60], notes=EVIL, marks=[mark], takes=[take],
        balls={"cue": (0.94, 0.48), "3": (1.75, 0.75), "<b>9</b>": (2.0, 1.0)},
        cues={"<u>cue</u>": ts.Cue()},
    )  # fmt: skip
    scenes = [ts.Scene(caption=EVIL, scenario=evil), ts.Scene(caption="<s>two</s>", scenario=evil)]
    share(ts.Lesson(title=EVIL, scenes=scenes), str(folder / "evil.html"), ShareWishes(others=False))
    return folder / "evil.html"


@pytest.fixture(scope="module")
def browser(folder: Path) -> Iterator[Browser]:
    if BROWSER is None:
        if os.environ.get("TABLESIM_NEEDS_SCREEN"):
            pytest.fail("missing command: chromium")
        pytest.skip("needs chromium")
    found = Browser(folder)
    yield found
    found.close()


class TestWhatIsInIt:
    def test_it_is_small_and_has_every_scene(self, lesson_page: Path) -> None:
        data = made(lesson_page).data
        lesson = ts.load_lesson(ready_lessons()[LESSON])

        assert lesson_page.stat().st_size < 3_000_000
        assert [scene["caption"] for scene in data["scenes"]] == [scene.caption for scene in lesson.scenes]
        for told, scene in zip(data["scenes"], lesson.scenes, strict=True):
            first = told["takes"][told["shown"][0]]["name"]
            assert first == (scene.take or told["takes"][0]["name"])
            assert {told["takes"][k]["name"] for k in told["shown"][1:]} == set(scene.with_takes) - {first}

    def test_the_browser_may_do_nothing_else(self, lesson_page: Path) -> None:
        """The rule names exactly the script and style that stand there, and no network."""
        page = made(lesson_page)
        rules = dict(rule.strip().split(" ", 1) for rule in page.metas["Content-Security-Policy"].split(";"))

        def named(text: str) -> str:
            return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"

        assert set(rules) == {"default-src", "script-src", "style-src", "base-uri", "form-action"}
        assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
        assert rules["script-src"] == named("".join(page.texts["script"][1:]))
        assert rules["style-src"] == named("".join(page.texts["style"]))
        assert not re.search(r"https?:|\bsrc=|@import|url\(", lesson_page.read_text("utf-8"))

    def test_markup_stays_text(self, evil_page: Path) -> None:
        text = evil_page.read_text("utf-8")
        page = Page(text)

        assert page.tags.count("script") == 2
        assert not {"img", "b", "i", "u", "s"} & set(page.tags)
        assert page.texts["title"] == [EVIL]
        assert "\u2028" not in page.texts["script"][0]
        assert page.data["scenes"][0]["caption"] == EVIL
        assert page.data["scenes"][0]["balls"][2]["name"] == "<b>9</b>"

    def test_every_colour_of_both_looks_is_there(self, lesson_page: Path) -> None:
        (light, dark) = "".join(made(lesson_page).texts["style"]).split("@media (prefers-color-scheme: dark)")[:2]

        for css, look in ((light, PROJECTOR), (dark, EVENING)):
            assert f"--cloth: {look.cloth};" in css
            assert f"--ink-soft: {look.ink_soft};" in css
            assert f"--take-11: {look.takes[11]};" in css

    def test_a_stroke_has_the_figures_of_correct_and_predict(self, lesson_page: Path) -> None:
        scenario = ts.open_scenario(f"{LESSON}#2")
        grid = made(lesson_page).data["scenes"][1]["others"]
        own = scenario.take_named(grid["take"])
        sides = sides_about(own.tip.right)
        assert len(grid["cells"]) == len(grid["cues"]) * len(sides) * len(grid["paces"])

        solved = 0
        for cue, side, pace in ((0, 0, 0), (0, 0, 2), (1, len(sides) - 1, 4), (0, 2, len(grid["paces"]) - 1)):
            cell = grid["cells"][(cue * len(sides) + side) * len(grid["paces"]) + pace]
            take = own.change(
                cue=grid["cues"][cue], pace_m_s=grid["paces"][pace], tip={"right": sides[side], "up": own.tip.up}
            )
            (aimed,), (works,) = ts.predict(scenario, take), ts.correct(scenario, take)
            told = dict(zip(FIGURES, cell["figures"], strict=True))
            if works.reason is not None:
                assert told["aim that works"] == works.reason
                assert told["aim, mm"] == ""
                continue
            solved += 1
            assert told["turn of the cue, °"] == number(works.turn_deg, 3, sign=True)
            assert told["aim, mm"] == number(works.aim_offset_mm, 1, sign=True)
            assert told["side to aim on"] == works.relative_to_english
            assert told["window, mm"] == number(works.window_mm, 1)
            assert aimed.target.miss_mm is not None
            assert aimed.contact is not None
            assert told["off the cue's line, mm"] == number(aimed.contact.off_line_mm, 1, sign=True)
            if told["as aimed"].startswith("misses,"):
                assert f"{abs(aimed.target.miss_mm):.0f} mm" in told["as aimed"]
        assert solved == 3

    def test_the_own_stroke_is_one_of_those_worked_out(self, lesson_page: Path) -> None:
        for scene in made(lesson_page).data["scenes"]:
            grid, take = scene["others"], scene["takes"][scene["shown"][0]]
            cue, side, pace = grid["own"]
            own = grid["cells"][(cue * len(grid["sides"]) + side) * len(grid["paces"]) + pace]
            assert own["figures"] == take["figures"]

    def test_nothing_is_asked_of_a_stroke_that_cannot_be_made(self, tmp_path: Path) -> None:
        """Far off centre the tip slips: the page says so, and has no way to draw."""
        scenario = bare(takes=[ts.Take(name="low", pace_m_s=1.9, tip=ts.Tip(up=-0.48))])
        share(scenario, str(tmp_path / "low.html"))
        grid = made(tmp_path / "low.html").data["scenes"][0]["others"]
        full = grid["cells"][0]

        assert grid["sides"][0] == "100 % left"
        assert "miscue" in full["figures"][0]
        assert full["aimed"] == full["corrected"] == []

    @pytest.mark.parametrize(("own", "count"), [(2.0, 9), (1.9, 10), (0.05, 10), (20.0, 10)])
    def test_paces(self, own: float, count: int) -> None:
        paces = paces_about(own)

        assert own in paces
        assert len(paces) == count
        assert paces == sorted(set(paces))

    def test_sides_and_cues(self) -> None:
        assert sides_about(-0.3) == [-0.5, -0.3, -0.25, 0.0, 0.25, 0.5]
        assert sides_about(0.0) == [-0.5, -0.25, 0.0, 0.25, 0.5]
        many = {f"cue {k}": ts.Cue() for k in range(20)}
        take = ts.Take(name="t", pace_m_s=2.0, cue="cue 19")
        assert cues_about(bare(cues=many, takes=[take]), take) == [f"cue {k}" for k in range(MOST_CUES - 1)] + [
            "cue 19"
        ]


class TestTheFileInside:
    def inside(self, page: Path) -> tuple[str, bytes]:
        file = made(page).data["file"]
        return file["name"], base64.b64decode(file["base64"])

    def test_of_a_lesson_is_its_own(self, lesson_page: Path) -> None:
        assert self.inside(lesson_page) == (f"{LESSON}.json", ready_lessons()[LESSON].read_bytes())

    def test_of_a_scenario_is_its_own_with_all_its_blanks(self, tmp_path: Path) -> None:
        odd = b"\xef\xbb\xbf" + json.dumps(json.loads(ts.to_json(bare(title="Größe"))), indent=7).encode() + b"\r\n\r\n"
        (tmp_path / "odd.json").write_bytes(odd)
        command(str(tmp_path / "odd.json"), str(tmp_path / "odd.html"), "--no-others")

        assert self.inside(tmp_path / "odd.html") == ("odd.json", odd)
        assert made(tmp_path / "odd.html").data["scenes"][0]["others"] is None

    def test_of_a_lesson_that_names_files_has_them_in_it(self, tmp_path: Path) -> None:
        """What names another file of the person's would not open elsewhere."""
        ts.save(bare(title="Beside"), tmp_path / "beside.json")
        ts.save_lesson(ts.Lesson(title="Two", scenes=[ts.Scene(file="beside.json")]), tmp_path / "two.json")
        command(str(tmp_path / "two.json"), str(tmp_path / "two.html"), "--no-others")
        name, data = self.inside(tmp_path / "two.html")
        (tmp_path / "elsewhere").mkdir()
        (tmp_path / "elsewhere" / name).write_bytes(data)

        assert ts.open_scenario(str(tmp_path / "elsewhere" / name)) == bare(title="Beside")

    def test_of_one_scene_is_a_lesson_of_it(self, tmp_path: Path) -> None:
        command(f"{LESSON}#3", str(tmp_path / "three.html"), "--no-others")
        name, data = self.inside(tmp_path / "three.html")
        (tmp_path / name).write_bytes(data)

        assert name == f"{LESSON}-3.json"
        assert ts.open_scenario(str(tmp_path / name)) == ts.open_scenario(f"{LESSON}#3")
        assert len(made(tmp_path / "three.html").data["scenes"]) == 1

    @pytest.mark.parametrize(
        ("title", "name"), [("", "shot.json"), ("a/b\\..", "a-b.json"), ("ab\u202ecd", "ab-cd.json")]
    )
    def test_its_name_is_one_that_a_file_can_have(self, tmp_path: Path, title: str, name: str) -> None:
        share(bare(title=title), str(tmp_path / "p.html"), ShareWishes(others=False))

        assert self.inside(tmp_path / "p.html")[0] == ("Shot.json" if not title else name)

    def test_parts_are_inside_the_wheel_where_they_are_looked_for(self) -> None:
        root = Path(ts.__file__).parent.parent
        build = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["tool"]["hatch"]["build"]["targets"][
            "wheel"
        ]

        assert build["force-include"]["assets/share"] == "tablesim/assets/share"
        assert {path.name for path in parts_folder().iterdir()} == {
            "page.html", "page.css", "motion.js", "drawing.js", "page.js",
        }  # fmt: skip


class TestRefusals:
    def refused(self, what: ts.Scenario | ts.Lesson, path: Path, words: str) -> None:
        with pytest.raises(TablesimError, match=words):
            share(what, str(path))
        assert not list(path.parent.iterdir())

    def test_in_plain_words(self, tmp_path: Path) -> None:
        out = tmp_path / "page.html"
        self.refused(bare(takes=[]), out, "the scenario: takes: a page shows one at least; it has none")
        self.refused(ts.Lesson(), out, "scenes: a page needs one at least")
        self.refused(bare(), tmp_path / "page.pdf", r"must end in \.html")
        two = [ts.Scene(scenario=bare()), ts.Scene(file="two-cues")]
        self.refused(ts.Lesson(scenes=two), out, r"scenes\[1\]\.file: a page takes scenarios.*tablesim share")
        two[1] = ts.Scene(scenario=bare(takes=[]))
        self.refused(ts.Lesson(scenes=two), out, r"scenes\[1\]: takes")

    def test_a_page_that_would_be_too_large(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """It is refused as soon as that is known, with the way out."""
        monkeypatch.setattr(sharing, "MOST_BYTES", 20_000)
        scenes = [ts.Scene(scenario=ts.open_scenario("two-cues"))] * 3
        self.refused(
            ts.Lesson(scenes=scenes), tmp_path / "p.html", r"at most 0\.02 MB; got .* after 1 of 3 scenes.*--no-others"
        )

    def test_a_scene_whose_file_is_missing(self, tmp_path: Path) -> None:
        ts.save_lesson(ts.Lesson(scenes=[ts.Scene(file="two-cues"), ts.Scene(file="gone.json")]), tmp_path / "l.json")
        with pytest.raises(ScenarioError, match=r"l\.json: scenes\[1\]: .*gone\.json: cannot be read"):
            CliRunner().invoke(
                app, ["share", str(tmp_path / "l.json"), str(tmp_path / "p.html")], catch_exceptions=False
            )
        assert not (tmp_path / "p.html").exists()

    def test_what_is_read_is_not_written_over(self, tmp_path: Path) -> None:
        ts.save(bare(), tmp_path / "s.html")
        with pytest.raises(ScenarioError, match="would overwrite"):
            command(str(tmp_path / "s.html"), str(tmp_path / "s.html"))

    def test_stopped_midway_nothing_is_written(self, tmp_path: Path) -> None:
        stop, heard = threading.Event(), list[tuple[int, int]]()

        def progress(done: int, whole: int) -> None:
            heard.append((done, whole))
            if done == 5:
                stop.set()

        with pytest.raises(Stopped):
            share(bare(), str(tmp_path / "p.html"), ShareWishes(), progress, stop)
        assert heard == [(k, heard[0][1]) for k in range(1, 6)]
        assert heard[0][1] == 1 + 10 * 6 * 2
        assert not list(tmp_path.iterdir())

    def test_ctrl_c_leaves_nothing(self, tmp_path: Path) -> None:
        out = tmp_path / "p.html"
        work = subprocess.Popen([sys.executable, "-m", "tablesim", "share", LESSON, str(out)], stderr=subprocess.PIPE)
        time.sleep(1.0)
        work.send_signal(signal.SIGINT)
        _, said = work.communicate(timeout=60)

        assert work.returncode == 130
        assert said.decode().strip() == "tablesim: interrupted; nothing is left half-written"
        assert not list(tmp_path.iterdir())


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
        assert browser.run("document.getElementById('caption').textContent") == EVIL
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
