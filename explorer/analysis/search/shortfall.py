"""The design that misses its limits least: the largest shortfall made smallest.

With a slack variable beside the designs' own the largest of several shortfalls becomes smooth: the least t with
margin_k + t >= 0 for every limit k, found by the same polish as any other wish.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from explorer.analysis.scrambles import Floats
from explorer.analysis.search.design_space import (
    Assess,
    Assessed,
    DesignSpace,
    Indices,
    Record,
    Tried,
    Variable,
)
from explorer.analysis.search.polish import polished

_STARTS: Final[int] = 3  #: places from which a descent is tried
_ROOM: Final[float] = 0.5  #: of the start's shortfall, by which the slack may exceed it
_LEAST: Final[float] = 0.01  #: room of the slack where a start misses nothing


def least_shortfall(
    space: DesignSpace,
    record: Record,
    soft: Sequence[int],
    *,
    hard: Sequence[int] = (),
    budget: int,
    start: Floats | None = None,
) -> Tried:
    """Return the design whose largest shortfall of the soft limits is smallest while the hard ones are met.

    Where the hard ones can't be met either, the design that misses those least.

    Parameters
    ----------
    space : DesignSpace
        List entries stay as in the starts.
    record : Record
        Holds the designs tried, and assesses more.
    soft, hard : sequence of int
        Limits that may be missed, and limits that must be met [-].
    budget : int
        Designs of each descent [-].
    start : ndarray, optional
        One more place to begin from, shape (variables,) [any].
    """
    order = _best_first(record.assessed, soft, hard)[:_STARTS]
    starts = [record.designs[i] for i in order] + ([] if start is None else [start])
    for place in starts:
        _descend(space, record, soft, hard, place, budget)
    return record.picked(_best_first(record.assessed, soft, hard)[:1])[0]


def shortfall(margins: Floats, limits: Sequence[int]) -> Floats:
    """Return the largest shortfall of some limits, negative where all are met with room [-], shape (designs,).

    Parameters
    ----------
    margins : ndarray
        Shape (designs, limits) [-].
    limits : sequence of int
        Which of them [-].
    """
    return np.asarray(np.max(-margins[:, list(limits)], axis=1, initial=-np.inf))


def _best_first(found: Assessed, soft: Sequence[int], hard: Sequence[int]) -> Indices:
    return np.lexsort((shortfall(found.margins, soft), np.maximum(shortfall(found.margins, hard), 0.0)))


def _descend(
    space: DesignSpace, record: Record, soft: Sequence[int], hard: Sequence[int], start: Floats, budget: int
) -> None:
    """Let the designs of one descent be assessed; the record keeps them."""
    worst = max(float(shortfall(record(start[None, :]).margins, soft)[0]), 0.0)
    slack = Variable("slack", 0.0, (1.0 + _ROOM) * worst + _LEAST)
    extended = DesignSpace((*space.variables, slack))
    polished(extended, _with_slack(record, soft, hard), np.append(start, worst), budget=budget)


def _with_slack(record: Record, soft: Sequence[int], hard: Sequence[int]) -> Assess:
    def assess(designs: Floats) -> Assessed:
        found = record(designs[:, :-1])
        slack = designs[:, -1:]
        return Assessed(
            slack, np.column_stack([found.margins[:, list(soft)] + slack, found.margins[:, list(hard)]])
        )

    return assess
