"""Distributions that a study can give to what it doesn't know, all with one interface.

Each returns values at given probabilities (`quantile`), probabilities at given values (`cumulative`), its
mean, its standard uncertainty and one phrase for a reader. Written on scipy.special alone: scipy.stats costs
half a second of start-up. Sources: JCGM 101:2008, clause 6.4 (normal, rectangular, triangular, t from
readings); the lognormal is given by its median and the factor that holds 95 % of it, a cut distribution is
the one before the cut renormalised.
"""

import math
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy import special

from explorer.units import Scale

Array = NDArray[np.float64]

Z_95: Final[float] = float(special.ndtri(0.975))  #: two-sided 95 % point of the standard normal


class Distribution(Protocol):
    """What the space asks of a distribution; values are in SI."""

    @property
    def mean(self) -> float:
        """Expectation."""

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation."""

    def quantile(self, u: Array) -> Array:
        """Return the values at the probabilities u in (0, 1), elementwise."""

    def cumulative(self, x: Array) -> Array:
        """Return the probability of lying below x, elementwise."""

    def words(self, scale: Scale) -> str:
        """Return how a reader should take it, values written by `scale`."""


def in_19_of_20(distribution: Distribution, scale: Scale) -> str:
    """Return between which values 19 of 20 lie, as a phrase."""
    low, high = distribution.quantile(np.array([0.025, 0.975]))
    return f"19 times in 20 between {scale.span(float(low), float(high))}"


@dataclass(frozen=True)
class Normal:
    """A normal distribution."""

    centre: float
    standard_deviation: float

    @property
    def mean(self) -> float:
        return self.centre

    @property
    def standard_uncertainty(self) -> float:
        return self.standard_deviation

    def quantile(self, u: Array) -> Array:
        return np.asarray(self.centre + self.standard_deviation * special.ndtri(u))

    def cumulative(self, x: Array) -> Array:
        return np.asarray(special.ndtr((x - self.centre) / self.standard_deviation))

    def words(self, scale: Scale) -> str:
        return in_19_of_20(self, scale)


@dataclass(frozen=True)
class Rectangular:
    """Anything between two limits, all equally likely."""

    low: float
    high: float

    @property
    def mean(self) -> float:
        return 0.5 * (self.low + self.high)

    @property
    def standard_uncertainty(self) -> float:
        """Half width over √3."""
        return (self.high - self.low) / math.sqrt(12)

    def quantile(self, u: Array) -> Array:
        return np.asarray(self.low + (self.high - self.low) * u)

    def cumulative(self, x: Array) -> Array:
        return np.clip((x - self.low) / (self.high - self.low), 0.0, 1.0)

    def words(self, scale: Scale) -> str:
        return f"anywhere between {scale.span(self.low, self.high)}, all equally likely"


@dataclass(frozen=True)
class Triangular:
    """Between two limits, most likely at a peak."""

    low: float
    peak: float
    high: float

    @property
    def mean(self) -> float:
        return (self.low + self.peak + self.high) / 3

    @property
    def standard_uncertainty(self) -> float:
        a, c, b = self.low, self.peak, self.high
        return math.sqrt(((b - a) ** 2 - (b - c) * (c - a)) / 18)

    def quantile(self, u: Array) -> Array:
        width, rise, fall = self.high - self.low, self.peak - self.low, self.high - self.peak
        return np.where(
            u * width < rise,
            self.low + np.sqrt(u * width * rise),
            self.high - np.sqrt((1 - u) * width * fall),
        )

    def cumulative(self, x: Array) -> Array:
        width, rise, fall = self.high - self.low, self.peak - self.low, self.high - self.peak
        inside = np.clip(x, self.low, self.high)
        # a peak at a limit leaves one side without width
        with np.errstate(invalid="ignore", divide="ignore"):
            below = (inside - self.low) ** 2 / (width * rise)
            above = 1 - (self.high - inside) ** 2 / (width * fall)
        return np.where(inside < self.peak, below, np.where(self.high > self.peak, above, 1.0))

    def words(self, scale: Scale) -> str:
        return f"between {scale.span(self.low, self.high)}, most likely {scale.text(self.peak)}"


@dataclass(frozen=True)
class Lognormal:
    """Known up to a factor: 95 % lies between median/factor and median·factor."""

    median: float
    factor: float

    @property
    def _log_deviation(self) -> float:
        return math.log(self.factor) / Z_95

    @property
    def mean(self) -> float:
        """Expectation, above the median."""
        return self.median * math.exp(0.5 * self._log_deviation**2)

    @property
    def standard_uncertainty(self) -> float:
        return self.mean * math.sqrt(math.expm1(self._log_deviation**2))

    def quantile(self, u: Array) -> Array:
        return np.asarray(self.median * np.exp(self._log_deviation * special.ndtri(u)))

    def cumulative(self, x: Array) -> Array:
        with np.errstate(divide="ignore"):
            score = np.log(np.maximum(x, 0.0) / self.median) / self._log_deviation
        return np.asarray(special.ndtr(score))

    def words(self, scale: Scale) -> str:
        return f"{in_19_of_20(self, scale)}, as likely above {scale.text(self.median)} as below"


@dataclass(frozen=True)
class StudentT:
    """A scaled and shifted t distribution: what n readings say, with n − 1 degrees of freedom."""

    centre: float
    scale: float
    degrees_of_freedom: float

    @property
    def mean(self) -> float:
        return self.centre

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation; above two degrees of freedom only."""
        return self.scale * math.sqrt(self.degrees_of_freedom / (self.degrees_of_freedom - 2))

    def quantile(self, u: Array) -> Array:
        return np.asarray(self.centre + self.scale * special.stdtrit(self.degrees_of_freedom, u))

    def cumulative(self, x: Array) -> Array:
        return np.asarray(special.stdtr(self.degrees_of_freedom, (x - self.centre) / self.scale))

    def words(self, scale: Scale) -> str:
        return f"{in_19_of_20(self, scale)}, from {self.degrees_of_freedom + 1:.0f} readings"
