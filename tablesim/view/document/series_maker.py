"""A series of takes as the window holds it: what was typed and ticked, what would come of it, and making it."""

from __future__ import annotations

from dataclasses import replace

from tablesim.errors import TablesimError
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take
from tablesim.scene.look import TAKES_TOGETHER
from tablesim.study.series import Series, with_series
from tablesim.study.series_said import heights_said, paces_said, sides_said

from .editor import Editor

TEXTS = ("pace", "side", "height")
STROKES_OFFERED = ("smooth", "jabbed")


class SeriesMaker:
    """The chosen take is what the takes have in common, its cue and stroke are ticked to begin with."""

    def __init__(self, editor: Editor) -> None:
        self.editor = editor
        self.texts = dict.fromkeys(TEXTS, "")
        take = editor.take
        self.cues = [editor.scenario.cue_name_of(take)]
        self.strokes = ["jabbed" if take.stroke == "jab" else "smooth"]

    @property
    def series(self) -> Series:
        """The series as it is typed and ticked; ScenarioError where a text is none."""
        known = self.editor.scenario.cues
        return Series(
            paces_m_s=paces_said(self.texts["pace"]),
            cues=tuple(name for name in known if name in self.cues),
            strokes=tuple("jab" if name == "jabbed" else "smooth" for name in STROKES_OFFERED if name in self.strokes),
            sides=sides_said(self.texts["side"]),
            heights=heights_said(self.texts["height"]),
        )  # fmt: skip

    def made(self, adding: bool) -> Scenario:
        """The scenario with the series; TablesimError says why there is none."""
        return with_series(self.editor.scenario, self.series, self.editor.take, adding)

    @property
    def words(self) -> str:
        """What would come of it: how many takes and which, or in words why none."""
        try:
            takes = self.made(False).takes
        except TablesimError as error:
            text = str(error)
            return f"{text[:1].upper()}{text[1:]}."
        return f"{len(takes)} takes: {'; '.join(take.name for take in takes)}."

    @property
    def able(self) -> bool:
        """True if a series comes of it."""
        try:
            return bool(self.made(False))
        except TablesimError:
            return False

    @property
    def aim_words(self) -> str:
        """Where they are all aimed, and what becomes of that when balls are moved."""
        return f"All else as {self.editor.take.name!r}. {aim_follows(self.editor.take)}"

    def make(self, adding: bool) -> None:
        """The takes take the place of those there are, or come after them: one step of undo."""
        e, before = self.editor, len(self.editor.scenario.takes)
        first = before if adding else 0
        e.dismiss()
        e.change(self.made(adding), "series of takes", "takes", chosen=first)
        count = min(len(e.scenario.takes) - first, TAKES_TOGETHER)
        e.shown = replace(e.shown, takes=tuple(range(first, first + count)))


def aim_follows(take: Take) -> str:
    """What becomes of a take's aim when balls are moved."""
    if take.aim.heading_deg is not None:
        return "The cue's line stays where it lies when balls are moved: Plain aim (O) before this has it follow."
    if take.aim.corrected:
        return "Each has the aim that works, wherever the balls lie."
    return "The aim stays toward the pocket wherever the balls lie."
