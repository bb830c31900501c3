"""The page of the layout: balls, target and marks."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

import pygame

from tablesim.model.base import longest
from tablesim.model.scenario import CUE_BALL
from tablesim.model.shot import Mark
from tablesim.physics.edge import POCKETS
from tablesim.scene.look import IVORY, ball_colour
from tablesim.scene.staged import staged_cut, staged_far
from tablesim.scene.table import RAIL_M
from tablesim.staging.said import cut_said, distance_said
from tablesim.units import DIAMONDS_LONG, DIAMONDS_SHORT, INCH_M, lengths_m

from ..controls.fields import Choice, TextField
from ..controls.number_fields import NumberField
from ..controls.widgets import Button, Label, Pos, Ui, Widget
from ..numbers import Range
from ..table.table_view import DRAG_PIXELS
from .host import Host, PanelPage, Row

TRAY = tuple(str(k) for k in range(1, 16))
TRAY_ROW = 8


class BallButton(Button):
    """A ball of the tray: a click puts it on the table or selects it, a drag takes it where it is let go."""

    def __init__(self, host: Host, name: str) -> None:
        e = host.editor
        super().__init__(f"ball {name}", "" if name == CUE_BALL else name, partial(e.add_ball, name),
                         lambda: name in e.scenario.balls)  # fmt: skip
        self.host, self.name = host, name
        self._pressed_at: Pos = (0, 0)
        self._moved = False

    def press(self, pos: Pos, ui: Ui) -> None:
        """It may become a click or a drag."""
        self._pressed_at, self._moved = pos, False

    def drag(self, pos: Pos, ui: Ui) -> None:
        """Once over the table the ball is in hand as any other."""
        table = self.host.table
        self._moved |= math.dist(pos, self._pressed_at) >= DRAG_PIXELS
        if table.holding:
            table.drag(pos, pygame.key.get_mods())
        elif self.host.on_table(pos):
            table.bring(self.name, pos)

    def release(self, ui: Ui) -> None:
        """Without a movement it was a click."""
        if not self._moved:
            self._go()

    def draw(self, ui: Ui) -> None:
        """The ball in its colour, faint while it is not on the table."""
        colour, stripe = ball_colour(self.key.removeprefix("ball "))
        on = self.on is not None and self.on()
        r = min(self.rect.w, self.rect.h) // 2 - ui.px(2)
        fill = pygame.Color(colour if on else ui.look.raised)
        rim = ui.look.muted if not on and sum(pygame.Color(colour)[:3]) < 120 else colour  # the 8 on a dark panel
        ui.disc(rim, self.rect.center, r)
        if not on or stripe:
            ui.disc(ui.look.panel if not on else IVORY, self.rect.center, round(0.8 * r))
        light = on and not stripe and sum(fill[:3]) < 380
        words = "#ffffff" if light else "#15181a" if on else ui.look.muted
        ui.write(self.text(), self.rect.center, 10.5, words, True, 0.5, 0.5)
        self.ring(ui)


def layout_page(host: Host) -> list[Row]:
    """The rows of the page."""
    e = host.editor
    rows: list[Row] = [
        [Label("tray label", "Balls: drag one onto the table, or click it", 11.5, True)],
        *tray_rows(host),
        [Label("selected", partial(selected_words, host), 13, bold=True)],
        [position_field(host, 0)],
        [position_field(host, 1)],
        ball_row(host),
        *target_rows(host),
        *staging_rows(host),
        [Label("marks label", "Marks for a drill: drag their handles", 11.5, True)],
        [Button(f"add {kind}", kind.capitalize(), partial(e.add_mark, kind)) for kind in ("zone", "arrow", "label")],
    ]
    if e.mark is not None:
        rows.append(mark_row(host))
    return rows


def selected_words(host: Host) -> str:
    """What the fields below are about."""
    e = host.editor
    if e.mark is not None:
        return f"The {e.scenario.marks[e.mark].kind}"
    return f"Ball {e.selected}" if e.selected not in (None, CUE_BALL) else "The cue ball"


def tray_rows(host: Host) -> list[Row]:
    """A button a ball, the cue ball last."""
    balls: Row = [BallButton(host, name) for name in (*TRAY, CUE_BALL)]
    return [balls[:TRAY_ROW], balls[TRAY_ROW:]]


def position_field(host: Host, axis: int) -> Widget:
    """A coordinate of the selected ball, in the person's unit: from the head rail's noses, or from the right rail's."""
    e, unit = host.editor, host.settings.unit
    size = e.scenario.table.surface
    diamond_m = size.length_m / DIAMONDS_LONG if axis == 0 else size.width_m / DIAMONDS_SHORT
    unit_m, step, digits, short = {
        "mm": (0.001, 1.0, 1, "mm"), "inch": (INCH_M, 0.1, 3, "in"), "diamond": (diamond_m, 0.1, 3, "diamonds"),
    }[unit]  # fmt: skip
    beyond = 0.0 if e.mark is None else RAIL_M / unit_m  # marks may lie on the rails
    most = (size.length_m if axis == 0 else size.width_m) / unit_m + beyond

    def get() -> float:
        at = e.scenario.balls[e.selected or CUE_BALL] if e.mark is None else e.scenario.marks[e.mark].at
        return at[axis] / unit_m

    def put(value: float) -> None:
        if e.mark is not None:
            off = round(value * unit_m, 6) - e.scenario.marks[e.mark].at[axis]
            e.move_mark(*((off, 0.0) if axis == 0 else (0.0, off)))
            return
        at = list(e.scenario.balls[e.selected or CUE_BALL])
        at[axis] = round(value * unit_m, 9)
        e.place_ball(e.selected or CUE_BALL, at[0], at[1])

    label = "from head rail" if axis == 0 else "from right rail"
    field = NumberField(f"position {axis}", label, get, put, Range(-beyond, most, step, digits), short, "", host.tell)
    field.units = {name: size_m / unit_m for name, size_m in lengths_m(diamond_m).items()}
    field.note = "from the line of the noses to the centre of the ball or mark"
    return field


