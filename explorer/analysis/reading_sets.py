"""What many sets of readings would leave of a target, quickly enough to try them all.

Each reading enters by its own functions (`regression.own_features`), without the products of two that a set judged by
itself has: sums of products over all readings are made once, and a set is a part of them. What is left comes out a
little too large where readings tell more together than one by one; sets are to be ordered by it, and the chosen one
judged in full.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from explorer.analysis.regression import Moments, Regressors, left_variance
from explorer.analysis.scrambles import Floats


@dataclass(frozen=True)
class ReadingSets:
    """Readings of which sets can be judged one after the other."""

    moments: Moments  #: of the constant and all readings' own functions
    places: tuple[tuple[int, ...], ...]  #: of each reading's functions among them

    def left(self, readings: Sequence[int]) -> Floats:
        """Return E[Var(Y|readings)] as each scramble tells it, shape (scrambles, targets) [target²].

        Parameters
        ----------
        readings : sequence of int
            Columns of the readings taken; none for what stands now [-].
        """
        taken = np.array([0, *(place for reading in readings for place in self.places[reading])])
        return left_variance(
            Moments(
                self.moments.gram[:, taken[:, None], taken],
                self.moments.cross[:, taken],
                self.moments.square,
                self.moments.rows,
            )
        )


def reading_sets(known: Regressors, targets: Sequence[Floats]) -> ReadingSets:
    """Return readings ready to be judged in sets.

    Parameters
    ----------
    known : Regressors
        Readings.
    targets : sequence of ndarray
        For each scramble, centred, shape (rows, targets) [target].
    """
    count = known.values[0].shape[1]
    parts = [known.features(()), *(known.features((reading,)) for reading in range(count))]
    design = [np.hstack(blocks) for blocks in zip(*parts, strict=True)]
    moments = Moments(
        np.stack([block.T @ block for block in design]),
        np.stack([block.T @ y for block, y in zip(design, targets, strict=True)]),
        np.stack([np.einsum("rt,rt->t", y, y) for y in targets]),
        np.array([float(len(y)) for y in targets]),
    )
    edges = np.cumsum([part[0].shape[1] for part in parts])
    places = tuple(tuple(range(start, end)) for start, end in pairwise(edges))
    return ReadingSets(moments, places)
