"""A hidden layer trained on many outputs at once: features in which they are nearly linear, kinks and all.

Rectifiers with a round corner of inputs that are weighted and shifted; weights by Adam on small batches, with a step
that falls as a cosine. Trained again it goes on from where it was.

Source: D. P. Kingma and J. Ba, Adam, ICLR 2015 (arXiv 1412.6980), algorithm 1 with its defaults.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from explorer.analysis.calibration.experiments import Floats

_UNITS: Final[int] = 64
_SHARPNESS: Final[float] = 3.0  #: of the corner [1/standard deviations]
_BATCH: Final[int] = 200
_RATE, _RATE_AGAIN = 4e-3, 2e-3  #: of training at first, and in training again
_FALLING_MEAN, _FALLING_SQUARE, _TINY = 0.9, 0.999, 1e-8  #: Adam's

#: Points seen in training from nothing, and in training again [-].
_FROM_NOTHING, _AGAIN = 2_000_000, 500_000


@dataclass(frozen=True)
class HiddenLayer:
    """Features of standardised inputs."""

    weights: Floats  #: shape (inputs, units) [-]
    shifts: Floats  #: shape (units,) [-]

    def __call__(self, x: Floats) -> Floats:
        """Return features, shape (points, units) [-]."""
        return _rectified(x @ self.weights + self.shifts)


def _rectified(a: Floats) -> Floats:
    """max(a, 0) with a round corner (softplus), without overflow."""
    return np.maximum(a, 0.0) + np.log1p(np.exp(-_SHARPNESS * np.abs(a))) / _SHARPNESS


def trained(x: Floats, y: Floats, rng: np.random.Generator, start: HiddenLayer | None = None) -> HiddenLayer:
    """Return a hidden layer trained to give outputs.

    Parameters
    ----------
    x, y : ndarray
        Shape (points, inputs) and (points, outputs), standardised [-].
    start : HiddenLayer, optional
        One that was trained before, to go on from.
    """
    if start is None:
        weights = rng.standard_normal((x.shape[1], _UNITS)) / np.sqrt(max(x.shape[1], 1))
        shifts = 0.5 * rng.standard_normal(_UNITS)
    else:
        weights, shifts = start.weights, start.shifts
    features = _rectified(x @ weights + shifts)
    normal = features.T @ features + 1e-3 * len(x) * np.eye(_UNITS)
    outwards = np.asarray(np.linalg.solve(normal, features.T @ y))
    parameters = [weights.copy(), shifts.copy(), outwards.copy()]
    means = [np.zeros_like(own) for own in parameters]
    squares = [np.zeros_like(own) for own in parameters]
    batch = min(_BATCH, len(x))
    steps = (_FROM_NOTHING if start is None else _AGAIN) // _BATCH
    order = rng.integers(len(x), size=(steps, batch))
    for step, places in enumerate(order, 1):
        rate = 0.5 * (_RATE if start is None else _RATE_AGAIN) * (1.0 + np.cos(np.pi * step / steps))
        rate *= np.sqrt(1.0 - _FALLING_SQUARE**step) / (1.0 - _FALLING_MEAN**step)
        for own, slope, mean, square in zip(
            parameters, _slopes(parameters, x[places], y[places]), means, squares, strict=True
        ):
            mean += (1.0 - _FALLING_MEAN) * (slope - mean)
            square += (1.0 - _FALLING_SQUARE) * (slope**2 - square)
            own -= rate * mean / (np.sqrt(square) + _TINY)
    return HiddenLayer(*parameters[:2])


def _slopes(parameters: list[Floats], x: Floats, y: Floats) -> tuple[Floats, Floats, Floats]:
    """Slopes of half the mean square error in weights, shifts and outward weights."""
    weights, shifts, outwards = parameters
    inside = x @ weights + shifts
    features = _rectified(inside)
    errors = (features @ outwards - y) / len(x)
    back = (errors @ outwards.T) * (0.5 + 0.5 * np.tanh(0.5 * _SHARPNESS * inside))
    return x.T @ back, back.sum(axis=0), features.T @ errors
