"""tablesim: stage a shot with sidespin, see where both balls go and why.

The public doorway::

    scenario = tablesim.open_scenario("two-cues")     # or tablesim.load("shot.json")
    for finding in tablesim.predict(scenario):
        print(finding.take, finding.target.outcome, finding.target.miss_mm)
"""

__version__ = "0.1.0"

from tablesim.errors import AimImpossible, NameUnknown, ScenarioError, TablesimError
from tablesim.model.scenario import Scenario, from_json, load, save, to_json
from tablesim.resources import open_scenario, ready_scenarios
from tablesim.study.predict import Prediction, predict, predict_take

__all__ = [
    "AimImpossible",
    "NameUnknown",
    "Prediction",
    "Scenario",
    "ScenarioError",
    "TablesimError",
    "__version__",
    "from_json",
    "load",
    "open_scenario",
    "predict",
    "predict_take",
    "ready_scenarios",
    "save",
    "to_json",
]
