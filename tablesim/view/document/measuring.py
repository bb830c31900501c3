"""What was measured at a table, as the window holds it: the test chosen, what was typed, what comes of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from tablesim.errors import ScenarioError, TablesimError
from tablesim.model.gear import Cue
from tablesim.model.scenario import Scenario
from tablesim.study.calibrate import Finding, bias_words, figures, with_finding
from tablesim.study.calibrate_cue import CueFinding, SquirtTest, calibrate_cue, cue_of_pivot, timed_pace
from tablesim.study.calibrate_table import calibrate_balls, calibrate_rails, calibrate_roll, calibrate_slide
from tablesim.study.sided import parse_off
from tablesim.units import number_of

from ..numbers import BUTT, Range
from .cue_rack import CueRack
from .editor import Editor

NONE = "none"
OF_THE_CUE = ": the cue"  # ends the names of the tests of a cue
Numbers = dict[str, float]
Readings = dict[str, list[str]]  # words, as they were typed


@dataclass(frozen=True)
class Entry:
    """A number that a test needs: its name, what it begins with, its limits and unit."""

    name: str
    start: float
    limits: Range
    unit: str
    note: str


@dataclass(frozen=True)
class TableTest:
    """A test at the table: the numbers it needs, the lists of readings (name, note), and the question they answer."""

    numbers: tuple[Entry, ...]
    readings: tuple[tuple[str, str], ...]
    ask: Callable[[Scenario, Cue, Numbers, Readings], Finding]


BUTT_RAISED = Entry("butt", 3.0, BUTT, "°", "how far the butt is raised: as little as the rail allows")
TESTS = {
    "squirt" + OF_THE_CUE: TableTest(
        (
            Entry("offset", 7.0, Range(1.0, 20.0, 0.5, 1), "mm", "contact beside the ball's centre, on its equator"),
            Entry("distance", 1.8, Range(0.1, 4.0, 0.05, 2), "m", "along the cue's line, to where the ball is read"),
            Entry("pace", 4.0, Range(0.5, 12.0, 0.1, 1), "m/s", "of the same stroke at centre ball: firm"),
            Entry("seconds", 0.0, Range(0.0, 20.0, 0.05, 2), "s", "instead of the pace: its time over the distance"),
            BUTT_RAISED,
        ),
        (
            ("off, mm", "off the cue's line, away from the english; 34r with right, 36l with left; blanks between"),
            ("jabbed, mm", "the same with a jab, or nothing"),
        ),
        lambda s, cue, n, r: calibrate_cue(
            s,
            cue,
            SquirtTest(n["offset"], n["distance"], pace_in(s, n), n["butt"]),
            parse_off(r["off, mm"], "off, mm"),
            parse_off(r["jabbed, mm"], "jabbed, mm"),
        ),
    ),
    "pivot" + OF_THE_CUE: TableTest(
        (),
        (("pivot, m", "bridge, from the ball's centre, at which a pivot by the back hand needs no correction"),),
        lambda s, cue, n, r: cue_of_pivot(s, list_of("pivot, m", r)),
    ),
    "slow roll: the cloth": TableTest(
        (Entry("distance", 2.0, Range(0.2, 4.0, 0.05, 3), "m", "from a mark, which it passes rolling, to its stop"),),
        (("seconds", "from the mark to the stop; several with blanks between, half of them the other way"),),
        lambda s, cue, n, r: calibrate_roll([(n["distance"], t) for t in list_of("seconds", r)]),
    ),
    "stop shot: the cloth": TableTest(
        (
            Entry("low", 10.0, Range(1.0, 20.0, 0.5, 1), "mm", "contact under the ball's centre"),
            Entry("gap", 0.2, Range(0.02, 2.0, 0.01, 3), "m", "free cloth between the two balls"),
            BUTT_RAISED,
        ),
        (("runs, m", "how far the object ball ran when the cue ball stopped dead; it passes no rail"),),
        lambda s, cue, n, r: calibrate_slide(
            s, n["low"], [(n["gap"], run) for run in list_of("runs, m", r)], cue, n["butt"]
        ),
    ),
    "ramp: the rails": TableTest(
        (Entry("to the rail", 0.9, Range(0.05, 4.0, 0.05, 3), "m", "from the mark to the rail, the ramp moved"),),
        (
            ("free, m", "how far it rolls from the mark with no rail in its way"),
            ("back, m", "how far off the rail it stops"),
        ),
        lambda s, cue, n, r: calibrate_rails(s, list_of("free, m", r), n["to the rail"], list_of("back, m", r)),
    ),
    "throw: the balls": TableTest(
        (
            Entry("cut", 50.0, Range(5.0, 80.0, 1.0, 1), "°", "between the line of centres and the cue's line"),
            Entry("along", 1500.0, Range(50.0, 4000.0, 10.0, 0), "mm", "where the object ball stops, along that line"),
        ),
        (("off, mm", "how far off that line it stops, to the side the cue ball goes"),),
        lambda s, cue, n, r: calibrate_balls(s, n["cut"], [(n["along"], off) for off in list_of("off, mm", r)]),
    ),
}


class Measuring:
    """The test at hand; its question is asked again only when something of it, or of the gear, has changed."""

    def __init__(self, editor: Editor) -> None:
        self.editor = editor
        self.rack = CueRack(editor)
        self.chosen = NONE
        self.numbers = {name: {n.name: n.start for n in test.numbers} for name, test in TESTS.items()}
        self.texts = {name: {word: "" for word, _ in test.readings} for name, test in TESTS.items()}
        self._asked: object = None
        self._answer: Finding | str = ""

    @property
    def test(self) -> TableTest | None:
        """The test at hand."""
        return TESTS.get(self.chosen)

    @property
    def cue(self) -> Cue:
        """The cue that is measured, or measured with: the one looked at on the page of the gear."""
        return self.editor.scenario.cues[self.rack.name]

    @property
    def of_a_cue(self) -> bool:
        """True if the test at hand gives numbers of a cue."""
        return self.chosen.endswith(OF_THE_CUE)

    @property
    def into(self) -> str:
        """Where the numbers go."""
        return f"Put it into cue {self.rack.name!r}" if self.of_a_cue else "Put it into the gear"

    @property
    def answer(self) -> Finding | str:
        """What the readings say, or in words why they say nothing."""
        s, cue = self.editor.scenario, self.cue
        numbers, texts = self.numbers.get(self.chosen, {}), self.texts.get(self.chosen, {})
        asked = (self.chosen, s.cloth, s.rails, s.ball_set, cue, tuple(numbers.values()), tuple(texts.values()))
        if asked != self._asked:
            self._asked, self._answer = asked, self._find(s, cue, numbers, texts)
        return self._answer

    def _find(self, scenario: Scenario, cue: Cue, numbers: Numbers, texts: dict[str, str]) -> Finding | str:
        if self.test is None or not any(texts.values()):
            return "Type the readings, with blanks between them."
        try:
            return self.test.ask(scenario, cue, numbers, {name: words_of(text) for name, text in texts.items()})
        except TablesimError as error:
            text = str(error)
            return text[:1].upper() + text[1:]

    @property
    def words(self) -> str:
        """The result with its error bar."""
        if isinstance(self.answer, str):
            return self.answer
        said = (f"{f.what} {f.value}{f.unit} ({f.low} to {f.high})" for f in figures(self.answer))
        text = ", ".join(said)
        beside = bias_words(self.answer) if isinstance(self.answer, CueFinding) else ""
        return f"{text[:1].upper()}{text[1:]}. {beside}".strip()

    @property
    def found(self) -> bool:
        """True if there is a number to put into the gear."""
        return not isinstance(self.answer, str)

    def put(self) -> None:
        """The numbers become the gear's: of the cue looked at and no other, of cloth, rails or balls."""
        e, answer = self.editor, self.answer
        if isinstance(answer, str):
            raise TablesimError(answer)
        e.change(with_finding(e.scenario, answer, self.rack.name), "gear as measured", "gear")


def words_of(text: str) -> list[str]:
    """The words of a text, blanks or semicolons between them."""
    return [word.removesuffix(",") for word in text.replace(";", " ").split()]


def list_of(name: str, readings: Readings) -> list[float]:
    """The numbers of a list of readings; ScenarioError names what is none."""
    values = []
    for word in readings[name]:
        value = number_of(word)
        if not math.isfinite(value):
            raise ScenarioError(f"{name}: must be numbers with blanks between them; got {word[:20]!r}")
        values.append(value)
    return values


def pace_in(scenario: Scenario, numbers: Numbers) -> float:
    """The pace of a test [m/s]: as stated, or by its seconds over the distance."""
    seconds = numbers["seconds"]
    return timed_pace(scenario, numbers["distance"], seconds) if seconds > 0.0 else numbers["pace"]
