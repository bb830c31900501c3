"""One source, two ways to run it: plain Python at once, machine code when ready.

Kernels are written once, in plain Python, and registered by :func:`kernel`; the
types of their arguments are read off their annotations.  Importing them costs
nothing and they run as they stand.  :func:`compiled` gives their compiled twins,
loaded from a cache of our own or made by numba; both give the same numbers to
1e-12.  :func:`engine` alone decides which of the two a question runs with, unless
:func:`using` says so.

The cache directory carries the package version, Python's, and a hash of the
physics sources (numba does not notice an edited callee in another file), of
where they lie and of numba's version (numba finds its files by them).  A cache
that cannot be read is wiped and made again once; where numba is missing or
nothing can be written, the plain path serves.  What lies in the cache is code:
one that others own or may write into is refused (:func:`refusal`), nothing is
read from there and the plain path serves.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import stat
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextvars import ContextVar
from functools import cache
from importlib import import_module
from pathlib import Path
from types import FunctionType, SimpleNamespace
from typing import Annotated, Any, TypeVar, get_args, get_origin, get_type_hints

KERNEL_MODULES = (
    "cloth", "strike", "ball_ball", "cushion_law", "cushion_stiff", "cushion", "contact_time", "pocket", "pieces",
    "together", "wedge", "engine", "aim", "trial", "headings", "potting",
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
# Of these modules before they are compiled: each compiled one would carry all below it, a second each.  The kernels
# of the others are called from too many places for that, and are inlined as machine code.
INLINED_UNCOMPILED = ("engine", "trial", "headings", "potting")
PLAIN_ENV = "TABLESIM_PLAIN"  # set to 1: never use numba
CACHE_ENV = "TABLESIM_CACHE"  # a directory for compiled kernels, instead of the usual one

Kernel = TypeVar("Kernel", bound=Callable[..., Any])
_registry: dict[str, FunctionType] = {}
_loading = threading.Lock()  # held while kernels are compiled or loaded
_told: ContextVar[SimpleNamespace | None] = ContextVar("engine", default=None)


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


@cache
def _numba_version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("numba")
    except PackageNotFoundError:
        return "none"


def installation_hash() -> str:
    """Eight hex digits of all that numba finds its files by, but for Python's version: path and age of the sources."""
    ages = [(path.name, path.stat().st_mtime_ns) for path in sorted(Path(__file__).parent.glob("*.py"))]
    by = (str(Path(__file__).absolute().parent), _numba_version(), ages)
    return hashlib.sha256(repr(by).encode()).hexdigest()[:8]


def cache_root() -> Path:
    """The folder in which compiled kernels are kept, of all versions and installations."""
    from platformdirs import user_cache_path

    base = os.environ.get(CACHE_ENV)
    return Path(base).absolute() if base else user_cache_path("tablesim", appauthor=False)


def cache_directory() -> Path:
    """Where this installation's compiled kernels live (not created here)."""
    from tablesim import __version__

    python = f"py{sys.version_info.major}{sys.version_info.minor}"
    return cache_root() / f"kernels-{__version__}-{python}-{source_hash()}-{installation_hash()}"


def _foreign(folder: Path, owners: tuple[int, ...], writers: int, sticky: bool) -> bool:
    """True if a folder belongs to none of the owners, if any are named, or if such writers (bits) may change it.

    ``sticky``: it does not matter who may write where nobody can touch what is another's.
    """
    try:
        found = folder.lstat()
    except OSError:
        return False
    if stat.S_ISLNK(found.st_mode) or (owners and found.st_uid not in owners):
        return True
    return bool(found.st_mode & writers) and not (sticky and found.st_mode & stat.S_ISVTX)


def refusal() -> str | None:
    """Why kernels must be neither read from the cache nor kept there, and the way out; None if they may.

    POSIX only.  The directory has to be this user's and closed to other
    writers; the folder it lies in this user's or the system's, likewise; the
    folders above must not be open to everybody.
    """
    if os.name != "posix":
        return None
    group_too = stat.S_IWGRP | stat.S_IWOTH
    directory, user = cache_directory(), os.geteuid()
    root = directory.parent.resolve()
    checks = (
        (directory, (user,), group_too, False),
        (root, (user, 0), group_too, True),
        *((above, (), stat.S_IWOTH, True) for above in root.parents),
    )
    culprit = next((check[0] for check in checks if _foreign(*check)), None)
    if culprit is None:
        return None
    return (
        f"{culprit}: others own it or may write into it, so no compiled engine is read from there, and plain Python"
        f" serves, which is slower; close it to others (chmod go-w), or name a folder of your own in {CACHE_ENV}"
    )


def _marker() -> Path:
    return cache_directory() / "complete"


def wanted() -> bool:
    """False where the environment asks for plain Python."""
    return os.environ.get(PLAIN_ENV, "") in ("", "0") and os.environ.get("NUMBA_DISABLE_JIT", "") in ("", "0")


def is_prepared() -> bool:
    """True if this version's compiled kernels lie in the cache, ready to load."""
    return wanted() and _marker().is_file() and refusal() is None


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


def _make_private(directory: Path) -> None:
    """The cache's directory, closed to others; OSError if it is not and others may have been there."""
    for folder in (directory.parent, directory):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if (why := refusal()) is not None:
        raise PermissionError(why)


@contextlib.contextmanager
def _our_cache(directory: Path) -> Iterator[None]:
    """numba finds its files in a directory of ours; other people's functions have theirs before and after."""
    from numba import config

    theirs = config.CACHE_DIR  # type: ignore[attr-defined]
    setattr(config, "CACHE_DIR", str(directory))  # noqa: B010 - numba declares its settings at run time
    try:
        yield
    finally:
        setattr(config, "CACHE_DIR", theirs)  # noqa: B010


