"""Magnetic field along the channel's axis: uniform, or between two rectangular permanent-magnet blocks.

x runs with the flow, the field points across the width of the channel. The blocks stand either side of it
with their magnetisation along the field, so that they attract each other. Each is magnetised uniformly and
stiffly (relative permeability 1; real neodymium magnets have about 1.05 and come out a few per cent weaker);
iron enters as one factor. Caution: such blocks jump together and crush fingers, shatter into sharp pieces,
and disturb pacemakers.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

#: Relative change of a neodymium magnet's remanence with temperature [1/K]: makers' grade tables.
REMANENCE_SLOPE: Final = -1.2e-3
#: Temperature that the makers' remanence stands for [K].
GRADE_TEMPERATURE: Final = 293.15


@dataclass(frozen=True)
class Grade:
    """A grade of neodymium magnet.

    Attributes
    ----------
    name : str
        As makers print it. [-]
    lowest_remanence : float
        Lower end of the maker's range at 20 °C. [T]
    highest_remanence : float
        Upper end of the maker's range at 20 °C. [T]
    limit_temperature : float
        Above it the magnet loses some of its field for good. [K]
    """

    name: str
    lowest_remanence: float
    highest_remanence: float
    limit_temperature: float


#: Makers' grade tables: N42 and N52 read there, the others from memory. Limit 80 °C; N52 is sold with 60 to
#: 80 °C, the lower one is taken.
GRADES: Final[Mapping[str, Grade]] = {
    grade.name: grade
    for grade in (
        Grade("N35", 1.17, 1.22, 353.15),
        Grade("N38", 1.22, 1.25, 353.15),
        Grade("N40", 1.25, 1.28, 353.15),
        Grade("N42", 1.28, 1.33, 353.15),
        Grade("N45", 1.32, 1.38, 353.15),
        Grade("N48", 1.37, 1.43, 353.15),
        Grade("N50", 1.40, 1.46, 353.15),
        Grade("N52", 1.42, 1.48, 333.15),
    )
}


def remanence_at(temperature: ArrayLike, *, remanence: ArrayLike) -> FloatArray:
    """Return the remanence of a neodymium magnet at its temperature. [T]

    Linear and reversible, which holds from about -40 °C to the grade's limit temperature.

    Parameters
    ----------
    temperature : array_like
        Temperature of the magnet. [K]
    remanence : array_like
        Remanence at 20 °C. [T]
    """
    change = REMANENCE_SLOPE * (np.asarray(temperature, dtype=np.float64) - GRADE_TEMPERATURE)
    return np.asarray(remanence, dtype=np.float64) * (1.0 + change)


def uniform_axis_field(x: ArrayLike, *, field: ArrayLike) -> FloatArray:
    """Return a stated field at each point of the axis, shape (samples, points). [T]

    Parameters
    ----------
    x : array_like, shape (points,)
        Position along the channel. [m]
    field : array_like, shape (samples,) or ()
        Field across the width. [T]
    """
    field, x = np.broadcast_arrays(np.asarray(field, dtype=np.float64)[..., None], np.asarray(x))
    return np.array(field)


def blocks_axis_field(
    x: ArrayLike,
    *,
    remanence: ArrayLike,
    length: ArrayLike,
    height: ArrayLike,
    thickness: ArrayLike,
    spacing: ArrayLike,
    middle: ArrayLike,
    yoke_factor: ArrayLike,
) -> FloatArray:
    """Return the field of two attracting blocks on the channel's axis, shape (samples, points). [T]

    Uniformly charged pole faces in closed form (magpylib); by symmetry one block's field counts twice.

    Parameters
    ----------
    x : array_like, shape (points,) or (samples, points)
        Position along the channel. [m]
    remanence : array_like, shape (samples,) or ()
        Remanence at the magnets' temperature. [T]
    length : array_like, shape (samples,) or ()
        Size of a block along the flow. [m]
    height : array_like, shape (samples,) or ()
        Size of a block along the electric field. [m]
    thickness : array_like, shape (samples,) or ()
        Size of a block along its magnetisation. [m]
    spacing : array_like, shape (samples,) or ()
        Free distance between the two faces. [m]
    middle : array_like, shape (samples,) or ()
        Position of the blocks' middle along the channel. [m]
    yoke_factor : array_like, shape (samples,) or ()
        What an iron yoke multiplies the field by, 1 without one. [-]
    """
    samples = (remanence, length, height, thickness, spacing, middle, yoke_factor)
    columns = (np.asarray(value, dtype=np.float64)[..., None] for value in samples)
    x, B_r, a, b, c, s, x_m, factor = np.broadcast_arrays(np.asarray(x, dtype=np.float64), *columns)
    zero = np.zeros(x.size)
    from magpylib.core import magnet_cuboid_Bfield  # loads slowly, and a stated field needs no blocks

    field = magnet_cuboid_Bfield(
        observers=np.column_stack([(x - x_m).ravel(), zero, -0.5 * (s + c).ravel()]),
        dimensions=np.column_stack([a.ravel(), b.ravel(), c.ravel()]),
        polarizations=np.column_stack([zero, zero, B_r.ravel()]),
    )
    return 2.0 * factor * np.asarray(field, dtype=np.float64)[:, 2].reshape(x.shape)


def blocks_mean_field(
    *,
    start: ArrayLike,
    end: ArrayLike,
    remanence: ArrayLike,
    length: ArrayLike,
    height: ArrayLike,
    thickness: ArrayLike,
    spacing: ArrayLike,
    middle: ArrayLike,
    yoke_factor: ArrayLike,
) -> FloatArray:
    """Return the mean field of two attracting blocks on the axis between two positions, shape (samples,). [T]

    The same pole faces integrated in closed form along the axis: exact also where a block ends in between.

    Parameters
    ----------
    start : array_like, shape (samples,) or ()
        Where the interval starts. [m]
    end : array_like, shape (samples,) or ()
        Where the interval ends. [m]
    remanence : array_like, shape (samples,) or ()
        Remanence at the magnets' temperature. [T]
    length : array_like, shape (samples,) or ()
        Size of a block along the flow. [m]
    height : array_like, shape (samples,) or ()
        Size of a block along the electric field. [m]
    thickness : array_like, shape (samples,) or ()
        Size of a block along its magnetisation. [m]
    spacing : array_like, shape (samples,) or ()
        Free distance between the two faces. [m]
    middle : array_like, shape (samples,) or ()
        Position of the blocks' middle along the channel. [m]
    yoke_factor : array_like, shape (samples,) or ()
        What an iron yoke multiplies the field by, 1 without one. [-]
    """
    x_0, x_1, B_r, a, b, c, s, x_m, factor = (
        np.asarray(value, dtype=np.float64)
        for value in (start, end, remanence, length, height, thickness, spacing, middle, yoke_factor)
    )
    total = np.zeros(())
    for z, charge in ((0.5 * s, 1.0), (0.5 * s + c, -1.0)):
        for X, sign in ((x_1 - x_m, charge), (x_0 - x_m, -charge)):
            total = total + sign * (_face_sum(X + 0.5 * a, 0.5 * b, z) - _face_sum(X - 0.5 * a, 0.5 * b, z))
    return np.asarray(factor * B_r / np.pi * total / (x_1 - x_0))


def _face_sum(X: FloatArray, b: FloatArray, z: FloatArray) -> FloatArray:
    """Integral over X of the pole-face term atan(X b/(z r)), r² = X² + b² + z² [m]."""
    r = np.sqrt(X**2 + b**2 + z**2)
    return np.asarray(X * np.arctan(X * b / (z * r)) + z * np.arctanh(b / r))
