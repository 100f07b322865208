"""Compiled code between runs: one file a function and signature, checked before it is loaded.

Numba's own files are loaded by unpickling whatever stands in them. Here a file begins with the digest of the rest: one
that was damaged (a hole, a flipped bit, a lost end) is thrown away, said once, and compiled anew. A digest is no
signature, since who can write a file can write its digest as well: so nothing is loaded from a folder that anybody
else may write to.

Files lie in the cache folder under a digest of all sources that they may have come from, for Numba notices only a
change of a function's own file, not of the functions that were built into it. Checkouts with other sources have other
folders, side by side; the ones not used for longest go. Where nothing can be written, code is compiled and not kept.
"""

import contextlib
import hashlib
import os
import pickle
import shutil
import stat
import sys
import warnings
from functools import lru_cache
from operator import attrgetter
from pathlib import Path
from typing import Any, Final

import llvmlite
import numba
from numba.core.caching import NullCache
from numba.core.compiler import CompileResult
from numba.core.serialize import dumps
from platformdirs import user_cache_path

MOST_FOLDERS: Final[int] = 8  #: of compiled code, some 20 MB each
_DIGEST: Final[int] = hashlib.sha256().digest_size  #: [bytes]

_VERSIONS: Final = f"{numba.__version__} {llvmlite.__version__} {sys.implementation.cache_tag}"


class CacheWarning(UserWarning):
    """Something kept between runs can't be used, and is made anew; the message says why."""


def has_code() -> bool:
    """Whether code is kept for these sources, so that a run needn't begin with compiling."""
    folder = _folder_in(cache_folder())
    return folder is not None and any(folder.glob("*.code"))


def cache_folder() -> Path:
    """The folder that keeps gas tables and compiled code between runs.

    Returns
    -------
    Path
        ``MHDSTAGE_CACHE`` if that is set, else the user's cache folder of the platform.
    """
    named = os.environ.get("MHDSTAGE_CACHE")
    return Path(named) if named else Path(user_cache_path("mhdstage"))


@lru_cache(maxsize=1)
def _source_digest(package: Path = Path(__file__).parents[1]) -> str:
    """Digest of the sources of the two layers that are compiled, sub-folders included."""
    sources = sorted([*(package / "physics").rglob("*.py"), *(package / "stage").rglob("*.py")])
    return hashlib.sha256(b"\0".join(source.read_bytes() for source in sources)).hexdigest()[:16]


def _writable_by(state: os.stat_result) -> str:
    """Who else may write to a file or folder, in words; empty for nobody."""
    if os.name != "posix":
        return ""
    if state.st_uid not in (os.geteuid(), 0):
        return "it belongs to another user"
    if state.st_mode & stat.S_IWOTH:
        return "everybody may write to it"
    if state.st_mode & stat.S_IWGRP and not _is_own_group(state.st_gid):
        return "a group may write to it"
    return ""


def _is_own_group(group: int) -> bool:
    """Whether a group is the one that many systems give each user, with nobody else in it."""
    import grp  # not on every platform, and asked for only where a group may write
    import pwd

    with contextlib.suppress(KeyError):
        user, found = pwd.getpwuid(os.geteuid()).pw_name, grp.getgrgid(group)
        return found.gr_name == user and not set(found.gr_mem) - {user}
    return False


@lru_cache(maxsize=8)
def _folder_in(cache: Path) -> Path | None:
    """The folder of a cache that holds this checkout's code, None where nothing may be read; it is said once."""
    folder = cache / "compiled" / _source_digest()
    with contextlib.suppress(OSError):
        if not folder.exists():
            _drop_oldest(folder.parent)
        for place in (cache, folder.parent, folder):
            place.mkdir(mode=0o700, parents=True, exist_ok=True)
        os.utime(folder)
    for place in (cache, folder.parent, folder):
        why = _writable_by(place.stat()) if place.exists() else ""
        if why:
            warnings.warn(
                f"compiled code is neither read from {place} nor kept there, for {why}: half a minute of each run goes"
                f" into compiling, until it is yours alone (chmod go-w {place}) or --cache names another",
                CacheWarning,
                stacklevel=2,
            )
            return None
    return folder


def _drop_oldest(parent: Path) -> None:
    """Make room for one folder more: the ones go that were not used for longest."""
    others = sorted(parent.glob("*"), key=lambda place: place.stat().st_mtime)
    for place in others[: max(0, len(others) + 1 - MOST_FOLDERS)]:
        shutil.rmtree(place, ignore_errors=True)


class KeptCode(NullCache):  # type: ignore[misc]  # Numba has no types
    """What Numba asks for a function's compiled code before it compiles, and gives it to afterwards."""

    def __init__(self, function: Any) -> None:
        self._name = f"{function.__module__}.{function.__qualname__}".removeprefix("explorer.")
        self._line = function.__code__.co_firstlineno

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return the compiled function for a signature, None where it must be compiled."""
        target_context.refresh()
        folder = _folder_in(cache_folder())
        if folder is None:
            return None
        path = self._path(folder, sig, target_context.codegen())
        try:
            kept = _sound(path)
        except OSError:
            return None
        if kept is None:
            _say_damaged(folder)
            return None
        return CompileResult._rebuild(target_context, *pickle.loads(kept))

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep a function that was compiled for a signature; where that can't be, it isn't."""
        folder = _folder_in(cache_folder())
        lifted, library = attrgetter("lifted", "library")(data)
        if folder is None or lifted or library.has_dynamic_globals:
            return
        path = self._path(folder, sig, data.codegen)
        partial = path.with_suffix(f".{os.getpid()}.partial")
        kept = dumps(data._reduce())
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            partial.touch(mode=0o644)
            partial.write_bytes(hashlib.sha256(kept).digest() + kept)
            partial.replace(path)
        except OSError:
            with contextlib.suppress(OSError):
                partial.unlink()

    def _path(self, folder: Path, sig: Any, codegen: Any) -> Path:
        shaped_by = f"{sig} {codegen.magic_tuple()} {_VERSIONS} {self._line}"
        return folder / f"{self._name}.{hashlib.sha256(shaped_by.encode()).hexdigest()[:16]}.code"


def _sound(path: Path) -> memoryview | None:
    """What a file keeps; None where it is damaged or anybody else could have put it there: it is thrown away then."""
    with path.open("rb") as file:
        foreign = _writable_by(os.fstat(file.fileno()))
        whole = b"" if foreign else file.read()
    kept = memoryview(whole)[_DIGEST:]
    if whole and hashlib.sha256(kept).digest() == whole[:_DIGEST]:
        return kept
    with contextlib.suppress(OSError):
        path.unlink()
    return None


@lru_cache(maxsize=8)
def _say_damaged(folder: Path) -> None:
    warnings.warn(
        f"kept compiled code was damaged and is compiled anew, which takes up to half a minute ({folder})",
        CacheWarning,
        stacklevel=2,
    )
