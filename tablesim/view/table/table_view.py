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
from tablesim.output.inset import INSET_POINTS, contact_picture
from tablesim.output.painter import Bytes, Order, Painter
from tablesim.physics.edge import POCKETS
from tablesim.scene.contact import contact_of
from tablesim.scene.look import Look
from tablesim.scene.picture import (
    MARGIN_M,
    ground_scene,
    lively_names,
    lively_scene,
    paths_scene,
    playing_balls,
    playing_ground,
    under_scene,
)
from tablesim.scene.shapes import Disc, Dot, Frame, Pen, Scene, fit
from tablesim.scene.shot import Shown
from tablesim.scene.table import RAIL_M
from tablesim.study.answer import Answer

from ..answers.steps import ANSWERS
from ..controls.widgets import Pos
from ..document.editor import Editor
from .playback import Player

FINE_TURN = 0.1  # with Shift held the cue turns a tenth as far as the mouse
TURN_A_NOTCH_RAD = math.radians(0.1)
DRAG_PIXELS = 4  # a click becomes a drag after so many
HANDLE_POINTS = 12.0


class TableView:
    """The table's part of the window."""

    def __init__(self, editor: Editor, look: Look, scale: float) -> None:
        self.editor, self.look, self.scale = editor, look, scale
        self.rect = pygame.Rect(0, 0, 0, 0)
        self.frame: Frame | None = None
        self.all_numbers, self.unit = False, "mm"
        self.marking = False  # marks can be taken hold of
        self.overlay: Scene = []
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
        size = scenario.table.surface
        box = (0.0, 0.0, float(self.rect.w), float(self.rect.h))
        self.frame = fit(size.length_m, size.width_m, MARGIN_M, box, self.scale)
        if self._painter is None:
            self._painter = Painter(max(self.rect.w, 16), max(self.rect.h, 16), self.look, order_of(surface))
            self._layers = {}
        painter = self._painter
        painter.lay(self._background(scenario, self.frame))
        painter.paint(self._lively(scenario), self.frame)
        surface.blit(picture_of(painter), self.rect)
        self._draw_contact(surface)

    def _background(self, scenario: Scenario, frame: Frame) -> Bytes:
        """What stands still while the aim changes: the table, balls under the paths, marks, the former shot."""
        look, shown, found = self.look, self._shown(), self.editor.findings
        if self.player is not None and found is not None:
            asked, played = found.question.scenario, self._played()
            alike: tuple[Any, ...] = (found, shown, self.player.corrected)
            return self._kept("ground", alike, None, lambda: playing_ground(asked, played, shown, look), frame)
        lively, former = lively_names(scenario), self.editor.former if found is not None else None
        still = {name: at for name, at in scenario.balls.items() if name not in lively}
        alike = (scenario.table, scenario.ball_set, still)
        ground = self._kept("ground", alike, None, lambda: ground_scene(scenario, look), frame)
        target = [scenario.balls[name] for name in lively[1:]]
        alike = (*alike, scenario.marks, scenario.target, target, shown, former)
        return self._kept("under", alike, ground, lambda: under_scene(scenario, shown, look, former), frame)

    def _kept(self, name: str, key: Any, below: Bytes | None, scene: Callable[[], Scene], frame: Frame) -> Bytes:
        """A scene over what lies below it, painted when its key has changed."""
        painter, kept = self._painter, self._layers.get(name)
        assert painter is not None
        if kept is None or kept[0] != key:
            painter.lay(below)
            painter.paint(scene(), frame)
            pixels = np.empty_like(painter.pixels) if kept is None else kept[1]
            np.copyto(pixels, painter.pixels)
            kept = self._layers[name] = (key, pixels)
        return kept[1]

    def _shown(self) -> Shown:
        return replace(self.editor.see(), all_numbers=self.all_numbers, unit=self.unit)

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
        shown = replace(shown, frame=self.frame)
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

    def drag(self, pos: Pos, fine: bool = False) -> None:
        """The mouse moves with the button held."""
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
            self.editor.drag_ball(what, *at)
        elif kind == "mark":
            self.editor.pull_mark(what[1], *at)
        elif kind == "cue":
            angle = self._bearing(pos)
            turn = math.remainder(angle - self._angle, math.tau)
            self._angle = angle
            self.editor.turn(turn * (FINE_TURN if fine else 1.0))

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
