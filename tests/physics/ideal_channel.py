"""Closed forms that an engineer checks a channel with: what the full march must come back to in its limits.

Signs as everywhere: a positive current density pushes the gas forward; a generator's is negative, and the
power that it delivers is positive. All functions take numbers or arrays and broadcast.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def _floats(*values: ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(np.asarray(value, dtype=np.float64) for value in values)


def back_emf(*, velocity: ArrayLike, field: ArrayLike, gap: ArrayLike) -> FloatArray:
    """Return u B g: what the moving gas holds against a supply, a generator's open-circuit voltage. [V]

    Parameters
    ----------
    velocity : array_like
        Gas velocity. [m/s]
    field : array_like
        Magnetic field. [T]
    gap : array_like
        Distance between the electrodes. [m]
    """
    u, B, g = _floats(velocity, field, gap)
    return np.asarray(u * B * g)


def internal_resistance(
    *, gap: ArrayLike, electrode_area: ArrayLike, effective_conductivity: ArrayLike
) -> FloatArray:
    """Return the resistance of the gas between a pair of electrodes. [ohm]

    Parameters
    ----------
    gap : array_like
        Distance between the electrodes. [m]
    electrode_area : array_like
        Area of one electrode. [m²]
    effective_conductivity : array_like
        Electrical conductivity along the electric field. [S/m]
    """
    g, area, sigma = _floats(gap, electrode_area, effective_conductivity)
    return np.asarray(g / (sigma * area))


def maximum_power(*, open_circuit_voltage: ArrayLike, resistance: ArrayLike) -> FloatArray:
    """Return the most power that a source delivers, into a load of its own resistance. [W]

    Parameters
    ----------
    open_circuit_voltage : array_like
        Voltage without a load. [V]
    resistance : array_like
        Internal resistance. [ohm]
    """
    V, R = _floats(open_circuit_voltage, resistance)
    return np.asarray(V**2 / (4.0 * R))


def current_density(
    *, electric_field: ArrayLike, velocity: ArrayLike, field: ArrayLike, effective_conductivity: ArrayLike
) -> FloatArray:
    """Return σ (E − u B), positive where it pushes the gas forward. [A/m²]

    Parameters
    ----------
    electric_field : array_like
        Electric field across the gap. [V/m]
    velocity : array_like
        Gas velocity. [m/s]
    field : array_like
        Magnetic field. [T]
    effective_conductivity : array_like
        Electrical conductivity along the electric field. [S/m]
    """
    E, u, B, sigma = _floats(electric_field, velocity, field, effective_conductivity)
    return np.asarray(sigma * (E - u * B))


def generator_power_density(
    *, load_factor: ArrayLike, velocity: ArrayLike, field: ArrayLike, effective_conductivity: ArrayLike
) -> FloatArray:
    """Return the electrical power that a volume of gas delivers, K (1 − K) σ u² B². [W/m³]

    Parameters
    ----------
    load_factor : array_like
        Electric field over u B. [-]
    velocity : array_like
        Gas velocity. [m/s]
    field : array_like
        Magnetic field. [T]
    effective_conductivity : array_like
        Electrical conductivity along the electric field. [S/m]
    """
    K, u, B, sigma = _floats(load_factor, velocity, field, effective_conductivity)
    return np.asarray(K * (1.0 - K) * sigma * (u * B) ** 2)


def power_with_drop(
    *,
    load_factor: ArrayLike,
    velocity: ArrayLike,
    field: ArrayLike,
    gap: ArrayLike,
    electrode_area: ArrayLike,
    effective_conductivity: ArrayLike,
    voltage_drop: ArrayLike,
) -> FloatArray:
    """Return a thin generator's power with a constant electrode drop, zero where u B g doesn't exceed it. [W]

    The load factor is fixed on u B g − V_d, so that the root of the power is a straight line in the field and
    meets zero at V_d/(u g).

    Parameters
    ----------
    load_factor : array_like
        Terminal voltage over u B g − V_d. [-]
    velocity : array_like
        Gas velocity. [m/s]
    field : array_like
        Magnetic field. [T]
    gap : array_like
        Distance between the electrodes. [m]
    electrode_area : array_like
        Area of one electrode. [m²]
    effective_conductivity : array_like
        Electrical conductivity along the electric field. [S/m]
    voltage_drop : array_like
        Voltage drop of both electrodes. [V]
    """
    K, u, B, g, area, sigma, V_d = _floats(
        load_factor, velocity, field, gap, electrode_area, effective_conductivity, voltage_drop
    )
    driving = np.maximum(u * B * g - V_d, 0.0)
    return np.asarray(K * (1.0 - K) * sigma * driving**2 * area / g)


@dataclass(frozen=True)
class ChannelSlopes:
    """Slopes of a perfect gas along a crossed-field channel.

    Attributes
    ----------
    velocity : array
        du/dx. [1/s]
    mach : array
        dM/dx. [1/m]
    log_total_pressure : array
        d ln p0/dx. [1/m]
    """

    velocity: FloatArray
    mach: FloatArray
    log_total_pressure: FloatArray


def resler_sears_slopes_1958(
    *,
    velocity: ArrayLike,
    electric_field: ArrayLike,
    field: ArrayLike,
    conductivity: ArrayLike,
    pressure: ArrayLike,
    temperature: ArrayLike,
    heat_capacity_ratio: ArrayLike,
    gas_constant: ArrayLike,
    area_slope: ArrayLike,
) -> ChannelSlopes:
    """Return how a perfect gas changes along a crossed-field channel without friction and wall heat.

    E. L. Resler and W. R. Sears, J. Aeronaut. Sci. 25 (1958) 235: momentum ρu u′ = −p′ + jB and energy
    ρu (c_p T + u²/2)′ = jE with j = σ(E − uB); singular at Mach 1. Entropy grows with j²/σ alone.

    Parameters
    ----------
    velocity : array_like
        Gas velocity u. [m/s]
    electric_field : array_like
        Electric field E across the gap. [V/m]
    field : array_like
        Magnetic field B. [T]
    conductivity : array_like
        Electrical conductivity σ along the electric field. [S/m]
    pressure : array_like
        Static pressure p. [Pa]
    temperature : array_like
        Temperature T. [K]
    heat_capacity_ratio : array_like
        Ratio of heat capacities γ. [-]
    gas_constant : array_like
        Specific gas constant R. [J/(kg K)]
    area_slope : array_like
        A′/A, relative growth of the cross section. [1/m]
    """
    u, E, B, sigma, p, T = _floats(velocity, electric_field, field, conductivity, pressure, temperature)
    gamma, R, growth = _floats(heat_capacity_ratio, gas_constant, area_slope)
    c_p = gamma * R / (gamma - 1.0)
    mass_flux = p / (R * T) * u
    mach = u / np.sqrt(gamma * R * T)
    j = sigma * (E - u * B)
    push = j * (u * B - (gamma - 1.0) / gamma * E) / p
    u_slope = (u * growth + push) / (mach**2 - 1.0)
    T_slope = (j * E / mass_flux - u * u_slope) / c_p
    total_temperature = T + u**2 / (2.0 * c_p)
    return ChannelSlopes(
        velocity=np.asarray(u_slope),
        mach=np.asarray(mach * (u_slope / u - 0.5 * T_slope / T)),
        log_total_pressure=np.asarray(
            j * E / (mass_flux * R * total_temperature) - j**2 / (sigma * mass_flux * R * T)
        ),
    )


def constant_pressure_velocity(
    x: ArrayLike,
    *,
    inlet_velocity: ArrayLike,
    electric_field: ArrayLike,
    field: ArrayLike,
    conductivity: ArrayLike,
    mass_flux: ArrayLike,
) -> FloatArray:
    """Return u(x) of an accelerator at constant pressure, cross section, E, B and σ: momentum alone. [m/s]

    Parameters
    ----------
    x : array_like
        Distance from the inlet. [m]
    inlet_velocity : array_like
        Velocity at the inlet. [m/s]
    electric_field : array_like
        Electric field across the gap. [V/m]
    field : array_like
        Magnetic field. [T]
    conductivity : array_like
        Electrical conductivity along the electric field. [S/m]
    mass_flux : array_like
        Mass flow over cross section. [kg/(m² s)]
    """
    x, u_0, E, B, sigma, G = _floats(x, inlet_velocity, electric_field, field, conductivity, mass_flux)
    return np.asarray(E / B - (E / B - u_0) * np.exp(-sigma * B**2 * x / G))
