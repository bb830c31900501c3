"""The cues at hand on the page of the gear: which one is looked at, and what is done to it."""

from __future__ import annotations

from tablesim.model.scenario import Scenario

from . import cue_edits
from .editor import Editor


class CueRack:
    """The cue looked at is that of the chosen take until another one is picked, which no take has to have."""

    def __init__(self, editor: Editor) -> None:
        self.editor = editor
        self._picked: tuple[str, str] | None = None  # a cue, and the take's when it was picked

    @property
    def name(self) -> str:
        """Name of the cue looked at."""
        s, e = self.editor.scenario, self.editor
        own = s.cue_name_of(e.take)
        if self._picked is not None and self._picked[0] in s.cues and self._picked[1] == own:
            return self._picked[0]
        return own

    def pick(self, name: str) -> None:
        """Look at another cue; the takes keep theirs."""
        self._picked = name, self.editor.scenario.cue_name_of(self.editor.take)

    @property
    def words(self) -> str:
        """Which takes are played with it."""
        users = [take.name for take in cue_edits.takes_with(self.editor.scenario, self.name)]
        return f"played by {'; '.join(users)}" if users else "played by no take"

    def add(self) -> None:
        """An ordinary cue more."""
        self._added(*cue_edits.with_new_cue(self.editor.scenario), "cue added")

    def copy(self) -> None:
        """A cue more, like this one."""
        self._added(*cue_edits.with_cue_copied(self.editor.scenario, self.name), "cue copied")

    def _added(self, scenario: Scenario, name: str, done: str) -> None:
        self.editor.change(scenario, done, "cues")
        self.pick(name)

    def rename(self, new: str) -> None:
        """Another name for this cue, in the takes too."""
        self.editor.change(cue_edits.with_cue_renamed(self.editor.scenario, self.name, new), "cue renamed", "cues")
        self.pick(new)

    def remove(self) -> None:
        """Remove this cue if no take is played with it."""
        self.editor.change(cue_edits.without_cue(self.editor.scenario, self.name), "cue removed", "cues")

    def set_number(self, field: str, value: float) -> None:
        """Change a property of this cue."""
        changed = cue_edits.with_cue_number(self.editor.scenario, self.name, field, value)
        self.editor.change(changed, f"cue {self.name}", "gear", True)
