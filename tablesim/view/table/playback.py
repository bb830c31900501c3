"""Playing the shown takes in step from the strike: play, pause, go to any moment, step from event to event."""

from __future__ import annotations

import math
from collections.abc import Callable

from tablesim.output.timing import Timing
from tablesim.physics.simulation import Event, Track
from tablesim.study.prediction import EventFinding, Prediction, first_contact

from ..answers.steps import ANSWERS
from ..document.editor import Editor
from ..document.tempo import AS_AT_THE_TABLE, CONTACT_SPEED, Tempo

SPEEDS = (1 / 50, 1 / 20, 1 / 10, 1 / 5, 1 / 2, 1.0)
SPEED_NAMES = ("1/50", "1/20", "1/10", "1/5", "1/2", "1")
NUDGE_S = 0.01
NEAR_CONTACT_S = 0.04  # of played time before and after a contact, its enlargement is shown; longer when slowed


class Player:
    """Where the playing stands."""

    def __init__(
        self,
        editor: Editor,
        clock: Callable[[], float],
        tempo: Tempo = AS_AT_THE_TABLE,
        changed: Callable[[Tempo], object] = lambda tempo: None,
    ) -> None:
        self.editor, self.clock, self._changed = editor, clock, changed
        self.corrected = False
        self.playing = False
        self.speed = min(range(len(SPEEDS)), key=lambda k: abs(math.log(SPEEDS[k] / tempo.speed)))
        self.contact_speed = tempo.contact_speed
        self.time = 0.0
        self._last = clock()

    def plays(self) -> dict[int, Prediction]:
        """The shown takes' predictions that can be played, by their places."""
        found = self.editor.findings
        if found is None:
            return {}
        chosen = {i: a.corrected if self.corrected else a.aimed for i, a in found[ANSWERS].items()}
        return {i: p for i, p in chosen.items() if p is not None and p.track is not None}

    def play(self) -> Prediction | None:
        """What of the chosen take is played."""
        found = self.editor.findings
        return self.plays().get(found.question.chosen) if found is not None else None

    def track(self) -> Track | None:
        """The chosen take's track."""
        play = self.play()
        return play.track if play is not None else None

    def happening(self) -> tuple[EventFinding, ...]:
        """What happens in the chosen take at the moment at which the playing rests."""
        play = self.play()
        if play is None or self.playing:
            return ()
        return tuple(event for event in play.events if abs(event.time_s - self.time) < 1e-9)

    @property
    def duration(self) -> float:
        """Time [s] until the last of them has come to rest."""
        return max((p.duration_s for p in self.plays().values()), default=0.0)

    def start(self) -> None:
        """Play from the strike, or go on."""
        if self.time >= self.duration:
            self.time = 0.0
        self.playing, self._last = True, self.clock()

    def pause(self) -> None:
        """Stop where it is."""
        self.playing = False

    def toggle(self) -> None:
        """Play or pause."""
        if self.playing:
            self.pause()
        else:
            self.start()

    def tick(self) -> bool:
        """Move on by the clock; True if something moves. A long wait counts as a twentieth of a second at most."""
        now = self.clock()
        step, self._last = min(now - self._last, 0.05), now
        if not self.playing:
            return False
        self.time = min(self.duration, self.timing().after(self.time, step))
        if self.time >= self.duration:
            self.playing = False
        return True

    def go_to(self, t: float) -> None:
        """Go to a time [s] and pause there."""
        self.playing = False
        self.time = max(0.0, min(t, self.duration))

    def times(self) -> list[float]:
        """Times [s] of the chosen take's contacts with balls, cushions and pockets, and of its ends of sliding."""
        track = self.track()
        return sorted({event.time for event in track.events}) if track is not None else []

    def step(self, by: int) -> None:
        """Go to the next event of the chosen take, or the one before."""
        times = [0.0, *self.times()]
        later = [t for t in times if t > self.time + 1e-9]
        earlier = [t for t in times if t < self.time - 1e-9]
        self.go_to(later[0] if by > 0 and later else earlier[-1] if by < 0 and earlier else self.time)

    def faster(self, by: int) -> None:
        """Another speed, from 1/50 to 1."""
        self.speed = max(0, min(self.speed + by, len(SPEEDS) - 1))
        self._changed(Tempo(SPEEDS[self.speed], self.contact_speed))

    def slow_contact(self) -> None:
        """Slower about the contacts, or no longer."""
        self.contact_speed = CONTACT_SPEED if self.contact_speed is None else None
        self._changed(Tempo(SPEEDS[self.speed], self.contact_speed))

    def contacts(self) -> tuple[float, ...]:
        """Time [s] of the cue ball's first contact in each take that is played and has one."""
        met = (first_contact(p.track) for p in self.plays().values() if p.track is not None)
        return tuple(event.time for event in met if event is not None)

    def timing(self) -> Timing:
        """How time runs: as set, slower about the contacts if that is wanted."""
        speed, slow = SPEEDS[self.speed], self.contact_speed
        return Timing(speed, None if slow is None else min(slow, speed), self.contacts(), 0.0, self.duration)

    def contact(self) -> Event | None:
        """The chosen take's contact of two balls that is near in time, if any."""
        track = self.track()
        if track is None:
            return None
        near = NEAR_CONTACT_S * max(SPEEDS[self.speed], 0.1)
        close = [e for e in track.events if e.kind == "ball" and abs(e.time - self.time) <= near]
        return min(close, key=lambda e: abs(e.time - self.time)) if close else None
