"""Computing beside the window: which questions are answered, in what order, and when there is time for more."""

from __future__ import annotations

import io
import pickle
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from tablesim.model.shot import Aim
from tablesim.physics import jit
from tablesim.resources import open_scenario
from tablesim.study.neutral import PaceMarks
from tablesim.view.answers import steps, worker
from tablesim.view.answers.findings import Findings, Question
from tablesim.view.answers.steps import ANSWERS, EXPLANATION, MARKS
from tablesim.view.answers.worker import QUIET_AFTER_S, Solver
from tablesim.view.pages.thumbnails import Thumbnails
from tablesim.view.window.pictures import settle

TWO = open_scenario("two-cues")
WAIT_S = 20.0


def question(version: int) -> Question:
    return Question(version, TWO, 0, (0,))


class Held(Solver):
    """Answers with nothing, and only when it is let; keeps what it was asked in ``begun``."""

    def __init__(self) -> None:
        self.begun: list[int] = []
        self.marked: list[int] = []
        self.let = threading.Semaphore(0)
        super().__init__()

    def _answer(self, question: Question) -> Findings:
        self.begun.append(question.version)
        assert self.let.acquire(timeout=WAIT_S)
        return Findings(question)

    def _add_quietly(self, number: int, findings: Findings) -> None:
        self.marked.append(findings.question.version)
        self._hand_out(number, replace(findings, seconds=1.0))

    def _prepare(self) -> None:
        self.engine = "plain"


def until(true: Callable[[], bool]) -> None:
    """Wait for something that another thread does."""
    end = time.monotonic() + WAIT_S
    while not true():
        assert time.monotonic() < end
        time.sleep(0.002)


@pytest.fixture
def held() -> Held:
    """A solver that waits for the test."""
    return Held()


def test_the_newest_question_wins(held: Held) -> None:
    """Whatever was asked while another was being answered, only the last of it is answered."""
    held.ask(question(1))
    until(lambda: held.begun == [1])
    for version in (2, 3, 4):
        held.ask(question(version))
    held.let.release(2)
    until(lambda: not held.busy)
    assert held.begun == [1, 4]
    assert [found.question.version for found in held.answers()] == [1, 4, 4]
    held.stop()


def test_several_questions_at_once_have_one_answer(held: Held) -> None:
    held._inbox.put(None)  # its thread ends: they lie there before it looks
    until(lambda: not any(thread.name == "answers" and thread.is_alive() for thread in threading.enumerate()))
    for version in (1, 2, 3):
        held.ask(question(version))
    held.let.release(3)
    held._start()
    until(lambda: not held.busy)
    assert held.begun == [3]
    held.stop()


def test_marks_are_for_quiet(held: Held) -> None:
    """Only a question after which none has come for a while has them; until then the solver is busy."""
    assert not held.busy
    held.ask(question(1))
    held.let.release()
    until(lambda: held.begun == [1])
    held.ask(question(2))
    assert held.busy
    held.let.release()
    until(lambda: not held.busy)
    assert held.marked == [2]
    assert [(found.question.version, found.seconds) for found in held.answers()] == [(1, 0.0), (2, 0.0), (2, 1.0)]
    assert list(held.answers()) == []
    held.stop()


def test_a_solver_that_is_stopped_ends(held: Held) -> None:
    before = [thread for thread in threading.enumerate() if thread.name == "answers"]
    held.ask(question(1))
    held.let.release()
    time.sleep(2 * QUIET_AFTER_S)
    held.stop()
    until(lambda: not any(thread.is_alive() for thread in before))


def test_an_answer_has_paths_and_the_causes_of_the_chosen_take() -> None:
    """Of the takes asked for, as far as they are there; causes only where there is a target."""
    solver = Held()
    found = Solver._answer(solver, Question(1, TWO, 1, (0, 1, 99)))
    assert {*found[ANSWERS]} == {0, 1}
    assert found[EXPLANATION].take == TWO.takes[1].name
    assert found.seconds > 0.0
    free = TWO.change(target=None, takes=[TWO.takes[0].model_copy(update={"aim": Aim(heading_deg=20.0)})])
    assert Solver._answer(solver, Question(1, free, 0, (0,))).get(EXPLANATION) is None
    assert Solver._answer(solver, Question(1, TWO, 99, (0,))).get(EXPLANATION) is None
    solver.stop()


