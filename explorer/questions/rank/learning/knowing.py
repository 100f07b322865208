"""What knowing inputs exactly would leave, alone and by twos, from the design that gives the shares.

Where inputs are independent, what is left if a row is known is half the mean square of differences between points that
share this row and nothing else, whatever the model's shape. For single rows a regression takes most of the sampling
error away, and the design the regression's bias. For two rows a few more blocks are computed, B with one of the leading
rows from A: with A that has another one from B they share just these two.

Sources: differences: M. J. W. Jansen, Comput. Phys. Commun. 117 (1999) 35; which blocks share two rows: A. Saltelli,
Comput. Phys. Commun. 145 (2002) 280, theorem 2.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from explorer import run, sampling
from explorer.analysis.information import best_pair, left_if_known
from explorer.analysis.regression import centred, cross_fitted, left_variance, regressors
from explorer.analysis.scrambles import Estimate, estimate, root
from explorer.questions.rank.shares import Sampled, Shares, plain_cubes
from explorer.sampling import Purpose
from explorer.space import Row
from explorer.study.plans import Memory, carry_out
from explorer.study.problem import Problem

FloatArray = NDArray[np.float64]

#: Rows of which each two are tried together: those with the largest total shares.
_LEADING: Final[int] = 4

#: Chance that a row that tells nothing isn't taken to tell something.
_SURE: Final[float] = 0.95


@dataclass(frozen=True)
class Known:
    """What would be left if a row were known exactly."""

    row: Row
    variance: Estimate  #: left of the target [SI²]
    informative: bool  #: whether it falls by more than with a row that tells nothing

    @property
    def left(self) -> Estimate:
        """Standard uncertainty left of the target [SI]."""
        return root(self.variance)


@dataclass(frozen=True)
class Pair:
    """The two inputs that would leave least if both were known exactly."""

    rows: tuple[Row, Row]
    left: Estimate  #: standard uncertainty left of the target, judged apart from the choice [SI]


@dataclass(frozen=True)
class Knowing:
    """What knowing rows exactly would leave."""

    known: tuple[Known, ...]  #: For each unknown row, the model's own error among them
    pair: Pair | None  #: None with fewer than two inputs that are unknown
    #: Fall of the variance, as a share, that the luckiest of rows that tell nothing would seem to bring [-].
    null_fall: float


def holds(shares: Shares) -> bool:
    """Whether the design tells what knowing each row would leave: independent inputs, few failures, no groups."""
    return shares.how == "design" and all(len(subject.columns) == 1 for subject in shares.subjects)


def knowing(problem: Problem, design: Sampled, shares: Shares, *, jobs: int = 1) -> Knowing:
    """What knowing rows exactly would leave, from a design that holds."""
    places = [p for p, subject in enumerate(shares.subjects) if subject.part != "scatter"]
    if not places:
        return Knowing((), None, 0.0)
    columns = [shares.subjects[place].columns[0] for place in places]
    spread, left = _left(design, places, columns, jobs)
    fall = estimate(1.0 - left / spread[:, None])
    luck = stdtrit(max(len(spread) - 1, 1), _SURE ** (1.0 / len(places)))
    known = tuple(
        Known(problem.rows[column], estimate(left[:, n]), bool(fall.value[n] > luck * fall.standard_error[n]))
        for n, column in enumerate(columns)
    )
    null_fall = float(luck * np.median(fall.standard_error))
    return Knowing(known, _pair(problem, design, shares, jobs=jobs), null_fall)


def _left(
    design: Sampled, places: Sequence[int], columns: Sequence[int], jobs: int
) -> tuple[FloatArray, FloatArray]:
    """Variance now, shape (scrambles,), and what each row leaves, shape (scrambles, rows) [SI²].

    A regression's misfit is what its errors have in common at points that share nothing but the row: taken off, nothing
    is left of it in the mean, and the error is hardly larger than the regression's.
    """
    whole = [np.isfinite(block).all(axis=0) for block in design.outputs]
    blocks = [block[:, rows] for block, rows in zip(design.outputs, whole, strict=True)]
    cubes = [
        cube.reshape(2, len(rows), -1)[:, rows][:, :, list(columns)].reshape(-1, len(columns))
        for cube, rows in zip(plain_cubes(design.plan), whole, strict=True)
    ]
    target, middle = centred(block[:2].ravel() for block in blocks)
    known = regressors(cubes)

    def told(n: int) -> tuple[FloatArray, list[FloatArray]]:
        return left_variance(known.moments([n], target))[:, 0], cross_fitted(known, [n], target)

    each = [(n,) for n in range(len(columns))]
    found = list(run.in_threads(told, each, jobs=jobs, total=len(each)))
    left, fits = np.stack([own for own, _ in found], axis=1), [fit for _, fit in found]
    for scramble, own in enumerate(blocks):
        fitted = np.stack([fit[scramble].reshape(2, -1) for fit in fits])
        # At B nothing is in common but the row: what all rows' regressions explain there may be taken off too.
        rest = own[1] - middle - fitted[:, 1].sum(axis=0)
        for n, place in enumerate(places):
            a, b = fitted[n]
            left[scramble, n] -= np.mean(rest * ((own[place + 2] - b) - (own[0] - a)))
    return left_variance(known.moments([], target))[:, 0], left


def _pair(problem: Problem, design: Sampled, shares: Shares, *, jobs: int) -> Pair | None:
    total = shares.indices.total
    pinnable = [p for p, subject in enumerate(shares.subjects) if subject.part == "unknown"]
    if len(pinnable) < 2 or total is None:
        return None
    leading = sorted(sorted(pinnable, key=lambda p: -float(total.value[p]))[:_LEADING])
    pairs = list(combinations(range(len(leading)), 2))
    left = _left_by_pairs(problem, design, [(p, shares.subjects[p].columns[0]) for p in leading], pairs, jobs)
    half = len(left) // 2
    chosen = int(np.argmin(left[:half].mean(axis=0)))
    one, other = (problem.rows[shares.subjects[leading[n]].columns[0]] for n in pairs[chosen])
    return Pair((one, other), root(estimate(left[half:, chosen])))


def _left_by_pairs(
    problem: Problem,
    design: Sampled,
    leading: Sequence[tuple[int, int]],
    pairs: Sequence[tuple[int, int]],
    jobs: int,
) -> FloatArray:
    """Variance left by each pair of leading rows (place among the subjects, column); (scrambles, pairs) [SI²]."""
    every = range(problem.dimension)
    blocks = tuple(tuple(c for c in every if c != column) for _, column in leading)
    plan = replace(design.plan, blocks=blocks)
    memory = Memory.of(plan, 1)
    carry_out(plan, problem, memory, jobs=jobs)
    mirrored = np.asarray(plan.arranged(memory.column(0)))
    straight = design.outputs[:, [place + 2 for place, _ in leading]]
    found = []
    for own, other in zip(straight, mirrored, strict=True):
        whole = np.isfinite(own).all(axis=0) & np.isfinite(other).all(axis=0)
        mixed, turned = own[:, whole], other[:, whole]
        differences = [((mixed[i] - turned[j]), (mixed[j] - turned[i])) for i, j in pairs]
        found.append([0.25 * float(np.mean(d1**2 + d2**2)) for d1, d2 in differences])
    return np.array(found)


def knowing_by_regression(
    problem: Problem, cubes: Sequence[FloatArray], target: Sequence[FloatArray], number: int
) -> Knowing:
    """The same from a plain sample, where the design doesn't hold: by regressions."""
    unknown = [problem.rows[i] for i in problem.unknown_columns]
    inputs = [cube[:, list(problem.unknown_columns)] for cube in cubes]
    left = left_if_known(inputs, target, rng=sampling.generator(number, Purpose.PERMUTATION))
    known = [
        Known(row, left.variance[i], bool(informative))
        for i, (row, informative) in enumerate(zip(unknown, left.informative, strict=True))
    ]
    return Knowing(tuple(known), _pair_by_regression(inputs, target, unknown), left.null_fall)


def _pair_by_regression(
    inputs: Sequence[FloatArray], target: Sequence[FloatArray], rows: Sequence[Row]
) -> Pair | None:
    """The best two inputs; the model's own error can't be pinned down."""
    pinned = [i for i, row in enumerate(rows) if row.part == "unknown"]
    if len(pinned) < 2:
        return None
    found = best_pair([cube[:, pinned] for cube in inputs], target)
    first, second = (rows[pinned[place]] for place in found.places)
    return Pair((first, second), found.left)
