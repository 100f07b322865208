"""Isentropic expansion of the equilibrium gas: chamber, throat, nozzle, exit. Compiled, one point at a time.

The chamber's temperature is where the characteristic velocity falls to the stated share of its adiabatic value; the
nozzle is isentropic with equilibrium composition (MODEL.md, sections 1 and 5). A state that does not exist is a status,
not an exception. States are ξ and z as in `lookup`.
"""

from typing import Final

import numpy as np

from explorer.physics.compiled import compiled
from explorer.stage.gas.lookup import Gas, entropy, thermo

#: Tolerance of ln c* in the chamber's root.
TOLERANCE: Final[float] = 1e-9
_MOST_STEPS: Final[int] = 40

#: A Newton step shorter than this leaves an error of its square.
_QUADRATIC: Final[float] = 1e-6


@compiled
def xi_of_enthalpy(gas: Gas, enthalpy: float, z: float, xi: float) -> float:
    """ξ [-] at which the gas has an enthalpy [J/kg] at ln p = z, NaN if Newton's method does not settle.

    Parameters
    ----------
    xi : float
        [-] first guess.
    """
    for _ in range(_MOST_STEPS):
        h, h_xi, _, _, _, _ = thermo(gas, xi, z)
        step = (enthalpy - h) / h_xi
        step = min(max(step, -0.3), 0.3)
        xi += step
        if abs(step) < _QUADRATIC:
            return xi
    return np.nan


@compiled
def expanded(
    gas: Gas, s: float, total_enthalpy: float, z: float, xi: float
) -> tuple[float, float, float, float, float]:
    """A state on an isentrope: ξ and its slope dξ/dz, ln of the mass flux and its slope, velocity squared.

    Parameters
    ----------
    s : float
        [J/(kg K)] the isentrope.
    total_enthalpy : float
        [J/kg]
    z, xi : float
        [-] ln p and a first guess.

    Returns
    -------
    tuple of float
        ξ, dξ/dz [-], ln ρu [ln kg/(m² s)], d ln(ρu)/dz [-], u² [m²/s²]. NaN if Newton's method does not settle;
        u² may be negative, where the flux means nothing.
    """
    for _ in range(_MOST_STEPS):
        value, s_xi, s_z = entropy(gas, xi, z)
        step = min(max((s - value) / s_xi, -0.3), 0.3)
        xi += step
        if abs(step) < _QUADRATIC:
            break
    else:
        xi = np.nan
    h, h_xi, h_z, v, v_xi, v_z = thermo(gas, xi, z)
    dxi = -s_z / s_xi
    speed_squared = 2.0 * (total_enthalpy - h)
    slope = 1.0 - (v_xi * dxi + v_z) / v - (h_xi * dxi + h_z) / speed_squared
    flux = z - np.log(v) + 0.5 * np.log(max(speed_squared, 1e-300))
    return xi, dxi, flux, slope, speed_squared


@compiled
def throat(gas: Gas, s: float, total_enthalpy: float, z: float, xi: float) -> tuple[float, float, float]:
    """The state of largest mass flux on an isentrope.

    Parameters
    ----------
    s : float
        [J/(kg K)]
    total_enthalpy : float
        [J/kg]
    z, xi : float
        [-] first guess.

    Returns
    -------
    tuple of float
        ξ [-], z [-], largest ρu [kg/(m² s)]; NaN if not found.
    """
    z_before, g_before, largest = np.nan, np.nan, np.nan
    for _ in range(_MOST_STEPS):
        xi, dxi, flux, slope, speed_squared = expanded(gas, s, total_enthalpy, z, xi)
        g = slope * speed_squared  # smooth and nearly linear in z, with the root at the throat
        if np.isnan(z_before):
            step = slope / 1.8  # dg/dz ≈ −2 p/ρ ≈ −1.8 u² there
        elif g == g_before:
            step = 0.0
        else:
            step = -g * (z - z_before) / (g - g_before)
        step = min(max(step, -0.3), 0.3)
        z_before, g_before = z, g
        z += step
        xi += dxi * step
        largest = flux + 0.5 * slope * step
        if abs(step) < 1e-5:  # the flux is flat here: what is left is the square of this
            break
    return xi, z, np.exp(largest)


