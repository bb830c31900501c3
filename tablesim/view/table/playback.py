"""Playing the shown takes in step from the strike: play, pause, go to any moment, step from event to event."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from tablesim.physics.simulation import Event, Track
from tablesim.study.prediction import EventFinding, Prediction

from ..answers.steps import ANSWERS
from ..controls.widgets import Button, Pos, Ui, Widget
from ..document.editor import Editor

SPEEDS = (1 / 50, 1 / 20, 1 / 10, 1 / 5, 1 / 2, 1.0)
SPEED_NAMES = ("1/50", "1/20", "1/10", "1/5", "1/2", "1")
NUDGE_S = 0.01
NEAR_CONTACT_S = 0.04  # of played time before and after a contact, its enlargement is shown; longer when slowed


class Player:
    """Where the playing stands."""

    def __init__(self, editor: Editor, clock: Callable[[], float]) -> None:
        self.editor, self.clock = editor, clock
        self.corrected = False
        self.playing = False
        self.speed = SPEEDS.index(1.0)
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
        self.time = min(self.duration, self.time + step * SPEEDS[self.speed])
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

    def contact(self) -> Event | None:
        """The chosen take's contact of two balls that is near in time, if any."""
        track = self.track()
        if track is None:
            return None
        near = NEAR_CONTACT_S * max(SPEEDS[self.speed], 0.1)
        close = [e for e in track.events if e.kind == "ball" and abs(e.time - self.time) <= near]
        return min(close, key=lambda e: abs(e.time - self.time)) if close else None


class PlayTrack(Widget):
    """The line of time: events on it, and a handle that can be dragged."""

    def __init__(self, key: str, player: Player) -> None:
        super().__init__(key)
        self.player = player
        self.note = "time since the strike; marks are contacts and the ends of sliding"

    def draw(self, ui: Ui) -> None:
        """The line, a tick an event, the time."""
        look, player = ui.look, self.player
        line = pygame.Rect(self.rect.x, self.rect.centery - ui.px(2), self.rect.w, ui.px(4))
        ui.rect(look.edge, line, 2)
        for t in player.times():
            x = self._x(t)
            ui.line(look.muted, (x, line.y - ui.px(5)), (x, line.bottom + ui.px(4)))
        ui.disc(look.accent, (self._x(player.time), line.centery), ui.px(8))
        self.ring(ui)

    def _x(self, t: float) -> int:
        return self.rect.x + round(self.rect.w * t / max(self.player.duration, 1e-6))

    def press(self, pos: Pos, ui: Ui) -> None:
        """Go there."""
        self.player.go_to((pos[0] - self.rect.x) / max(self.rect.w, 1) * self.player.duration)

    def drag(self, pos: Pos, ui: Ui) -> None:
        """Go along."""
        self.press(pos, ui)

    def wheel(self, steps: float) -> bool:
        """A hundredth of a second."""
        self.player.go_to(self.player.time + NUDGE_S * steps)
        return True

    def pressed(self, event: pygame.Event) -> bool:
        """Left and right by a hundredth of a second."""
        if event.key not in (pygame.K_LEFT, pygame.K_RIGHT):
            return False
        self.player.go_to(self.player.time + (NUDGE_S if event.key == pygame.K_RIGHT else -NUDGE_S))
        return True


class PlayBar:
    """The controls under the table while takes are played."""

    POINTS = 46

    def __init__(self, player: Player, leave: Callable[[], object]) -> None:
        self.player = player
        p = player

        def speed() -> str:
            return f"× {SPEED_NAMES[p.speed]}"

        def other() -> None:
            p.corrected = not p.corrected
            p.go_to(p.time)

        self.track = PlayTrack("time", p)
        self.buttons: list[tuple[Widget, float]] = [
            (Button("play", lambda: "Pause" if p.playing else "Play", p.toggle, note="Space"), 64),
            (Button("event before", "◀ Event", lambda: p.step(-1), note="to the event before (,)"), 74),
            (Button("next event", "Event ▶", lambda: p.step(1), note="to the next event (.)"), 74),
            (Button("slower", "Slower", lambda: p.faster(-1), note="([)"), 66),
            (Button("faster", "Faster", lambda: p.faster(1), note="(])"), 66),
            (Button("speed", speed, lambda: p.faster(1), note="speed of time"), 58),
            (
                Button(
                    "which", lambda: "corrected" if p.corrected else "as aimed", other, note="which paths are played"
                ),
                90,
            ),
            (Button("stop playing", "Close", leave, note="Esc"), 60),
        ]

    def widgets(self) -> list[Widget]:
        """In the order of Tab."""
        return [w for w, _ in self.buttons[:-1]] + [self.track, self.buttons[-1][0]]

    def place(self, area: pygame.Rect, ui: Ui) -> None:
        """Buttons left, the line of time in the room that is left, closing at the right."""
        x, gap = area.x + ui.px(10), ui.px(6)
        room = area.w - ui.px(20) - sum(ui.px(w) + gap for _, w in self.buttons)
        narrow = room < ui.px(120)
        for widget, wide in self.buttons[:-1]:
            hidden = narrow and widget.key in ("slower", "faster", "event before")
            widget.rect = pygame.Rect(x, area.y + ui.px(8), 0 if hidden else ui.px(wide), 0 if hidden else ui.px(30))
            x += 0 if hidden else ui.px(wide) + gap
        close = self.buttons[-1][0]
        close.rect = pygame.Rect(area.right - ui.px(70), area.y + ui.px(8), ui.px(60), ui.px(30))
        self.track.rect = pygame.Rect(x + ui.px(8), area.y + ui.px(8), max(close.rect.x - x - ui.px(24), 10), ui.px(30))

    def draw(self, ui: Ui) -> None:
        """The bar."""
        for widget in self.widgets():
            if widget.rect.w > 0:
                widget.draw(ui)
