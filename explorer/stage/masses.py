"""What the parts of a stage weigh, from its design and values; the formulas stand in `physics/mass.py`.

Masses of shapes are known without the flow. Whoever asks leaves out the points that carry no number.
"""

import numpy as np
from numpy.typing import NDArray

from explorer.physics import mass
from explorer.stage.design import Design, Values

FloatArray = NDArray[np.float64]


def magnet_mass(design: Design, values: Values) -> FloatArray:
    """Both magnet blocks, or the magnet as stated.

    Parameters
    ----------
    design : Design
    values : mapping
        SI by address.

    Returns
    -------
    NDArray
        [kg] NaN where the field is stated or measured and the mass isn't stated.
    """
    if design.magnet != "blocks":
        return np.asarray(values.get("mass.magnet", np.nan), dtype=np.float64)
    return mass.blocks_mass(
        length=values["magnet.blocks.length"],
        height=values["magnet.blocks.height"],
        thickness=values["magnet.blocks.thickness"],
        density=values["mass.magnet_density"],
    )


def yoke_mass(design: Design, values: Values) -> FloatArray:
    """The frame around the blocks; without blocks it is part of the magnet as stated.

    Parameters
    ----------
    design : Design
    values : mapping
        SI by address.

    Returns
    -------
    NDArray
        [kg]
    """
    if design.magnet != "blocks":
        return np.zeros(())
    return mass.yoke_mass(
        length=values["magnet.blocks.length"],
        height=values["magnet.blocks.height"],
        block_thickness=values["magnet.blocks.thickness"],
        spacing=values["magnet.blocks.spacing"],
        yoke_thickness=values["mass.yoke_thickness"],
        density=values["mass.yoke_density"],
    )


def electrode_mass(values: Values, *, length: FloatArray, width: FloatArray) -> FloatArray:
    """Both electrodes of one pair.

    Parameters
    ----------
    values : mapping
        SI by address.
    length : NDArray
        [m] of the pair.
    width : NDArray
        [m] mean along the pair.

    Returns
    -------
    NDArray
        [kg]
    """
    return mass.electrode_mass(
        length=length,
        width=width,
        thickness=values["mass.electrode_thickness"],
        density=values["mass.electrode_density"],
    )


def channel_mass(values: Values) -> FloatArray:
    """The channel's walls.

    Parameters
    ----------
    values : mapping
        SI by address.

    Returns
    -------
    NDArray
        [kg]
    """
    return mass.channel_mass(
        length=values["channel.length"],
        gap_in=values["channel.gap_in"],
        gap_out=values["channel.gap_out"],
        width_in=values["channel.width_in"],
        width_out=values["channel.width_out"],
        thickness=values["mass.wall_thickness"],
        density=values["mass.wall_density"],
    )
