"""What can be handed out: kinds of files, and how each is made from what is on the screen.

A new kind is a function of the order, and an entry in KINDS.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import NamedTuple

from tablesim.model.scenario import Scenario, save
from tablesim.scene.shot import Shown

Progress = Callable[[int, int], object]
SPEEDS = ("1", "1/2", "1/4", "1/5", "1/10", "1/20", "1/50")
SAME = "as the rest"
CONTACT_SPEEDS = (SAME, "1/5", "1/10", "1/20", "1/50")
WHOLE = "until all lies still"
LENGTHS = (WHOLE, "3 s", "5 s", "8 s", "12 s", "20 s", "40 s")
SHAPES = ("wide", "portrait", "square")
SHEETS = ("boxes to tick", "results before, after")


@dataclass
class Wishes:
    """How pictures, clips and sheets are wanted."""

    speed: str
    caption: str
    shape: str = SHAPES[0]
    contact_speed: str = SAME
    length: str = WHOLE
    sheet: str = SHEETS[0]

    @property
    def contact_share(self) -> float | None:
        """The speed at the contact, None for that of the rest."""
        return None if self.contact_speed == SAME else float(Fraction(self.contact_speed))

    @property
    def seconds(self) -> float | None:
        """The length of a clip, None for all of the shot."""
        return None if self.length == WHOLE else float(self.length.removesuffix(" s"))

    def size(self, wide: tuple[int, int]) -> tuple[int, int]:
        """Pixels in this shape of what is ``wide`` otherwise."""
        w, h = wide
        return {"wide": (w, h), "portrait": (h, w), "square": (h, h)}[self.shape]


@dataclass(frozen=True)
class Order:
    """What is to be made: the file, what is on the screen, and how it is wanted."""

    path: Path
    scenario: Scenario
    takes: list[str]  # names of the takes on the screen, the chosen one first
    shown: Shown
    look: str
    wishes: Wishes


class Kind(NamedTuple):
    """A kind of file: its ending, and what makes it, telling how far it is and looking whether it is to stop."""

    suffix: str
    make: Callable[[Order, Progress, threading.Event], object]


def make_picture(order: Order, size: tuple[int, int] | None = None) -> None:
    """A picture of the screen, in the shape wished of one of that size [pixels]."""
    from tablesim.output.still import SIZE, still

    shown, wanted = order.shown, order.wishes
    still(
        order.scenario, str(order.path), size=wanted.size(size or SIZE), take=order.takes or None, look=order.look,
        caption=wanted.caption, corrected=shown.corrected, spin=shown.spin, growth=shown.growth,
    )  # fmt: skip


def _picture(order: Order, progress: Progress, stop: threading.Event) -> None:
    make_picture(order)


def _clip(order: Order, progress: Progress, stop: threading.Event) -> None:
    from tablesim.model.whole import by_suffix
    from tablesim.output.clip import clip
    from tablesim.output.encode import KINDS as CLIPS
    from tablesim.output.film import SHOWN

    wanted = order.wishes
    clip(
        order.scenario, str(order.path), takes=order.takes or None,
        size=wanted.size(by_suffix(order.path, CLIPS).size), look=order.look,
        speed=float(Fraction(wanted.speed)), contact_speed=wanted.contact_share, seconds=wanted.seconds,
        caption=wanted.caption, overlays=(*SHOWN, "corrected") if order.shown.corrected else SHOWN,
        progress=progress, stop=stop,
    )  # fmt: skip


def _sheet(paper: str, order: Order, progress: Progress, stop: threading.Event) -> None:
    from tablesim.output.sheet import sheet

    sheet(order.scenario, order.path, paper=paper, results=order.wishes.sheet != SHEETS[0])


def _scenario(order: Order, progress: Progress, stop: threading.Event) -> None:
    save(order.scenario, order.path)


KINDS = {
    "Picture (PNG)": Kind(".png", _picture), "Drawing (SVG)": Kind(".svg", _picture),
    "Clip (MP4)": Kind(".mp4", _clip), "Clip (GIF)": Kind(".gif", _clip),
    "Sheet, A4 (PDF)": Kind(".pdf", partial(_sheet, "a4")),
    "Sheet, Letter (PDF)": Kind(".pdf", partial(_sheet, "letter")),
    "Scenario (JSON)": Kind(".json", _scenario),
}  # fmt: skip
