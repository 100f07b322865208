"""What knowing inputs exactly would leave of a target's uncertainty: √E[Var(Y|X)], alone and by twos.

Dependence between inputs is part of the answer: learning one teaches what comes with it. The inputs offered
are the ones that can be learnt; all others (what falls anew at each firing too) stay in what is left.

Sources: regression as in M. Strong, J. E. Oakley, A. Brennan, Med. Decis. Making 34 (2014) 311; the largest
of all permuted as the null of a choice among many: P. H. Westfall and S. S. Young, Resampling-based multiple
testing (Wiley 1993).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd

from explorer.analysis.regression import Regressors, centred, left_variance, regressors
from explorer.analysis.scrambles import Estimate, Floats, estimate, order_claims, root


@dataclass(frozen=True)
class LeftIfKnown:
    """Standard uncertainty of the target left if an input were known exactly."""

    table: pd.DataFrame
    """Indexed by input: left, left_standard_error, left_low, left_high, fall (of variance, as a share, never
    clipped), fall_standard_error, informative (fall beyond the null)."""
    now: Estimate  #: standard uncertainty of the target as it stands
    null_fall: float  #: 95 % point of the largest fall among inputs that tell nothing, share of the variance
    order_of: (
        pd.DataFrame
    )  #: claims for each pair of inputs: "above" if the first leaves more than the second


@dataclass(frozen=True)
class BestPair:
    """The pair of inputs that leaves least if both are known exactly, and what it leaves."""

    names: tuple[str, str]
    left: Estimate  #: judged on the half that had no part in the choice
    now: Estimate  #: standard uncertainty as it stands, on the same half
    candidates: pd.DataFrame  #: every pair on the half that chose: first, second, left


def left_if_known(
    inputs: Iterable[Floats],
    target: Iterable[Floats],
    names: Sequence[str],
    *,
    rng: np.random.Generator,
    permutations: int = 100,
) -> LeftIfKnown:
    """Return what is left of the target's standard uncertainty if each input alone were known exactly.

    Parameters
    ----------
    inputs : iterable of ndarray
        For each scramble the inputs that can be learnt, shape (rows, inputs) [any].
    target : iterable of ndarray
        For each scramble, shape (rows,) [target].
    names : sequence of str
        One name an input; none where nothing can be learnt.
    rng : numpy.random.Generator
        For the permutations.
    permutations : int
        Shuffled copies of the target for the null [-].
    """
    known, (values, _) = regressors(inputs), centred(target)
    _same_rows(known, values, len(names))
    shuffled = [rng.permuted(np.repeat(y, permutations, axis=1), axis=0) for y in values]
    both = [np.hstack([y, s]) for y, s in zip(values, shuffled, strict=True)]
    spread = left_variance(known.moments([], both))
    each = [left_variance(known.moments([i], both)) for i in range(len(names))]
    errors = np.stack(each) if each else np.empty((0, *spread.shape))
    # Rows of the null: permutations; the largest fall over all inputs is what a choice among them could find.
    falls = (spread - errors).mean(axis=1) / spread.mean(axis=0)
    null_fall = float(np.quantile(falls[:, 1:].max(axis=0), 0.95)) if each else 0.0
    left_square, now_square = errors[:, :, 0].T, spread[:, 0]
    left, fall = root(estimate(left_square)), estimate(1.0 - left_square / now_square[:, None])
    table = pd.DataFrame(
        {
            "left": left.value,
            "left_standard_error": left.standard_error,
            "left_low": left.low,
            "left_high": left.high,
            "fall": fall.value,
            "fall_standard_error": fall.standard_error,
            "informative": fall.value > null_fall,
        },
        index=pd.Index(list(names), name="input"),
    )
    return LeftIfKnown(table, root(estimate(now_square)), null_fall, order_claims(left_square, list(names)))


def best_pair(inputs: Iterable[Floats], target: Iterable[Floats], names: Sequence[str]) -> BestPair:
    """Return the pair of inputs worth most if known exactly together, with what it leaves.

    The best of many noisy candidates looks better than it is, so the first half of the scrambles chooses and
    the second half, cross-fitted within itself, tells what is left.

    Parameters
    ----------
    inputs, target, names
        As in `left_if_known`, at least two inputs and four scrambles.
    """
    known, (values, _) = regressors(inputs), centred(target)
    _same_rows(known, values, len(names))
    half = len(values) // 2
    if half < 2 or len(names) < 2:
        raise ValueError("a pair needs two inputs, and four scrambles to be chosen and judged on")
    choosing, judging = Regressors(known.values[:half]), Regressors(known.values[half:])
    pairs = list(combinations(range(len(names)), 2))
    left = [float(left_variance(choosing.moments(pair, values[:half])).mean()) for pair in pairs]
    best = pairs[int(np.argmin(left))]
    judged = left_variance(judging.moments(best, values[half:]))[:, 0]
    now = left_variance(judging.moments([], values[half:]))[:, 0]
    candidates = pd.DataFrame(
        [(names[a], names[b], float(np.sqrt(v))) for (a, b), v in zip(pairs, left, strict=True)],
        columns=["first", "second", "left"],
    ).sort_values("left", ignore_index=True)
    return BestPair((names[best[0]], names[best[1]]), root(estimate(judged)), root(estimate(now)), candidates)


def _same_rows(known: Regressors, target: Sequence[Floats], count: int) -> None:
    expected = [(len(y), count) for y in target]
    got = [v.shape for v in known.values]
    if got != expected:
        raise ValueError(f"inputs must have the shapes {expected}; got {got}")
