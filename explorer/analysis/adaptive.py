"""Sampling until a wanted number of digits is stable, and the verdict on the first-order law against it.

The rule of JCGM 101:2008, clause 7.9, stops when twice the standard deviation of the mean of each figure
over the blocks falls below the numerical tolerance. As it stands it stops erratically, for the standard
deviation of a few blocks may be small by chance. Safeguards: at least ten blocks of at least 10 000 values;
the blocks are independent scrambles; the final figures are made from all values pooled.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from explorer.analysis.scrambles import COVERAGE, Estimate, Floats, finite
from explorer.analysis.statistics import Distribution, distribution, symmetric_interval

FEWEST_BLOCKS: Final[int] = 10
FEWEST_VALUES: Final[int] = 10_000

Verdict = Literal["validated", "not validated", "not decided"]


@dataclass(frozen=True)
class AdaptiveResult:
    """Figures stable to the digits wanted, or as far as they came."""

    distributions: list[Distribution]  #: one an output, from all values pooled
    tolerances: list[float]  #: numerical tolerance of each output [output]
    blocks: int
    stable: bool  #: False where the most blocks allowed were not enough
    values: Floats  #: shape (blocks, values, outputs) [output]


@dataclass(frozen=True)
class Validation:
    """Whether the first-order law's interval agrees with the Monte Carlo interval."""

    verdict: Verdict
    low_difference: float  #: [output]
    high_difference: float
    tolerance: float
    sampling_error: float  #: twice the larger standard error of the ends


def numerical_tolerance(standard_uncertainty: float, digits: int) -> float:
    """Return half of the last of the digits of a standard uncertainty regarded as meaningful [same].

    Source: JCGM 101:2008, 7.9.2: u = c · 10^l with c an integer of that many digits, δ = ½ · 10^l.

    Parameters
    ----------
    standard_uncertainty : float
        Positive [any].
    digits : int
        Significant digits, usually 1 or 2 [-].
    """
    if not (standard_uncertainty > 0.0 and digits >= 1):
        raise ValueError("a numerical tolerance needs a positive uncertainty and at least one digit")
    exponent = math.floor(math.log10(standard_uncertainty)) - digits + 1
    if round(standard_uncertainty / 10.0**exponent) >= 10**digits:
        exponent += 1
    return 0.5 * 10.0**exponent


def adaptive_distributions(
    block: Callable[[int], Floats],
    *,
    digits: int,
    coverage: float = COVERAGE,
    fewest: int = FEWEST_BLOCKS,
    most: int = 1000,
) -> AdaptiveResult:
    """Return distributions sampled until all figures of all outputs are stable to the digits wanted.

    Parameters
    ----------
    block : callable
        Block number to outputs of one independent scramble, shape (values, outputs) [output].
    digits : int
        Significant digits of the standard uncertainty [-].
    coverage : float
        Coverage probability of the intervals [-].
    fewest, most : int
        Blocks to take in any case, and at most [-].
    """
    if not FEWEST_BLOCKS <= fewest <= most:
        raise ValueError(f"at least {FEWEST_BLOCKS} blocks are needed, and no more than the most allowed")
    values: list[Floats] = []
    figures: list[Floats] = []
    stable = False
    tolerances: list[float] = []
    while len(values) < most and not stable:
        found = finite(block(len(values)), "outputs")
        least = max(FEWEST_VALUES, math.ceil(100.0 / (1.0 - coverage)))
        if found.ndim != 2 or found.shape[0] < least:
            raise ValueError(f"a block must have at least {least} values of each output; got {found.shape}")
        values.append(found)
        figures.append(np.stack([_figures(column, coverage) for column in found.T]))
        if len(values) < fewest:
            continue
        spread = np.concatenate(values).std(axis=0, ddof=1)
        tolerances = [numerical_tolerance(float(u), digits) for u in spread]
        error = np.std(figures, axis=0, ddof=1) / math.sqrt(len(figures))
        stable = bool(np.all(2.0 * error < np.array(tolerances)[:, None]))
    stacked = np.stack(values)
    return AdaptiveResult(
        distributions=[distribution(stacked[:, :, i], coverage=coverage) for i in range(stacked.shape[2])],
        tolerances=tolerances,
        blocks=len(values),
        stable=stable,
        values=stacked,
    )


def _figures(column: Floats, coverage: float) -> Floats:
    low, high = symmetric_interval(np.sort(column), coverage)
    return np.array([column.mean(), column.std(ddof=1), low, high])


def validation(
    first_order_interval: tuple[float, float], low: Estimate, high: Estimate, *, tolerance: float
) -> Validation:
    """Return the verdict of JCGM 101:2008, clause 8, on the interval of the first-order law.

    Validated if both ends agree within the tolerance. Not decided if twice the sampling error of an end
    exceeds a fifth of the tolerance (clause 8.2), unless an end is off by more than the tolerance and that
    error.

    Parameters
    ----------
    first_order_interval : tuple of float
        Ends from the first-order law [output].
    low, high : Estimate
        Ends from the sample [output].
    tolerance : float
        `numerical_tolerance` of the standard uncertainty [output].
    """
    differences = [
        abs(first_order_interval[0] - float(low.value)),
        abs(first_order_interval[1] - float(high.value)),
    ]
    errors = [2.0 * float(low.standard_error), 2.0 * float(high.standard_error)]
    verdict: Verdict
    if any(d > tolerance + e for d, e in zip(differences, errors, strict=True)):
        verdict = "not validated"
    elif not max(errors) <= tolerance / 5.0:
        verdict = "not decided"
    else:
        verdict = "validated" if max(differences) <= tolerance else "not validated"
    return Validation(verdict, differences[0], differences[1], tolerance, max(errors))
