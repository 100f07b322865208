"""The chance of meeting any requirement of a quantity, from stored quantiles of its sample."""

from bisect import bisect_left
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Context
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.page.document import Requirement
from explorer.units import Scale, from_si

#: Quantiles that a page holds, places of the slider less one, and places between two rows of its table.
_QUANTILES: Final = 201
PLACES: Final = 200
_BETWEEN: Final = 25

#: Three digits, halves away from zero, as the page's script rounds.
_AS_SHOWN: Final = Context(prec=3, rounding=ROUND_HALF_UP)


def requirement(values: NDArray[np.float64], name: str, scale: Scale, *, at_least: bool) -> Requirement:
    """Return what a page needs to tell the chance that a quantity is at least, or at most, any value."""
    shown = np.asarray(from_si(values, scale.unit, scale.shown_unit))
    quantiles = np.quantile(shown, np.linspace(0.0, 1.0, _QUANTILES))
    unit = "" if scale.shown_unit == "1" else scale.shown_unit
    return Requirement(name, unit, tuple(map(float, quantiles)), at_least, shown.size)


def required(quantiles: Sequence[float], place: int) -> float:
    """Return the requirement at a place of the slider, from 0 to `PLACES`, as it is shown."""
    low, high = quantiles[1], quantiles[-2]
    return float(_AS_SHOWN.create_decimal_from_float(low + (high - low) * place / PLACES))


def chance(quantiles: Sequence[float], value: float, *, at_least: bool) -> float:
    """Return the chance of being at least, or at most, a value: straight between two quantiles."""
    if not at_least:
        return chance([-quantile for quantile in reversed(quantiles)], -value, at_least=True)
    below = bisect_left(quantiles, value)
    if below in (0, len(quantiles)):
        return 1.0 if below == 0 else 0.0
    lower, upper = quantiles[below - 1], quantiles[below]
    return 1.0 - (below - 1 + (value - lower) / (upper - lower)) / (len(quantiles) - 1)


def rows(of: Requirement) -> list[tuple[str, str]]:
    """Return the table for print: requirement and chance at nine places."""
    found = []
    for place in range(0, PLACES + 1, _BETWEEN):
        value = required(of.quantiles, place)
        share = int(100 * chance(of.quantiles, value, at_least=of.at_least) + 0.5)
        found.append((f"{value:g} {of.unit}".strip(), f"{share} %"))
    return found
