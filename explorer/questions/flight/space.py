"""Everything uncertain about a flight in one space: stage, vehicle, what a phase sets anew, the model's own errors.

A scenario is one point of that space. What a phase doesn't set is the same in every phase, and the same with and
without the stage.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.space import InputSpace, Uncertain
from explorer.study.model_error import MODEL_ITSELF, model_error, variance_of
from explorer.studyfile import FlightPlan, Study, StudyError, phase_study

FloatArray = NDArray[np.float64]

#: Outputs whose own error of the model a flight carries. That of `stage_mass` is put on its hardware: supply and store
#: follow the power.
ERRORS_OF: Final = ("thrust_open_circuit", "thrust_gain", "electrical_power", "stage_mass")

#: Inputs of a study that the ascent sets itself.
_SET: Final = ("ambient.pressure", "ambient.altitude")


@dataclass(frozen=True)
class FlightSpace:
    """The space of a flight."""

    study: Study
    plan: FlightPlan
    phases: tuple[Study, ...]  #: The stage in each phase, in vacuum
    space: InputSpace  #: Its rows are the columns of the unit cube

    def scenarios(self, cube: FloatArray) -> "Scenarios":
        """The central scenario, in which the model is right, and one at each point of the unit cube."""
        central = self.space.central()
        drawn = {
            name: np.concatenate([[central[name]], values])
            for name, values in self.space.values(cube).items()
        }
        return Scenarios(self, drawn, 1 + len(cube))


@dataclass(frozen=True)
class Scenarios:
    """What holds in scenarios, the central one first."""

    space: FlightSpace
    drawn: Mapping[str, FloatArray]  #: What is uncertain [SI] by name
    size: int  #: How many [-]

    def of_phase(self, number: int) -> dict[str, FloatArray]:
        """What is uncertain about the stage in one phase [SI], by its own addresses."""
        name = self.space.plan.phases[number].name
        own = {address: own_name(name, address) for address in self.space.phases[number].space.central()}
        return {address: self.drawn[anew if anew in self.drawn else address] for address, anew in own.items()}

    def of_study(self, address: str) -> FloatArray:
        """A value of the study, or of its [flight] [SI]."""
        if address in self.drawn:
            return self.drawn[address]
        return np.full(self.size, {**self.space.study.exact, **self.space.plan.values}[address])

    def factor(self, quantity: str) -> FloatArray | float:
        """Factor [-] by which the model may be off on a quantity; 1 where no error is stated or assumed."""
        return self.drawn.get(error_name(quantity), 1.0)


def own_name(phase: str, address: str) -> str:
    """Return what an input is called that a phase sets anew."""
    return f"{phase}: {address}"


def flight_space(study: Study) -> FlightSpace:
    """The space of a study's flight."""
    plan = study.flight
    if plan is None:
        raise StudyError(
            'this study has no flight: add a table [flight] (see "mhdstage explain flight.vehicle_mass")'
        )
    central = study.central()
    if study.choices["magnet.kind"] != "blocks" and "mass.magnet" not in central:
        raise StudyError(
            'missing key "mass.magnet": a flight carries the magnet, and nobody has said what it weighs'
        )
    phases = tuple(phase_study(study, phase) for phase in plan.phases)
    own: list[Uncertain] = []
    carried = {item.address for item in study.space.inputs if item.address.startswith("mass.")}
    for phase, stage in zip(plan.phases, phases, strict=True):
        for item in stage.space.inputs:
            if item.address in phase.settings:
                own.append(replace(item, address=own_name(phase.name, item.address)))
            else:
                carried.add(item.address)
    idle = [
        item.address for item in study.space.inputs if item.address not in carried or item.address in _SET
    ]
    stated = study.space.without(idle)
    vehicle = [value for value in plan.values.values() if isinstance(value, Uncertain)]
    space = InputSpace((*stated.inputs, *vehicle, *own, *_errors(study)), stated.correlations)
    return FlightSpace(study, plan, phases, space)


def _errors(study: Study) -> list[Uncertain]:
    """The model's own errors as factors of median 1."""
    return [
        row
        for quantity in ERRORS_OF
        for row in model_error(error_name(quantity), variance_of(study.model_error.of(quantity).relative))
    ]


def error_name(quantity: str) -> str:
    """What the row of the model's own error of a quantity is called."""
    return f"{MODEL_ITSELF}: {quantity}"
