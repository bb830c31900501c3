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

from tablesim.errors import TablesimError
from tablesim.model.lesson import Lesson, Scene
from tablesim.model.scenario import Scenario, save
from tablesim.resources import with_scenarios
from tablesim.scene.shot import Shown

from ..document.wishes import SHEETS, Wishes

Progress = Callable[[int, int], object]


@dataclass(frozen=True)
class Order:
    """What is to be made: the file, what is on the screen, and how it is wanted."""

    path: Path
    scenario: Scenario
    takes: list[str]  # names of the takes on the screen, the chosen one first
    shown: Shown
    look: str
    wishes: Wishes
    lesson: Lesson | None = None  # the one that is open
    folder: Path | None = None  # in which its file lies


class OutputKind(NamedTuple):
    """A kind of file: its ending, and what makes it, telling how far it is and looking whether it is to stop."""

    suffix: str
    make: Callable[[Order, Progress, threading.Event], object]


def make_picture(order: Order, size: tuple[int, int] | None = None) -> None:
    """A picture of the screen, in the shape wished of one of that size [pixels]."""
    from tablesim.output.still import SIZE, StillWishes, still

    shown, wanted = order.shown, order.wishes
    wishes = StillWishes(
        size=wanted.size(size or SIZE), takes=order.takes or None, look=order.look, caption=wanted.caption,
        corrected=shown.corrected, spin=shown.spin, growth=shown.growth,
        whole_ways=shown.whole_ways, closer=shown.closer, lens=shown.lens,
    )  # fmt: skip
    still(order.scenario, str(order.path), wishes)


def _picture(order: Order, progress: Progress, stop: threading.Event) -> None:
    make_picture(order)


def _clip(order: Order, progress: Progress, stop: threading.Event) -> None:
    from tablesim.model.whole import by_suffix
    from tablesim.output.clip import ClipWishes, clip
    from tablesim.output.encode import KINDS as CLIPS
    from tablesim.output.film import SHOWN

    wanted = order.wishes
    wishes = ClipWishes(
        takes=order.takes or None, size=wanted.size(by_suffix(order.path, CLIPS).size), look=order.look,
        speed=float(Fraction(wanted.speed)), contact_speed=wanted.contact_share, seconds=wanted.seconds,
        caption=wanted.caption, closer=order.shown.closer,
        overlays=[*SHOWN, *(name for name in ("corrected", "lens") if getattr(order.shown, name))],
    )  # fmt: skip
    clip(order.scenario, str(order.path), wishes, progress, stop)


def _sheet(paper: str, order: Order, progress: Progress, stop: threading.Event) -> None:
    from tablesim.output.sheet import sheet

    sheet(order.scenario, order.path, paper=paper, results=order.wishes.sheet != SHEETS[0])


def _results(order: Order, progress: Progress, stop: threading.Event) -> None:
    from tablesim.model.whole import write_whole
    from tablesim.study.results import compare, results_csv

    write_whole(order.path, results_csv(order.scenario, compare(order.scenario)).encode("utf-8"))


def _view_page(order: Order, progress: Progress, stop: threading.Event) -> None:
    shown, takes = order.shown, order.takes
    scene = Scene(
        caption=order.wishes.caption[:400], scenario=order.scenario,
        take=takes[0] if takes else None, with_takes=takes[1:20],
        corrected=shown.corrected, spin=shown.spin, closer=shown.closer,
        speed=min(float(Fraction(order.wishes.speed)), 1.0), contact_speed=order.wishes.contact_share,
    )  # fmt: skip
    _page(Lesson(title=order.scenario.title, scenes=[scene]), order, progress, stop)


def _lesson_page(order: Order, progress: Progress, stop: threading.Event) -> None:
    if order.lesson is None:
        raise TablesimError("no lesson is open: keep a view on the page Lesson, or make the page of this view")
    _page(with_scenarios(order.lesson, order.folder), order, progress, stop)


def _page(lesson: Lesson, order: Order, progress: Progress, stop: threading.Event) -> None:
    from tablesim.output.share import ShareWishes, share

    share(lesson, str(order.path), ShareWishes(name=order.path.stem), progress, stop)


def _scenario(order: Order, progress: Progress, stop: threading.Event) -> None:
    save(order.scenario, order.path)


KINDS = {
    "Picture (PNG)": OutputKind(".png", _picture), "Drawing (SVG)": OutputKind(".svg", _picture),
    "Clip (MP4)": OutputKind(".mp4", _clip), "Clip (GIF)": OutputKind(".gif", _clip),
    "Sheet, A4 (PDF)": OutputKind(".pdf", partial(_sheet, "a4")),
    "Sheet, Letter (PDF)": OutputKind(".pdf", partial(_sheet, "letter")),
    "Page of this view (HTML)": OutputKind(".html", _view_page),
    "Page of the lesson (HTML)": OutputKind(".html", _lesson_page),
    "Table of takes (CSV)": OutputKind(".csv", _results),
    "Scenario (JSON)": OutputKind(".json", _scenario),
}  # fmt: skip
