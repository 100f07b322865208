"""Masses of a stage's parts as simple shapes, and of what stores and turns over its power.

Blocks, plates, a frame and a duct with sharp edges: screws, holders, flanges and cooling are not counted. What stores
and turns over power weighs in proportion to it; the proportions are the caller's.

All functions take numbers or arrays and broadcast.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def _floats(*values: ArrayLike) -> tuple[FloatArray, ...]:
    return tuple(np.asarray(value, dtype=np.float64) for value in values)


def blocks_mass(
    *, length: ArrayLike, height: ArrayLike, thickness: ArrayLike, density: ArrayLike
) -> FloatArray:
    """Return the mass of both magnet blocks, yoke and holder not counted [kg].

    Parameters
    ----------
    length : array_like
        [m] size of a block along the flow.
    height : array_like
        [m] size of a block along the electric field.
    thickness : array_like
        [m] size of a block along its magnetisation.
    density : array_like
        [kg/m³] density of the magnets.
    """
    a, b, c, rho = _floats(length, height, thickness, density)
    return np.asarray(2.0 * rho * a * b * c)


def yoke_mass(
    *,
    length: ArrayLike,
    height: ArrayLike,
    block_thickness: ArrayLike,
    spacing: ArrayLike,
    yoke_thickness: ArrayLike,
    density: ArrayLike,
) -> FloatArray:
    """Return the mass of a closed rectangular frame around both magnet blocks, as long as they are [kg].

    The frame fits tightly: it is open by the spacing and both blocks one way, by the blocks' height the other. Whether
    it carries their flux without saturating is not asked here.

    Parameters
    ----------
    length : array_like
        [m] size of a block along the flow.
    height : array_like
        [m] size of a block along the electric field.
    block_thickness : array_like
        [m] size of a block along its magnetisation.
    spacing : array_like
        [m] free distance between the blocks' faces.
    yoke_thickness : array_like
        [m] wall of the frame, 0 for none.
    density : array_like
        [kg/m³] density of the frame.
    """
    a, b, c, s, t, rho = _floats(length, height, block_thickness, spacing, yoke_thickness, density)
    return np.asarray(rho * a * _frame_area(s + 2.0 * c, b, t))


def electrode_mass(
    *, length: ArrayLike, width: ArrayLike, thickness: ArrayLike, density: ArrayLike
) -> FloatArray:
    """Return the mass of both electrodes of a pair, plates of even thickness [kg].

    Parameters
    ----------
    length : array_like
        [m] length of the pair along the flow.
    width : array_like
        [m] mean width of the channel along the pair.
    thickness : array_like
        [m] thickness of a plate.
    density : array_like
        [kg/m³] density of the plates.
    """
    length, w, t, rho = _floats(length, width, thickness, density)
    return np.asarray(2.0 * rho * length * w * t)


def channel_mass(
    *,
    length: ArrayLike,
    gap_in: ArrayLike,
    gap_out: ArrayLike,
    width_in: ArrayLike,
    width_out: ArrayLike,
    thickness: ArrayLike,
    density: ArrayLike,
) -> FloatArray:
    """Return the mass of the channel's four walls, corners included [kg].

    The walls' cross-section is linear in gap and width, and these along the channel: that at mid-length times the
    length is the integral exactly. The slant of the walls is left out, as it is in the flow.

    Parameters
    ----------
    length : array_like
        [m] length of the channel.
    gap_in, gap_out : array_like
        [m] distance between the electrode walls at inlet and outlet.
    width_in, width_out : array_like
        [m] distance between the insulating walls at inlet and outlet.
    thickness : array_like
        [m] thickness of the walls, across the flow.
    density : array_like
        [kg/m³] density of the walls.
    """
    L, g_1, g_2, w_1, w_2, t, rho = _floats(length, gap_in, gap_out, width_in, width_out, thickness, density)
    return np.asarray(rho * L * _frame_area(0.5 * (g_1 + g_2), 0.5 * (w_1 + w_2), t))


def _frame_area(a: FloatArray, b: FloatArray, t: FloatArray) -> FloatArray:
    """Area [m²] between a rectangle of sides a, b and the one around it at a distance t [m]."""
    return np.asarray(2.0 * t * (a + b) + 4.0 * t**2)


def supply_mass(*, power: ArrayLike, specific_power: ArrayLike) -> FloatArray:
    """Return the mass of what feeds a circuit, or takes what it delivers [kg].

    Parameters
    ----------
    power : array_like
        [W] electrical power at the terminals, its sign left aside.
    specific_power : array_like
        [W/kg] power per mass.
    """
    power, specific_power = _floats(power, specific_power)
    return np.asarray(np.abs(power) / specific_power)


def store_mass(*, power: ArrayLike, time: ArrayLike, specific_energy: ArrayLike) -> FloatArray:
    """Return the mass of the store that feeds a stage, none where the stage delivers [kg].

    A store that is emptied in seconds is limited by its power: its specific energy must be that of such a discharge.

    Parameters
    ----------
    power : array_like
        [W] electrical power into the stage, negative where it delivers.
    time : array_like
        [s] how long.
    specific_energy : array_like
        [J/kg] energy per mass.
    """
    power, time, specific_energy = _floats(power, time, specific_energy)
    return np.asarray(np.maximum(power, 0.0) * time / specific_energy)
