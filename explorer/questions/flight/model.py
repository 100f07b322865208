"""The stage model asked in every phase of a flight and every scenario, and the plain engine beside it.

The stage model is asked in vacuum and at sea level. Its thrust is linear in the ambient pressure in between, for what
flows inside is supersonic and knows nothing of the air: the slope is the exit's area.

The plain engine has the same chamber and throat. In each scenario and phase its thrust follows gas flow ×
characteristic velocity and its flow the mass flow, both over those of the study's central point, at which the engine
is stated: what moves the chamber moves both vehicles alike.
"""

from collections.abc import Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer import run
from explorer.physics.atmosphere import standard_atmosphere
from explorer.questions.flight.space import FlightSpace
from explorer.questions.flight.stage import PhaseOfStage, StageInFlight
from explorer.study.engine import reach_of, stage_of
from explorer.studyfile import Phase, phase_study

FloatArray = NDArray[np.float64]

_SEA_LEVEL: Final = float(standard_atmosphere(0.0).pressure)  #: [Pa]

_FLOWS: Final = ("mass_flow", "gas_flow", "characteristic_velocity")
_STAGE: Final = (*_FLOWS, "thrust", "thrust_open_circuit", "thrust_gain", "electrical_power", "exit_pressure")
_HARDWARE: Final = ("magnet_mass", "yoke_mass", "electrode_mass", "channel_mass")

_CHAMBER: Final = "gas.chamber_pressure"


def stage_in_flight(
    space: FlightSpace,
    scenarios: Mapping[str, FloatArray],
    size: int,
    *,
    jobs: int = 1,
    progress: run.Progress | None = None,
) -> StageInFlight:
    """The stage in every phase and scenario."""
    pressures = _pressures(space)
    reference = _reference(space, pressures, jobs=jobs, progress=progress)
    found: list[PhaseOfStage] = []
    hardware: dict[str, FloatArray] = {}
    for number, phase in enumerate(space.plan.phases):
        wanted = (*_STAGE, *_HARDWARE) if number == 0 else _STAGE
        stage = stage_of(space.phases[number], wanted, samples={_CHAMBER: pressures}, jobs=jobs)
        given = _points_of(space, number, scenarios, size)
        points = stage.points(
            {address: np.tile(value, 2) for address, value in given.items()} | _ambient(size)
        )
        if number == 0:
            off = space.factor("stage_mass", scenarios)
            hardware = {name: points.quantities[name][:size] * off for name in _HARDWARE}
        found.append(_phase_of_stage(space, phase, points, reference, scenarios))
        if progress:
            progress(number + 1, len(space.plan.phases))
    weighs = {
        key: np.broadcast_to(np.asarray(scenarios.get(key, space.study.exact.get(key))), (size,))
        for key in ("mass.supply_specific_power", "mass.store_specific_energy")
    }
    return StageInFlight(
        tuple(found), hardware, weighs["mass.supply_specific_power"], weighs["mass.store_specific_energy"]
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


def _points_of(
    space: FlightSpace, number: int, scenarios: Mapping[str, FloatArray], size: int
) -> dict[str, FloatArray]:
    """Inputs of the stage in a phase, throttled."""
    given = space.of_phase(number, scenarios)
    pressure = given.get(_CHAMBER, np.full(size, space.study.central()[_CHAMBER]))
    return {**given, _CHAMBER: space.plan.phases[number].throttle * pressure}


def _ambient(size: int) -> dict[str, FloatArray]:
    """Vacuum for the first half of the points, sea level for the second."""
    return {"ambient.pressure": np.repeat([0.0, _SEA_LEVEL], size)}


def _phase_of_stage(
    space: FlightSpace,
    phase: Phase,
    points: run.Evaluated,
    reference: Mapping[str, float],
    scenarios: Mapping[str, FloatArray],
) -> PhaseOfStage:
    size = points.outcomes.size // 2
    found = {name: values[:size] for name, values in points.quantities.items()}
    area = (found["thrust"] - points.quantities["thrust"][size:]) / _SEA_LEVEL
    on = 0.0 if phase.mode == "off" else 1.0
    strength = found["gas_flow"] * found["characteristic_velocity"]
    strength /= reference["gas_flow"] * reference["characteristic_velocity"]
    return PhaseOfStage(
        phase,
        flow=found["mass_flow"],
        engine_flow=space.of_vehicle("flight.engine_flow", scenarios, size)
        * found["mass_flow"]
        / reference["mass_flow"],
        open_thrust=found["thrust_open_circuit"] * space.factor("thrust_open_circuit", scenarios),
        gain=on * found["thrust_gain"] * space.factor("thrust_gain", scenarios),
        exit_area=area,
        exit_pressure=found["exit_pressure"],
        power=on * found["electrical_power"] * space.factor("electrical_power", scenarios),
        engine_thrust=space.of_vehicle("flight.engine_thrust", scenarios, size) * strength,
        outcomes=points.outcomes[:size],
        warnings=points.warnings[:size],
    )
