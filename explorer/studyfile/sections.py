"""What a study says besides its inputs: target, search, instruments, measurements, model error, decision."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

from explorer import registry

#: Share of the variance of the model's error that bench and flight have in common; assumed, no source.
SHARED_MODEL_ERROR: Final[float] = 0.5

#: Chance with which a limit must hold where the study names none; assumed, no source.
CHANCE_OF_LIMIT: Final[float] = 0.9

#: In front of a status or a warning: "chance.constricted" is the chance of a constricted discharge.
CHANCE: Final = "chance."


@dataclass(frozen=True)
class Target:
    """The quantity that a study is about, and what is required of it."""

    quantity: str
    at_least: float | None = None  #: [SI]
    at_most: float | None = None
    chance: float = 0.5  #: with which the requirement is to be met

    @property
    def has_requirement(self) -> bool:
        """Whether anything is required."""
        return self.at_least is not None or self.at_most is not None


@dataclass(frozen=True)
class Varied:
    """An input that a search may change: anywhere in a range, or one of what is in stock."""

    address: str
    low: float | None = None  #: ends of the range [SI]; None with a stock
    high: float | None = None
    stock: tuple[object, ...] = ()  #: as written; empty with a range
    values: tuple[float | str, ...] = ()  #: the stock in SI, or its words

    @property
    def is_word(self) -> bool:
        """Whether it is a choice among words, such as a magnet grade."""
        return bool(self.values) and isinstance(self.values[0], str)


@dataclass(frozen=True)
class Wish:
    """What a search makes as small or as large as the limits allow."""

    quantity: str  #: a result, or "chance." and a status or a warning's code
    make: Literal["smallest", "largest"]


@dataclass(frozen=True)
class Limit:
    """What a design must keep to: a result with a chance, or the chance of a status or a warning itself."""

    quantity: str  #: a result, or "chance." and a status or a warning's code
    at_least: float | None = None  #: [SI]
    at_most: float | None = None
    chance: float | None = CHANCE_OF_LIMIT  #: with which it must hold; None where `quantity` is a chance
    chance_origin: str = field(default="assumed", compare=False)  #: "yours" or "assumed"

    @property
    def event(self) -> str | None:
        """The status or warning whose chance is limited, None where a result is."""
        return self.quantity.removeprefix(CHANCE) if self.quantity.startswith(CHANCE) else None


@dataclass(frozen=True)
class Run:
    """How a run is numbered."""

    random_number: int = 1


@dataclass(frozen=True)
class Amount:
    """A standard uncertainty with an absolute and a relative part."""

    absolute: float = 0.0  #: [SI]
    relative: float = 0.0  #: of the value [-]

    def at(self, value: float) -> float:
        """Return the standard uncertainty at a value [SI]."""
        return math.hypot(self.absolute, self.relative * value)


@dataclass(frozen=True)
class Reading:
    """What one reading is worth: `random` falls with repeats, `common` does not."""

    random: Amount
    common: Amount = field(default_factory=Amount)
    instrument: str | None = None


@dataclass(frozen=True)
class Instrument:
    """A sensor that reads an output in a firing."""

    name: str
    reads: str
    random: Amount
    common: Amount
    rate: float | None = None  #: samples per second [Hz]
    bandwidth: float | None = None  #: [Hz]
    range: tuple[float, float] | None = None  #: [SI]


@dataclass(frozen=True)
class Setup:
    """Something that is put up once for several measurements."""

    name: str
    hours: float


@dataclass(frozen=True)
class Measurement:
    """A test that could be made before the next firing."""

    name: str
    hours: float
    pins: Mapping[str, Reading] = field(default_factory=dict)
    observes: Mapping[str, Reading] = field(default_factory=dict)
    settings: Mapping[str, float] = field(default_factory=dict)  #: [SI]
    setup: str | None = None
    repeats: int = 1


@dataclass(frozen=True)
class Decision:
    """What a right or wrong verdict is worth, in `unit`."""

    gain_if_met: float
    loss_if_not: float
    cost_per_hour: float = 0.0
    unit: str = ""
    hours: float | None = None


@dataclass(frozen=True)
class ErrorOfModel:
    """Relative standard uncertainty of the model for one output, and who says so."""

    relative: float
    origin: str  #: "yours" or "assumed"


@dataclass(frozen=True)
class ModelError:
    """How far the model itself may be off, output by output."""

    relative: Mapping[str, float] = field(default_factory=dict)
    shared: float = SHARED_MODEL_ERROR  #: share of the variance common to every study on this model [-]
    shared_origin: str = "assumed"

    def of(self, quantity: str) -> ErrorOfModel:
        """Return the model's error for an output; a pair's falls back on the top-level output's."""
        top_level = quantity.rpartition(".")[2]
        for address in (quantity, top_level):
            if address in self.relative:
                return ErrorOfModel(self.relative[address], "yours")
        return ErrorOfModel(registry.quantity(quantity).model_error, "assumed")
