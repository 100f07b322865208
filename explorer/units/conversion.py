"""Units at the boundary: what a study, the command line or a table says, against SI inside.

What engineers write most stands here; Pint knows the rest, and is asked for nothing else, since to load it and to
build its registry takes a third of a second. A test holds each factor here against Pint's. Offsets exist for °C alone:
a ± in °C is one in kelvin. Sources: the SI brochure (9th edition) for what the units are, by way of Pint's definitions.
"""

import math
import re
from functools import lru_cache
from typing import Any, Final, overload

import numpy as np
from numpy.typing import NDArray

from explorer.units.gauge import slip

ZERO_CELSIUS: Final[float] = 273.15  #: 0 °C on the kelvin scale [K], exact by definition

NUMBER: Final[str] = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"  #: how a number is written, as a pattern

_RAISED: Final = re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹]+")
_LOWERED: Final = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")
_EXPONENT: Final = re.compile(r"\^\s*\(?\s*[+-]?\s*(\d+\.?\d*|\.\d+)")
_TOWER: Final = re.compile(r"\^[^^A-Za-zµΩ°]*\^")  # a power, and another before the next name of a unit
_HIGHEST_POWER: Final[float] = 1000.0  #: of all in a unit, one upon the other

_SMALLEST: Final[float] = 1e-60  #: sizes outside are slips of the keyboard, and overflow when squared
_LARGEST: Final[float] = 1e60

_THOUSANDS: Final = re.compile(
    r"(?<![\d,.])[1-9]\d{0,2}(?:,\d{3})+(?![\d,])"
)  #: "1,000": may be one or a thousand

_NUMBER_AND_UNIT: Final = re.compile(rf"\s*({NUMBER})\s*(.*?)\s*", re.DOTALL)
CELSIUS: Final = frozenset({"°C", "degC", "celsius", "℃", "º C", "ºC"})
#: Begins what can't be a unit, though Pint takes "± 1 mm" for one.
_SECOND_NUMBER: Final = re.compile(r"[±+-]|\d+\.?\d*\s*[^\s\d./]")
_FAHRENHEIT: Final = frozenset({"°F", "degF", "fahrenheit", "℉"})
_DIMENSIONLESS: Final = {"": 1.0, "1": 1.0, "%": 0.01, "‰": 0.001, "ppm": 1e-6, "percent": 0.01}
_NAMES: Final = {  # SI unit: what a message calls its dimension
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
    "F": "a capacitance",
    "H": "an inductance",
    "N s": "an impulse",
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
    "kg/C": "a mass per charge",
}


OFTEN_WRITTEN: Final = {  # in place of an SI unit, and how many of it one is
    "m": {"um": 1e-6, "µm": 1e-6, "mm": 1e-3, "cm": 1e-2, "km": 1e3},
    "m^2": {"mm^2": 1e-6, "cm^2": 1e-4},
    "m^3": {"cm^3": 1e-6, "mL": 1e-6, "L": 1e-3},
    "m^3/s": {"mL/min": 1e-6 / 60.0, "L/min": 1e-3 / 60.0},
    "s": {"ms": 1e-3, "sec": 1.0, "min": 60.0, "h": 3600.0},
    "Hz": {"kHz": 1e3, "MHz": 1e6},
    "kg": {"mg": 1e-6, "g": 1e-3},
    "Pa": {"mbar": 1e2, "kPa": 1e3, "bar": 1e5, "MPa": 1e6},
    "N": {"mN": 1e-3, "kN": 1e3},
    "J": {"mJ": 1e-3, "kJ": 1e3, "MJ": 1e6, "eV": 1.602176634e-19},
    "W": {"mW": 1e-3, "kW": 1e3, "MW": 1e6},
    "A": {"mA": 1e-3, "kA": 1e3},
    "V": {"mV": 1e-3, "kV": 1e3},
    "C": {"uC": 1e-6, "µC": 1e-6, "mC": 1e-3},
    "F": {"nF": 1e-9, "uF": 1e-6, "µF": 1e-6, "mF": 1e-3},
    "H": {"uH": 1e-6, "µH": 1e-6, "mH": 1e-3},
    "N s": {"uN s": 1e-6, "µN s": 1e-6, "mN s": 1e-3, "kN s": 1e3},
    "V/m": {"kV/m": 1e3},
    "V m^2": {"Td": 1e-21},
    "ohm": {"mOhm": 1e-3, "Ohm": 1.0, "kohm": 1e3, "kOhm": 1e3},
    "T": {"mT": 1e-3, "mG": 1e-7, "G": 1e-4, "gauss": 1e-4, "kG": 0.1},  # Pint's gauss is another
    "A/m^2": {"A/cm^2": 1e4},
    "kg/s": {"g/s": 1e-3},
    "kg/C": {"ug/C": 1e-9, "µg/C": 1e-9},
    "kg/m^3": {"g/cm^3": 1e3},
    "J/kg": {"kJ/kg": 1e3, "Wh/kg": 3600.0},
    "J/mol": {"kJ/mol": 1e3},
    "W/kg": {"kW/kg": 1e3},
    "Pa m": {"bar mm": 1e2},
    "N/W": {"N/kW": 1e-3},
    "m/s^2": {"N/kg": 1.0},
}
_KNOWN: Final = {
    **{unit: (unit, 1.0) for unit in _NAMES},
    **{unit: ("1", size) for unit, size in _DIMENSIONLESS.items()},
    **dict.fromkeys(CELSIUS, ("K", 1.0)),
    **{unit: (si, size) for si, units in OFTEN_WRITTEN.items() for unit, size in units.items()},
}


