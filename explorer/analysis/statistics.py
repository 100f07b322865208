"""The distribution of an output from a sample: figures, intervals, sampling errors, parts of its variance.

Figures are made from all values of all scrambles together; their sampling errors come from the spread of the
same figure over the scrambles. Intervals follow JCGM 101:2008, clauses 5.3 and 7.7 (probabilistically
symmetric, and shortest).

The variance of one firing is split by the law of total variance, V = Var(E[Y|unknowns]) + E[Var(Y|unknowns)],
from points and their twins, which share the unknowns and draw the scatter anew: half the mean square
difference of the two is the second part (Jansen 1999), their covariance the first, and the parts add up
exactly.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.polynomial import Polynomial

from explorer.analysis.scrambles import COVERAGE, Estimate, Floats, estimate, finite, root


@dataclass(frozen=True)
class Distribution:
    """Figures of one output, each with its sampling error, in the output's unit."""

    mean: Estimate
    median: Estimate
    standard_uncertainty: Estimate
    low: Estimate  #: ends of the symmetric interval
    high: Estimate
    shortest_low: Estimate  #: ends of the shortest interval
    shortest_high: Estimate


@dataclass(frozen=True)
class VarianceParts:
    """The parts of the variance of one firing [output²]; never clipped, so one of zero may come negative."""

    unknown: Estimate  #: Var(E[Y|unknowns]): tests can remove it
    scatter: Estimate  #: E[Var(Y|unknowns)]: stays even if everything were known
    total: Estimate


#: Share of points that counts as the rarest, and shares of the squared standard uncertainty from which on they, or one
#: point by itself, are heavy: figures and their sampling errors then hang on points that hardly any repeat meets.
_RAREST: Final[float] = 1e-3
#: From 0.15 on (a lognormal of log sd 0.9) intervals of a standard uncertainty were seen to hold it in less than 0.87.
_HEAVY_RAREST: Final[float] = 0.15
_HEAVY_ONE: Final[float] = 0.1

#: Share by which an interval may be longer than the shortest and help to find its place, with so many points [-]; more
#: points need fewer lengths, and a quartic follows fewer of them better. Chosen on normal, lognormal, gamma, Gumbel,
#: triangular and exponential samples of 4096 to 131 072.
_LITTLE_LONGER: Final[float] = 0.05
_OF_POINTS: Final[float] = 4096.0

#: Fewest lengths that a quartic is laid through.
_FEWEST_LENGTHS: Final[int] = 10
_QUARTIC: Final[int] = 4


@dataclass(frozen=True)
class Tail:
    """How much of the squared standard uncertainty the points farthest from the mean carry."""

    one: float  #: the farthest of all [-]
    place: int  #: of that one among the values
    rarest: float  #: the farthest one in a thousand [-]

    @property
    def heavy(self) -> bool:
        """Whether figures hang on rare points."""
        return self.rarest >= _HEAVY_RAREST or self.one_alone

    @property
    def one_alone(self) -> bool:
        """Whether they hang on one point."""
        return self.one >= _HEAVY_ONE


def tail(values: Floats) -> Tail:
    """Return how much the rarest points carry of an output's squared standard uncertainty.

    Parameters
    ----------
    values : ndarray
        Shape (values,) [output].
    """
    squares = (values - values.mean()) ** 2
    total = float(squares.sum())
    place = int(np.argmax(squares))
    if not total > 0.0:
        return Tail(0.0, place, 0.0)
    count = max(round(_RAREST * values.size), 1)
    rarest = np.partition(squares, values.size - count)[values.size - count :]
    return Tail(float(squares[place]) / total, place, float(rarest.sum()) / total if count > 1 else 0.0)


