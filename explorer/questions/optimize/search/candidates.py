"""Designs times scenarios: what a search evaluates, as one batch of points.

A design sets the varied addresses. Scenarios are points of one unit cube, the same for every design of a batch, so that
designs differ by what they are and not by luck.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.search.design_space import DesignSpace, Variable
from explorer.run import Evaluated
from explorer.studyfile import Study, Varied

FloatArray = NDArray[np.float64]

#: A design: what stands at each varied address, SI or a word.
Setting = Mapping[str, float | str]


@dataclass(frozen=True)
class Scenarios:
    """Points of the unit cube, the same for all designs; one point at central values where `cube` is None."""

    label: str  #: What they are for; tells sets apart
    cube: FloatArray | None  #: [-] shape (points, rows), inside (0, 1)

    @property
    def points(self) -> int:
        """How many."""
        return 1 if self.cube is None else self.cube.shape[0]


#: Evaluates designs, in the search's own numbers, over scenarios.
Evaluate = Callable[[FloatArray, Scenarios], Evaluated]


@dataclass(frozen=True)
class Candidates:
    """What can be varied, and what comes of it."""

    varied: tuple[Varied, ...]
    space: DesignSpace  #: The same as a search sees it: a list's entry by its number
    #: Of each varied address, what its list holds [SI or words]; empty for a range.
    entries: tuple[tuple[float | str, ...], ...]
    #: Rows of the scenarios' cube: uncertain parts of every variant, then the model's own errors.
    dimension: int
    units: Mapping[str, str]  #: SI unit by varied address
    evaluate: Evaluate
    #: A setting in, the study there out; None for a plain callable.
    study_at: Callable[[Setting], Study | None]

    def setting(self, design: FloatArray) -> dict[str, float | str]:
        """A design of the search as what stands at each varied address."""
        return setting_of(self.varied, self.entries, design)

    def design(self, setting: Setting) -> FloatArray:
        """The inverse of `setting`."""
        return np.array(
            [
                entries.index(setting[varied.address]) if entries else setting[varied.address]
                for varied, entries in zip(self.varied, self.entries, strict=True)
            ],
            dtype=np.float64,
        )


def setting_of(
    varied: Sequence[Varied], entries: Sequence[tuple[float | str, ...]], design: FloatArray
) -> dict[str, float | str]:
    """A design of the search as what stands at each varied address."""
    return {
        item.address: listed[round(float(x))] if listed else float(x)
        for item, listed, x in zip(varied, entries, design, strict=True)
    }


def variables_of(
    varied: Sequence[Varied], entries: Sequence[tuple[float | str, ...]]
) -> tuple[Variable, ...]:
    """Varied addresses as a search sees them."""
    return tuple(
        Variable(item.address, entries=len(listed), ordered=all(isinstance(entry, float) for entry in listed))
        if listed
        else Variable(item.address, low=float(item.low or 0.0), high=float(item.high or 0.0))
        for item, listed in zip(varied, entries, strict=True)
    )


def entries_of(item: Varied) -> tuple[float | str, ...]:
    """What a list holds [SI or words], numbers by size, so that neighbours are alike."""
    numbers = [value for value in item.values if not isinstance(value, str)]
    return tuple(sorted(numbers)) if numbers else item.values
