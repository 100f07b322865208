"""What flows through an orifice: a gas at the speed of sound, or a liquid that doesn't boil.

A gas is ideal, with its heat capacity at the temperature upstream, and chokes: the flow then does not know the
pressure downstream. A liquid is incompressible. Discharge coefficients hold what both leave out.
"""

from collections.abc import Mapping
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from explorer import constants as c
from explorer.physics.gas import molar_heat_capacity

FloatArray = NDArray[np.float64]

#: Molecules of the gases that a study can name: moles of each species per mole.
GASES: Final[Mapping[str, Mapping[str, float]]] = {
    "oxygen": {"O2": 1.0},
    "nitrous oxide": {"N2O": 1.0},
    "air": {"N2": 0.79, "O2": 0.21},
    "propane": {"C3H8": 1.0},
    "methane": {"CH4": 1.0},
    "hydrogen": {"H2": 1.0},
}

#: Vapour pressure [Pa] at two temperatures [K], handbook values from memory: between and beyond, ln p goes as 1/T.
VAPOUR_PRESSURE: Final[Mapping[str, tuple[tuple[float, float], tuple[float, float]]]] = {
    "nitrous oxide": ((273.15, 31.3e5), (293.15, 50.5e5)),
    "propane": ((273.15, 4.74e5), (293.15, 8.37e5)),
}

#: Critical temperature [K] of the same, above which there is no liquid; from memory.
CRITICAL_TEMPERATURE: Final[Mapping[str, float]] = {"nitrous oxide": 309.5, "propane": 369.8}


def heat_capacity_ratio(gas: str, temperature: ArrayLike) -> FloatArray:
    """Return c_p/c_v of a gas by its name in a study [-].

    Parameters
    ----------
    gas : str
        One of `GASES`.
    temperature : array_like
        [K]
    """
    heat_capacity = sum(
        share * molar_heat_capacity(species, temperature) for species, share in GASES[gas].items()
    )
    return np.asarray(heat_capacity / (heat_capacity - c.R))


def critical_pressure_ratio(heat_capacity_ratio: ArrayLike) -> FloatArray:
    """Return the pressure downstream over that upstream at and below which a gas chokes [-].

    Parameters
    ----------
    heat_capacity_ratio : array_like
        [-]
    """
    g = np.asarray(heat_capacity_ratio, dtype=np.float64)
    return np.asarray((2 / (g + 1)) ** (g / (g - 1)))


def critical_flow(
    *,
    area: ArrayLike,
    pressure: ArrayLike,
    temperature: ArrayLike,
    molar_mass: float,
    heat_capacity_ratio: ArrayLike,
) -> FloatArray:
    """Return the flow of an ideal gas through a choked orifice [kg/s].

    Parameters
    ----------
    area : array_like
        [m²] discharge coefficient times the hole's.
    pressure, temperature : array_like
        [Pa, K] at rest upstream.
    molar_mass : float
        [kg/mol]
    heat_capacity_ratio : array_like
        [-]

    Notes
    -----
    A p √(γ/(R T)) (2/(γ+1))^((γ+1)/(2(γ−1))), NACA report 1135 (1953), equation 109.
    """
    g = np.asarray(heat_capacity_ratio, dtype=np.float64)
    speed = np.sqrt(g / (c.R / molar_mass * np.asarray(temperature)))
    return np.asarray(area * np.asarray(pressure) * speed * (2 / (g + 1)) ** ((g + 1) / (2 * (g - 1))))


def liquid_flow_factor(*, area: ArrayLike, density: ArrayLike) -> FloatArray:
    """Return what the root of the pressure drop is multiplied by: A √(2ρ) [kg/(s Pa^½)].

    Parameters
    ----------
    area : array_like
        [m²] discharge coefficient times the hole's.
    density : array_like
        [kg/m³]
    """
    return np.asarray(area * np.sqrt(2 * np.asarray(density, dtype=np.float64)))


def vapour_pressure(gas: str, temperature: float) -> float:
    """Return the pressure above which what should be a gas is a liquid [Pa], infinite where that is not known.

    Parameters
    ----------
    gas : str
        By its name in a study.
    temperature : float
        [K]
    """
    if gas not in VAPOUR_PRESSURE or temperature >= CRITICAL_TEMPERATURE[gas]:
        return float("inf")
    (T_1, p_1), (T_2, p_2) = VAPOUR_PRESSURE[gas]
    slope = np.log(p_2 / p_1) / (1 / T_1 - 1 / T_2)
    return float(p_1 * np.exp(slope * (1 / T_1 - 1 / temperature)))
