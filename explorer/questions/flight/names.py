"""What a flight's results are called, and how their figures are written."""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer.page.words import between, with_uncertainty
from explorer.questions.flight.flight import Flight
from explorer.registry import Quantity
from explorer.registry.flight_quantities import FLIGHT_OUTPUTS
from explorer.studyfile import FlightPlan, Study

Figures = Mapping[str, Any]

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

#: Height up to which metres read better than kilometres [m].
_SMALL_HEIGHT: Final = 1000.0

_OUTPUTS: Final = {quantity.address: quantity for quantity in FLIGHT_OUTPUTS}


def quantity_of(name: str) -> Quantity:
    """Return what the registry says about a result of a flight, or of the stage."""
    return _OUTPUTS[name] if name in _OUTPUTS else registry.quantity(name)


def plan_of(study: Study) -> FlightPlan:
    """Return a study's flight."""
    if study.flight is None:
        raise ValueError("the study has no flight")
    return study.flight


def figures_of(table: pd.DataFrame, *place: str) -> dict[str, Any]:
    """Return the figures of one quantity as a plain mapping."""
    row = table.loc[place[0]] if len(place) == 1 else table.loc[place[0]][place[1]]
    return {str(name): value for name, value in row.items()}


def is_told(row: Figures) -> bool:
    """Return whether figures could be told from enough scenarios."""
    return not math.isnan(row["mean"])


def taken(found: Flight, step: str) -> bool:
    """Return whether a step is part of this flight: one without extraction takes no power out."""
    modes = {phase.mode for phase in plan_of(found.study).phases}
    return step not in ("extraction", "acceleration") or step in modes


def amount(name: str, found: Figures) -> str:
    """Return a quantity's mean with its standard uncertainty: "55.1 ± 3.1 km"."""
    return with_uncertainty(fitting(name, found), found["mean"], found["standard_uncertainty"])


def ends(name: str, found: Figures, *, last: str = " and ") -> str:
    """Return the ends of a quantity's 95 % interval: "49 and 61 km"."""
    quantity = fitting(name, found)
    return between(quantity, found["low"], found["high"], found["standard_uncertainty"], last=last)


def fitting(name: str, found: Figures) -> Quantity:
    """Return a quantity in a unit that fits: a small height in metres, not in thousandths of a kilometre."""
    quantity = quantity_of(name)
    small = abs(found["mean"]) + found["standard_uncertainty"] < _SMALL_HEIGHT
    return replace(quantity, shown_unit="m") if quantity.shown_unit == "km" and small else quantity


def label(row: Mapping[Any, Any]) -> str:
    """Return what a row of the drivers is called."""
    return f"{row['address']}{' (scatter)' if row['part'] == 'scatter' else ''}"
