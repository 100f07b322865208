"""Readings whose errors are linear in latents that are normal: their density with these integrated, and these drawn.

With readings y about m, random variances D and errors B·e, e ~ N(0, I), the density of y is that of N(m, D + BBᵀ).
Raised to a power β the random part has the variance D/β; so the same holds at every temperature, firing by firing.
Small matrices of every point are factored at once (Woodbury's identity; the last pivot of the bordered matrix is the
square).
"""

import numpy as np

from explorer.analysis.calibration.experiments import Floats

_TINY = 1e-12


def integrated(deviation: Floats, effects: Floats, variance: Floats, powers: Floats) -> Floats:
    """Return the logarithm of the tempered density of readings with linear errors integrated, shape (points,) [-].

    Parameters
    ----------
    deviation : ndarray
        Readings less what is expected without these errors, shape (points, readings) [any].
    effects : ndarray
        Of each error on each reading, shape (points, readings, errors) [any].
    variance : ndarray
        Of the random part, shape (points, readings) [any²].
    powers : ndarray
        β of each reading's density, shape (readings,) [-].
    """
    weights = powers / variance
    constant = -0.5 * (powers * np.log(2.0 * np.pi * variance)).sum(axis=1)
    errors = effects.shape[2]
    squares = (weights * deviation**2).sum(axis=1)
    if not errors:
        return np.asarray(constant - 0.5 * squares)
    bordered = np.zeros((len(deviation), errors + 1, errors + 1))
    weighted = effects * weights[:, :, None]
    bordered[:, :errors, :errors] = np.matmul(effects.transpose(0, 2, 1), weighted)
    bordered[:, errors, :errors] = np.einsum("nre,nr->ne", weighted, deviation)
    bordered[:, :errors, errors] = bordered[:, errors, :errors]
    bordered[:, errors, errors] = squares * (1.0 + _TINY)
    bordered[:, np.arange(errors + 1), np.arange(errors + 1)] += 1.0
    pivots = np.diagonal(np.linalg.cholesky(bordered), axis1=1, axis2=2)
    left = pivots[:, -1] ** 2 - 1.0
    return np.asarray(constant - 0.5 * left - np.log(pivots[:, :-1]).sum(axis=1))


def drawn_errors(
    deviation: Floats, effects: Floats, variance: Floats, powers: Floats, rng: np.random.Generator
) -> Floats:
    """Return errors drawn given the readings, shape (points, errors) [-].

    Parameters
    ----------
    deviation, effects, variance, powers : ndarray
        As in `integrated`.
    """
    points, _, errors = effects.shape
    if not errors:
        return np.zeros((points, 0))
    weighted = effects * (powers / variance)[:, :, None]
    precision = np.matmul(effects.transpose(0, 2, 1), weighted) + np.eye(errors)
    factor = np.linalg.cholesky(precision)
    pull = np.einsum("nre,nr->ne", weighted, deviation)
    mean = np.linalg.solve(precision, pull[:, :, None])
    noise = np.linalg.solve(factor.transpose(0, 2, 1), rng.standard_normal((points, errors, 1)))
    return np.asarray((mean + noise)[:, :, 0])
