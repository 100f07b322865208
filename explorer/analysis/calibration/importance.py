"""Weights that turn one sample into another, their largest smoothed, with a check whether they can be trusted.

Sources: A. Vehtari, D. Simpson, A. Gelman, Y. Yao and J. Gabry, Pareto smoothed importance sampling, J. Mach. Learn.
Res. 25 (2024) 72; J. Zhang and M. A. Stephens, Technometrics 51 (2009) 316 (the fit of the tail).
"""

from typing import Final, NamedTuple

import numpy as np

from explorer.analysis.calibration.experiments import Floats

#: Shape of the tail from which on weights can't be trusted [-].
TRUSTED: Final[float] = 0.7

_FEWEST_IN_TAIL: Final[int] = 5
_PRIOR_POINTS, _PRIOR_WEIGHT = 3.0, 10.0  #: of the tail's fit: Zhang and Stephens; Vehtari et al., appendix


class Weights(NamedTuple):
    """Weights of a sample's points."""

    weights: Floats  #: add to 1 [-]
    shape: float  #: of their tail [-]


def smoothed_weights(logs: Floats) -> Weights:
    """Return weights from their logarithms, the largest replaced by the quantiles of a Pareto tail.

    Parameters
    ----------
    logs : ndarray
        Shape (points,), up to a constant [-].
    """
    raw = np.exp(logs - logs.max())
    length = int(min(0.2 * raw.size, 3.0 * np.sqrt(raw.size)))
    order = np.argsort(raw, kind="stable")
    tail = order[-length:]
    threshold = raw[order[-length - 1]]
    excess = raw[tail] - threshold
    if length < _FEWEST_IN_TAIL or excess[-1] <= 0.0:
        return Weights(raw / raw.sum(), float("inf") if length < _FEWEST_IN_TAIL else 0.0)
    shape, scale = _pareto(excess[excess > 0.0])
    marks = (np.arange(length) + 0.5) / length
    quantiles = scale * np.expm1(-shape * np.log1p(-marks)) / shape if shape else -scale * np.log1p(-marks)
    raw[tail] = np.minimum(threshold + quantiles, 1.0)
    return Weights(raw / raw.sum(), shape)


def _pareto(excess: Floats) -> tuple[float, float]:
    """Return shape and scale of a generalised Pareto distribution [-]."""
    n = excess.size
    points = 30 + int(np.sqrt(n))
    quartile = excess[int(n / 4 + 0.5) - 1]
    places = np.arange(1, points + 1)
    b = (1.0 - np.sqrt(points / (places - 0.5))) / (_PRIOR_POINTS * quartile) + 1.0 / excess[-1]
    shapes = np.log1p(-b[:, None] * excess).mean(axis=1)
    logs = n * (np.log(-b / shapes) - shapes - 1.0)
    weights = 1.0 / np.exp(logs - logs[:, None]).sum(axis=1)
    middle = float(np.sum(b * weights) / weights.sum())
    shape = float(np.log1p(-middle * excess).mean())
    scale = -shape / middle
    return (shape * n + 0.5 * _PRIOR_WEIGHT) / (n + _PRIOR_WEIGHT), scale
