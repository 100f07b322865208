"""A sample looked at piece by piece: each independent repeat by itself, and how figures settled as points came.

What a reviewer checks a sampling error by: the repeats scatter about the whole as it says, and it falls as the sample
grows. The first 2^k rows of a repeat are a balanced design themselves.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from explorer.analysis.scrambles import Estimate
from explorer.analysis.statistics import distribution
from explorer.sampling import Plan
from explorer.study.plans import Sink
from explorer.study.problem import Problem

#: Parts of each repeat at which figures are taken.
PARTS: Final[tuple[int, ...]] = (64, 16, 4, 1)

#: Fewest values of a repeat from which figures are given.
_FEWEST: Final[int] = 64

_FIGURES: Final[tuple[str, ...]] = ("mean", "standard_uncertainty", "low", "high")


@dataclass(frozen=True)
class Repeats:
    """Figures of each repeat, and of growing parts of the sample."""

    #: Indexed by (quantity, repeat): mean, standard_uncertainty, low, high (95 % interval) [SI].
    apart: pd.DataFrame
    #: Indexed by (quantity, points): the same figures with each one's ``…_standard_error`` [SI].
    growth: pd.DataFrame


def repeats(problem: Problem, plan: Plan, sink: Sink) -> Repeats:
    """The pieces of a sample that has been carried out."""
    apart: dict[tuple[str, int], dict[str, float]] = {}
    growth: dict[tuple[str, int], dict[str, float]] = {}
    for k, quantity in enumerate(problem.quantities):
        values = np.asarray(plan.arranged(sink.column(k)))
        for part in PARTS:
            blocks = [block[np.isfinite(block)] for block in values[:, :, : max(plan.rows // part, 1)]]
            if min(block.size for block in blocks) < _FEWEST:
                continue
            found = distribution(blocks)
            estimates: dict[str, Estimate] = {name: getattr(found, name) for name in _FIGURES}
            row = {name: float(item.value) for name, item in estimates.items()}
            row |= {f"{name}_standard_error": float(e.standard_error) for name, e in estimates.items()}
            growth[quantity, sum(block.size for block in blocks)] = row
            if part == 1:
                for i in range(plan.scrambles):
                    apart[quantity, i + 1] = {
                        name: float(item.by_scramble[i]) for name, item in estimates.items()
                    }
    return Repeats(_frame(apart, "repeat"), _frame(growth, "points"))


def _frame(rows: dict[tuple[str, int], dict[str, float]], level: str) -> pd.DataFrame:
    index = pd.MultiIndex.from_tuples(rows, names=["quantity", level])
    return pd.DataFrame(list(rows.values()), index=index)
