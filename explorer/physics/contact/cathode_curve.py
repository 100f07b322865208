"""A cathode's current against its voltage as a table, for a march that asks for it again and again. Compiled.

Voltage and current are explicit in the sheath's edge (`cathode.state_at`), so that a table needs no search; between its
nodes the current is linear, within 1 % of `cathode.limited_current`.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.physics.contact.cathode import Cathode, state_at

#: Nodes of a curve, and the edge's coordinate at its first and its last voltage.
CURVE_NODES: Final[int] = 64
_FIRST, _LAST = 7.0, -6.0
#: Voltage [V] that a curve must reach: its nodes move toward the core until it does (electrons that hardly lag).
_REACHED: Final[float] = 100.0
_MOVE, _MOVES = 3.0, 27


@compiled
def cathode_curve(cathode: Cathode, voltages: NDArray[np.float64], densities: NDArray[np.float64]) -> None:
    """Write down what a cathode gives against the voltage across its sheath, from none on; both rise.

    Parameters
    ----------
    cathode : Cathode
        Of numbers.
    voltages, densities : NDArray
        [V], [A/m²] receive the curve, shape (CURVE_NODES,).
    """
    first = _FIRST
    for _ in range(_MOVES):
        if state_at(cathode, first + _LAST - _FIRST).voltage >= _REACHED:
            break
        first -= _MOVE
    for n in range(1, CURVE_NODES):
        state = state_at(cathode, first + (_LAST - _FIRST) * (n - 1) / (CURVE_NODES - 2))
        voltages[n], densities[n] = state.voltage, state.emission + state.ion_current
    voltages[0], densities[0] = 0.0, densities[1]


@compiled
def limited(
    driving_voltage: float,
    gap_resistance: float,
    cathode_share: float,
    voltages: NDArray[np.float64],
    densities: NDArray[np.float64],
) -> tuple[float, float]:
    """Current density [A/m²] that a cathode lets through a gap, and its slope [A/(V m²)].

    The drop is what the gas leaves of the driving voltage, |d| − j g/σ_e; a share of it is the cathode's.

    Parameters
    ----------
    driving_voltage : float
        [V] |d|, not negative.
    gap_resistance : float
        [ohm m²] g/σ_e.
    cathode_share : float
        [-] of the drop.
    voltages, densities : NDArray
        [V], [A/m²] from `cathode_curve`; the last slope holds beyond.
    """
    below, n = 0, voltages.size - 1  # the nodes on both sides of where drop and gas together take the voltage
    while n - below > 1:
        middle = (below + n) // 2
        if voltages[middle] / cathode_share + densities[middle] * gap_resistance < driving_voltage:
            below = middle
        else:
            n = middle
    rise = voltages[n] - voltages[below]
    slope = cathode_share * (densities[n] - densities[below]) / rise if rise > 0.0 else 0.0
    at = densities[below] - slope * voltages[below] / cathode_share
    j = (at + slope * driving_voltage) / (1.0 + slope * gap_resistance)
    return min(max(j, 0.0), driving_voltage / gap_resistance), slope / (1.0 + slope * gap_resistance)
