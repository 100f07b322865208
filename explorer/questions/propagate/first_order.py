"""The first-order law of propagation beside the sample, and the verdict of JCGM 101 clause 8 on it.

GUM's law takes central differences of plus and minus one standard uncertainty of each row about the expectation, and
product-moment correlations out of the copula. Where the status or the contact changes within one standard
uncertainty, a straight line means nothing and the law is not applied.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from explorer.analysis.adaptive import numerical_tolerance, validation
from explorer.analysis.first_order import difference_points, first_order_law
from explorer.analysis.scrambles import Estimate
from explorer.study.problem import Problem

#: Significant digits of a standard uncertainty that count for the verdict, as in the examples of JCGM 101, 9.2 and 9.4.
#: With one alone the tolerance may be half of an uncertainty, and 9.2.4 would pass.
DIGITS: Final[int] = 2

NOT_APPLICABLE: Final[str] = "does not apply here"


@dataclass(frozen=True)
class FirstOrderComparison:
    """The first-order law and how it stands against the sample."""

    #: Indexed by quantity [SI]: value, standard_uncertainty, low, high, verdict (validated, not validated,
    #: not decided, does not apply here), tolerance.
    table: pd.DataFrame
    #: Signed contribution of each row (index) to each quantity [SI]; empty where the law doesn't apply.
    contributions: pd.DataFrame


def first_order_comparison(problem: Problem, sampled: pd.DataFrame) -> FirstOrderComparison:
    """The first-order law for a problem, held against figures from a sample."""
    central = problem.space.central()
    rows = problem.space.rows
    spreads = problem.space.standard_uncertainties()
    shifts = difference_points(np.zeros(len(rows)), spreads)
    values = {address: np.full(shifts.shape[0], middle) for address, middle in central.items()}
    for i, row in enumerate(rows):
        values[row.address] = values[row.address] + shifts[:, i]
    names = [row.name for row in problem.rows]
    # One standard uncertainty from its expectation a wide one-sided range may reach where no value can be.
    outside = [(values[i.address] < i.low) | (values[i.address] > i.high) for i in problem.space.inputs]
    if np.any(outside):
        return _no_law(problem, names)
    found, outcomes = problem.evaluate(values)
    if np.unique(outcomes).size > 1 or not all(np.isfinite(found[q]).all() for q in problem.quantities):
        return _no_law(problem, names)
    correlation = problem.space.product_moment_correlations()
    found_table: dict[str, dict[str, object]] = {}
    contributions = {}
    for quantity in problem.quantities:
        outputs = np.asarray(found[quantity] * problem.model_factor(quantity, values), dtype=np.float64)
        law = first_order_law(outputs, names, correlation=correlation)
        low, high = law.interval()
        found_table[quantity] = {
            "value": float(law.values[0]),
            "standard_uncertainty": float(law.standard_uncertainties[0]),
            "low": low,
            "high": high,
            **_verdict((low, high), sampled, quantity),
        }
        contributions[quantity] = law.contributions[0]
    return FirstOrderComparison(
        pd.DataFrame.from_dict(found_table, orient="index"), pd.DataFrame(contributions)
    )


def _no_law(problem: Problem, names: Sequence[str]) -> FirstOrderComparison:
    nothing = {"value": np.nan, "standard_uncertainty": np.nan, "low": np.nan, "high": np.nan}
    no_law = {**nothing, "verdict": NOT_APPLICABLE, "tolerance": np.nan}
    table = pd.DataFrame.from_dict(dict.fromkeys(problem.quantities, no_law), orient="index")
    return FirstOrderComparison(table, pd.DataFrame(index=list(names)))


def _verdict(interval: tuple[float, float], sampled: pd.DataFrame, quantity: str) -> dict[str, object]:
    figures = {str(name): sampled.loc[quantity, name] for name in sampled.columns if name != "unit"}

    def end(name: str) -> Estimate:
        value, error = (
            np.asarray(figures[key], dtype=np.float64) for key in (name, f"{name}_standard_error")
        )
        return Estimate(value, error, value, value, value)

    spread = float(np.asarray(figures["standard_uncertainty"], dtype=np.float64))
    if not spread > 0:
        return {"verdict": NOT_APPLICABLE, "tolerance": np.nan}
    tolerance = numerical_tolerance(spread, DIGITS)
    found = validation(interval, end("low"), end("high"), tolerance=tolerance)
    return {"verdict": found.verdict, "tolerance": tolerance}
