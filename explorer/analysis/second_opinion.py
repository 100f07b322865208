"""A second opinion on what matters, by methods that share nothing with the variance estimators.

From the plain sample: how far, on average, the output's distribution moves when an input is held in a slice
of its range (Kolmogorov–Smirnov distance; moment-independent, so a long tail can't carry it). A dummy input
that tells nothing is judged along with the others: what doesn't stand out of it is no opinion.

On request, from its own few runs: elementary effects, a cheap first look at many inputs. μ* is the mean size
of the effect of one step of an input, σ its spread (interactions or curvature).

Both are computed by SALib at run time. Sources: F. Pianosi and T. Wagener, Environ. Model. Softw. 67 (2015)
1 and 108 (2018) 197 (with the dummy input); M. D. Morris, Technometrics 33 (1991) 161; F. Campolongo, J.
Cariboni, A. Saltelli, Environ. Model. Softw. 22 (2007) 1509.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from SALib.analyze import morris as morris_analysis
from SALib.analyze import pawn
from SALib.sample import morris as morris_sample

from explorer.analysis.scrambles import Floats, finite

SLICES: Final[int] = 16
LEVELS: Final[int] = 4
#: Effects are taken within the middle 95 % of each input: at the very ends a quantile may be infinite.
RANGE: Final[tuple[float, float]] = (0.025, 0.975)
_FEWEST_PER_SLICE: Final[int] = 50
_RESAMPLES: Final[int] = 100


@dataclass(frozen=True)
class SecondOpinion:
    """Ranking by a moment-independent measure."""

    table: pd.DataFrame  #: by input, largest first: distance (mean over the slices) and largest [-]
    dummy: float  #: distance of an input that tells nothing [-]
    leading: str | None  #: the input with the largest distance; None if none stands out of the dummy


def moment_independent(
    inputs: Floats, outputs: Floats, names: Sequence[str], *, rng: np.random.Generator
) -> SecondOpinion:
    """Return how far each input moves the output's distribution, from a plain sample.

    Parameters
    ----------
    inputs : ndarray
        Shape (rows, inputs) [any].
    outputs : ndarray
        Shape (rows,) [output].
    names : sequence of str
        One name an input.
    rng : numpy.random.Generator
        For the dummy input.
    """
    x, y = finite(inputs, "inputs"), finite(outputs, "outputs")
    if x.shape != (y.size, len(names)) or y.size < SLICES * _FEWEST_PER_SLICE:
        raise ValueError(
            f"{len(names)} inputs of at least {SLICES * _FEWEST_PER_SLICE} rows are needed; got {x.shape}"
        )
    with_dummy = np.column_stack([x, rng.random(y.size)])
    labels = [*names, "a dummy input"]
    found = pawn.analyze(_problem(labels), with_dummy, y, S=SLICES)
    table = pd.DataFrame(
        {"distance": found["mean"], "largest": found["maximum"]}, index=pd.Index(labels, name="input")
    )
    dummy = float(table["distance"].iloc[-1])
    table = table.iloc[:-1].sort_values("distance", ascending=False)
    stands_out = float(table["distance"].iloc[0]) > dummy
    return SecondOpinion(table, dummy, str(table.index[0]) if stands_out else None)


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
    problem = _problem([f"x{i}" for i in range(dimensions)])
    points = morris_sample.sample(problem, trajectories, num_levels=LEVELS, seed=rng)
    return np.asarray(points, dtype=np.float64)


def elementary_effects(
    points: Floats, outputs: Floats, names: Sequence[str], *, rng: np.random.Generator
) -> pd.DataFrame:
    """Return the elementary effects of each input, largest first.

    Parameters
    ----------
    points : ndarray
        From `elementary_plan` [-].
    outputs : ndarray
        Shape (rows,) [output].
    names : sequence of str
        One name an input.
    rng : numpy.random.Generator
        For SALib's interval.

    Returns
    -------
    pandas.DataFrame
        Indexed by input: mean_size (μ*), mean_size_interval (half-width, 95 %), mean (μ) and spread (σ), for
        a step of the whole plan's range [output].
    """
    y = finite(outputs, "outputs")
    found = morris_analysis.analyze(
        _problem(list(names)), points, y, num_levels=LEVELS, num_resamples=_RESAMPLES, seed=rng
    )
    table = pd.DataFrame(
        {
            "mean_size": np.asarray(found["mu_star"], dtype=np.float64),
            "mean_size_interval": np.asarray(found["mu_star_conf"], dtype=np.float64),
            "mean": np.asarray(found["mu"], dtype=np.float64),
            "spread": np.asarray(found["sigma"], dtype=np.float64),
        },
        index=pd.Index(list(names), name="input"),
    )
    return table.sort_values("mean_size", ascending=False)


def _problem(names: Sequence[str]) -> dict[str, Any]:
    return {"num_vars": len(names), "names": list(names), "bounds": [list(RANGE)] * len(names)}
