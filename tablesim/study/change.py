"""What one change does to a shot, in a line: what was changed, the target ball and the aim before and after."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import takewhile
from typing import Any

from tablesim.model.base import Model
from tablesim.model.gear import CLOTHS, CONDITIONS, RAILS
from tablesim.model.scenario import CUE_BALL, Scenario
from tablesim.model.shot import Take
from tablesim.units import english_percent

from .answer import Answer
from .correct import Correction
from .reading import correction_words
from .stroke import level_deg
from .went import place_words, side_word

UNITS = (("_rad_s2", " rad/s²"), ("_s_m", " s/m"), ("_m_s", " m/s"), ("_deg", "°"), ("_kg", " kg"), ("_m", " m"))


def change_words(before: Scenario, was: Answer, after: Scenario, now: Answer) -> str:
    """The line about two answers, each to its scenario; empty if nothing that matters differs."""
    what = [*_stroke(before, was, after, now), *_layout(before, after), *_gear(before, after)]
    if not what:
        return ""
    words = ", ".join(what)
    told = [f"{words[:1].upper()}{words[1:]}."]
    if after.target is not None and before.target is not None:
        told.append(f"Ball {after.target.ball} {_arrow(fate(was), fate(now))}.")
        if was.correction is not None and now.correction is not None:
            told.append(f"Correction {_arrow(_aim(was.correction), _aim(now.correction))}.")
    return " ".join(told)


def fate(answer: Answer) -> str:
    """What becomes of the target ball, and where it crosses the mouth line of its pocket."""
    if answer.aimed is None:
        return "has no line of aim"
    return place_words(answer.aimed.target)


def _aim(correction: Correction) -> str:
    return "none" if correction.reason is not None else correction_words(correction).removeprefix("corrected ")


def _arrow(was: str, now: str) -> str:
    """Before and after; the words with which both begin are said once."""
    if was == now:
        return f"still {now}"
    same = takewhile(lambda pair: pair[0] == pair[1], zip(was.split(), now.split(), strict=False))
    return f"{was} → {' '.join(now.split()[len(list(same)) :])}"


def _number(name: str, was: float, now: float) -> str:
    """A number of a model, its name and unit read off its field's name."""
    suffix, unit = next(((s, u) for s, u in UNITS if name.endswith(s)), ("", ""))
    return f"{name.removesuffix(suffix).replace('_', ' ')} {was:.4g} → {now:.4g}{unit}"


def _stroke(before: Scenario, was: Answer, after: Scenario, now: Answer) -> list[str]:
    """What differs in the way the takes are played."""
    old, new = was.take, now.take
    told = []
    if old.pace_m_s != new.pace_m_s:
        told.append(_number("pace_m_s", old.pace_m_s, new.pace_m_s))
    if old.tip.right != new.tip.right:
        told.append(
            f"english {percent_words(old.tip.right, 'right', 'left')} → {percent_words(new.tip.right, 'right', 'left')}"
        )
    if old.tip.up != new.tip.up:
        told.append(f"tip {percent_words(old.tip.up, 'high', 'low')} → {percent_words(new.tip.up, 'high', 'low')}")
    if level_deg(old) != level_deg(new):
        told.append(f"butt {level_deg(old):.4g} → {level_deg(new):.4g}°")
    if old.stroke != new.stroke:
        told.append(f"stroke {old.stroke} → {new.stroke}")
    if old.aim != new.aim:
        told.append(_turn(was, now))
    return told + _cue(before, old, after, new)


def percent_words(offset: float, more: str, less: str) -> str:
    """How far off centre the tip strikes [ball radii], and to which side; a word where it is not off."""
    percent = round(english_percent(abs(offset)))
    return f"{percent} % {more if offset > 0.0 else less}" if percent else "none" if more == "right" else "centre"


def _turn(was: Answer, now: Answer) -> str:
    """How far the cue's line has been turned."""
    lines = [a.aimed.launch.heading_deg for a in (was, now) if a.aimed is not None and a.aimed.launch is not None]
    if len(lines) < 2:
        return "another aim"
    turn = math.remainder(lines[1] - lines[0], 360.0)
    return f"cue turned {abs(turn):.2f}° {side_word(turn)}"


def _cue(before: Scenario, old: Take, after: Scenario, new: Take) -> list[str]:
    names = before.cue_name_of(old), after.cue_name_of(new)
    if names[0] != names[1]:
        return [f"cue {names[0]} → {names[1]}"]
    return cue_words(names[0], before, after)


def _layout(before: Scenario, after: Scenario) -> list[str]:
    """Balls that lie elsewhere, came or went; another target."""
    was, now = before.balls, after.balls
    moved = [n for n in now if n in was and was[n] != now[n]]
    told = [moved_words(n, before, after) for n in moved] if len(moved) < 3 else [f"{len(moved)} balls moved"]
    told += [f"{_ball(n)} added" for n in now if n not in was] + [f"{_ball(n)} removed" for n in was if n not in now]
    if before.target != after.target and before.target and after.target:
        ways = [f"ball {t.ball} to {t.pocket.replace('-', ' ')}" for t in (before.target, after.target)]
        told.append(" → ".join(ways))
    return told


def _ball(name: str) -> str:
    return "cue ball" if name == CUE_BALL else f"ball {name}"


def _gear(before: Scenario, after: Scenario) -> list[str]:
    """What differs in table, cloth, rails and balls."""
    return [words for part in GEAR_WORDS for words in gear_words(part, before, after)]


GEAR_WORDS = {"table": "table", "cloth": "cloth", "rails": "rails", "ball_set": "balls"}  # by parts of a scenario


def gear_words(part: str, before: Scenario, after: Scenario) -> list[str]:
    """What differs in a part of the gear, in words; nothing if it does not."""
    conditions = {name: before.ball_set.model_copy(update={"condition": v}) for name, v in CONDITIONS.items()}
    presets: dict[str, Mapping[str, Model]] = {"cloth": CLOTHS, "rails": RAILS, "ball_set": conditions}
    return _part(GEAR_WORDS[part], getattr(before, part), getattr(after, part), presets.get(part, {}))


def cue_words(cue: str, before: Scenario, after: Scenario) -> list[str]:
    """What differs in a cue that both have, in words."""
    return _part(f"cue {cue}", before.cues[cue], after.cues[cue], {})


def moved_words(ball: str, before: Scenario, after: Scenario) -> str:
    """How far a ball that both have lies from where it was."""
    return f"{_ball(ball)} moved {1000.0 * math.dist(before.balls[ball], after.balls[ball]):.0f} mm"


def _part(word: str, was: Model, now: Model, presets: Mapping[str, Model]) -> list[str]:
    """A piece of gear by the names of its presets, else by the number in which it differs."""
    if was == now:
        return []
    names = [next((name for name, known in presets.items() if known == one), None) for one in (was, now)]
    if all(names):
        return [f"{word} {names[0]} → {names[1]}"]
    pairs: dict[str, tuple[Any, Any]] = {f: (getattr(was, f), getattr(now, f)) for f in type(was).model_fields}
    differ = {f: pair for f, pair in pairs.items() if pair[0] != pair[1]}
    if len(differ) > 1:
        return [f"other {word}"]
    ((name, (old, new)),) = differ.items()
    if all(isinstance(value, float) for value in (old, new)):
        return [f"{word}, {_number(name, old, new)}"]
    if all(isinstance(value, str) for value in (old, new)):
        return [f"{word}, {name.replace('_', ' ')} {old} → {new}"]
    return [f"other {word}"]
