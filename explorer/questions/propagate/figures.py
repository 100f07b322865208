"""All that is told of one quantity in one future firing: its distribution, and of which parts its doubt is made.

A reviewer checks a sampling error by pieces of the sample: the repeats scatter about the whole as it says, and it falls
as the sample grows. The first 2^k rows of a repeat are a balanced design themselves.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.analysis import statistics
from explorer.analysis.scrambles import Estimate
from explorer.sampling import Plan
from explorer.study.contrasts import Cells, cells
from explorer.study.plans import Sink
from explorer.study.problem import Problem

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: Parts of each repeat at which figures are taken, and fewest values of a repeat from which they are.
_PARTS: Final[tuple[int, ...]] = (64, 16, 4, 1)
_FEWEST: Final[int] = 64


@dataclass(frozen=True)
class Figures(statistics.Distribution):
    """Figures of one quantity [SI], each with its sampling error."""

    unknown: Estimate  #: part of the standard uncertainty that tests can take away
    scatter: Estimate  #: part that stays even if everything were known
    mean_low: Estimate  #: ends of the 95 % interval of the mean over firings
    mean_high: Estimate

    @property
    def spread(self) -> float:
        """Standard uncertainty of one firing."""
        return float(self.standard_uncertainty)

    @property
    def moves(self) -> bool:
        """Whether anything moves the quantity at all."""
        return self.spread > 0

    @property
    def scatters(self) -> bool:
        """Whether one firing differs from the next."""
        return float(self.scatter) > 0

    def row(self) -> Cells:
        """As a row of a table: the unit, then each figure and its standard error."""
        return {"unit": self.mean.unit, **cells(**vars(self))}


def figures(values: FloatArray, keep: Mask, problem: Problem, quantity: str) -> Figures:
    """The figures of a quantity from its values, shape (scrambles, blocks, rows), where they are to be kept."""
    found = statistics.distribution(block[mask] for block, mask in zip(values, keep, strict=True))
    named = {
        name: figure.called(quantity, problem.unit(quantity))
        for name, figure in {**vars(found), **_parts(values, keep, problem, found)}.items()
    }
    return Figures(**named)


def _parts(
    values: FloatArray, keep: Mask, problem: Problem, found: statistics.Distribution
) -> dict[str, Estimate]:
    """Parts unknown and scatter, and the interval of the mean over firings."""
    zero = np.asarray(0.0)
    nothing = Estimate(zero, zero, zero, zero, np.zeros_like(found.mean.by_scramble))
    if values.shape[1] == 2:
        whole = np.asarray(keep.all(axis=1))
        twins = [block[:, rows] for block, rows in zip(values, whole, strict=True)]
        unknown, scatter, _ = statistics.standard_uncertainties(statistics.variance_parts(twins))
        low, high = statistics.mean_over_firings(twins)
    elif problem.scatter_columns:
        unknown, scatter, low, high = nothing, found.standard_uncertainty, found.mean, found.mean
    else:
        unknown, scatter, low, high = found.standard_uncertainty, nothing, found.low, found.high
    return {"unknown": unknown, "scatter": scatter, "mean_low": low, "mean_high": high}


@dataclass(frozen=True)
class Piece:
    """The beginning of every repeat of a sample."""

    points: int  #: With numbers [-]
    figures: statistics.Distribution  #: [SI], of each repeat alone under `by_scramble`


def growing_pieces(problem: Problem, plan: Plan, sink: Sink) -> Mapping[str, tuple[Piece, ...]]:
    """By quantity, growing pieces of a sample that has been carried out, the whole last; none where it is small."""
    found = {}
    for k, quantity in enumerate(problem.quantities):
        values = np.asarray(plan.arranged(sink.column(k)))
        pieces = []
        for part in _PARTS:
            blocks = [block[np.isfinite(block)] for block in values[:, :, : max(plan.rows // part, 1)]]
            if min(block.size for block in blocks) >= _FEWEST:
                pieces.append(Piece(sum(block.size for block in blocks), statistics.distribution(blocks)))
        found[quantity] = tuple(pieces)
    return found
