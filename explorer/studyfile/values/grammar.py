"""The grammar of values: a text, number or table becomes an exact value or an uncertain input, in bounds.

More than 1e-6 of a distribution outside the physical bounds is refused, with the form that is cut there ready
to paste; less than that is cut by the space.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final, cast

from explorer.registry import Quantity
from explorer.space import TAIL_ALLOWED, Normal, Rectangular, Triangular, Uncertain
from explorer.studyfile.error import naming
from explorer.studyfile.values.table import LARGEST_CUT, value_of_table
from explorer.studyfile.values.text import value_of_text
from explorer.units import UnitError

_SMALLEST_SPREAD: Final[float] = 1e-9  #: relative; less drowns in the rounding of what is computed with it

#: What takes back a limit that a study has from the one that it is like.
NO_LIMIT: Final = "no limit"


def value(address: str, written: object, quantity: Quantity) -> float | Uncertain:
    """Return an exact value [SI] or an uncertain input, held to the quantity's physical bounds."""
    with naming(address):
        found = _read(address, written, quantity)
        if isinstance(found, Uncertain):
            return _uncertain_in_bounds(found, written, quantity)
        return _exact_in_bounds(found, written, quantity)


def exact_value(where: str, written: object, quantity: Quantity) -> float:
    """Return a value that must be exact [SI]: a setting, a limit, a requirement."""
    with naming(where):
        found = _read(where, written, quantity)
        if isinstance(found, Uncertain):
            raise UnitError(f"expected an exact value, got {as_toml(written)}")
        return _exact_in_bounds(found, written, quantity)


def range_of(where: str, written: object, quantity: Quantity, otherwise: str) -> tuple[float, float]:
    """Return the two ends of a range such as "0 .. 200 N" [SI], or refuse in these words what is none."""
    with naming(where):
        found = value_of_text(written, quantity)
        if not isinstance(found, Rectangular):
            raise UnitError(otherwise)
    return found.low, found.high


def _read(address: str, written: object, quantity: Quantity) -> float | Uncertain:
    if written == NO_LIMIT and quantity.default is not None and math.isinf(quantity.default):
        return math.inf
    if isinstance(written, Mapping):
        return value_of_table(address, cast(Mapping[str, Any], written), quantity)
    found = value_of_text(written, quantity)
    return found if isinstance(found, float) else Uncertain(address, unknown=found)


def _exact_in_bounds(found: float, written: object, quantity: Quantity) -> float:
    if not quantity.inside(found).all():
        raise UnitError(f"must be {quantity.bounds_words()}; got {as_toml(written).strip(chr(34))}")
    return found


def _uncertain_in_bounds(found: Uncertain, written: object, quantity: Quantity) -> Uncertain:
    if not quantity.may_be_uncertain:
        raise UnitError(f"cannot be uncertain here: write an exact value instead of {as_toml(written)}")
    low, high = max(found.low, quantity.low), min(found.high, quantity.high)
    bounded = replace(found, low=low, high=high)
    cut_by_study = math.isfinite(found.low) or math.isfinite(found.high)
    if not cut_by_study and bounded.share_outside > TAIL_ALLOWED:
        raise UnitError(
            f"{_share_words(bounded.share_outside)} of {as_toml(written)} lies outside what is possible"
            f" ({quantity.bounds_words()}); {_cut_form(bounded, written, quantity)}"
        )
    if bounded.share_outside > LARGEST_CUT:
        raise UnitError(f"almost nothing of {as_toml(written)} lies within its limits")
    for part in bounded.parts:
        distribution = bounded.distribution(part)
        if not distribution.standard_uncertainty > _SMALLEST_SPREAD * abs(distribution.mean):
            raise UnitError(f"an uncertainty this small is none: write an exact value for {as_toml(written)}")
    return bounded


def _share_words(share: float) -> str:
    return f"{100 * share:.2g} %" if share >= 1e-4 else f"{share:.1g}"


def _cut_form(found: Uncertain, written: object, quantity: Quantity) -> str:
    """Return advice with the value as a form that ends at the physical bounds, ready to paste."""
    limits = {
        key: _literal(quantity.scale.text(edge, 6))
        for key, edge in (("low", found.low), ("high", found.high))
        if math.isfinite(edge)
    }
    distribution = found.unknown if found.unknown is not None else found.scatter
    if isinstance(distribution, Triangular):
        return f"give low, peak and high within {as_toml(limits)}"
    if isinstance(distribution, Rectangular) and not isinstance(written, Mapping):
        low, high = max(distribution.low, found.low), min(distribution.high, found.high)
        return f'cut it: "{quantity.scale.text(low, 6)} .. {quantity.scale.text(high, 6)}"'
    if isinstance(distribution, Normal) and not isinstance(written, Mapping):
        mean = _literal(quantity.scale.text(distribution.mean, 6))
        sd = _literal(quantity.scale.difference(distribution.standard_deviation, 6))
        return f"cut it: {as_toml({'mean': mean, 'sd': sd, **limits})}"
    return f"cut it: {as_toml({**cast(Mapping[str, Any], written), **limits})}"


def _literal(text: str) -> str | float:
    """Return a plain number as a number, so that it is written without quotes."""
    try:
        return float(text)
    except ValueError:
        return text


def as_toml(written: object) -> str:
    """Return a value as it would stand in a study."""
    if isinstance(written, Mapping):
        return "{ " + ", ".join(f"{key} = {as_toml(item)}" for key, item in written.items()) + " }"
    if isinstance(written, list | tuple):
        return "[" + ", ".join(as_toml(item) for item in written) + "]"
    if isinstance(written, float):
        return f"{written:g}"
    return f'"{written}"' if isinstance(written, str) else str(written)
