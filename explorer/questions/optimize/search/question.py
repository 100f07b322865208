"""What is asked of a design: wishes and limits, over scenarios in a search, and judged on fresh points.

A design must also carry numbers, or it would be judged by its few good points alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from explorer.analysis.search.chance_limits import event_margin, quantile_margin
from explorer.analysis.search.design_space import Assessed
from explorer.run import Evaluated
from explorer.study.limits import bound_margin, event, holds, stated_level
from explorer.studyfile import CHANCE, Limit, Wish

FloatArray = NDArray[np.float64]


def quantities_asked(wishes: Sequence[Wish], limits: Sequence[Limit]) -> tuple[str, ...]:
    """Outputs that wishes and limits speak of."""
    named = [*(wish.quantity for wish in wishes), *(limit.quantity for limit in limits)]
    return tuple(dict.fromkeys(name for name in named if not name.startswith(CHANCE)))


@dataclass(frozen=True)
class Question:
    """Wishes and limits, ready to be asked of designs."""

    wishes: tuple[Wish, ...]
    limits: tuple[Limit, ...]  #: One-sided where they concern a chance; the implied one last
    scales: tuple[float, ...]  #: What each limit's margin is measured by [SI]: its bound

    @property
    def levels(self) -> FloatArray:
        """Chances as stated [-]."""
        return np.array([stated_level(limit) for limit in self.limits])

    def assessed(self, found: Evaluated, levels: FloatArray | None) -> Assessed:
        """Designs as a search sees them."""
        margins = [
            self._margin(found, limit, scale, None if levels is None else float(levels[k]))
            for k, (limit, scale) in enumerate(zip(self.limits, self.scales, strict=True))
        ]
        wishes = [
            (1.0 if wish.make == "smallest" else -1.0) * expected(found, wish.quantity)
            for wish in self.wishes
        ]
        return Assessed(np.column_stack(wishes), np.column_stack(margins))

    def _margin(self, found: Evaluated, limit: Limit, scale: float, level: float | None) -> FloatArray:
        if limit.event is not None:
            return event_margin(holds(found, limit), level=0.5 if level is None else level)
        return quantile_margin(bound_margin(found, limit), level=0.5 if level is None else level, scale=scale)


def values_of(found: Evaluated, quantity: str) -> FloatArray:
    """A quantity [SI], or 1 where an event is found and 0 elsewhere; shape (designs, points)."""
    if quantity.startswith(CHANCE):
        return event(found, quantity).astype(np.float64)
    return found.quantities[quantity]


def expected(found: Evaluated, quantity: str) -> FloatArray:
    """Expectation over the points that carry a number [SI], NaN where none does; shape (designs,)."""
    values = values_of(found, quantity)
    finite = np.isfinite(values)
    counts = finite.sum(axis=1)
    sums = np.where(finite, values, 0.0).sum(axis=1)
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)


def scales_of(limits: Sequence[Limit], typical: Mapping[str, float]) -> tuple[float, ...]:
    """What each limit's margin is measured by: its bound, or what is typical of the quantity where that is zero."""
    found = []
    for limit in limits:
        bound = max(abs(limit.at_least or 0.0), abs(limit.at_most or 0.0))
        if limit.event is not None:
            found.append(1.0)
        else:
            found.append(bound or typical.get(limit.quantity, 0.0) or 1.0)
    return tuple(found)
