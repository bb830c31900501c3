"""Playing by the clock: what time does to the place in the play."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from tablesim.view.answers.findings import Findings
from tablesim.view.answers.steps import ANSWERS
from tablesim.view.table.playback import SPEEDS, Player

LASTS_S = 4.0


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    """A clock for the player, and for the test."""
    return Clock()


@pytest.fixture
def player(clock: Clock) -> Player:
    """One take of four seconds, as aimed; there is none corrected."""
    play = SimpleNamespace(track=SimpleNamespace(events=[]), duration_s=LASTS_S, events=())
    answers = {0: SimpleNamespace(aimed=play, corrected=None)}
    question: Any = SimpleNamespace(chosen=0)
    editor: Any = SimpleNamespace(findings=Findings(question, {ANSWERS.name: answers}))
    return Player(editor, clock)


@pytest.mark.parametrize(("waited", "moved"), [(0.0, 0.0), (0.02, 0.02), (0.05, 0.05), (0.06, 0.05), (30.0, 0.05)])
@pytest.mark.parametrize("slower", [0, 1])
def test_a_stall_does_not_make_time_jump(
    player: Player, clock: Clock, waited: float, moved: float, slower: int
) -> None:
    """A long wait counts as a twentieth of a second, whatever the speed of time."""
    player.faster(-slower)
    player.start()
    clock.now += waited
    assert player.tick()
    assert player.time == pytest.approx(moved * SPEEDS[player.speed])
    clock.now += 0.01
    player.tick()
    assert player.time == pytest.approx((moved + 0.01) * SPEEDS[player.speed])


def test_time_before_the_start_and_in_a_pause_does_not_count(player: Player, clock: Clock) -> None:
    clock.now += 0.04
    player.start()
    assert player.tick()
    assert player.time == 0.0
    player.pause()
    clock.now += 0.04
    assert not player.tick()
    player.toggle()
    clock.now += 0.03
    player.tick()
    assert player.time == pytest.approx(0.03)


def test_it_ends_where_the_last_ball_lies_and_begins_anew(player: Player, clock: Clock) -> None:
    player.go_to(LASTS_S - 0.01)
    player.start()
    clock.now += 0.02
    assert player.tick()
    assert (player.time, player.playing) == (LASTS_S, False)
    assert not player.tick()
    player.start()
    assert (player.time, player.playing) == (0.0, True)
    player.go_to(9.0)
    assert (player.time, player.playing) == (LASTS_S, False)
    player.go_to(-1.0)
    assert player.time == 0.0


def test_nothing_is_played_of_a_take_without_an_answer(player: Player) -> None:
    player.corrected = True
    assert player.plays() == {}
    assert player.duration == 0.0
    assert player.times() == []
