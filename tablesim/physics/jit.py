"""One source, two ways to run it: plain Python at once, machine code when ready.

Kernels are written once, in plain Python, and registered by :func:`kernel`; the
types of their arguments are read off their annotations.  Importing them costs
nothing and they run as they stand.  :func:`compiled` gives their compiled twins,
loaded from a cache of our own or made by numba; both give the same numbers to
1e-12.

The cache directory carries the package version and a hash of the physics
sources, because numba does not notice an edited callee in another file.  A
cache that cannot be read is wiped and made again once; where numba is missing
or nothing can be written, the plain path serves.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from importlib import import_module
from pathlib import Path
from types import FunctionType, SimpleNamespace
from typing import Annotated, Any, TypeVar, get_args, get_origin, get_type_hints

KERNEL_MODULES = (
    "cloth", "strike", "ball_ball", "cushion_law", "cushion_stiff", "cushion", "contact_time", "pocket", "pieces",
    "together", "engine", "aim", "trial", "headings", "window",
)  # fmt: skip
# Only these get a compiled twin that Python can call; the others are reached from compiled code alone.
CALLED_FROM_PYTHON = (
    "set_going",
    "advance",
    "begin_heading",
    "try_heading",
    "solve_heading",
    "bounce_cushion",
    "sidespin_after",
)
# Kernels that take one of these are inlined: handing over a hundred numbers costs more than the call is worth.
WIDE = {"Run", "Setup"}
PLAIN_ENV = "TABLESIM_PLAIN"  # set to 1: never use numba
CACHE_ENV = "TABLESIM_CACHE"  # a directory for compiled kernels, instead of the usual one

Kernel = TypeVar("Kernel", bound=Callable[..., Any])
_registry: dict[str, FunctionType] = {}


def kernel(function: Kernel) -> Kernel:
    """Register a function for compilation and return it unchanged.

    Its annotations say what goes in and out: float, int, bool, arrays and
    records of records.py, tuples of these.  Kernels call each other by name, so
    names are unique across the modules and a callee is registered before its
    caller.
    """
    assert isinstance(function, FunctionType)
    known = _registry.setdefault(function.__name__, function)
    if known.__module__ != function.__module__:
        raise ValueError(f"kernel {function.__name__!r} is already registered by {known.__module__}")
    _registry[function.__name__] = function
    return function


def _load_registry() -> dict[str, FunctionType]:
    for name in KERNEL_MODULES:
        import_module(f"tablesim.physics.{name}")
    return _registry


@cache
def plain() -> SimpleNamespace:
    """All kernels as plain Python functions, by name."""
    return SimpleNamespace(**_load_registry())


def source_hash() -> str:
    """Sixteen hex digits that change whenever a physics source changes."""
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def cache_directory() -> Path:
    """Where this version's compiled kernels live (not created here)."""
    from platformdirs import user_cache_path

    from tablesim import __version__

    base = os.environ.get(CACHE_ENV)
    root = Path(base) if base else user_cache_path("tablesim", appauthor=False)
    python = f"py{sys.version_info.major}{sys.version_info.minor}"
    return root / f"kernels-{__version__}-{python}-{source_hash()}"


def _marker() -> Path:
    return cache_directory() / "complete"


def wanted() -> bool:
    """False where the environment asks for plain Python."""
    return os.environ.get(PLAIN_ENV, "") in ("", "0") and os.environ.get("NUMBA_DISABLE_JIT", "") in ("", "0")


def is_prepared() -> bool:
    """True if this version's compiled kernels lie in the cache, ready to load."""
    return wanted() and _marker().is_file()


def _numba_type(hint: Any) -> Any:
    """numba's type for an annotation of a kernel or a field of a record."""
    from numba import types as numba_types

    types: Any = numba_types
    scalars = {float: types.float64, int: types.int64, bool: types.boolean, type(None): types.void}
    if hint in scalars:
        return scalars[hint]
    if get_origin(hint) is Annotated:
        element, axes = hint.__metadata__[0]
        return types.Array(getattr(types, element), axes, "C")
    if get_origin(hint) is tuple:
        return types.Tuple([_numba_type(part) for part in get_args(hint)])
    parts = [_numba_type(part) for part in get_type_hints(hint, include_extras=True).values()]
    return types.NamedUniTuple(parts[0], len(parts), hint) if len(set(parts)) == 1 else types.NamedTuple(parts, hint)


