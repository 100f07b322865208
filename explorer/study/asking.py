"""What is asked of a design: wishes and limits, over scenarios in a search, and judged on fresh points.

Every limit is a chance that something holds: a quantity's bound with the stated chance, or the absence (or presence)
of a status or warning with one less (or with) its share. A design must also carry numbers, or it would be judged by
its few good points alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.analysis.search.chance_limits import event_margin, quantile_margin
from explorer.analysis.search.design_space import Assessed
from explorer.study.candidates import Found
from explorer.study.problem import NO_CONTACT
from explorer.studyfile import CHANCE, Limit, Wish

FloatArray = NDArray[np.float64]

#: The implied limit: share of points that must carry a number; assumed.
WITH_NUMBER: Final[Limit] = Limit(f"{CHANCE}with_number", at_least=0.95, chance=None)


def quantities_asked(wishes: Sequence[Wish], limits: Sequence[Limit]) -> tuple[str, ...]:
    """Outputs that wishes and limits speak of."""
    named = [*(wish.quantity for wish in wishes), *(limit.quantity for limit in limits)]
    return tuple(dict.fromkeys(name for name in named if not name.startswith(CHANCE)))


def one_sided(limits: Sequence[Limit]) -> tuple[Limit, ...]:
    """Limits, a chance between two shares split in two: each is then one chance that something holds."""
    found: list[Limit] = []
    for limit in limits:
        if limit.event and limit.at_least is not None and limit.at_most is not None:
            found += [
                replace(limit, at_most=None),
                replace(limit, at_least=None),
            ]
        else:
            found.append(limit)
    return tuple(found)


def stated_level(limit: Limit) -> float:
    """Chance with which what a limit asks must hold [-]."""
    if limit.event is None:
        return float(limit.chance or 0.0)
    return float(limit.at_least) if limit.at_least is not None else 1.0 - float(limit.at_most or 0.0)


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

    def assessed(self, found: Found, levels: FloatArray | None) -> Assessed:
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

    def _margin(self, found: Found, limit: Limit, scale: float, level: float | None) -> FloatArray:
        if limit.event is not None:
            return event_margin(holds(found, limit), level=0.5 if level is None else level)
        return quantile_margin(bound_margin(found, limit), level=0.5 if level is None else level, scale=scale)


def bound_margin(found: Found, limit: Limit) -> FloatArray:
    """How far a quantity is inside its bounds [SI], NaN where there is no number."""
    values = found.quantities[limit.quantity]
    sides = []
    if limit.at_least is not None:
        sides.append(values - limit.at_least)
    if limit.at_most is not None:
        sides.append(limit.at_most - values)
    return np.asarray(np.minimum.reduce(sides))


def holds(found: Found, limit: Limit) -> NDArray[np.bool_]:
    """Where what a limit asks holds; nowhere where there is no number."""
    if limit.event is not None:
        there = event(found, limit.quantity)
        return there if limit.at_least is not None else ~there
    with np.errstate(invalid="ignore"):
        return np.asarray(bound_margin(found, limit) >= 0.0)


def event(found: Found, quantity: str) -> NDArray[np.bool_]:
    """Where a status or a warning is found."""
    name = quantity.removeprefix(CHANCE)
    if quantity == WITH_NUMBER.quantity:
        return np.asarray(found.outcomes <= NO_CONTACT)
    if name in registry.STATUS_CODES:
        return np.asarray(found.outcomes == registry.STATUS_CODES[name])
    return np.asarray((found.warnings & np.uint32(registry.WARNING_BITS[name])) != 0)


def values_of(found: Found, quantity: str) -> FloatArray:
    """A quantity [SI], or 1 where an event is found and 0 elsewhere; shape (designs, points)."""
    if quantity.startswith(CHANCE):
        return event(found, quantity).astype(np.float64)
    return found.quantities[quantity]


def expected(found: Found, quantity: str) -> FloatArray:
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
