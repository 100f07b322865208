"""What readings leave of a target by Bayes' rule on a sample: every point is weighed by how well it explains them.

A sample point predicts what an ideal instrument would read; the instrument's error is normal with a known spread. Given
a reading, a point's weight is therefore its likelihood, and the weighted sample is the posterior, whatever shape the
model has: steps, minima, products. No regression is involved. What it needs is enough points within an instrument's
error of each reading; sharp instruments in large numbers run out of them. The variance that a weighted sample shows is
too small where few points carry it. Divided by what that takes away, 1 − Σw², it is the mean square of differences of
neighbours, which can only be too large. Both are given: what is left lies between them.

A firing that gives no number is a reading like another: it is explained by the points that give none either.

Sources: importance weights of a prior sample: A. F. M. Smith and A. E. Gelfand, Am. Stat. 46 (1992) 84; variance from
differences of neighbours: J. Rice, Ann. Stat. 12 (1984) 1215.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from explorer.analysis.scrambles import Estimate, Floats, estimate

#: Readings of each scramble that are looked at; a power of two keeps the first rows of a Sobol' sequence balanced.
_LOOKED_AT: Final[int] = 32

#: Smallest error of an instrument, as a share of its readings' spread: an exact one is told by nearest neighbours.
_SHARPEST: Final[float] = 1e-6

#: Weight that all points but the heaviest have together, below which nothing can be told of their differences.
_ALONE: Final[float] = 1e-12

#: Points that carry a reading's weight at least: where its instrument is too sharp for that, its error is widened until
#: the next one has e⁻¹ of the nearest one's weight, and nothing is told from below.
_CARRIERS: Final[int] = 2

#: Fewest scrambles of which one can be left out.
_FEWEST_FOR_AN_ERROR: Final[int] = 4

#: Share of the upper figure from which on the lower one is taken to be near: then the two tell the truth.
TOLD: Final[float] = 0.9


@dataclass(frozen=True)
class SimulatedReadings:
    """Readings simulated at the points of a sample, with what they were made from."""

    values: Sequence[Floats]  #: by scramble, shape (rows, readings); NaN where a firing gives no number [any]
    ideal: Sequence[Floats]  #: The same without the instruments' errors
    random: Floats  #: standard uncertainty that falls anew at each reading, shape (readings,) [any]
    common: Floats  #: standard uncertainty that readings of one instrument share, shape (readings,) [any]
    instruments: tuple[str, ...]  #: whose each reading is

    def covariance(self, taken: Sequence[int]) -> Floats:
        """Return the covariance of the errors of some readings, shape (taken, taken) [any²]."""
        places = np.asarray(taken, dtype=np.intp)
        one = np.array(self.instruments)[places]
        shared = np.outer(self.common[places], self.common[places]) * (one[:, None] == one[None, :])
        spread = np.nanstd(np.concatenate([block[:, places] for block in self.ideal]), axis=0)
        sharpest = _SHARPEST * np.where(spread > 0.0, spread, 1.0)
        return np.asarray(shared + np.diag(self.random[places] ** 2 + sharpest**2))

    def part(self, scrambles: slice) -> "SimulatedReadings":
        """Return the same of some scrambles."""
        return SimulatedReadings(
            self.values[scrambles], self.ideal[scrambles], self.random, self.common, self.instruments
        )


@dataclass(frozen=True)
class LeftByBayes:
    """What readings leave of a target's variance, from below and from above, and what it may turn out to be."""

    least: Estimate  #: mean variance of the weighted samples, too small where few points carry them [target²]
    most: Estimate  #: the same from differences of neighbours, too large where these lie far apart [target²]
    each: Floats  #: the upper figure of each reading looked at [target²]
    misfit: Estimate  #: mean square by which a regression misses the weighted mean, less what chance adds [target²]

    @property
    def told(self) -> bool:
        """Whether the two are near enough to tell the truth."""
        return bool(self.least.value >= TOLD * self.most.value)


