"""What the registry says about one input or output, one choice, one name, one warning."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer import units
from explorer.registry.spoken import spoken

INFINITY: Final[float] = float("inf")

Kind = Literal["fuel", "oxidiser", "seed", "magnet grade", "status"]  #: of what has a name and a sentence


@dataclass(frozen=True)
class Quantity:
    """One numeric input or output of the stage.

    A pair-level address stands as "electrodes.*.voltage_drop" (inputs) or as the bare name with `per_pair`
    (outputs: "current", and "electrodes.main.current" for the pair `main`).
    """

    symbol: str = ""
    sentence: str = ""  #: what it is, in one sentence
    unit: str = "1"  #: SI unit, "1" for a plain number
    shown_unit: str = ""  #: the engineer's unit; the SI unit where it is left out
    address: str = ""
    kind: Literal["input", "output", "chance"] = "input"
    sign: str = ""  #: sign convention, where one is needed
    low: float = -INFINITY  #: physical bounds [unit]
    high: float = INFINITY
    low_open: bool = True  #: the bound itself is not allowed
    high_open: bool = True
    adds: bool = False  #: the sum over several pairs means something
    per_pair: bool = False
    may_be_uncertain: bool = False
    shapes_gas_table: bool = False  #: a composition coordinate of the table of equilibrium properties
    constant: bool = False  #: of nature or of the model: no firing has one of its own
    formula: str = ""  #: module in which its formula stands
    default: float | None = None
    default_origin: Literal["default", "assumed"] | None = None
    model_error: float = 0.0  #: assumed relative standard uncertainty of the model itself, for outputs [-]
    words: str = ""  #: how sentences call it: "thrust gain"; from its address where nothing else is said

    def __post_init__(self) -> None:
        """Show in the SI unit where no other is named, and call it by its address where no other words are."""
        object.__setattr__(self, "shown_unit", self.shown_unit or self.unit)
        object.__setattr__(self, "words", self.words or spoken(self.address))

    def inside(self, values: ArrayLike) -> NDArray[np.bool_]:
        """Return which values [unit] lie within the physical bounds, elementwise."""
        x = np.asarray(values, dtype=float)
        above = x > self.low if self.low_open else x >= self.low
        below = x < self.high if self.high_open else x <= self.high
        return np.asarray(above & below)

    def bounds_words(self) -> str:
        """Return the physical bounds as words in the shown unit: "above 0 mm", "between 0 % and 100 %"."""
        low = self.scale.text(self.low, 6)
        high = self.scale.text(self.high, 6)
        if self.high == INFINITY:
            if self.low == -INFINITY:
                return "any number"
            return f"above {low}" if self.low_open else f"{low} or more"
        edges = [edge for edge, is_open in ((low, self.low_open), (high, self.high_open)) if is_open]
        words = f"between {low} and {high}"
        return words if not edges else f"{words}, {' and '.join(edges)} not included"

    @property
    def kind_words(self) -> str:
        """What it is: "an input"."""
        return f"{'a' if self.kind == 'chance' else 'an'} {self.kind}"

    @property
    def scale(self) -> units.Scale:
        """How its values are written for a reader."""
        return units.Scale(self.unit, self.shown_unit)

    def shown(self, value: float, digits: int = 4) -> str:
        """Return a value [unit] as text in the shown unit."""
        return self.scale.text(value, digits)

    def readable(self, *values: float) -> "Quantity":
        """Return it shown in the unit in which the largest of some values [unit] reads well."""
        finite = [abs(value) for value in values if abs(value) < INFINITY]
        return replace(self, shown_unit=self.scale.readable(max(finite, default=0.0)).shown_unit)

    def spoken(self, value: float, digits: int = 3) -> str:
        """Return a value [unit] as a sentence has it: three digits, in a unit that reads well: "1.35 kW"."""
        return self.scale.spoken(value, digits)

    def of_pair(self, pair: str) -> "Quantity":
        """Return this pair-level quantity under its address for one pair."""
        address = (
            self.address.replace("*", pair) if "*" in self.address else f"electrodes.{pair}.{self.address}"
        )
        return replace(self, address=address, words=f"{self.words} of the {pair} pair")


def named(quantities: Mapping[str, Quantity], **common: Any) -> tuple[Quantity, ...]:
    """Return quantities under their addresses, with what all of them have in common."""
    return tuple(replace(item, address=address, **common) for address, item in quantities.items())


uncertain_input = partial(Quantity, kind="input", may_be_uncertain=True)
positive = partial(uncertain_input, low=0.0)
not_negative = partial(uncertain_input, low=0.0, low_open=False)
length = partial(positive, unit="m", shown_unit="mm")
share = partial(not_negative, high=1.0, high_open=False)
factor = partial(not_negative, default=1.0, default_origin="default", constant=True)  # zero switches off


@dataclass(frozen=True)
class Choice:
    """An input that is one of a few words, or a text."""

    address: str
    options: tuple[str, ...]  #: empty where any text is allowed
    sentence: str
    default: str | None = None


@dataclass(frozen=True)
class Named:
    """A fuel, an oxidiser, a seed, a magnet grade or a status: its name and one sentence."""

    name: str
    kind: Kind
    sentence: str


@dataclass(frozen=True)
class PointWarning:
    """A warning that an operating point can carry."""

    code: str
    bit: int  #: its bit in a point's warning word
    title: str
    sentence: str  #: what it means and what to do
