"""Values written as a table: { low, peak, high }, { median, factor }, { mean, sd, low, high }, { values } …

Readings give a t distribution with n − 1 degrees of freedom (JCGM 101:2008, 6.4.9.2): of scale s/√n for what
is unknown, of scale s√(1 + 1/n) for one more reading, the scatter.
"""

import math
from collections.abc import Callable, Mapping
from typing import Any, Final, cast

import numpy as np

from explorer.registry import Quantity, did_you_mean
from explorer.space import Cut, Distribution, Lognormal, Normal, Part, StudentT, Triangular, Uncertain
from explorer.studyfile.values.text import spread, value_of_text
from explorer.units import UnitError

FEWEST_READINGS: Final[int] = 4  #: fewer leave the t distribution hardly a standard deviation

LARGEST_CUT: Final[float] = 0.99  #: share of a distribution that a cut may take away
_LARGEST_FACTOR: Final[float] = 1e6  #: beyond it nothing is known
_PURE_NUMBER: Final = Quantity()

_CUT: Final = frozenset({"low", "high"})
_KEYS_OF_PARTS: Final = frozenset({"value", "unknown", "scatter"}) | _CUT
_KEYS_OF_ALL: Final = frozenset({"part", "shared"})

Table = Mapping[str, Any]


def value_of_table(address: str, table: Table, quantity: Quantity) -> float | Uncertain:
    """Return an exact value [SI] or an uncertain input from a table."""
    for key in table:
        if key not in _KEYS:
            raise UnitError(f'unknown key "{key}"{did_you_mean(key, _KEYS)}')
    if "value" in table:
        return _value_with_parts(address, table, quantity)
    part, shared = _part(table), _shared(table)
    distribution = _form(table, quantity)
    if part == "unknown":
        return Uncertain(address, unknown=distribution, shared=shared)
    if shared is not None:
        raise UnitError("scatter falls anew at each firing, so that it cannot be shared")
    return Uncertain(address, scatter=distribution)


def _shared(table: Table) -> str | None:
    shared = table.get("shared")
    if shared is not None and (not isinstance(shared, str) or not shared.strip()):
        raise UnitError(f'shared must be a name such as "load cell"; got {shared}')
    return shared


def _part(table: Table) -> Part:
    part = table.get("part", "unknown")
    if part not in ("unknown", "scatter"):
        raise UnitError(f'part must be "unknown" or "scatter"; got {part}')
    return cast(Part, part)


# { value, unknown, scatter }


def _value_with_parts(address: str, table: Table, quantity: Quantity) -> float | Uncertain:
    _refuse_other_keys(table, _KEYS_OF_PARTS)
    centre, stated = _centre(address, table["value"], quantity)
    if stated is not None and "unknown" in table:
        raise UnitError("the value has a ± of its own and an unknown part besides: give one of them")
    unknown = _part_of_value(table["unknown"], quantity, centre) if "unknown" in table else stated
    scatter = _part_of_value(table["scatter"], quantity, centre) if "scatter" in table else None
    part, shared, (low, high) = _part(table), _shared(table), _limits(table, quantity)
    if unknown is None and scatter is None:
        return centre
    if part == "scatter":
        if scatter is not None or "unknown" in table:
            raise UnitError('part = "scatter" goes with a value that carries its own ±, without other parts')
        unknown, scatter = None, unknown
    if unknown is None and shared is not None:
        raise UnitError("scatter falls anew at each firing, so that it cannot be shared")
    return Uncertain(address, unknown, scatter, low, high, shared)


def _centre(address: str, written: object, quantity: Quantity) -> tuple[float, Distribution | None]:
    """Return the centre of a value and, where it carries one, its own distribution."""
    if isinstance(written, Mapping):
        found = value_of_table(address, cast(Table, written), quantity)
        if isinstance(found, Uncertain):
            return found.centre, found.distribution(found.parts[0])
        return found, None
    plain = value_of_text(written, quantity)
    return (plain, None) if isinstance(plain, float) else (plain.mean, plain)


def _part_of_value(written: object, quantity: Quantity, centre: float) -> Distribution:
    if isinstance(written, Mapping):
        _refuse_other_keys(cast(Table, written), frozenset({"values"}))
        return _readings(written.get("values"), quantity, centre=centre, scatter=True)
    return spread(written, quantity, centre)


# the other forms


def _form(table: Table, quantity: Quantity) -> Distribution:
    key = next((key for key in _FORMS if key in table), None)
    if key is None:
        if table.keys() >= _CUT:
            raise UnitError(
                f'write "{table["low"]} .. {table["high"]}" where all in between is equally likely'
            )
        raise UnitError(
            "a table of a value has low, peak, high, or median, factor, or mean, sd, low, high, or values,"
            " or value, unknown, scatter"
        )
    keys, read = _FORMS[key]
    _refuse_other_keys(table, keys)
    return read(table, quantity)


