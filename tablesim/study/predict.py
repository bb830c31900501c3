"""What the takes of a scenario do, along the lines that their aims name or ask for."""

from __future__ import annotations

from tablesim.model.scenario import Scenario, Which
from tablesim.model.shot import Take

from .correct import heading_of
from .prediction import Prediction as Prediction
from .prediction import predict_along
from .stroke import miscues


def predict_take(scenario: Scenario, take: Take) -> Prediction:
    """Run one take to rest and read it; AimImpossible if its aim has no line."""
    heading = None if miscues(scenario, take) else heading_of(scenario, take)
    return predict_along(scenario, take, heading)


def predict(scenario: Scenario, take: Which = None) -> tuple[Prediction, ...]:
    """Every take of a scenario run to rest, or the one that is named or stated: where both balls go.

    Miss [mm] and angles [deg] left +.  A stroke that cannot be made has the reason
    as its outcome; AimImpossible where an aim names no line, NameUnknown for a
    take that is not there.

    >>> two_cues = ts.open_scenario("two-cues")
    >>> found = ts.predict(two_cues, "wood, soft")[0]
    >>> found.target.outcome, round(found.target.miss_mm), round(found.launch.squirt_deg, 2)
    ('missed', 176, -1.62)
    >>> harder = two_cues.take_named("wood, soft").change(pace_m_s=3.0)
    >>> round(ts.predict(two_cues, harder)[0].target.miss_mm)
    294
    """
    return tuple(predict_take(scenario, t) for t in scenario.takes_for(take))
