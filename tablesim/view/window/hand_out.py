"""Leaving with something in the hand: pictures, clips, sheets, and the layout as text, made beside the window."""

from __future__ import annotations

import tempfile
import threading
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Protocol

from tablesim.errors import TablesimError
from tablesim.model.layout_text import from_text, to_text
from tablesim.scene.result_words import Manner, results_text
from tablesim.study.results import results_csv

from ..answers.steps import RESULTS
from ..controls.clipboard import copy_picture, copy_text, pasted_text
from ..document.wishes import CONTACT_SPEEDS, LENGTHS, SAME, SHAPES, SHEETS, SPEEDS, Wishes
from ..pages.hand_out_page import HandOutPage
from ..pages.overlays import QuestionPage
from .desk import Desk
from .makers import KINDS, Order, Progress, make_picture

COPIED_PIXELS = (1600, 900)
WAIT_S = 10.0  # for what is being made to stop; a frame of a clip, or a whole sheet

Work = Callable[[Progress, threading.Event], object]


class Job:
    """Something being made in a thread: how far it is, and how it ended."""

    def __init__(self, what: str, work: Work) -> None:
        self.what, self.done, self.whole = what, 0, 0
        self.ended, self.trouble = False, ""
        self.stop = threading.Event()
        self._thread = threading.Thread(target=self._run, args=(work,), name="hand out", daemon=True)
        self._thread.start()

    def _run(self, work: Work) -> None:
        try:
            work(self._tell, self.stop)
        except TablesimError as error:
            self.trouble = str(error)
        except Exception as error:  # a fault of ours must reach the person, not a lost thread
            self.trouble = f"a fault of ours ({type(error).__name__}: {error})"
        self.ended = True

    def _tell(self, done: int, whole: int) -> None:
        self.done, self.whole = done, whole

    def wait(self, seconds: float) -> None:
        """Wait for the end, at most so long."""
        self._thread.join(seconds)

    @property
    def words(self) -> str:
        """What is being made, and how far it is."""
        share = f" {100 * self.done // self.whole} %" if self.whole else ""
        return f"Making {self.what}…{share} (Esc stops it)"


class MakingDesk(Desk, Protocol):
    """The window, as what hands out sees it."""

    def playing_speed(self) -> float:
        """The speed of time that is set."""


class AskWhere(Protocol):
    """What asks for a file's name, and then has it written."""

    def __call__(self, title: str, write: Callable[[Path], object], own: Path | None, suffix: str) -> None:
        """``own`` may be written over; ``suffix`` is the ending."""


