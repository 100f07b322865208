"""Uniform tensor-product cubic B-splines: coefficients at build time, compiled look-ups on the hot path.

A cubic B-spline is twice continuously differentiable, so Newton's method and the order of the march are not
disturbed at cell edges, and prefiltering is linear along each axis, so composition axes can be contracted before
the two state axes are looked up. End condition: not-a-knot.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from explorer.physics.compiled import compiled

#: Fewest nodes of an axis that varies (one cubic).
FEWEST_NODES: Final[int] = 4

_1, _2, _3, _4, _5, _6, _7 = (np.uint64(i) for i in range(1, 8))


def prefiltered(values: NDArray[np.float64], axis: int) -> NDArray[np.float64]:
    """B-spline coefficients [any] along one axis of nodal values on a uniform grid.

    There are n + 2 along that axis; where n = 1 the values stay what they are.

    Parameters
    ----------
    values : NDArray
        [any] nodal values; n along `axis`, n = 1 (the axis has collapsed) or n ≥ 4.
    axis : int
        [-] which.

    Raises
    ------
    ValueError
        If there are two or three nodes.
    """
    n = values.shape[axis]
    if n == 1:
        return values
    if n < FEWEST_NODES:
        raise ValueError(f"an axis needs 1 or at least {FEWEST_NODES} nodes; got {n}")
    knots = np.arange(-3.0, n + 3.0)
    from scipy.interpolate import BSpline  # loads slowly, and a gas table is mostly there already

    rows = BSpline.design_matrix(np.arange(float(n)), knots, 3, extrapolate=True).toarray()
    ends = np.zeros((2, n + 2))
    ends[0, :5] = ends[1, -5:] = [1, -4, 6, -4, 1]  # no jump of the third derivative at the second knot
    system = np.vstack([rows, ends])
    moved = np.moveaxis(values, axis, 0)
    right = np.concatenate([moved, np.zeros((2, *moved.shape[1:]))])
    solved = np.linalg.solve(system, right.reshape(n + 2, -1)).reshape(n + 2, *moved.shape[1:])
    return np.ascontiguousarray(np.moveaxis(solved, 0, axis))


@compiled
def cell(position: float, cells: int) -> tuple[int, float]:
    """The cell that holds a position in units of the spacing, and the place in it.

    Beyond the ends the edge cell's cubic is continued; whether that is allowed is the caller's business.

    Parameters
    ----------
    position : float
        [-] (coordinate − first node)/spacing.
    cells : int
        [-] how many cells the axis has.
    """
    i = int(np.floor(position))
    i = min(max(i, 0), cells - 1)
    return i, position - i


@compiled
def weights(t: float) -> tuple[float, float, float, float]:
    """The four cubic B-spline weights at t in a cell.

    Parameters
    ----------
    t : float
        [-] 0 … 1 within the cell.
    """
    s = 1.0 - t
    return (
        s * s * s / 6.0,
        (3.0 * t * t * t - 6.0 * t * t + 4.0) / 6.0,
        (3.0 * s * s * s - 6.0 * s * s + 4.0) / 6.0,
        t * t * t / 6.0,
    )


@compiled
def slopes(t: float) -> tuple[float, float, float, float]:
    """Derivatives of the four weights with respect to t.

    Parameters
    ----------
    t : float
        [-] 0 … 1 within the cell.
    """
    s = 1.0 - t
    return (-0.5 * s * s, 1.5 * t * t - 2.0 * t, 2.0 * s - 1.5 * s * s, 0.5 * t * t)


@compiled
def pair_with_slopes(
    table: NDArray[np.float64], first: int, columns: int, i: int, t: float, j: int, s: float
) -> tuple[float, float, float, float, float, float]:
    """Two interleaved properties with their derivatives per cell width, at one place.

    Parameters
    ----------
    table : NDArray
        [any] holds the coefficients, flattened from shape (rows, columns, 2).
    first : int
        [-] where they begin.
    columns : int
        [-] how many there are.
    i, j : int
        [-] cell along rows and columns.
    t, s : float
        [-] place in the cell along rows and columns.

    Returns
    -------
    tuple of float
        [any] value, slope along rows, slope along columns of the first property, then of the second.

    Notes
    -----
    Indices are unsigned, which spares the test for negative ones that would be counted from the end.
    """
    a0, a1, a2, a3 = weights(t)
    d0, d1, d2, d3 = slopes(t)
    b0, b1, b2, b3 = weights(s)
    e0, e1, e2, e3 = slopes(s)
    f = f_i = f_j = g = g_i = g_j = 0.0
    stride = np.uint64(2 * columns)
    n = np.uint64(first + 2 * (i * columns + j))
    for k in range(4):
        a = a0 if k == 0 else (a1 if k == 1 else (a2 if k == 2 else a3))
        d = d0 if k == 0 else (d1 if k == 1 else (d2 if k == 2 else d3))
        c0, c1, c2, c3 = table[n], table[n + _2], table[n + _4], table[n + _6]
        along = b0 * c0 + b1 * c1 + b2 * c2 + b3 * c3
        f += a * along
        f_i += d * along
        f_j += a * (e0 * c0 + e1 * c1 + e2 * c2 + e3 * c3)
        c0, c1, c2, c3 = table[n + _1], table[n + _3], table[n + _5], table[n + _7]
        along = b0 * c0 + b1 * c1 + b2 * c2 + b3 * c3
        g += a * along
        g_i += d * along
        g_j += a * (e0 * c0 + e1 * c1 + e2 * c2 + e3 * c3)
        n += stride
    return f, f_i, f_j, g, g_i, g_j


@compiled
def value_with_slopes(
    table: NDArray[np.float64], first: int, columns: int, i: int, t: float, j: int, s: float
) -> tuple[float, float, float]:
    """One property with its derivatives per cell width, at one place: `pair_with_slopes` of shape (rows, columns)."""
    a0, a1, a2, a3 = weights(t)
    d0, d1, d2, d3 = slopes(t)
    b0, b1, b2, b3 = weights(s)
    e0, e1, e2, e3 = slopes(s)
    f = f_i = f_j = 0.0
    stride = np.uint64(columns)
    n = np.uint64(first + i * columns + j)
    for k in range(4):
        a = a0 if k == 0 else (a1 if k == 1 else (a2 if k == 2 else a3))
        d = d0 if k == 0 else (d1 if k == 1 else (d2 if k == 2 else d3))
        c0, c1, c2, c3 = table[n], table[n + _1], table[n + _2], table[n + _3]
        along = b0 * c0 + b1 * c1 + b2 * c2 + b3 * c3
        f += a * along
        f_i += d * along
        f_j += a * (e0 * c0 + e1 * c1 + e2 * c2 + e3 * c3)
        n += stride
    return f, f_i, f_j


@compiled
def pair_values(
    table: NDArray[np.float64], first: int, columns: int, i: int, t: float, j: int, s: float
) -> tuple[float, float]:
    """Two interleaved properties at one place, without derivatives, otherwise as `pair_with_slopes`."""
    a0, a1, a2, a3 = weights(t)
    b0, b1, b2, b3 = weights(s)
    f = g = 0.0
    stride = np.uint64(2 * columns)
    n = np.uint64(first + 2 * (i * columns + j))
    for k in range(4):
        a = a0 if k == 0 else (a1 if k == 1 else (a2 if k == 2 else a3))
        f += a * (b0 * table[n] + b1 * table[n + _2] + b2 * table[n + _4] + b3 * table[n + _6])
        g += a * (b0 * table[n + _1] + b1 * table[n + _3] + b2 * table[n + _5] + b3 * table[n + _7])
        n += stride
    return f, g
