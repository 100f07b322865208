"""Gas tables in the cache folder.

A cached file is written under a temporary name and renamed, so two runs that build the same table do no harm; one
that is broken, truncated or foreign is thrown away and built anew; a folder that can't be written is no reason to
fail. Nothing is pickled.
"""

import contextlib
import os
import zipfile
import zlib
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

#: Most that the cached gas tables may take [bytes]; the ones not used for longest go first.
LARGEST_CACHE: Final[int] = 400_000_000


def read_table(
    folder: Path, key: str, axes: NDArray[np.float64], shape: tuple[int, ...]
) -> NDArray[np.float32] | None:
    """A gas table from the cache."""
    path = folder / "tables" / f"{key}.npz"
    try:
        with path.open("rb") as opened, np.load(opened, allow_pickle=False) as file:
            coefficients, stored, digest = file["coefficients"], file["axes"], int(file["digest"])
        sound = (
            coefficients.dtype == np.float32
            and coefficients.shape == shape
            and np.array_equal(stored, axes)
            and zlib.crc32(coefficients.tobytes()) == digest
            and bool(np.isfinite(coefficients).all())
        )
        if sound:
            with contextlib.suppress(OSError):
                os.utime(path)  # used just now
            return np.asarray(coefficients)
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, zipfile.BadZipFile, zlib.error, EOFError, TypeError, MemoryError):
        pass
    with contextlib.suppress(OSError):
        path.unlink()
    return None


def write_table(folder: Path, key: str, coefficients: NDArray[np.float32], axes: NDArray[np.float64]) -> bool:
    """Keep a gas table in the cache."""
    path = folder / "tables" / f"{key}.npz"
    partial = path.with_name(f"{key}.{os.getpid()}.partial")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with partial.open("wb") as file:
            digest = np.uint32(zlib.crc32(coefficients.tobytes()))
            np.savez(file, coefficients=coefficients, axes=axes, digest=digest)
        partial.replace(path)
        _bound(path.parent)
    except OSError:
        with contextlib.suppress(OSError):
            partial.unlink()
        return False
    return True


def _bound(folder: Path) -> None:
    """Remove the tables not used for longest until the rest fits."""
    tables = sorted(folder.glob("*.npz"), key=lambda path: path.stat().st_mtime, reverse=True)
    total = 0
    for path in tables:
        total += path.stat().st_size
        if total > LARGEST_CACHE and path != tables[0]:
            with contextlib.suppress(OSError):
                path.unlink()
