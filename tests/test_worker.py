"""Computing beside the window: which questions are answered, in what order, and when there is time for more."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace

import pytest

from tablesim.resources import open_scenario
from tablesim.view.pictures import settle
from tablesim.view.worker import QUIET_AFTER_S, Findings, Question, Solver

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

    def _add_marks(self, number: int, findings: Findings) -> None:
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


class Restless:
    """As much of a window as `settle` asks for: it is painted anew ``times`` times."""

    def __init__(self, times: float) -> None:
        self.times, self.frames, self.worker = times, 0, Held()

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
