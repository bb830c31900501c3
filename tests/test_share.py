"""A page for a phone's browser: what is in it, the file inside, and what is refused."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import signal
import subprocess
import sys
import threading
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pygame
import pytest
from pages import EVIL, LESSON, bare, command, made
from test_hand_out import finish
from typer.testing import CliRunner
from window import Driver

import tablesim as ts
from tablesim.commands import app
from tablesim.errors import ScenarioError, TablesimError
from tablesim.output import share as sharing
from tablesim.output.encode import Stopped
from tablesim.output.share import ShareWishes, share
from tablesim.output.share_data import FIGURES
from tablesim.output.share_grid import MOST_CUES, cues_about, paces_about, sides_about
from tablesim.output.share_page import SCRIPTS, parts_folder
from tablesim.resources import ready_lessons
from tablesim.scene.look import EVENING, PROJECTOR
from tablesim.units import number


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
        page = made(evil_page)

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


def inside(page: Path) -> tuple[str, bytes]:
    """Name and bytes of the file inside a page."""
    file = made(page).data["file"]
    return file["name"], base64.b64decode(file["base64"])


class TestTheFileInside:
    def test_of_a_lesson_is_its_own(self, lesson_page: Path) -> None:
        assert inside(lesson_page) == (f"{LESSON}.json", ready_lessons()[LESSON].read_bytes())

    def test_of_a_scenario_is_its_own_with_all_its_blanks(self, tmp_path: Path) -> None:
        odd = b"\xef\xbb\xbf" + json.dumps(json.loads(ts.to_json(bare(title="Größe"))), indent=7).encode() + b"\r\n\r\n"
        (tmp_path / "odd.json").write_bytes(odd)
        command(str(tmp_path / "odd.json"), str(tmp_path / "odd.html"), "--no-others")

        assert inside(tmp_path / "odd.html") == ("odd.json", odd)
        assert made(tmp_path / "odd.html").data["scenes"][0]["others"] is None

    def test_of_a_lesson_that_names_files_has_them_in_it(self, tmp_path: Path) -> None:
        """What names another file of the person's would not open elsewhere."""
        ts.save(bare(title="Beside"), tmp_path / "beside.json")
        ts.save_lesson(ts.Lesson(title="Two", scenes=[ts.Scene(file="beside.json")]), tmp_path / "two.json")
        command(str(tmp_path / "two.json"), str(tmp_path / "two.html"), "--no-others")
        name, data = inside(tmp_path / "two.html")
        (tmp_path / "elsewhere").mkdir()
        (tmp_path / "elsewhere" / name).write_bytes(data)

        assert ts.open_scenario(str(tmp_path / "elsewhere" / name)) == bare(title="Beside")

    def test_of_one_scene_is_a_lesson_of_it(self, tmp_path: Path) -> None:
        command(f"{LESSON}#3", str(tmp_path / "three.html"), "--no-others")
        name, data = inside(tmp_path / "three.html")
        (tmp_path / name).write_bytes(data)

        assert name == f"{LESSON}-3.json"
        assert ts.open_scenario(str(tmp_path / name)) == ts.open_scenario(f"{LESSON}#3")
        assert len(made(tmp_path / "three.html").data["scenes"]) == 1

    @pytest.mark.parametrize(
        ("title", "name"), [("", "shot.json"), ("a/b\\..", "a-b.json"), ("ab\u202ecd", "ab-cd.json")]
    )
    def test_its_name_is_one_that_a_file_can_have(self, tmp_path: Path, title: str, name: str) -> None:
        share(bare(title=title), str(tmp_path / "p.html"), ShareWishes(others=False))

        assert inside(tmp_path / "p.html")[0] == ("Shot.json" if not title else name)

    def test_parts_are_inside_the_wheel_where_they_are_looked_for(self) -> None:
        root = Path(ts.__file__).parent.parent
        build = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["tool"]["hatch"]["build"]["targets"][
            "wheel"
        ]

        assert build["force-include"]["assets/share"] == "tablesim/assets/share"
        assert {path.name for path in parts_folder().iterdir()} == {"page.html", "page.css", *SCRIPTS}


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


class TestFromTheWindow:
    def test_the_view_with_its_takes_and_what_is_on(self, window: Callable[..., Any], tmp_path: Path) -> None:
        w: Driver = window()
        w.key(pygame.K_c)  # no corrected ways
        w.app.hand_out.make("Page of this view (HTML)", tmp_path / "mine.html")
        finish(w)
        (scene,) = made(tmp_path / "mine.html").data["scenes"]
        name, data = inside(tmp_path / "mine.html")

        assert w.app.message == "Made mine.html"
        assert [scene["takes"][k]["name"] for k in scene["shown"]] == w.app.hand_out.takes()
        assert not scene["corrected"]
        (tmp_path / name).write_bytes(data)
        assert name == "mine.json"
        assert ts.open_scenario(str(tmp_path / name)) == w.scenario

    def test_the_lesson_with_all_its_scenes(self, window: Callable[..., Any], tmp_path: Path) -> None:
        w: Driver = window(scenario=bare())
        w.app.hand_out.make("Page of the lesson (HTML)", tmp_path / "none.html")
        finish(w)
        assert "no lesson is open" in w.app.message
        assert not (tmp_path / "none.html").exists()

        ts.save(bare(title="Beside"), tmp_path / "beside.json")
        scenes = [ts.Scene(file="beside.json", caption="one"), ts.Scene(scenario=bare(), caption="two")]
        ts.save_lesson(ts.Lesson(title="Two", scenes=scenes), tmp_path / "two.json")
        w.app.files.open_path(tmp_path / "two.json")
        w.app.hand_out.make("Page of the lesson (HTML)", tmp_path / "two.html")
        finish(w)
        assert [scene["caption"] for scene in made(tmp_path / "two.html").data["scenes"]] == ["one", "two"]
