"""The table in the window: the scene painted in layers, and what the mouse does on it."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import replace
from typing import Any, Literal

import numpy as np
import pygame

from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.output.inset import INSET_POINTS, Glass, contact_picture, glass_words, glasses_over
from tablesim.output.painter import Bytes, Order, Painter
from tablesim.physics.edge import POCKETS
from tablesim.scene.closer import panned, part_seen, picture_frame, zoomed
from tablesim.scene.contact import contact_of
from tablesim.scene.look import Look
from tablesim.scene.picture import (
    ground_scene,
    lively_names,
    lively_scene,
    paths_scene,
    playing_balls,
    playing_ground,
    under_scene,
)
from tablesim.scene.shapes import Box, Canvas, Disc, Dot, Frame, Pen, Scene, without_words
from tablesim.scene.shot import Shown
from tablesim.scene.table import RAIL_M
from tablesim.study.answer import Answer

from ..answers.steps import ANSWERS
from ..controls.keys import CTRL, SHIFT
from ..controls.widgets import Pos
from ..document.editor import Editor
from .playback import Player

FINE_TURN = 0.1  # with Shift held the cue turns a tenth as far as the mouse
TURN_A_NOTCH_RAD = math.radians(0.1)
DRAG_PIXELS = 4  # a click becomes a drag after so many
HANDLE_POINTS = 12.0
CLOSER_A_STEP = 1.25  # times as large, a notch of the wheel or a key


class TableView:
    """The table's part of the window."""

    def __init__(self, editor: Editor, look: Look, scale: float) -> None:
        self.editor, self.look, self.scale = editor, look, scale
        self.rect = pygame.Rect(0, 0, 0, 0)
        self.frame: Frame | None = None
        self.all_numbers, self.unit = False, "mm"
        self.marking = False  # marks can be taken hold of
        self.overlay: Scene = []
        self._glasses: tuple[Glass, ...] = ()
        self._canvas: Canvas | None = None
        self.player: Player | None = None  # takes are being played
        self._painter: Painter | None = None
        self._layers: dict[str, tuple[Any, Bytes]] = {}  # by name: of what it is a picture, and the picture
        self._held: tuple[str, Any] | None = None
        self._pressed_at: Pos = (0, 0)
        self._angle = 0.0
        self._moved = False

    # --- drawing

    def place(self, rect: pygame.Rect, look: Look, scale: float) -> None:
        """Take another place, look or scale."""
        if rect != self.rect or look is not self.look or scale != self.scale:
            self.rect, self.look, self.scale = rect.copy(), look, scale
            self._painter = None

    def draw(self, surface: pygame.Surface) -> None:
        """Paint the table as the editor stands."""
        scenario = self.editor.scenario
        frame = self._look_at(scenario)
        if self._painter is None:
            self._painter = Painter(max(self.rect.w, 16), max(self.rect.h, 16), self.look, order_of(surface))
            self._layers = {}
        painter = self._painter
        ground, lively = self._background(scenario), self._lively(scenario)
        painter.lay(ground)
        painter.paint(lively, frame)
        for glass in self._glasses:
            painter.put(self._through_glasses(scenario), glass.box)
            with painter.within(glass.box):
                painter.paint(without_words(lively), glass.frame)
                painter.paint(glass_words(glass, frame, self.look), glass.frame)
        surface.blit(picture_of(painter), self.rect)
        self._draw_contact(surface)

    def _look_at(self, scenario: Scenario) -> Frame:
        """Find the frame of what is looked at, and where lenses lie over it; the same ones as long as nothing moves."""
        shown, seen = self.editor.shown, (0.0, 0.0, float(self.rect.w), float(self.rect.h))
        if self.player is not None:
            shown = replace(shown, growth=0)  # what is played is not magnified
        frame = picture_frame(scenario, shown, seen, self.scale)
        if self.frame is None or (frame.matrix != self.frame.matrix).any() or (frame.origin != self.frame.origin).any():
            self.frame = frame
        lens = shown.lens and not shown.growth and self.player is None
        self._glasses = glasses_over(scenario, Canvas(self.frame, seen)) if lens else ()
        covered = tuple(glass.box for glass in self._glasses)
        kept = self._canvas
        if kept is None or kept.frame is not self.frame or (kept.seen, kept.covered) != (seen, covered):
            self._canvas = Canvas(self.frame, seen, covered)
        return self.frame

    def _background(self, scenario: Scenario) -> Bytes:
        """What stands still while the aim changes: the table, balls under the paths, marks, the former shot."""
        look, shown, found = self.look, self._shown(), self.editor.findings
        if self.player is not None and found is not None:
            asked, played = found.question.scenario, self._played()
            alike: tuple[Any, ...] = (self.frame, found, shown, self.player.corrected)
            return self._kept("ground", alike, None, lambda: playing_ground(asked, played, shown, look))
        lively, former = lively_names(scenario), self.editor.former if found is not None else None
        still = {name: at for name, at in scenario.balls.items() if name not in lively}
        alike = (self.frame, scenario.table, scenario.ball_set, still)
        ground = self._kept("ground", alike, None, lambda: ground_scene(scenario, look))
        target = [scenario.balls[name] for name in lively[1:]]
        alike = (*alike, scenario.marks, scenario.target, target, shown, former)
        return self._kept("under", alike, ground, lambda: under_scene(scenario, shown, look, former))

    def _through_glasses(self, scenario: Scenario) -> Bytes:
        """The same as the lenses show it, each at its place in the picture."""
        shown = self._shown()
        alike = (self._layers["under"][0], [glass.box for glass in self._glasses], scenario.balls[CUE_BALL])
        kept = self._layers.get("glasses")
        if kept is None or kept[0] != alike:
            assert self._painter is not None
            painter = Painter(*self._painter.size, self.look, self._painter.order)
            scene = ground_scene(scenario, self.look) + under_scene(scenario, shown, self.look, self.editor.former)
            for glass in self._glasses:
                with painter.within(glass.box):
                    painter.paint(without_words(scene), glass.frame)
            kept = self._layers["glasses"] = (alike, painter.pixels)
        return kept[1]

    def _kept(self, name: str, key: Any, below: Bytes | None, scene: Callable[[], Scene]) -> Bytes:
        """A scene over what lies below it, painted when its key has changed."""
        painter, kept = self._painter, self._layers.get(name)
        assert painter is not None
        assert self.frame is not None
        if kept is None or kept[0] != key:
            painter.lay(below)
            painter.paint(scene(), self.frame)
            pixels = np.empty_like(painter.pixels) if kept is None else kept[1]
            np.copyto(pixels, painter.pixels)
            kept = self._layers[name] = (key, pixels)
        return kept[1]

    def _shown(self) -> Shown:
        return replace(self.editor.see(), all_numbers=self.all_numbers, unit=self.unit, canvas=self._canvas)

    def _played(self) -> dict[int, Answer]:
        """The answers being played: those as corrected take the place of those as aimed, if they are wanted."""
        found = self.editor.findings
        if found is None:
            return {}
        if self.player is None or not self.player.corrected:
            return found[ANSWERS]
        return {i: replace(a, aimed=a.corrected, corrected=None) for i, a in found[ANSWERS].items()}

    def _lively(self, scenario: Scenario) -> Scene:
        """Everything over the background."""
        editor, look, found, shown = self.editor, self.look, self.editor.findings, self._shown()
        if self.player is not None and found is not None:
            return playing_balls(found.question.scenario, self._played(), shown, look, self.player.time) + self.overlay
        shapes = [] if found is None else paths_scene(found.question.scenario, found[ANSWERS], shown, look)
        shapes += lively_scene(scenario)
        if editor.selected in scenario.balls:
            x, y = scenario.balls[editor.selected]
            radius = scenario.ball_set.radius_m(editor.selected)
            shapes.append(Disc(x, y, radius * 1.5, None, Pen(look.accent, 1.6, (4, 3))))
        if self.marking or editor.mark is not None:
            for i, _, (x, y) in self._handles():
                fill = look.accent if i == editor.mark else look.halo
                shapes.append(Dot(x, y, 5.0, fill, Pen(look.ink, 1.2), corners=4))
        return shapes + self.overlay

    def _draw_contact(self, surface: pygame.Surface) -> None:
        """While a contact is played: the two balls enlarged, in the corner that is farthest from them."""
        event = self.player.contact() if self.player is not None else None
        found = self.editor.findings
        if event is None or found is None or self.frame is None:
            return
        side = min(round(INSET_POINTS * self.scale), self.rect.w // 3, 2 * self.rect.h // 3)
        if side < 60:
            return
        asked, look = found.question, self.look
        take = asked.scenario.takes[asked.chosen].name
        painter = contact_picture(asked.scenario, event, look, self.frame, side, take, look.accent)
        x, y = self.frame.pixels(np.array([contact_of(asked.scenario, event).at]))[0]
        place = pygame.Rect(0, 0, side, side)
        margin = round(10 * self.scale)
        place.left = self.rect.x + margin if x > self.rect.w / 2 else self.rect.right - side - margin
        place.top = self.rect.y + margin if y > self.rect.h / 2 else self.rect.bottom - side - margin
        surface.blit(picture_of(painter), place)

    # --- the mouse

    def metres(self, pos: Pos) -> tuple[float, float]:
        """The place on the table under a pixel of the window."""
        assert self.frame is not None
        return self.frame.metres(pos[0] - self.rect.x, pos[1] - self.rect.y)

    def _handles(self) -> list[tuple[int, str, tuple[float, float]]]:
        """Where marks can be taken hold of: (mark, field, place)."""
        found = []
        for i, mark in enumerate(self.editor.scenario.marks):
            found.append((i, "at", mark.at))
            if mark.to is not None:
                found.append((i, "to", mark.to))
            if mark.radius_m is not None:
                right = mark.at[0] + mark.radius_m  # or left, where the table ends before
                beyond = right > self.editor.scenario.table.surface.length_m + RAIL_M
                found.append((i, "radius_m", (mark.at[0] - mark.radius_m if beyond else right, mark.at[1])))
        return found

    def _near(self, places: list[tuple[Any, tuple[float, float]]], at: tuple[float, float], reach_m: float) -> Any:
        close = [(math.dist(place, at), what) for what, place in places if math.dist(place, at) <= reach_m]
        return min(close, key=lambda c: c[0])[1] if close else None

    def press(self, pos: Pos, twice: bool = False) -> None:
        """The left button goes down: take hold of a mark, a ball, a pocket, or the cue."""
        if self.frame is None or self.player is not None:
            return
        editor, at = self.editor, self.metres(pos)
        editor.settle()
        self._pressed_at, self._moved = pos, False
        reach = HANDLE_POINTS * self.scale / self.frame.pixels_a_metre
        if self.marking:
            handle = self._near([((i, name), place) for i, name, place in self._handles()], at, reach)
            if handle is not None:
                editor.select(mark=handle[0])
                self._held = ("mark", handle)
                return
        ball = editor.staging.pick(*at, 0.4 * reach)
        edge = editor.scenario.table.edge
        holes = [
            (name, (row[0] + 0.03 * row[2], row[1] + 0.03 * row[3]))
            for name, row in zip(POCKETS, edge.mouths, strict=True)
        ]
        pocket = self._near(holes, at, float(edge.mouths[0][4]) + 0.03)
        if ball is not None:
            self._held = ("ball", ball)
        elif pocket is not None:
            self._held = ("pocket", pocket)
        else:
            editor.select()
            self._held = ("cue", None)
            self._angle = self._bearing(pos)
            if twice:
                editor.turn_to(self._angle, gesture=False)

    def _bearing(self, pos: Pos) -> float:
        x, y = self.metres(pos)
        cx, cy = self.editor.scenario.balls[CUE_BALL]
        return math.atan2(y - cy, x - cx)

    def bring(self, ball: str, pos: Pos) -> None:
        """A ball of the tray comes onto the table with the button held, and is in hand from then on."""
        if self.frame is None or self.player is not None:
            return
        self.editor.settle()
        self.editor.bring_ball(ball, *self.metres(pos))
        self._held, self._moved = ("ball", ball), True

    def drag(self, pos: Pos, mods: int = 0) -> None:
        """The mouse moves with the button held: with Shift the cue turns less, with Ctrl a ball goes to sights."""
        if self._held is None or self.frame is None:
            return
        if not self._there(*self._held):
            self._held = None
            return
        if not self._moved and math.dist(pos, self._pressed_at) < DRAG_PIXELS:
            return
        self._moved = True
        kind, what = self._held
        at = self.metres(pos)
        if kind == "ball":
            self.editor.select(what)
            self.editor.drag_ball(what, *at, bool(mods & CTRL))
        elif kind == "mark":
            self.editor.pull_mark(what[1], *at)
        elif kind == "cue":
            angle = self._bearing(pos)
            turn = math.remainder(angle - self._angle, math.tau)
            self._angle = angle
            self.editor.turn(turn * (FINE_TURN if mods & SHIFT else 1.0))

    def _there(self, kind: str, what: Any) -> bool:
        """False if what is held has gone from the table meanwhile, by a key."""
        editor = self.editor
        if kind == "mark":
            place, handle = what
            return editor.mark == place and getattr(editor.scenario.marks[place], handle) is not None
        return kind != "ball" or what in editor.scenario.balls

    def release(self) -> None:
        """The button goes up: without a movement it was a click, which picks the target."""
        if self._held is not None and not self._moved and self._there(*self._held):
            kind, what = self._held
            if kind == "ball":
                self.editor.select(what)
                if what != CUE_BALL:
                    self.editor.set_target(ball=what)
            elif kind == "pocket":
                self.editor.set_target(pocket=what)
        self._held = None
        self.editor.settle()

    @property
    def holding_ball(self) -> bool:
        """True while a ball is dragged."""
        return self._held is not None and self._held[0] == "ball"

    @property
    def holding(self) -> bool:
        """True while something is held with the mouse."""
        return self._held is not None

    def zoom(self, steps: float, pos: Pos | None = None) -> None:
        """Look closer (steps > 0) or from farther off; what lies under the pixel ``pos`` stays there."""
        at = self.metres(pos or self.rect.center)
        editor = self.editor
        part = zoomed(editor.scenario, self._part(), CLOSER_A_STEP**steps, at)
        editor.shown = replace(editor.shown, closer=part)

    def pan(self, by: Pos) -> None:
        """Move what is looked at by so many pixels."""
        if self.frame is None or self.editor.shown.closer is None:
            return
        here, there = self.frame.metres(0.0, 0.0), self.frame.metres(float(by[0]), float(by[1]))
        part = panned(self.editor.scenario, self.editor.shown.closer, (here[0] - there[0], here[1] - there[1]))
        self.editor.shown = replace(self.editor.shown, closer=part)

    def _part(self) -> Box | None:
        """The part that is looked at, as wide and high as the window shows it; None: all of the table."""
        if self.frame is None or part_seen(self.editor.scenario, self.editor.shown) is None:
            return None
        ends = [self.frame.metres(x, y) for x, y in ((0.0, 0.0), self.rect.size)]
        (x0, x1), (y0, y1) = (sorted(axis) for axis in zip(*ends, strict=True))
        return x0, y0, x1, y1

    def wheel(self, steps: float, factor: float = 1.0) -> None:
        """Turn the cue finely."""
        self.editor.turn(steps * factor * TURN_A_NOTCH_RAD)

    def pixel(self, x: float, y: float) -> Pos:
        """The pixel of the window at a place on the table [m]."""
        assert self.frame is not None
        px, py = self.frame.pixels(np.array([[x, y]]))[0]
        return round(px + self.rect.x), round(py + self.rect.y)


def order_of(surface: pygame.Surface) -> Order:
    """A surface's order of red and blue: a raster in the same order is copied to it without a change."""
    red, _, blue, _ = surface.get_masks()
    return "BGR" if (red > blue) == (sys.byteorder == "little") else "RGB"


def picture_of(painter: Painter) -> pygame.Surface:
    """A raster as a picture, in the same memory."""
    order: Literal["RGBA", "BGRA"] = "RGBA" if painter.order == "RGB" else "BGRA"
    picture = pygame.image.frombuffer(painter.pixels.data, painter.size, order)
    picture.set_alpha(None)  # a raster is opaque
    return picture
