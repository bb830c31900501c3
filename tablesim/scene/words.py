"""The trade's words: one-sentence definitions, and how they are said in America and in Britain."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tablesim.study.prediction import EventFinding
from tablesim.units import INCH_M

TERMS = {
    "english": "Sidespin: the tip strikes the cue ball left or right of its centre.",
    "squirt": "The cue ball leaves to the side opposite the english, at once, by an angle that the shaft decides.",
    "swerve": "A cue is never level, so sidespin bends the path back toward the side of the english while the ball"
    " slides.",
    "hop": "A firm stroke with a raised butt bounces the ball off the bed; ticks across its way show where it lands.",
    "scratch": "The cue ball drops in a pocket; a ring struck through marks where.",
    "throw": "Rubbing at the contact of two balls turns the object ball off the line of centres.",
    "throw from the cut": "Throw made by the cue ball sliding across the object ball on a cut.",
    "throw from side": "Throw made by sidespin: left english throws the object ball to the right.",
    "pace": "How fast the same stroke would send the ball on a level, centre hit.",
    "tip": "Where the cue touches the ball, seen along the cue; 100 % of side is half-way from centre to edge.",
    "miscue ring": "Beyond this ring an ordinary chalked tip slips off the ball.",
    "butt": "How many degrees the back of the cue is raised; a rail is always in the way, so never quite 0.",
    "stroke": "Smooth, or jabbed: a short punch that many players say squirts more.",
    "cue": "A shaft with a light end squirts less; the number is ball mass over the mass of the shaft's end.",
    "ghost ball": "Where the cue ball stands at the moment it touches the object ball.",
    "aim": "Where the plain line of your aim crosses the pocket's mouth.",
    "in all": "Where the ball crosses the pocket's mouth; the band behind the bars is as wide as the mouth.",
    "off line": "How far from the cue's line the cue ball is when it comes level with the object ball.",
    "correction": "How far the aim must move off the plain line for the ball to reach the pocket's heart.",
    "plain aim": "The line that would be right without squirt, swerve and throw.",
    "dead weight": "The pace that just brings the object ball into the pocket.",
    "neutral pace": "The pace at which squirt, swerve and throw cancel, so that the plain aim is right.",
    "window": "The range of headings that still pot the ball.",
    "inside": "English on the side toward which the object ball is cut.",
    "outside": "English on the side away from the cut.",
    "condition": "How much the balls rub on each other: 1 is clean, more when dirty or worn.",
    "friction law": "How balls rub: less the faster they slide on each other, or always alike; measurements disagree.",
    "diamond": "One eighth of the table's length; the sights on the rails mark them.",
    "take": "One way of playing this layout: a cue, a tip position, a pace and an aim.",
    "zone": "Where the cue ball is meant to stop.",
    "former shot": "The shot before your last change, kept as a faint trace.",
    "lag": "The pace of a lag: down to the foot rail and back to the head rail.",
}

BRITISH = {
    "english": "side", "throw from side": "throw from side", "object ball": "object ball", "rail": "cushion",
    "rails": "cushions", "draw": "screw", "follow": "top", "scratch": "in-off", "sidespin": "side",
}  # fmt: skip


MILLIMETRES = re.compile(r"\b(\d+(?:\.\d+)?) mm\b")


def in_unit(text: str, unit: str) -> str:
    """The same words with their millimetres as inches where a person counts in those ("inch"), or unchanged."""
    if unit != "inch":
        return text
    return MILLIMETRES.sub(lambda found: f"{float(found[1]) / 1000.0 / INCH_M:.1f} in", text)


def said(text: str, british: bool) -> str:
    """The same words as said in Britain, or unchanged."""
    if not british:
        return text
    text = text.replace("on the side of the english", "to the same side").replace(
        "opposite the english", "opposite the side"
    )
    for american, other in BRITISH.items():
        text = re.sub(rf"\b{american}\b", other, text)
        text = re.sub(rf"\b{american.capitalize()}\b", other.capitalize(), text)
    return text


def events_words(events: Sequence[EventFinding]) -> str:
    """What happens at one moment: "0.220 s: the cue ball meets ball 3"."""
    return f"{events[0].time_s:.3f} s: " + "; ".join(_event_words(event) for event in events)


def _event_words(event: EventFinding) -> str:
    first, *others = ("the cue ball" if name == "cue" else f"ball {name}" for name in event.balls)
    does = {
        "meets": f"meets {' '.join(others)}", "cushion": f"meets the {event.where}", "potted": f"drops, {event.where}",
        "rolls": "slides no more: it rolls", "stops": "stops", "spin ends": "has no sidespin left",
    }  # fmt: skip
    return f"{first} {does[event.what]}"
