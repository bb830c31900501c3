"""What the window says at an event while the playing rests there."""

from __future__ import annotations

from collections.abc import Callable

import pygame
from window import Driver

from tablesim.scene.words import events_words
from tablesim.study.prediction import EventFinding

Open = Callable[..., Driver]


def said(w: Driver) -> list[str]:
    """The notes over the table."""
    return [note.text for note in w.app.notes()]


def test_stepping_from_event_to_event_names_each(window: Open) -> None:
    w = window()
    w.key(pygame.K_SPACE)
    player = w.app.table.player
    assert player is not None
    play = player.play()
    assert play is not None
    w.key(pygame.K_HOME)
    assert said(w) == []
    for event in play.events[:4]:
        w.key(pygame.K_PERIOD)
        assert said(w) == [events_words([event])]
    assert [event.what for event in play.events[:4]] == ["rolls", "meets", "rolls", "rolls"]
    w.key(pygame.K_COMMA)
    assert said(w) == [events_words([play.events[2]])]
    player.go_to(player.time + 0.001)
    assert said(w) == []
    w.key(pygame.K_COMMA)
    w.key(pygame.K_SPACE)
    assert player.playing
    assert said(w) == []  # while it runs there is no time to read


def test_every_kind_of_event_has_its_words() -> None:
    def event(what: str, balls: tuple[str, ...] = ("cue",), where: str | None = None) -> EventFinding:
        return EventFinding(1.25, what, balls, where, (1.0, 0.5))

    for found, words in (
        (event("meets", ("cue", "3")), "the cue ball meets ball 3"),
        (event("meets", ("3", "8")), "ball 3 meets ball 8"),
        (event("cushion", ("3",), "left rail"), "ball 3 meets the left rail"),
        (event("cushion", ("3",), "foot-left jaw"), "ball 3 meets the foot-left jaw"),
        (event("potted", ("3",), "foot-left"), "ball 3 drops, foot-left"),
        (event("rolls"), "the cue ball slides no more: it rolls"),
        (event("stops"), "the cue ball stops"),
        (event("spin ends"), "the cue ball has no sidespin left"),
    ):
        assert events_words([found]) == f"1.250 s: {words}"
    assert events_words([event("rolls"), event("stops", ("3",))]).endswith("it rolls; ball 3 stops")
