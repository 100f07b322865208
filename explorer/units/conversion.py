"""Units at the boundary: what a study, the command line or a table says, against SI inside.

Pint knows the units; its registry is built on the first conversion (a tenth of a second) and each factor is
kept, so that a program which converts nothing pays nothing. Offsets exist for °C alone: a ± in °C is one in
kelvin. Sources: the SI brochure (9th edition) for what the units are, by way of Pint's definition file.
"""

import math
import re
from functools import lru_cache
from typing import Any, Final, overload

import numpy as np
from numpy.typing import NDArray

ZERO_CELSIUS: Final[float] = 273.15  #: 0 °C on the kelvin scale [K], exact by definition

NUMBER: Final[str] = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"  #: how a number is written, as a pattern

_SMALLEST: Final[float] = 1e-60  #: sizes outside are slips of the keyboard, and overflow when squared
_LARGEST: Final[float] = 1e60

_NUMBER_AND_UNIT: Final = re.compile(rf"\s*({NUMBER})\s*(.*?)\s*", re.DOTALL)
CELSIUS: Final = frozenset({"°C", "degC", "celsius", "℃", "º C", "ºC"})
_FAHRENHEIT: Final = frozenset({"°F", "degF", "fahrenheit", "℉"})
_DIMENSIONLESS: Final = {"": 1.0, "1": 1.0, "%": 0.01, "‰": 0.001, "ppm": 1e-6, "percent": 0.01}
_SPELLINGS: Final = {
    "G": "gauss_of_flux_density",
    "gauss": "gauss_of_flux_density",
    "kG": "kilogauss_of_flux_density",
    "mG": "milligauss_of_flux_density",
    "Ohm": "ohm",
    "mOhm": "milliohm",
    "kohm": "kiloohm",
    "kOhm": "kiloohm",
    "sec": "s",
}

_NAMES: Final = {  # unit of the dimension: what a message calls it
    "1": "a plain number",
    "m": "a length",
    "m^2": "an area",
    "m^3": "a volume",
    "s": "a time",
    "Hz": "a rate",
    "kg": "a mass",
    "K": "a temperature",
    "Pa": "a pressure",
    "N": "a force",
    "J": "an energy",
    "W": "a power",
    "A": "a current",
    "C": "an electric charge",
    "V": "a voltage",
    "V/m": "an electric field",
    "V m^2": "a reduced electric field",
    "ohm": "a resistance",
    "ohm m^2": "a resistance times area",
    "S": "a conductance",
    "S/m": "a conductivity",
    "T": "a magnetic flux density",
    "A/m": "a magnetic field strength",
    "A/m^2": "a current density",
    "kg/s": "a mass flow",
    "m^3/s": "a volume flow",
    "kg/m^3": "a density",
    "m/s": "a velocity",
    "m/s^2": "an acceleration",
    "J/kg": "an energy per mass",
    "J/mol": "an energy per mole",
    "W/kg": "a power per mass",
    "Pa m": "a pressure times length",
    "N/W": "a force per power",
    "1/m^3": "a number density",
    "kg/mol": "a molar mass",
}


class UnitError(ValueError):
    """A number or unit that cannot be read; the message says what would be right."""


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # slow to import, so not before it is needed

    registry = pint.UnitRegistry(cache_folder=None)
    registry.define("townsend = 1e-21 * volt * meter**2 = Td")  # Pint would read Td as teradays
    registry.define("gauss_of_flux_density = 1e-4 * tesla")  # Pint's own gauss belongs to the Gaussian system
    return registry


@lru_cache(maxsize=1)
def _dimension_names() -> dict[Any, str]:
    return {_dimensions(unit): name for unit, name in _NAMES.items()}


@lru_cache(maxsize=512)
def _parsed(unit: str) -> Any:
    text = _SPELLINGS.get(unit, unit).replace("·", "*").replace("−", "-").replace("×", "*")
    try:
        return _registry().parse_units(text)
    except Exception as error:  # Pint raises many kinds, tokenizer's ones among them
        raise UnitError(f'"{unit}" is no unit known here') from error


@lru_cache(maxsize=512)
def _dimensions(unit: str) -> Any:
    if unit in _DIMENSIONLESS:
        return _registry().dimensionless.dimensionality
    if unit in CELSIUS:
        unit = "K"
    return _parsed(unit).dimensionality