class HandOut:
    """The window's ways of handing out."""

    def __init__(self, desk: MakingDesk, ask_where: AskWhere) -> None:
        self.desk, self._ask_where = desk, ask_where
        self.job: Job | None = None
        self.wishes = self._proposed = Wishes(SPEEDS[0], "")

    def _proposal(self) -> Wishes:
        """As it is being played, with the caption of the scene that is shown, else the scenario's title."""
        document = self.desk.document
        speed = Fraction(self.desk.playing_speed()).limit_denominator(50)
        at = document.state.scene
        title = document.scenario.title if at is None else document.lesson.scenes[at].caption
        slow = self.desk.book.tempo.contact_speed
        contact = SAME if slow is None else str(Fraction(slow).limit_denominator(50))
        return Wishes(str(speed), title, contact_speed=contact if contact in CONTACT_SPEEDS else SAME)

    def _propose(self) -> None:
        """Wish what is proposed where nothing else was chosen; a caption is kept until another is proposed."""
        last, wishes, now = self._proposed, self.wishes, self._proposal()
        self.wishes = replace(
            wishes, speed=now.speed if wishes.speed == last.speed else wishes.speed,
            contact_speed=now.contact_speed if wishes.contact_speed == last.contact_speed else wishes.contact_speed,
            caption=now.caption if now.caption != last.caption else wishes.caption,
        )  # fmt: skip
        self._proposed = now

    def offer(self) -> None:
        """Ask what is wanted."""
        self._propose()
        rest: dict[str, Callable[[], object]] = {
            "Copy the picture": self.copy_picture, "Copy the layout as text": self.copy_layout,
            "Copy the takes as text": self.copy_results,
            "Copy the takes for a spreadsheet": partial(self.copy_results, True),
            "Paste a layout": self.paste_layout, "Cancel": lambda: None,
        }  # fmt: skip
        title = f"Hand out: {', '.join(self.takes()) or 'the layout'}"
        self.desk.open_overlay(HandOutPage(
            title, {words: self._asked(words) for words in KINDS},
            {words: partial(self.desk.guard, do) for words, do in rest.items()}, self.wishes,
            {"speed": SPEEDS, "contact_speed": CONTACT_SPEEDS, "length": LENGTHS, "shape": SHAPES, "sheet": SHEETS},
        ))  # fmt: skip

    def _asked(self, words: str) -> Callable[[], object]:
        return lambda: self.desk.guard(lambda: self._where(words))

    def takes(self) -> list[str]:
        """Names of the takes on the screen, the chosen one first."""
        editor = self.desk.editor
        names = [take.name for take in editor.scenario.takes]
        order = dict.fromkeys((editor.chosen, *editor.shown.takes))
        return [names[i] for i in order if i < len(names)]

    def _where(self, words: str) -> None:
        title = self.desk.document.scenario.title or "shot"
        self._ask_where(title, lambda path: self.make(words, path), None, KINDS[words].suffix)

    def make(self, words: str, path: Path) -> None:
        """Begin to make it, in a thread."""
        if self.job is not None and not self.job.ended:
            raise TablesimError("Something is being made already: wait for it, or stop it with Esc.")
        self.job = Job(path.name, partial(KINDS[words].make, self._order(path)))

    def _order(self, path: Path) -> Order:
        """What is on the screen as it is now, into that file."""
        editor, look, document = self.desk.editor, self.desk.settings.look, self.desk.document
        lesson = document.lesson if document.lesson_open else None
        folder = None if document.lesson_path is None else document.lesson_path.parent
        return Order(path, editor.scenario, self.takes(), editor.shown, look, replace(self.wishes), lesson, folder)

    def tick(self) -> bool:
        """Tell of the end; True while something is being made."""
        job = self.job
        if job is None:
            return False
        if job.ended:
            self.job = None
            if job.trouble:
                self.desk.tell(f"{job.what}: {job.trouble}", warning=True)
            else:
                self.desk.tell(f"Made {job.what}")
        return True

    def stop(self) -> bool:
        """Stop what is being made; True if there was something."""
        if self.job is None or self.job.ended:
            return False
        self.job.stop.set()
        return True

    def held(self, go_on: Callable[[], object]) -> None:
        """Go on to leave the window; if something is being made, only when that is wanted all the same."""
        if self.job is None or self.job.ended:
            go_on()
            return
        self.desk.open_overlay(QuestionPage(
            f"{self.job.what} is not finished", "Leaving stops the making of it, and nothing of it is kept.",
            [("Leave all the same", partial(self.desk.guard, go_on)), ("Cancel", lambda: None)], default=1,
        ))  # fmt: skip

    def close(self) -> None:
        """Stop what is being made and wait until it has put its things away."""
        if self.stop() and self.job is not None:
            self.job.wait(WAIT_S)

    def copy_picture(self) -> None:
        """Put a picture of what is shown on the clipboard."""
        with tempfile.TemporaryDirectory() as aside:
            file = Path(aside) / "picture.png"
            make_picture(self._order(file), COPIED_PIXELS)
            copy_picture(file)
        self.desk.tell("The picture is on the clipboard.")

    def copy_layout(self) -> None:
        """Put the layout on the clipboard, as text that can be read; with all numbers shown, a finer one."""
        copy_text(to_text(self.desk.editor.scenario, finer=self.desk.settings.details))
        self.desk.tell("The layout is on the clipboard, as text.")

    def copy_results(self, as_csv: bool = False) -> None:
        """Put the table of takes on the clipboard: in columns for a person, or as CSV for a spreadsheet."""
        editor, settings = self.desk.editor, self.desk.settings
        scenario, found = editor.scenario, editor.findings
        known = found.get(RESULTS) if found is not None and found.question.scenario == scenario else None
        if known is None or len(known) < len(scenario.takes):
            raise TablesimError("Some takes are still being worked out: copy the table in a moment.")
        if as_csv:
            copy_text(results_csv(scenario, [known[i] for i in range(len(scenario.takes))]))
        else:
            copy_text(results_text(scenario, known, Manner(settings.unit, settings.details)))
        self.desk.tell(f"The table of takes is on the clipboard, {'as CSV' if as_csv else 'as text'}.")

    def paste_layout(self) -> None:
        """Lay the balls as a text on the clipboard says."""
        text = pasted_text()
        if not text.strip():
            raise TablesimError("There is no text on the clipboard.")
        editor = self.desk.editor
        editor.change(from_text(text, editor.scenario), "layout pasted", "layout")
        self.desk.tell("The layout is laid as the text says.")
