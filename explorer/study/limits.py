"""Limits, requirements and events: where points keep to what is asked, and with which chance they must.

Every limit is a chance that something holds: a quantity's bound with the stated chance, or the absence (or presence)
of a status or a warning with one less (or with) its share.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.run import Evaluated
from explorer.study.outcomes import NO_CONTACT
from explorer.studyfile import CHANCE, Limit

FloatArray = NDArray[np.float64]

Verdict = Literal["met", "not met", "not decided"]

MET: Final = "met"
NOT_MET: Final = "not met"
NOT_DECIDED: Final = "not decided"

#: The limit that is asked of every design that is searched: share of points that must carry a number; assumed.
WITH_NUMBER: Final[Limit] = Limit(f"{CHANCE}with_number", at_least=0.95, chance=None)


def one_sided(limits: Sequence[Limit]) -> tuple[Limit, ...]:
    """Limits, a chance between two shares split in two: each is then one chance that something holds."""
    found: list[Limit] = []
    for limit in limits:
        if limit.event and limit.at_least is not None and limit.at_most is not None:
            found += [replace(limit, at_most=None), replace(limit, at_least=None)]
        else:
            found.append(limit)
    return tuple(found)


def is_implied(limit: Limit) -> bool:
    """Whether a limit is the one that is asked of every design: points must carry numbers."""
    return limit.quantity == WITH_NUMBER.quantity


def stated_level(limit: Limit) -> float:
    """Chance with which what a limit asks must hold [-]."""
    if limit.event is None:
        return float(limit.chance or 0.0)
    return float(limit.at_least) if limit.at_least is not None else 1.0 - float(limit.at_most or 0.0)


def bound_margin(points: Evaluated, limit: Limit) -> FloatArray:
    """How far a quantity is inside its bounds [SI], NaN where there is no number."""
    values = points.quantities[limit.quantity]
    sides = []
    if limit.at_least is not None:
        sides.append(values - limit.at_least)
    if limit.at_most is not None:
        sides.append(limit.at_most - values)
    return np.asarray(np.minimum.reduce(sides))


def holds(points: Evaluated, limit: Limit) -> NDArray[np.bool_]:
    """Where what a limit asks holds; nowhere where there is no number."""
    if limit.event is not None:
        there = event(points, limit.quantity)
        return there if limit.at_least is not None else ~there
    with np.errstate(invalid="ignore"):
        return np.asarray(bound_margin(points, limit) >= 0.0)


def event(points: Evaluated, quantity: str) -> NDArray[np.bool_]:
    """Where a status or a warning is found."""
    name = quantity.removeprefix(CHANCE)
    if quantity == WITH_NUMBER.quantity:
        return np.asarray(points.outcomes <= NO_CONTACT)
    if name in registry.STATUS_CODES:
        return np.asarray(points.outcomes == registry.STATUS_CODES[name])
    return np.asarray((points.warnings & np.uint32(registry.WARNING_BITS[name])) != 0)


def verdict(interval: tuple[float, float], wanted: float) -> Verdict:
    """Whether a chance, known to lie in an interval, reaches what is wanted, beyond what sampling could feign."""
    low, high = interval
    if low >= wanted:
        return MET
    return NOT_MET if high < wanted else NOT_DECIDED
