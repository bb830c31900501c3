"""Everything a picture of a take needs, in one go: as aimed, the correction, and as corrected."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tablesim.errors import AimImpossible
from tablesim.model.scenario import Scenario
from tablesim.model.shot import Aim, Take

from .correct import Correction, correct_take
from .hops import hop_sentence
from .landing import landing_sentence
from .predict import predict_take
from .prediction import Prediction
from .reading import AIMED_WELL_DEG
from .stroke import butt_sentence
from .went import scratch_sentence


@dataclass(frozen=True)
class Answer:
    """A take as aimed and as corrected.

    ``aimed`` is None where the aim names no line (``trouble`` says why);
    ``butt`` is a sentence where its butt is higher than the take asks for;
    ``correction`` is None where there is no target, ``corrected`` where no aim works.
    """

    take: Take
    aimed: Prediction | None
    correction: Correction | None
    corrected: Prediction | None
    trouble: str | None
    butt: str = ""

    @property
    def landing(self) -> str:
        """Whether the cue ball stops in a zone, as aimed and as corrected, in a sentence; empty without zones."""
        aimed, corrected = self.aimed, self.corrected
        return landing_sentence(
            () if aimed is None else aimed.zones,
            () if corrected is None or _same(aimed, corrected) else corrected.zones,
        )

    @property
    def remarks(self) -> str:
        """What else is to be said of the cue ball: a scratch, where it stops, if there are zones, and that it hops."""
        shown = self.aimed if self.aimed is not None else self.corrected
        other = self.corrected is not None and not _same(self.aimed, self.corrected)
        scratch = scratch_sentence(self.aimed, self.corrected if other else None)
        return " ".join(
            filter(None, (scratch, self.butt, self.landing, hop_sentence(None if shown is None else shown.hop)))
        )


def _same(aimed: Prediction | None, corrected: Prediction) -> bool:
    """True if the aim is the corrected one."""
    if aimed is None or aimed.launch is None or corrected.launch is None:
        return False
    return abs(math.remainder(aimed.launch.heading_deg - corrected.launch.heading_deg, 360.0)) < AIMED_WELL_DEG


def answer_take(scenario: Scenario, take: Take) -> Answer:
    """Predict a take, correct it, and predict it corrected."""
    correction = correct_take(scenario, take) if scenario.target is not None else None
    corrected = None
    if correction is not None and correction.heading_deg is not None:
        solved = take.model_copy(update={"aim": Aim(heading_deg=correction.heading_deg)})
        corrected = predict_take(scenario, solved)
    try:
        # A take that asks for the corrected aim has just been played.
        aimed = corrected if take.aim.corrected and corrected else predict_take(scenario, take)
    except AimImpossible as trouble:
        return Answer(take, None, correction, corrected, str(trouble))
    heading = None if aimed.launch is None else math.radians(aimed.launch.heading_deg)
    return Answer(take, aimed, correction, corrected, None, butt_sentence(scenario, take, heading))
