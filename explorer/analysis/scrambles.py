"""What independent repeats of a design say about the sampling error of a figure made from them.

A scrambled Sobol' design is not a set of independent draws, so neither its variance over the rows nor a
bootstrap of the rows tells its error (both overstate it 20 to 40 times on smooth functions). A figure is made
once from each of several independent scrambles instead; its error is read from their spread with Student's t
(A. B. Owen, J. Complexity 14 (1998) 466, proposes the replicates; the interval itself: any textbook).
"""

from dataclasses import dataclass, replace
from typing import Final, Literal, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri, stdtrit

Floats = NDArray[np.float64]

Order = Literal["above", "below", "level"]

COVERAGE: Final[float] = 0.95  #: nominal coverage of every interval of a sampling error


@dataclass(frozen=True)
class Estimate:
    """A figure, or an array of them, with its sampling error: one object from the analysis to page, JSON and CSV.

    Arrays keep the shape that the figure has in one scramble.
    """

    value: Floats
    standard_error: Floats  #: NaN where there is one scramble only
    low: Floats  #: ends of the 95 % interval of the sampling error
    high: Floats
    by_scramble: Floats  #: shape (scrambles, …)
    name: str = ""  #: of what it is a figure: an output's address, mostly
    unit: str = ""  #: SI unit of value, error and interval

    def __getitem__(self, index: int | tuple[int, ...]) -> Self:
        """One figure of an array of them."""
        own = index if isinstance(index, tuple) else (index,)
        return replace(
            self,
            value=np.asarray(self.value[own]),
            standard_error=np.asarray(self.standard_error[own]),
            low=np.asarray(self.low[own]),
            high=np.asarray(self.high[own]),
            by_scramble=np.asarray([scramble[own] for scramble in self.by_scramble]),
        )

    def __float__(self) -> float:
        """The value of a single figure."""
        return float(self.value)

    @property
    def error(self) -> float:
        """Standard error of a single figure [any]."""
        return float(self.standard_error)

    @property
    def interval(self) -> tuple[float, float]:
        """Ends of the 95 % interval of a single figure's sampling error."""
        return float(self.low), float(self.high)

    @property
    def half_width(self) -> float:
        """Half of the 95 % interval of a single figure's sampling error [any]."""
        return 0.5 * (float(self.high) - float(self.low))

    def called(self, name: str, unit: str) -> Self:
        """The same figure with its name and SI unit."""
        return replace(self, name=name, unit=unit)


def finite(values: ArrayLike, what: str) -> Floats:
    """Return the values as an array of floats, all finite.

    Raises
    ------
    ValueError
        If any is NaN or infinite: what to do with points that failed is for the study to decide, and one NaN
        makes common estimators return zeros without a warning.
    """
    array = np.asarray(values, dtype=np.float64)
    bad = array.size - int(np.count_nonzero(np.isfinite(array)))
    if bad:
        raise ValueError(f"{what} must be finite; {bad} of {array.size} values are not")
    return array


def estimate(by_scramble: ArrayLike, *, coverage: float = COVERAGE) -> Estimate:
    """Return the mean over the scrambles with its standard error and Student-t interval.

    Parameters
    ----------
    by_scramble : array_like
        The figure from each scramble, shape (scrambles, …) [any].
    coverage : float
        Nominal coverage of the interval [-].
    """
    values = np.asarray(by_scramble, dtype=np.float64)
    count = values.shape[0]
    mean = np.asarray(values.mean(axis=0))
    if count < 2:
        unknown = np.full_like(mean, np.nan)
        return Estimate(mean, unknown, unknown, unknown, values)
    standard_error = np.asarray(values.std(axis=0, ddof=1) / np.sqrt(count))
    half_width = stdtrit(count - 1, 0.5 + 0.5 * coverage) * standard_error
    return Estimate(mean, standard_error, mean - half_width, mean + half_width, values)


def figure(value: float, standard_error: float = 0.0) -> Estimate:
    """Return a figure whose standard error is told by something else than repeats, zero where it is exact.

    Parameters
    ----------
    value : float
        The figure [any].
    standard_error : float
        Its sampling error; the interval is that of a normal one [as the value].
    """
    single, error = np.asarray(value, dtype=np.float64), np.asarray(standard_error, dtype=np.float64)
    half_width = ndtri(0.5 + 0.5 * COVERAGE) * error
    return Estimate(single, error, single - half_width, single + half_width, single[None])


def order(first: Estimate, second: Estimate) -> Order:
    """Return whether the first of two single figures is above or below the second, or level with it.

    Their difference is formed within each scramble, where much of the error is common to both; they are level where
    its 95 % interval holds zero.
    """
    difference = estimate(first.by_scramble - second.by_scramble)
    if difference.low > 0.0:
        return "above"
    return "below" if difference.high < 0.0 else "level"


def root(variance: Estimate) -> Estimate:
    """Return the standard uncertainty whose square is estimated.

    A standard uncertainty can't be less than zero: where the variance or the low end of its interval is
    estimated below zero the root is zero. The variance itself stays as it came.
    """
    value, low, high = (np.sqrt(np.maximum(v, 0.0)) for v in (variance.value, variance.low, variance.high))
    with np.errstate(divide="ignore", invalid="ignore"):
        standard_error = np.where(value > 0.0, variance.standard_error / (2.0 * value), high)
    return Estimate(value, standard_error, low, high, np.sqrt(np.maximum(variance.by_scramble, 0.0)))