def distribution(values: Iterable[Floats], *, coverage: float = COVERAGE) -> Distribution:
    """Return the figures of an output's distribution.

    Parameters
    ----------
    values : iterable of ndarray
        For each scramble the outputs, any shape [output].
    coverage : float
        Coverage probability of the intervals [-].

    Raises
    ------
    ValueError
        If a value isn't finite.
    """
    parts = [np.sort(finite(block, "outputs"), axis=None) for block in values]
    pooled = np.sort(np.concatenate(parts), kind="stable")

    # A balanced design's mean is next to exact: no degree of freedom is lost on it, and none is taken off.
    def figure(of: Callable[[Floats], float]) -> Estimate:
        return _pooled(of(pooled), [of(part) for part in parts])

    return Distribution(
        mean=figure(lambda y: float(y.mean())),
        median=figure(lambda y: quantile(y, 0.5)),
        standard_uncertainty=figure(lambda y: float(y.std())),
        low=figure(lambda y: symmetric_interval(y, coverage)[0]),
        high=figure(lambda y: symmetric_interval(y, coverage)[1]),
        shortest_low=figure(lambda y: shortest_interval(y, coverage, sample=pooled.size)[0]),
        shortest_high=figure(lambda y: shortest_interval(y, coverage, sample=pooled.size)[1]),
    )


def _pooled(value: float, by_scramble: Sequence[float]) -> Estimate:
    """Return a figure made from all values, its error from the scrambles' own figures."""
    spread = estimate(by_scramble)
    half_width = 0.5 * (spread.high - spread.low)
    centre = np.asarray(value)
    return Estimate(
        centre, spread.standard_error, centre - half_width, centre + half_width, spread.by_scramble
    )


def quantile(ordered: Floats, probability: float) -> float:
    """Return the exact quantile of sorted values, linear between neighbours [output]."""
    place = probability * (ordered.size - 1)
    below = int(place)
    above = min(below + 1, ordered.size - 1)
    return float(ordered[below] + (place - below) * (ordered[above] - ordered[below]))


def symmetric_interval(ordered: Floats, coverage: float = COVERAGE) -> tuple[float, float]:
    """Return the probabilistically symmetric coverage interval of sorted values [output].

    Source: JCGM 101:2008, clause 7.7.
    """
    inside = _inside(ordered.size, coverage)
    # r = (M − q)/2 or its half-up rounding counts from one.
    first = (ordered.size - inside + 1) // 2 - 1
    first = max(first, 0)
    return float(ordered[first]), float(ordered[first + inside])


def shortest_interval(
    ordered: Floats, coverage: float = COVERAGE, *, sample: int | None = None
) -> tuple[float, float]:
    """Return the shortest coverage interval of sorted values [output].

    Near the shortest one lengths hardly differ but for their noise, and the smallest of them lies where that happens to
    be: its place scatters by the cube root of the sample (J. Kim and D. Pollard, Ann. Stat. 18 (1990) 191). It is
    looked for on a quartic through all lengths that are little longer instead.

    Parameters
    ----------
    ordered : ndarray
        Sorted values [output].
    coverage : float
        Coverage probability [-].
    sample : int, optional
        Size of the sample that sets how much longer is little; that of the values if left out [-].

    Source: JCGM 101:2008, clauses 5.3.4 and 7.7, but for the quartic.
    """
    inside = _inside(ordered.size, coverage)
    lengths = ordered[inside:] - ordered[: ordered.size - inside]
    place = int(np.argmin(lengths))
    little = _LITTLE_LONGER * (_OF_POINTS / (sample or ordered.size)) ** (1.0 / 6.0)
    longer = np.flatnonzero(lengths > (1.0 + little) * lengths[place])
    low, high = np.searchsorted(longer, place) + np.array([-1, 0])
    first = int(longer[low]) + 1 if low >= 0 else 0
    last = int(longer[high]) if high < longer.size else lengths.size
    # Against the end that moves less, where values lie dense, the lengths run smoothly.
    ends = ordered[first:last], ordered[inside + first : inside + last]
    along = min(ends, key=np.ptp)
    if 1 + np.count_nonzero(np.diff(along)) >= _FEWEST_LENGTHS:
        quartic, (_, rank, *_) = Polynomial.fit(along, lengths[first:last], _QUARTIC, full=True)
        if rank == _QUARTIC + 1:  # else nearly all values lie together, and the smallest length is as good
            place = first + int(np.argmin(quartic(along)))
    return float(ordered[place]), float(ordered[place + inside])


