"""The plain engine's stated thrust and flow, held against what the study's chamber could give, and its stage gives."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from explorer.physics.gas import gas_states, phase
from explorer.questions.flight.stage import StageInFlight
from explorer.stage.gas.propellants import composition
from explorer.study.engine import design_of
from explorer.studyfile import Study, StudyError

#: The gas expanded without end, still a gas: what is left in it below is some hundreds of metres per second less [K].
_COLDEST: Final = 300.0
_THINNEST: Final = 100.0  #: [Pa]

#: Ends of the interval that holds 19 scenarios in 20, and how far the engine's speed may lie from the stage's before it
#: is said: friction, a cooled channel and another nozzle explain some per cent.
_ENDS: Final = (0.025, 0.975)
_ROOM: Final = 0.05


@dataclass(frozen=True)
class Exhaust:
    """Effective speeds of the exhaust in vacuum, thrust over flow: the plain engine's, and the stage's own."""

    engine: float  #: at central values [m/s]
    stage: float  #: with the circuit open, at central values [m/s]
    least: float  #: the first over the second, ends of what 19 scenarios in 20 give [-]
    most: float

    @property
    def apart(self) -> bool:
        """Whether they differ by more than what is uncertain, and a channel's losses, explain."""
        return abs(self.engine / self.stage - 1.0) > _ROOM and not self.least <= 1.0 <= self.most


def exhaust(stage: StageInFlight) -> Exhaust:
    """Return both speeds in the phase with the most open throttle, where the engine is nearest to what is stated."""
    own = max(stage.phases, key=lambda each: each.phase.throttle)
    engine, itself = own.engine_thrust / own.engine_flow, own.open_thrust / own.flow
    ratio = (engine / itself)[stage.numbered]
    least, most = np.quantile(ratio, _ENDS) if ratio.size else (np.nan, np.nan)
    return Exhaust(float(engine[0]), float(itself[0]), float(least), float(most))


def fastest_exhaust(study: Study) -> float:
    """Return the speed if all heat of the propellants became speed: complete combustion, no loss, no end of the nozzle.

    The first law alone: the reactants' enthalpy less that of the equilibrium gas at room temperature [m/s].
    """
    propellants, values = design_of(study).propellants, study.central()
    gas = composition(propellants, values)
    ratio, alkali, water = (
        float(x) for x in (values["gas.mixture_ratio"], gas.alkali_fraction, gas.carrier_water_fraction)
    )
    brought = propellants.reactant_enthalpy(ratio, alkali, water)
    elements = propellants.elements(ratio, alkali, water)
    hot_to_cold = np.geomspace(3000.0, _COLDEST, 12)
    states = gas_states(
        phase(propellants.alkali, species=propellants.species),
        elements,
        hot_to_cold,
        np.full(12, _THINNEST),
        electrical=False,
    )
    return float(np.sqrt(2.0 * (float(brought) - states.enthalpy[-1])))


def refuse_impossible_exhaust(study: Study, *, thrust: float, flow: float) -> None:
    """Refuse an engine that would throw its gas out faster than any nozzle could: thrust [N] in vacuum, flow [kg/s]."""
    stated, fastest = thrust / flow, fastest_exhaust(study)
    if stated > fastest:
        raise StudyError(
            f"flight.engine_thrust of {thrust / 1e3:.4g} kN with flight.engine_flow of {flow:.4g} kg/s means an exhaust"
            f" at {stated:.0f} m/s, and all the heat of this study's propellants would give {fastest:.0f} m/s at the"
            " most, without any loss: one of the two is off",
            "flight.engine_thrust",
        )
