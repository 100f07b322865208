"""The supersonic gas state that carries given fluxes, and the magnetic field at a place. Compiled."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.lookup import Gas, thermo
from explorer.stage.spline import cell, weights
from explorer.stage.stations import CHOKED, NOT_CONVERGED, OK

_MOST_STEPS: Final[int] = 40
_STEP_TOLERANCE: Final[float] = 2e-6  # Newton is quadratic: the state is then good to about 1e-11


@compiled
def field_at(field: NDArray[np.float64], place: float) -> float:
    """Magnetic field at a place of the channel.

    Parameters
    ----------
    field : NDArray
        [T] one value, or B-spline coefficients on a uniform grid from inlet to outlet.
    place : float
        [-] x/length.

    Returns
    -------
    float
        [T]
    """
    if field.size == 1:
        return float(field[0])
    cells = field.size - 3
    i, t = cell(place * cells, cells)
    w0, w1, w2, w3 = weights(t)
    return float(w0 * field[i] + w1 * field[i + 1] + w2 * field[i + 2] + w3 * field[i + 3])


@compiled
def supersonic_state(
    gas: Gas, mass_flux: float, impulse: float, total_enthalpy: float, xi: float, z: float
) -> tuple[int, float, float, float, float, float]:
    """The supersonic gas state that carries given fluxes per area.

    Parameters
    ----------
    gas : Gas
        Of the point.
    mass_flux : float
        [kg/(m² s)] ρu.
    impulse : float
        [Pa] ρu² + p.
    total_enthalpy : float
        [J/kg]
    xi, z : float
        [-] first guess.

    Returns
    -------
    tuple
        Outcome, ξ, z [-], p [Pa], u [m/s], h [J/kg].

    Notes
    -----
    Newton on (ξ, z) for h + u²/2 = h0 and p u = ρu (p/ρ) with u = (impulse − p)/(ρu). The Jacobian's determinant is
    positive on the supersonic side only; where Newton's path crosses the sonic line it starts again from a lower
    pressure, from which it climbs without overshooting, and a second crossing means that there is no such state.
    """
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
                return CHOKED, xi, z, p, u, h
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
            return OK, xi, z, p, (impulse - p) * per_mass_flux, h
        xi += min(max(d_xi, -0.2), 0.2)
        z += min(max(d_z, -0.5), 0.5)
    return NOT_CONVERGED, xi, z, np.nan, np.nan, np.nan
