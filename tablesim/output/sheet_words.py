"""What a practice sheet says, as words and figures: pure, no page."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from tablesim.errors import AimImpossible
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.physics.aim import turn_within
from tablesim.study.answer import Answer, answer_take
from tablesim.study.correct import Correction
from tablesim.study.explain import explain_take
from tablesim.study.hops import hop_sentence
from tablesim.study.landing import landing_sentence, zones_of
from tablesim.study.prediction import Prediction
from tablesim.study.reading import CENTRE_MM
from tablesim.study.refusal import unplayed_words
from tablesim.study.setup import plain_cut
from tablesim.study.stroke import line_before, miscues
from tablesim.study.went import fate_words, scratch_sentence, side_word
from tablesim.units import (
    DIAMONDS_LONG,
    INCH_M,
    clock_from_offset,
    diamonds_from_m,
    english_percent,
    mph_from_m_s,
    number,
    pace_word,
    tips_from_offset,
)

STRAIGHT_DEG = 2.0  # a cut less than this is neither thick nor thin
DIRECT_DEG = 10.0  # a heading nearer than this to the direct aim is meant to be direct
ZONE_LETTERS = 18  # of a zone's words in the list of places
SOFT_M_S = 0.05  # how closely the softest pace is found
CAUTION = (
    "A model is a guide: it knows this cloth, these balls and this cue only as far as its numbers do. Check every shot"
    " on your own table. House rules and a licensed coach's word go first."
)
SIGNS = (
    "Turn: of the cue, from the plain aim at the pocket's centre. Aim: where the new plain line crosses its mouth."
    " Left +, right −, as the balls travel. Side: of the english on which to aim. Window: the aims that pot. Bridge:"
    " from the ball, for a pivot by the back hand from centre ball; - where there is none."
)
LONGEST_BRIDGE_M = 0.5  # that a hand can make; common practice, no source
LONG_BRIDGE = " A bridge longer than about half a metre cannot be made: no pivot does it there."


@dataclass(frozen=True, eq=False)
class Told:
    """A take and what a sheet says of it.

    ``number`` is its place on the sheet, from 1; ``cushions`` how many the cue
    ball meets first where it is meant to come by them, else 0.
    """

    number: int
    take: Take
    answer: Answer
    sentence: str
    watch: str
    cushions: int


def told_takes(scenario: Scenario, takes: list[Take]) -> list[Told]:
    """Every take answered and put in words."""
    found = []
    for k, take in enumerate(takes, 1):
        answer = answer_take(scenario, take)
        cushions = by_cushions(answer)
        sentence = _sentence(scenario, answer, cushions)
        remarks = _remarks_as_played(answer.aimed) if cushions and answer.aimed else answer.remarks
        watch = " ".join(filter(None, (watch_line(scenario, answer), remarks)))
        found.append(Told(k, take, answer, sentence, watch, cushions))
    return found


def _remarks_as_played(aimed: Prediction) -> str:
    """:attr:`Answer.remarks` of a shot for which no correction is told."""
    told = (scratch_sentence(aimed, None), landing_sentence(aimed.zones), hop_sentence(aimed.hop))
    return " ".join(filter(None, told))


def by_cushions(answer: Answer) -> int:
    """Cushions that the cue ball meets before any ball, where its stated heading is far from the direct aim's."""
    heading, aimed = answer.take.aim.heading_deg, answer.aimed
    if heading is None or aimed is None or aimed.track is None:
        return 0
    direct = answer.correction.heading_deg if answer.correction else None
    if direct is not None and abs(math.degrees(turn_within(math.radians(heading - direct)))) < DIRECT_DEG:
        return 0
    mine = [ev.kind for ev in aimed.track.events if ev.kind != "phase" and 0 in (ev.first, ev.second)]
    return len(list(itertools.takewhile(lambda kind: kind == "edge", mine)))


def _sentence(scenario: Scenario, answer: Answer, cushions: int) -> str:
    take = answer.take
    if answer.correction is None or cushions:
        return _played(scenario, take, answer, cushions)
    try:
        return explain_take(scenario, take, answer.correction, answer.aimed).reading
    except AimImpossible as trouble:
        return f"{str(trouble)[:1].upper()}{str(trouble)[1:]}."


