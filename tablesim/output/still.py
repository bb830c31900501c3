"""A still picture of a scenario: PNG of any size, or SVG of the same shapes.

A caption, and the names of several takes, stand in a strip under the table.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tablesim.errors import TablesimError, unknown_name
from tablesim.model.scenario import Scenario
from tablesim.model.whole import by_suffix, write_whole
from tablesim.scene.closer import about_shot, on_table
from tablesim.scene.look import LOOKS, PAPER, TAKES_TOGETHER, Look
from tablesim.scene.picture import ground_scene, lively_scene, paths_scene, under_scene
from tablesim.scene.shapes import Box
from tablesim.scene.shot import Shown
from tablesim.scene.strike_plate import played_words, strike_scene
from tablesim.study.answer import Answer, answer_take

from .face import face_frame, stroke_room
from .plate import Layer, Plate, layered, lettered, names_of, painted, plate
from .strip import Below, TakeWords
from .svg import svg_text

SIZE = (1920, 1080)
SMALLEST, LARGEST = 64, 8192  # pixels each way
MOST_GROWTH = 100


@dataclass(frozen=True)
class StillWishes:
    """How a still is wanted.

    ``size`` in pixels, 64 to 8192 each way; ``takes``: names of the takes to
    show, the first one chosen (None: the scenario's first); ``corrected``: with
    the corrected ways; ``spin``: with the sliding and the sidespin left along the
    chosen take's; ``growth``: the distance off the cue's line instead, so many
    times as large (0 to 100); ``whole_ways``: no way faint or left out;
    ``stroke``: with tip, pace and cue of the takes under the table;
    ``closer``: SHOT, or the part of the table that is looked at, as its corners
    (x0, y0, x1, y1) [m]; ``lens``: contact and pocket mouth enlarged.

    The look "paper" is made to be printed with the longer side 180 mm long, as
    the file says: letters of 10 points, 14 in an upright picture, and lines in points.
    """

    size: tuple[int, int] = SIZE
    takes: Sequence[str] | None = None
    look: str = "evening"
    caption: str | None = None
    corrected: bool = True
    spin: bool = False
    growth: int = 0
    whole_ways: bool = False
    stroke: bool = False
    closer: Box | Literal["shot"] | None = None
    lens: bool = False


def still(scenario: Scenario, out_path: str, wishes: StillWishes = StillWishes()) -> None:
    """Write the picture of a scenario at rest to a .png or .svg.

    TablesimError says what is wrong and how to mend it; nothing is written then.

    >>> wishes = ts.StillWishes(size=(640, 400), takes=["wood, hard"])
    >>> ts.still(ts.open_scenario("two-cues"), "two-cues.png", wishes)
    """
    w = wishes
    write = by_suffix(out_path, {".png": _png, ".svg": svg_text})
    check_size(w.size, LARGEST)
    colours = look_named(w.look)
    if not 0 <= w.growth <= MOST_GROWTH:
        raise TablesimError(f"growth: must be 0 (off) to {MOST_GROWTH}; got {w.growth}")
    takes = take_places(scenario, w.takes)
    answers = {i: answer_take(scenario, scenario.takes[i]) for i in takes}
    for i in takes if w.takes else ():
        if answers[i].aimed is None and answers[i].corrected is None:
            raise TablesimError(f"take {scenario.takes[i].name!r} cannot be shown: {answers[i].trouble}")
    shown = Shown(
        chosen=takes[0] if takes else 0, takes=takes, corrected=w.corrected, spin=w.spin, growth=w.growth,
        whole_ways=w.whole_ways, closer=part_wanted(scenario, answers, w.closer), lens=w.lens,
    )  # fmt: skip
    played = [scenario.takes[i] for i in takes] if w.stroke else []
    room = stroke_room(played[0], lettered(colours, w.size)[0]) if played else (0.0, 0.0)
    picture = plate(scenario, shown, w.size, colours, Below(w.caption, _told(scenario, answers, w.stroke), free=room))
    shown, colours = replace(shown, canvas=picture.canvas), picture.look
    ground = ground_scene(scenario, colours) + under_scene(scenario, shown, colours)
    lively = paths_scene(scenario, answers, shown, colours) + lively_scene(scenario)
    layers = layered(picture, ground, lively, lively)
    if played:
        layers.append(Layer(strike_scene(scenario, played[0], colours, None), face_frame(picture.free)))
    write_whole(out_path, write(picture, layers))


def _told(scenario: Scenario, answers: dict[int, Answer], stroke: bool) -> dict[int, TakeWords]:
    """What stands under the table of each take: its name if there are several, how it is played if that is wanted."""
    names = names_of(answers)
    told = {
        i: TakeWords(names.get(i, ""), played_words(scenario, answers[i].take) if stroke else "")
        for i in sorted(answers)
    }
    return told if names or stroke else {}


# --- what is asked for


def check_size(size: tuple[int, int], largest: int) -> None:
    """TablesimError unless both sides [pixels] can be made."""
    if not all(SMALLEST <= side <= largest for side in size):
        raise TablesimError(f"size: must be {SMALLEST} to {largest} pixels each way; got {size[0]}x{size[1]}")


def look_named(name: str) -> Look:
    """The look of that name."""
    if name not in LOOKS:
        raise TablesimError("look: " + unknown_name("look", name, LOOKS))
    return LOOKS[name]


def part_wanted(scenario: Scenario, answers: dict[int, Answer], wanted: Box | Literal["shot"] | None) -> Box | None:
    """The part of the table that is wanted, as it can be shown; None: all of it."""
    if wanted == "shot":
        return about_shot(scenario, answers)
    if wanted is None:
        return None
    x0, y0, x1, y1 = wanted
    if not (all(map(math.isfinite, wanted)) and x0 < x1 and y0 < y1):
        raise TablesimError(f"closer: must be two corners x0,y0,x1,y1 [m] with x0 < x1 and y0 < y1; got {wanted}")
    return on_table(scenario, wanted)


def take_places(scenario: Scenario, names: Sequence[str] | None) -> tuple[int, ...]:
    """Places of the takes named, in that order; without names that of the first, if there is one."""
    if not names:
        return (0,) if scenario.takes else ()
    places = tuple(scenario.takes.index(take) for take in scenario.takes_for(names))
    if len(places) > TAKES_TOGETHER:
        raise TablesimError(f"take: at most {TAKES_TOGETHER} can be told apart in one picture; got {len(places)}")
    return places


def _png(picture: Plate, layers: Sequence[Layer]) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    dots = {"dpi": (72.0 * picture.canvas.frame.point,) * 2} if picture.look.name == PAPER.name else {}
    Image.fromarray(np.ascontiguousarray(painted(picture, layers).pixels[:, :, :3])).save(out, "PNG", **dots)
    return out.getvalue()
