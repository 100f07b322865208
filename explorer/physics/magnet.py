"""Magnetic field along the channel's axis between two rectangular permanent-magnet blocks.

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
    """A grade of neodymium magnet."""

    name: str  #: as makers print it
    lowest_remanence: float  #: [T] lower end of the maker's range at 20 °C
    highest_remanence: float  #: [T] upper end of the maker's range at 20 °C
    limit_temperature: float  #: [K] above it the magnet loses some of its field for good


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
    """Return the remanence of a neodymium magnet at its temperature [T].

    Linear and reversible, which holds from about -40 °C to the grade's limit temperature.

    Parameters
    ----------
    temperature : array_like
        [K] temperature of the magnet.
    remanence : array_like
        [T] remanence at 20 °C.
    """
    change = REMANENCE_SLOPE * (np.asarray(temperature, dtype=np.float64) - GRADE_TEMPERATURE)
    return np.asarray(remanence, dtype=np.float64) * (1.0 + change)


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
    """Return the field of two attracting blocks on the channel's axis, shape (samples, points) [T].

    Uniformly charged pole faces in closed form (magpylib); by symmetry one block's field counts twice.

    Parameters
    ----------
    x : array_like, shape (points,) or (samples, points)
        [m] position along the channel.
    remanence : array_like, shape (samples,) or ()
        [T] remanence at the magnets' temperature.
    length : array_like, shape (samples,) or ()
        [m] size of a block along the flow.
    height : array_like, shape (samples,) or ()
        [m] size of a block along the electric field.
    thickness : array_like, shape (samples,) or ()
        [m] size of a block along its magnetisation.
    spacing : array_like, shape (samples,) or ()
        [m] free distance between the two faces.
    middle : array_like, shape (samples,) or ()
        [m] position of the blocks' middle along the channel.
    yoke_factor : array_like, shape (samples,) or ()
        [-] what an iron yoke multiplies the field by, 1 without one.
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
