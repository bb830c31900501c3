"""The controls of the playing, and its line of time: a lane a take, events at ticks."""

from __future__ import annotations

from collections.abc import Callable

import pygame

from tablesim.study.went import event_label

from ..controls.dials import sample
from ..controls.widgets import Button, Pos, Ui, Widget, letters_width
from .playback import NUDGE_S, SPEED_NAMES, Player
from .time_line import Stretch, Tick, named_ticks

NAMES, LANE = 17, 12  # heights in points
LETTERS = 11.0
CLOCK, SAMPLE = 62, 34  # points of the line's ends: for the time, for the takes' lines
RANKS = {"meets": 0, "potted": 0, "cushion": 1}  # of the events' names where there is no room for all


class PlayTrack(Widget):
    """The line of time: events on it, and a handle that can be dragged."""

    def __init__(self, key: str, player: Player) -> None:
        super().__init__(key)
        self.player = player
        self.note = "time since the strike, stretched up to the first contact; ticks: contacts, ends of sliding, stops"

    @property
    def lanes(self) -> list[int]:
        """Places of the takes that are played, the chosen one first."""
        plays, chosen = self.player.plays(), self.player.editor.chosen
        return sorted(plays, key=lambda i: (i != chosen, i))

    def _stretch(self) -> Stretch:
        return Stretch(min(self.player.contacts(), default=None), self.player.duration)

    def _line(self, ui: Ui) -> pygame.Rect:
        """From the strike to the end, and all lanes."""
        left = ui.px(SAMPLE + 10) if self._sampled(ui) else ui.px(8)
        names = ui.px(NAMES) if self._named(ui) else 0
        wide = max(self.rect.w - left - ui.px(CLOCK), 1)
        return pygame.Rect(self.rect.x + left, self.rect.y + names, wide, self.rect.h - names)

    def _sampled(self, ui: Ui) -> bool:
        return len(self.lanes) > 1 and self.rect.w >= ui.px(260)

    def _named(self, ui: Ui) -> bool:
        return self.rect.h >= ui.px(NAMES + LANE)

    def draw(self, ui: Ui) -> None:
        """The lanes with a tick an event, names, the time and the handle."""
        look, player, line, stretch = ui.look, self.player, self._line(ui), self._stretch()
        knee = line.x + round(line.w * stretch.share(min(player.contacts(), default=0.0)))
        ui.rect(look.raised, pygame.Rect(line.x, line.y, knee - line.x, line.h), 3)
        lanes = self.lanes
        high = line.h / max(len(lanes), 1)
        plays = player.plays()
        for k, i in enumerate(lanes):
            y = round(line.y + (k + 0.5) * high)
            self._lane(ui, i, y, line, [plays[i].duration_s, *(e.time_s for e in plays[i].events)])
        if self._named(ui):
            self._names(ui, line, stretch)
        x = line.x + round(line.w * stretch.share(player.time))
        ui.rect(look.accent, pygame.Rect(x - ui.px(1), line.y, max(ui.px(2), 1), line.h))
        ui.disc(look.accent, (x, round(line.y + 0.5 * high)), ui.px(7 if len(lanes) < 2 else 5))
        at = (self.rect.right, line.centery)
        ui.write(f"{player.time:.2f} s", at, LETTERS, look.text, across=1.0, up=0.5)
        self.ring(ui)

    def _lane(self, ui: Ui, i: int, y: int, line: pygame.Rect, times: list[float]) -> None:
        """One take's time, from the strike until all of it lies still."""
        look, stretch = ui.look, self._stretch()
        several, chosen = len(self.lanes) > 1, i == self.player.editor.chosen
        colour = look.take_colour(i) if several else look.muted
        wide = round(line.w * stretch.share(times[0]))
        ui.rect(look.edge, pygame.Rect(line.x, y - ui.px(1), wide, max(ui.px(3 if chosen else 2), 1)))
        if self._sampled(ui):
            sample(ui, pygame.Rect(self.rect.x, y - ui.px(6), ui.px(SAMPLE), ui.px(12)), i)
        tall = ui.px(5 if chosen else 3)
        for t in times[1:]:
            x = line.x + round(line.w * stretch.share(t))
            ui.line(colour, (x, y - tall), (x, y + tall))

    def _names(self, ui: Ui, line: pygame.Rect, stretch: Stretch) -> None:
        """What happens at the chosen take's ticks, where there is room."""
        play = self.player.play()
        events = play.events if play is not None else ()
        words = [ui.say(event_label(event)) for event in events]
        ticks = [
            Tick(
                line.x + round(line.w * stretch.share(event.time_s)), letters_width(told, ui.px(LETTERS)),
                RANKS.get(event.what, 2),
            )
            for event, told in zip(events, words, strict=True)
        ]  # fmt: skip
        for k, left in named_ticks(ticks, (line.x, line.right), ui.px(10)).items():
            strong = ticks[k].rank == 0
            ui.write(words[k], (left, self.rect.y), LETTERS, ui.look.text if strong else ui.look.muted)

    def press(self, pos: Pos, ui: Ui) -> None:
        """Go there."""
        line = self._line(ui)
        self.player.go_to(self._stretch().time((pos[0] - line.x) / line.w))

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

    POINTS = 46  # of the buttons, and of all where the line of time stands beside them
    SPARED = ("slower", "faster", "event before", "slow contact", "next event")  # the first to go where it is narrow

    def __init__(self, player: Player, leave: Callable[[], object]) -> None:
        self.player = player
        p = player

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
            (
                Button("speed", lambda: f"× {SPEED_NAMES[p.speed]}", lambda: p.faster(1), note="speed of time"),
                58,
            ),
            (
                Button(
                    "slow contact", "Slow contact", p.slow_contact, lambda: p.contact_speed is not None,
                    note="time is slower from shortly before the first contact to shortly after",
                ),
                100,
            ),
            (
                Button(
                    "which", lambda: "corrected" if p.corrected else "as aimed", other, note="which paths are played"
                ),
                90,
            ),
            (Button("stop playing", "Close", leave, note="Esc"), 60),
        ]  # fmt: skip

    def widgets(self) -> list[Widget]:
        """In the order of Tab."""
        return [w for w, _ in self.buttons[:-1]] + [self.track, self.buttons[-1][0]]

    def height(self, ui: Ui, most: int) -> int:
        """Height [pixels] it asks for, of so many at most: the line of time under the buttons, or beside them."""
        whole = ui.px(self.POINTS + NAMES + LANE * max(len(self.track.lanes), 1) + 6)
        return whole if whole <= most else most if most >= ui.px(self.POINTS + NAMES + LANE) else ui.px(self.POINTS)

    def place(self, area: pygame.Rect, ui: Ui) -> None:
        """Buttons left, closing at the right, the line of time under them; where it is low, in the room between."""
        pad, gap, row = ui.px(10), ui.px(6), pygame.Rect(area.x, area.y + ui.px(8), area.w, ui.px(30))
        under = area.h >= ui.px(self.POINTS + NAMES + LANE)
        close, wide = self.buttons[-1][0], {w.key: max(ui.px(points), w.least(ui)) for w, points in self.buttons}
        room = area.w - 2 * pad - (0 if under else ui.px(200))
        kept = set(wide)
        for key in self.SPARED:
            if sum(wide[k] + gap for k in kept) > room:
                kept.discard(key)
        x = area.x + pad
        for widget, _ in self.buttons[:-1]:
            here = widget.key in kept
            widget.rect = pygame.Rect(x, row.y, wide[widget.key], row.h) if here else pygame.Rect(0, 0, 0, 0)
            x += wide[widget.key] + gap if here else 0
        close.rect = pygame.Rect(area.right - pad - wide[close.key], row.y, wide[close.key], row.h)
        if under:
            top = area.y + ui.px(self.POINTS - 2)
            self.track.rect = pygame.Rect(area.x + pad, top, area.w - 2 * pad, area.bottom - top - ui.px(4))
        else:
            self.track.rect = pygame.Rect(x + pad, row.y, max(close.rect.x - x - 2 * pad, 10), row.h)

    def draw(self, ui: Ui) -> None:
        """The bar."""
        for widget in self.widgets():
            if widget.rect.w > 0:
                widget.draw(ui)