def _compiled_twin(twin: FunctionType, signature: Any, directory: Path, options: dict[str, Any]) -> Any:
    """numba's dispatcher of a kernel, its files in ``directory``; without a signature it is compiled on first use."""
    import numba

    dispatcher = numba.njit(**options)(twin)
    with _our_cache(directory):  # where the files lie is settled here, once for all
        dispatcher.enable_caching()
    if signature is not None:
        dispatcher.compile(signature)
        dispatcher.disable_compile()
    return dispatcher


def _build(progress: Callable[[str], object]) -> SimpleNamespace:
    """Compile every kernel, or load it from the cache; raises whatever numba raises."""
    directory = cache_directory()
    _make_private(directory)
    twins: dict[str, Any] = {}
    loading = _marker().is_file()  # what only compiled code calls is part of its callers already
    for name, function in _load_registry().items():
        progress(name)
        # The twin is the same code object, with the compiled callees as its globals.
        twin = FunctionType(function.__code__, {**function.__globals__, **twins}, name, function.__defaults__)
        twin.__module__ = function.__module__
        twin.__qualname__ = name
        called = name in CALLED_FROM_PYTHON
        inlined = not called and not WIDE.isdisjoint(function.__annotations__.values())
        uncompiled = inlined and function.__module__.rpartition(".")[2] in INLINED_UNCOMPILED
        options: dict[str, Any] = {
            "nogil": True,
            "no_cpython_wrapper": not called,
            "no_cfunc_wrapper": True,
            "forceinline": inlined and not uncompiled,
            "inline": "always" if uncompiled else "never",
        }
        signature = None if uncompiled or (loading and not called) else signature_of(function)
        twins[name] = _compiled_twin(twin, signature, directory, options)
    _marker().touch()
    return SimpleNamespace(**{name: _entry(twins[name]) for name in CALLED_FROM_PYTHON if name in twins})


def compiled() -> SimpleNamespace | None:
    """The compiled kernels, by name; None where they cannot be had.

    Compiles in this process (some ten seconds) if the cache is empty: call
    :func:`prepare` first to have that done by a helper process.
    """
    with _loading:
        return _compiled_once()


@cache
def _compiled_once() -> SimpleNamespace | None:
    if not wanted() or refusal() is not None:
        return None
    for _attempt in range(2):
        try:
            return _build(lambda name: None)
        except ImportError:
            return None
        except Exception:  # numba's cache raises many kinds: EOFError, UnpicklingError, RuntimeError ...
            if refusal() is not None:
                return None
            shutil.rmtree(cache_directory(), ignore_errors=True)
    return None


# A helper looks for modules where Python itself does and, for this package alone, where it was loaded from.
_HELPER = (
    "import sys, runpy; sys.path.insert(0, sys.argv[1]); import tablesim; del sys.path[0], sys.argv[1];"
    " runpy.run_module(sys.argv.pop(1), run_name='__main__', alter_sys=True)"
)


def helper_command(module: str) -> list[str]:
    """The command that runs a module of this package in a process that finds no module in the current folder.

    Lessons are handed on in folders with whatever else: a pickle.py beside one must not be what a helper imports.
    """
    return [sys.executable, "-P", "-c", _HELPER, str(Path(__file__).absolute().parents[2]), module]


def prepare(progress: Callable[[str], object] | None = None) -> bool:
    """Have the engine compiled, if it is not yet, and load it; True if it serves from now on, in every thread.

    Once for an installation, in half a minute, by a process of its own;
    ``progress`` is called with each kernel's name as it begins.  Later calls load
    what lies ready, in half a second.  False where plain Python has to serve: no
    numba, no place to keep compiled code, or one that others may write into.

    >>> engine_is_fast = ts.prepare()
    """
    if not wanted() or refusal() is not None:
        return False
    if not is_prepared():
        _have_compiled(progress or (lambda name: None))
    return is_prepared() and compiled() is not None


def _have_compiled(progress: Callable[[str], object]) -> None:
    """Have a helper process fill the cache."""
    command = helper_command("tablesim.physics.jit")
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as helper:
        assert helper.stdout is not None
        try:
            for line in helper.stdout:
                progress(line.strip())
        except BaseException:
            helper.kill()
            raise


def engine() -> SimpleNamespace:
    """The kernels that a question runs with: the compiled ones if they lie ready or are loaded, else plain.

    Nothing is compiled here, which is for :func:`prepare`.  The first call looks
    whether compiled kernels lie ready and loads them, in half a second; inside
    :func:`using` it is the kernels named there.
    """
    return _told.get() or _loaded_if_ready() or at_hand()


@contextlib.contextmanager
def using(kernels: SimpleNamespace) -> Iterator[None]:
    """Questions inside run with these kernels: in this thread, not in those that it starts."""
    token = _told.set(kernels)
    try:
        yield
    finally:
        _told.reset(token)


@cache
def _loaded_if_ready() -> SimpleNamespace | None:
    """The compiled kernels if they lay ready at the first call."""
    return compiled() if is_prepared() else None


def at_hand() -> SimpleNamespace:
    """The kernels that need no waiting, not even for another thread: compiled if they are loaded, else plain."""
    return (_compiled_once() if _compiled_once.cache_info().currsize else None) or plain()


if __name__ == "__main__":  # the helper process
    from tablesim.physics import jit  # the registry lives in the imported module, not in __main__

    with contextlib.suppress(ImportError, KeyboardInterrupt):
        jit._build(lambda name: print(name, flush=True))
