"""The house: one-way imports, what ships, and how long things have grown."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import tablesim

ROOT = Path(tablesim.__file__).parent
# Who may import whom; later layers may import earlier ones.
LAYERS = {
    "physics": {"physics", "errors"},
    "model": {"physics", "model", "errors", "interrupts", "units"},
    "study": {"physics", "model", "study", "errors", "units"},
    "staging": {"physics", "model", "staging", "errors", "units"},
    "scene": {"physics", "model", "study", "scene", "errors", "units"},
    "output": {"physics", "model", "study", "scene", "output", "errors", "units"},
    "view": {
        "physics", "model", "study", "staging", "scene", "output", "view", "errors", "interrupts", "units", "resources",
    },
}  # fmt: skip


def imports_of(path: Path) -> set[str]:
    found = set()
    package = path.relative_to(ROOT.parent).with_suffix("").parts[:-1]
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            found.add(".".join((*base, *(node.module or "").split("."))).strip("."))
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return found


@pytest.mark.parametrize("layer", LAYERS)
def test_imports_run_one_way(layer: str) -> None:
    for path in (ROOT / layer).rglob("*.py"):
        for name in imports_of(path):
            parts = name.split(".")
            if parts[0] == "tablesim" and len(parts) > 1:
                assert parts[1] in LAYERS[layer], f"{path.name} imports {name}"


def test_study_loads_no_screen_and_no_heavy_library() -> None:
    code = (
        "import sys, tablesim.study.predict, tablesim.scene.growth;"
        "print([m for m in ('pygame', 'pymunk', 'numba', 'scipy', 'matplotlib') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", tablesim.__all__)
def test_public_doorway(name: str) -> None:
    assert hasattr(tablesim, name)


def test_public_functions_are_documented() -> None:
    for path in ROOT.rglob("*.py"):
        tree = ast.parse(path.read_text())
        assert ast.get_docstring(tree) or path.name in ("__main__.py",), path
        for node in tree.body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                assert ast.get_docstring(node), f"{path.name}: {node.name}"
