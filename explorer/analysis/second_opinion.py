"""A second opinion on what matters, by methods that share nothing with the variance estimators.

From the plain sample: how far, on average, the output's distribution moves when an input is held in a slice
of its range (Kolmogorov–Smirnov distance; moment-independent, so a long tail can't carry it). A dummy input
that tells nothing is judged along with the others: what doesn't stand out of it is no opinion.

On request, from its own few runs: elementary effects, a cheap first look at many inputs. μ* is the mean size
of the effect of one step of an input, σ its spread (interactions or curvature). These are computed by SALib.

Sources: F. Pianosi and T. Wagener, Environ. Model. Softw. 67 (2015) 1 and 108 (2018) 197 (with the dummy
input); M. D. Morris, Technometrics 33 (1991) 161; F. Campolongo, J. Cariboni, A. Saltelli, Environ. Model.
Softw. 22 (2007) 1509.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.scrambles import Floats, finite

SLICES: Final[int] = 16
LEVELS: Final[int] = 4
#: Effects are taken within the middle 95 % of each input: at the very ends a quantile may be infinite.
RANGE: Final[tuple[float, float]] = (0.025, 0.975)
_FEWEST_PER_SLICE: Final[int] = 50
_RESAMPLES: Final[int] = 100


@dataclass(frozen=True)
class SecondOpinion:
    """How far each input moves the output's distribution, inputs in the order in which they came."""

    distance: Floats  #: mean over the slices, shape (inputs,) [-]
    largest: Floats  #: over the slices, shape (inputs,) [-]
    dummy: float  #: mean distance of an input that tells nothing [-]

    @property
    def leading(self) -> int | None:
        """Place of the input with the largest distance; None if none stands out of the dummy."""
        first = int(np.argmax(self.distance))
        return first if self.distance[first] > self.dummy else None


def moment_independent(inputs: Floats, outputs: Floats, *, rng: np.random.Generator) -> SecondOpinion:
    """Return how far each input moves the output's distribution, from a plain sample.

    Parameters
    ----------
    inputs : ndarray
        Shape (rows, inputs) [any].
    outputs : ndarray
        Shape (rows,) [output].
    rng : numpy.random.Generator
        For the dummy input.
    """
    x, y = finite(inputs, "inputs"), finite(outputs, "outputs")
    if x.shape[:-1] != y.shape or y.size < SLICES * _FEWEST_PER_SLICE:
        raise ValueError(f"inputs of at least {SLICES * _FEWEST_PER_SLICE} rows are needed; got {x.shape}")
    order = np.argsort(y, kind="stable")
    ordered = np.column_stack([x, rng.random(y.size)])[order]
    last = np.append(np.diff(y[order]) > 0.0, True)  # of values that are the same; a distribution steps there
    distances = np.array([_distances(column, last) for column in ordered.T])
    mean, largest = distances.mean(axis=1), distances.max(axis=1)
    return SecondOpinion(mean[:-1], largest[:-1], float(mean[-1]))


def _distances(x: Floats, last: NDArray[np.bool_]) -> Floats:
    """Return how far the output's distribution in each slice of an input is from the whole, rows ordered by output."""
    edges = np.quantile(x, np.linspace(0.0, 1.0, SLICES + 1))
    inside = (x >= edges[:-1, None]) & (x < edges[1:, None])
    counts = np.cumsum(inside, axis=1, dtype=np.int32)[inside.any(axis=1)][:, last]
    every = np.flatnonzero(last) + 1
    return np.asarray(np.abs(counts / counts[:, -1:] - every / x.size).max(axis=1))


@dataclass(frozen=True)
class ElementaryEffects:
    """Elementary effects of a step of the plan's whole range, inputs in the order in which they came [output]."""

    mean_size: Floats  #: μ*, shape (inputs,)
    half_width: Floats  #: of its 95 % interval, shape (inputs,)
    mean: Floats  #: μ, shape (inputs,)
    spread: Floats  #: σ, shape (inputs,)


def elementary_plan(dimensions: int, trajectories: int, *, rng: np.random.Generator) -> Floats:
    """Return the points of a plan of elementary effects, shape (rows, dimensions) [-].

    Parameters
    ----------
    dimensions : int
        Inputs [-].
    trajectories : int
        Random paths, each of which moves every input once; ten to fifty are usual [-].
    rng : numpy.random.Generator
        For the paths.
    """
    from SALib.sample import morris  # slow to import, and wanted by a first look alone

    points = morris.sample(_problem(dimensions), trajectories, num_levels=LEVELS, seed=rng)
    return np.asarray(points, dtype=np.float64)


def elementary_effects(points: Floats, outputs: Floats, *, rng: np.random.Generator) -> ElementaryEffects:
    """Return the elementary effects of each input.

    Parameters
    ----------
    points : ndarray
        From `elementary_plan` [-].
    outputs : ndarray
        Shape (rows,) [output].
    rng : numpy.random.Generator
        For SALib's interval.
    """
    from SALib.analyze import morris  # slow to import, and wanted by a first look alone

    y, problem = finite(outputs, "outputs"), _problem(points.shape[1])
    found = morris.analyze(problem, points, y, num_levels=LEVELS, num_resamples=_RESAMPLES, seed=rng)
    figures = (
        np.asarray(found[name], dtype=np.float64) for name in ("mu_star", "mu_star_conf", "mu", "sigma")
    )
    return ElementaryEffects(*figures)


def _problem(dimensions: int) -> dict[str, Any]:
    names = [f"x{i}" for i in range(dimensions)]
    return {"num_vars": dimensions, "names": names, "bounds": [list(RANGE)] * dimensions}