def signature_of(function: FunctionType) -> Any:
    """A kernel's numba signature, from its annotations."""
    hints = get_type_hints(function, include_extras=True)
    returned = _numba_type(hints.pop("return"))
    return returned(*(_numba_type(hint) for hint in hints.values()))


def _entry(twin: Any) -> Callable[..., Any]:
    """The machine code of a compiled kernel, without numba's search for it by the types of the arguments.

    Records cost that search microseconds a call; each kernel has one signature.
    """
    (found,) = twin.overloads.values()
    entry: Callable[..., Any] = found.entry_point
    return entry


def _build(progress: Callable[[str], None]) -> SimpleNamespace:
    """Compile every kernel, or load it from the cache; raises whatever numba raises."""
    import numba

    directory = cache_directory()
    directory.mkdir(parents=True, exist_ok=True)
    setattr(numba.config, "CACHE_DIR", str(directory))  # noqa: B010 - numba declares its settings at run time
    twins: dict[str, Any] = {}
    loading = _marker().is_file()  # what only compiled code calls is part of its callers already
    for name, function in _load_registry().items():
        progress(name)
        # The twin is the same code object, with the compiled callees as its globals.
        twin = FunctionType(function.__code__, {**function.__globals__, **twins}, name, function.__defaults__)
        twin.__module__ = function.__module__
        twin.__qualname__ = name
        options: dict[str, Any] = {
            "no_cpython_wrapper": name not in CALLED_FROM_PYTHON,
            "no_cfunc_wrapper": True,
            "forceinline": name not in CALLED_FROM_PYTHON and not WIDE.isdisjoint(function.__annotations__.values()),
        }
        signature = None if loading and name not in CALLED_FROM_PYTHON else signature_of(function)
        twins[name] = numba.njit(signature, cache=True, nogil=True, **options)(twin)
    _marker().touch()
    return SimpleNamespace(**{name: _entry(twins[name]) for name in CALLED_FROM_PYTHON if name in twins})


@cache
def compiled() -> SimpleNamespace | None:
    """The compiled kernels, by name; None where they cannot be had.

    Compiles in this process (some ten seconds) if the cache is empty: call
    :func:`prepare` first to have that done by a helper process.
    """
    if not wanted():
        return None
    for _attempt in range(2):
        try:
            return _build(lambda name: None)
        except ImportError:
            return None
        except Exception:  # numba's cache raises many kinds: EOFError, UnpicklingError, RuntimeError ...
            shutil.rmtree(cache_directory(), ignore_errors=True)
    return None


def prepare(progress: Callable[[str], None] = lambda name: None) -> bool:
    """Have a helper process fill the cache if it is empty; True if it is full afterwards.

    ``progress`` is called with each kernel's name as the helper begins it.
    """
    if not wanted() or is_prepared():
        return is_prepared()
    command = [sys.executable, "-m", "tablesim.physics.jit"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as helper:
        assert helper.stdout is not None
        try:
            for line in helper.stdout:
                progress(line.strip())
        except BaseException:
            helper.kill()
            raise
    return is_prepared()


def many() -> SimpleNamespace:
    """The kernels for a question of many shots: compiled if that can be had, else plain."""
    return compiled() or plain()


def ready() -> SimpleNamespace:
    """The kernels for a question of some dozens of shots: compiled if they lie ready, half a second to load."""
    return many() if is_prepared() else few()


def few() -> SimpleNamespace:
    """The kernels for a question of a few shots: whatever needs no waiting."""
    return plain() if compiled.cache_info().currsize == 0 else many()


if __name__ == "__main__":  # the helper process
    from tablesim.physics import jit  # the registry lives in the imported module, not in __main__

    with contextlib.suppress(ImportError, KeyboardInterrupt):
        jit._build(lambda name: print(name, flush=True))
