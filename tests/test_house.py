"""The house: one-way imports, what ships, and how long things have grown."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import tablesim

ROOT = Path(tablesim.__file__).parent
# Who may import whom; later layers may import earlier ones.
LAYERS = {
    "physics": {"physics", "errors"},
    "model": {"physics", "model", "errors", "interrupts", "units"},
    "study": {"physics", "model", "study", "errors", "units"},
    "staging": {"physics", "model", "study", "staging", "errors", "units"},
    "scene": {"physics", "model", "study", "scene", "errors", "units"},
    "output": {"physics", "model", "study", "scene", "output", "errors", "units"},
    "view": {
        "physics", "model", "study", "staging", "scene", "output", "view", "errors", "interrupts", "units", "resources",
    },
}  # fmt: skip
MOST_LINES_FILE, MOST_LINES_FUNCTION, MOST_PARAMETERS = 400, 50, 8
A_COMMAND = "its options are its parameters"
# What may be larger than that, and why.  An entry that is no longer needed fails: the list only shrinks.
TOO_LONG: dict[str, str] = {}
TOO_MANY_PARAMETERS = {
    "tablesim/commands/calibrate.py calibrate_cue": A_COMMAND,
    "tablesim/commands/laws.py law_strike": A_COMMAND,
    "tablesim/commands/pictures.py still": A_COMMAND,
    "tablesim/commands/pictures.py clip": A_COMMAND,
    "tablesim/commands/series.py series": A_COMMAND,
}


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


# The rooms of the window: later ones may import earlier ones.
ROOMS = ("numbers", "answers", "document", "controls", "table", "pages", "window")


def test_the_rooms_of_the_window_import_one_way() -> None:
    for place, room in enumerate(ROOMS):
        for path in (ROOT / "view" / room).rglob("*.py"):
            for name in imports_of(path):
                parts = name.split(".")
                if parts[:2] == ["tablesim", "view"] and len(parts) > 2:
                    assert parts[2] in ROOMS[: place + 1], f"{path.name} imports {name}"


def test_the_document_loads_no_screen() -> None:
    files = [f"tablesim.view.document.{path.stem}" for path in (ROOT / "view" / "document").glob("[a-z]*.py")]
    code = f"import sys, {', '.join(files)}; print([m for m in ('pygame', 'matplotlib', 'numba') if m in sys.modules])"
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


def sources() -> list[Path]:
    """Every file of the package and of the tests."""
    return [path for folder in (ROOT, Path(__file__).parent) for path in sorted(folder.rglob("*.py"))]


def functions() -> Iterator[tuple[str, ast.FunctionDef]]:
    """Every function with its name, its file's before it."""
    for path in sources():
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.FunctionDef):
                yield f"{path.relative_to(ROOT.parent).as_posix()} {node.name}", node


def lines_of(function: ast.FunctionDef) -> int:
    """From its first line to its last, without decorators."""
    return (function.end_lineno or 0) - function.lineno + 1


def parameters_of(function: ast.FunctionDef) -> int:
    """All that can be handed in, but for the object itself."""
    a = function.args
    names = [arg.arg for arg in (*a.posonlyargs, *a.args, *a.kwonlyargs, a.vararg, a.kwarg) if arg is not None]
    return len(names) - (names[:1] in (["self"], ["cls"]))


def test_files_are_short_enough_to_be_read() -> None:
    assert [path.name for path in sources() if len(path.read_text().splitlines()) > MOST_LINES_FILE] == []


def test_functions_are_short_but_for_the_named_ones() -> None:
    assert {name for name, node in functions() if lines_of(node) > MOST_LINES_FUNCTION} == set(TOO_LONG)


def test_functions_take_few_parameters_but_for_the_named_ones() -> None:
    assert {name for name, node in functions() if parameters_of(node) > MOST_PARAMETERS} == set(TOO_MANY_PARAMETERS)


def test_lines_and_parameters_are_counted() -> None:
    """By hand, on a function that has one of each kind."""
    (node,) = ast.parse("@x\ndef f(self, a, /, b, *c, d=1, **e):\n    pass\n\n    pass\n").body
    assert isinstance(node, ast.FunctionDef)
    assert (lines_of(node), parameters_of(node)) == (4, 5)


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
    left = {name: imported_by(name, modules) for name in modules}
    while free := [name for name, needs in left.items() if not needs & left.keys()]:
        for name in free:
            del left[name]
    assert not left


def test_names_have_one_meaning() -> None:
    """But a command bears the name of its question, and the window's names are its own."""
    found: dict[str, set[str]] = {}
    for name, tree in trees().items():
        if ".commands" not in name:
            for node in tree.body:
                if isinstance(node, ast.ClassDef | ast.FunctionDef):
                    found.setdefault(node.name, set()).add(name)
    twice = {name: where for name, where in found.items() if len(where) > 1 and not name.startswith("_")}
    assert not twice
