"""Values written as one text or number: "0.48 T", "0.48 ± 0.02 T", "0.48 T limits 0.02 T", "20 .. 60 V".

A ± is one standard uncertainty unless (k=2) follows (GUM, 7.2.3); limits and ranges are rectangular. What
could mean two things is refused with both spellings.
"""

import re
from typing import Final

from explorer import units
from explorer.registry import Quantity
from explorer.space import Distribution, Normal, Rectangular
from explorer.units import UnitError

_COVERAGE: Final = re.compile(rf"(.*)\(\s*k\s*=\s*({units.NUMBER})\s*\)", re.DOTALL)
_SEPARATORS: Final = {
    "±": re.compile(r"±|\+/-|\+-"),
    "limits": re.compile(r"(?:^|\s)limits\s"),
    "..": re.compile(r"\.\.\.?|…"),
}


def value_of_text(written: object, quantity: Quantity) -> float | Distribution:
    """Return an exact value [SI] or a distribution from a number or a text."""
    if isinstance(written, bool) or not isinstance(written, int | float | str):
        raise UnitError(f"expected a value such as {example(quantity)}, got {written}")
    if not isinstance(written, str):
        return _si(units.finite(written), "", quantity)
    text = units.plain(written)
    body, coverage = without_coverage(text)
    left, word, right = parted(body)
    if coverage != 1.0 and word != "±":
        raise UnitError(f'"{text}": (k=…) belongs to a ±')
    if not word:
        return _si(*_number_and_unit(body, quantity), quantity)
    if word == "..":
        return _range(left, right, quantity)
    centre, width = _centre_and_width(left, right, word, quantity)
    if word == "±":
        return Normal(centre, width / coverage)
    return Rectangular(centre - width, centre + width)


def parted(text: str) -> tuple[str, str, str]:
    """Return what stands left of "±", "limits" or "..", which of them it is, and what stands right of it.

    Without any of them the text stands left, and the others are empty.
    """
    for word, separator in _SEPARATORS.items():
        parts = [part.strip() for part in separator.split(text)]
        if len(parts) > 2:
            raise UnitError(f'"{text}" cannot be read: it has two separators')
        if len(parts) == 2:
            return parts[0], word, parts[1]
    return text, "", ""


def _range(left: str, right: str, quantity: Quantity) -> Rectangular:
    low_number, low_unit = _number_and_unit(left, quantity)
    high_number, high_unit = _number_and_unit(right, quantity)
    low, high = _si(low_number, low_unit or high_unit, quantity), _si(high_number, high_unit, quantity)
    if not low < high:
        raise UnitError(f'"{left} .. {right}": the low end must lie below the high end')
    return Rectangular(low, high)


def _centre_and_width(left: str, right: str, word: str, quantity: Quantity) -> tuple[float, float]:
    number, unit = _number_and_unit(left, quantity)
    width, width_unit = _number_and_unit(right, quantity)
    if width <= 0:
        exact = left if unit or not width_unit else f"{left} {width_unit}"
        raise UnitError(f'the uncertainty must be above zero; write "{exact}" for an exact value')
    if width_unit == "" and unit != "":
        raise UnitError(f'"{left} {word} {right}": write "{number:g} {word} {right} {unit}"')
    if width_unit == "%" and quantity.unit == "1":
        _refuse_ambiguous_percent(number, unit, width, word, quantity)
    relative = width_unit == "%" and quantity.unit != "1"
    centre = _si(number, unit if relative else unit or width_unit, quantity)
    if relative:
        return centre, _percent_of(centre, unit, width, quantity)
    return centre, units.si_difference(width, width_unit, quantity.unit)


