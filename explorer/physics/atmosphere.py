"""Air around the stage: U.S. Standard Atmosphere 1976 against geometric altitude.

The values are those of the ambiance library (ICAO standard atmosphere, the same layers and constants), which
the tests compare with the printed tables of 1976. A day's weather differs by some per cent in pressure.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from ambiance import Atmosphere
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

#: Geometric altitudes between which the model answers [m].
LOWEST_ALTITUDE: Final = -5_000.0
HIGHEST_ALTITUDE: Final = 81_000.0


@dataclass(frozen=True)
class Air:
    """State of the standard atmosphere.

    Attributes
    ----------
    pressure : array
        Static pressure. [Pa]
    temperature : array
        Temperature. [K]
    density : array
        Density. [kg/m³]
    """

    pressure: FloatArray
    temperature: FloatArray
    density: FloatArray


def standard_atmosphere(altitude: ArrayLike) -> Air:
    """Return the state of the standard atmosphere.

    Parameters
    ----------
    altitude : array_like
        Geometric altitude above mean sea level. [m]

    Raises
    ------
    ValueError
        Below -5 km, above 81 km, or where an altitude is not a number.
    """
    altitude = np.asarray(altitude, dtype=np.float64)
    outside = ~((altitude >= LOWEST_ALTITUDE) & (altitude <= HIGHEST_ALTITUDE))
    if np.any(outside):
        first = altitude[outside].flat[0]
        raise ValueError(f"altitude must lie between -5 km and 81 km; got {first / 1e3:g} km")
    air = Atmosphere(altitude.ravel())
    shape = altitude.shape
    return Air(air.pressure.reshape(shape), air.temperature.reshape(shape), air.density.reshape(shape))
