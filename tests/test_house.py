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


def trees() -> dict[str, ast.Module]:
    """Every module by its full name."""
    found = {}
    for path in ROOT.rglob("*.py"):
        parts = path.relative_to(ROOT.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = ast.parse(path.read_text())
    return found


def imported_by(name: str, modules: dict[str, ast.Module]) -> set[str]:
    """The modules that one imports, anywhere in it; not the package itself, which is asked for its version only."""
    path = ROOT.parent / Path(*name.split("."))
    package = name.split(".") if path.is_dir() else name.split(".")[:-1]
    found = set()
    for node in ast.walk(modules[name]):
        if isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            source = ".".join([*base, *(node.module.split(".") if node.module else [])])
            wanted = {f"{source}.{alias.name}" for alias in node.names}
            found |= wanted & modules.keys() or {source}
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return (found & modules.keys()) - {name, "tablesim"}


def test_no_module_imports_itself_by_way_of_others() -> None:
    """Deferred imports and those for types only count, too."""
    modules = trees()
    left = {name: imported_by(name, modules) for name in modules if ".view" not in name}
    while free := [name for name, needs in left.items() if not needs & left.keys()]:
        for name in free:
            del left[name]
    assert not left


def test_functions_are_short_and_take_few_arguments() -> None:
    """Commands take what their options are."""
    for name, tree in trees().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef) and ".view" not in name:
                args = [a for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs) if a.arg != "self"]
                assert node.end_lineno is not None
                assert node.end_lineno - node.lineno < 50, f"{name}: {node.name}"
                assert len(args) <= 8 or ".commands." in name, f"{name}: {node.name}"


def test_names_have_one_meaning() -> None:
    """But a command bears the name of its question, and the window's names are its own."""
    found: dict[str, set[str]] = {}
    for name, tree in trees().items():
        if ".view" not in name and ".commands" not in name:
            for node in tree.body:
                if isinstance(node, ast.ClassDef | ast.FunctionDef):
                    found.setdefault(node.name, set()).add(name)
    twice = {name: where for name, where in found.items() if len(where) > 1 and not name.startswith("_")}
    assert not twice