@lru_cache(maxsize=512)
def _factor(unit: str, expected: str) -> float:
    """Return what one `unit` is in `expected`, offsets left aside."""
    if unit == expected:
        return 1.0
    if unit in _FAHRENHEIT:
        raise UnitError("°F is not read here: write °C or K")
    if _dimensions(unit) != _dimensions(expected):
        raise UnitError(f"expected {dimension_name(expected)}, got {dimension_name(unit)}")
    if unit in _DIMENSIONLESS:
        return _DIMENSIONLESS[unit] / _DIMENSIONLESS.get(expected, 1.0)
    if expected in _DIMENSIONLESS:
        return float(_registry().Quantity(1.0, _parsed(unit)).to("").magnitude) / _DIMENSIONLESS[expected]
    return float(_factor_by_pint("K" if unit in CELSIUS else unit, "K" if expected in CELSIUS else expected))


def _factor_by_pint(unit: str, expected: str) -> float:
    return float(_registry().Quantity(1.0, _parsed(unit)).to(_parsed(expected)).magnitude)


def plain(text: str) -> str:
    """Return the text with one kind of space and minus, and refuse a decimal comma."""
    tidy = " ".join(text.replace("−", "-").split())
    if re.search(r"\d,\d", tidy):
        spelling = re.sub(r"(\d),(\d)", r"\1.\2", tidy)
        raise UnitError(f'"{tidy}" has a decimal comma: write "{spelling}"')
    return tidy


def finite(number: float | str) -> float:
    """Return the number [as written], refusing infinity, not-a-number and what nothing in nature reaches."""
    value = float(number)
    if not math.isfinite(value):
        raise UnitError(f"{number} is not a finite number")
    if value != 0 and not _SMALLEST < abs(value) < _LARGEST:
        raise UnitError(f"{number} cannot be meant: it is beyond any quantity of nature")
    return value


def rounded(value: float) -> float:
    """Return the value to 15 significant digits, so that 9 mm is 0.009 m and not 0.009000000000000001 m."""
    return float(f"{value:.15g}")


def number_and_unit(text: str) -> tuple[float, str]:
    """Return the number and the unit of a text such as "0.48 T"; the unit is "" where none is written."""
    match = _NUMBER_AND_UNIT.fullmatch(plain(text))
    if match is None:
        raise UnitError(f'"{text}" does not begin with a number')
    return finite(match[1]), match[2]


def si_value(number: float, unit: str, expected: str) -> float:
    """Return a value in the SI unit `expected`; °C counts from 273.15 K."""
    offset = ZERO_CELSIUS if unit in CELSIUS else 0.0
    return rounded(si_difference(number, unit, expected) + offset)


def si_difference(number: float, unit: str, expected: str) -> float:
    """Return a ± or a difference in the SI unit `expected`; K and °C are the same size [expected]."""
    if unit == "" and expected not in _DIMENSIONLESS:
        raise UnitError(f"expected {dimension_name(expected)}, got {number:g} without a unit")
    try:
        return finite(rounded(number * _factor(unit, expected)))
    except UnitError as error:
        if str(error).startswith("expected"):
            raise UnitError(f"expected {dimension_name(expected)}, got {number:g} {unit}".rstrip()) from None
        raise


def si_text(text: str, expected: str) -> float:
    """Return the value of a text such as "12 bar" in the SI unit `expected`."""
    number, unit = number_and_unit(text)
    return si_value(number, unit, expected)


@overload
def from_si(value: float, unit: str, shown_unit: str) -> float: ...
@overload
def from_si(value: NDArray[np.float64], unit: str, shown_unit: str) -> NDArray[np.float64]: ...
def from_si(value: float | NDArray[np.float64], unit: str, shown_unit: str) -> float | NDArray[np.float64]:
    """Return an SI value in the unit in which it is shown [shown_unit], elementwise."""
    offset = ZERO_CELSIUS if shown_unit in CELSIUS else 0.0
    return (value - offset) / _factor(shown_unit, unit)


def dimension_name(unit: str) -> str:
    """Return what a message calls the dimension of a unit: "Pa" gives "a pressure"."""
    name = _dimension_names().get(_dimensions(unit))
    return name if name is not None else f'a quantity in "{unit}"'


def si_unit(unit: str) -> str:
    """Return the SI unit of a unit as written ("mA" gives "A"), for inputs that no registry knows."""
    if unit in _DIMENSIONLESS:
        return "1"
    if unit in CELSIUS:
        return "K"
    dimensions = _dimensions(unit)
    for candidate in _NAMES:
        if _dimensions(candidate) == dimensions:
            return candidate
    return f"{_registry().get_base_units(_parsed(unit))[1]:~P}"
