"""What a flight's results are called, and how their figures are written."""

from dataclasses import replace
from typing import Final

from explorer import registry
from explorer.analysis.statistics import Distribution
from explorer.page.words import between, row_words, with_uncertainty
from explorer.questions.flight.figures import Driver
from explorer.questions.flight.flight import Flight, quantity_of
from explorer.registry import Quantity

#: What a phase does, in words.
MODE_WORDS: Final = {
    "acceleration": "power put in",
    "extraction": "power taken out",
    "off": "circuit open",
}

#: What each step from without to with the stage is.
STEP_WORDS: Final = {
    "channel": "the channel in place of the plain nozzle",
    "mass": "the stage's mass",
    "extraction": "power taken out",
    "acceleration": "power put in",
}

#: What the rows of the inputs drive.
DRIVEN: Final = {
    "apogee": "the difference in apogee",
    "payable_mass": "the mass that acceleration pays for",
}

#: Height up to which metres read better than kilometres [m].
_SMALL_HEIGHT: Final = 1000.0


def taken(found: Flight, step: str) -> bool:
    """Return whether a step is part of this flight: one without extraction takes no power out."""
    modes = {phase.mode for phase in found.plan.phases}
    return step not in ("extraction", "acceleration") or step in modes


def amount(name: str, own: Distribution) -> str:
    """Return a quantity's mean with its standard uncertainty: "55.1 ± 3.1 km"."""
    return with_uncertainty(fitting(name, own), own.mean, own.standard_uncertainty)


def ends(name: str, own: Distribution, *, last: str = " and ") -> str:
    """Return the ends of a quantity's 95 % interval: "49 and 61 km"."""
    return between(fitting(name, own), own.low, own.high, own.standard_uncertainty, last=last)


def fitting(name: str, own: Distribution) -> Quantity:
    """Return a quantity in a unit that fits: a small height in metres, not in thousandths of a kilometre."""
    quantity = quantity_of(name)
    small = abs(float(own.mean)) + float(own.standard_uncertainty) < _SMALL_HEIGHT
    return replace(quantity, shown_unit="m") if quantity.shown_unit == "km" and small else quantity


def label(driver: Driver) -> str:
    """Return what a driver is called: what is unknown about an input goes by its words alone."""
    row = driver.row
    return row_words(row.name) if row.part == "scatter" else registry.words_of(row.address)
