"""Which borders a path crosses, and where.

A design lies past a border where more than a stated share of its firings do, beyond what sampling could feign; where
that can't be told, it counts as the design before it. Between two neighbours on different sides the place is read off
the straight line between their shares.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from explorer.questions.scale.path.borders import Border

FloatArray = NDArray[np.float64]

#: Standard errors by which a share must lie off its level to tell the side.
_TOLD: Final[float] = 2.0

_FIGURES: Final = ("share", "standard_error", "level", "value")


@dataclass(frozen=True)
class Change:
    """A border crossed."""

    border: Border
    place: float  #: [-] where, along the path
    counts: bool  #: Whether it is a change of regime: a study's own limit that ceases to bind is none
    between: tuple[str, str]  #: The designs on either side
    past: bool  #: Whether what lies further along is past the border
    shares: tuple[float, float]  #: [-] of firings past it, in these designs
    values: tuple[float, float]  #: [SI] mean of its quantity in these designs; NaN for a finding


def changes_along(
    borders: Sequence[Border], table: pd.DataFrame, names: Sequence[str], places: FloatArray
) -> tuple[Change, ...]:
    """The borders crossed, in the order in which they are."""
    found = [change for border in borders for change in _changes(border, table, names, places)]
    return tuple(sorted(found, key=lambda change: change.place))


def _changes(border: Border, table: pd.DataFrame, names: Sequence[str], places: FloatArray) -> list[Change]:
    row = table.loc[border.regime.name]
    figures = [row.xs(figure, level="figure")[list(names)].to_numpy(dtype=float) for figure in _FIGURES]
    told = np.flatnonzero(np.isfinite(figures[0]))
    shares, errors, levels, values = (figure[told] for figure in figures)
    off = shares - levels
    found: list[Change] = []
    decided = [i for i in range(told.size) if abs(off[i]) > _TOLD * errors[i]]
    for last, now in pairwise(decided):
        past = bool(off[now] > 0)
        if past == bool(off[last] > 0):
            continue
        before = max(i for i in range(last, now) if bool(off[i] > 0) != past)
        pair = [before, before + 1]
        here = told[pair]
        found.append(
            Change(
                border,
                _crossing(off[pair], places[here]),
                past or border.limits is None,
                (names[here[0]], names[here[1]]),
                past,
                (float(shares[before]), float(shares[before + 1])),
                (float(values[before]), float(values[before + 1])),
            )
        )
    return found


def _crossing(off: FloatArray, places: FloatArray) -> float:
    """Where a straight line between two shares, less their level, passes zero."""
    return float(places[0] + off[0] / (off[0] - off[1]) * (places[1] - places[0]))


def changes_between(changes: Sequence[Change], start: float, end: float) -> tuple[Change, ...]:
    """The changes of regime behind one place, up to another."""
    return tuple(change for change in changes if change.counts and start < change.place <= end)
