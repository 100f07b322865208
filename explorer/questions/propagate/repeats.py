"""A sample looked at piece by piece: each independent repeat by itself, and how figures settled as points came.

What a reviewer checks a sampling error by: the repeats scatter about the whole as it says, and it falls as the sample
grows. The first 2^k rows of a repeat are a balanced design themselves.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from explorer.analysis.statistics import Distribution, distribution
from explorer.sampling import Plan
from explorer.study.plans import Sink
from explorer.study.problem import Problem

#: Parts of each repeat at which figures are taken.
PARTS: Final[tuple[int, ...]] = (64, 16, 4, 1)

#: Fewest values of a repeat from which figures are given.
_FEWEST: Final[int] = 64


@dataclass(frozen=True)
class Piece:
    """The beginning of every repeat of a sample."""

    points: int  #: With numbers [-]
    figures: Distribution  #: [SI], of each repeat alone under `by_scramble`


def growing_pieces(problem: Problem, plan: Plan, sink: Sink) -> Mapping[str, tuple[Piece, ...]]:
    """By quantity, growing pieces of a sample that has been carried out, the whole last; none where it is small."""
    found = {}
    for k, quantity in enumerate(problem.quantities):
        values = np.asarray(plan.arranged(sink.column(k)))
        pieces = []
        for part in PARTS:
            blocks = [block[np.isfinite(block)] for block in values[:, :, : max(plan.rows // part, 1)]]
            if min(block.size for block in blocks) >= _FEWEST:
                pieces.append(Piece(sum(block.size for block in blocks), distribution(blocks)))
        found[quantity] = tuple(pieces)
    return found
