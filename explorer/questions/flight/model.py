"""The stage model asked in every phase of a flight and every scenario, and the plain engine beside it.

The stage model is asked in vacuum and at sea level. Its thrust is linear in the ambient pressure in between, for what
flows inside is supersonic and knows nothing of the air: the slope is the exit's area.

The plain engine has the same chamber and throat. In each scenario and phase its thrust follows gas flow ×
characteristic velocity and its flow the mass flow, both over those of the study's central point, at which the engine
is stated: what moves the chamber moves both vehicles alike.
"""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import run
from explorer.physics.atmosphere import standard_atmosphere
from explorer.questions.flight.space import FlightSpace, Scenarios
from explorer.questions.flight.stage import PhaseOfStage, StageInFlight
from explorer.study.engine import reach_of, stage_of
from explorer.study.limits import contact_outputs, contact_told
from explorer.studyfile import Phase, phase_study

FloatArray = NDArray[np.float64]

_SEA_LEVEL: Final = float(standard_atmosphere(0.0).pressure)  #: [Pa]

_FLOWS: Final = ("mass_flow", "gas_flow", "characteristic_velocity")
_STAGE: Final = (*_FLOWS, "thrust", "thrust_open_circuit", "thrust_gain", "electrical_power", "exit_pressure")
_HARDWARE: Final = ("magnet_mass", "yoke_mass", "electrode_mass", "channel_mass")

_CHAMBER: Final = "gas.chamber_pressure"


def stage_in_flight(
    scenarios: Scenarios, *, jobs: int = 1, progress: run.Progress | None = None
) -> StageInFlight:
    """The stage in every phase and scenario."""
    space, size = scenarios.space, scenarios.size
    pressures = _pressures(space)
    reference = _reference(space, pressures, jobs=jobs, progress=progress)
    found: list[PhaseOfStage] = []
    hardware: dict[str, FloatArray] = {}
    for number, phase in enumerate(space.plan.phases):
        told = () if phase.mode == "off" else contact_told(space.phases[number])
        wanted = (*_STAGE, *(_HARDWARE if number == 0 else ()), *contact_outputs(space.phases[number]))
        stage = stage_of(space.phases[number], wanted, samples={_CHAMBER: pressures}, jobs=jobs)
        given = scenarios.of_phase(number)
        pressure = given.get(_CHAMBER, np.full(size, space.study.central()[_CHAMBER]))
        throttled = {**given, _CHAMBER: phase.throttle * pressure}
        twice = {address: np.tile(value, 2) for address, value in throttled.items()}
        points = stage.points({**twice, "ambient.pressure": np.repeat([0.0, _SEA_LEVEL], size)})
        if number == 0:
            off = scenarios.factor("stage_mass")
            hardware = {name: points.quantities[name][:size] * off for name in _HARDWARE}
        found.append(_phase_of_stage(scenarios, phase, points, reference, told))
        if progress:
            progress(number + 1, len(space.plan.phases))
    return StageInFlight(
        tuple(found),
        hardware,
        specific_power=scenarios.of_study("mass.supply_specific_power"),
        specific_energy=scenarios.of_study("mass.store_specific_energy"),
    )


def _pressures(space: FlightSpace) -> FloatArray:
    """Lowest and highest chamber pressure of any phase [Pa]."""
    uncertain = {item.address: item for item in space.study.space.inputs}
    exact = space.study.central()[_CHAMBER]
    low, high = reach_of(uncertain[_CHAMBER]) if _CHAMBER in uncertain else (exact, exact)
    return np.array([min(phase.throttle for phase in space.plan.phases) * low, high])


def _reference(
    space: FlightSpace, pressures: FloatArray, *, jobs: int, progress: run.Progress | None
) -> dict[str, float]:
    """Flows at the study's central point, at which the plain engine is stated."""
    whole = phase_study(space.study, Phase("reference", 0.0, 1.0, "off"))
    stage = stage_of(whole, _FLOWS, samples={_CHAMBER: pressures}, jobs=jobs, progress=progress)
    return {name: float(values[0]) for name, values in stage.points({}).quantities.items()}


def _phase_of_stage(
    scenarios: Scenarios,
    phase: Phase,
    points: run.Evaluated,
    reference: Mapping[str, float],
    told: Sequence[str],
) -> PhaseOfStage:
    """What the stage gives in a phase: its points in vacuum come first, then those at sea level."""
    size = scenarios.size
    found = {name: values[:size] for name, values in points.quantities.items()}
    area = (found["thrust"] - points.quantities["thrust"][size:]) / _SEA_LEVEL
    on = 0.0 if phase.mode == "off" else 1.0
    strength = found["gas_flow"] * found["characteristic_velocity"]
    strength /= reference["gas_flow"] * reference["characteristic_velocity"]
    return PhaseOfStage(
        phase,
        flow=found["mass_flow"],
        engine_flow=scenarios.of_study("flight.engine_flow") * found["mass_flow"] / reference["mass_flow"],
        open_thrust=found["thrust_open_circuit"] * scenarios.factor("thrust_open_circuit"),
        gain=on * found["thrust_gain"] * scenarios.factor("thrust_gain"),
        exit_area=area,
        exit_pressure=found["exit_pressure"],
        power=on * found["electrical_power"] * scenarios.factor("electrical_power"),
        engine_thrust=scenarios.of_study("flight.engine_thrust") * strength,
        outcomes=points.outcomes[:size],
        warnings=points.warnings[:size],
        contacts={pair: found[f"electrodes.{pair}.contact"] for pair in told},
    )
