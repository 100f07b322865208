"""Values as text: how many digits, which unit."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from explorer.units.conversion import CELSIUS, from_si

#: Units that are a thousand times one another, of which a sentence takes the one in which a value reads well.
_LADDERS: Final = (
    *(("m" + unit, unit, "k" + unit) for unit in "NVA"),
    ("mW", "W", "kW", "MW"),
    ("mJ", "J", "kJ", "MJ"),
    ("µC", "mC", "C"),
    ("µN s", "mN s", "N s", "kN s"),
    ("g/s", "kg/s"),
    ("g", "kg"),
    ("mbar", "bar"),
)

#: Below and from which value, to its third digit, another unit reads better.
_SMALL, _LARGE = 1e-3, 1e3


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
        return self._with_unit(self.number(value, digits))

    def number(self, value: float, digits: int = 4) -> str:
        """Return a value [unit] in its shown unit, which stands elsewhere: "12"."""
        return number_text(from_si(value, self.unit, self.shown_unit), digits)

    def readable(self, value: float) -> "Scale":
        """Return the scale in whose unit a value [unit] has neither thousands nor thousandths: kW for 1352 W."""
        size, ladder = self._size(value), next((units for units in _LADDERS if self.shown_unit in units), ())
        if size == 0.0 or not math.isfinite(size) or _SMALL <= size < _LARGE or not ladder:
            return self
        place = ladder.index(self.shown_unit)
        nearest_first = ladder[place + 1 :] if size >= _LARGE else ladder[:place][::-1]
        scales = (replace(self, shown_unit=unit) for unit in nearest_first)
        return next((scale for scale in scales if _SMALL <= scale._size(value) < _LARGE), self)

    def _size(self, value: float) -> float:
        """A value [unit] in the shown unit, to three digits and without its sign."""
        return float(f"{abs(from_si(value, self.unit, self.shown_unit)):.2e}")

    def spoken(self, value: float, digits: int = 3) -> str:
        """Return a value [unit] as a sentence has it: three digits, in a unit that reads well: "1.35 kW"."""
        return self.readable(value).text(value, digits)

    def difference(self, value: float, digits: int = 3, *, kept: bool = False) -> str:
        """Return a difference or a ± [unit], its unit kept or one that reads well; °C have no offset here."""
        scale = Scale(self.unit, "K" if self.shown_unit in CELSIUS else self.shown_unit)
        return scale.text(value, digits) if kept else scale.spoken(value, digits)

    def differences(self, values: Sequence[float], digits: int = 3) -> list[str]:
        """Return differences [unit] as a column has them: in one unit, in which all read well if they can."""
        unit = "K" if self.shown_unit in CELSIUS else self.shown_unit
        sizes = [abs(value) for value in values if value != 0.0] or [0.0]
        scale = Scale(self.unit, unit).readable(max(sizes))
        finer = scale.readable(min(sizes))
        scale = finer if finer._size(max(sizes)) < _LARGE else scale
        return [scale.text(value, digits) for value in values]

    def span(self, low: float, high: float, digits: int = 4) -> str:
        """Return two values [unit] with their unit once: "0.44 and 0.52 T"."""
        first = number_text(from_si(low, self.unit, self.shown_unit), digits)
        return f"{first} and {self.text(high, digits)}"

    def _with_unit(self, number: str) -> str:
        bare = self.shown_unit in ("", "1") or not number[-1].isdigit()  # "no limit" wears none
        return number if bare else f"{number} {self.shown_unit}"