@pytest.mark.parametrize(
    ("case", "marked"), [("fast", True), ("plain", False), ("no target", False), ("no answer", False)]
)
def test_what_has_marks(monkeypatch: pytest.MonkeyPatch, case: str, marked: bool) -> None:
    """A chosen take with an answer on a layout with a target, if the engine is fast."""
    solver, marks = Held(), PaceMarks((), None)
    kernels = jit.plain() if case == "plain" else SimpleNamespace(**vars(jit.plain()))
    monkeypatch.setattr(steps, "pace_marks", lambda *asked: marks)
    free = TWO.change(target=None, takes=[TWO.takes[0].model_copy(update={"aim": Aim(heading_deg=20.0)})])
    asked = Question(1, free if case == "no target" else TWO, 0, (0,))
    answers: Any = {} if case == "no answer" else {0: None}
    with jit.using(kernels):
        Solver._add_quietly(solver, 1, Findings(asked, {ANSWERS.name: answers}))
    assert (marks in [found.get(MARKS) for found in solver.answers()]) == marked
    solver.stop()


@pytest.mark.parametrize(
    ("wanted", "ready", "loads", "states"),
    [
        (False, True, True, ["starting", "plain"]), (True, True, True, ["starting", "fast"]),
        (True, True, False, ["starting", "plain"]), (True, False, True, ["starting", "preparing", "fast"]),
        (True, False, False, ["starting", "preparing", "plain"]),
    ],
)  # fmt: skip
def test_the_engine_is_made_after_the_first_answer(
    monkeypatch: pytest.MonkeyPatch, wanted: bool, ready: bool, loads: bool, states: list[str]
) -> None:
    """Or loaded, where it lies ready; plain Python serves where it is not wanted or cannot be had."""
    solver, lies = Held(), [ready]
    seen = [solver.engine]
    solver.engine = "starting"

    def prepare() -> bool:
        seen.append(solver.engine)
        lies[0] = loads
        return loads

    monkeypatch.setattr(jit, "wanted", lambda: wanted)
    monkeypatch.setattr(jit, "is_prepared", lambda: lies[0])
    monkeypatch.setattr(jit, "prepare", prepare)
    monkeypatch.setattr(jit, "compiled", lambda: jit.plain() if loads else None)
    monkeypatch.setattr(worker, "FIRST_WAIT_S", WAIT_S)
    thread = threading.Thread(target=Solver._prepare, args=(solver,))
    thread.start()
    time.sleep(0.02)
    assert solver.engine == "starting"  # nothing before the first answer
    solver._first.set()
    thread.join(WAIT_S)
    assert ["starting", *seen[1:], solver.engine] == states
    solver.stop()


def test_no_thread_keeps_the_program_from_ending() -> None:
    before = set(threading.enumerate())
    solver = Held()
    begun = [thread for thread in threading.enumerate() if thread not in before]
    assert [thread.daemon for thread in begun if thread.is_alive()] != []
    assert all(thread.daemon for thread in begun)
    solver.stop()


class Restless:
    """As much of a window as `settle` asks for: it is painted anew ``times`` times."""

    def __init__(self, times: float) -> None:
        self.times, self.frames, self.worker, self.thumbnails = times, 0, Held(), Thumbnails()

    def frame(self) -> bool:
        self.frames += 1
        return self.frames <= self.times


def test_settling_ends_when_nothing_more_is_painted() -> None:
    app = Restless(4)
    settle(app, 5.0)  # type: ignore[arg-type]
    assert app.frames == 7  # and three of rest
    app.worker.stop()


def test_a_window_that_does_not_settle_is_not_passed_over() -> None:
    app = Restless(float("inf"))
    with pytest.raises(TimeoutError, match=r"has not come to rest in 0\.05 s"):
        settle(app, 0.05)  # type: ignore[arg-type]
    app.worker.stop()


class Meddling(pickle.Pickler):
    """Has something worked out of a scenario while that is being pickled, as the window's own thread may."""

    def persistent_id(self, obj: Any) -> None:
        if obj is TWO_ANEW.balls:
            assert TWO_ANEW.ball_names[0] == "cue"


TWO_ANEW = TWO.change()


def test_a_question_is_sent_whatever_is_worked_out_of_its_scenario_meanwhile() -> None:
    assert "ball_names" not in vars(TWO_ANEW)
    sent = io.BytesIO()
    Meddling(sent).dump(TWO_ANEW)
    assert "ball_names" in vars(TWO_ANEW)
    assert pickle.loads(sent.getvalue()) == TWO
