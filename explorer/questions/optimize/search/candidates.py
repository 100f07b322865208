"""Designs times scenarios: what a search evaluates, as one batch of points.

A design sets the varied addresses. Scenarios are points of one unit cube, the same for every design of a batch, so that
designs differ by what they are and not by luck.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.search.design_space import DesignSpace, Variable
from explorer.run import Evaluated
from explorer.studyfile import Study, StudyError, Varied, at_design

FloatArray = NDArray[np.float64]

#: Most ranges of which all ways to round a design are tried [-].
_MOST_COMBINED: Final[int] = 5

#: Most corners of the ranges that are looked at to see whether all designs are possible [-].
_MOST_CORNERS: Final[int] = 512

#: A design: what stands at each varied address, SI or a word.
Setting = Mapping[str, float | str]


@dataclass(frozen=True, eq=False)
class Scenarios:
    """Points of the unit cube, the same for all designs; one point at central values where `cube` is None."""

    label: str  #: what they are for; tells sets apart in what is kept of a search
    cube: FloatArray | None  #: [-] shape (points, rows), inside (0, 1)

    @property
    def points(self) -> int:
        """How many."""
        return 1 if self.cube is None else self.cube.shape[0]


CENTRAL: Final = Scenarios("central", None)


@dataclass(frozen=True)
class Candidates:
    """What can be varied, and what comes of it."""

    study: Study | None  #: whose designs they are; None for a plain callable's
    varied: tuple[Varied, ...]
    #: Rows of the scenarios' cube: uncertain parts of every variant, then the model's own errors.
    dimension: int
    #: Settings over scenarios in; quantities, outcomes and warnings of shape (settings, points) out.
    evaluated: Callable[[Sequence[Setting], Scenarios], Evaluated]
    #: The study as it stands over scenarios, shape (1, points); None for a plain callable.
    present: Callable[[Scenarios], Evaluated] | None = None

    @cached_property
    def entries(self) -> tuple[tuple[float | str, ...], ...]:
        """Of each varied address, what its list holds [SI or words]; empty for a range."""
        return tuple(entries_of(item) for item in self.varied)

    @property
    def now(self) -> dict[str, float | str]:
        """What stands at each varied address as the study states it [SI or words]; nothing for a plain callable."""
        if self.study is None:
            return {}
        stated: dict[str, float | str] = {**self.study.choices, **self.study.as_written()}
        return {item.address: stated[item.address] for item in self.varied}

    @cached_property
    def space(self) -> DesignSpace:
        """What is varied as a search sees it: a list's entry by its number."""
        return DesignSpace(tuple(map(_variable, self.varied, self.entries)))

    def setting(self, design: FloatArray) -> dict[str, float | str]:
        """A design of the search as what stands at each varied address."""
        return {
            item.address: listed[round(float(x))] if listed else float(x)
            for item, listed, x in zip(self.varied, self.entries, design, strict=True)
        }

    def evaluate(self, designs: FloatArray, scenarios: Scenarios) -> Evaluated:
        """Designs, in the search's own numbers, over scenarios: arrays of shape (designs, points)."""
        return self.evaluated([self.setting(design) for design in designs], scenarios)

    def study_at(self, setting: Setting) -> Study | None:
        """The study with a design put in; None for a plain callable."""
        return None if self.study is None else at_design(self.study, setting)

    def possible(self, design: FloatArray) -> bool:
        """Whether a study can have a design: no value past what is possible, no pair over another."""
        return self._refusal(design) is None

    def _refusal(self, design: FloatArray) -> StudyError | None:
        """Why a study can't have a design; None where it can."""
        try:
            self.study_at(self.setting(design))
        except StudyError as error:
            return error
        return None

    def refuse_if_none_possible(self, designs: FloatArray) -> None:
        """Refuse ranges in which no design tried is possible, by what is wrong with the first."""
        if not self.which_possible(designs).any():
            raise StudyError(
                f"vary: none of {len(designs)} designs tried within these ranges is possible; of the first:"
                f" {self._refusal(designs[0])}"
            )

    def which_possible(self, designs: FloatArray) -> NDArray[np.bool_]:
        """Which designs a study can have, shape (designs,)."""
        if self._all_possible:
            return np.ones(len(designs), dtype=np.bool_)
        return np.array([self.possible(design) for design in designs], dtype=np.bool_)

    @cached_property
    def _all_possible(self) -> bool:
        """Whether every design within the ranges is possible: where all corners are, for what is asked is linear."""
        if self.study is None:
            return True
        sides = [range(v.entries) if v.entries else (v.low, v.high) for v in self.space.variables]
        if math.prod(map(len, sides)) > _MOST_CORNERS:
            return False
        return all(self.possible(np.array(corner, dtype=np.float64)) for corner in product(*sides))

    def roundings(self, design: FloatArray, digits: int) -> FloatArray:
        """Designs about one whose numbers a workshop or a dial can be told, never past a range's end.

        Each number is rounded down and up; of many, only one at a time is rounded to its farther side.
        """
        space = self.space
        near, far = design.copy(), design.copy()
        for i in space.continuous:
            low, high = _rounded_to(float(design[i]), digits, space.variables[i])
            near[i], far[i] = (low, high) if design[i] - low <= high - design[i] else (high, low)
        columns = space.continuous
        if columns.size <= _MOST_COMBINED:
            sides = np.array(list(product((False, True), repeat=columns.size)), dtype=bool)
        else:
            sides = np.vstack([np.zeros(columns.size, dtype=bool), np.eye(columns.size, dtype=bool)])
        found = np.tile(near, (len(sides), 1))
        found[:, columns] = np.where(sides, far[columns], near[columns])
        return np.asarray(np.unique(found, axis=0))


def _rounded_to(value: float, digits: int, variable: Variable) -> tuple[float, float]:
    """The nearest numbers of so many digits below and above a value, or a range's own end."""
    step = 10.0 ** (math.floor(math.log10(abs(value))) + 1 - digits) if value else 1.0
    ends = (
        float(f"{side * step:.{digits}g}") for side in (math.floor(value / step), math.ceil(value / step))
    )
    low, high = (min(max(end, variable.low), variable.high) for end in ends)
    return low, high


def entries_of(item: Varied) -> tuple[float | str, ...]:
    """What a list holds [SI or words], numbers by size, so that neighbours are alike."""
    numbers = [value for value in item.values if not isinstance(value, str)]
    return tuple(sorted(numbers)) if numbers else item.values


def _variable(item: Varied, entries: tuple[float | str, ...]) -> Variable:
    if entries:
        ordered = all(isinstance(entry, float) for entry in entries)
        return Variable(item.address, entries=len(entries), ordered=ordered)
    return Variable(item.address, low=float(item.low or 0.0), high=float(item.high or 0.0))
