"""Small faults put into a module, one at a time: which of them do the tests named not notice?

    python tests/mutants.py tablesim/physics/aim.py tests/test_gates.py --most 40 --seed 1

Works on a copy in a temporary folder, with plain Python kernels unless ``--compiled``
asks for the others.  A mutant that fails, or does not end, is killed; of one that
lives, place, line and what became of it are printed.  Not every one should die: a
change that nothing can notice is no fault.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[1]
LEFT_OUT = shutil.ignore_patterns(".*", "__pycache__", "assets", "*.egg-info")
LONGER = 4.0  # times what the tests take without a fault: then it does not end
LEAST_WAIT_S = 20.0
FLIPPED: dict[type[ast.cmpop], list[type[ast.cmpop]]] = {
    ast.Lt: [ast.LtE, ast.GtE], ast.LtE: [ast.Lt, ast.Gt], ast.Gt: [ast.GtE, ast.LtE], ast.GtE: [ast.Gt, ast.Lt],
    ast.Eq: [ast.NotEq], ast.NotEq: [ast.Eq], ast.Is: [ast.IsNot], ast.IsNot: [ast.Is], ast.In: [ast.NotIn],
    ast.NotIn: [ast.In],
}  # fmt: skip
SWAPPED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult,
}  # fmt: skip
EXCHANGED = {"min": "max", "max": "min", "any": "all", "all": "any"}
NOT_CODE = {"annotation", "returns", "decorator_list"}  # fields that say something about code


class Mutant(NamedTuple):
    """The module's source with a fault, the line where it was put, and what was written there before and after."""

    source: str
    line: int
    before: str
    after: str


def nodes(tree: ast.AST) -> Iterator[ast.AST]:
    """Every node that is run, in an order that stays; no imports, annotations, texts."""
    yield tree
    for name, field in ast.iter_fields(tree):
        for child in field if isinstance(field, list) else [field]:
            if (
                name not in NOT_CODE
                and isinstance(child, ast.AST)
                and not isinstance(child, ast.Import | ast.ImportFrom)
            ):
                yield from nodes(child)


def changed(node: ast.AST, **fields: object) -> ast.AST:
    """A copy with other fields."""
    found = copy.copy(node)
    for name, value in fields.items():
        setattr(found, name, value)
    return found


def nudged(value: object) -> list[object]:
    """Values beside a constant."""
    if isinstance(value, bool):
        return [not value]
    if isinstance(value, int):
        return [value + 1]
    if isinstance(value, float):
        return [1.25 * value] if value else [1.0]
    return []


def _of_expression(node: ast.AST) -> list[ast.AST]:
    if isinstance(node, ast.Compare):
        return [changed(node, ops=[op(), *node.ops[1:]]) for op in FLIPPED.get(type(node.ops[0]), [])]
    if isinstance(node, ast.BinOp) and type(node.op) in SWAPPED:
        return [changed(node, op=SWAPPED[type(node.op)]())]
    if isinstance(node, ast.BoolOp):
        return [changed(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And())]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        return [node.operand]
    if isinstance(node, ast.Constant):
        return [changed(node, value=value) for value in nudged(node.value)]
    if isinstance(node, ast.Name) and node.id in EXCHANGED:
        return [changed(node, id=EXCHANGED[node.id])]
    return []


def variants(node: ast.AST) -> list[ast.AST]:
    """What may stand in place of a node, each a fault."""
    if isinstance(node, ast.If | ast.IfExp | ast.While):
        return [changed(node, test=ast.UnaryOp(ast.Not(), node.test))]
    if isinstance(node, ast.Return) and node.value is not None and not isinstance(node.value, ast.Constant):
        return [changed(node, value=ast.Constant(None))]
    if isinstance(node, ast.AugAssign) and type(node.op) in SWAPPED:
        return [changed(node, op=SWAPPED[type(node.op)]())]
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        return [ast.Pass()]
    return _of_expression(node)


class _Put(ast.NodeTransformer):
    """Puts one node in place of another."""

    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self.old, self.new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        """The tree, with the other node."""
        return self.new if node is self.old else self.generic_visit(node)


def mutants(source: str) -> Iterator[Mutant]:
    """Every mutant of a module's source."""
    kinds = [len(variants(node)) for node in nodes(ast.parse(source))]
    for k, n in enumerate(kinds):
        for which in range(n):
            tree = ast.parse(source)
            old = list(nodes(tree))[k]
            new = variants(old)[which]
            line: int = getattr(old, "lineno")  # noqa: B009 - every node that has variants has a place
            before = source.splitlines()[line - 1].strip()
            faulty = ast.fix_missing_locations(_Put(old, new).visit(tree))
            yield Mutant(ast.unparse(faulty), line, before, f"{_short(old)}  ->  {_short(new)}")


def _short(node: ast.AST) -> str:
    return ast.unparse(ast.fix_missing_locations(node)).split("\n")[0]


class Trial:
    """A copy of the project in which tests are run."""

    def __init__(self, folder: Path, tests: list[str], compiled: bool) -> None:
        self.folder, self.tests = folder, tests
        shutil.copytree(ROOT, folder, ignore=LEFT_OUT, dirs_exist_ok=True)
        kernels = {"TABLESIM_CACHE": str(folder / "kernels")} if compiled else {"TABLESIM_PLAIN": "1"}
        self.environment = {**os.environ, **kernels, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}

    def passes(self, wait_s: float | None = None) -> bool:
        """True if all tests pass within a time."""
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider", *self.tests]
        with subprocess.Popen(
            command, cwd=self.folder, env=self.environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            start_new_session=True,
        ) as run:  # fmt: skip
            try:
                return run.wait(wait_s) == 0
            except subprocess.TimeoutExpired:
                os.killpg(run.pid, 9)
                return False


def survivors(trial: Trial, module: str, chosen: list[Mutant]) -> Iterator[Mutant]:
    """The mutants that the tests do not notice."""
    trial.passes()  # compiles what is to be compiled
    begun = time.perf_counter()
    if not trial.passes():
        raise SystemExit("the tests fail without any fault")
    wait_s = max(LEAST_WAIT_S, LONGER * (time.perf_counter() - begun))
    for mutant in chosen:
        (trial.folder / module).write_text(mutant.source, encoding="utf-8")
        if trial.passes(wait_s):
            yield mutant


def main() -> None:
    """By command."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("module", help="the file to be damaged, from the project's folder")
    parser.add_argument("tests", nargs="+", help="what pytest is to run: files, or single tests")
    parser.add_argument("--most", type=int, default=40, help="so many mutants, chosen by chance")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--compiled", action="store_true", help="compiled kernels, for modules outside physics/")
    asked = parser.parse_args()
    every = list(mutants((ROOT / asked.module).read_text(encoding="utf-8")))
    chosen = random.Random(asked.seed).sample(every, min(asked.most, len(every)))
    lived = 0
    with tempfile.TemporaryDirectory() as folder:
        trial = Trial(Path(folder), asked.tests, asked.compiled)
        for mutant in survivors(trial, asked.module, sorted(chosen, key=lambda m: m.line)):
            lived += 1
            print(f"{asked.module}:{mutant.line}: {mutant.before}\n    {mutant.after}", flush=True)
    print(f"{asked.module}: {len(chosen)} of {len(every)} mutants tried, {len(chosen) - lived} killed, {lived} live")


if __name__ == "__main__":
    main()
