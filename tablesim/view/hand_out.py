"""Leaving with something in the hand: pictures, clips, sheets, and the layout as text, made beside the window."""

from __future__ import annotations

import tempfile
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tablesim.errors import TablesimError
from tablesim.model.layout_text import from_text, to_text
from tablesim.model.scenario import Scenario, save

from .clipboard import copy_picture, copy_text, pasted_text
from .hand_out_page import HandOutPage
from .overlays import Question

if TYPE_CHECKING:
    from .app import App

KINDS = {
    "Picture (PNG)": ".png", "Drawing (SVG)": ".svg", "Clip (MP4)": ".mp4", "Clip (GIF)": ".gif",
    "Sheet, A4 (PDF)": ".pdf", "Sheet, Letter (PDF)": ".pdf", "Scenario (JSON)": ".json",
}  # fmt: skip
SPEEDS = ("1", "1/2", "1/4", "1/5", "1/10", "1/20", "1/50")
SAME = "as the rest"
CONTACT_SPEEDS = (SAME, "1/5", "1/10", "1/20", "1/50")
WHOLE = "until all lies still"
LENGTHS = (WHOLE, "3 s", "5 s", "8 s", "12 s", "20 s", "40 s")
SHAPES = ("wide", "portrait", "square")
SHEETS = ("boxes to tick", "results before, after")
COPIED_PIXELS = (1600, 900)
WAIT_S = 10.0  # for what is being made to stop; a frame of a clip, or a whole sheet

Work = Callable[[Callable[[int, int], object], threading.Event], object]


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


