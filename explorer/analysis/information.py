"""What knowing inputs exactly would leave of a target's uncertainty: √E[Var(Y|X)], alone and by twos.

Dependence between inputs is part of the answer: learning one teaches what comes with it. The inputs offered
are the ones that can be learnt; all others (what falls anew at each firing too) stay in what is left.

Sources: regression as in M. Strong, J. E. Oakley, A. Brennan, Med. Decis. Making 34 (2014) 311; the largest
of all permuted as the null of a choice among many: P. H. Westfall and S. S. Young, Resampling-based multiple
testing (Wiley 1993).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.regression import Regressors, centred, left_variance, regressors
from explorer.analysis.scrambles import Estimate, Floats, estimate, root


@dataclass(frozen=True)
class LeftIfKnown:
    """What would be left of the target's uncertainty if an input were known, inputs in the order in which they came."""

    variance: Estimate  #: left, shape (inputs,) [target²]
    fall: Estimate  #: of the variance as a share of it, never clipped, shape (inputs,) [-]
    now: Estimate  #: standard uncertainty of the target as it stands [target]
    null_fall: float  #: 95 % point of the largest fall among inputs that tell nothing [-]

    @property
    def left(self) -> Estimate:
        """Standard uncertainty left, shape (inputs,) [target]."""
        return root(self.variance)

    @property
    def informative(self) -> NDArray[np.bool_]:
        """Whether an input makes the variance fall by more than one that tells nothing, shape (inputs,)."""
        return np.asarray(self.fall.value > self.null_fall)


@dataclass(frozen=True)
class BestPair:
    """The pair of inputs that leaves least if both are known exactly, and what it leaves."""

    places: tuple[int, int]  #: of the two among the inputs
    left: Estimate  #: judged on the half that had no part in the choice [target]
    now: Estimate  #: standard uncertainty as it stands, on the same half [target]
    candidates: Mapping[tuple[int, int], float]  #: what every pair leaves on the half that chose [target]


def left_if_known(
    inputs: Iterable[Floats], target: Iterable[Floats], *, rng: np.random.Generator, permutations: int = 100
) -> LeftIfKnown:
    """Return what is left of the target's standard uncertainty if each input alone were known exactly.

    Parameters
    ----------
    inputs : iterable of ndarray
        For each scramble the inputs that can be learnt, shape (rows, inputs) [any]; none where nothing can be learnt.
    target : iterable of ndarray
        For each scramble, shape (rows,) [target].
    rng : numpy.random.Generator
        For the permutations.
    permutations : int
        Shuffled copies of the target for the null [-].
    """
    known, (values, _) = regressors(inputs), centred(target)
    count = _columns(known, values)
    shuffled = [rng.permuted(np.repeat(y, permutations, axis=1), axis=0) for y in values]
    both = [np.hstack([y, s]) for y, s in zip(values, shuffled, strict=True)]
    spread = left_variance(known.moments([], both))
    each = [left_variance(known.moments([i], both)) for i in range(count)]
    errors = np.stack(each) if each else np.empty((0, *spread.shape))
    # Rows of the null: permutations; the largest fall over all inputs is what a choice among them could find.
    falls = (spread - errors).mean(axis=1) / spread.mean(axis=0)
    null_fall = float(np.quantile(falls[:, 1:].max(axis=0), 0.95)) if each else 0.0
    left_square, now_square = errors[:, :, 0].T, spread[:, 0]
    fall = estimate(1.0 - left_square / now_square[:, None])
    return LeftIfKnown(estimate(left_square), fall, root(estimate(now_square)), null_fall)


def best_pair(inputs: Iterable[Floats], target: Iterable[Floats]) -> BestPair:
    """Return the pair of inputs worth most if known exactly together, with what it leaves.

    The best of many noisy candidates looks better than it is, so the first half of the scrambles chooses and
    the second half, cross-fitted within itself, tells what is left.

    Parameters
    ----------
    inputs, target
        As in `left_if_known`, at least two inputs and four scrambles.
    """
    known, (values, _) = regressors(inputs), centred(target)
    count, half = _columns(known, values), len(values) // 2
    if half < 2 or count < 2:
        raise ValueError("a pair needs two inputs, and four scrambles to be chosen and judged on")
    choosing, judging = Regressors(known.values[:half]), Regressors(known.values[half:])
    left = {
        pair: float(np.sqrt(left_variance(choosing.moments(pair, values[:half])).mean()))
        for pair in combinations(range(count), 2)
    }
    best = min(left, key=left.__getitem__)
    judged = left_variance(judging.moments(best, values[half:]))[:, 0]
    now = left_variance(judging.moments([], values[half:]))[:, 0]
    return BestPair(best, root(estimate(judged)), root(estimate(now)), left)


def _columns(known: Regressors, target: Sequence[Floats]) -> int:
    """Return how many inputs there are, if every scramble has a row of them for each value of the target."""
    count = known.values[0].shape[1]
    expected, got = [(len(y), count) for y in target], [v.shape for v in known.values]
    if got != expected:
        raise ValueError(f"inputs must have the shapes {expected}; got {got}")
    return int(count)
