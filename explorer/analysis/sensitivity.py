"""Variance-based sensitivity: which share of an output's variance stands behind which input.

First-order index: Var(E[Y|X_i])/Var(Y), the share that would go if X_i were known. Total index:
E[Var(Y|all but X_i)]/Var(Y), the share that would stay if all but X_i were known. Both for independent inputs
or independent groups of inputs, from a pick-freeze design (block 0 the sample A, block 1 the sample B, then A
with each group from B). For inputs that depend on each other see `given_data`.

Estimates are never clipped: a small negative share is what an index of zero looks like with its sampling
error.

Sources: first order: A. Saltelli et al., Comput. Phys. Commun. 181 (2010) 259, table 2 (b). Total:
M. J. W. Jansen, Comput. Phys. Commun. 117 (1999) 35.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.scrambles import Estimate, Floats, estimate, finite


class ConstantOutput(ValueError):
    """The output doesn't change over the sample: nothing to be sensitive to, no share to be given."""


@dataclass(frozen=True)
class SensitivityIndices:
    """Shares of the output's variance with their sampling errors, inputs or groups in the order in which they came."""

    first: Estimate  #: shape (groups,) [-]
    total: Estimate | None  #: the same [-]; None where inputs depend on each other
    variance: Estimate  #: of the output [output²]
    mean: Estimate  #: of the output [output]

    @property
    def leading(self) -> Estimate:
        """The shares by which inputs are ordered: the total ones where there are any."""
        return self.first if self.total is None else self.total


def saltelli_2010(a: Floats, b: Floats, mixed: Floats) -> Floats:
    """Return the part of the variance that each group carries by itself, Var(E[Y|X_i]) [output²].

    Parameters
    ----------
    a, b : ndarray
        Outputs on the samples A and B, centred by a common constant, shape (rows,) [output].
    mixed : ndarray
        Outputs on A with each group's columns from B, centred alike, shape (groups, rows) [output].
    """
    return np.asarray((mixed - a) @ b / a.size)


def jansen_1999(a: Floats, mixed: Floats) -> Floats:
    """Return the part of the variance that each group carries with all its interactions [output²].

    Parameters
    ----------
    a : ndarray
        Outputs on the sample A, shape (rows,) [output].
    mixed : ndarray
        Outputs on A with each group's columns from another sample, shape (groups, rows) [output].
    """
    difference = mixed - a
    return np.asarray(0.5 * np.einsum("gr,gr->g", difference, difference) / a.size)


def sensitivity_indices(outputs: Iterable[Floats]) -> SensitivityIndices:
    """Return first-order and total indices from a pick-freeze design.

    Parameters
    ----------
    outputs : iterable of ndarray
        For each scramble the outputs of the blocks A, B and A with each group from B, shape (groups + 2,
        rows), so an array of shape (scrambles, groups + 2, rows) too [output]. Rows may differ between
        scrambles.

    Raises
    ------
    ConstantOutput
        If the output is the same everywhere in a scramble's samples A and B.
    ValueError
        If an output isn't finite or shapes disagree.
    """
    blocks = [finite(block, "outputs") for block in outputs]
    if not blocks:
        raise ValueError("at least one scramble is needed")
    for block in blocks:
        if block.ndim != 2 or not 3 <= len(block) == len(blocks[0]):
            raise ValueError(
                f"each scramble needs blocks of rows: A, B and one a group; got shape {block.shape}"
            )
    parts = [_scramble_indices(block) for block in blocks]
    first, total, variance, mean = (estimate(np.stack(figure)) for figure in zip(*parts, strict=True))
    return SensitivityIndices(first, total, variance, mean)


def _scramble_indices(block: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    # Each block is a sample of the same output, so the mean of all centres best; centring keeps the
    # first-order estimator's noise from growing with the output's mean.
    mean = block.mean()
    centred = block - mean
    a, b, mixed = centred[0], centred[1], centred[2:]
    variance = np.var(centred[:2])
    refuse_constant(block[:2])
    return (
        saltelli_2010(a, b, mixed) / variance,
        jansen_1999(a, mixed) / variance,
        np.asarray(variance),
        np.asarray(mean),
    )


def refuse_constant(outputs: Floats) -> None:
    """Raise `ConstantOutput` if the outputs differ by no more than their rounding."""
    if np.ptp(outputs) <= 4.0 * np.finfo(np.float64).eps * np.max(np.abs(outputs)):
        raise ConstantOutput(f"the output is constant over the sample: {outputs.flat[0]:g} at every point")


def complete_rows(outputs: NDArray[np.float64]) -> tuple[list[Floats], float]:
    """Return each scramble's rows that have a number in every block, and the share of rows lost.

    Dropping single points would break the design, so a row goes as a whole. Whether the share may be lost is
    for the study to decide.

    Parameters
    ----------
    outputs : ndarray
        Shape (scrambles, blocks, rows) [output].
    """
    whole = np.asarray(np.isfinite(outputs).all(axis=1))
    kept = [block[:, rows] for block, rows in zip(outputs, whole, strict=True)]
    return kept, float(1.0 - whole.mean())
