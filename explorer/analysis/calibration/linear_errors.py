"""Readings whose errors are linear in latents that are normal: their density with these integrated, and these drawn.

With readings y about m, random variances D and errors B·e, e ~ N(0, I), the density of y is that of N(m, D + BBᵀ).
Raised to a power β the random part has the variance D/β; so the same holds at every temperature, firing by firing.
Small matrices of every point are factored at once (Woodbury's identity; the last pivot of the bordered matrix is the
square).
"""

from collections.abc import Sequence

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


def integrated_in_blocks(
    deviation: Floats, effects: Floats, own: Floats, variance: Floats, powers: Floats, blocks: Sequence[slice]
) -> Floats:
    """Return the same as `integrated` with errors of blocks of readings integrated too, shape (points,) [-].

    Parameters
    ----------
    deviation, effects, variance, powers : ndarray
        As in `integrated`.
    own : ndarray
        Effects of each block's own errors on its readings, shape (points, readings, own) [any].
    blocks : sequence of slice
        The readings of each block.
    """
    if not own.shape[2]:
        return integrated(deviation, effects, variance, powers)
    points, _, errors = effects.shape
    weights = powers / variance
    constant = -0.5 * (powers * np.log(2.0 * np.pi * variance)).sum(axis=1)
    every = np.empty((points, deviation.shape[1], errors + 1))
    every[:, :, :errors], every[:, :, errors] = effects, deviation
    bordered = np.matmul((every * weights[:, :, None]).transpose(0, 2, 1), every)
    bordered[:, errors, errors] *= 1.0 + _TINY
    bordered[:, np.arange(errors + 1), np.arange(errors + 1)] += 1.0
    pulls = (own * weights[:, :, None]).transpose(0, 2, 1)
    within = np.stack([np.matmul(pulls[:, :, rows], own[:, rows]) for rows in blocks], axis=1)
    crossed = np.stack([np.matmul(pulls[:, :, rows], every[:, rows]) for rows in blocks], axis=1)
    removed, volume = _eliminated(within, crossed)
    bordered -= np.matmul(removed.transpose(0, 2, 1), removed)
    pivots = np.diagonal(np.linalg.cholesky(bordered), axis1=1, axis2=2)
    left = pivots[:, -1] ** 2 - 1.0
    return np.asarray(constant - 0.5 * left - volume - np.log(pivots[:, :-1]).sum(axis=1))


def _eliminated(within: Floats, crossed: Floats) -> tuple[Floats, Floats]:
    """L⁻¹·crossed of each block with L·Lᵀ = 1 + within, shape (points, blocks·own, ·), and the sum of ln of L's pivots.

    Small matrices of all points and blocks are factored side by side, row by row.
    """
    size = within.shape[2]
    factor = np.zeros_like(within)
    volume = np.zeros(len(within))
    for i in range(size):
        for j in range(i + 1):
            left = within[:, :, i, j] - (factor[:, :, i, :j] * factor[:, :, j, :j]).sum(axis=2)
            factor[:, :, i, j] = np.sqrt(1.0 + left) if i == j else left / factor[:, :, j, j]
        for j in range(i):
            crossed[:, :, i] -= factor[:, :, i, j, None] * crossed[:, :, j]
        crossed[:, :, i] /= factor[:, :, i, i, None]
        volume += np.log(factor[:, :, i, i]).sum(axis=1)
    return crossed.reshape(len(crossed), -1, crossed.shape[3]), volume


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
