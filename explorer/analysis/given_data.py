"""First-order sensitivity from any sample, also where the inputs depend on each other.

The index Var(E[Y|X_i])/Var(Y) keeps its meaning when inputs are correlated: learning X_i teaches what comes
with it, so the shares then add up to anything. Totals have no such meaning and aren't offered.

Source: E. Plischke, Reliab. Eng. Syst. Saf. 95 (2010) 354, with the within-bin part taken off by products of
independent scrambles (own choice, after the U-statistics of W. Hoeffding, Ann. Math. Statist. 19 (1948) 293),
or, where there is one scramble only, as in the one-way analysis of variance (R. A. Fisher 1925).
"""

import math
from collections.abc import Iterable

import numpy as np

from explorer.analysis.scrambles import Floats, estimate, finite
from explorer.analysis.sensitivity import SensitivityIndices, refuse_constant


def given_data_first_order(
    inputs: Iterable[Floats], outputs: Iterable[Floats], *, bins: int | None = None
) -> SensitivityIndices:
    """Return first-order indices from any sample, inputs free to depend on each other; no totals.

    Each input's rows are sorted into bins of equal count; the variance of the bins' means, less the part that
    the scatter within the bins puts into them, estimates Var(E[Y|X_i]). With several scrambles that part
    drops out by itself, for the bins of one scramble are multiplied with those of the others only: the
    scatter of independent scrambles has no product. (In one balanced design it can't be taken off well: the
    bins' means scatter less than independent rows would, by an amount that depends on the output.)

    Parameters
    ----------
    inputs : iterable of ndarray
        For each scramble the inputs, shape (rows, inputs) [any].
    outputs : iterable of ndarray
        For each scramble the outputs, shape (rows,) [output].
    bins : int, optional
        Bins of an input [-]; twice the root of the rows if left out.

    Returns
    -------
    SensitivityIndices
        One scramble has no sampling error. Else the error is a jackknife over the scrambles, whose
        pseudo-values stand in `by_scramble`. Beside it an error from the bins' width remains, some 1e-4 in
        steep tails, which the interval doesn't hold.

    Raises
    ------
    ConstantOutput
        If the output is the same everywhere in a scramble.
    ValueError
        If a value isn't finite, shapes disagree, or there are just two scrambles.
    """
    columns = [finite(block, "inputs") for block in inputs]
    values = [finite(block, "outputs") for block in outputs]
    if len(columns) != len(values) or len(values) in (0, 2):
        raise ValueError("inputs and outputs of one scramble, or of at least three, are needed")
    for x, y in zip(columns, values, strict=True):
        if x.shape != (y.size, *columns[0].shape[1:]):
            raise ValueError(f"inputs must have shape {(y.size, *columns[0].shape[1:])}; got {x.shape}")
        refuse_constant(y)
    count = default_bins(min(y.size for y in values)) if bins is None else bins
    ordered = [
        (y - y.mean())[np.argsort(x, axis=0, kind="stable")].T for x, y in zip(columns, values, strict=True)
    ]
    means = np.stack([bin_means(y, count) for y in ordered])
    variances = np.array([y.var() for y in values])
    if len(values) == 1:
        # One-way analysis of variance: a bin's mean has the within-bin mean square over the bin's rows.
        between = np.mean(means**2, axis=2)
        first = (between - (variances - between) * (count - 1) / (values[0].size - count)) / variances
    else:
        first = _ratio_pseudo_values(means, variances)
    means_of_all = estimate([y.mean() for y in values])
    return SensitivityIndices(estimate(first), None, estimate(variances), means_of_all)


def default_bins(rows: int) -> int:
    """Return the bins of an input: so many that what a bin's width hides is below the sampling error [-]."""
    return max(4, round(2.0 * math.sqrt(rows)))


def bin_means(ordered: Floats, bins: int) -> Floats:
    """Return the means over bins of equal count, shape (inputs, bins) [output].

    Parameters
    ----------
    ordered : ndarray
        Outputs in the order of each input, shape (inputs, rows) [output].
    bins : int
        Bins [-]; at least two rows in each; counts differ by one where they don't divide the rows.
    """
    rows = ordered.shape[-1]
    if not 2 <= bins <= rows // 2:
        raise ValueError(f"bins must lie between 2 and half the {rows} rows; got {bins}")
    edges = np.linspace(0, rows, bins + 1).astype(int)
    return np.asarray(np.add.reduceat(ordered, edges[:-1], axis=1) / np.diff(edges))


def _ratio_pseudo_values(means: Floats, variances: Floats) -> Floats:
    """Return jackknife pseudo-values of the share of variance between bins, shape (scrambles, inputs) [-].

    The numerator is the mean product of different scrambles (a U-statistic of degree two), of the bins' means
    and of the steps between them: a step Δ is a slope that hides Δ²/12 within its bin. The ratio is
    linearised about the pooled variance.
    """
    scrambles, _, bins = means.shape
    terms = np.concatenate([means, np.gradient(means, axis=2) / math.sqrt(12.0)], axis=2)
    products = np.einsum("sib,tib->sti", terms, terms) / bins
    others = (products.sum(axis=1) - np.einsum("ssi->si", products)) / (scrambles - 1)
    pooled = others.mean(axis=0)
    pseudo = (2.0 * (scrambles - 1) * others - scrambles * pooled) / (scrambles - 2)
    share = pooled / variances.mean()
    return np.asarray(share + (pseudo - share * variances[:, None]) / variances.mean())
