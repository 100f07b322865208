"""Units at the boundary: text to SI, and SI to text. Inside the program everything is SI without units."""

from explorer.units.conversion import (
    NUMBER,
    ZERO_CELSIUS,
    UnitError,
    dimension_name,
    finite,
    from_si,
    number_and_unit,
    plain,
    rounded,
    si_difference,
    si_text,
    si_unit,
    si_value,
)
from explorer.units.gauge import without_gauge
from explorer.units.showing import Scale, number_text, shown

__all__ = [
    "NUMBER",
    "ZERO_CELSIUS",
    "Scale",
    "UnitError",
    "dimension_name",
    "finite",
    "from_si",
    "number_and_unit",
    "number_text",
    "plain",
    "rounded",
    "shown",
    "si_difference",
    "si_text",
    "si_unit",
    "si_value",
    "without_gauge",
]