def ball_row(host: Host) -> Row:
    """What can be done to the selected ball."""
    e = host.editor

    def one() -> bool:
        return e.selected is not None

    def not_the_cue_ball() -> bool:
        return e.selected not in (None, CUE_BALL)

    return [
        Button("snap", "To diamonds", lambda: host.act("snap"), None, one, "to the nearest half diamond (G)").share(
            1.25
        ),
        Button("freeze", "Freeze", lambda: host.act("freeze"), None, one, "against its nearest neighbour (Z)"),
        Button("remove ball", "Remove", lambda: host.act("remove"), None, not_the_cue_ball, "off the table (Delete)"),
    ]


def target_rows(host: Host) -> list[Row]:
    """Which ball into which pocket."""
    e = host.editor

    def ball() -> str:
        return e.scenario.target.ball if e.scenario.target else "none"

    def pocket() -> str:
        return e.scenario.target.pocket if e.scenario.target else "none"

    def balls() -> list[str]:
        return [n for n in e.scenario.balls if n != CUE_BALL]

    return [
        [Choice("target ball", "pot ball", balls, ball, lambda v: e.set_target(ball=v))],
        [Choice("target pocket", "into", lambda: list(POCKETS), pocket, lambda v: e.set_target(pocket=v),
                shown=lambda v: v.replace("-", " "))],
    ]  # fmt: skip


def staging_rows(host: Host) -> list[Row]:
    """How far the cue ball is from the target ball and how thin the cut is; both can be asked for."""
    e = host.editor

    def told(words: Callable[[], str]) -> Callable[[], str]:
        return lambda: words() if e.scenario.target else "no target ball"

    def put_distance(text: str) -> None:
        distance_m, liked = distance_said(text, e.scenario, host.settings.unit)
        e.stage(distance_m=distance_m, unit=liked)

    def put_cut(text: str) -> None:
        e.stage(cut_deg=cut_said(text, e.scenario), unit=host.settings.unit)

    distance = TextField("staged distance", told(lambda: staged_far(e.scenario, host.settings.unit)), put_distance,
                         label="distance")  # fmt: skip
    distance.note = "centre to centre of cue ball and target ball: 2 ft, 24 in, 60 cm, 1.5 diamonds; the cut stays"
    cut = TextField("staged cut", told(lambda: staged_cut(e.scenario, short=True)), put_cut, label="cut")
    cut.note = "for the pocket's centre: 30 left, 30 degrees, half ball, straight in; the distance stays"
    straight = Button("straight in", "Straight in", partial(put_cut, "straight in"), note="a cut of 0")
    return [[distance], [cut.share(2.2), straight]]


def mark_row(host: Host) -> Row:
    """The words of the selected mark."""
    e = host.editor

    def words() -> str:
        return e.scenario.marks[e.mark].text if e.mark is not None else ""

    return [
        TextField("mark text", words, lambda text: e.set_mark(False, text=text), "words on it",
                  most=longest(Mark, "text")).share(0.72),
        Button("remove mark", "Remove", e.remove_mark).share(0.28),
    ]  # fmt: skip


def _shown(host: Host) -> object:
    return host.settings.unit, host.editor.mark, host.editor.scenario.table.surface


LAYOUT = PanelPage(layout_page, _shown)
