"""Bounds that an engineer works out by hand before believing a channel calculation.

All functions take numbers or arrays and broadcast.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def _floats(*values: ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(np.asarray(value, dtype=np.float64) for value in values)


def force_from_current(*, current: ArrayLike, field_gap: ArrayLike) -> FloatArray:
    """Return I B g, the most force that a current gives [N].

    Parameters
    ----------
    current : array_like
        [A] current through the gas.
    field_gap : array_like
        [T m] the largest B g along the pair; that of its middle is exceeded by up to 16 %.
    """
    return np.asarray(np.multiply(*_floats(current, field_gap)))


def force_from_current_density(
    *, current_density: ArrayLike, field: ArrayLike, volume: ArrayLike
) -> FloatArray:
    """Return j B times volume, the most force that a limit on the current density allows [N].

    Parameters
    ----------
    current_density : array_like
        [A/m²] current density, such as the limit of a diffuse discharge.
    field : array_like
        [T] magnetic field.
    volume : array_like
        [m³] volume between the electrodes.
    """
    j, B, volume = _floats(current_density, field, volume)
    return np.asarray(j * B * volume)


def force_per_power(*, field: ArrayLike, gap: ArrayLike, voltage: ArrayLike) -> FloatArray:
    """Return B g/V, the force that each watt at the terminals can give [N/W].

    Parameters
    ----------
    field : array_like
        [T] magnetic field.
    gap : array_like
        [m] distance between the electrodes.
    voltage : array_like
        [V] terminal voltage.
    """
    B, g, V = _floats(field, gap, voltage)
    return np.asarray(B * g / V)


def jet_power(*, mass_flow: ArrayLike, velocity: ArrayLike) -> FloatArray:
    """Return ½ ṁ u², the kinetic power of a jet [W].

    Parameters
    ----------
    mass_flow : array_like
        [kg/s] mass flow of the gas.
    velocity : array_like
        [m/s] velocity of the gas.
    """
    flow, u = _floats(mass_flow, velocity)
    return np.asarray(0.5 * flow * u**2)
