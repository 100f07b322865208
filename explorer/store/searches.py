"""What a search has assessed, on disk while it goes on: a killed search begins where it stopped.

One file of lines: a header that says which search it is, then a line for each design. A line counts when it is
whole; what a killed process or a full disk left of one is written over. Numbers are written with all their digits.
"""

import json
import math
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.store.results import ResultsError

_FORMAT: Final = "mhdstage search 1"  #: the number rises when a line changes its meaning
_BEGINNING: Final = b'{"format": "mhdstage search'  #: of every search's file

Assessed = tuple[NDArray[np.float64], NDArray[np.float64]]  #: wishes and margins of one design


@dataclass
class SearchFile:
    """The designs that a search has assessed."""

    path: Path  #: Where they stand
    known: dict[bytes, Assessed]  #: Wishes and margins by a design's key
    _end: int  #: of the last whole line [bytes]

    @property
    def count(self) -> int:
        """How many designs stand there."""
        return len(self.known)

    def extend(self, assessed: Mapping[bytes, Assessed]) -> None:
        """Write a batch of designs."""
        lines = b"".join(_line(key, *item) for key, item in assessed.items())
        with self.path.open("r+b") as file:
            file.seek(self._end)  # over what a failure may have left behind the last whole line
            file.write(lines)
            file.truncate()
        self._end += len(lines)
        self.known.update({key: (_numbers(w), _numbers(m)) for key, (w, m) in assessed.items()})


def search_file(path: Path, header: Mapping[str, object], *, resume: bool) -> SearchFile:
    """Room for a search, or the one that an earlier run left."""
    wanted: dict[str, Any] = json.loads(json.dumps({"format": _FORMAT, **header}))
    if resume:
        return _earlier(path, wanted)
    _refuse_foreign(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    partial = path.with_name(f"{path.name}.partial")
    line = _json_line(wanted)
    partial.write_bytes(line)
    os.replace(partial, path)  # so that no search is there without its header
    return SearchFile(path, {}, len(line))


def _refuse_foreign(path: Path) -> None:
    """Refuse to begin anew over what no search has written."""
    if not path.exists():
        return
    head = b""
    if path.is_file():
        with path.open("rb") as file:
            head = file.read(len(_BEGINNING))
    if head != _BEGINNING:
        raise ResultsError(
            f"{path} is where the search goes, and no search has written it: move it away, or give another --out"
        )


def _earlier(path: Path, wanted: Mapping[str, Any]) -> SearchFile:
    try:
        whole, newline, _ = path.read_bytes().rpartition(
            b"\n"
        )  # behind the last end of line nothing is whole
        first, *lines = whole.split(b"\n")
        header = json.loads(first)
        _refuse_other(path, header, wanted)
        known = dict(map(_design, lines))
    except FileNotFoundError:
        raise ResultsError(
            f"there is no unfinished search in {path} to go on with: leave --resume out"
        ) from None
    except (OSError, ValueError, LookupError, TypeError, AttributeError) as error:
        raise ResultsError(f"{path} can't be read ({error}): leave --resume out to begin anew") from error
    return SearchFile(path, known, len(whole) + len(newline))


def _refuse_other(path: Path, found: Mapping[str, Any], wanted: Mapping[str, Any]) -> None:
    for key in dict.fromkeys((*wanted, *found)):
        if found.get(key) != wanted.get(key):
            what = {
                "format": "the file's format is another",
                "study_hash": "the study has changed",
                "random_number": "the random number is another",
                "version": "the program's version is another",
                "wishes": "what is wanted is another",
                "limits": "the limits are others",
            }.get(key, f"{key} is another")
            raise ResultsError(
                f"the unfinished search in {path} can't be gone on with: {what} since then; restore it, or leave"
                " --resume out to begin anew"
            )


def _line(key: bytes, wishes: NDArray[np.float64], margins: NDArray[np.float64]) -> bytes:
    return _json_line({"design": key.hex(), "wishes": _texts(wishes), "margins": _texts(margins)})


def _json_line(content: Mapping[str, Any]) -> bytes:
    return json.dumps(content, allow_nan=False).encode() + b"\n"


def _texts(numbers: NDArray[np.float64]) -> list[float | str]:
    """Return numbers as JSON has them; it has no NaN and no infinity, which become words."""
    return [x if math.isfinite(x) else str(x) for x in numbers.tolist()]


def _design(line: bytes) -> tuple[bytes, Assessed]:
    found = json.loads(line)
    return bytes.fromhex(found["design"]), (_numbers(found["wishes"]), _numbers(found["margins"]))


def _numbers(written: ArrayLike) -> NDArray[np.float64]:
    return np.array(written, dtype=np.float64)  # of its own; reads "nan" and "inf" too