def _inside(count: int, coverage: float) -> int:
    if not 0.0 < coverage < 1.0:
        raise ValueError(f"coverage must lie in (0, 1); got {coverage}")
    inside = int(coverage * count + 0.5)
    if not 0 < inside < count:
        raise ValueError(f"{count} values are too few for a {coverage:.0%} interval")
    return inside


def chance(
    values: Iterable[Floats], *, at_least: float | None = None, at_most: float | None = None
) -> Estimate:
    """Return the probability that an output lies within the bounds, each included [-].

    Parameters
    ----------
    values : iterable of ndarray
        For each scramble the outputs, any shape [output].
    at_least, at_most : float, optional
        Bounds [output]; at least one of them.
    """
    return estimate([met(block, at_least=at_least, at_most=at_most).mean() for block in values])


def met(values: Floats, *, at_least: float | None = None, at_most: float | None = None) -> Floats:
    """Return 1 where a value lies within the bounds, each included, else 0 [-]."""
    if at_least is None and at_most is None:
        raise ValueError("a requirement needs at_least, at_most or both")
    y = finite(values, "outputs")
    low = -np.inf if at_least is None else at_least
    high = np.inf if at_most is None else at_most
    return np.asarray((low <= y) & (y <= high), dtype=np.float64)


def variance_parts(twins: Iterable[Floats]) -> VarianceParts:
    """Return the parts of the variance that the unknowns and the scatter bring.

    Parameters
    ----------
    twins : iterable of ndarray
        For each scramble the outputs at the points and at their twins, shape (2, rows) [output].
    """
    unknown, scatter = [], []
    blocks = [finite(block, "outputs") for block in twins]
    mean = float(np.mean([block.mean() for block in blocks]))
    for point, twin in blocks:
        unknown.append(float(np.mean((point - mean) * (twin - mean))))
        scatter.append(0.5 * float(np.mean((point - twin) ** 2)))
    return VarianceParts(
        estimate(unknown), estimate(scatter), estimate(np.array(unknown) + np.array(scatter))
    )


def mean_over_firings(twins: Iterable[Floats], *, coverage: float = COVERAGE) -> tuple[Estimate, Estimate]:
    """Return the ends of the symmetric interval of E[Y|unknowns], the mean over many firings [output].

    The mean of a point and its twin keeps half of the scatter's variance. An end's square distance from the
    median is carried on from the whole scatter over the half to none, along the straight line that it
    follows exactly where the output is Gaussian; an approximation elsewhere, good while scatter is not the
    larger part. NaN where the line ends below zero.

    Parameters
    ----------
    twins : iterable of ndarray
        As in `variance_parts`.
    coverage : float
        Coverage probability of the interval [-].
    """
    blocks = [finite(block, "outputs") for block in twins]

    def ends(parts: Sequence[Floats]) -> tuple[float, float]:
        single = np.sort(np.concatenate([p.ravel() for p in parts]))
        double = np.sort(np.concatenate([p.mean(axis=0) for p in parts]))
        middle, sides = quantile(double, 0.5), []
        for side in (0, 1):
            far = symmetric_interval(single, coverage)[side] - quantile(single, 0.5)
            near = symmetric_interval(double, coverage)[side] - middle
            square = 2.0 * near**2 - far**2
            sides.append(middle + np.copysign(np.sqrt(square) if square >= 0.0 else np.nan, near))
        return float(sides[0]), float(sides[1])

    pooled, apart = ends(blocks), [ends([block]) for block in blocks]
    return _pooled(pooled[0], [e[0] for e in apart]), _pooled(pooled[1], [e[1] for e in apart])


def standard_uncertainties(parts: VarianceParts) -> tuple[Estimate, Estimate, Estimate]:
    """Return the standard uncertainties of the unknown part, the scatter part and the whole [output]."""
    return root(parts.unknown), root(parts.scatter), root(parts.total)
