"""The public doorway: light, complete, its examples true; errors are ours, and one rule chooses the engine."""

from __future__ import annotations

import ast
import doctest
import inspect
import os
import subprocess
import sys
import threading
import time
import tomllib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from conftest import layout, many_shots, setup_for

import tablesim as ts
from tablesim.physics import jit
from tablesim.physics.simulation import Simulation
from tablesim.study.correct import correct
from tablesim.study.pace import pace_scale
from tablesim.study.shooter import Shooter
from tablesim.view.answers.findings import Question
from tablesim.view.answers.steps import EXPLANATION
from tablesim.view.answers.worker import Solver

PACKAGE = Path(ts.__file__).parent
HEAVY = ("numpy", "pydantic", "numba", "matplotlib", "pygame", "pymunk", "av", "PIL", "fpdf", "typer", "rich")
compiling = pytest.mark.skipif(not jit.wanted(), reason="plain Python was asked for")


def printed_by(code: str, **environment: str) -> str:
    """What some Python prints in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env={**os.environ, **environment}, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


# --- what it offers


def test_importing_it_loads_nothing_else() -> None:
    code = "import sys; before = set(sys.modules); import tablesim; print(*sorted(set(sys.modules) - before))"

    assert printed_by(code) == "tablesim"


def test_asking_for_a_scenario_loads_no_surface_and_no_compiler() -> None:
    code = f"import sys, tablesim as ts; ts.Scenario, ts.TablesimError; print([m for m in {HEAVY} if m in sys.modules])"

    assert printed_by(code) == "['numpy', 'pydantic']"


def test_dir_lists_what_is_offered_and_all_of_it_is_there() -> None:
    assert dir(ts) == sorted(ts.__all__)
    assert len(set(ts.__all__)) == len(ts.__all__)
    for name in ts.__all__:
        assert getattr(ts, name).__doc__, name
    with pytest.raises(AttributeError, match="no attribute 'nonsense'"):
        _ = ts.nonsense


def test_checkers_see_the_names_that_are_offered() -> None:
    tree = ast.parse((PACKAGE / "__init__.py").read_text(encoding="utf-8"))
    (block,) = (node for node in tree.body if isinstance(node, ast.If))
    seen = {
        (str(node.module).removeprefix("tablesim."), alias.name, alias.asname)
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    offered = {(module, name, name) for module, names in ts.OFFERED.items() for name in names.split()}

    assert seen == offered


def test_every_model_a_person_builds_with_is_offered() -> None:
    from tablesim.model import gear, lesson, scenario, shot, table
    from tablesim.model.base import Model

    for module in (gear, shot, table, scenario, lesson):
        for name, kind in vars(module).items():
            if inspect.isclass(kind) and issubclass(kind, Model) and kind is not Model:
                assert getattr(ts, name) is kind


def test_types_are_shipped() -> None:
    project = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))
    wheel = project["tool"]["hatch"]["build"]["targets"]["wheel"]

    assert (PACKAGE / "py.typed").is_file()
    assert wheel["packages"] == ["tablesim"]  # whole folders
    assert not {"exclude", "only-include"} & set(wheel)


# --- its examples


def examples() -> list[doctest.DocTest]:
    """The examples in the docstrings of what is offered."""
    finder = doctest.DocTestFinder(recurse=False, exclude_empty=True)
    offered = [(name, getattr(ts, name)) for name in ts.__all__]
    return [test for name, thing in offered if callable(thing) for test in finder.find(thing, name, globs={"ts": ts})]


@many_shots
@pytest.mark.parametrize("example", examples(), ids=lambda test: test.name)
def test_examples_print_what_docstrings_say(
    example: doctest.DocTest, fast: SimpleNamespace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    told: list[str] = []
    result = doctest.DocTestRunner().run(example, out=told.append, clear_globs=False)

    assert result.failed == 0, "".join(told)


def test_every_function_offered_has_an_example() -> None:
    with_one = {test.name for test in examples()}
    functions = {name for name in ts.__all__ if inspect.isfunction(getattr(ts, name))}

    assert functions - with_one == set()


def test_questions_take_the_scenario_first_and_a_take_by_name_or_stated() -> None:
    two_cues = ts.open_scenario("two-cues")
    named = two_cues.takes[2]
    for question in (ts.predict, ts.correct, ts.explain, ts.deflection, ts.neutral):
        assert list(inspect.signature(question).parameters)[:2] == ["scenario", "take"]
    assert ts.deflection(two_cues, named.name) == ts.deflection(two_cues, named)
    stated = named.change(name="mine", pace_m_s=2.0)
    assert [found.take for found in ts.predict(two_cues, stated)] == ["mine"]
    with pytest.raises(ts.ScenarioError, match="unknown cue 'wod'; did you mean 'wood'"):
        ts.predict(two_cues, named.change(cue="wod"))
    with pytest.raises(ts.NameUnknown, match="unknown take 'wood, sof'; did you mean 'wood, soft'"):
        ts.correct(two_cues, "wood, sof")


# --- errors are ours

MIDDLE = {"cue": (0.6, 0.6)}
REFUSED: list[tuple[Callable[[], Any], str]] = [
    (lambda: ts.Take(name="a", pace_m_s=99.0), "pace_m_s: must be at most 20; got 99.0"),
    (lambda: ts.Take(pace_m_s=1.0), "name: is required"),  # type: ignore[call-arg]
    (lambda: ts.Tip(right=0.9, up=0.9), "must touch the ball: right and up together stay under 0.99 radii; got 1.273"),
    (lambda: ts.Cue(tip_radius=0.1), "unknown key 'tip_radius'; did you mean 'tip_radius_m'?"),  # type: ignore[call-arg]
    (lambda: ts.Table(size="10ft"), "size: must be '9ft', '8ft' or '7ft', or an object; got '10ft'"),  # type: ignore[arg-type]
    (lambda: ts.Scenario(balls={}), 'balls: there must be a cue ball, named "cue"'),
    (
        lambda: ts.Scenario(balls=MIDDLE, takes=[{"name": "a", "pace_m_s": 99.0}]),  # type: ignore[list-item]
        "takes[0].pace_m_s: must be at most 20; got 99.0",
    ),
    (
        lambda: ts.Scenario(balls=MIDDLE, ball_set={"odd": {"cue": {"mass_kg": 9.0}}}),  # type: ignore[arg-type]
        "ball_set.odd.cue.mass_kg: must be at most 0.5; got 9.0",
    ),
    (lambda: ts.Scenario.model_validate({"balls": {"cue": (0.6,)}}), "balls.cue[1]: is required"),
    (lambda: ts.Scenario(balls=MIDDLE).change(title=3), "title: must be a text; got 3"),
    (lambda: ts.Lesson(scenes=[{}]), "scenes[0]: a scene has either a 'scenario' or a 'file'"),  # type: ignore[list-item]
    (
        lambda: setattr(ts.Scenario(balls=MIDDLE), "title", "mine"),
        "title: cannot be set, make another with change(); got 'mine'",
    ),
]


@pytest.mark.parametrize(("build", "words"), REFUSED, ids=[words[:30] for _, words in REFUSED])
def test_a_broken_rule_is_told_in_our_words(build: Callable[[], Any], words: str) -> None:
    with pytest.raises(ts.ScenarioError) as refused:
        build()
    assert str(refused.value) == words


def test_an_axis_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ts.NameUnknown, match="did you mean 'pace'"):
        ts.sweep(ts.open_scenario("two-cues"), "wood, soft", [ts.Axis("paces", (1.0,))])
    with pytest.raises(ts.NameUnknown, match="did you mean 'foot'"):
        ts.deflection(ts.open_scenario("two-cues"), every="feet")


# --- one rule for the engine


def engine_of_shot() -> SimpleNamespace:
    """The kernels that a shot, asked for now, runs with."""
    return Simulation(setup_for(1), layout((0.6, 0.6))).kernels


@compiling
def test_a_prepared_engine_serves_every_question_in_every_thread(fast: SimpleNamespace) -> None:
    two_cues = ts.open_scenario("two-cues")
    assert ts.prepare()
    assert engine_of_shot() is Shooter(two_cues).kernels is jit.engine() is jit.at_hand() is jit.compiled()
    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(engine_of_shot).result() is jit.compiled()


@compiling
def test_what_is_told_holds_inside_in_this_thread_alone(fast: SimpleNamespace) -> None:
    inside, outside = threading.Event(), threading.Event()

    def meanwhile() -> bool:
        inside.wait(10.0)
        other = engine_of_shot()
        outside.set()
        return other is jit.compiled()

    with ThreadPoolExecutor(1) as pool:
        there = pool.submit(meanwhile)
        with jit.using(jit.plain()):
            inside.set()
            outside.wait(10.0)
            assert engine_of_shot() is jit.plain()
            with jit.using(fast):
                assert engine_of_shot() is fast
            assert engine_of_shot() is jit.plain()
        assert there.result()
    assert engine_of_shot() is fast


def test_a_sweep_runs_with_what_is_told_in_all_its_threads(monkeypatch: pytest.MonkeyPatch) -> None:
    used: list[SimpleNamespace] = []
    made = Shooter.__init__

    def noting(self: Shooter, *args: Any) -> None:
        made(self, *args)
        used.append(self.kernels)

    monkeypatch.setattr(Shooter, "__init__", noting)
    with jit.using(jit.plain()):
        ts.sweep(ts.open_scenario("two-cues"), "wood, soft", [ts.Axis("cut", (10.0, 20.0))])
    assert used == [jit.plain(), jit.plain()]


def test_nothing_is_compiled_unannounced(tmp_path: Path) -> None:
    code = (
        "import sys, tablesim as ts; from tablesim.physics import jit;"
        "ts.correct(ts.open_scenario('two-cues'), 'wood, soft');"
        "print(jit.engine() is jit.plain(), 'numba' in sys.modules)"
    )
    assert printed_by(code, TABLESIM_CACHE=str(tmp_path)) == "True False"
    assert list(tmp_path.iterdir()) == []


@compiling
def test_what_lies_ready_is_loaded_by_the_first_question(fast: SimpleNamespace) -> None:
    code = (
        "import tablesim as ts; from tablesim.physics import jit; before = jit.at_hand() is jit.plain();"
        "ts.predict(ts.open_scenario('two-cues'), 'wood, soft'); print(before, jit.at_hand() is jit.compiled())"
    )
    assert printed_by(code) == "True True"


@compiling
def test_who_must_not_wait_does_not_while_another_thread_loads(monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def slow(progress: Callable[[str], object]) -> SimpleNamespace:
        begun.set()
        go_on.wait(10.0)
        return SimpleNamespace(made="slowly")

    once = jit._compiled_once.__wrapped__
    monkeypatch.setattr(jit, "_build", slow)
    monkeypatch.setattr(jit, "_compiled_once", cache(once))
    with ThreadPoolExecutor(2) as pool:
        loads = [pool.submit(jit.compiled) for _ in range(2)]
        begun.wait(10.0)
        assert jit.at_hand() is jit.plain()
        go_on.set()
        first, second = (load.result() for load in loads)
    assert first is second is jit.at_hand()


@compiling
def test_a_window_waits_for_no_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither its answers nor what it asks between two frames load an engine that lies ready."""

    def loaded() -> SimpleNamespace:
        raise AssertionError("the engine is loaded")

    monkeypatch.setattr(jit, "_loaded_if_ready", loaded)
    monkeypatch.setattr(Solver, "_prepare", lambda self: None)
    two_cues, answers = ts.open_scenario("two-cues"), Solver()
    assert pace_scale(two_cues).lag is not None
    answers.ask(Question(1, two_cues, 0, (0,)))
    until = time.monotonic() + 30.0
    while not (found := list(answers.answers())) and time.monotonic() < until:
        time.sleep(0.01)
    answers.stop()
    assert found[0].get(EXPLANATION) is not None