class HandOut:
    """The window's ways of handing out."""

    def __init__(self, app: App) -> None:
        self.app = app
        self.job: Job | None = None
        self.wishes = self._proposed = Wishes(SPEEDS[0], "")

    def _proposal(self) -> Wishes:
        """As it is being played, with the caption of the scene that is shown, else the scenario's title."""
        document = self.app.document
        speed = Fraction(self.app.playing_speed()).limit_denominator(50)
        at = document.state.scene
        return Wishes(str(speed), document.scenario.title if at is None else document.lesson.scenes[at].caption)

    def _propose(self) -> None:
        """Wish what is proposed where nothing else was chosen; a caption is kept until another is proposed."""
        last, wishes, now = self._proposed, self.wishes, self._proposal()
        self.wishes = replace(
            wishes, speed=now.speed if wishes.speed == last.speed else wishes.speed,
            caption=now.caption if now.caption != last.caption else wishes.caption,
        )  # fmt: skip
        self._proposed = now

    def offer(self) -> None:
        """Ask what is wanted."""
        self._propose()
        rest = {
            "Copy the picture": self.copy_picture, "Copy the layout as text": self.copy_layout,
            "Paste a layout": self.paste_layout, "Cancel": lambda: None,
        }  # fmt: skip
        title = f"Hand out: {', '.join(self.takes()) or 'the layout'}"
        self.app.open_overlay(HandOutPage(
            title, {words: self._asked(words) for words in KINDS},
            {words: partial(self.app.guard, do) for words, do in rest.items()}, self.wishes,
            {"speed": SPEEDS, "contact_speed": CONTACT_SPEEDS, "length": LENGTHS, "shape": SHAPES, "sheet": SHEETS},
        ))  # fmt: skip

    def _asked(self, words: str) -> Callable[[], object]:
        return lambda: self.app.guard(lambda: self._where(words))

    def takes(self) -> list[str]:
        """Names of the takes on the screen, the chosen one first."""
        editor = self.app.editor
        names = [take.name for take in editor.scenario.takes]
        order = dict.fromkeys((editor.chosen, *editor.shown.takes))
        return [names[i] for i in order if i < len(names)]

    def _where(self, words: str) -> None:
        title = self.app.document.scenario.title or "shot"
        self.app.actions.files.ask_where(title, lambda path: self.make(words, path), None, KINDS[words])

    def make(self, words: str, path: Path) -> None:
        """Begin to make it, in a thread."""
        if self.job is not None and not self.job.ended:
            raise TablesimError("Something is being made already: wait for it, or stop it with Esc.")
        self.job = Job(path.name, self._work(words, path, self.app.editor.scenario, self.takes()))

    def _picture(self, path: Path, size: tuple[int, int] | None = None) -> Callable[[], None]:
        """What makes a picture of the screen as it is now, in the shape wished of one of that size."""
        from tablesim.output.still import SIZE, StillWishes, still

        shown, wanted = self.app.editor.shown, self.wishes
        wishes = StillWishes(
            size=wanted.size(size or SIZE), takes=self.takes() or None, look=self.app.settings.look,
            caption=wanted.caption, corrected=shown.corrected, spin=shown.spin, growth=shown.growth,
        )  # fmt: skip
        return partial(still, self.app.editor.scenario, str(path), wishes)

    def _work(self, words: str, path: Path, scenario: Scenario, takes: list[str]) -> Work:
        look, wanted, corrected = self.app.settings.look, replace(self.wishes), self.app.editor.shown.corrected
        if words.startswith(("Picture", "Drawing")):
            picture = self._picture(path)
            return lambda progress, stop: picture()

        def work(progress: Callable[[int, int], object], stop: threading.Event) -> None:
            if words.startswith("Clip"):
                from tablesim.output.clip import ClipWishes, clip
                from tablesim.output.encode import KINDS as CLIPS
                from tablesim.output.film import SHOWN

                wishes = ClipWishes(
                    takes=takes or None, size=wanted.size(CLIPS[KINDS[words]].size), look=look,
                    speed=float(Fraction(wanted.speed)), contact_speed=wanted.contact_share, seconds=wanted.seconds,
                    caption=wanted.caption, overlays=(*SHOWN, "corrected") if corrected else SHOWN,
                )  # fmt: skip
                clip(scenario, str(path), wishes, progress, stop)
            elif words.startswith("Scenario"):
                save(scenario, path)
            else:
                from tablesim.output.sheet import sheet

                paper = "letter" if "Letter" in words else "a4"
                sheet(scenario, path, paper=paper, results=wanted.sheet != SHEETS[0])

        return work

    def tick(self) -> bool:
        """Tell of the end; True while something is being made."""
        job = self.job
        if job is None:
            return False
        if job.ended:
            self.job = None
            if job.trouble:
                self.app.tell(f"{job.what}: {job.trouble}", warning=True)
            else:
                self.app.tell(f"Made {job.what}")
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
        self.app.open_overlay(Question(
            f"{self.job.what} is not finished", "Leaving stops the making of it, and nothing of it is kept.",
            [("Leave all the same", partial(self.app.guard, go_on)), ("Cancel", lambda: None)], default=1,
        ))  # fmt: skip

    def close(self) -> None:
        """Stop what is being made and wait until it has put its things away."""
        if self.stop() and self.job is not None:
            self.job.wait(WAIT_S)

    def copy_picture(self) -> None:
        """Put a picture of what is shown on the clipboard."""
        with tempfile.TemporaryDirectory() as aside:
            file = Path(aside) / "picture.png"
            self._picture(file, COPIED_PIXELS)()
            copy_picture(file)
        self.app.tell("The picture is on the clipboard.")

    def copy_layout(self) -> None:
        """Put the layout on the clipboard, as text that can be read."""
        copy_text(to_text(self.app.editor.scenario))
        self.app.tell("The layout is on the clipboard, as text.")

    def paste_layout(self) -> None:
        """Lay the balls as a text on the clipboard says."""
        text = pasted_text()
        if not text.strip():
            raise TablesimError("There is no text on the clipboard.")
        editor = self.app.editor
        editor.change(from_text(text, editor.scenario), "layout pasted", "layout")
        self.app.tell("The layout is laid as the text says.")
