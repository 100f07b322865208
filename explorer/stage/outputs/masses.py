"""What the parts of a stage weigh; the formulas stand in `physics/mass.py`.

A stage that a point's flow can't be found for has no masses either: NaN, though shapes are known without the flow.
"""

import numpy as np

from explorer.physics import mass
from explorer.stage.outputs.points import FloatArray, Points


def magnet_mass(points: Points) -> FloatArray:
    """Both magnet blocks, or the magnet as stated; NaN where its field is stated and its mass is not [kg]."""
    if points.design.magnet != "blocks":
        return points.where_numbered(np.asarray(points.values.get("mass.magnet", np.nan), dtype=np.float64))
    both = mass.blocks_mass(
        length=points.value("magnet.blocks.length"),
        height=points.value("magnet.blocks.height"),
        thickness=points.value("magnet.blocks.thickness"),
        density=points.value("mass.magnet_density"),
    )
    return points.where_numbered(both)


def yoke_mass(points: Points) -> FloatArray:
    """The frame around the blocks; without blocks it is part of the magnet as stated [kg]."""
    if points.design.magnet != "blocks":
        return points.where_numbered(np.zeros(()))
    frame = mass.yoke_mass(
        length=points.value("magnet.blocks.length"),
        height=points.value("magnet.blocks.height"),
        block_thickness=points.value("magnet.blocks.thickness"),
        spacing=points.value("magnet.blocks.spacing"),
        yoke_thickness=points.value("mass.yoke_thickness"),
        density=points.value("mass.yoke_density"),
    )
    return points.where_numbered(frame)


def electrode_mass(points: Points) -> FloatArray:
    """The electrodes of all pairs [kg]."""
    each = [
        mass.electrode_mass(
            length=points.of_electrodes(pair.name, "length"),
            width=points.at_middle(pair.name, "width"),
            thickness=points.value("mass.electrode_thickness"),
            density=points.value("mass.electrode_density"),
        )
        for pair in points.design.pairs
    ]
    return points.where_numbered(sum(each, start=np.zeros(())))


def channel_mass(points: Points) -> FloatArray:
    """The channel's walls [kg]."""
    walls = mass.channel_mass(
        length=points.value("channel.length"),
        gap_in=points.value("channel.gap_in"),
        gap_out=points.value("channel.gap_out"),
        width_in=points.value("channel.width_in"),
        width_out=points.value("channel.width_out"),
        thickness=points.value("mass.wall_thickness"),
        density=points.value("mass.wall_density"),
    )
    return points.where_numbered(walls)


def _powers(points: Points) -> list[FloatArray]:
    return [points.electrical_power(pair.name) for pair in points.design.pairs]


def supply_mass(points: Points) -> FloatArray:
    """What feeds the circuits, or takes what they deliver [kg]."""
    together = np.sum(np.abs(_powers(points)), axis=0)
    return mass.supply_mass(power=together, specific_power=points.value("mass.supply_specific_power"))


def store_mass(points: Points) -> FloatArray:
    """The store that feeds the stage [kg]."""
    return mass.store_mass(
        power=np.sum(_powers(points), axis=0),
        time=points.value("mass.powered_time"),
        specific_energy=points.value("mass.store_specific_energy"),
    )