@compiled
def chamber(
    gas: Gas, enthalpy: float, z: float, efficiency: float, xi: float
) -> tuple[float, float, float, float, float, float]:
    """Chamber state and throat where the characteristic velocity falls short of the adiabatic one by lost heat.

    Parameters
    ----------
    enthalpy : float
        [J/kg] of the reactants.
    z : float
        [-] ln of the chamber pressure.
    efficiency : float
        [-] c*_h/c*_ad, in (0, 1].
    xi : float
        [-] first guess of the adiabatic flame.

    Returns
    -------
    tuple of float
        ξ of the adiabatic flame, ξ of the chamber, ξ and z of the throat [-], largest ρu [kg/(m² s)],
        characteristic velocity [m/s]; NaN where not found.
    """
    xi_adiabatic = xi_of_enthalpy(gas, enthalpy, z, xi)
    s, _, _ = entropy(gas, xi_adiabatic, z)
    xi_t, z_t, flux = throat(gas, s, enthalpy, z - 0.55, xi_adiabatic)
    c_adiabatic = np.exp(z) / flux
    xi_c = xi_adiabatic
    c_star = c_adiabatic
    if efficiency == 1.0:
        return xi_adiabatic, xi_c, xi_t, z_t, flux, c_star
    target = np.log(efficiency)
    at, value, slope = xi_adiabatic, 0.0, 0.55  # d ln c*/d ln T of a dissociating gas, the first guess
    for _ in range(_MOST_STEPS):
        xi_c = at + min(max((target - value) / slope, -0.3), 0.3)
        s, _, _ = entropy(gas, xi_c, z)
        h, _, _, _, _, _ = thermo(gas, xi_c, z)
        xi_t, z_t, flux = throat(gas, s, h, z_t, xi_t + xi_c - at)
        c_star = np.exp(z) / flux
        now = np.log(c_star / c_adiabatic)
        if abs(now - target) < TOLERANCE:
            return xi_adiabatic, xi_c, xi_t, z_t, flux, c_star
        if xi_c != at:
            slope = (now - value) / (xi_c - at)
        at, value = xi_c, now
    return xi_adiabatic, np.nan, np.nan, np.nan, np.nan, np.nan


@compiled
def heated_chamber(gas: Gas, z: float, xi: float) -> tuple[float, float, float, float, float, float]:
    """Chamber and throat of a gas that is heated to a stated state, in the order of `chamber`: twice that state.

    Parameters
    ----------
    z, xi : float
        [-] the chamber's state.
    """
    s, _, _ = entropy(gas, xi, z)
    h, _, _, _, _, _ = thermo(gas, xi, z)
    xi_t, z_t, flux = throat(gas, s, h, z - 0.55, xi)
    return xi, xi, xi_t, z_t, flux, np.exp(z) / flux


@compiled
def supersonic(
    gas: Gas, s: float, total_enthalpy: float, flux: float, z: float, xi: float
) -> tuple[float, float, float]:
    """The supersonic state on an isentrope that carries a mass flux.

    Parameters
    ----------
    s : float
        [J/(kg K)]
    total_enthalpy : float
        [J/kg]
    flux : float
        [kg/(m² s)] ρu wanted.
    z, xi : float
        [-] first guess.

    Returns
    -------
    tuple of float
        ξ [-], z [-], velocity [m/s]; NaN where there is no supersonic state.

    Notes
    -----
    ln ρu is concave in ln p: from the low-pressure side Newton's method climbs to the root without overshooting,
    so a slope that is no longer positive means that the state does not exist.
    """
    target = np.log(flux)
    lowered = False
    for _ in range(_MOST_STEPS):
        xi, dxi, value, slope, speed_squared = expanded(gas, s, total_enthalpy, z, xi)
        if not (slope > 1e-6 and speed_squared > 0.0):
            if lowered or np.isnan(xi):
                return np.nan, np.nan, np.nan
            z -= 1.5
            xi -= 1.5 * dxi
            lowered = True
            continue
        step = (target - value) / slope
        step = min(max(step, -1.0), 1.0)
        z += step
        xi += dxi * step
        if abs(step) < _QUADRATIC:
            h, _, _, _, _, _ = thermo(gas, xi, z)
            return xi, z, np.sqrt(2.0 * (total_enthalpy - h))
    return np.nan, np.nan, np.nan


@compiled
def exit_state(
    gas: Gas, total_enthalpy: float, xi: float, z: float, velocity: float, flux: float, area_ratio: float
) -> tuple[float, float, float]:
    """State behind the exit nozzle: isentropic from the channel's outlet.

    Parameters
    ----------
    total_enthalpy : float
        [J/kg] at the outlet.
    xi, z : float
        [-] state at the outlet.
    velocity : float
        [m/s] at the outlet.
    flux : float
        [kg/(m² s)] ρu at the outlet.
    area_ratio : float
        [-] exit area over outlet area.

    Returns
    -------
    tuple of float
        ξ [-], z [-], velocity [m/s]; NaN where there is no supersonic state.
    """
    if area_ratio == 1.0:
        return xi, z, velocity
    s, _, _ = entropy(gas, xi, z)
    return supersonic(
        gas,
        s=s,
        total_enthalpy=total_enthalpy,
        flux=flux / area_ratio,
        z=z - 1.2 * np.log(area_ratio),
        xi=xi,
    )


@compiled
def mach_number(gas: Gas, xi: float, z: float, velocity: float) -> float:
    """Velocity [m/s] over the equilibrium speed of sound [-]."""
    _, h_xi, h_z, v, v_xi, v_z = thermo(gas, xi, z)
    dxi = (v - h_z) / h_xi  # along the isentrope dh = v dz, for v dp = (p/ρ) dz
    return float(velocity * np.sqrt((1.0 - (v_xi * dxi + v_z) / v) / v))
