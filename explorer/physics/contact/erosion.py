"""What an arc takes off an electrode: depth per firing, and how many firings the electrode lasts.

Mass goes with the charge that passes either way, and comes off where the arc has its root: a share of the electrode's
downstream half, to which the flow blows it. Which of the two electrodes' edges carries more isn't modelled.
CONTACT.md, section 5.

All functions take numbers or arrays that broadcast.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def root_area(*, share: ArrayLike, length: ArrayLike, width: ArrayLike) -> FloatArray:
    """Return the area over which an arc's root wanders, a share of the electrode's downstream half [m²].

    Parameters
    ----------
    share : array_like
        [-] `root_area`, 0.2 to 1 (assumed).
    length, width : array_like
        [m] of the electrode along the flow, and across.

    Notes
    -----
    Never more than the electrode's own, whatever the share.
    """
    whole = np.asarray(length, dtype=np.float64) * np.asarray(width, dtype=np.float64)
    return np.asarray(np.minimum(0.5 * np.asarray(share, dtype=np.float64), 1.0) * whole)


def depth_per_firing(
    *, erosion: ArrayLike, charge_moved: ArrayLike, density: ArrayLike, area: ArrayLike
) -> FloatArray:
    """Return the depth that a firing takes off, e ∫|i| dt/(ρ A) [m].

    Parameters
    ----------
    erosion : array_like
        [kg/C] mass per charge.
    charge_moved : array_like
        [C] ∫|i| dt of the firing.
    density : array_like
        [kg/m³] of the electrode.
    area : array_like
        [m²] from `root_area`.
    """
    mass = np.asarray(erosion, dtype=np.float64) * np.asarray(charge_moved, dtype=np.float64)
    return np.asarray(mass / (np.asarray(density, dtype=np.float64) * np.asarray(area, dtype=np.float64)))


def firings_lasting(*, allowed_depth: ArrayLike, depth_per_firing: ArrayLike) -> FloatArray:
    """Return how many firings an electrode lasts [-], not rounded; infinite where nothing comes off.

    Parameters
    ----------
    allowed_depth, depth_per_firing : array_like
        [m] that may come off, and what a firing takes.
    """
    allowed, taken = np.broadcast_arrays(
        np.asarray(allowed_depth, dtype=np.float64), np.asarray(depth_per_firing, dtype=np.float64)
    )
    return np.asarray(np.divide(allowed, taken, out=np.full(allowed.shape, np.inf), where=taken > 0.0))
