"""The page of the stroke: tip, pace, cue, stroke, butt and aim of the chosen take."""

from __future__ import annotations

import math
from collections.abc import Callable

from tablesim.model.base import longest
from tablesim.model.gear import Cue
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.scene.strike_plate import PATCH
from tablesim.study.stroke import level_deg
from tablesim.study.tips import offset_of_tips, tips_of, tips_words
from tablesim.units import (
    HALF_RADIUS,
    MPH_M_S,
    clock_from_offset,
    english_percent,
    mph_from_m_s,
)

from ..answers.steps import MARKS
from ..controls.dials import PaceRuler, TipFace
from ..controls.fields import Choice, TextField
from ..controls.number_fields import NumberField, Slider
from ..controls.widgets import Button, Label, Widget
from ..numbers import BUTT, PACE, PACE_MPH, Range
from .host import Host, PanelPage, Row


def tip_phrase(scenario: Scenario, take: Take) -> str:
    """Where the tip is, in words and one number; in tips where they are halves or quarters."""
    right, up = take.tip.right, take.tip.up
    if math.hypot(right, up) < 1e-9:
        return "centre ball"
    percent, way = f"{abs(english_percent(right)):.0f} %", "right" if right > 0 else "left"
    tips, tips_up = (tips_words(tips_of(scenario, take, offset)) for offset in (right, up))
    side = f"{tips} {way} english, {percent}" if tips else f"{percent} {way} english"
    height = f"{tips_up + ' ' if tips_up else ''}{'high' if up > 0 else 'low'}"
    return (side if abs(right) >= 0.005 else "no english") + ("" if abs(up) < 0.02 else f", {height}")


def stroke_page(host: Host) -> list[Row]:
    """The rows of the page; with details also every number."""
    details = host.settings.details
    rows: list[Row] = [*take_rows(host), aim_row(host), *overlay_rows(host), [tip_face(host)]]
    rows.append([Label("tip words", lambda: _tip_line(host), 12.5, True, lines=2, term="tip")])
    if details:
        rows += [tip_row(host, False), tip_row(host, True)]
    rows.append([pace_ruler(host)])
    if details:
        rows.append(pace_row(host))
    rows += [[cue_choice(host)], [stroke_choice(host)], [butt_control(host)]]
    if details:
        rows += [[mass_field(host)], [heading_field(host)]]
    return rows


def take_rows(host: Host) -> list[Row]:
    """The take's name; another take, a series of them, or one less."""
    e = host.editor
    name = TextField("take name", lambda: e.take.name, lambda text: e.set_take("name", "name", False, name=text),
                     most=longest(Take, "name"))  # fmt: skip

    def button(key: str, words: str, action: str, note: str) -> Widget:
        return Button(key, words, lambda: host.act(action), note=note)

    return [
        [name],
        [button("new take", "New take", "new_take", "another way of playing this (T)"),
         button("series", "Series…", "series", "many takes like this one (Ctrl T)"),
         button("remove take", "Remove", "remove_take", "remove this take")],
    ]  # fmt: skip


def aim_row(host: Host) -> Row:
    """The two aims that need no dragging."""
    plain, use = (lambda: host.act("plain_aim")), (lambda: host.act("use_correction"))
    return [
        Button("plain aim", "Plain aim", plain, note="at the pocket's centre, knowing no squirt, swerve or throw (O)"),
        Button("use correction", "Use the correction", use, note="the corrected aim becomes the aim (U)").share(1.5),
    ]


def overlay_rows(host: Host) -> list[Row]:
    """What is drawn, and how closely it is looked at."""

    def switch(key: str, words: str, field: str, note: str) -> Widget:
        return Button(key, words, lambda: host.act(key), lambda: bool(getattr(host.editor.shown, field)), note=note)

    closer = Button(
        "closer on shot", "Closer", lambda: host.act("fit_shot" if host.editor.shown.closer is None else "whole_table"),
        lambda: host.editor.shown.closer is not None, note="the part of the table where the shot is (1, 2)",
    )  # fmt: skip
    return [
        [switch("corrected", "Corrected paths", "corrected", "on or off (C)"),
         switch("spin", "Spin", "spin", "sliding, and english left along the way (E)").share(0.6)],
        [closer, switch("lens", "Lenses", "lens", "contact and pocket mouth, enlarged (3)")],
        [switch("whole_ways", "All ways to their ends", "whole_ways", "of all takes, and nothing faint (4)")],
    ]  # fmt: skip


def tip_face(host: Host) -> Widget:
    """The ball's face."""
    e = host.editor

    def patch() -> float:
        return PATCH * e.scenario.cue_of(e.take).tip_radius_m / e.scenario.ball_set.radius_m(CUE_BALL)

    return TipFace(
        "tip face", lambda: (e.take.tip.right, e.take.tip.up), lambda: e.miscue_ring, patch, e.set_tip, e.settle,
        lambda: 96.0 if host.settings.details else 150.0,
    )  # fmt: skip


