"""The solver in a process of its own, seen from the window: the test is that process, at the other end of its pipes."""

from __future__ import annotations

import os
import pickle
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
from test_worker import TWO, WAIT_S, question, until

from tablesim.view.answers.findings import Findings, Question
from tablesim.view.answers.steps import ANSWERS
from tablesim.view.answers.worker import Helper

PARTS: tuple[Any, ...] = ({ANSWERS.name: {}}, 7.0)  # what was found, seconds


class Beside:
    """A process that does what the test says."""

    def __init__(self, command: list[str], **how: object) -> None:
        asked, questions = os.pipe()
        answers, answered = os.pipe()
        self.stdin, self._asked = os.fdopen(questions, "wb"), os.fdopen(asked, "rb")
        self.stdout, self._answered = os.fdopen(answers, "rb"), os.fdopen(answered, "wb")
        self.how, self.code, self.waited = how, None, False

    def poll(self) -> int | None:
        return self.code

    def wait(self) -> int | None:
        self.waited = True
        return self.code

    def asked(self) -> tuple[int, Question] | None:
        """The next question that is handed over."""
        found: tuple[int, Question] | None = pickle.load(self._asked)
        return found

    def says(self, engine: str, done: int, number: int, parts: object) -> None:
        pickle.dump((engine, done, number, parts), self._answered)
        self._answered.flush()

    def ends(self) -> None:
        self.code = -9  # type: ignore[assignment]
        self._answered.close()

    def nothing_more_comes(self) -> bool:
        return self._asked.read() == b""

    def close(self) -> None:
        """Both ends of all pipes; those of the window while it lives by the window, which has been stopped."""
        self._answered.close()
        until(lambda: self.stdout.closed and (self.stdin.closed or self.code is not None))
        for pipe in (self._asked, self.stdin):
            pipe.close()


class Own(Helper):
    """A helper whose own thread answers with nothing, and keeps what it was asked."""

    def __init__(self) -> None:
        self.begun: list[int] = []
        self.prepared = 0
        super().__init__()

    def _answer(self, question: Question) -> Findings:
        self.begun.append(question.version)
        return Findings(question)

    def _add_quietly(self, number: int, findings: Findings) -> None:
        self._hand_out(number, replace(findings, seconds=1.0))

    def _prepare(self) -> None:
        self.prepared += 1

    @property
    def beside(self) -> Beside:
        """The other process."""
        found: Any = self._process
        assert isinstance(found, Beside)
        return found


@pytest.fixture
def helper(monkeypatch: pytest.MonkeyPatch) -> Iterator[Own]:
    """A helper with the test beside it."""
    monkeypatch.setattr(subprocess, "Popen", Beside)
    helper = Own()
    yield helper
    helper.stop()
    helper.beside.close()


def come(helper: Own, count: int) -> list[int]:
    """Versions of the questions whose answers come next."""
    found: list[Findings] = []

    def enough() -> bool:
        found.extend(helper.answers())
        return len(found) >= count

    until(enough)
    assert {answer.seconds for answer in found} <= {0.0, 1.0, 7.0}
    return [answer.question.version for answer in found]


def is_told(helper: Own, engine: str) -> Callable[[], bool]:
    return lambda: helper.engine == engine


def test_a_question_goes_over_and_its_answer_comes_back(helper: Own) -> None:
    """With the state of the engine there; a state alone is no answer."""
    assert helper.beside.how["process_group"] == 0  # Ctrl-C in a terminal is not for it
    helper.ask(question(11))
    assert helper.beside.asked() == (1, question(11))
    assert helper.busy
    helper.beside.says("preparing", 0, 0, None)
    helper.beside.says("preparing", 0, 1, None)
    until(is_told(helper, "preparing"))
    helper.beside.says("fast", 0, 1, PARTS)
    assert come(helper, 1) == [11]
    assert (helper.engine, helper.busy) == ("fast", True)
    helper.beside.says("fast", 1, 1, PARTS)  # the marks
    assert come(helper, 1) == [11]
    assert not helper.busy


def test_answers_older_than_one_that_came_are_dropped(helper: Own) -> None:
    for version in (11, 12, 13):
        helper.ask(question(version))
        assert helper.beside.asked() == (version - 10, question(version))
    for number in (2, 1, 2, 3, 2, 9):
        helper.beside.says("fast", 0, number, PARTS)
    helper.beside.says("plain", 3, 0, None)
    until(is_told(helper, "plain"))
    assert come(helper, 3) == [12, 12, 13]
    assert list(helper.answers()) == []


def test_if_the_process_ends_a_thread_answers_the_newest_question(helper: Own) -> None:
    for version in (11, 12):
        helper.ask(question(version))
        helper.beside.asked()
    helper.beside.ends()
    assert come(helper, 2) == [12, 12]
    until(lambda: not helper.busy)
    assert (helper.begun, helper.prepared, helper.beside.waited) == ([12], 1, True)
    helper.ask(question(13))
    assert come(helper, 2) == [13, 13]


def test_if_the_process_ends_before_it_was_asked_a_thread_answers(helper: Own) -> None:
    helper.beside.ends()
    until(lambda: helper.prepared == 1)
    helper.ask(question(11))
    assert come(helper, 2) == [11, 11]
    helper.stop()


def test_without_a_process_a_thread_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(command: list[str], **how: object) -> None:
        raise OSError

    monkeypatch.setattr(subprocess, "Popen", refused)
    helper = Own()
    helper.ask(question(11))
    assert come(helper, 2) == [11, 11]
    helper.stop()


def test_a_helper_that_is_stopped_ends_the_process_and_begins_no_thread(helper: Own) -> None:
    helper.ask(question(11))
    helper.beside.asked()
    helper.stop()
    assert helper.beside.asked() is None
    assert helper.beside.nothing_more_comes()
    helper.beside.ends()
    until(lambda: helper.beside.waited)
    until(lambda: helper.beside.stdout.closed)
    assert (helper.begun, helper.prepared) == ([], 0)


def test_what_goes_over_is_what_the_other_side_reads() -> None:
    """A real process, once: its answer is that of a question with takes."""
    helper = Helper()
    helper.ask(Question(11, TWO, 1, (1,)))
    found: list[Findings] = []

    def answered() -> bool:
        found.extend(helper.answers())
        return found != []

    until(answered)
    assert {*found[0][ANSWERS]} == {1}
    assert found[0].question.version == 11
    helper.stop()
    assert helper._process.wait(WAIT_S) == 0