def left_by_bayes(
    readings: SimulatedReadings, taken: Sequence[int], target: Sequence[Floats], fitted: Sequence[Floats]
) -> LeftByBayes:
    """Return E[Var(Y|readings)] of a target, and by how much a regression on the readings misses E[Y|readings].

    Parameters
    ----------
    readings : SimulatedReadings
        Of at least two scrambles: the readings of one are explained by the points of the others.
    taken : sequence of int
        Columns of the readings taken, at least one [-].
    target : sequence of ndarray
        For each scramble, shape (rows,) [target].
    fitted : sequence of ndarray
        What the regression predicts, fitted to other scrambles, the same shape [target].
    """
    columns, count = list(taken), len(target)
    covariance, middle = readings.covariance(columns), float(np.concatenate(target).mean())
    values = [y - middle for y in target]
    ideal = [block[:, columns] for block in readings.ideal]
    prior = float(np.concatenate(values).var())
    looked_at = []
    for place in range(count):
        others = [i for i in range(count) if i != place]
        own = readings.values[place][:_LOOKED_AT, columns]
        sums = _sums(own, [ideal[i] for i in others], [values[i] for i in others], covariance)
        looked_at.append((np.array(others), sums, fitted[place][:_LOOKED_AT] - middle))

    def without(left_out: int | None) -> tuple[Floats, Floats]:
        """The three figures, and each reading's own, without a scramble."""
        found = [
            _figures(sums[:, others != left_out].sum(axis=1), predicted, prior)
            for place, (others, sums, predicted) in enumerate(looked_at)
            if place != left_out
        ]
        every = np.concatenate(found, axis=1)
        return every[:3].mean(axis=1), _without_chance(every[1], float(every[3].mean()))

    (least, most, misfit), each = without(None)
    whole = np.array([least, most, misfit])
    if count < _FEWEST_FOR_AN_ERROR:
        repeats = np.tile(whole, (1, 1))
    else:  # jackknife: every scramble explains the readings of the others
        left_out = np.stack([without(place)[0] for place in range(count)])
        repeats = whole - (count - 1) * (left_out - left_out.mean(axis=0))
    least, most, misfit = (estimate(repeats[:, k]) for k in range(3))
    return LeftByBayes(least, most, each, misfit)


def _without_chance(variances: Floats, noise: float) -> Floats:
    """Return variances drawn together by what chance adds to their differences."""
    own = float(variances.var())
    kept = np.sqrt(max(1.0 - noise / own, 0.0)) if own > 0.0 else 1.0
    return np.asarray(variances.mean() + kept * (variances - variances.mean()))


def _sums(readings: Floats, ideal: Sequence[Floats], target: Sequence[Floats], covariance: Floats) -> Floats:
    """Return sums of w, wy, wy², w² by reading and scramble, and whether its error was widened.

    All are zero where no point fails as the reading does. Weights of a reading have their largest at one.
    """
    points, values = np.concatenate(ideal), np.concatenate(target)
    members = np.repeat(np.arange(len(ideal)), [len(block) for block in ideal])[:, None] == np.arange(
        len(ideal)
    )
    found = np.zeros((len(readings), len(ideal), 5))
    failed, would_fail = np.isnan(readings), np.isnan(points)
    for case in np.unique(failed, axis=0):
        here, there = (failed == case).all(axis=1), (would_fail == case).all(axis=1)
        if not there.any():
            continue
        weight, widened = np.ones((np.count_nonzero(here), np.count_nonzero(there))), np.zeros(here.sum())
        if not case.all():
            inverse = np.linalg.inv(np.linalg.cholesky(covariance[np.ix_(~case, ~case)])).T
            weight, widened = _weights(readings[here][:, ~case] @ inverse, points[there][:, ~case] @ inverse)
        own, y = members[there].astype(np.float64), values[there][:, None]
        moments = weight @ np.hstack([own, own * y, own * y**2])
        squares = (weight**2) @ own
        found[here, :, :4] = np.stack([*np.split(moments, 3, axis=1), squares], axis=-1)
        found[here, :, 4] = widened[:, None]
    return found


def _weights(readings: Floats, points: Floats) -> tuple[Floats, Floats]:
    """Return likelihoods of whitened readings at points, the largest of each reading 1, and whether it was widened."""
    squares = np.einsum("rc,rc->r", points, points)[None, :] - 2.0 * (readings @ points.T)
    squares -= squares.min(axis=1, keepdims=True)
    last = min(_CARRIERS, squares.shape[1] - 1)
    carried = 0.5 * np.partition(squares, last, axis=1)[:, last]
    squares *= -0.5 / np.maximum(carried, 1.0)[:, None]
    # A weight needs no more than seven digits, and single ones take a third of the time.
    weight = np.exp(squares.astype(np.float32)).astype(np.float64)
    return weight, np.asarray(carried > 1.0, dtype=np.float64)


def _figures(sums: Floats, predicted: Floats, prior: float) -> Floats:
    """Return each reading's variance from below and above, the regression's misfit, and what chance adds to the second.

    Shape (4, readings).
    """
    total = np.where(sums[:, 0] > 0.0, sums[:, 0], 1.0)
    mean = sums[:, 1] / total
    spread = np.maximum(sums[:, 2] / total - mean**2, 0.0)
    least = np.where(sums[:, 4] > 0.0, 0.0, spread)
    rest = 1.0 - sums[:, 3] / total**2
    most = np.where(rest > _ALONE, spread / np.maximum(rest, _ALONE), prior)
    most = np.where(sums[:, 0] > 0.0, most, prior)
    # A weighted mean scatters by what the two figures of its variance differ by.
    # So does its variance, by 2/n of the square of a normal sample of n.
    return np.stack([least, most, (mean - predicted) ** 2 - (most - spread), 2.0 * most**2 * (1.0 - rest)])