def _tip_line(host: Host) -> str:
    e = host.editor
    tip = e.take.tip
    slips = ": the tip will slip" if tip.offset > e.miscue_ring else ""
    clock = f", {clock_from_offset(tip.right, tip.up)} o'clock" if host.settings.details and tip.offset > 0 else ""
    return tip_phrase(e.scenario, e.take) + clock + slips


def tip_row(host: Host, up: bool) -> Row:
    """The tip's place to the right, or up, in per cent, tips and millimetres."""
    e = host.editor

    def radius() -> float:
        return e.scenario.ball_set.radius_m(CUE_BALL)

    def tips(offset: float) -> float:
        return tips_of(e.scenario, e.take, offset)

    def from_tips(value: float) -> float:
        return offset_of_tips(e.scenario, e.take, value)

    def field(unit: str, to: Callable[[float], float], back: Callable[[float], float], limits: Range) -> Widget:
        def put(value: float) -> None:
            offset, tip = round(back(value), 6) + 0.0, e.take.tip
            e.set_tip(*((tip.right, offset) if up else (offset, tip.up)))

        def get() -> float:
            return to(e.take.tip.up if up else e.take.tip.right)

        return NumberField(f"{'up' if up else 'right'} {unit}", "", get, put, limits, unit, "tip", host.tell)

    return [
        Label(f"tip label {up}", "up +" if up else "right +", 11.5, True).share(0.8),
        field("%", english_percent, lambda v: HALF_RADIUS * v / 100.0, Range(-150.0, 150.0, 4.0, 0)),
        field("tips", tips, from_tips, Range(-4.0, 4.0, 0.1, 2)).share(1.2),
        field("mm", lambda o: 1000 * o * radius(), lambda v: v / 1000 / radius(), Range(-25.0, 25.0, 0.5, 1)).share(
            1.1
        ),
    ]


def pace_ruler(host: Host) -> Widget:
    """The ruler of the pace."""
    e = host.editor
    return PaceRuler(
        "pace ruler", lambda: e.take.pace_m_s, e.set_pace, e.settle,
        lambda: e.findings.get(MARKS) if e.findings else None, lambda: host.pace_scale, lambda: host.settings.details,
    )  # fmt: skip


def pace_row(host: Host) -> Row:
    """The pace in two units."""
    e = host.editor
    return [
        NumberField("pace", "", lambda: e.take.pace_m_s, e.set_pace, PACE, "m/s", "pace", host.tell),
        NumberField(
            "pace mph", "", lambda: mph_from_m_s(e.take.pace_m_s), lambda v: e.set_pace(v * MPH_M_S), PACE_MPH, "mph",
            "pace", host.tell,
        ),
    ]  # fmt: skip


def cue_choice(host: Host) -> Widget:
    """Which cue."""
    e = host.editor
    return Choice("cue", "cue", lambda: list(e.scenario.cues), lambda: e.scenario.cue_name_of(e.take), e.set_cue, "cue")


def stroke_choice(host: Host) -> Widget:
    """Smooth or jabbed."""
    e = host.editor
    return Choice(
        "stroke", "stroke", lambda: ["smooth", "jab"], lambda: e.take.stroke, e.set_stroke, "stroke",
        lambda v: "jabbed" if v == "jab" else v,
    )  # fmt: skip


def butt_control(host: Host) -> Widget:
    """The butt's elevation: a slider, or a number with details."""
    e = host.editor
    if host.settings.details:
        return NumberField(
            "butt", "butt raised", lambda: level_deg(e.take), e.set_butt, BUTT, "°", "butt", host.tell
        )  # fmt: skip
    return Slider("butt", "butt raised", lambda: level_deg(e.take), e.set_butt, BUTT, e.settle, "butt")


def mass_field(host: Host) -> Widget:
    """The number of the cue that decides its squirt."""
    e = host.editor
    return NumberField(
        "ball to end mass", "ball : end mass", lambda: e.scenario.cue_of(e.take).ball_to_end_mass,
        lambda v: e.set_cue_number("ball_to_end_mass", v), Range.of(Cue, "ball_to_end_mass", 1.0, 1), "", "cue",
        host.tell,
    )  # fmt: skip


def heading_field(host: Host) -> Widget:
    """The cue's heading."""
    e = host.editor
    return NumberField(
        "heading", "heading", lambda: math.degrees(e.heading), lambda v: e.turn_to(math.radians(v)),
        Range(-180.0, 180.0, 0.05, 3), "°", "plain aim", host.tell,
    )  # fmt: skip


STROKE = PanelPage(stroke_page, lambda host: host.settings.details)