def _played(scenario: Scenario, take: Take, answer: Answer, cushions: int) -> str:
    right = take.tip.right
    english = "No english" if abs(right) < 1e-9 else f"{'Right' if right > 0 else 'Left'} english"
    told = f"{english} at {pace_word(take.pace_m_s)} pace ({take.pace_m_s:.1f} m/s)"
    aimed = answer.aimed
    if aimed is None or aimed.launch is None:
        return f"{told}: {answer.trouble or unplayed_words(scenario, take, line_before(scenario, take))}."
    if aimed.contact is None:
        return f"{told}: the cue ball meets no ball" + (f" but {_cushions(cushions)}." if cushions else ".")
    if cushions:
        return f"{told}: the cue ball goes by {_cushions(cushions)} to ball {aimed.contact.ball}."
    off = aimed.contact.off_line_mm
    where = "on the cue's line" if abs(off) < 0.5 else f"{abs(off):.0f} mm {side_word(off)} of the cue's line"
    return f"{told}: the cue ball meets ball {aimed.contact.ball}, {where}."


def _cushions(count: int) -> str:
    return "a cushion" if count == 1 else f"{count} cushions"


def aim_words(scenario: Scenario, take: Take) -> str:
    """Where the take's aim points: at the pocket, or at a place on a rail in diamonds."""
    if take.aim.corrected:
        return "Aimed as corrected"
    if take.aim.heading_deg is None:
        off = take.aim.offset_mm or 0.0
        return "Aimed " + (f"{abs(off):.0f} mm {side_word(off)} of" if off else "at") + " the pocket's centre"
    u = (math.cos(math.radians(take.aim.heading_deg)), math.sin(math.radians(take.aim.heading_deg)))
    start, size = scenario.balls[CUE_BALL], scenario.table.surface
    ways = []
    for k, end, low, high in ((0, size.length_m, "head", "foot"), (1, size.width_m, "right", "left")):
        if abs(u[k]) > 1e-9:
            reach = ((end if u[k] > 0.0 else 0.0) - start[k]) / u[k]
            ways.append((reach, k, high if u[k] > 0.0 else low))
    reach, k, rail = min(ways)
    along = diamonds_from_m(start[1 - k] + reach * u[1 - k], size.length_m)
    return f"Point the cue at the {rail} rail, {along:.1f} diamonds from the {('right', 'head')[k]} rail"


def cut_deg(scenario: Scenario) -> float | None:
    """Cut [deg] of the plain aim at the pocket's centre, left +; None without a target."""
    return None if scenario.target is None else math.degrees(plain_cut(scenario))


def thickness(cut: float | None, miss_mm: float) -> str:
    """thin or thick for a miss [mm, left +] on that cut [deg, left +]; empty on a straight shot."""
    if cut is None or abs(cut) < STRAIGHT_DEG or abs(miss_mm) < CENTRE_MM:
        return ""
    return "thin" if (cut > 0.0) == (miss_mm > 0.0) else "thick"


def watch_line(scenario: Scenario, answer: Answer) -> str:
    """What the stated aim does with both balls, in a line."""
    aimed = answer.aimed
    if aimed is None or miscues(scenario, answer.take):
        return ""
    target, end = aimed.target, aimed.cue_ball
    words = f"{aim_words(scenario, answer.take)}: "
    if target.ball is None:
        words += "the balls run as drawn"
    elif target.outcome not in ("potted", "missed") or target.by or (target.pocket and target.outcome == "missed"):
        words += f"ball {target.ball} {fate_words(target)}"
    else:
        words += f"ball {target.ball} {fate_words(target)}{', its line' if target.short else ''}"
        words += _at(scenario, target.miss_mm)
    if end.pocket or end.end_m is None:
        return words + "."
    length = scenario.table.surface.length_m
    x, y = (diamonds_from_m(v, length) for v in end.end_m)
    return f"{words}; the cue ball stops at {x:.1f} / {y:.1f} diamonds."


def _at(scenario: Scenario, miss_mm: float | None) -> str:
    if miss_mm is None:
        return ""
    if abs(miss_mm) < CENTRE_MM:
        return " in the centre"
    thick = thickness(cut_deg(scenario), miss_mm)
    return f" {abs(miss_mm):.0f} mm {side_word(miss_mm)} of centre" + (f", {thick}" if thick else "")


def figure(value: float | None, digits: int = 1, sign: bool = False) -> str:
    """A number as it is printed: with a true minus sign; - where there is none."""
    return number(value, digits, sign) if value is None else number(value, digits, sign).replace("-", "−")