class UnitError(ValueError):
    """A number or unit that cannot be read; the message says what would be right."""


@lru_cache(maxsize=512)
def _in_si(unit: str) -> tuple[str, float]:
    """Return the SI unit of a unit as written, and how many of it one is, offsets left aside."""
    if unit in _FAHRENHEIT:
        raise UnitError("°F is not read here: write °C or K")
    if (words := slip(unit)) is not None:
        raise UnitError(words)
    return _KNOWN.get(unit) or in_si_by_pint(unit)


def in_si_by_pint(unit: str) -> tuple[str, float]:
    """Return what `_in_si` does, as Pint knows it."""
    try:
        return _by_pint(_without_towers(unit.replace("·", "*").replace("−", "-").replace("×", "*")))
    except Exception as error:  # Pint raises many kinds, tokenizer's ones among them
        raise UnitError(f'"{unit}" is no unit known here') from error


def _without_towers(unit: str) -> str:
    """Return a unit as it is; refuse powers of powers, on which Pint would work for ever (9**9**9)."""
    flat = _RAISED.sub(lambda found: f"^{found[0].translate(_LOWERED)}", unit).replace("**", "^")
    exponents = [abs(float(exponent)) for exponent in _EXPONENT.findall(flat)]
    if len(exponents) != flat.count("^") or math.prod(max(1.0, size) for size in exponents) > _HIGHEST_POWER:
        raise UnitError("a power that no unit has")
    if _TOWER.search(flat):
        raise UnitError("a power of a power")
    return unit


def _by_pint(unit: str) -> tuple[str, float]:
    parsed = _registry().parse_units(unit)
    size, base = _registry().get_base_units(parsed)
    si = _si_units().get(parsed.dimensionality)
    if si is None:
        return f"{base:~P}", float(size)
    return si, float(_registry().Quantity(1.0, parsed).to("" if si == "1" else si).magnitude)


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # slow to import, so not before it is needed

    registry = pint.UnitRegistry(cache_folder=None)
    registry.define("townsend = 1e-21 * volt * meter**2 = Td")  # Pint would read Td as teradays
    return registry


@lru_cache(maxsize=1)
def _si_units() -> dict[Any, str]:
    return {_registry().parse_units("" if unit == "1" else unit).dimensionality: unit for unit in _NAMES}


def _factor(unit: str, expected: str) -> float:
    """Return what one `unit` is in `expected`, offsets left aside."""
    if unit == expected:
        return 1.0
    (si, size), (wanted, of_expected) = _in_si(unit), _in_si(expected)
    if si != wanted:
        raise UnitError(f"expected {dimension_name(expected)}, got {dimension_name(unit)}")
    return size / of_expected


def plain(text: str) -> str:
    """Return the text with one kind of space and minus, and refuse a comma: one of decimals, or of thousands."""
    tidy = " ".join(text.replace("−", "-").split())
    if re.search(r"\d,\d", tidy):
        spelling = re.sub(r"(\d),(\d)", r"\1.\2", tidy)
        if _THOUSANDS.search(tidy):
            whole = re.sub(r"(\d),(?=\d)", r"\1", tidy)
            if "." in tidy:
                raise UnitError(f'"{tidy}" has commas between thousands: write "{whole}"')
            raise UnitError(
                f'"{tidy}" has a comma: write "{spelling}" if it is a decimal comma, "{whole}" if it parts thousands'
            )
        raise UnitError(f'"{tidy}" has a decimal comma: write "{spelling}"')
    return tidy


def finite(number: float | str) -> float:
    """Return the number [as written], refusing infinity, not-a-number and what nothing in nature reaches."""
    try:
        value = float(number)
    except OverflowError:  # an integer that no float holds
        raise UnitError("a number this large cannot be meant: it is beyond any quantity of nature") from None
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
    if _SECOND_NUMBER.match(match[2]):
        raise UnitError(f'"{text}" holds more than a number and its unit: one exact value is asked for here')
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
    return _NAMES.get(_in_si(unit)[0], f'a quantity in "{unit}"')


def si_unit(unit: str) -> str:
    """Return the SI unit of a unit as written ("mA" gives "A"), for inputs that no registry knows."""
    return _in_si(unit)[0]
