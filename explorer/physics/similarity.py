"""Numbers by which stages of different size compare: Reynolds, magnetic Reynolds, pressure times gap.

The viscosity is that of air by Sutherland's law, from the U.S. Standard Atmosphere 1976, extrapolated to flame
temperatures. Burnt ethanol and oxygen, about half of its molecules steam, is more viscous: by 4 % at 1500 K, 10 % at
2000 K, 15 % at 2500 K and 20 % at 3000 K by kinetic theory (Cantera, mixture-averaged, GRI-Mech 3.0's transport data,
at 2 bar), and the Reynolds number comes out as much too high. Seed is not counted.

All functions take numbers or arrays and broadcast.
"""

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer.constants import mu_0

FloatArray = NDArray[np.float64]

#: Sutherland's law for air: U.S. Standard Atmosphere 1976, equation 51 (from memory).
SUTHERLAND_FACTOR: Final = 1.458e-6  # [kg/(s m K^0.5)]
SUTHERLAND_TEMPERATURE: Final = 110.4  # [K]


def _floats(*values: ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(np.asarray(value, dtype=np.float64) for value in values)


def sutherland_viscosity(temperature: ArrayLike) -> FloatArray:
    """Return the dynamic viscosity of air [Pa s].

    The standard gives it for the atmosphere; what it is worth in a hot gas stands at the head of this module.

    Parameters
    ----------
    temperature : array_like
        [K] static temperature.
    """
    (T,) = _floats(temperature)
    return np.asarray(SUTHERLAND_FACTOR * T**1.5 / (T + SUTHERLAND_TEMPERATURE))


def hydraulic_diameter(*, gap: ArrayLike, width: ArrayLike) -> FloatArray:
    """Return four times the area of a rectangular duct over its wetted perimeter [m].

    Parameters
    ----------
    gap, width : array_like
        [m] sides of the duct.
    """
    g, w = _floats(gap, width)
    return np.asarray(2.0 * g * w / (g + w))


def reynolds_number(*, mass_flux: ArrayLike, diameter: ArrayLike, viscosity: ArrayLike) -> FloatArray:
    """Return ρ u D/µ [-].

    Parameters
    ----------
    mass_flux : array_like
        [kg/(m² s)] density times velocity.
    diameter : array_like
        [m] hydraulic diameter.
    viscosity : array_like
        [Pa s] dynamic viscosity.
    """
    flux, diameter, viscosity = _floats(mass_flux, diameter, viscosity)
    return np.asarray(flux * diameter / viscosity)


def magnetic_reynolds_number(
    *, conductivity: ArrayLike, velocity: ArrayLike, length: ArrayLike
) -> FloatArray:
    """Return µ_0 σ u L: the field of the induced currents over the field that induces them [-].

    Parameters
    ----------
    conductivity : array_like
        [S/m] electrical conductivity.
    velocity : array_like
        [m/s] gas velocity.
    length : array_like
        [m] length of the electrode pair along the flow.
    """
    sigma, u, L = _floats(conductivity, velocity, length)
    return np.asarray(mu_0 * sigma * u * L)
