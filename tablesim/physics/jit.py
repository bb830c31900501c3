"""One source, two ways to run it: plain Python at once, machine code when ready.

Kernels are written once, in plain Python, and registered by :func:`kernel`
with their numba signature.  Importing them costs nothing and they run as they
stand.  :func:`compiled` gives their compiled twins, loaded from a cache of our
own or made by numba; both give the same numbers to 1e-12.

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
from typing import Any, TypeVar

KERNEL_MODULES = (
    "cloth", "strike", "ball_ball", "cushion_law", "cushion", "contact_time", "pocket", "pieces", "together", "engine",
    "aim", "window",
)  # fmt: skip
# Only these get a compiled twin that Python can call; the others are reached from compiled code alone.
CALLED_FROM_PYTHON = ("set_going", "advance", "try_heading", "solve_headings", "bounce_cushion", "sidespin_after")
PLAIN_ENV = "TABLESIM_PLAIN"  # set to 1: never use numba
CACHE_ENV = "TABLESIM_CACHE"  # a directory for compiled kernels, instead of the usual one

Kernel = TypeVar("Kernel", bound=Callable[..., Any])
_registry: dict[str, tuple[FunctionType, str]] = {}


def kernel(signature: str) -> Callable[[Kernel], Kernel]:
    """Register a function for compilation under its numba ``signature``; return it unchanged.

    Kernels call each other by name, so names are unique across the modules and
    a callee is registered before its caller.
    """

    def register(function: Kernel) -> Kernel:
        known = _registry.get(function.__name__)
        if known is not None and known[0].__module__ != function.__module__:
            raise ValueError(f"kernel {function.__name__!r} is already registered by {known[0].__module__}")
        assert isinstance(function, FunctionType)
        _registry[function.__name__] = (function, signature)
        return function

    return register


def _load_registry() -> dict[str, tuple[FunctionType, str]]:
    for name in KERNEL_MODULES:
        import_module(f"tablesim.physics.{name}")
    return _registry


@cache
def plain() -> SimpleNamespace:
    """All kernels as plain Python functions, by name."""
    return SimpleNamespace(**{name: function for name, (function, _) in _load_registry().items()})


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


def _build(progress: Callable[[str], None]) -> SimpleNamespace:
    """Compile every kernel, or load it from the cache; raises whatever numba raises."""
    import numba

    directory = cache_directory()
    directory.mkdir(parents=True, exist_ok=True)
    setattr(numba.config, "CACHE_DIR", str(directory))  # noqa: B010 - numba declares its settings at run time
    twins: dict[str, Any] = {}
    for name, (function, signature) in _load_registry().items():
        progress(name)
        # The twin is the same code object, with the compiled callees as its globals.
        twin = FunctionType(function.__code__, {**function.__globals__, **twins}, name, function.__defaults__)
        twin.__module__ = function.__module__
        twin.__qualname__ = name
        options: dict[str, Any] = {"no_cpython_wrapper": name not in CALLED_FROM_PYTHON, "no_cfunc_wrapper": True}
        twins[name] = numba.njit(signature, cache=True, nogil=True, **options)(twin)
    _marker().touch()
    return SimpleNamespace(**{name: twins[name] for name in CALLED_FROM_PYTHON if name in twins})


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


def few() -> SimpleNamespace:
    """The kernels for a question of a few shots: whatever needs no waiting."""
    return plain() if compiled.cache_info().currsize == 0 else many()


if __name__ == "__main__":  # the helper process
    from tablesim.physics import jit  # the registry lives in the imported module, not in __main__

    with contextlib.suppress(ImportError, KeyboardInterrupt):
        jit._build(lambda name: print(name, flush=True))
