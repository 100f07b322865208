"""[calibrated]: what firings taught, as a joint sample beside the study, put in place of what the study states.

Each learnt input keeps its scatter and gets the draws' own distribution; inputs hang together by a Gaussian copula with
the draws' rank correlations, so that all plans in the unit cube go on as they are. What such a copula loses is the
shape of a bent dependence: see the measured case in tests/questions/calibrate/test_calibrated_study.py.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import combinations
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from explorer.space import Correlation, Empirical, InputSpace, Uncertain
from explorer.store import JointSample, JointSampleError, read_joint_sample
from explorer.studyfile.error import StudyError, refusal
from explorer.studyfile.sections.table import Table, Text

_KEY: Final = "calibrated"

#: Rank correlations below so many of their sampling errors are taken as none, and the largest that is kept [-].
_SEEN, _LARGEST = 3.0, 0.99

#: By which all are drawn together until they can hold at once, and how often at most [-].
_EASED, _TRIES, _SMALLEST = 0.98, 100, 1e-6


class CalibratedTable(Table):
    """[calibrated]."""

    sample: Text
    takes: Text = "all"
    of: Text | None = None
    firings: list[str] = Field(default_factory=list)


@dataclass(frozen=True)
class Calibrated:
    """What a study takes from a calibration."""

    sample: str  #: the file's name
    study: str  #: title of the study that was learnt about
    of: str  #: name of its file; empty where it isn't said
    firings: tuple[str, ...]
    learnt: tuple[str, ...]  #: addresses of the inputs that are taken
    model_errors: Mapping[str, Empirical]  #: by output, the factor that the model is off by
    #: Between these and inputs, and among them, by the addresses of both.
    model_correlations: tuple[Correlation, ...]
    before: InputSpace = field(
        repr=False, compare=False, default_factory=InputSpace
    )  #: what the study states

    def as_resolved(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {
            "sample": self.sample,
            "study": self.study,
            "firings": list(self.firings),
            "learnt": list(self.learnt),
            "model_errors": {output: repr(own) for output, own in sorted(self.model_errors.items())},
        }


@lru_cache(maxsize=8)
def _read(path: Path, changed: int) -> JointSample:
    """Return the sample of a file, read once until it changes."""
    return read_joint_sample(path)


def calibrated(
    table: CalibratedTable | None, space: InputSpace, notes: list[str]
) -> tuple[InputSpace, Calibrated | None]:
    """Return the space with what was learnt put in, and what that is; notes tell what could not be."""
    if table is None:
        return space, None
    if table.takes not in ("all", "shared"):
        raise refusal(f"{_KEY}.takes", f'expected "all" or "shared", got {table.takes}')
    path = Path(table.sample)
    try:
        sample = _read(path, path.stat().st_mtime_ns)
    except FileNotFoundError:
        raise StudyError(
            f"{path}: no such file; `mhdstage calibrate` writes it beside the study", _KEY
        ) from None
    except (OSError, JointSampleError) as error:
        raise refusal(f"{_KEY}.sample", error) from error
    inputs = _inputs(sample, space, only_shared=table.takes == "shared", notes=notes)
    factors = {
        column.name: place
        for place, column in enumerate(sample.columns)
        if column.kind == "model" and table.takes == "all"
    }
    ties = _correlations(sample, {**inputs, **factors})
    learnt = [_learnt(item, sample, inputs.get(item.address)) for item in space.inputs]
    kept = [c for c in space.correlations if c.part == "scatter" or not set(c.between) <= set(inputs)]
    among = [c for c in ties if not set(c.between) & set(factors)]
    others = tuple(c for c in ties if set(c.between) & set(factors))
    errors = {output: Empirical(tuple(sample.draws[:, place].tolist())) for output, place in factors.items()}
    found = Calibrated(
        path.name, sample.study, table.of or "", sample.firings, tuple(inputs), errors, others, space
    )
    return InputSpace(tuple(learnt), (*kept, *among)), found


def _inputs(sample: JointSample, space: InputSpace, *, only_shared: bool, notes: list[str]) -> dict[str, int]:
    """Return the columns of the inputs that the study still states as it did when it was calibrated."""
    found: dict[str, int] = {}
    taken: set[str] = set()
    for item in space.inputs:
        for place, column in enumerate(sample.columns):
            one = column.shared == item.shared if only_shared or item.shared else column.name == item.address
            if column.kind != "input" or not one or item.unknown is None or (only_shared and not item.shared):
                continue
            if column.prior != repr(item.unknown):
                notes.append(f"what was learnt of {column.name} is left out: it was stated otherwise then")
            elif item.shared is None or item.shared not in taken:
                found[item.address] = place
                taken.add(item.shared or item.address)
    return found


def _learnt(item: Uncertain, sample: JointSample, place: int | None) -> Uncertain:
    if place is None:
        return item
    return replace(item, unknown=Empirical(tuple(sample.draws[:, place].tolist())))


def _correlations(sample: JointSample, places: Mapping[str, int]) -> list[Correlation]:
    """Return the rank correlations that can be told from none, eased until all can hold together."""
    names = [*places]
    if len(names) < 2:
        return []
    from scipy.stats import rankdata  # loads slowly, and few studies are calibrated

    ranks = np.column_stack([rankdata(sample.draws[:, places[name]]) for name in names])
    matrix = np.atleast_2d(np.corrcoef(ranks, rowvar=False))
    matrix[np.abs(matrix) < _SEEN / np.sqrt(len(ranks))] = 0.0
    matrix = np.clip(matrix, -_LARGEST, _LARGEST)
    for _ in range(_TRIES):
        if _possible(matrix):
            break
        matrix = _EASED * matrix
    return [
        Correlation((names[i], names[j]), float(matrix[i, j]))
        for i, j in combinations(range(len(names)), 2)
        if matrix[i, j] != 0.0
    ]


def _possible(ranks: NDArray[np.float64]) -> bool:
    scores = 2.0 * np.sin(np.pi * ranks / 6.0)
    np.fill_diagonal(scores, 1.0)
    return bool(np.linalg.eigvalsh(scores).min() > _SMALLEST)
