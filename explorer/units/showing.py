"""Values as text: how many digits, which unit."""

import math
from dataclasses import dataclass

from explorer.units.conversion import CELSIUS, from_si


def number_text(value: float, digits: int = 4) -> str:
    """Return a number with `digits` significant ones, without an exponent between 1e-3 and 1e6."""
    if not math.isfinite(value):
        return "none" if math.isnan(value) else f"{value:g}".replace("inf", "no limit")
    if value == 0:
        return "0"
    exponent = math.floor(math.log10(abs(float(f"{value:.{digits - 1}e}"))))
    if not -4 <= exponent < 6:
        return f"{value:.{digits - 1}e}"
    text = f"{round(value, digits - 1 - exponent):.{max(digits - 1 - exponent, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def shown(value: float, unit: str, shown_unit: str, digits: int = 4) -> str:
    """Return an SI value as text in its shown unit: 1.2e6, "Pa", "bar" gives "12 bar"."""
    return Scale(unit, shown_unit).text(value, digits)


@dataclass(frozen=True)
class Scale:
    """How the values of one quantity are written for a reader."""

    unit: str  #: SI unit
    shown_unit: str

    def text(self, value: float, digits: int = 4) -> str:
        """Return a value [unit] with its shown unit: "12 bar"."""
        return self._with_unit(number_text(from_si(value, self.unit, self.shown_unit), digits))

    def difference(self, value: float, digits: int = 3) -> str:
        """Return a difference or a ± [unit] with its shown unit; °C have no offset here."""
        unit = "K" if self.shown_unit in CELSIUS else self.shown_unit
        return Scale(self.unit, unit).text(value, digits)

    def span(self, low: float, high: float, digits: int = 4) -> str:
        """Return two values [unit] with their unit once: "0.44 and 0.52 T"."""
        first = number_text(from_si(low, self.unit, self.shown_unit), digits)
        return f"{first} and {self.text(high, digits)}"

    def _with_unit(self, number: str) -> str:
        bare = self.shown_unit in ("", "1") or not number[-1].isdigit()  # "no limit" wears none
        return number if bare else f"{number} {self.shown_unit}"
