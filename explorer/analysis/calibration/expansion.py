"""A cheap stand-in for what firings show, fitted to points computed already: m(x) plus slopes(x)·own.

m is a parabola in each coordinate of what firings have in common plus a trained hidden layer, the slopes in each
firing's own latents are linear in these coordinates and that layer. What falls anew at each firing spreads little, so
that hardly anything is lost; and latents in which readings are linear can be integrated in closed form, so that chains
need only move what firings have in common.

It only proposes: every proposal is judged by the model itself, so that its errors cost acceptance and no truth.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.calibration.experiments import Experiments, Floats, Particles
from explorer.analysis.calibration.network import HiddenLayer, trained

#: Points for each coefficient that a fit has at least, and at most, and most points that a layer is trained on [-].
_LEAST_A_TERM, _MANY_A_TERM, _MOST_POINTS = 4, 8, 30_000

_SMALLEST: Final[float] = 1e-12  #: misfit that is always left, as a share of what is fitted [-]
#: Directions in which columns miss together, and latest points at which they are told.
_TOGETHER, _LATEST = 6, 4000
_RIDGE: Final[float] = 1e-8  #: share of a feature's square that is added to it [-]

#: Misfit that the hidden layer need not mend, as a share of an output's spread and of its reading's uncertainty [-].
_SLIGHT, _UNSEEN = 1e-3, 0.1


@dataclass(frozen=True)
class Expansion:
    """What stands in for every firing; it gives numbers where the model gives none."""

    experiments: Experiments
    middle: Floats  #: of the coordinates, shape (coordinates,) [any]
    spread: Floats  #: [any]
    hidden: HiddenLayer | None
    centres: Floats  #: coefficients at none of the own latents, shape (features, firings · columns) [any]
    slopes: Floats  #: the same of the slopes, shape (features less squares, firings · read · columns) [any]
    about: Floats  #: where firings' own latents are typically, shape (firings, read) [-]
    #: By how much it misses: each column by itself, root mean square, then what several miss by together, shape
    #: (1 + together, firings, columns) [any].
    misfit: Floats

    def __call__(self, common: Floats, own: Floats) -> Floats:
        """Return what firings show by it, slopes, and what is typical, shape (points, firings, (2 + read) · columns).

        Without latents of their own that are read it has the shape (points, firings, columns). [any]
        """
        x = (_coordinates(self.experiments, common) - self.middle) / self.spread
        shape = (len(x), self.experiments.firings, -1)
        straight, bent = _features(x, self.hidden)
        centres = (bent @ self.centres).reshape(shape)
        if not self.slopes.size:
            return centres
        slopes = (straight @ self.slopes).reshape(*centres.shape[:2], -1, centres.shape[2])
        typical = centres + np.einsum("nfic,fi->nfc", slopes, self.about)
        return np.concatenate([centres, slopes.reshape(shape), typical], axis=2)


def read_of(experiments: Experiments) -> int:
    """Return how many of each firing's own latents the model reads."""
    return experiments.own if experiments.read is None else experiments.read


def _coordinates(experiments: Experiments, common: Floats) -> Floats:
    if experiments.coordinates is not None:
        return experiments.coordinates(common)
    inert = set(experiments.inert)
    return common[:, [i for i in range(experiments.common) if i not in inert]]


def _features(x: Floats, hidden: HiddenLayer | None) -> tuple[Floats, Floats]:
    """What slopes are linear in, and what the rest is linear in: squares beside it."""
    found = [np.ones((len(x), 1)), x, *([] if hidden is None else [hidden(x)])]
    straight = np.hstack(found)
    return straight, np.hstack([straight, x**2])


def expansion(
    experiments: Experiments, known: Particles, rng: np.random.Generator, before: Expansion | None = None
) -> Expansion | None:
    """Return what is fitted to points that are computed already; None where there are too few of them.

    Parameters
    ----------
    experiments : Experiments
        What is stood in for.
    known : Particles
        Points near which it is needed, the latest last.
    before : Expansion, optional
        An earlier one, from which a hidden layer goes on.
    """
    known = known.taken(np.arange(max(known.count - _MOST_POINTS, 0), known.count))
    read = read_of(experiments)
    whole = np.asarray(np.isfinite(known.simulated).all(axis=2))
    x = _coordinates(experiments, known.common)
    if before is None:
        middle, spread = x.mean(axis=0), x.std(axis=0)
        spread = np.where(spread > 0.0, spread, 1.0)
    else:
        middle, spread = before.middle, before.spread
    x = (x - middle) / spread
    inputs = x.shape[1]
    if whole.sum(axis=0).min() < _LEAST_A_TERM * (1 + 2 * inputs + read * (2 + inputs)):
        return None
    hidden = _hidden(experiments, x, known, rng, before)
    fewest = int(whole.sum(axis=0).min())
    if hidden is not None and fewest < _LEAST_A_TERM * (1 + read) * (2 + inputs + hidden.shifts.size):
        hidden = None
    straight, bent = _features(x, hidden)
    terms = bent.shape[1] + read * (1 + straight.shape[1])
    fits = [
        _fitted(
            bent, straight, known.own[:, f, :read], known.simulated[:, f], _last(there, _MANY_A_TERM * terms)
        )
        for f, there in enumerate(whole.T)
    ]
    centres, slopes, left = zip(*fits, strict=True)
    misfit = _misfit(experiments, np.stack(left, axis=1), known.simulated)
    about = known.own[-_LATEST:, :, :read].mean(axis=0)
    return Expansion(
        experiments, middle, spread, hidden, np.hstack(centres), np.hstack(slopes), about, misfit
    )


