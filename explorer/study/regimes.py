"""Where a stage changes its regime: thresholds of quantities, what holds on either side, and who says so.

A quantity of several pairs counts by the pair that lies furthest past the border.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.registry import CHANCE
from explorer.run import Evaluated
from explorer.stage.outputs import limits as limit
from explorer.study.contrasts import NOTHING, Cells, Mask, share_of, share_row
from explorer.study.limits import event
from explorer.study.outcomes import FEWEST, NO_CONTACT, fewest

FloatArray = NDArray[np.float64]

#: Difference between two designs' shares past a border from which on their regimes differ [-].
DIFFERS: Final[float] = 0.1

_COMMON: Final = "common practice, no source"
_ORDER: Final = (
    "an order of magnitude, from the momentum equation: σB²L/ρu is force over momentum of the flow"
)


@dataclass(frozen=True)
class Regime:
    """A boundary between two regimes."""

    name: str  #: What the boundary is about
    #: An output, or "chance." and a status or a warning's code: that is then what is found past the
    #: border.
    quantity: str
    #: [SI] the border; of the first design's value with `relative`, and without meaning for a chance.
    threshold: float
    past: str  #: What holds past the border
    sentence: str  #: What it means to cross it
    source: str  #: Who says so
    under: bool = False  #: Whether past the border is below the threshold
    relative: bool = False  #: Whether the threshold is a share of the first design's value
    #: A second output, put together with the quantity by `ratio` to what is held against the border.
    over: str = ""
    #: Quantity and second output [SI] in, what is held against the border out.
    ratio: Callable[[FloatArray, FloatArray], FloatArray] | None = None
    measure: str = ""  #: What that is, in words

    @property
    def is_chance(self) -> bool:
        """Whether it is a status or a warning that is found or not."""
        return self.quantity.startswith(CHANCE)

    def addresses(self, pairs: Sequence[str]) -> tuple[str, ...]:
        """The outputs that it reads of a design."""
        if self.is_chance:
            return ()
        names = [name for name in (self.quantity, self.over) if name]
        every = [of_pair(name, pairs, place) for name in names for place in range(len(pairs))]
        return tuple(dict.fromkeys(every))

    def values(self, found: Evaluated, pairs: Sequence[str]) -> FloatArray:
        """What is held against the border: the quantity [SI] in the pair furthest past it, or 1 for a finding."""
        if self.is_chance:
            return event(found, self.quantity).astype(np.float64)
        each = []
        for place in range(len(pairs)):
            values = found.quantities[of_pair(self.quantity, pairs, place)]
            if self.ratio is not None:
                values = self.ratio(values, found.quantities[of_pair(self.over, pairs, place)])
            each.append(values)
        return np.asarray((np.minimum if self.under else np.maximum).reduce(each))

    def is_past(self, values: FloatArray, first: FloatArray) -> NDArray[np.bool_]:
        """Where a design lies past the border."""
        if self.is_chance:
            return values > 0
        border = self.threshold * (first if self.relative else 1.0)
        return np.asarray(values < border if self.under else values > border)


def of_pair(name: str, pairs: Sequence[str], place: int) -> str:
    """Return the address of an output of one pair, that of the stage where it has but one or the output is its own."""
    if registry.quantity(name).per_pair and len(pairs) > 1:
        return f"electrodes.{pairs[place]}.{name}"
    return name


def _over_drive(drop: FloatArray, load_factor: FloatArray) -> FloatArray:
    """Voltage drop over what drives the current, |V − u B g|, from the drop over the back EMF and V over it."""
    drive = np.abs(load_factor - 1.0)
    return np.asarray(np.divide(drop, drive, out=np.full(np.shape(drop), np.nan), where=drive > 0))


REGIMES: Final[tuple[Regime, ...]] = (
    Regime(
        "contact",
        f"{CHANCE}no_contact",
        0.0,
        "no current flows at all",
        "Without contact there is neither gain nor power, whatever the rest promises.",
        "the voltage against back EMF and voltage drop",
    ),
    Regime(
        "constriction",
        f"{CHANCE}constricted",
        0.0,
        "the discharge constricts into arcs",
        "Arcs bring spots, erosion and unsteady current, and the drop levels off at its plateau.",
        "the study's own arc_voltage",
    ),
    Regime(
        "current density",
        "max_current_density",
        limit.DIFFUSE_LIMIT,
        "more than cold metal bears without arcs",
        "What was learnt of a diffuse discharge does not hold for one that runs in spots.",
        _COMMON,
    ),
    Regime(
        "overheating",
        "overheating_number",
        limit.OVERHEATING_LIMIT,
        "the current heats its own path faster than the flow takes the heat away",
        "A discharge that heats its own path tends to constrict.",
        "an order of magnitude of this model, no source",
    ),
    Regime(
        "Hall field",
        "max_hall_field",
        limit.WALL_FIELD_LIMIT,
        "segments may break down to their neighbours",
        "Finer segments and insulators are needed.",
        "Stanford HTGL, DTIC ADA025949, 1975",
    ),
    Regime(
        "voltage drop",
        "voltage_drop_share",
        0.5,
        "the gas, not the electrodes, takes most of the voltage that drives the current",
        "What is learnt of electrodes on one side of this boundary says little on the other.",
        "the larger of two in series",
        under=True,
        over="load_factor",
        ratio=_over_drive,
        measure="voltage drop over |V − u B g|",
    ),
    Regime(
        "interaction",
        "interaction_parameter",
        0.1,
        "the field changes the flow noticeably",
        "Gas properties along the channel then depend on the current.",
        _ORDER,
    ),
    Regime(
        "strong interaction",
        "interaction_parameter",
        1.0,
        "the field is as strong as the flow",
        "Forces of the flow's own size choke it, part it from the walls or bend it.",
        _ORDER,
    ),
    Regime(
        "wall heat",
        "wall_heat_share",
        0.5,
        "the walls take less than half the first design's share of the jet's power",
        "A core that the walls cool less stays hotter and conducts better downstream.",
        "half, chosen here",
        under=True,
        relative=True,
    ),
    Regime(
        "separation",
        f"{CHANCE}separation",
        0.0,
        "the flow likely parts from the exit's wall",
        "Thrust computed for a full exit is then wrong.",
        _COMMON,
    ),
)


def bordered(pairs: Sequence[str]) -> tuple[str, ...]:
    """The outputs that all borders read of a design."""
    return tuple(dict.fromkeys(address for regime in REGIMES for address in regime.addresses(pairs)))


class BorderSide(NamedTuple):
    """On which side of a border a design lies; NaN where too few points tell."""

    share: Estimate  #: of firings past it [-]
    value: float  #: mean of what is held against it [SI]
    standard_uncertainty: float  #: of that [SI]

    @property
    def is_told(self) -> bool:
        """Whether enough points tell."""
        return math.isfinite(float(self.share))

    def row(self) -> Cells:
        """As a row of a table."""
        spread = {"value": self.value, "standard_uncertainty": self.standard_uncertainty}
        return {**spread, **share_row(self.share)}


def side_of(past: Mask, keep: Mask, values: FloatArray | None) -> BorderSide:
    """On which side the points that count lie."""
    if fewest(keep) < FEWEST:
        return BorderSide(NOTHING, np.nan, np.nan)
    held = np.array([np.nan]) if values is None else values[keep & np.isfinite(values)]
    return BorderSide(share_of(past, keep), float(held.mean()), float(held.std()))


def side_of_regime(regime: Regime, found: Evaluated, pairs: Sequence[str], first: FloatArray) -> BorderSide:
    """On which side of a border between regimes a design lies; `first` is what the first one holds against it."""
    values = regime.values(found, pairs)
    keep = np.isfinite(values) & (found.outcomes <= NO_CONTACT)
    if regime.relative:
        keep &= np.isfinite(first)
    return side_of(regime.is_past(values, first), keep, values)


def sides_of(found: Sequence[Evaluated], pairs: Sequence[Sequence[str]]) -> tuple[dict[str, BorderSide], ...]:
    """On which side of each border, by its name, designs lie."""
    each: tuple[dict[str, BorderSide], ...] = tuple({} for _ in found)
    for regime in REGIMES:
        first = regime.values(found[0], pairs[0])
        for sides, own, its in zip(each, found, pairs, strict=True):
            sides[regime.name] = side_of_regime(regime, own, its, first)
    return each


def parting(sides: Sequence[Mapping[str, BorderSide]]) -> tuple[Regime, ...]:
    """The borders that part designs from each other."""

    def spread(name: str) -> float:
        return float(np.ptp([float(own[name].share) for own in sides]))

    return tuple(regime for regime in REGIMES if spread(regime.name) >= DIFFERS)
