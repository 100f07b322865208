"""Electrons through the nozzle: how far they lag behind as the gas cools, from throat to channel. Compiled.

They leave the throat in equilibrium; behind it the nozzle's area grows evenly along its stated length. The history is
that of the isentrope, with equal steps in ln p, along which the time per step is smooth.
"""

from typing import Final

import numpy as np

from explorer import constants as c
from explorer.physics.compiled import compiled
from explorer.stage.gas.expansion import expanded, throat
from explorer.stage.gas.lookup import Gas, electrical, entropy, temperature, thermo
from explorer.stage.gas.relaxation import (
    AT_END,
    AT_MIDDLE,
    AT_START,
    Relaxation,
    Surroundings,
    after,
    surroundings_at,
)

#: Steps from throat to channel.
STEPS: Final[int] = 4


@compiled
def electrons_on(
    gas: Gas,
    relaxation: Relaxation,
    s: float,
    total_enthalpy: float,
    z: float,
    xi: float,
    nozzle_lag: float,
) -> tuple[float, float, float, Surroundings]:
    """A place on the isentrope: ξ, mass flux [kg/(m² s)], its slope d ln(ρu)/dz, and what electrons drift through.

    Parameters
    ----------
    s, total_enthalpy : float
        [J/(kg K)], [J/kg] of the isentrope.
    z, xi : float
        [-] ln p and a first guess.
    nozzle_lag : float
        [-] multiplies the electrons in equilibrium.
    """
    xi, _, flux, slope, speed_squared = expanded(gas, s, total_enthalpy, z, xi)
    p, u = np.exp(z), np.sqrt(speed_squared)
    _, _, _, pressure_over_density, _, _ = thermo(gas, xi, z)
    sigma, mobility = electrical(gas, xi, z, p)
    equilibrium = sigma / (c.e * mobility) * nozzle_lag
    here = surroundings_at(relaxation, p, temperature(xi, z), p / pressure_over_density, u, equilibrium)
    return xi, np.exp(flux), slope, here


@compiled
def electrons_at_inlet(
    gas: Gas,
    relaxation: Relaxation,
    xi_chamber: float,
    z_chamber: float,
    z_inlet: float,
    length: float,
    nozzle_lag: float,
    steps: int,
) -> tuple[float, float]:
    """Electrons per mass of gas [1/kg] at the channel's inlet, and what of them equilibrium would have there.

    Parameters
    ----------
    xi_chamber, z_chamber : float
        [-] the chamber's state.
    z_inlet : float
        [-] ln of the pressure at the inlet.
    length : float
        [m] from throat to inlet.
    nozzle_lag : float
        [-] multiplies the electrons in equilibrium.
    steps : int
        [-]
    """
    s, _, _ = entropy(gas, xi_chamber, z_chamber)
    enthalpy, _, _, _, _, _ = thermo(gas, xi_chamber, z_chamber)
    xi, z_throat, largest = throat(gas, s, enthalpy, z_chamber - 0.55, xi_chamber)
    dz = (z_inlet - z_throat) / steps
    _, at_inlet, _, _ = electrons_on(gas, relaxation, s, enthalpy, z_inlet, xi, nozzle_lag)
    per_area = length / (1.0 / at_inlet - 1.0 / largest)  # dx/dA, with areas over the mass flow
    xi, _, _, here = electrons_on(gas, relaxation, s, enthalpy, z_throat, xi, nozzle_lag)
    per_mass, time = here.equilibrium / here.density, 0.0
    for n in range(steps):
        per_mass = after(per_mass, here, AT_START * time, 0.0)
        for half, share in ((0.5, AT_MIDDLE), (1.0, AT_END)):
            z = z_throat + (n + half) * dz
            xi, flux, slope, here = electrons_on(gas, relaxation, s, enthalpy, z, xi, nozzle_lag)
            time = -per_area * slope / flux / here.velocity * dz  # of a whole step, at this place's pace
            per_mass = after(per_mass, here, share * time, 0.0)
    return per_mass, here.equilibrium / here.density
