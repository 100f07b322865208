"""The demo bench's gas at the pair's start, for checks of layers and cathodes."""

from functools import cache

import numpy as np

from explorer.physics.compounds import FUELS, OXIDIZERS, SEEDS
from explorer.physics.gas import GasState, gas_states, phase
from explorer.physics.propellant import elements_per_kg, gas_composition

CORE_TEMPERATURE = 2655.0  # K
PRESSURE = 1.8e5  # Pa
NOZZLE_LAG = 0.775  # multiplies every equilibrium density


@cache
def _elements() -> dict[str, float]:
    """Ethanol and oxygen 1.95, 1 % of potassium as carbonate in 1.075 times its mass of water, 78 % of it vapour."""
    seed = SEEDS["potassium carbonate"]
    shares = gas_composition(
        mixture_ratio=1.95, seed_fraction=0.01, seed_water=1.075, seed_vaporized=0.7767, seed=seed
    )
    elements = elements_per_kg(
        mixture_ratio=1.95,
        alkali_fraction=shares.alkali_fraction,
        carrier_water_fraction=shares.carrier_water_fraction,
        fuel=FUELS["ethanol"],
        oxidizer=OXIDIZERS["oxygen"],
        seed=seed,
    )
    return {name: float(moles) for name, moles in elements.items()}


def bench_states(temperature: np.ndarray) -> GasState:
    """Equilibrium at falling temperatures [K]."""
    return gas_states(phase("K"), _elements(), temperature, np.full(temperature.size, PRESSURE))
