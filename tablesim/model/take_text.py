"""How a take is played, in the words of a layout's text: 60 % left, 20 % low, jabbed, hard, 4.5 m/s.

It says all of a take but its cue.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from tablesim.errors import ScenarioError
from tablesim.units import HALF_RADIUS, PACES_SAID, english_percent, number_of, pace_word

from .shot import Aim, Take

SIDES = {"left": -1.0, "right": 1.0}
HEIGHTS = {"low": -1.0, "high": 1.0}
BETWEEN = re.compile(r"\s*;\s*|,\s+")  # not the comma of 1,9 m/s
AMOUNT = r"([+\u2212-]?\d{1,9}(?:[.,]\d{0,9})?)"


def take_words(take: Take) -> str:
    """Tip and pace, and what else is unlike an ordinary plain stroke, to two decimals."""
    right, up = (round(english_percent(offset), 2) for offset in (take.tip.right, take.tip.up))
    said = [f"{abs(right):g} % {'right' if right > 0.0 else 'left'}"] if right else []
    said += [f"{abs(up):g} % {'high' if up > 0.0 else 'low'}"] if up else []
    said = said or ["centre ball"]
    said += ["jabbed"] if take.stroke == "jab" else []
    said += [pace_word(take.pace_m_s), f"{take.pace_m_s:.4g} m/s"]
    said += [f"butt {round(take.elevation_deg, 2):g}°"] if take.elevation_deg is not None else []
    return ", ".join([*said, *_aim_words(take.aim)])


def _aim_words(aim: Aim) -> list[str]:
    if aim.heading_deg is not None:
        return [f"heading {round(aim.heading_deg, 2) + 0.0:g}°"]
    if aim.corrected:
        return ["corrected aim"]
    offset = round(aim.offset_mm or 0.0, 1)
    return [f"aim {abs(offset):g} mm {'left' if offset > 0.0 else 'right'}"] if offset else []


Fields = dict[str, Any]
SAID: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], Fields]], ...] = (
    (re.compile(r"cent(?:re|er)(?: ball)?"), lambda m: {"right": 0.0, "up": 0.0}),
    (re.compile(AMOUNT + r"\s*% (left|right)(?: english)?"), lambda m: {"right": _offset(m[1], SIDES[m[2]])}),
    (re.compile(AMOUNT + r"\s*% (low|high)"), lambda m: {"up": _offset(m[1], HEIGHTS[m[2]])}),
    (re.compile(r"jab(?:bed)?"), lambda m: {"stroke": "jab"}),
    (re.compile(r"smooth"), lambda m: {"stroke": "smooth"}),
    (re.compile("|".join(PACES_SAID)), lambda m: {"pace_word": m[0]}),
    (re.compile(AMOUNT + r"\s*m/s"), lambda m: {"pace_m_s": number_of(m[1])}),
    (re.compile(r"butt " + AMOUNT + r"\s*°?"), lambda m: {"elevation_deg": number_of(m[1])}),
    (re.compile(r"heading " + AMOUNT + r"\s*°?"), lambda m: {"aim": {"heading_deg": number_of(m[1])}}),
    (re.compile(r"corrected aim"), lambda m: {"aim": {"corrected": True}}),
    (re.compile(r"plain aim"), lambda m: {"aim": {"toward": "pocket"}}),
    (
        re.compile(r"aim " + AMOUNT + r"\s*mm (left|right)"),
        lambda m: {"aim": {"toward": "pocket", "offset_mm": -SIDES[m[2]] * number_of(m[1])}},
    ),
)


def _offset(percent: str, sign: float) -> float:
    return round(sign * HALF_RADIUS * number_of(percent) / 100.0, 9) + 0.0


def read_take(name: str, words: str, known: Take | None) -> Take:
    """The take of those words, with the cue of ``known``, which is kept exactly where its own words are these.

    ScenarioError in plain words if they are not understood or break a rule.
    """
    if known is not None and take_words(known) == words:
        return known
    said: Fields = {"right": 0.0, "up": 0.0}
    for piece in BETWEEN.split(" ".join(words.split())):
        said |= _read_piece(piece)
    pace = PACES_SAID.get(said.pop("pace_word", ""))
    if pace is None and "pace_m_s" not in said:
        raise ScenarioError("says no pace, such as soft or 1.9 m/s")
    cue = {} if known is None or known.cue is None else {"cue": known.cue}
    tip = {"right": said.pop("right"), "up": said.pop("up")}
    return Take.model_validate({"name": name, "pace_m_s": pace, "tip": tip, **cue, **said})


def _read_piece(piece: str) -> Fields:
    for pattern, fields in SAID:
        if found := pattern.fullmatch(piece.lower()):
            return fields(found)
    rule = "must be said as 60 % left, 20 % low, centre ball, jabbed, soft, 1.9 m/s, butt 6°"
    raise ScenarioError(f"{rule}; got {piece[:40]!r}")