def _last(there: NDArray[np.bool_], count: int) -> NDArray[np.bool_]:
    """The last points of those there."""
    return there & (np.cumsum(there[::-1])[::-1] <= count)


def _misfit(experiments: Experiments, left: Floats, simulated: Floats) -> Floats:
    """What is left of the latest points, what columns miss by together apart: firings alike err alike."""
    flat = left[-_LATEST:].reshape(-1, left.shape[1] * left.shape[2])
    flat = flat[np.isfinite(flat).all(axis=1)]
    size = np.sqrt(np.nanmean(left**2, axis=0)).reshape(-1)
    least = _SMALLEST * np.nanmax(np.abs(simulated), axis=0).reshape(-1) + np.finfo(float).tiny
    together = np.zeros((_TOGETHER, size.size))
    if len(flat) > _LEAST_A_TERM * _TOGETHER and experiments.noise is not None:
        noise = experiments.noise.reshape(-1)
        scaled = flat / noise
        _, variances, directions = np.linalg.svd(scaled / np.sqrt(len(scaled)), full_matrices=False)
        count = min(_TOGETHER, len(variances))
        seen = np.where(np.isfinite(noise), noise, 0.0)
        together[:count] = variances[:count, None] * directions[:count] * seen
        size = np.sqrt(np.maximum(np.mean(flat**2, axis=0) - (together**2).sum(axis=0), 0.0))
    every = np.vstack([np.maximum(size, least), together])
    return every.reshape(1 + _TOGETHER, *left.shape[1:])


def _hidden(
    experiments: Experiments, x: Floats, known: Particles, rng: np.random.Generator, before: Expansion | None
) -> HiddenLayer | None:
    """A hidden layer for what parabolas leave; None where there are too few points, or they leave nothing."""
    there = np.isfinite(known.simulated).all(axis=(1, 2))
    shared, read = _features(x[there], None)[1], read_of(experiments)
    if len(shared) < _LEAST_A_TERM * 2 * (shared.shape[1] + read):
        return None
    y = known.simulated[there] - known.simulated[there].mean(axis=0)
    columns = []  # a firing's own inputs, which the others don't share, must not look like something that bends
    for f in range(y.shape[1]):
        terms = np.hstack([shared, known.own[there, f, :read]])
        columns.append(y[:, f] - terms @ _solved(terms, y[:, f]))
    left, y = np.hstack(columns), y.reshape(len(y), -1)
    seen = np.inf if experiments.noise is None else experiments.noise.reshape(-1)
    size = left.std(axis=0)
    wanted = (size > _SLIGHT * y.std(axis=0)) & (experiments.noise is None or size > _UNSEEN * seen)
    if not wanted.any():
        return None
    left = left[:, wanted] / size[wanted]
    return trained(x[there], left, rng, None if before is None else before.hidden)


def _fitted(
    bent: Floats, straight: Floats, own: Floats, y: Floats, there: NDArray[np.bool_]
) -> tuple[Floats, Floats, Floats]:
    """Centres and slopes of one firing, and what they leave at every point."""
    middle, spread = y[there].mean(axis=0), y[there].std(axis=0)
    scaled = (y - middle) / np.where(spread > 0.0, spread, 1.0)
    sloped = [straight * own[:, i : i + 1] for i in range(own.shape[1])]
    squares = (own - own[there].mean(axis=0)) ** 2  # about where they are: a surprising firing's lie far out
    features = np.hstack([bent, *sloped, squares])
    found = _solved(features[there], scaled[there])
    edge, width = bent.shape[1], straight.shape[1]
    end = edge + own.shape[1] * width
    found[0] += squares[there].mean(axis=0) @ found[end:]
    left = (scaled - features[:, :end] @ found[:end]) * spread
    linear = found[:end] * spread
    linear[0] += middle
    slopes = linear[edge:].reshape(own.shape[1], width, y.shape[1]).transpose(1, 0, 2).reshape(width, -1)
    return linear[:edge], slopes, left


def _solved(features: Floats, y: Floats) -> Floats:
    normal = features.T @ features
    normal[np.diag_indices_from(normal)] *= 1.0 + _RIDGE
    normal[np.diag_indices_from(normal)] += np.finfo(float).tiny
    return np.asarray(np.linalg.lstsq(normal, features.T @ y, rcond=1e-12)[0])
