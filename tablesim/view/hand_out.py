"""Leaving with something in the hand: pictures, clips, sheets, and the layout as text, made beside the window."""

from __future__ import annotations

import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from tablesim.errors import TablesimError
from tablesim.model.layout_text import from_text, to_text
from tablesim.model.scenario import Scenario

from .clipboard import copy_picture, copy_text, pasted_text
from .overlays import More

if TYPE_CHECKING:
    from .app import App

KINDS = {
    "Picture (PNG)": ".png", "Drawing (SVG)": ".svg", "Clip (MP4)": ".mp4", "Clip, portrait (MP4)": ".mp4",
    "Clip (GIF)": ".gif", "Sheet, A4 (PDF)": ".pdf", "Sheet, Letter (PDF)": ".pdf",
}  # fmt: skip
PORTRAIT = (1080, 1920)
COPIED_PIXELS = (1600, 900)

Work = Callable[[Callable[[int, int], object], threading.Event], object]


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

    def offer(self) -> None:
        """Ask what is wanted."""
        choices: list[tuple[str, Callable[[], object]]] = [(words, self._asked(words)) for words in KINDS]
        choices += [
            ("Copy the picture", lambda: self.app.guard(self.copy_picture)),
            ("Copy the layout as text", lambda: self.app.guard(self.copy_layout)),
            ("Paste a layout", lambda: self.app.guard(self.paste_layout)),
        ]
        choices.append(("Cancel", lambda: None))
        speed = self.app.playing_speed()
        slow = "" if speed == 1.0 else f", 1/{1 / speed:.0f} speed"
        self.app.open_overlay(More(choices, f"Hand out: {', '.join(self.takes()) or 'the layout'}{slow}"))

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

    def _work(self, words: str, path: Path, scenario: Scenario, takes: list[str]) -> Work:
        editor, look = self.app.editor, self.app.settings.look
        shown = editor.shown

        def work(progress: Callable[[int, int], object], stop: threading.Event) -> None:
            if words.startswith(("Picture", "Drawing")):
                from tablesim.output.still import still

                still(
                    scenario, str(path), take=takes or None, look=look, corrected=shown.corrected, growth=shown.growth
                )
            elif words.startswith("Clip"):
                from tablesim.output.clip import clip

                size = PORTRAIT if "portrait" in words else None
                speed = self.app.playing_speed()
                clip(
                    scenario, str(path), takes=takes or None, size=size, speed=speed, look=look,
                    caption=scenario.title, progress=progress, stop=stop,
                )  # fmt: skip
            else:
                from tablesim.output.sheet import sheet

                sheet(scenario, path, paper="letter" if "Letter" in words else "a4")

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

    def copy_picture(self) -> None:
        """Put a picture of what is shown on the clipboard."""
        from tablesim.output.still import still

        shown = self.app.editor.shown
        with tempfile.TemporaryDirectory() as aside:
            file = Path(aside) / "picture.png"
            still(
                self.app.editor.scenario, str(file), size=COPIED_PIXELS, take=self.takes() or None,
                look=self.app.settings.look, corrected=shown.corrected, growth=shown.growth,
            )  # fmt: skip
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
