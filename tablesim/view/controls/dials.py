"""Controls made for this job: the ball's face, the pace ruler, the bars of the ledger, a piece of a take's line."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import pygame

from tablesim.scene.look import IVORY, pattern
from tablesim.study.explain import Explanation
from tablesim.study.neutral import PaceMarks
from tablesim.study.pace import PaceScale
from tablesim.units import MPH_M_S, PACE_WORDS

from ..numbers import PACE
from .widgets import BODY, COARSE, FINE, Pos, Ui, Widget

SLOWEST, FASTEST = 0.4, 10.0  # ends of the ruler [m/s]; a number beyond can be typed
FACE_REACH = 0.75  # how far out the dot can be dragged [ball radii]


@lru_cache(maxsize=8)
def face_picture(radius: int, ring: float, weight: int) -> pygame.Surface:
    """The cue ball seen along the cue, with cross lines, clock marks and the miscue ring."""
    r = 4 * radius
    big = pygame.Surface((2 * r, 2 * r), pygame.SRCALPHA)
    pygame.draw.circle(big, pygame.Color(IVORY), (r, r), r)
    pale, red = pygame.Color("#c9c0ab"), pygame.Color("#b5482f")
    for a in range(12):
        u = (math.sin(math.radians(30 * a)), math.cos(math.radians(30 * a)))
        pygame.draw.line(
            big, pale, (r + 0.9 * r * u[0], r + 0.9 * r * u[1]), (r + 0.98 * r * u[0], r + 0.98 * r * u[1]), 4 * weight
        )
    pygame.draw.line(big, pale, (0.1 * r, r), (1.9 * r, r), 4 * weight)
    pygame.draw.line(big, pale, (r, 0.1 * r), (r, 1.9 * r), 4 * weight)
    steps = 48
    for k in range(0, steps, 2):
        arc = pygame.Rect(0, 0, 2 * ring * r, 2 * ring * r)
        arc.center = (r, r)
        pygame.draw.arc(big, red, arc, 2 * math.pi * k / steps, 2 * math.pi * (k + 1) / steps, 6 * weight)
    return pygame.transform.smoothscale(big, (2 * radius, 2 * radius))


class TipFace(Widget):
    """The face of the cue ball; a dot on it is where the tip strikes. Arrow keys move it, Home centres it."""

    def __init__(
        self, key: str, tip: Callable[[], tuple[float, float]], ring: Callable[[], float],
        tip_radius: Callable[[], float], change: Callable[[float, float], object], done: Callable[[], object],
        points: Callable[[], float],
    ) -> None:  # fmt: skip
        super().__init__(key, "tip")
        self.points = points
        self.tip, self.ring_radius, self.tip_radius, self.change, self.done = tip, ring, tip_radius, change, done

    def height(self, ui: Ui) -> int:
        """As high as a face that can be aimed at; lower where numbers stand beside it."""
        return ui.px(self.points())

    def _radius(self) -> int:
        return min(self.rect.w, self.rect.h) // 2 - 4

    def draw(self, ui: Ui) -> None:
        """The face, and the tip's contact patch on it."""
        radius = self._radius()
        if radius < 8:
            return
        cx, cy = self.rect.center
        ui.picture(face_picture(radius, self.ring_radius(), max(1, ui.px(1))), (cx - radius, cy - radius))
        right, up = self.tip()
        at = (round(cx + right * radius), round(cy - up * radius))
        slips = math.hypot(right, up) > self.ring_radius()
        colour = "#b5482f" if slips else "#2b5f8f"
        ui.disc(colour, at, max(ui.px(6), round(self.tip_radius() * radius)))
        ui.disc("#ffffff", at, ui.px(2))
        self.ring(ui)

    def _go(self, right: float, up: float) -> None:
        size = math.hypot(right, up)
        if size > FACE_REACH:
            right, up = right * FACE_REACH / size, up * FACE_REACH / size
        self.change(round(right, 3) + 0.0, round(up, 3) + 0.0)

    def press(self, pos: Pos, ui: Ui) -> None:
        """The dot goes there."""
        self.drag(pos, ui)

    def drag(self, pos: Pos, ui: Ui) -> None:
        """The dot follows; near a cross line it keeps to it."""
        radius = max(self._radius(), 1)
        right, up = (pos[0] - self.rect.centerx) / radius, (self.rect.centery - pos[1]) / radius
        self._go(0.0 if abs(right) < 0.02 else right, 0.0 if abs(up) < 0.02 else up)

    def release(self, ui: Ui) -> None:
        """The movement is done."""
        self.done()

    def wheel(self, steps: float) -> bool:
        """Up and down."""
        right, up = self.tip()
        self._go(right, up + 0.02 * steps)
        return True

    def pressed(self, event: pygame.Event) -> bool:
        """Arrow keys, 4 % of full side a step."""
        moves = {pygame.K_LEFT: (-1, 0), pygame.K_RIGHT: (1, 0), pygame.K_UP: (0, 1), pygame.K_DOWN: (0, -1)}
        right, up = self.tip()
        if event.key in moves:
            step = 0.02 * (5.0 if event.mod & pygame.KMOD_SHIFT else FINE if event.mod & pygame.KMOD_CTRL else 1.0)
            dx, dy = moves[event.key]
            self._go(right + dx * step, up + dy * step)
        elif event.key == pygame.K_HOME:
            self._go(0.0, 0.0)
        else:
            return False
        return True


