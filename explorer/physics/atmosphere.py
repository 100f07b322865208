"""Air around the stage: U.S. Standard Atmosphere 1976 against geometric altitude.

The values are those of the ambiance library (ICAO standard atmosphere, the same layers and constants), which
the tests compare with the printed tables of 1976. A day's weather differs by some per cent in pressure.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

#: Geometric altitudes between which the model answers [m].
LOWEST_ALTITUDE: Final = -5_000.0
HIGHEST_ALTITUDE: Final = 81_000.0

#: Spacing of the table of air [m], between whose nodes ln p and ln ρ are linear: off by 5e-5 next to the borders of
#: layers, by less than 1e-6 elsewhere.
_AIR_STEP: Final = 10.0


@dataclass(frozen=True)
class Air:
    """State of the standard atmosphere."""

    pressure: FloatArray  #: [Pa] static
    temperature: FloatArray  #: [K]
    density: FloatArray  #: [kg/m³]


def standard_atmosphere(altitude: ArrayLike) -> Air:
    """Return the state of the standard atmosphere.

    Parameters
    ----------
    altitude : array_like
        [m] geometric, above mean sea level.

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
    from ambiance import Atmosphere  # loads slowly, and most stages stand at a stated pressure

    air = Atmosphere(altitude.ravel())
    shape = altitude.shape
    return Air(air.pressure.reshape(shape), air.temperature.reshape(shape), air.density.reshape(shape))


@lru_cache(maxsize=1)
def _air_table() -> tuple[FloatArray, FloatArray]:
    """Logarithms of pressure and density at evenly spaced altitudes."""
    nodes = np.arange(LOWEST_ALTITUDE, HIGHEST_ALTITUDE + 0.5 * _AIR_STEP, _AIR_STEP)
    air = standard_atmosphere(nodes)
    return np.log(air.pressure), np.log(air.density)


def air_at(altitude: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return pressure and density on the way through the air, from a table: where millions of look-ups are wanted.

    Above the end of the standard atmosphere there is none; below its beginning its lowest value stands.

    Parameters
    ----------
    altitude : NDArray
        [m] geometric.

    Returns
    -------
    tuple of NDArray
        Pressure [Pa] and density [kg/m³].
    """
    ln_pressure, ln_density = _air_table()
    place = np.clip((altitude - LOWEST_ALTITUDE) / _AIR_STEP, 0.0, ln_density.size - 1.0)
    below = np.minimum(place.astype(np.intp), ln_density.size - 2)
    part, there = place - below, altitude <= HIGHEST_ALTITUDE
    pressure, density = (
        np.where(there, np.exp(table[below] + part * (table[below + 1] - table[below])), 0.0)
        for table in (ln_pressure, ln_density)
    )
    return pressure, density
