"""A distribution of which only the part between two limits remains, renormalised."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from explorer.space.distributions import Array, Distribution, in_19_of_20
from explorer.units import Scale

_BELOW_ONE: Final[float] = math.nextafter(1.0, 0.0)

# Nodes in probability for expectations: evenly spaced normal scores, on which the trapezoid rule converges
# faster than any power because the weight falls off smoothly.
_SCORES: Final[Array] = np.linspace(-8.0, 8.0, 1601)
NODES: Final[Array] = np.asarray(special.ndtr(_SCORES))
WEIGHTS: Final[Array] = np.exp(-0.5 * _SCORES**2) / np.exp(-0.5 * _SCORES**2).sum()


def probability_between(below: float | Array, upto: float | Array, u: Array) -> Array:
    """Return u stretched over the probabilities that a cut leaves, elementwise; never 1, where values end."""
    return np.minimum(below + (upto - below) * u, _BELOW_ONE)


@dataclass(frozen=True)
class Cut:
    """A distribution of which only the part between two limits remains."""

    base: Distribution
    low: float
    high: float

    @property
    def _edges(self) -> tuple[float, float]:
        below, upto = self.base.cumulative(np.array([self.low, self.high]))
        return float(below), float(upto)

    @property
    def share_cut(self) -> float:
        """Probability of the base outside the limits."""
        below, upto = self._edges
        return below + (1 - upto)

    @property
    def _moments(self) -> tuple[float, float]:
        values = self.quantile(NODES)
        mean = float(WEIGHTS @ values)
        return mean, math.sqrt(float(WEIGHTS @ (values - mean) ** 2))

    @property
    def mean(self) -> float:
        """Expectation after the cut."""
        return self._moments[0]

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation after the cut."""
        return self._moments[1]

    def quantile(self, u: Array) -> Array:
        below, upto = self._edges
        return np.clip(self.base.quantile(probability_between(below, upto, u)), self.low, self.high)

    def cumulative(self, x: Array) -> Array:
        below, upto = self._edges
        return np.clip((self.base.cumulative(x) - below) / (upto - below), 0.0, 1.0)

    def words(self, scale: Scale) -> str:
        """Return how a reader should take it, with mean and standard uncertainty after the cut."""
        return (
            f"{in_19_of_20(self, scale)}, mean {scale.text(self.mean)} and standard uncertainty"
            f" {scale.difference(self.standard_uncertainty)} after the cut"
        )
