"""tablesim: stage a shot with sidespin, see where both balls go and why.

The public doorway::

    scenario = tablesim.open_scenario("two-cues")     # or tablesim.load("shot.json")
    for finding in tablesim.predict(scenario):
        print(finding.take, finding.target.outcome, finding.target.miss_mm)

What is behind it is loaded when it is first asked for: the command line has to
hear a Ctrl-C before anything takes time.
"""

TYPE_CHECKING = False  # as the checkers know it; typing itself takes its time

if TYPE_CHECKING:
    from tablesim.errors import AimImpossible, NameUnknown, ScenarioError, TablesimError
    from tablesim.model.scenario import Scenario, from_json, load, save, to_json
    from tablesim.resources import open_scenario, ready_scenarios
    from tablesim.study.predict import Prediction, predict, predict_take

__version__ = "0.5.0"

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
_BEHIND = ("errors", "model.scenario", "resources", "study.predict")


def __getattr__(name: str) -> object:
    from importlib import import_module

    for module in _BEHIND if name in __all__ else ():
        if name in (found := vars(import_module(f"tablesim.{module}"))):
            return found[name]
    raise AttributeError(f"module 'tablesim' has no attribute {name!r}")
