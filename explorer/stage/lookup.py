"""Compiled access to a gas table contracted to one mixture: thermodynamic and electrical state at (ξ, z)."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled
from explorer.stage.spline import cell, pair_values, pair_with_slopes, value_with_slopes, weights
from explorer.stage.table import SHEAR


class Gas(NamedTuple):
    """The gas of one point: blocks of coefficients as in `GasTable`, and their axes.

    Attributes
    ----------
    thermal : NDArray
        Flattened from (ξ, z, [enthalpy, p/ρ]).
    entropy : NDArray
        Flattened from (ξ, z).
    electrical : NDArray
        Flattened from (ξ, z, [ln σ, mobility × pressure]).
    wall : NDArray
        Flattened from (ln T_w, ln p).
    axes : NDArray
        Rows origin, 1/spacing, nodes.
    """

    thermal: NDArray[np.float64]
    entropy: NDArray[np.float64]
    electrical: NDArray[np.float64]
    wall: NDArray[np.float64]
    axes: NDArray[np.float64]


@compiled
def contract(
    coefficients: NDArray[np.float32],
    axes: NDArray[np.float64],
    composition: NDArray[np.float64],
    row: NDArray[np.float64],
) -> bool:
    """Sum the table over its composition axes at one mixture, into `row`.

    Parameters
    ----------
    coefficients, axes : NDArray
        A `GasTable`.
    composition : NDArray
        The three composition coordinates.
    row : NDArray
        Receives the contracted row.

    Returns
    -------
    bool
        False if the mixture lies outside the table.
    """
    start = np.empty(3, dtype=np.int64)
    count = np.empty(3, dtype=np.int64)
    weight = np.empty((3, 4))
    for k in range(3):
        nodes = int(axes[k, 2])
        position = (composition[k] - axes[k, 0]) * axes[k, 1]
        if nodes == 1:
            if abs(position) > 1e-9 * (1.0 + abs(composition[k] * axes[k, 1])):
                return False
            start[k], count[k] = 0, 1
            weight[k, 0] = 1.0
            continue
        if not -1e-9 <= position <= nodes - 1 + 1e-9:
            return False
        start[k], t = cell(position, nodes - 1)
        count[k] = 4
        weight[k, 0], weight[k, 1], weight[k, 2], weight[k, 3] = weights(t)
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
            w0, w1, w2, w3 = outer * weight[2, 0], outer * weight[2, 1], outer * weight[2, 2], outer * weight[2, 3]
            s0, s1, s2, s3 = source[m], source[m + 1], source[m + 2], source[m + 3]
            for n in range(row.size):
                row[n] += w0 * s0[n] + w1 * s1[n] + w2 * s2[n] + w3 * s3[n]
    return True


@compiled
def gas_of_row(row: NDArray[np.float64], axes: NDArray[np.float64]) -> Gas:
    """The contracted row as blocks.

    Parameters
    ----------
    row : NDArray
        From `contract`.
    axes : NDArray
        Of the `GasTable`.
    """
    states = (int(axes[3, 2]) + 2) * (int(axes[4, 2]) + 2)
    return Gas(row[: 2 * states], row[2 * states : 3 * states], row[3 * states : 5 * states], row[5 * states :], axes)


@compiled
def _place(gas: Gas, xi: float, z: float) -> tuple[int, int, float, int, float]:
    """Columns of the state blocks, cell and place along ξ and z."""
    axes = gas.axes
    i, t = cell((xi - axes[3, 0]) * axes[3, 1], int(axes[3, 2]) - 1)
    j, s = cell((z - axes[4, 0]) * axes[4, 1], int(axes[4, 2]) - 1)
    return int(axes[4, 2]) + 2, i, t, j, s


@compiled
def thermo(gas: Gas, xi: float, z: float) -> tuple[float, float, float, float, float, float]:
    """Enthalpy and p/ρ with their derivatives along ξ and z.

    Parameters
    ----------
    gas : Gas
        The contracted table.
    xi, z : float
        [-] ln T − a z and ln p.

    Returns
    -------
    tuple of float
        [J/kg] h, h_ξ, h_z, θ, θ_ξ, θ_z with θ = p/ρ.
    """
    columns, i, t, j, s = _place(gas, xi, z)
    h, h_xi, h_z, v, v_xi, v_z = pair_with_slopes(gas.thermal, columns, i, t, j, s)
    per_xi, per_z = gas.axes[3, 1], gas.axes[4, 1]
    return h, h_xi * per_xi, h_z * per_z, v, v_xi * per_xi, v_z * per_z


@compiled
def entropy(gas: Gas, xi: float, z: float) -> tuple[float, float, float]:
    """Entropy with its derivatives along ξ and z.

    Parameters
    ----------
    gas : Gas
        The contracted table.
    xi, z : float
        [-] ln T − a z and ln p.

    Returns
    -------
    tuple of float
        [J/(kg K)] s, s_ξ, s_z.
    """
    columns, i, t, j, s = _place(gas, xi, z)
    value, by_xi, by_z = value_with_slopes(gas.entropy, columns, i, t, j, s)
    return value, by_xi * gas.axes[3, 1], by_z * gas.axes[4, 1]


@compiled
def electrical(gas: Gas, xi: float, z: float) -> tuple[float, float]:
    """Conductivity and mobility, before a study's factors.

    Parameters
    ----------
    gas : Gas
        The contracted table.
    xi, z : float
        [-] ln T − a z and ln p.

    Returns
    -------
    tuple of float
        [S/m] σ and [m²/(V s)] µ = σ/(e n_e).
    """
    columns, i, t, j, s = _place(gas, xi, z)
    ln_sigma, mobility_pressure = pair_values(gas.electrical, columns, i, t, j, s)
    return np.exp(ln_sigma), mobility_pressure * np.exp(-z)


@compiled
def conductivity_slope(gas: Gas, xi: float, z: float) -> float:
    """∂ ln σ/∂ ln T at constant pressure.

    Parameters
    ----------
    gas : Gas
        The contracted table.
    xi, z : float
        [-] ln T − a z and ln p.

    Returns
    -------
    float
        [-]
    """
    columns, i, t, j, s = _place(gas, xi, z)
    _, by_xi, _, _, _, _ = pair_with_slopes(gas.electrical, columns, i, t, j, s)
    return by_xi * gas.axes[3, 1]


@compiled
def wall_enthalpy(gas: Gas, wall_temperature: float, z: float) -> float:
    """Equilibrium enthalpy at the wall's temperature and the pressure exp(z).

    Parameters
    ----------
    gas : Gas
        The contracted table.
    wall_temperature : float
        [K]
    z : float
        [-] ln p.

    Returns
    -------
    float
        [J/kg]
    """
    axes = gas.axes
    i, t = cell((np.log(wall_temperature) - axes[5, 0]) * axes[5, 1], int(axes[5, 2]) - 1)
    j, s = cell((z - axes[6, 0]) * axes[6, 1], int(axes[6, 2]) - 1)
    h, _, _ = value_with_slopes(gas.wall, int(axes[6, 2]) + 2, i, t, j, s)
    return h


@compiled
def temperature(xi: float, z: float) -> float:
    """T = exp(ξ + a z).

    Parameters
    ----------
    xi, z : float
        [-] ln T − a z and ln p.

    Returns
    -------
    float
        [K]
    """
    return float(np.exp(xi + SHEAR * z))


@compiled
def inside(gas: Gas, xi: float, z: float) -> bool:
    """Whether a state lies within the table.

    Parameters
    ----------
    gas : Gas
        The contracted table.
    xi, z : float
        [-] ln T − a z and ln p.
    """
    axes = gas.axes
    i = (xi - axes[3, 0]) * axes[3, 1]
    j = (z - axes[4, 0]) * axes[4, 1]
    return bool(0.0 <= i <= axes[3, 2] - 1 and 0.0 <= j <= axes[4, 2] - 1)
