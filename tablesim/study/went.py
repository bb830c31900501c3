"""How a shot went, in words: the one place from which tables, sentences, sheets and clips have them."""

from __future__ import annotations

from tablesim.model.scenario import CUE_BALL, Scenario

from .landing import landing_sentence
from .prediction import CueBallFinding, EventFinding, Prediction, TargetFinding


def side_word(value: float) -> str:
    """left for +, right for -."""
    return "left" if value > 0.0 else "right"


def spoken_pocket(pocket: str) -> str:
    """A pocket as it is said: foot-left is the left foot pocket."""
    end, side = pocket.split("-")
    return f"the {side} {end} pocket"


def across(mm: float) -> str:
    """Where a ball crosses the mouth line: 12 mm left, at the centre."""
    return f"{abs(mm):.0f} mm {side_word(mm)}" if abs(mm) >= 0.5 else "at the centre"


def fate_words(target: TargetFinding) -> str:
    """What becomes of the target ball: goes in off the far jaw, misses, stops short, drops in another pocket."""
    if target.outcome == "potted":
        return " ".join(("goes in", ", ".join(target.by))).strip()
    if target.pocket is not None:
        return f"drops in {spoken_pocket(target.pocket)}"
    return {
        "blocked": f"is blocked by ball {target.blocked_by}",
        "not_reached": "is not reached",
        "miscue": "stays: miscue",
        "out_of_reach": "stays: the cue cannot strike there",
        "missed": "stops short" if target.short else "misses",
    }.get(target.outcome or "", "")


def place_words(target: TargetFinding) -> str:
    """The same, and where it crosses the mouth line of its pocket, if it comes there straight."""
    words = fate_words(target)
    straight = target.outcome == "potted" or (target.outcome == "missed" and not target.short)
    if target.miss_mm is None or not straight or target.by or (target.outcome == "missed" and target.pocket):
        return words
    return f"{words}, {across(target.miss_mm)}"


def scratch_words(cue_ball: CueBallFinding) -> str:
    """That the cue ball drops, and where; empty if it does not."""
    return f"the cue ball drops in {spoken_pocket(cue_ball.pocket)}: a scratch" if cue_ball.pocket else ""


def scratch_sentence(aimed: Prediction | None, corrected: Prediction | None) -> str:
    """The scratches of a take as aimed and, where that is another shot, as corrected; empty for none."""
    now, then = (scratch_words(p.cue_ball) if p is not None else "" for p in (aimed, corrected))
    if now and then == now:
        return f"{now[:1].upper()}{now[1:]}, corrected, too."
    told = f"{now[:1].upper()}{now[1:]}." if now else ""
    return " ".join(filter(None, (told, f"Corrected, {then}." if then else "")))


def outcome_words(scenario: Scenario, found: Prediction) -> str:
    """What became of a shot: its ball, a scratch, and whether the cue ball stops in a zone if there is one.

    Without a target ball: the balls that drop.
    """
    if scenario.target is not None:
        told = [f"ball {scenario.target.ball} {place_words(found.target)}"]
    else:
        track = found.track
        names = [n for i, n in enumerate(scenario.ball_names) if i and track is not None and track.potted_in(i)]
        told = [f"{'balls' if len(names) > 1 else 'ball'} {', '.join(names)} in"] if names else []
    landing = landing_sentence(found.zones).removesuffix(".")
    told.append(scratch_words(found.cue_ball) or landing[:1].lower() + landing[1:])
    words = "; ".join(filter(None, told))
    return words[:1].upper() + words[1:]


def event_label(event: EventFinding) -> str:
    """An event beside a tick, as short as can be: meets 3, left rail, 3 drops; of the cue ball where none is named."""
    first, *others = event.balls
    does = {"meets": f"meets {' '.join(others)}", "cushion": event.where or "", "potted": "drops"}
    told = does.get(event.what, event.what)
    return told if first == CUE_BALL else f"{first} {told}"
