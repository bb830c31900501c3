"""The page of the layout: balls, target and marks."""

from __future__ import annotations

from functools import partial

import pygame

from tablesim.model.base import longest
from tablesim.model.scenario import CUE_BALL
from tablesim.model.shot import Mark
from tablesim.physics.edge import POCKETS
from tablesim.scene.look import IVORY, ball_colour
from tablesim.scene.staged import staged_words
from tablesim.scene.table import RAIL_M
from tablesim.units import DIAMONDS_LONG, DIAMONDS_SHORT, INCH_M

from ..controls.fields import Choice, NumberField, TextField
from ..controls.widgets import Button, Label, Ui, Widget
from ..numbers import Range
from .host import Host, PanelPage, Row

TRAY = tuple(str(k) for k in range(1, 16))
TRAY_ROW = 8


class BallButton(Button):
    """A ball of the tray: on the table or not, a click puts it there or selects it."""

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
        [Label("tray label", "Balls: click one to put it on the table", 11.5, True)],
        *tray_rows(host),
        [Label("selected", partial(selected_words, host), 13, bold=True)],
        [Label("staged", lambda: staged_words(e.scenario, host.settings.unit), 11.5, True, lines=2)],
        [position_field(host, 0)],
        [position_field(host, 1)],
        ball_row(host),
        *target_rows(host),
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
    e = host.editor

    def there(name: str) -> bool:
        return name in e.scenario.balls

    def select(name: str) -> None:
        e.select(name)

    balls: Row = [BallButton(f"ball {n}", n, partial(e.add_ball, n), partial(there, n)) for n in TRAY]
    balls.append(BallButton(f"ball {CUE_BALL}", "", partial(select, CUE_BALL), partial(there, CUE_BALL)))
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
    metres = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": INCH_M, "inches": INCH_M, '"': INCH_M, "d": diamond_m}
    metres |= {"diamond": diamond_m, "diamonds": diamond_m}
    field.units = {name: size_m / unit_m for name, size_m in metres.items()}
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
