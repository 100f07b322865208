"""Studies that firings are computed with, or a callable: what stands behind a step."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from explorer.space import InputSpace
from explorer.study.engine import Evaluator
from explorer.study.joint import Side
from explorer.study.outcomes import NO_CONTACT, outcomes_of, refuse_missing
from explorer.study.problem import Model

Floats = NDArray[np.float64]


class Computed(Protocol):
    """One study among those that firings need, or a callable."""

    @property
    def central(self) -> Mapping[str, float]:
        """Its numeric inputs at central values [SI]."""

    def values(self, drawn: Mapping[str, Floats]) -> dict[str, Floats]:
        """Its uncertain inputs [SI] by its own addresses from values in the joint space."""

    def points(self, values: Mapping[str, Floats]) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Quantities [SI] and where the point carries numbers."""


@dataclass(frozen=True)
class StudySide:
    """A study's stage."""

    side: Side
    stage: Evaluator

    @property
    def central(self) -> Mapping[str, float]:
        """Its numeric inputs at central values [SI]."""
        return self.side.study.central()

    def values(self, drawn: Mapping[str, Floats]) -> dict[str, Floats]:
        """Its uncertain inputs [SI] by its own addresses."""
        return self.side.values(drawn)

    def points(self, values: Mapping[str, Floats]) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Quantities [SI] and where the point carries numbers."""
        found = self.stage.points(values)
        return found.quantities, np.asarray(found.outcomes <= NO_CONTACT)


@dataclass(frozen=True)
class CallableSide:
    """A plain callable."""

    model: Model
    exact: Mapping[str, float]
    space: InputSpace
    quantities: tuple[str, ...]

    @property
    def central(self) -> Mapping[str, float]:
        """Its inputs at central values."""
        return {**self.exact, **self.space.central()}

    def values(self, drawn: Mapping[str, Floats]) -> dict[str, Floats]:
        """Its uncertain inputs."""
        return dict(drawn)

    def points(self, values: Mapping[str, Floats]) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
        """Quantities and where the point carries numbers."""
        size = max((np.size(own) for own in values.values()), default=1)
        fixed = {name: np.full(size, own) for name, own in self.exact.items()}
        found = self.model({**fixed, **values})
        refuse_missing(self.quantities, found)
        numbers = {q: np.broadcast_to(np.asarray(found[q], np.float64), size) for q in self.quantities}
        return numbers, np.asarray(outcomes_of(found, numbers, (size,)) <= NO_CONTACT)
