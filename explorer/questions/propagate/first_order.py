"""The first-order law of propagation beside the sample, and the verdict of JCGM 101 clause 8 on it.

GUM's law takes central differences of plus and minus one standard uncertainty of each row about the expectation, and
product-moment correlations out of the copula. Where the status or the contact changes within one standard
uncertainty, a straight line means nothing and the law is not applied.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer.analysis import adaptive
from explorer.analysis.first_order import difference_points, first_order_law
from explorer.questions.propagate.figures import Figures
from explorer.study.problem import Problem

FloatArray = NDArray[np.float64]

#: Significant digits of a standard uncertainty that count for the verdict, as in the examples of JCGM 101, 9.2 and 9.4.
#: With one alone the tolerance may be half of an uncertainty, and 9.2.4 would pass.
DIGITS: Final[int] = 2

Verdict = adaptive.Verdict | Literal["does not apply here"]

NOT_APPLICABLE: Final = "does not apply here"


@dataclass(frozen=True)
class Law:
    """What the first-order law makes of one quantity [SI], NaN where it doesn't apply."""

    value: float
    standard_uncertainty: float
    low: float  #: ends of the 95 % interval
    high: float
    verdict: Verdict  #: how it stands against the sample
    tolerance: float  #: δ of the verdict; NaN without one
    contributions: Mapping[str, float]  #: of each row by its name, signed; empty where the law doesn't apply


@dataclass(frozen=True)
class FirstOrderComparison:
    """The first-order law and how it stands against the sample."""

    laws: Mapping[str, Law]  #: by quantity
    rows: tuple[str, ...]  #: names of the rows

    @property
    def table(self) -> pd.DataFrame:
        """Indexed by quantity [SI]: value, standard_uncertainty, low, high, verdict, tolerance."""
        table = pd.DataFrame.from_dict({name: vars(law) for name, law in self.laws.items()}, orient="index")
        return table.drop(columns="contributions")

    @property
    def contributions(self) -> pd.DataFrame:
        """Signed contribution of each row (index) to each quantity [SI]; no column where the law doesn't apply."""
        applied = {name: law.contributions for name, law in self.laws.items() if law.contributions}
        return pd.DataFrame(applied, index=list(self.rows))


def first_order_comparison(problem: Problem, sampled: Mapping[str, Figures]) -> FirstOrderComparison:
    """The first-order law for a problem, held against figures from a sample."""
    names = tuple(row.name for row in problem.rows)
    outputs = _outputs(problem)
    if outputs is None:
        none = Law(np.nan, np.nan, np.nan, np.nan, NOT_APPLICABLE, np.nan, {})
        return FirstOrderComparison(dict.fromkeys(problem.quantities, none), names)
    correlation = problem.space.product_moment_correlations()
    laws = {}
    for quantity, values in outputs.items():
        law = first_order_law(values, names, correlation=correlation)
        low, high = law.interval()
        verdict, tolerance = _verdict((low, high), sampled[quantity])
        contributions = dict(zip(names, law.contributions[0], strict=True))
        value, spread = float(law.values[0]), float(law.standard_uncertainties[0])
        laws[quantity] = Law(value, spread, low, high, verdict, tolerance, contributions)
    return FirstOrderComparison(laws, names)


def _outputs(problem: Problem) -> dict[str, FloatArray] | None:
    """Quantities [SI] at the points of the law: the centre, each row up, each down; None where it doesn't apply."""
    rows = problem.space.rows
    shifts = difference_points(np.zeros(len(rows)), problem.space.standard_uncertainties())
    values = {address: np.full(len(shifts), middle) for address, middle in problem.space.central().items()}
    for i, row in enumerate(rows):
        moved = problem.space.one_with(row.address) if row.shared else (row.address,)
        for address in moved:
            values[address] = values[address] + shifts[:, i]
    # One standard uncertainty from its expectation a wide one-sided range may reach where no value can be.
    if any(np.any((values[i.address] < i.low) | (values[i.address] > i.high)) for i in problem.space.inputs):
        return None
    found, outcomes = problem.evaluate(values)
    if np.unique(outcomes).size > 1 or not all(np.isfinite(found[q]).all() for q in problem.quantities):
        return None
    return {q: problem.off(q, found, values) for q in problem.quantities}


def _verdict(interval: tuple[float, float], sampled: Figures) -> tuple[Verdict, float]:
    """The verdict and its tolerance."""
    if not sampled.moves:
        return NOT_APPLICABLE, np.nan
    tolerance = adaptive.numerical_tolerance(sampled.spread, DIGITS)
    return adaptive.validation(interval, sampled.low, sampled.high, tolerance=tolerance).verdict, tolerance
