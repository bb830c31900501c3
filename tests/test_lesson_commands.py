"""Scenes of a lesson in place of a file: LESSON#2, what a scene keeps as the default, the list of scenes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pygame
import pytest
from pypdf import PdfReader
from test_cli import run
from typer.testing import CliRunner
from window import Driver

from tablesim.commands import app, pictures
from tablesim.errors import NameUnknown, ScenarioError, TablesimError
from tablesim.model.lesson import Lesson, Scene, is_lesson, load_lesson, save_lesson
from tablesim.model.scenario import load, save, to_json
from tablesim.output import clip as clips
from tablesim.output import still as stills
from tablesim.output.film import SHOWN
from tablesim.resources import file_and_scene, open_scenario, opened, ready_lessons
from tablesim.view.pages.file_page import FilePage, entries
from tablesim.view.window import run as start

Open = Callable[..., Driver]
TWO = open_scenario("two-cues")
KEPT = Scene(
    caption="kept so", scenario=TWO, take="wood, soft", with_takes=["low-squirt, soft", "gone"], corrected=False,
    off_the_line=3, spin=True, whole_ways=True, closer=(0.4, 0.1, 2.0, 1.1), lens=True, speed=0.2, contact_speed=0.05,
)  # fmt: skip


def said(*command: str) -> str:
    """What a command prints, in this process: one a command would take a second each."""
    done = CliRunner().invoke(app, command)
    assert done.exit_code == 0, done.output
    return done.stdout


@pytest.fixture
def course(tmp_path: Path) -> str:
    """A lesson of four scenes: kept whole, by a ready name, by a file beside it, by a file that is gone."""
    save(TWO.change(title="beside", takes=[]), tmp_path / "beside.json")
    scenes = [KEPT, Scene(file="throw-at-thirty"), Scene(file="beside.json"), Scene(file="gone.json")]
    save_lesson(Lesson(title="Course", scenes=scenes), tmp_path / "course.json")
    return str(tmp_path / "course.json")


def test_a_scene_is_opened_by_its_number(course: str) -> None:
    assert open_scenario(f"{course}#1") == TWO
    assert open_scenario(f"{course}#02") == open_scenario("throw-at-thirty")
    assert open_scenario(f"{course}#3").title == "beside"
    assert opened(f"{course}#1").takes == ["wood, soft", "low-squirt, soft"]
    assert opened(f"{course}#2").takes == ["no english"]
    assert opened(f"{course}#3").takes is None
    assert opened("two-cues").takes is None
    assert opened("two-cues").titled == TWO
    assert opened(f"{course}#1").titled == TWO.change(title="kept so")
    assert opened("two-cues").kept == Scene(scenario=TWO)


def test_the_only_scene_needs_no_number(tmp_path: Path) -> None:
    save_lesson(Lesson(scenes=[KEPT]), tmp_path / "one.json")
    assert open_scenario(str(tmp_path / "one.json")) == open_scenario(f"{tmp_path}/one.json#1") == TWO
    with pytest.raises(ScenarioError, match=r"one\.json: the scene after '#' must be 1, the only one; got '2'$"):
        open_scenario(f"{tmp_path}/one.json#2")


@pytest.mark.parametrize(
    ("number", "message"),
    [
        ("", r"this lesson has 4 scenes: name one, \S+course\.json#1 to 4; tablesim lesson \S+\.json lists them$"),
        ("#", "must be 1 to 4; got ''$"),
        ("#0", "must be 1 to 4; got '0'$"),
        ("#5", "must be 1 to 4; got '5'$"),
        ("#-1", "must be 1 to 4; got '-1'$"),
        ("#1.0", "must be 1 to 4; got '1.0'$"),
        ("#two", "must be 1 to 4; got 'two'$"),
        ("#²", "must be 1 to 4; got '²'$"),
        ("#" + "9" * 5000, f"must be 1 to 4; got '{'9' * 20}'$"),
        ("#1#2", r"course\.json#1#2: cannot be read"),
        ("#4", r"course\.json#4: \S+gone\.json: cannot be read"),
    ],
)
def test_scenes_that_are_not_there(course: str, number: str, message: str) -> None:
    with pytest.raises(TablesimError, match=message) as trouble:
        open_scenario(course + number)
    assert "\n" not in str(trouble.value)
    assert len(str(trouble.value)) < 400


def test_a_lesson_without_scenes_and_a_scene_of_a_scenario(tmp_path: Path) -> None:
    save_lesson(Lesson(), tmp_path / "none.json")
    save(TWO, tmp_path / "drill.json")
    for number in ("", "#1"):
        with pytest.raises(ScenarioError, match="has no scenes yet"):
            open_scenario(f"{tmp_path}/none.json{number}")
    for name in ("two-cues", f"{tmp_path}/drill.json"):
        with pytest.raises(ScenarioError, match="is a scenario, not a lesson, and has no scenes; leave out '#1'"):
            open_scenario(f"{name}#1")
    with pytest.raises(TablesimError, match=r"gone\.json: cannot be read"):
        open_scenario(f"{tmp_path}/gone.json#1")
    with pytest.raises(TablesimError, match="did you mean 'two-cues'"):
        open_scenario("tow-cues#1")
    for name in ("#", "#1", "a\x00b#1", "n" * 5000 + "#1"):
        with pytest.raises(TablesimError):
            open_scenario(name)


def test_an_existing_file_of_the_whole_name_wins(course: str, tmp_path: Path) -> None:
    there = tmp_path / "course.json#1"
    save(open_scenario("three-rails"), there)
    assert open_scenario(str(there)) == open_scenario("three-rails")
    lesson = tmp_path / "a#b#.json"
    save_lesson(load_lesson(course), lesson)
    assert file_and_scene(str(lesson)) == (str(lesson), None)
    assert open_scenario(f"{lesson}#1") == TWO


@pytest.mark.skipif(os.name == "nt", reason="pipes by name")
def test_a_pipe_is_read_once_only() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tablesim", "layout", "/dev/stdin"],
        input=to_json(TWO), capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert "Target ball 3 to foot-left" in done.stdout
    assert not is_lesson("/dev/stdin")


def test_every_command_takes_a_scene(course: str, tmp_path: Path) -> None:
    scene, ready = f"{course}#2", "throw-at-thirty"
    for command in ("predict", "correct", "explain", "deflection"):
        assert json.loads(said(command, scene, "--json")) == json.loads(said(command, ready, "--json"))
    one = ["--take", "no english", "--json"]
    assert said("neutral", scene, *one) == said("neutral", ready, *one)
    over = ["--over", "pace=2:3:1", "--json"]
    assert said("sweep", scene, *over) == said("sweep", ready, *over)
    assert said("layout", scene) == said("layout", ready)
    said("sheet", f"{course}#1", str(tmp_path / "a.pdf"))
    assert "kept so" in PdfReader(tmp_path / "a.pdf").pages[0].extract_text()  # the caption is its title
    said("clip", scene, str(tmp_path / "a.gif"), "--size", "160x90", "--seconds", "0.2")
    said("still", scene, str(tmp_path / "a.png"), "--size", "160x90")
    said("still", f"{course}#3", str(tmp_path / "bare.png"), "--size", "160x90")  # a scene without takes
    trouble = run("still", course, str(tmp_path / "no.png"), code=2).stderr
    assert trouble.count("\n") == 1
    assert not (tmp_path / "no.png").exists()
    assert "names a scene of" in run("calibrate", "cue", "--pivot", "0.3", "--into", scene, code=2).stderr


class Heard:
    """Keeps what a surface is asked for."""

    def __init__(self) -> None:
        self.asked: dict[str, Any] = {}

    def __call__(self, scenario: Any, out: str, wishes: Any, *rest: Any) -> clips.Clip:
        self.asked = asdict(wishes)
        return clips.Clip(out, (2, 2), 1, 1, 1.0)


def test_what_a_scene_keeps_is_the_default_of_a_picture(course: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stills, "still", heard := Heard())
    pictures.still(f"{course}#1", "a.png")
    assert heard.asked == {
        "size": stills.SIZE, "look": "evening", "takes": ["wood, soft", "low-squirt, soft"], "caption": "kept so",
        "corrected": False, "growth": 3, "spin": True, "whole_ways": True, "stroke": False,
        "closer": (0.4, 0.1, 2.0, 1.1), "lens": True,
    }  # fmt: skip
    pictures.still(
        f"{course}#1", "a.png", take=["wood, hard"], caption="", corrected=True, growth=0, spin=False, ways=False,
        closer="table", lens=False,
    )  # fmt: skip
    assert heard.asked == {
        "size": stills.SIZE, "look": "evening", "takes": ["wood, hard"], "caption": "", "corrected": True, "growth": 0,
        "spin": False, "whole_ways": False, "stroke": False, "closer": None, "lens": False,
    }  # fmt: skip
    pictures.still("two-cues", "a.png")
    assert heard.asked == {
        "size": stills.SIZE, "look": "evening", "takes": None, "caption": "", "corrected": True, "growth": 0,
        "spin": False, "whole_ways": False, "stroke": False, "closer": None, "lens": False,
    }  # fmt: skip


def test_what_a_scene_keeps_is_the_default_of_a_clip(course: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clips, "clip", heard := Heard())

    def asked(file: str, **said: Any) -> tuple[Any, ...]:
        pictures.clip(file, "a.mp4", **said)
        return tuple(heard.asked[name] for name in ("takes", "caption", "overlays"))

    assert asked(f"{course}#1") == (["wood, soft", "low-squirt, soft"], "kept so", [*SHOWN, "lens"])
    assert heard.asked["closer"] == (0.4, 0.1, 2.0, 1.1)
    asked(f"{course}#1", closer="shot")
    assert heard.asked["closer"] == "shot"
    assert asked(f"{course}#2") == (["no english"], "", [*SHOWN, "corrected"])
    assert asked(f"{course}#2", overlays="none", caption="own", take=["no english, firm"]) == (
        ["no english, firm"], "own", [],
    )  # fmt: skip
    assert asked("two-cues") == (None, "", [*SHOWN])
    assert asked("two-cues", overlays="trails, paths") == (None, "", ["trails", "paths"])
    for file, said, speeds in (
        (f"{course}#1", {}, (0.2, 0.05)), (f"{course}#1", {"speed": "1"}, (1.0, 0.05)), ("two-cues", {}, (1.0, None)),
        (f"{course}#1", {"speed": "2", "contact_speed": "1/2"}, (2.0, 0.5)),
    ):  # fmt: skip
        asked(file, **said)
        assert (heard.asked["speed"], heard.asked["contact_speed"]) == speeds


def test_a_picture_of_a_scene_is_the_picture_with_its_options(course: str, tmp_path: Path) -> None:
    scene, options = tmp_path / "scene.svg", tmp_path / "options.svg"
    said("still", f"{course}#1", str(scene), "--growth", "0")
    takes = ["--take", "wood, soft", "--take", "low-squirt, soft"]
    takes += ["--whole-ways", "--closer", "0.4,0.1,2.0,1.1", "--lens"]
    said("still", "two-cues", str(options), *takes, "--caption", "kept so", "--no-corrected", "--spin")
    assert scene.read_bytes() == options.read_bytes()
    said("still", "two-cues", str(options), *takes, "--caption", "kept so", "--no-corrected")
    assert scene.read_bytes() != options.read_bytes()  # sidespin along the way is something to see


def test_the_list_of_scenes(course: str) -> None:
    rows = [line.split("  ") for line in run("lesson", course).stdout.splitlines()]
    cells = [[cell.strip() for cell in row if cell.strip()] for row in rows if any(row)]
    assert ["1", "kept so", "wood, soft; low-squirt, soft", "6", "off the line, 3 times as large"] in cells
    assert ["2", "no english", "5", "corrected"] in cells
    assert ["3", "-", "0", "corrected"] in cells
    assert any(row[0] == "4" and "gone.json: cannot be read" in row[-1] for row in cells)
    data = json.loads(run("lesson", course, "--json").stdout)
    assert data["title"] == "Course"
    assert [scene["number"] for scene in data["scenes"]] == [1, 2, 3, 4]
    assert data["scenes"][0] == {
        "number": 1, "name": f"{course}#1", "caption": "kept so", "takes": ["wood, soft", "low-squirt, soft"], "of": 6,
        "corrected": False, "off_the_line": 3, "spin": True,
        "whole_ways": True, "closer": [0.4, 0.1, 2.0, 1.1], "lens": True, "trouble": None,
    }  # fmt: skip
    for scene in data["scenes"][:3]:
        open_scenario(scene["name"])
    assert "gone.json" in data["scenes"][3]["trouble"]


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("two-cues", "two-cues: is a ready scenario, not a lesson"),
        ("drill.json", "drill.json: this is a scenario, not a lesson"),
        ("course.json#2", "all its scenes are listed; leave out '#2'"),
        ("gone.json", "gone.json: cannot be read"),
    ],
)
def test_what_cannot_be_listed(course: str, tmp_path: Path, name: str, message: str) -> None:
    save(TWO, tmp_path / "drill.json")
    assert message in run("lesson", name if name == "two-cues" else f"{tmp_path}/{name}", code=2).stderr


def test_a_lesson_without_scenes_is_an_empty_list(tmp_path: Path) -> None:
    save_lesson(Lesson(title="Empty"), tmp_path / "none.json")
    assert "#1" not in run("lesson", f"{tmp_path}/none.json").stdout
    assert json.loads(run("lesson", f"{tmp_path}/none.json", "--json").stdout) == {"title": "Empty", "scenes": []}


def test_the_window_begins_with_the_scene_named(course: str) -> None:
    assert start.lesson_named(course) == (Path(course), 0)
    assert start.lesson_named(f"{course}#2") == (Path(course), 1)
    assert start.lesson_named("two-cues") is start.lesson_named(None) is None
    with pytest.raises(ScenarioError, match="must be 1 to 4"):
        start.lesson_named(f"{course}#7")


def test_every_scene_of_a_ready_lesson_can_be_opened_by_its_name() -> None:
    listed = {row["name"]: row["scenes"] for row in json.loads(run("lesson", "--json").stdout)}
    assert listed
    assert list(listed) == list(ready_lessons())
    for name, path in ready_lessons().items():
        lesson = load_lesson(path)
        assert len(lesson.scenes) == listed[name]
        assert name in run("lesson").stdout
        for k, scene in enumerate(lesson.scenes, 1):
            found = opened(f"{name}#{k}")
            assert found.takes == [scene.take or found.scenario.takes[0].name, *scene.with_takes]
            assert open_scenario(f"{path}#{k}") == found.scenario
        assert start.lesson_named(f"{name}#2") == (path, 1)
    with pytest.raises(NameUnknown, match="did you mean 'when-to-aim-elsewhere'"):
        open_scenario("when-to-aim-elsewher")


def test_a_ready_lesson_is_opened_from_the_list_and_saved_elsewhere(window: Open) -> None:
    path = ready_lessons()["when-to-aim-elsewhere"]
    before = path.read_bytes()
    assert path in [entry.path for entry in entries(Path.cwd(), []) if entry.note == "ready lesson " + path.stem]
    w = window()
    w.app.files.open_path(path)
    w.app.frame()
    assert w.app.document.lesson.title == "When to aim elsewhere"
    assert w.scenario == open_scenario(f"{path}#1")
    w.app.book.keep()
    w.key(pygame.K_s, pygame.KMOD_CTRL)
    assert isinstance(w.app.overlay, FilePage)  # a name is asked for
    assert path.read_bytes() == before


def test_the_way_to_a_scene_is_told_where_only_a_scenario_will_do(course: str) -> None:
    with pytest.raises(ScenarioError, match="this is a lesson, not a scenario: open it in the window, or name a scene"):
        load(course)
