"""Compiled access to a gas table contracted to one mixture: thermodynamic and electrical state at (ξ, z).

The gas of one point is a single flat array: a header with the axes and the places of the blocks, then the blocks as
in a row of `GasTable`.

A state is ξ = ln T − a ln p and z = ln p, numbers without dimension (`xi`, `z`), with the table's shear a.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import allocating, compiled
from explorer.stage.gas.spline import cell, pair_values, pair_with_slopes, value_with_slopes, weights
from explorer.stage.gas.table import COLDEST_WALL, LN_HOTTEST, SHEAR

Gas = NDArray[np.float64]

#: Header of a gas: origin, 1/spacing and cells of ξ, z, ln T_w and ln p at the wall, then where
#: blocks begin, and the z at which the electrons' energy loss is tabulated.
(
    XI_ORIGIN,
    XI_PER_SPACING,
    XI_CELLS,
    Z_ORIGIN,
    Z_PER_SPACING,
    Z_CELLS,
    WALL_ORIGIN,
    WALL_PER_SPACING,
    WALL_CELLS,
    WALL_Z_ORIGIN,
    WALL_Z_PER_SPACING,
    WALL_Z_CELLS,
    ENTROPY_BLOCK,
    ELECTRICAL_BLOCK,
    WALL_BLOCK,
    LOSS_BLOCK,
    LAYER_BLOCK,
    Z_MIDDLE,
) = range(18)
HEADER: Final[int] = 18


@allocating
def gas_space(axes: NDArray[np.float64], row_length: int) -> Gas:
    """Room for the gas of a point, its header filled in.

    Parameters
    ----------
    axes : NDArray
        [-] of the `GasTable`.
    row_length : int
        [-] of its rows.
    """
    gas = np.zeros(HEADER + row_length)
    for k in range(4):
        gas[3 * k] = axes[3 + k, 0]
        gas[3 * k + 1] = axes[3 + k, 1]
        gas[3 * k + 2] = axes[3 + k, 2] - 1.0
    states = (axes[3, 2] + 2.0) * (axes[4, 2] + 2.0)
    gas[ENTROPY_BLOCK] = HEADER + 2.0 * states
    gas[ELECTRICAL_BLOCK] = HEADER + 3.0 * states
    gas[WALL_BLOCK] = HEADER + 5.0 * states
    gas[LOSS_BLOCK] = gas[WALL_BLOCK] + (axes[5, 2] + 2.0) * (axes[6, 2] + 2.0)
    gas[LAYER_BLOCK] = gas[LOSS_BLOCK] + axes[3, 2] + 2.0
    gas[Z_MIDDLE] = axes[4, 0] + axes[4, 2] // 2 / axes[4, 1]
    return gas


@allocating
def contract(
    coefficients: NDArray[np.float32],
    axes: NDArray[np.float64],
    mixture: tuple[float, float, float],
    gas: Gas,
) -> bool:
    """Sum a `GasTable` over its composition axes at one mixture, into a gas's blocks; false outside the table.

    Parameters
    ----------
    mixture : tuple of float
        [-] the composition coordinates: mixture ratio, ln of the alkali's mass fraction, carrier water's.
    gas : Gas
        From `gas_space`; its blocks are written.
    """
    start = np.empty(3, dtype=np.int64)
    count = np.empty(3, dtype=np.int64)
    weight = np.empty((3, 4))
    for k in range(3):
        nodes = int(axes[k, 2])
        position = (mixture[k] - axes[k, 0]) * axes[k, 1]
        if nodes == 1:
            if abs(position) > 1e-9 * (1.0 + abs(mixture[k] * axes[k, 1])):
                return False
            start[k], count[k] = 0, 1
            weight[k, 0] = 1.0
            continue
        if not -1e-9 <= position <= nodes - 1 + 1e-9:
            return False
        start[k], t = cell(position, nodes - 1)
        count[k] = 4
        weight[k, 0], weight[k, 1], weight[k, 2], weight[k, 3] = weights(t)
    row = gas[HEADER:]
    row[:] = 0.0
    for i in range(count[0]):
        for j in range(count[1]):
            outer = weight[0, i] * weight[1, j]
            source = coefficients[start[0] + i, start[1] + j]
            m = start[2]
            if count[2] == 1:
                for n in range(row.size):
                    row[n] += outer * source[m, n]
                continue
            w0, w1, w2, w3 = (
                outer * weight[2, 0],
                outer * weight[2, 1],
                outer * weight[2, 2],
                outer * weight[2, 3],
            )
            s0, s1, s2, s3 = source[m], source[m + 1], source[m + 2], source[m + 3]
            for n in range(row.size):
                row[n] += w0 * s0[n] + w1 * s1[n] + w2 * s2[n] + w3 * s3[n]
    return True


@compiled
def _place(gas: Gas, xi: float, z: float) -> tuple[int, int, float, int, float]:
    """Columns of the state blocks, cell and place along ξ and z."""
    i, t = cell((xi - gas[XI_ORIGIN]) * gas[XI_PER_SPACING], int(gas[XI_CELLS]))
    cells = int(gas[Z_CELLS])
    j, s = cell((z - gas[Z_ORIGIN]) * gas[Z_PER_SPACING], cells)
    return cells + 3, i, t, j, s


@compiled
def thermo(gas: Gas, xi: float, z: float) -> tuple[float, float, float, float, float, float]:
    """Enthalpy and p/ρ with their derivatives along ξ and z.

    Returns
    -------
    tuple of float
        [J/kg] h, h_ξ, h_z, θ, θ_ξ, θ_z with θ = p/ρ.
    """
    columns, i, t, j, s = _place(gas, xi, z)
    h, h_xi, h_z, v, v_xi, v_z = pair_with_slopes(gas, HEADER, columns, i, t, j, s)
    per_xi, per_z = gas[XI_PER_SPACING], gas[Z_PER_SPACING]
    return h, h_xi * per_xi, h_z * per_z, v, v_xi * per_xi, v_z * per_z


@compiled
def entropy(gas: Gas, xi: float, z: float) -> tuple[float, float, float]:
    """Entropy [J/(kg K)] with its derivatives along ξ and z."""
    columns, i, t, j, s = _place(gas, xi, z)
    value, by_xi, by_z = value_with_slopes(gas, int(gas[ENTROPY_BLOCK]), columns, i, t, j, s)
    return value, by_xi * gas[XI_PER_SPACING], by_z * gas[Z_PER_SPACING]


@compiled
def electrical(gas: Gas, xi: float, z: float, p: float) -> tuple[float, float]:
    """Conductivity σ [S/m] and mobility µ = σ/(e n_e) [m²/(V s)], before a study's factors.

    Parameters
    ----------
    p : float
        [Pa] the same pressure as z.
    """
    columns, i, t, j, s = _place(gas, xi, z)
    ln_sigma, mobility_pressure = pair_values(gas, int(gas[ELECTRICAL_BLOCK]), columns, i, t, j, s)
    return np.exp(ln_sigma), mobility_pressure / p


@compiled
def layer_electrical(gas: Gas, ln_temperature: float, z: float, p: float) -> tuple[float, float]:
    """As `electrical`, down to the walls' temperatures, of a table with layers.

    Parameters
    ----------
    ln_temperature : float
        [-] ln T.
    p : float
        [Pa] the same pressure as z.
    """
    xi = ln_temperature - SHEAR * z
    if xi >= gas[XI_ORIGIN]:
        return electrical(gas, xi, z, p)
    at = max((ln_temperature - gas[WALL_ORIGIN]) * gas[WALL_PER_SPACING], 0.0)
    i, t = cell(at, int(gas[WALL_CELLS]))
    cells = int(gas[WALL_Z_CELLS])
    j, s = cell((z - gas[WALL_Z_ORIGIN]) * gas[WALL_Z_PER_SPACING], cells)
    ln_sigma, mobility_pressure = pair_values(gas, int(gas[LAYER_BLOCK]), cells + 3, i, t, j, s)
    return np.exp(ln_sigma), mobility_pressure / p


@compiled
def energy_loss_rate(gas: Gas, xi: float, z: float, p: float) -> float:
    """Share of their excess energy that electrons lose per time [1/s], before a study's factor.

    The gas is taken as composed as at the table's middle pressure: enough for an estimate.
    """
    place = (xi + SHEAR * (z - gas[Z_MIDDLE]) - gas[XI_ORIGIN]) * gas[XI_PER_SPACING]
    i, t = cell(min(max(place, 0.0), gas[XI_CELLS]), int(gas[XI_CELLS]))
    w0, w1, w2, w3 = weights(t)
    at = int(gas[LOSS_BLOCK]) + i
    return float(np.exp(w0 * gas[at] + w1 * gas[at + 1] + w2 * gas[at + 2] + w3 * gas[at + 3]) * p)


@compiled
def conductivity_slope(gas: Gas, xi: float, z: float) -> float:
    """∂ ln σ/∂ ln T at constant pressure [-]."""
    columns, i, t, j, s = _place(gas, xi, z)
    _, by_xi, _, _, _, _ = pair_with_slopes(gas, int(gas[ELECTRICAL_BLOCK]), columns, i, t, j, s)
    return float(by_xi * gas[XI_PER_SPACING])


@compiled
def wall_enthalpy(gas: Gas, wall_temperature: float, z: float) -> float:
    """Equilibrium enthalpy [J/kg] at the wall's temperature [K], not below `COLDEST_WALL`, and a pressure."""
    ln_temperature = np.log(max(wall_temperature, COLDEST_WALL))
    i, t = cell((ln_temperature - gas[WALL_ORIGIN]) * gas[WALL_PER_SPACING], int(gas[WALL_CELLS]))
    cells = int(gas[WALL_Z_CELLS])
    j, s = cell((z - gas[WALL_Z_ORIGIN]) * gas[WALL_Z_PER_SPACING], cells)
    h, _, _ = value_with_slopes(gas, int(gas[WALL_BLOCK]), cells + 3, i, t, j, s)
    return h


@compiled
def temperature(xi: float, z: float) -> float:
    """T = exp(ξ + a z) [K]."""
    return float(np.exp(xi + SHEAR * z))


@compiled
def inside(gas: Gas, xi: float, z: float) -> bool:
    """Whether a state lies within the table, and its temperature within the species data."""
    i = (xi - gas[XI_ORIGIN]) * gas[XI_PER_SPACING]
    j = (z - gas[Z_ORIGIN]) * gas[Z_PER_SPACING]
    within = 0.0 <= i <= gas[XI_CELLS] and 0.0 <= j <= gas[Z_CELLS]
    return bool(within and xi + SHEAR * z <= LN_HOTTEST)
