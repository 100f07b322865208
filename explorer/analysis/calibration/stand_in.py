"""A cheap stand-in for what firings show: a polynomial of second order in the latents, fitted to points computed
already.

It only proposes: every proposal is judged by the model itself, so that its errors cost acceptance and no truth.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from explorer.analysis.calibration.experiments import Experiments, Floats, Particles

#: Latents that get products with each other, those with most effect; all get squares [-].
_CURVED: Final[int] = 10

#: Points that a fit uses for each of its coefficients at most, and needs at least [-].
_MOST_A_TERM, _LEAST_A_TERM = 12, 3

_SMALLEST: Final[float] = 1e-12  #: misfit that is always left, as a share of what is fitted [-]
_RIDGE: Final[float] = 1e-8  #: share of a feature's square that is added to it


@dataclass(frozen=True)
class _Firing:
    """The polynomials of one firing."""

    curved: tuple[int, ...]
    coefficients: Floats  #: shape (features, columns)

    def __call__(self, latents: Floats) -> Floats:
        return np.asarray(_features(latents, self.curved) @ self.coefficients)


@dataclass(frozen=True)
class StandIn:
    """Polynomials of every firing; they give numbers where the model gives none."""

    read: tuple[int, ...]  #: common latents that the model reads
    firings: tuple[_Firing, ...]
    misfit: Floats  #: root mean square by which it misses, shape (firings, columns) [any]

    def __call__(self, common: Floats, own: Floats) -> Floats:
        """Return what firings show by the polynomials, shape (points, firings, columns) [any]."""
        read = common[:, list(self.read)]
        shown = [each(np.hstack([read, own[:, f]])) for f, each in enumerate(self.firings)]
        return np.stack(shown, axis=1)


def _features(x: Floats, curved: tuple[int, ...]) -> Floats:
    inside = x[:, list(curved)]
    upper = np.triu_indices(len(curved), 1)
    return np.hstack([np.ones((len(x), 1)), x, x**2, inside[:, upper[0]] * inside[:, upper[1]]])


def stand_in(experiments: Experiments, known: Particles, rng: np.random.Generator) -> StandIn | None:
    """Return polynomials fitted to points that are computed already; None where there are too few of them.

    Parameters
    ----------
    experiments : Experiments
        What is stood in for.
    known : Particles
        Points near which it is needed.
    """
    read = tuple(i for i in range(experiments.common) if i not in set(experiments.inert))
    dimension = len(read) + experiments.own
    terms = 1 + 2 * dimension + min(_CURVED, dimension) * (min(_CURVED, dimension) - 1) // 2
    found, misfits = [], []
    for f in range(experiments.firings):
        x = np.hstack([known.common[:, list(read)], known.own[:, f]])
        y = known.simulated[:, f]
        places = np.flatnonzero(np.isfinite(y).all(axis=1))
        if not places.size:  # a firing that gives no number anywhere near: nothing is said of it
            found.append(_Firing((), np.zeros((1 + 2 * dimension, y.shape[1]))))
            misfits.append(np.ones(y.shape[1]))
            continue
        if places.size < _LEAST_A_TERM * terms:
            return None
        if places.size > _MOST_A_TERM * terms:
            places = rng.choice(places, _MOST_A_TERM * terms, replace=False)
        fitted, misfit = _fitted(x[places], y[places])
        found.append(fitted)
        misfits.append(misfit)
    return StandIn(read, tuple(found), np.array(misfits))


def _fitted(x: Floats, y: Floats) -> tuple[_Firing, Floats]:
    middle, spread = y.mean(axis=0), y.std(axis=0)
    scaled = (y - middle) / np.where(spread > 0.0, spread, 1.0)
    effects = np.abs(_solved(_features(x, ()), scaled)[1 : 1 + x.shape[1]]) * x.std(axis=0)[:, None]
    curved = tuple(sorted(int(i) for i in np.argsort(-effects.max(axis=1), kind="stable")[:_CURVED]))
    features = _features(x, curved)
    coefficients = _solved(features, scaled)
    misfit = np.sqrt(np.mean((scaled - features @ coefficients) ** 2, axis=0)) * spread
    misfit = np.maximum(misfit, _SMALLEST * np.maximum(np.abs(middle), spread) + np.finfo(float).tiny)
    coefficients = coefficients * spread
    coefficients[0] += middle
    return _Firing(curved, coefficients), misfit


def _solved(features: Floats, y: Floats) -> Floats:
    normal = features.T @ features
    normal[np.diag_indices_from(normal)] *= 1.0 + _RIDGE
    return np.asarray(np.linalg.lstsq(normal, features.T @ y, rcond=1e-12)[0])
