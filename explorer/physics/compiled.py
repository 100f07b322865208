"""The one way in which formulas are compiled: Numba, without the interpreter lock, kept in the cache folder.

Compiled code lives beside the gas tables in the user's cache folder (environment variable ``MHDSTAGE_CACHE``,
else the platform's own place), under a digest of the sources that it came from: Numba itself only notices a change
of a function's own file, not of the functions that were built into it. Where the folder cannot be written,
compilation still works and is only not kept.

Compiled functions cannot have keyword-only arguments; callers name arguments of the same dimension all the same.
"""

import hashlib
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, TypeVar

import numba
from platformdirs import user_cache_path

Result = TypeVar("Result")
Function = TypeVar("Function", bound=Callable[..., Any])

#: Liberties for the compiler: fused multiply-add, reordered sums, reciprocals. NaN and infinity keep their meaning.
_ALLOWED: Final[set[str]] = {"contract", "reassoc", "arcp", "nsz"}


def cache_folder() -> Path:
    """The folder that keeps gas tables and compiled code between runs.

    Returns
    -------
    Path
        ``MHDSTAGE_CACHE`` if that is set, else the user's cache folder of the platform.
    """
    named = os.environ.get("MHDSTAGE_CACHE")
    return Path(named) if named else Path(user_cache_path("mhdstage"))


def _source_digest(package: Path = Path(__file__).parents[1]) -> str:
    """Digest of the sources of the two layers that are compiled, sub-folders included."""
    sources = sorted([*(package / "physics").rglob("*.py"), *(package / "stage").rglob("*.py")])
    return hashlib.sha256(b"\0".join(source.read_bytes() for source in sources)).hexdigest()[:16]


def _keeps_compiled_code() -> bool:
    """Whether compiled code can be kept (a few megabytes are tried, for a disk may be full)."""
    folder = cache_folder() / "compiled" / _source_digest()
    probe = folder / f"probe-{os.getpid()}"
    try:
        fresh = not folder.exists()
        folder.mkdir(parents=True, exist_ok=True)
        probe.write_bytes(bytes(4_000_000))
        probe.unlink()
    except OSError:
        if os.access(folder, os.W_OK):
            probe.unlink(missing_ok=True)
        return False
    if fresh:
        for other in folder.parent.iterdir():
            if other != folder:
                shutil.rmtree(other, ignore_errors=True)
    numba.config.CACHE_DIR = str(folder)
    return True


_KEPT: Final[bool] = _keeps_compiled_code()


def recovering(function: Callable[..., Result], *arguments: Any) -> Result:
    """The result of a compiled function, compiled again if what was kept of it is broken.

    A compiled function of this project raises nothing by itself, so an exception means that the kept code can't be
    read (a truncated file, say): it is thrown away, and the call is made once more.

    Parameters
    ----------
    function : callable
        From `compiled`.
    *arguments
        Its arguments.
    """
    try:
        return function(*arguments)
    except Exception:
        folder = cache_folder() / "compiled" / _source_digest()
        if not (_KEPT and folder.exists()):
            raise
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True, exist_ok=True)
        return function(*arguments)


def compiled(function: Function) -> Function:
    """The function compiled by Numba, releasing the interpreter lock.

    Division by zero follows IEEE 754 (no exception), as in NumPy.

    Parameters
    ----------
    function : callable
        A function of scalars and arrays within Numba's language.
    """
    decorated: Function = numba.njit(cache=_KEPT, nogil=True, error_model="numpy", fastmath=_ALLOWED)(
        function
    )
    return decorated
