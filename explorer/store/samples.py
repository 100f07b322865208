"""Samples on disk while a run goes on: chunks written as they come, so that memory stays flat and nothing is lost.

Plain files written at their place, not mapped into memory: a full disk is then an error that can be told, and what
a killed process had written stands. A chunk counts as done when its mark is set, after its values.
"""

import json
import os
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.store.results import ResultsError

_VALUES, _OUTCOMES, _DONE, _HEADER = "values.bin", "outcomes.bin", "done.bin", "sample.json"
_FLOAT: Final[int] = 8


def sample_bytes(points: int, quantities: int) -> int:
    """Size of a sample on disk [bytes]."""
    return points * (_FLOAT * quantities + 1)


@dataclass(frozen=True)
class SampleFiles:
    """A sample in files: values quantity after quantity, outcomes, a mark for each chunk."""

    folder: Path  #: Where they lie
    points: int  #: [-] sizes
    quantities: int  #: [-] sizes
    chunk_points: int  #: [-] sizes

    def done(self, chunk: int) -> bool:
        """Whether a chunk stands there."""
        with (self.folder / _DONE).open("rb") as file:
            file.seek(chunk)
            return file.read(1) == b"\1"

    def write(self, chunk: int, values: NDArray[np.float64], outcomes: NDArray[np.int8]) -> None:
        """Write a chunk."""
        first = chunk * self.chunk_points
        with (self.folder / _VALUES).open("r+b") as file:
            for quantity in range(self.quantities):
                file.seek(_FLOAT * (quantity * self.points + first))
                file.write(np.ascontiguousarray(values[:, quantity]).tobytes())
        with (self.folder / _OUTCOMES).open("r+b") as file:
            file.seek(first)
            file.write(np.ascontiguousarray(outcomes, dtype=np.int8).tobytes())
        with (self.folder / _DONE).open("r+b") as file:
            file.seek(chunk)
            file.write(b"\1")

    def chunk(self, chunk: int) -> tuple[NDArray[np.float64], NDArray[np.int8]]:
        """A chunk as it was written: values (points of a chunk, quantities), outcomes."""
        first, size = chunk * self.chunk_points, self.chunk_points
        columns = [
            np.fromfile(
                self.folder / _VALUES, np.float64, size, offset=_FLOAT * (quantity * self.points + first)
            )
            for quantity in range(self.quantities)
        ]
        return np.column_stack(columns), np.fromfile(self.folder / _OUTCOMES, np.int8, size, offset=first)

    def column(self, quantity: int) -> NDArray[np.float64]:
        """All values of one quantity, in the order of the chunks."""
        return np.fromfile(
            self.folder / _VALUES, np.float64, self.points, offset=_FLOAT * quantity * self.points
        )

    def outcomes(self) -> NDArray[np.int8]:
        """All outcomes, in the order of the chunks."""
        return np.fromfile(self.folder / _OUTCOMES, np.int8, self.points)

    def chunks_done(self) -> int:
        """How many chunks stand there."""
        return (self.folder / _DONE).read_bytes().count(b"\1")


def sample_files(
    folder: Path,
    header: Mapping[str, object],
    *,
    points: int,
    quantities: Sequence[str],
    chunk_points: int,
    resume: bool,
) -> SampleFiles:
    """Room for a sample, or the one that an earlier run left."""
    wanted = {**header, "points": points, "quantities": list(quantities), "chunk_points": chunk_points}
    files = SampleFiles(folder, points, len(quantities), chunk_points)
    if resume:
        _refuse_other(folder, wanted)
        return files
    _remove_earlier(folder)
    folder.mkdir(parents=True)
    sizes = (
        (_VALUES, _FLOAT * points * len(quantities)),
        (_OUTCOMES, points),
        (_DONE, points // chunk_points),
    )
    for name, size in sizes:
        with (folder / name).open("wb") as file:
            file.truncate(size)
    partial = folder / f"{_HEADER}.partial"
    partial.write_text(json.dumps(wanted, indent=1), encoding="utf-8")
    os.replace(partial, folder / _HEADER)  # the header comes last: a folder without one is no sample
    return files


def _remove_earlier(folder: Path) -> None:
    """Remove the sample of an earlier run, and nothing else that may lie there."""
    if not folder.exists():
        return
    own = {_VALUES, _OUTCOMES, _DONE, _HEADER, f"{_HEADER}.partial"}
    foreign = sorted(path.name for path in folder.iterdir() if path.name not in own)
    if foreign:
        raise ResultsError(
            f"{folder} is where the sample goes, and holds {foreign[0]}, which no run has written: move it away, or"
            " give another --out"
        )
    shutil.rmtree(folder)


def _refuse_other(folder: Path, wanted: Mapping[str, object]) -> None:
    try:
        found = json.loads((folder / _HEADER).read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise ResultsError(
            f"there is no unfinished run in {folder} to go on with: leave --resume out"
        ) from None
    except (OSError, ValueError) as error:
        raise ResultsError(f"{folder} can't be read ({error}): leave --resume out to begin anew") from error
    for key, value in wanted.items():
        if found.get(key) != value:
            what = {
                "study_hash": "the study has changed",
                "random_number": "the random number is another",
                "points": "the number of samples is another",
                "quantities": "the quantities are others",
            }.get(key, f"{key} is another")
            raise ResultsError(
                f"the unfinished run in {folder} can't be gone on with: {what} since then. Restore it, or leave"
                " --resume out to begin anew"
            )
