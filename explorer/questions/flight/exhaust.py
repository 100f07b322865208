"""The plain engine's stated thrust and flow, held against what the study's own chamber could give at the most."""

from typing import Final

import numpy as np

from explorer.physics import propellant
from explorer.physics.gas import gas_states, phase
from explorer.stage.gas.propellants import composition
from explorer.study.engine import design_of
from explorer.studyfile import Study, StudyError

#: The gas expanded without end, still a gas: what is left in it below is some hundreds of metres per second less [K].
_COLDEST: Final = 300.0
_THINNEST: Final = 100.0  #: [Pa]


def fastest_exhaust(study: Study) -> float:
    """Return the speed if all heat of the propellants became speed: complete combustion, no loss, no end of the nozzle.

    The first law alone: the reactants' enthalpy less that of the equilibrium gas at room temperature [m/s].
    """
    propellants, values = design_of(study).propellants, study.central()
    gas = composition(propellants, values)
    ratio, alkali, water = (
        float(x) for x in (values["gas.mixture_ratio"], gas.alkali_fraction, gas.carrier_water_fraction)
    )
    brought = propellant.reactant_enthalpy(
        mixture_ratio=ratio,
        alkali_fraction=alkali,
        carrier_water_fraction=water,
        fuel=propellants.fuel,
        oxidizer=propellants.oxidizer,
        seed=propellants.seed,
    )
    elements = propellants.elements(ratio, alkali, water)
    hot_to_cold = np.geomspace(3000.0, _COLDEST, 12)
    states = gas_states(
        phase(propellants.alkali), elements, hot_to_cold, np.full(12, _THINNEST), electrical=False
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
