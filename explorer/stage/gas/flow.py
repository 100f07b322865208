"""The supersonic gas state that carries given fluxes. Compiled."""

from typing import Final, NamedTuple

import numpy as np

from explorer.physics.compiled import compiled
from explorer.stage.columns import CHOKED, NOT_CONVERGED, OK
from explorer.stage.gas.lookup import Gas, thermo
from explorer.stage.gas.relaxation import NO_DRIFT, Drift

_MOST_STEPS: Final[int] = 40
_STEP_TOLERANCE: Final[float] = 2e-6  # Newton is quadratic: the state is then good to about 1e-11


class FlowState(NamedTuple):
    """The unknowns of the march at one place, and the gas state that was last found for them."""

    momentum_flux: float  #: [N] ṁu + pA
    total_enthalpy: float  #: [J/kg] h0
    xi: float  #: [-] ξ = ln T − a ln p
    z: float  #: [-] ln p
    electrons: Drift = NO_DRIFT


class Flow(NamedTuple):
    """The gas at one place."""

    mass_flux: float  #: [kg/(m² s)] ρ u
    xi: float  #: [-] ξ = ln T − a ln p
    z: float  #: [-] ln p
    pressure: float  #: [Pa] p
    velocity: float  #: [m/s] u
    enthalpy: float  #: [J/kg] h


@compiled
def supersonic_flow(gas: Gas, state: FlowState, mass_flow: float, area: float) -> tuple[int, Flow]:
    """The supersonic flow that carries given fluxes through an area, and the outcome.

    Parameters
    ----------
    state : FlowState
        The fluxes, and a first guess of the gas state.
    mass_flow : float
        [kg/s]
    area : float
        [m²]

    Notes
    -----
    Newton on (ξ, z) for h + u²/2 = h0 and p u = ρu (p/ρ), with u from the momentum flux. The Jacobian's determinant
    is positive on the supersonic side only; where Newton's path crosses the sonic line it starts again from a lower
    pressure, from which it climbs without overshooting, and a second crossing means that there is no such state.
    """
    mass_flux, impulse, total_enthalpy = mass_flow / area, state.momentum_flux / area, state.total_enthalpy
    xi, z, p, u, h = state.xi, state.z, np.nan, np.nan, np.nan
    lowered = False
    per_mass_flux = 1.0 / mass_flux
    for _ in range(_MOST_STEPS):
        h, h_xi, h_z, v, v_xi, v_z = thermo(gas, xi, z)
        p = np.exp(z)
        u = (impulse - p) * per_mass_flux
        energy = h + 0.5 * u * u - total_enthalpy
        mass = p * u - mass_flux * v
        j12 = h_z - u * p * per_mass_flux
        j21 = -mass_flux * v_xi
        j22 = p * u - p * p * per_mass_flux - mass_flux * v_z
        determinant = h_xi * j22 - j12 * j21
        if not (determinant > 0.0 and u > 0.0):
            if lowered:
                return CHOKED, Flow(mass_flux, xi, z, p, u, h)
            lowered = True
            z -= 0.7
            for _ in range(8):
                h, h_xi, h_z, v, v_xi, v_z = thermo(gas, xi, z)
                u = (impulse - np.exp(z)) * per_mass_flux
                xi += min(max((total_enthalpy - 0.5 * u * u - h) / h_xi, -0.3), 0.3)
            continue
        per_determinant = 1.0 / determinant
        d_xi = (mass * j12 - energy * j22) * per_determinant
        d_z = (j21 * energy - h_xi * mass) * per_determinant
        if abs(d_z) < _STEP_TOLERANCE and abs(d_xi) < _STEP_TOLERANCE:
            xi += d_xi
            z += d_z
            h += h_xi * d_xi + h_z * d_z
            p *= 1.0 + d_z + 0.5 * d_z * d_z  # exp of so small a step, to rounding
            return OK, Flow(mass_flux, xi, z, p, (impulse - p) * per_mass_flux, h)
        xi += min(max(d_xi, -0.2), 0.2)
        z += min(max(d_z, -0.5), 0.5)
    return NOT_CONVERGED, Flow(mass_flux, xi, z, np.nan, np.nan, np.nan)