def position_rows(scenario: Scenario) -> list[list[str]]:
    """Ball, or zone with its radius: diamonds and millimetres from the head rail's and from the right rail's nose."""
    named_places = [("cue ball" if name == CUE_BALL else name, scenario.balls[name]) for name in scenario.ball_names]
    for k, zone in enumerate(zones_of(scenario), 1):
        name = page_name(zone.text) or str(k)
        named_places.append((f"zone {name}, radius {figure(1000.0 * (zone.radius_m or 0.0), 1)} mm", zone.at))
    length = scenario.table.surface.length_m
    return [
        [name, *(figure(diamonds_from_m(v, length), 2) for v in at), *(figure(1000.0 * v, 1) for v in at)]
        for name, at in named_places
    ]


def page_name(text: str) -> str:
    """A zone's words, so short that its radius can stand beside them."""
    words = " ".join(text.split())
    return words if len(words) <= ZONE_LETTERS else words[: ZONE_LETTERS - 1].rstrip() + "…"


def correction_row(k: int, take: Take, c: Correction) -> list[str]:
    """A take's correction in the figures of the command line."""
    return [str(k), c.take, c.cue, f"{take.pace_m_s:.2f}", *correction_figures(c)]


def correction_figures(c: Correction) -> list[str]:
    """Turn [deg], aim [mm], side, window [mm] and bridge [m] of a correction."""
    return [
        figure(c.turn_deg, 3, sign=True), figure(c.aim_offset_mm, 1, sign=True), c.relative_to_english,
        figure(c.window_mm, 1), figure(c.bridge_m, 2),
    ]  # fmt: skip


def signs(told: list[Told]) -> str:
    """What the figures of the takes' corrections mean, and that a long bridge among them cannot be made."""
    found = [t.answer.correction.bridge_m for t in told if t.answer.correction is not None]
    return SIGNS + (LONG_BRIDGE if any(length is not None and length > LONGEST_BRIDGE_M for length in found) else "")


def correction_note(told: Told) -> str:
    """What else is to be known of a take's correction; empty if nothing is."""
    found = told.answer.correction
    notes = [found.reason or found.warning] if found is not None else []
    return "; ".join(filter(None, [*notes, "the direct aim; this take goes by the cushions" if told.cushions else ""]))


def tip_lines(scenario: Scenario, take: Take) -> list[str]:
    """Where the tip strikes: per cent of full side, tips, clock; and whether it holds."""
    right, up = take.tip.right, take.tip.up
    cue, radius = scenario.cue_of(take), scenario.ball_set.radius_m(CUE_BALL)
    lines = []
    for value, more, less in ((right, "right", "left"), (up, "follow", "draw")):
        if abs(value) > 1e-9:
            tips = tips_from_offset(abs(value), radius, cue.tip_radius_m, cue.tip_diameter_m)
            lines.append(f"{english_percent(abs(value)):.0f} % {more if value > 0 else less}, {tips:.1f} tips")
    clock = clock_from_offset(right, up)
    lines.append("centre ball" if clock == "centre" else f"{clock} on the clock")
    if miscues(scenario, take):
        lines.append("beyond the ring: slips")
    return lines


def pace_line(take: Take) -> str:
    """The pace in words, metres a second and miles an hour."""
    return f"{pace_word(take.pace_m_s)}: {take.pace_m_s:.2f} m/s, {mph_from_m_s(take.pace_m_s):.1f} mph"


def gear_line(scenario: Scenario) -> str:
    """The table and what on it is decisive, in a line."""
    size, table = scenario.table.surface, scenario.table
    what = f"{table.size[0]}-foot table" if isinstance(table.size, str) else "Table"
    pockets = f"{table.pockets} pockets" if isinstance(table.pockets, str) else "pockets of its own"
    corner = 1000.0 * table.pocket_set.corner_mouth_m
    diamond = size.length_m / DIAMONDS_LONG
    return (
        f"{what}, {1000 * size.length_m:.0f} × {1000 * size.width_m:.0f} mm from nose to nose; one diamond is"
        f" {1000 * diamond:.1f} mm ({diamond / INCH_M:.1f} in); {pockets}, corner mouths {corner:.0f} mm. Cloth:"
        f" sliding friction {scenario.cloth.sliding_friction:g}, rolling resistance"
        f" {scenario.cloth.rolling_resistance:g}."
        f" Balls: {1000 * scenario.ball_set.diameter_m:.2f} mm, condition {scenario.ball_set.condition:g}."
    )


def named(numbers: list[int]) -> str:
    """Takes by number: "take 2", "takes 1 to 3 and 5"."""
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    parts = [f"{r[0]} to {r[-1]}" if len(r) > 2 else " and ".join(map(str, r)) if len(runs) == 1 else
             ", ".join(map(str, r)) for r in runs]  # fmt: skip
    said = parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]
    return f"take {said}" if len(numbers) == 1 else f"takes {said}"
