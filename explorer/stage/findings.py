"""What a marched pair shows: largest current density, Hall field, reduced field, tendency to constrict. Compiled."""

import numpy as np
from numpy.typing import NDArray

from explorer import constants as c
from explorer.physics.compiled import compiled
from explorer.physics.electrodes import hall_field
from explorer.stage.lookup import Gas, conductivity_slope, temperature, thermo
from explorer.stage.stations import (
    CONDUCTIVITY,
    CONSTRICTED,
    CURRENT_DENSITY,
    ELECTRIC_FIELD,
    FIELD_AT,
    GAP,
    MOBILITY,
    VELOCITY,
    WIDTH,
    XI,
    Z,
)


@compiled
def pair_findings(
    gas: Gas,
    stations: NDArray[np.float64],
    segmented: bool,
    length: float,
    mass_flow: float,
    steps: int,
) -> tuple[float, float, float, float, float, float]:
    """Extremes along a pair.

    Parameters
    ----------
    gas : Gas
        Of the point.
    stations : NDArray
        Of the pair's march.
    segmented : bool
        Whether its electrodes are.
    length : float
        [m] of the pair.
    mass_flow : float
        [kg/s] of gas.
    steps : int
        [-]

    Returns
    -------
    tuple of float
        Largest |j| [A/m²], largest axial Hall field [V/m], interaction parameter [-], overheating number [-],
        largest |E − uB|/n [V m²], 1 if constricted anywhere.
    """
    largest_j, largest_hall, largest_field, overheating, constricted = 0.0, 0.0, 0.0, 0.0, 0.0
    for n in range(2 * steps + 1):
        station = stations[n]
        j, sigma, mobility = abs(station[CURRENT_DENSITY]), station[CONDUCTIVITY], station[MOBILITY]
        xi, z, B = station[XI], station[Z], station[FIELD_AT]
        n_e = sigma / (c.e * mobility)
        number_density = np.exp(z) / (c.k * temperature(xi, z))
        largest_j = max(largest_j, j)
        largest_hall = max(largest_hall, hall_field(j, B, n_e, segmented))
        if j > 0.0:
            driving = abs(station[ELECTRIC_FIELD] - station[VELOCITY] * B)
            largest_field = max(largest_field, driving / number_density)
            _, h_xi, _, _, _, _ = thermo(gas, xi, z)
            mass_flux = mass_flow / (station[GAP] * station[WIDTH])
            rise = j * j / sigma * conductivity_slope(gas, xi, z) * length / (mass_flux * h_xi)
            overheating = max(overheating, rise)
            constricted = max(constricted, station[CONSTRICTED])
    mass_flux = mass_flow / (stations[0, GAP] * stations[0, WIDTH])
    interaction = stations[0, CONDUCTIVITY] * stations[0, FIELD_AT] ** 2 * length / mass_flux
    return largest_j, largest_hall, interaction, overheating, largest_field, constricted
