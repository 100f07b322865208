"""Gauge pressures, which count from the ambient pressure: a study's are absolute."""

import re
from typing import Final

_SIZES: Final = ("mbar", "bar", "kPa", "MPa", "psi")


def _spellings(letter: str) -> dict[str, str]:
    ends = (letter, f"({letter})", f" ({letter})", f" {letter}", letter.upper())
    return {f"{unit}{end}": unit for unit in _SIZES for end in ends}


#: As written: the unit of the same size.
GAUGE_UNITS: Final = _spellings("g")
ABSOLUTE_UNITS: Final = _spellings("a")

_GAUGE: Final = re.compile(r"(?<![A-Za-z])(" + "|".join(_SIZES) + r")( ?\(g\)| g|g|G)(?![A-Za-z])")


def slip(unit: str) -> str | None:
    """Return what is said of a unit that tells whether a pressure is gauge or absolute; None for any other unit."""
    if unit in GAUGE_UNITS:
        plain = GAUGE_UNITS[unit]
        return f'"{unit}" is a gauge pressure, and pressures are absolute here: add the ambient one and write "{plain}"'
    if unit in ABSOLUTE_UNITS:
        return f'pressures are absolute here: write "{ABSOLUTE_UNITS[unit]}", not "{unit}"'
    return None


def without_gauge(text: str) -> str:
    """Return a text with each gauge unit replaced by the unit of the same size; the same text where none stands."""
    return _GAUGE.sub(r"\1", text)