def test_a_few_predictions_by_command_load_no_compiler() -> None:
    code = (
        "import sys; from tablesim.commands import run\ntry: run(['predict', 'two-cues'])\nexcept SystemExit: pass\n"
        "print('numba' in sys.modules)"
    )
    assert printed_by(code).splitlines()[-1] == "False"


@compiling
def test_preparing_tells_of_each_kernel_and_loads_them(tmp_path: Path) -> None:
    """With the few kernels of one module: the helper process has them all to compile."""
    code = (
        "from tablesim.physics import jit; import tablesim as ts;"
        "jit._have_compiled = lambda progress: jit._build(progress);"
        "jit.KERNEL_MODULES = ('cloth',); told = [];"
        "print(ts.prepare(told.append), 'sidespin_after' in told, jit.at_hand() is jit.compiled(), ts.prepare())"
    )
    assert printed_by(code, TABLESIM_CACHE=str(tmp_path)) == "True True True True"


def test_preparing_where_plain_python_was_asked_for_says_so() -> None:
    assert printed_by("import tablesim as ts; print(ts.prepare())", TABLESIM_PLAIN="1") == "False"


@compiling
def test_other_peoples_functions_keep_their_own_cache(fast: SimpleNamespace, tmp_path: Path) -> None:
    """A function of one's own, compiled and kept after ours are loaded, lies where numba would have put it."""
    mine = tmp_path / "mine.py"
    mine.write_text("import numba\n@numba.njit(cache=True)\ndef double(x):\n    return 2.0 * x\n", encoding="utf-8")
    code = (
        "import sys, numba, tablesim as ts; before = numba.config.CACHE_DIR; assert ts.prepare();"
        f"sys.path.insert(0, {str(tmp_path)!r}); import mine; mine.double(1.0);"
        "print(numba.config.CACHE_DIR == before, mine.double._cache._cache_path)"
    )
    assert printed_by(code) == f"True {tmp_path / '__pycache__'}"


@compiling
def test_the_cache_of_others_is_restored_where_ours_cannot_be_made(monkeypatch: pytest.MonkeyPatch) -> None:
    from numba import config

    def broken() -> None:
        with jit._our_cache(Path("ours")):
            assert vars(config)["CACHE_DIR"] == "ours"
            raise KeyError

    monkeypatch.setattr(config, "CACHE_DIR", "theirs")
    with pytest.raises(KeyError):
        broken()
    assert vars(config)["CACHE_DIR"] == "theirs"


def test_the_engine_makes_no_difference_to_an_answer(kernels: SimpleNamespace) -> None:
    found = correct(ts.open_scenario("two-cues"), "low-squirt, medium")[0]

    assert found.aim_offset_mm == pytest.approx(-5.6, abs=0.05)