class PaceRuler(Widget):
    """Pace on a ruler: the trade's words, the marks of this shot, and, with details, the numbers."""

    def __init__(
        self, key: str, pace: Callable[[], float], change: Callable[[float], object], done: Callable[[], object],
        marks: Callable[[], PaceMarks | None], scale: Callable[[], PaceScale | None], details: Callable[[], bool],
    ) -> None:  # fmt: skip
        super().__init__(key, "pace")
        self.pace, self.change, self.done, self.marks, self.scale, self.details = (
            pace,
            change,
            done,
            marks,
            scale,
            details,
        )

    def height(self, ui: Ui) -> int:
        """Words, track and marks; with details three rows of numbers more."""
        return ui.px(148 if self.details() else 82) + self._stagger(ui)

    def _stagger(self, ui: Ui) -> int:
        """Pixels by which every second word stands higher where letters are so large that they would touch."""
        return ui.px(1.2 * BODY) if ui.from_afar else 0

    def _x(self, pace: float) -> int:
        share = math.log(max(pace, SLOWEST) / SLOWEST) / math.log(FASTEST / SLOWEST)
        return round(self.rect.x + 8 + min(share, 1.0) * (self.rect.w - 16))

    def _pace_at(self, x: int) -> float:
        share = (x - self.rect.x - 8) / max(self.rect.w - 16, 1)
        return round(float(SLOWEST * (FASTEST / SLOWEST) ** min(1.0, max(0.0, share))), 2)

    def draw(self, ui: Ui) -> None:
        """Words over the track, the handle on it, marks under it."""
        look, track = ui.look, self.rect.y + ui.px(34) + self._stagger(ui)
        low = SLOWEST
        for k, (limit, word) in enumerate(PACE_WORDS):
            left, right = self._x(low), self._x(min(limit, FASTEST))
            band = pygame.Rect(left, track - ui.px(3), right - left, ui.px(6))
            ui.rect(look.raised if k % 2 else look.edge, band)
            high = track - ui.px(16) - (self._stagger(ui) if k % 2 else 0)
            ui.write(word, ((left + right) // 2, high), 10.5, look.muted, across=0.5, up=0.5)
            low = limit
        self._marks(ui, track)
        at = (self._x(self.pace()), track)
        ui.disc(look.accent, at, ui.px(9))
        ui.disc(look.panel, at, ui.px(4))
        if self.details():
            self._numbers(ui, track + ui.px(71))
        self.ring(ui)

    def _marks(self, ui: Ui, track: int) -> None:
        found = self.marks()
        if found is None:
            return
        y, r = track + ui.px(18), ui.px(5)
        if found.dying is not None:
            x = self._x(found.dying)
            ui.polygon(ui.look.text, [(x, y - r), (x - r, y + r), (x + r, y + r)])
            ui.write(
                "dead weight", (max(x, self.rect.x + ui.px(34)), y + ui.px(14)), 10, ui.look.muted, across=0.5, up=0.5
            )
        for pace in found.neutral:
            x = self._x(pace)
            ui.polygon(ui.look.accent, [(x, y - r), (x + r, y), (x, y + r), (x - r, y)])
            right = min(x, self.rect.right - ui.px(30))
            ui.write("neutral", (right, y + ui.px(26)), 10, ui.look.accent, across=0.5, up=0.5)

    def _numbers(self, ui: Ui, top: int) -> None:
        scale = self.scale()
        lags = [] if scale is None or scale.lag is None else [("lag", scale.lag)]
        lengths = [] if scale is None else [(f"{n:g}", pace) for n, pace in scale.lengths]
        rows = (
            ("m/s", [(f"{v:g}", v) for v in (0.5, 1.0, 2.0, 3.0, 5.0, 8.0)]),
            ("mph", [(f"{v:g}", v * MPH_M_S) for v in (1.0, 2.0, 4.0, 7.0, 10.0, 20.0)]),
            ("lengths", lengths + lags),
        )
        for k, (name, ticks) in enumerate(rows):
            y = top + k * ui.px(20)
            end = ui.write(name, (self.rect.x, y - ui.px(4)), 8.5, ui.look.muted, up=1.0).right
            ui.line(ui.look.edge, (self.rect.x, y - ui.px(3)), (self.rect.right, y - ui.px(3)))
            taken = self.rect.x + ui.px(44)
            for words, pace in sorted(ticks, key=lambda tick: tick[1]):
                x = self._x(pace)
                if x > end:
                    ui.line(ui.look.muted, (x, y - ui.px(6)), (x, y - ui.px(1)))
                if x - ui.px(8) > taken:
                    taken = ui.write(words, (x, y - ui.px(7)), 9.5, across=0.5, up=1.0).right

    def press(self, pos: Pos, ui: Ui) -> None:
        """The handle goes there."""
        self.change(self._pace_at(pos[0]))

    def drag(self, pos: Pos, ui: Ui) -> None:
        """The handle follows."""
        self.change(self._pace_at(pos[0]))

    def release(self, ui: Ui) -> None:
        """The movement is done."""
        self.done()

    def step(self, steps: float, factor: float = 1.0) -> None:
        """Faster or slower by steps."""
        self.change(PACE.stepped(self.pace(), factor * steps))

    def wheel(self, steps: float) -> bool:
        """A step."""
        self.step(steps)
        return True

    def pressed(self, event: pygame.Event) -> bool:
        """Arrow keys step; Shift by ten, Ctrl by a tenth."""
        signs = {pygame.K_LEFT: -1, pygame.K_DOWN: -1, pygame.K_RIGHT: 1, pygame.K_UP: 1}
        if event.key not in signs:
            return False
        self.step(
            signs[event.key], COARSE if event.mod & pygame.KMOD_SHIFT else FINE if event.mod & pygame.KMOD_CTRL else 1
        )
        return True


class Bars(Widget):
    """The ledger: what squirt, swerve and throw do at the pocket, as bars to the left and right of its centre.

    Where the miss cannot be split: what squirt and swerve do off the cue's line by the time of the object ball.
    """

    focusable = False

    def __init__(
        self, key: str, explanation: Callable[[], Explanation | None], details: Callable[[], bool],
        half_mouth_mm: Callable[[], float],
    ) -> None:  # fmt: skip
        super().__init__(key, "correction")
        self.explanation, self.details, self.half_mouth_mm = explanation, details, half_mouth_mm

    def draw(self, ui: Ui) -> None:
        """A row a cause, and the whole; behind them the mouth of the pocket."""
        found, look = self.explanation(), ui.look
        names = ui.px(62)
        area = pygame.Rect(
            self.rect.x + names, self.rect.y, self.rect.w - names - ui.px(80 if self.details() else 4), self.rect.h
        )
        rows = ledger_rows(found)
        if area.w < 20 or not rows:
            return
        high = max(self.rect.h // (len(rows) + 1), 1)
        row = (ui.mouse[1] - self.rect.y) // high - 1
        self.term = rows[row][0] if 0 <= row < len(rows) else "correction"
        most = max(20.0, *(abs(mm) for _, mm in rows))
        middle = area.centerx
        at_pocket = rows[-1][0] == "in all"
        if at_pocket:
            self._jaws(ui, area, high, 0.5 * area.w / most)
        left = "left of centre" if at_pocket else "left of line, at the ball"
        ui.write(left, (area.x, self.rect.y), 9, look.muted)
        ui.write("right", (area.right, self.rect.y), 9, look.muted, across=1.0)
        ui.line(look.muted, (middle, self.rect.y + high), (middle, self.rect.bottom))
        for k, (name, mm) in enumerate(rows, start=1):
            y, whole = self.rect.y + k * high, k == len(rows)
            ui.write(name, (self.rect.x, y + high // 2), 11.5, look.text if whole else look.muted, whole, up=0.5)
            wide = round(0.5 * area.w * abs(mm) / most)
            bar = pygame.Rect(middle - wide if mm > 0 else middle, y + ui.px(3), wide, high - ui.px(6))
            ui.rect(look.accent if whole else look.muted, bar, ui.px(2))
            if self.details():
                text = f"{abs(mm):.0f} mm {'L' if mm > 0 else 'R'}" if abs(mm) >= 0.5 else "0 mm"
                ui.write(
                    text, (self.rect.right, y + high // 2), 11, look.text if whole else look.muted, whole, 1.0, 0.5
                )

    def _jaws(self, ui: Ui, area: pygame.Rect, top: int, pixels_a_mm: float) -> None:
        """The pocket's mouth, as a band: the scale of the bars."""
        half = min(round(self.half_mouth_mm() * pixels_a_mm), area.w // 2)
        band = pygame.Rect(area.centerx - half, area.y + top, 2 * half, area.h - top)
        ui.rect(ui.look.raised, band)


def ledger_rows(found: Explanation | None) -> list[tuple[str, float]]:
    """The ledger's rows: cause and effect at the pocket [mm, left +], the last one the whole.

    Where the miss cannot be split: off the cue's line level with the object ball, unless nothing leads off it.
    """
    if found is None:
        return []
    if not found.parts or found.miss_mm is None:
        at = found.off_line
        if at is None or max(abs(at.squirt_mm), abs(at.swerve_mm)) < 0.5:
            return []
        return [("squirt", at.squirt_mm), ("swerve", at.swerve_mm), ("off line", at.net_mm)]
    mm = {part.cause: part.mm for part in found.parts}
    aim = [("aim", found.aim_mm)] if found.aim_mm is not None and abs(found.aim_mm) >= 0.5 else []
    whole = found.miss_mm + (found.aim_mm or 0.0)
    return [*aim, ("squirt", mm["squirt"]), ("swerve", mm["swerve"]), ("throw", mm["throw"]), ("in all", whole)]


def sample(ui: Ui, rect: pygame.Rect, index: int) -> None:
    """A piece of a take's line, in its colour and pattern."""
    dashes = pattern(index) or (rect.w / ui.scale, 0)
    x, k = float(rect.x), 0
    while x < rect.right:
        end = min(x + dashes[k % len(dashes)] * ui.scale, rect.right)
        if k % 2 == 0:
            bar = pygame.Rect(round(x), rect.centery - ui.px(1.5), max(1, round(end - x)), ui.px(3))
            ui.rect(ui.look.take_colour(index), bar)
        x, k = max(end, x + 0.5), k + 1