def _refuse_ambiguous_percent(number: float, unit: str, width: float, word: str, quantity: Quantity) -> None:
    """Refuse a % of a %, and a % on what is no share of anything."""
    relative = abs(number) * width / 100
    if unit == "%":
        raise UnitError(
            f'"{number:g} % {word} {width:g} %" could mean two things: write'
            f' "{number:g} {word} {relative:g} %" for {width:g} % of the value, or'
            f' "{number:g} {word} {width:g} %" for percentage points'
        )
    if quantity.high > 1 or (number <= 1 and quantity.shown_unit != "%"):
        raise UnitError(
            f'"{number:g} {word} {width:g} %" could mean two things: write "{number:g} {word} {relative:g}"'
            f' for {width:g} % of the value, or "{number / 100:g} {word} {width / 100:g}" for per cent'
        )


def spread(written: object, quantity: Quantity, centre: float) -> Distribution:
    """Return a distribution of a ± about a centre [SI]: "0.02 T", "4 %", "0.04 T (k=2)", "limits 0.02 T"."""
    if isinstance(written, bool) or not isinstance(written, int | float | str):
        raise UnitError(f"expected a ± such as {example(quantity)}, got {written}")
    body, coverage = without_coverage(units.plain(str(written)))
    rectangular = body.startswith("limits ")
    number, unit = _number_and_unit(body.removeprefix("limits ").lstrip("±").strip(), quantity)
    if number <= 0:
        raise UnitError(f'the uncertainty must be above zero; got "{written}"')
    if unit == "%" and quantity.unit == "1":
        raise UnitError(
            f'"{written}" could mean two things: write {abs(centre) * number / 100:g} for {number:g} % of the'
            f" value, or {number / 100:g} for percentage points"
        )
    if unit == "%":
        width = _percent_of(centre, quantity.shown_unit, number, quantity)
    else:
        width = _difference(number, unit, quantity)
    return Rectangular(centre - width, centre + width) if rectangular else Normal(centre, width / coverage)


def _percent_of(centre: float, unit: str, percent: float, quantity: Quantity) -> float:
    if quantity.unit == "K" and unit != "K":
        raise UnitError(f"a ± of {percent:g} % says nothing of a temperature in °C: write it in kelvin")
    if centre == 0:
        raise UnitError("a ± in % of zero is zero: write it with a unit")
    return abs(centre) * percent / 100


def _difference(number: float, unit: str, quantity: Quantity) -> float:
    if unit == "" and quantity.unit != "1":
        _si(number, unit, quantity)  # says that a unit is missing, with an example
    return units.si_difference(number, unit, quantity.unit)


def _si(number: float, unit: str, quantity: Quantity) -> float:
    try:
        return units.si_value(number, unit, quantity.unit)
    except UnitError as error:
        hint = f"; write it with one, such as {example(quantity, number)}" if unit == "" else ""
        raise UnitError(f"{error}{hint}") from error


def _number_and_unit(text: str, quantity: Quantity) -> tuple[float, str]:
    try:
        return units.number_and_unit(text)
    except UnitError as error:
        hint = f"; expected a value such as {example(quantity)}" if "begin" in str(error) else ""
        raise UnitError(f"{error}{hint}") from error


def example(quantity: Quantity, number: float = 1.0) -> str:
    """Return how a value of a quantity is written."""
    unit = quantity.shown_unit
    return f'"{number:g} {unit}"' if unit not in ("", "1") else f"{number:g}"


def without_coverage(text: str) -> tuple[str, float]:
    """Return the text without its (k=…), and the coverage factor, 1 where none stands."""
    match = _COVERAGE.fullmatch(text)
    if match is None:
        return text, 1.0
    if float(match[2]) <= 0:
        raise UnitError(f'"{text}": the coverage factor must be above zero')
    return match[1].strip(), float(match[2])


def unit_written(text: str) -> str:
    """Return the unit of a value's text: that of its centre, else of its ± or high end; "" for none."""
    left, _, right = parted(without_coverage(" ".join(text.split()))[0])
    return _bare_unit(left) or _bare_unit(right)


def _bare_unit(text: str) -> str:
    return re.sub(rf"^\s*{units.NUMBER}\s*", "", text.replace("−", "-")).strip()
