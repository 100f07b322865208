"""A distribution known by equally likely draws, as a calibration leaves it: no farther out than the draws reach."""

import hashlib
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from explorer.space.distributions import Array, in_19_of_20
from explorer.units import Scale


@dataclass(frozen=True)
class Empirical:
    """Equally likely draws; between neighbours values are spread evenly."""

    draws: tuple[float, ...] = field(repr=False)
    digest: str = field(init=False)  #: stands for the draws where they are too many to be shown

    def __post_init__(self) -> None:
        """Keep the draws in order."""
        ordered = np.sort(np.asarray(self.draws, dtype=np.float64))
        if ordered.size < 2 or not np.isfinite(ordered).all() or ordered[0] == ordered[-1]:
            raise ValueError("a distribution needs two or more finite draws that differ")
        object.__setattr__(self, "draws", tuple(float(own) for own in ordered))
        object.__setattr__(self, "digest", hashlib.sha256(ordered.tobytes()).hexdigest()[:16])

    @cached_property
    def _ordered(self) -> tuple[Array, Array]:
        """Draws, the first and last once more, and the probabilities at which they stand."""
        draws = np.asarray(self.draws)
        marks = (np.arange(draws.size) + 0.5) / draws.size
        return np.concatenate([draws[:1], draws, draws[-1:]]), np.concatenate([[0.0], marks, [1.0]])

    @cached_property
    def mean(self) -> float:
        """Mean of the draws."""
        return float(np.mean(self.draws))

    @cached_property
    def standard_uncertainty(self) -> float:
        """Standard deviation of the draws."""
        return float(np.std(self.draws))

    def quantile(self, u: Array) -> Array:
        """Return the values at probabilities u in (0, 1), elementwise."""
        draws, marks = self._ordered
        return np.asarray(np.interp(u, marks, draws))

    def cumulative(self, x: Array) -> Array:
        """Return the probability of lying below x, elementwise."""
        draws, marks = self._ordered
        return np.asarray(np.interp(x, draws[1:-1], marks[1:-1], left=0.0, right=1.0))

    def words(self, scale: Scale) -> str:
        """Return how a reader should take it."""
        return f"{in_19_of_20(self, scale)}, learnt from firings"
