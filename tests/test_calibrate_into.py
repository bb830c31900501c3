"""What was measured, put into the gear: by function, by command, by the page of the window."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pygame
import pytest
from test_cli import run

from tablesim.errors import NameUnknown
from tablesim.model.gear import BallSet, Cloth, Cue
from tablesim.model.scenario import Scenario, load, save
from tablesim.resources import open_scenario
from tablesim.study.calibrate import with_finding
from tablesim.study.calibrate_cue import CueFinding, SquirtTest, calibrate_cue, offset_of_shift_mm
from tablesim.study.calibrate_table import BallsFinding, ClothFinding
from tablesim.study.measured import Measured

ALONE = Scenario(balls={"cue": (0.6, 0.635)})


class TestFit:
    """Numbers put into the gear, and the commands."""

    def test_only_what_was_measured_changes(self) -> None:
        measured = Measured(16.0123456, 14.0, 18.0)
        found = CueFinding(measured, Measured(0.2, 0.2, 0.2), Measured(3.0, 3.0, 3.0))
        place = ALONE.change(cues={"a": Cue(mass_kg=0.5), "b": Cue()})
        fitted = with_finding(place, found, "a")
        assert fitted.cues["a"] == Cue(mass_kg=0.5, ball_to_end_mass=16.01)
        assert fitted.change(cues=place.cues) == place
        cloth = with_finding(place, ClothFinding(sliding_friction=Measured(0.3, 0.2, 0.4))).cloth
        assert cloth == Cloth(sliding_friction=0.3)
        balls = with_finding(place, BallsFinding(Measured(2.0, 1.0, 3.0), Measured(1.0, 1.0, 1.0), 1.0)).ball_set
        assert balls == BallSet(condition=2.0)
        with pytest.raises(NameUnknown, match="did you mean"):
            with_finding(place.change(cues={"wood": Cue()}), found, "wod")

    def test_commands_write_whole_or_not_at_all(self, tmp_path: Path) -> None:
        file = tmp_path / "mine.json"
        save(ALONE.change(cues={"wood": Cue(), "new": Cue()}), file)
        squirt = ["cue", "--off", "55", "--off", "59", "--moved", "9.8", "--distance", "1.83", "--pace", "4"]
        said = run("calibrate", *squirt, "--elevation", "2", "--into", str(file), "--cue", "new").stdout
        number = load(file).cues["new"].ball_to_end_mass
        assert said.strip().endswith("cue new.")
        with_commas = ["cue", "--off", "55,59", *squirt[5:]]
        assert run("calibrate", *with_commas, "--elevation", "2", "--into", str(file), "--cue", "new").stdout == said
        assert f'"cues": {{"new": {{"ball_to_end_mass": {number}}}}}' in said
        assert load(file).cues["wood"] == Cue()

        data = json.loads(run("calibrate", "cloth", "--roll", "2,6.4", "--roll", "2.1,6.6", "--low", "10",
                              "--stop", "0.3,2", "--into", str(file), "--json").stdout)  # fmt: skip
        assert data["scenario"]["cloth"] == load(file).cloth.model_dump(
            exclude={"spin_deceleration_rad_s2", "bed_restitution"}
        )
        assert data["finding"]["rolling_resistance"]["value"] == pytest.approx(0.0098, abs=2e-4)
        run("calibrate", "rails", "--free", "2.2", "--rail", "0.9", "--back", "0.35", "--into", str(file))
        run("calibrate", "balls", "--cut", "50", "--stop", "1500,120", "--into", str(file))
        assert load(file).rails.restitution < 0.85
        assert load(file).ball_set.condition > 1.2

        before = file.read_bytes()
        run("calibrate", "cloth", "--roll", "2,1", "--into", str(file), code=2)
        run("calibrate", "cloth", "--stop", "0.3,2", "--low", "10", "--into", str(file), "--cue", "nwe", code=2)
        assert file.read_bytes() == before

    def test_a_new_name_is_a_new_cue(self, tmp_path: Path) -> None:
        """An ordinary cue but for what was measured, after the others: takes that name none keep the first."""
        file, known = tmp_path / "mine.json", tmp_path / "known.json"
        place = open_scenario("two-cues")
        save(place, file)
        save(place.change(cues={**place.cues, "Großvater's": Cue()}), known)
        squirt = ["calibrate", "cue", "--off", "55,59", "--moved", "9.8", "--distance", "1.83", "--pace", "4",
                  "--elevation", "2", "--jabbed", "70", "--cue", "Großvater's", "--into"]  # fmt: skip
        said = run(*squirt, str(file)).stdout
        assert said.strip().endswith(f"Written into {file}, new cue Großvater's, beside 'low-squirt', 'wood'.")
        assert run(*squirt, str(known)).stdout.strip().endswith(f"Written into {known}, cue Großvater's.")
        assert file.read_bytes() == known.read_bytes()
        found = load(file)
        assert list(found.cues) == ["low-squirt", "wood", "Großvater's"]
        mine = found.cues["Großvater's"]
        assert mine.ball_to_end_mass != Cue().ball_to_end_mass
        assert mine.jab_factor != Cue().jab_factor
        left = {"ball_to_end_mass": Cue().ball_to_end_mass, "jab_factor": Cue().jab_factor}
        assert mine.model_copy(update=left) == Cue()
        assert found.change(cues=place.cues) == place

    def test_a_new_cue_by_its_pivot_beside_the_usual_ones(self, tmp_path: Path) -> None:
        file = tmp_path / "mine.json"
        save(ALONE, file)  # its cues are the usual ones, which no file needs to state
        pivot = ["calibrate", "cue", "--pivot", "0.3", "--into", str(file), "--cue", "mine"]
        data = json.loads(run(*pivot, "--json").stdout)
        assert data["new_cue"] == "mine"
        assert load(file).cues["mine"].ball_to_end_mass == data["scenario"]["cues"]["mine"]["ball_to_end_mass"]
        assert list(load(file).cues) == [*ALONE.cues, "mine"]
        assert "new_cue" not in json.loads(run(*pivot, "--json").stdout)  # now it is there

    @pytest.mark.parametrize(
        ("cues", "name", "reading", "message"),
        [
            (1, "", "0.3", "--cue: a name has 1 to 40 letters; got 0"),
            (1, "n" * 41, "0.3", "--cue: a name has 1 to 40 letters; got 41"),
            (50, "one more", "0.3", "--cue: a file has at most 50 cues; 'one more' would be one more"),
            (1, "mine", "0.001", "pivot length: must lie from"),
        ],
    )
    def test_a_new_cue_that_cannot_be_leaves_the_file(
        self, tmp_path: Path, cues: int, name: str, reading: str, message: str
    ) -> None:
        file = tmp_path / "mine.json"
        save(ALONE.change(cues={f"c{k}": Cue() for k in range(cues)}), file)
        before = file.read_bytes()
        said = run("calibrate", "cue", "--pivot", reading, "--into", str(file), "--cue", name, code=2).stderr
        assert message in said
        assert said.count("\n") == 1
        assert file.read_bytes() == before
        assert [p.name for p in tmp_path.iterdir()] == ["mine.json"]

    @pytest.mark.parametrize(
        ("args", "message"),
        [
            (
                ["cue", "--off", "57"],
                "tablesim: --offset or --moved, --distance, --pace or --timed, --elevation: required for a",
            ),
            (
                ["cue"],
                "tablesim: --off, --offset or --moved, --distance, --pace or --timed, --elevation: required",
            ),
            (
                ["cue", "--off", "57", "--moved", "9", "--pace", "4", "--distance", "2"],
                "tablesim: --elevation: required",
            ),
            (
                [
                    "cue",
                    "--off",
                    "57",
                    "--moved",
                    "9.8",
                    "--offset",
                    "12",
                    "--pace",
                    "4",
                    "--distance",
                    "2",
                    "--elevation",
                    "3",
                ],
                "--offset, --moved: only one of them can say where the tip touches; got 12 and 9.8",
            ),
            (["cue", "--pivot", "0.3", "--moved", "9.8", "--offset", "12"], "--offset, --moved: only one"),
            (["cue", "--pivot", "0.3", "--into", "two-cues"], "'two-cues' comes with the program"),
            (["cue", "--pivot", "nan"], "--pivot: must be a number, or several with commas between; got 'nan'"),
            (["cue", "--pivot", "0.3,x"], "--pivot: must be a number, or several with commas between; got '0.3,x'"),
            (["cue", "--pivot", "0.3", "--cue", "wood"], "--cue: goes with --into FILE"),
            (["cue", "--pivot", "0.3", "--into", "none.json"], "cannot be read"),
            (["cloth"], "--roll: is required"),
            (["cloth", "--roll", "2"], "--roll: must be 2 numbers"),
            (["cloth", "--stop", "0.3,2"], "--low: is required"),
            (["rails", "--free", "2"], "--rail"),
            (["balls", "--cut", "50", "--stop", "1500,600"], "take a larger cut, or play firmer"),
        ],
    )
    def test_bad_commands(self, args: list[str], message: str) -> None:
        assert message in run("calibrate", *args, code=2).stderr


class TestWindow:
    """The page of the gear."""

    def test_measured_by_the_page_put_into_the_gear_and_undone(self, window: Callable[..., Any]) -> None:
        w = window()
        w.app.editor.choose(3)  # a take with the wooden cue
        w.app.open_page("Gear")
        w.app.frame()
        before = w.scenario
        w.app.focus_on(w.control("test"))
        w.key(pygame.K_RIGHT)
        for key, text in (("test distance", "1.83"), ("test butt", "2"), ("test off, mm", "55 59;61")):
            w.press(key)
            w.type(text)
            w.key(pygame.K_RETURN)
        test = SquirtTest(7.0, 1.83, 4.0, 2.0)
        found = calibrate_cue(before, before.cues["wood"], test, [55.0, 59.0, 61.0])
        said = w.control("put measured")
        assert w.app.measuring.words.startswith(f"Ball : end mass {found.ball_to_end_mass.value:.1f} (")
        w.app.focus_on(said)
        w.key(pygame.K_RETURN)
        assert w.scenario == with_finding(before, found, "wood")
        assert w.scenario.cues["low-squirt"] == before.cues["low-squirt"]
        w.key(pygame.K_z, pygame.KMOD_CTRL)
        assert w.scenario == before

    def test_what_cannot_be_is_said_in_the_row_and_changes_nothing(self, window: Callable[..., Any]) -> None:
        w = window()
        w.app.open_page("Gear")
        w.app.frame()
        before = w.scenario
        for text, message in (("900", "Off the line: must lie from"), ("5O", "Off, mm: must be numbers")):
            w.app.measuring.chosen = "squirt: the cue"
            w.app.dirty = True
            w.app.frame()
            w.press("test off, mm")
            w.type(text)
            w.key(pygame.K_RETURN)
            assert w.app.measuring.words.startswith(message)
            w.press("put measured")
            assert w.scenario == before

    def test_cue_and_contact_move_together(self, window: Callable[..., Any]) -> None:
        w = window()
        w.app.measuring.chosen = "squirt: the cue"
        w.app.open_page("Gear")
        w.app.frame()
        w.press("test moved")
        w.type("12.7")
        w.key(pygame.K_RETURN)
        cue = w.scenario.cue_of(w.take)
        assert w.app.measuring.numbers["squirt: the cue"]["offset"] == pytest.approx(
            offset_of_shift_mm(w.scenario, cue, 12.7)
        )

    @pytest.mark.parametrize(
        ("test", "typed", "part", "number"),
        [
            ("pivot: the cue", {"pivot, m": "0.25 0.27"}, "cues", "ball_to_end_mass"),
            ("slow roll: the cloth", {"seconds": "6.1 6.3"}, "cloth", "rolling_resistance"),
            ("stop shot: the cloth", {"runs, m": "1.6"}, "cloth", "sliding_friction"),
            ("ramp: the rails", {"free, m": "2.2", "back, m": "0.37 0.38"}, "rails", "restitution"),
            ("throw: the balls", {"off, mm": "95"}, "ball_set", "condition"),
        ],
    )
    @pytest.mark.parametrize("details", [False, True])
    def test_every_test_fits_its_page_and_reaches_the_gear(
        self, window: Callable[..., Any], test: str, typed: dict[str, str], part: str, number: str, details: bool
    ) -> None:
        w = window()
        w.app.settings.details = details
        w.app.measuring.chosen = test
        w.app.open_page("Gear")
        w.app.frame()
        for key, text in typed.items():
            w.press(f"test {key}")
            w.type(text)
            w.key(pygame.K_RETURN)
        button = w.control("put measured")
        assert button.rect.bottom <= 800
        before = getattr(w.scenario, part)
        w.click(button.rect.center)
        after = getattr(w.scenario, part)
        old, new = (before["low-squirt"], after["low-squirt"]) if part == "cues" else (before, after)
        assert old.model_copy(update={number: getattr(new, number)}) == new
        assert getattr(new, number) != getattr(old, number)
