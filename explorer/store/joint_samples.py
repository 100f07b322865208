"""Joint samples beside a study: equally likely draws of what is fixed but not known, a column each."""

import json
import os
import zipfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

_FORMAT: Final = 1


class JointSampleError(ValueError):
    """A file that is no joint sample."""


@dataclass(frozen=True)
class Column:
    """What a column of draws is about."""

    kind: str  #: "input", "model" (a factor that the model is off by on an output) or "instrument"
    name: str  #: address of the input or output, name of the error
    shared: str = ""  #: name under which several studies have it
    prior: str = ""  #: how it was stated before, to know it again


@dataclass(frozen=True)
class JointSample:
    """Draws with what they are about and where they come from."""

    columns: tuple[Column, ...]
    draws: NDArray[np.float64]  #: shape (draws, columns) [SI]
    study: str  #: title of the study that was learnt about
    study_hash: str
    firings: tuple[str, ...]


def write_joint_sample(path: Path, sample: JointSample) -> None:
    """Write a joint sample under its name once it is complete; plain arrays and a text, nothing that is executed."""
    header = {
        "format": _FORMAT,
        "columns": [asdict(column) for column in sample.columns],
        "study": sample.study,
        "study_hash": sample.study_hash,
        "firings": list(sample.firings),
    }
    partial = path.with_name(f"{path.name}.partial")
    with partial.open("wb") as file:
        np.savez_compressed(file, header=np.array(json.dumps(header)), draws=sample.draws)
    os.replace(partial, path)


def read_joint_sample(path: Path) -> JointSample:
    """Return the joint sample of a file.

    A JointSampleError says that it is none, an OSError that it can't be read.
    """
    try:
        with np.load(path, allow_pickle=False) as file:
            header: dict[str, Any] = json.loads(str(file["header"]))
            draws = np.asarray(file["draws"], dtype=np.float64)
        found: Sequence[Column] = [Column(**column) for column in header["columns"]]
        sample = JointSample(
            tuple(found), draws, header["study"], header["study_hash"], tuple(header["firings"])
        )
    except (ValueError, KeyError, TypeError, zipfile.BadZipFile, EOFError) as error:
        raise JointSampleError(f"{path.name} is no joint sample of a calibration") from error
    if header["format"] != _FORMAT or draws.ndim != 2 or draws.shape[1] != len(found):
        raise JointSampleError(f"{path.name} is a joint sample of another version: calibrate again")
    return sample
