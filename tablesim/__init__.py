"""tablesim: stage a shot with sidespin, see where both balls go and why.

The public doorway, ``import tablesim as ts``::

    scenario = ts.open_scenario("two-cues")     # or ts.load("shot.json"), or ts.Scenario(balls=..., takes=...)
    for found in ts.predict(scenario):
        print(found.take, found.target.outcome, found.target.miss_mm)

Everything offered stands in ``dir(ts)``, by kind in ``OFFERED``.  Lengths are in
metres, small ones at the pocket in millimetres (``_mm``); angles in degrees, left
and counterclockwise +; speeds in metres per second.  What can go wrong for a person is a
:class:`TablesimError`.  Questions answer at once in plain Python, a hundred times
as fast once :func:`prepare` has had the engine compiled.

What is behind it is loaded when it is first asked for: the command line has to
hear a Ctrl-C before anything takes time.
"""

TYPE_CHECKING = False  # as the checkers know it; typing itself takes its time

if TYPE_CHECKING:
    from tablesim.errors import AimImpossible as AimImpossible
    from tablesim.errors import FileChanged as FileChanged
    from tablesim.errors import ImpactUnfinished as ImpactUnfinished
    from tablesim.errors import NameUnknown as NameUnknown
    from tablesim.errors import ScenarioError as ScenarioError
    from tablesim.errors import TablesimError as TablesimError
    from tablesim.model.gear import CLOTHS as CLOTHS
    from tablesim.model.gear import CONDITIONS as CONDITIONS
    from tablesim.model.gear import RAILS as RAILS
    from tablesim.model.gear import BallSet as BallSet
    from tablesim.model.gear import Cloth as Cloth
    from tablesim.model.gear import Cue as Cue
    from tablesim.model.gear import OddBall as OddBall
    from tablesim.model.gear import Rails as Rails
    from tablesim.model.lesson import Lesson as Lesson
    from tablesim.model.lesson import Scene as Scene
    from tablesim.model.lesson import load_lesson as load_lesson
    from tablesim.model.lesson import save_lesson as save_lesson
    from tablesim.model.scenario import Scenario as Scenario
    from tablesim.model.scenario import from_json as from_json
    from tablesim.model.scenario import load as load
    from tablesim.model.scenario import save as save
    from tablesim.model.scenario import to_json as to_json
    from tablesim.model.shot import Aim as Aim
    from tablesim.model.shot import Mark as Mark
    from tablesim.model.shot import Take as Take
    from tablesim.model.shot import Target as Target
    from tablesim.model.shot import Tip as Tip
    from tablesim.model.table import PocketSet as PocketSet
    from tablesim.model.table import Size as Size
    from tablesim.model.table import Table as Table
    from tablesim.output.chart import deflection_chart as deflection_chart
    from tablesim.output.chart import sweep_chart as sweep_chart
    from tablesim.output.clip import ClipWishes as ClipWishes
    from tablesim.output.clip import clip as clip
    from tablesim.output.share import ShareWishes as ShareWishes
    from tablesim.output.share import share as share
    from tablesim.output.sheet import sheet as sheet
    from tablesim.output.still import StillWishes as StillWishes
    from tablesim.output.still import still as still
    from tablesim.physics.jit import prepare as prepare
    from tablesim.resources import open_scenario as open_scenario
    from tablesim.resources import ready_lessons as ready_lessons
    from tablesim.resources import ready_scenarios as ready_scenarios
    from tablesim.staging.by_numbers import stage_shot as stage_shot
    from tablesim.study.calibrate import with_finding as with_finding
    from tablesim.study.calibrate_cue import SquirtTest as SquirtTest
    from tablesim.study.calibrate_cue import calibrate_cue as calibrate_cue
    from tablesim.study.calibrate_cue import cue_of_pivot as cue_of_pivot
    from tablesim.study.calibrate_cue import timed_pace as timed_pace
    from tablesim.study.calibrate_table import calibrate_balls as calibrate_balls
    from tablesim.study.calibrate_table import calibrate_rails as calibrate_rails
    from tablesim.study.calibrate_table import calibrate_roll as calibrate_roll
    from tablesim.study.calibrate_table import calibrate_slide as calibrate_slide
    from tablesim.study.correct import correct as correct
    from tablesim.study.deflection import deflection as deflection
    from tablesim.study.explain import explain as explain
    from tablesim.study.neutral import neutral as neutral
    from tablesim.study.predict import predict as predict
    from tablesim.study.results import compare as compare
    from tablesim.study.series import English as English
    from tablesim.study.series import Series as Series
    from tablesim.study.series import with_series as with_series
    from tablesim.study.sided import Off as Off
    from tablesim.study.sweep import Axis as Axis
    from tablesim.study.sweep import sweep as sweep

__version__ = "0.7.0"

# The same names by the module that has them.
OFFERED = {
    "errors": "AimImpossible FileChanged ImpactUnfinished NameUnknown ScenarioError TablesimError",
    "model.gear": "BallSet CLOTHS CONDITIONS Cloth Cue OddBall RAILS Rails",
    "model.lesson": "Lesson Scene load_lesson save_lesson",
    "model.scenario": "Scenario from_json load save to_json",
    "model.shot": "Aim Mark Take Target Tip",
    "model.table": "PocketSet Size Table",
    "output.chart": "deflection_chart sweep_chart",
    "output.clip": "ClipWishes clip",
    "output.share": "ShareWishes share",
    "output.sheet": "sheet",
    "output.still": "StillWishes still",
    "physics.jit": "prepare",
    "resources": "open_scenario ready_lessons ready_scenarios",
    "staging.by_numbers": "stage_shot",
    "study.calibrate": "with_finding",
    "study.calibrate_cue": "SquirtTest calibrate_cue cue_of_pivot timed_pace",
    "study.calibrate_table": "calibrate_balls calibrate_rails calibrate_roll calibrate_slide",
    "study.correct": "correct",
    "study.results": "compare",
    "study.deflection": "deflection",
    "study.explain": "explain",
    "study.neutral": "neutral",
    "study.predict": "predict",
    "study.series": "English Series with_series",
    "study.sided": "Off",
    "study.sweep": "Axis sweep",
}
_HOMES = {name: module for module, names in OFFERED.items() for name in names.split()}
__all__ = ["__version__", *_HOMES]


def __getattr__(name: str) -> object:
    from importlib import import_module

    if name not in _HOMES:
        raise AttributeError(f"module 'tablesim' has no attribute {name!r}")
    found: object = getattr(import_module(f"tablesim.{_HOMES[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted(__all__)