def _triangular(table: Table, quantity: Quantity) -> Distribution:
    low, peak, high = (_member(table, key, quantity) for key in ("low", "peak", "high"))
    if not (low <= peak <= high and low < high):
        raise UnitError("low, peak and high must stand in this order")
    return Triangular(low, peak, high)


def _lognormal(table: Table, quantity: Quantity) -> Distribution:
    median, factor = _member(table, "median", quantity), _member(table, "factor", _PURE_NUMBER)
    if median <= 0:
        raise UnitError("a median with a factor must be above zero")
    if not 1 < factor < _LARGEST_FACTOR:
        raise UnitError(
            f"the factor (95 % within median/factor … median·factor) must be above 1 and below"
            f" {_LARGEST_FACTOR:g}; got {factor:g}"
        )
    return _cut(Lognormal(median, factor), table, quantity)


def _cut_normal(table: Table, quantity: Quantity) -> Distribution:
    mean = _member(table, "mean", quantity)
    if "sd" not in table:
        raise UnitError("missing sd beside mean")
    base = spread(table["sd"], quantity, mean)
    if not isinstance(base, Normal):
        raise UnitError("sd is a standard deviation, without limits")
    if not {"low", "high"} & table.keys():
        raise UnitError("mean and sd without low or high: write them as a value with a ±")
    return _cut(base, table, quantity)


def _cut_readings(table: Table, quantity: Quantity) -> Distribution:
    scatter = _part(table) == "scatter"
    return _cut(_readings(table["values"], quantity, centre=None, scatter=scatter), table, quantity)


def _readings(written: object, quantity: Quantity, *, centre: float | None, scatter: bool) -> Distribution:
    if not isinstance(written, list | tuple) or len(written) < FEWEST_READINGS:
        raise UnitError(f"values must be a list of at least {FEWEST_READINGS} readings")
    readings = [value_of_text(item, quantity) for item in written]
    if not all(isinstance(item, float) for item in readings):
        raise UnitError("a reading among values is a plain value without a ±")
    numbers = np.array(readings, dtype=float)
    n, deviation = numbers.size, float(numbers.std(ddof=1))
    if deviation == 0:
        raise UnitError("the readings are all the same, which would be zero uncertainty: read finer digits")
    scale = deviation * (math.sqrt(1 + 1 / n) if scatter else 1 / math.sqrt(n))
    return StudentT(float(numbers.mean()) if centre is None else centre, scale, n - 1)


#: By the key that tells a form, the first in this order: what goes with it, and how it is read.
_FORMS: Final[dict[str, tuple[frozenset[str], Callable[[Table, Quantity], Distribution]]]] = {
    "values": (_CUT | {"values"}, _cut_readings),
    "peak": (_CUT | {"peak"}, _triangular),
    "median": (_CUT | {"median", "factor"}, _lognormal),
    "factor": (_CUT | {"median", "factor"}, _lognormal),
    "mean": (_CUT | {"mean", "sd"}, _cut_normal),
    "sd": (_CUT | {"mean", "sd"}, _cut_normal),
}
_KEYS: Final = _KEYS_OF_PARTS | _KEYS_OF_ALL | frozenset(_FORMS)


def _member(table: Table, key: str, quantity: Quantity) -> float:
    if key not in table:
        raise UnitError(f"missing {key} beside {' and '.join(k for k in table if k not in _KEYS_OF_ALL)}")
    found = value_of_text(table[key], quantity)
    if not isinstance(found, float):
        raise UnitError(f"{key} must be a plain value without a ±")
    return found


def _limits(table: Table, quantity: Quantity) -> tuple[float, float]:
    low = _member(table, "low", quantity) if "low" in table else -math.inf
    high = _member(table, "high", quantity) if "high" in table else math.inf
    if not low < high:
        raise UnitError("low must lie below high")
    return low, high


def _cut(base: Distribution, table: Table, quantity: Quantity) -> Distribution:
    low, high = _limits(table, quantity)
    if math.isinf(low) and math.isinf(high):
        return base
    cut = Cut(base, low, high)
    if cut.share_cut > LARGEST_CUT:
        raise UnitError("almost nothing of the distribution lies between low and high")
    return cut


def _refuse_other_keys(table: Table, allowed: frozenset[str]) -> None:
    for key in table:
        if key not in allowed | _KEYS_OF_ALL:
            others = [other for other in table if other in allowed]
            raise UnitError(f'"{key}" does not go with {", ".join(others) or "this form"}')
