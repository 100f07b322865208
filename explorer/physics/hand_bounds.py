"""Bounds that an engineer works out by hand before believing a channel calculation.

All functions take numbers or arrays and broadcast.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def _floats(*values: ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(np.asarray(value, dtype=np.float64) for value in values)


def force_from_current(*, current: ArrayLike, field: ArrayLike, gap: ArrayLike) -> FloatArray:
    """Return I B g, the most force that a current gives. [N]

    Parameters
    ----------
    current : array_like
        Current through the gas. [A]
    field : array_like
        Magnetic field. [T]
    gap : array_like
        Distance between the electrodes. [m]
    """
    current, B, g = _floats(current, field, gap)
    return np.asarray(current * B * g)


def force_from_current_density(
    *, current_density: ArrayLike, field: ArrayLike, volume: ArrayLike
) -> FloatArray:
    """Return j B times volume, the most force that a limit on the current density allows. [N]

    Parameters
    ----------
    current_density : array_like
        Current density, such as the limit of a diffuse discharge. [A/m²]
    field : array_like
        Magnetic field. [T]
    volume : array_like
        Volume between the electrodes. [m³]
    """
    j, B, volume = _floats(current_density, field, volume)
    return np.asarray(j * B * volume)


def force_per_power(*, field: ArrayLike, gap: ArrayLike, voltage: ArrayLike) -> FloatArray:
    """Return B g/V, the force that each watt at the terminals can give. [N/W]

    Parameters
    ----------
    field : array_like
        Magnetic field. [T]
    gap : array_like
        Distance between the electrodes. [m]
    voltage : array_like
        Terminal voltage. [V]
    """
    B, g, V = _floats(field, gap, voltage)
    return np.asarray(B * g / V)


def jet_power(*, mass_flow: ArrayLike, velocity: ArrayLike) -> FloatArray:
    """Return ½ ṁ u², the kinetic power of a jet. [W]

    Parameters
    ----------
    mass_flow : array_like
        Mass flow of the gas. [kg/s]
    velocity : array_like
        Velocity of the gas. [m/s]
    """
    flow, u = _floats(mass_flow, velocity)
    return np.asarray(0.5 * flow * u**2)


def interaction_parameter(
    *,
    conductivity: ArrayLike,
    field: ArrayLike,
    length: ArrayLike,
    density: ArrayLike,
    velocity: ArrayLike,
) -> FloatArray:
    """Return σ B² L/(ρ u), the magnetic force on a length of gas over its momentum. [-]

    Parameters
    ----------
    conductivity : array_like
        Electrical conductivity. [S/m]
    field : array_like
        Magnetic field. [T]
    length : array_like
        Length of the electrode pair along the flow. [m]
    density : array_like
        Density of the gas. [kg/m³]
    velocity : array_like
        Gas velocity. [m/s]
    """
    sigma, B, L, rho, u = _floats(conductivity, field, length, density, velocity)
    return np.asarray(sigma * B**2 * L / (rho * u))
