"""What the takes of a scenario do, along the lines that their aims name or ask for."""

from __future__ import annotations

from collections.abc import Sequence
from types import SimpleNamespace

from tablesim.model.scenario import Scenario
from tablesim.model.shot import Take

from .correct import heading_of
from .prediction import Prediction as Prediction
from .prediction import predict_along
from .stroke import miscues


def predict_take(scenario: Scenario, take: Take, kernels: SimpleNamespace | None = None) -> Prediction:
    """Run one take to rest and read it; AimImpossible if its aim has no line."""
    heading = None if miscues(scenario, take) else heading_of(scenario, take)
    return predict_along(scenario, take, heading, kernels)


def predict(scenario: Scenario, take: str | Sequence[str] | None = None) -> tuple[Prediction, ...]:
    """Every take of a scenario, or those named, run to rest."""
    return tuple(predict_take(scenario, t) for t in scenario.takes_named(take))
