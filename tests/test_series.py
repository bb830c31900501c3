"""Many takes in one action: their names, what they have in common, their limits; in the terminal and the window."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import pygame
import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_cli import run
from window import Driver, page_over, tab_to

from tablesim.errors import TablesimError
from tablesim.model.gear import Cue
from tablesim.model.scenario import Scenario, load
from tablesim.model.shot import MAX_NAME, Aim
from tablesim.resources import open_scenario
from tablesim.study.correct import heading_of
from tablesim.study.series import English, Series, free_name, with_series
from tablesim.study.series_said import cues_said, heights_said, paces_said, sides_said, strokes_said
from tablesim.units import PACES_SAID, pace_word, tips_from_offset
from tablesim.view.pages.series_page import SeriesPage

Open = Callable[..., Driver]
TWO = open_scenario("two-cues")


def names(scenario: Scenario) -> list[str]:
    return [take.name for take in scenario.takes]


def test_takes_are_named_by_what_differs() -> None:
    made = with_series(TWO, Series((1.3, 4.5), ("wood", "low-squirt"), ("smooth", "jab")), "wood, soft")

    assert names(made) == [
        "wood, soft", "wood, soft, jabbed", "wood, hard", "wood, hard, jabbed",
        "low-squirt, soft", "low-squirt, soft, jabbed", "low-squirt, hard", "low-squirt, hard, jabbed",
    ]  # fmt: skip
    assert [(t.cue, t.pace_m_s, t.stroke) for t in made.takes][3] == ("wood", 4.5, "jab")
    assert {(t.tip, t.aim, t.elevation_deg) for t in made.takes} == {
        (TWO.takes[3].tip, TWO.takes[3].aim, TWO.takes[3].elevation_deg)
    }


@pytest.mark.parametrize(("series", "words"), [
    (Series(paces_m_s=(3.0, 3.5)), ["3 m/s", "3.5 m/s"]),  # both are firm
    (Series(paces_m_s=(3.0, 3.0, 4.5), cues=("wood",)), ["firm", "hard"]),  # what is the same is not said
    (Series(strokes=("smooth", "jab")), ["smooth", "jabbed"]),
    (Series(sides=(English(-60.0), English(0.0), English(1.5, True))), ["60 % left", "no english", "1.5 tips right"]),
    (Series(heights=(English(-0.5, True), English(40.0))), ["half a tip low", "40 % high"]),
])  # fmt: skip
def test_the_words_of_each_thing(series: Series, words: list[str]) -> None:
    assert names(with_series(TWO, series, "wood, soft")) == words


def test_english_in_per_cent_and_in_tips_of_each_cue() -> None:
    fine = TWO.change(cues={**TWO.cues, "fine": Cue(tip_diameter_m=0.010)})
    series = Series(cues=("wood", "fine"), sides=(English(-60.0), English(1.0, True)))
    made = with_series(fine, series, "wood, soft")

    assert made.takes[0].tip.right == pytest.approx(-0.3)
    for take, cue in ((made.takes[1], fine.cues["wood"]), (made.takes[3], fine.cues["fine"])):
        tips = tips_from_offset(take.tip.right, TWO.ball_set.radius_m("cue"), cue.tip_radius_m, cue.tip_diameter_m)
        assert tips == pytest.approx(1.0, abs=1e-4)
    assert made.takes[3].tip.right < made.takes[1].tip.right
    assert all(t.tip.up == TWO.takes[3].tip.up for t in made.takes)


def test_a_plain_aim_follows_the_balls_and_a_series_can_be_made_again() -> None:
    series = Series((1.3, 4.5), ("wood", "low-squirt"))
    made = with_series(TWO, series, "wood, soft")
    moved = made.change(balls={**made.balls, "3": (1.6, 0.9)})

    assert all(take.aim.toward == "pocket" and take.aim.heading_deg is None for take in moved.takes)
    turned = {round(heading_of(moved, take), 9) for take in moved.takes}
    assert len(turned) == 1
    assert abs(turned.pop() - heading_of(made, made.takes[0])) > math.radians(1.0)
    assert with_series(moved, series, moved.takes[0]) == moved


def test_added_takes_come_after_those_there_are_under_free_names() -> None:
    made = with_series(TWO, Series((1.3, 4.5), ("wood",)), "wood, soft", adding=True)
    again = with_series(made, Series((1.3, 4.5), ("wood",)), "wood, soft", adding=True)

    assert made.takes[:6] == TWO.takes
    assert names(made)[6:] == ["soft", "hard"]
    assert names(again)[8:] == ["soft 2", "hard 2"]


@given(st.lists(st.text("ab, ", min_size=30, max_size=MAX_NAME), min_size=2, max_size=6, unique=True))
def test_long_names_are_cut_and_differ(cues: list[str]) -> None:
    many = TWO.change(cues={**TWO.cues, **{name: Cue() for name in cues}})
    series = Series((1.0, 1.1), tuple(cues), ("smooth", "jab"), (English(-33.3), English(12.25)))
    made = with_series(many, series, "wood, soft")

    assert len(set(names(made))) == len(made.takes) == series.count
    assert all(1 <= len(name) <= MAX_NAME for name in names(made))
    assert all(name.count("% left") + name.count("% right") == 1 for name in names(made))


def test_a_free_name_fits_and_is_free() -> None:
    long, cut = "x" * MAX_NAME, "x" * (MAX_NAME - 3) + "…"
    assert free_name(["wood"], ["pine"]) == "wood"
    assert free_name(["wood", "soft"], ["wood, soft", "wood, soft 2"]) == "wood, soft 3"
    assert free_name([long], []) == long
    assert free_name([long], [long, cut + " 2"]) == cut + " 3"
    assert free_name([long, "soft"], []) == "x" * (MAX_NAME - 7) + "…, soft"


def test_as_many_takes_as_a_scenario_may_have_and_no_more() -> None:
    paces = tuple(1.0 + 0.1 * k for k in range(100))
    assert len(with_series(TWO, Series(paces), "wood, soft").takes) == 100
    assert len(with_series(TWO, Series(paces[:94]), "wood, soft", adding=True).takes) == 100
    with pytest.raises(TablesimError, match="at most 100 takes; got 101; leave some values out"):
        with_series(TWO, Series((*paces, 15.0)), "wood, soft")
    with pytest.raises(TablesimError, match="at most 100 takes; got 95 beside the 6 there are; leave"):
        with_series(TWO, Series(paces[:95]), "wood, soft", adding=True)


@pytest.mark.parametrize(("series", "words"), [
    (Series(), "series: needs two values of something at least"),
    (Series((2.0,), ("wood",), ("jab",)), "series: needs two values"),
    (Series((2.0, 2.0)), "series: needs two values"),
    (Series(cues=("wood", "wod")), "series: unknown cue 'wod'; did you mean 'wood'?"),
    (Series((2.0, 99.0)), "series, take 'power': pace_m_s: must be at most 20; got 99.0"),
    (Series(sides=(English(0.0), English(-200.0))), "series, take '200 % left': must touch the ball"),
])  # fmt: skip
def test_what_is_no_series_is_refused(series: Series, words: str) -> None:
    with pytest.raises(TablesimError) as refused:
        with_series(TWO, series, "wood, soft")
    assert words in str(refused.value)


def test_a_word_stands_for_a_pace_that_has_that_word() -> None:
    assert {word: pace_word(pace) for word, pace in PACES_SAID.items()} == {word: word for word in PACES_SAID}


def test_lists_as_people_write_them() -> None:
    assert paces_said("1.5, 3, 4.5") == (1.5, 3.0, 4.5)
    assert paces_said("1,5; 3; Hard") == (1.5, 3.0, PACES_SAID["hard"])
    assert paces_said("3, 6 mph, 2 m/s, 10mph") == pytest.approx((1.34112, 2.68224, 2.0, 4.4704))
    assert paces_said(" ") == ()
    assert sides_said("-60, 0, 60 %") == (English(-60.0), English(0.0), English(60.0))
    assert sides_said("-1, 0, 1/2 tips") == (English(-1.0, True), English(0.0), English(0.5, True))
    assert sides_said("half a tip left, a quarter tip right, one tip left, 20 % left") == (
        English(-0.5, True), English(0.25, True), English(-1.0, True), English(-20.0),
    )  # fmt: skip
    assert heights_said("40 low, level, 1/2 tip high") == (English(-40.0), English(0.0), English(0.5, True))
    assert strokes_said("Smooth, jabbed, jab") == ("smooth", "jab", "jab")
    assert cues_said(["a, b", "c, d"], ["c, d"]) == ("a", "b", "c, d")


@pytest.mark.parametrize(("say", "text", "words"), [
    (paces_said, "1.5, three", "pace: must be paces in m/s, or soft, medium"),
    (paces_said, "nan", "got 'nan'"),
    (sides_said, "left", "side: must be such as -60, 0, 60 %"),
    (sides_said, "-3 left", "got '-3 left'"),
    (sides_said, "1, 2 tips left", "got '1'"),
    (sides_said, "40 low", "side: must be such as"),
    (heights_said, "40 left", "height: must be such as"),
    (strokes_said, "soft", "stroke: must be smooth or jabbed"),
])  # fmt: skip
def test_slips_are_named(say: Callable[[str], object], text: str, words: str) -> None:
    with pytest.raises(TablesimError) as refused:
        say(text)
    assert words in str(refused.value)


def test_the_command(tmp_path: Path) -> None:
    file = tmp_path / "made.json"
    args = ["series", "two-cues", "--pace", "soft,hard", "--cue", "wood,low-squirt", "--take", "wood, hard"]
    told = run(*args, "--out", str(file)).stdout

    assert told.endswith("4 takes like 'wood, hard': wood, soft; wood, hard; low-squirt, soft; low-squirt, hard\n")
    assert names(load(file)) == ["wood, soft", "wood, hard", "low-squirt, soft", "low-squirt, hard"]
    added = json.loads(run("series", "two-cues", "--side", "20 left,20 right", "--add").stdout)
    assert [take["name"] for take in added["takes"]][6:] == ["20 % left", "20 % right"]
    assert "needs two values" in run("series", "two-cues", code=2).stderr
    assert "would overwrite" in run("series", str(file), "--pace", "1,2", "--out", str(file), code=2).stderr
    empty = tmp_path / "empty.json"
    empty.write_text('{"balls": {"cue": [0.6, 0.6]}}')
    assert "has no take to begin with" in run("series", str(empty), "--pace", "1,2", code=2).stderr


def put(w: Driver, field: str, text: str) -> None:
    w.press(field)
    w.type(text)
    w.key(pygame.K_RETURN)


def test_a_series_in_the_window_is_one_step(window: Open) -> None:
    w = window()
    w.app.editor.choose(3)
    w.press("series")
    page = page_over(w, SeriesPage)
    assert "needs two values" in page.maker.words
    assert "toward the pocket wherever the balls lie" in page.maker.aim_words
    w.press("replace takes")  # not able
    assert w.app.overlay is page
    put(w, "series pace", "soft, hard")
    w.press("series side")
    w.type("60 left, none")
    w.press("replace takes")  # the text that is being typed counts
    w.settle()

    assert w.app.overlay is None
    assert names(w.scenario) == ["soft, 60 % left", "soft, no english", "hard, 60 % left", "hard, no english"]
    assert {t.cue for t in w.scenario.takes} == {"wood"}
    assert w.app.editor.chosen == 0
    assert w.app.editor.see().takes == (0, 1, 2, 3)
    w.key(pygame.K_z, pygame.KMOD_CTRL)
    w.settle()
    assert names(w.scenario) == names(TWO)
    assert w.app.editor.chosen == 3


def test_a_series_by_the_keyboard_after_the_takes_there_are(window: Open) -> None:
    w = window()
    w.key(pygame.K_t, pygame.KMOD_CTRL)
    page = page_over(w, SeriesPage)
    w.type("1, 2")
    w.key(pygame.K_RETURN)
    tab_to(w, "series cues")
    w.key(pygame.K_DOWN)
    w.key(pygame.K_SPACE)
    assert page.maker.cues == ["low-squirt", "wood"]
    tab_to(w, "add takes")
    w.key(pygame.K_RETURN)
    w.settle()

    assert names(w.scenario)[6:] == ["low-squirt, soft 2", "low-squirt, medium 2", "wood, soft 2", "wood, medium 2"]
    assert w.app.editor.chosen == 6


def test_a_heading_is_told_to_stay(window: Open) -> None:
    w = window(scenario=TWO.change(takes=[TWO.takes[0].change(aim=Aim(heading_deg=20.0))]))
    w.key(pygame.K_t, pygame.KMOD_CTRL)
    assert "Plain aim (O) before this has it follow" in page_over(w, SeriesPage).maker.aim_words


def test_all_of_the_page_lies_within_a_small_window(window: Open) -> None:
    w = window(size=(640, 400), scenario=TWO.change(cues={f"cue {k}": Cue() for k in range(20)} | dict(TWO.cues)))
    w.key(pygame.K_t, pygame.KMOD_CTRL)
    page = page_over(w, SeriesPage)
    rects = [widget.rect for widget in page.widgets]

    assert all(page.rect.contains(rect) for rect in rects)
    assert all(not one.colliderect(other) for k, one in enumerate(rects) for other in rects[k + 1 :])
