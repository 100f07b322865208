"""A frozen picture of an electrode pair: its current in the flow as it is with the pair open. Compiled."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.physics.electrodes import current_density, effective_conductivity
from explorer.stage.stations import CONDUCTIVITY, FIELD_AT, GAP, MOBILITY, VELOCITY, WIDTH, Electrodes

#: Columns of the frozen picture of a pair.
EMF, GAP_RESISTANCE, WEIGHT = range(3)
FROZEN_COLUMNS: Final[int] = 3


@compiled
def freeze(
    stations: NDArray[np.float64],
    electrodes: Electrodes,
    length: float,
    steps: int,
    frozen: NDArray[np.float64],
) -> None:
    """The frozen picture of a pair from the stations of its open march.

    Parameters
    ----------
    stations : NDArray
        Shape (≥ 2 steps + 1, columns of `march`).
    electrodes : Electrodes
        The pair.
    length : float
        [m] of the pair.
    steps : int
        [-]
    frozen : NDArray
        Receives back EMF [V], g/σ_e [ohm m^2] and Simpson's weight times width [m^2], shape (2 steps + 1, 3).
    """
    for n in range(2 * steps + 1):
        B, gap = stations[n, FIELD_AT], stations[n, GAP]
        sigma_e = effective_conductivity(
            stations[n, CONDUCTIVITY], stations[n, MOBILITY] * B, electrodes.segmented
        )
        frozen[n, EMF] = stations[n, VELOCITY] * B * gap
        frozen[n, GAP_RESISTANCE] = gap / sigma_e
        share = 4.0 if n % 2 == 1 else (1.0 if n == 0 or n == 2 * steps else 2.0)
        frozen[n, WEIGHT] = share * length / (6.0 * steps) * stations[n, WIDTH]


@compiled
def frozen_current(
    frozen: NDArray[np.float64], electrodes: Electrodes, voltage: float
) -> tuple[float, float]:
    """Net plasma current of a frozen pair and its slope dI_p/dV.

    Parameters
    ----------
    frozen : NDArray
        From `freeze`.
    electrodes : Electrodes
        The pair.
    voltage : float
        [V] at the terminals.

    Returns
    -------
    tuple of float
        [A], [A/V]
    """
    current, slope = 0.0, 0.0
    for n in range(frozen.shape[0]):
        j, _, dj, _ = current_density(
            voltage - frozen[n, EMF],
            frozen[n, GAP_RESISTANCE],
            electrodes.voltage_drop,
            electrodes.drop_resistance,
            electrodes.arc_voltage,
        )
        current += frozen[n, WEIGHT] * j
        slope += frozen[n, WEIGHT] * dj
    return current, slope


@compiled
def threshold_voltage(frozen: NDArray[np.float64], electrodes: Electrodes) -> float:
    """The terminal voltage at which net plasma current becomes positive.

    Parameters
    ----------
    frozen : NDArray
        From `freeze`.
    electrodes : Electrodes
        The pair.

    Returns
    -------
    float
        [V]

    Notes
    -----
    The smallest u B g + V_0 where V_0 exceeds half the spread of u B g; otherwise places that drive current
    backward must be outweighed first.
    """
    smallest, largest = np.min(frozen[:, EMF]), np.max(frozen[:, EMF])
    low = smallest + electrodes.voltage_drop
    if electrodes.voltage_drop >= 0.5 * (largest - smallest):
        return float(low)
    high = largest + electrodes.voltage_drop
    low = min(low, largest - electrodes.voltage_drop)
    for _ in range(200):
        middle = 0.5 * (low + high)
        if frozen_current(frozen, electrodes, middle)[0] > 0.0:
            high = middle
        else:
            low = middle
        if high - low <= 1e-12 * max(abs(high), 1e-9):
            break
    return float(0.5 * (low + high))
