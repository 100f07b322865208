"""What a firing does to a pair's electrodes: how warm they get, how long that may go on, what an arc takes off.

Of pairs whose material is stated; no numbers for others (physics/contact/CONTACT.md, sections 5 and 8).
"""

from typing import Any, Final

import numpy as np

from explorer.physics.contact import erosion, warming
from explorer.physics.contact.materials import Material, materials
from explorer.stage.columns import ARC
from explorer.stage.outputs.points import FloatArray, Points

#: Temperature of the electrodes before a firing [K].
COLD: Final[float] = 293.15


def _material(points: Points, pair: str) -> Material | None:
    name = next(own.material for own in points.design.pairs if own.name == pair)
    return None if name is None else materials()[name]


def _nothing(points: Points) -> FloatArray:
    return np.full(points.outcomes.size, np.nan)


def _slab(points: Points, pair: str, material: Material) -> dict[str, Any]:
    """The electrode as a slab under a flux that falls as it warms; the drop's power, half to each, does not fall."""
    area = points.of_electrodes(pair, "length") * points.at_middle(pair, "width")
    falling = points.of_pair(pair, "heat_transfer")
    constant = 0.5 * points.of_pair(pair, "electrode_drop_power") / area
    recovery = points.of_pair(pair, "recovery_temperature") + constant / falling
    return {
        "heat_flux": falling * (recovery - COLD),
        "recovery_temperature": recovery,
        "start_temperature": COLD,
        "conductivity": material.conductivity,
        "density": material.density,
        "heat_capacity": material.heat_capacity,
        "thickness": points.value("mass.electrode_thickness"),
    }


def electrode_temperature(points: Points, pair: str) -> FloatArray:
    """Surface temperature at the end of a firing [K]."""
    material = _material(points, pair)
    if material is None or "gas.burn_time" not in points.values:
        return _nothing(points)
    return warming.surface_temperature(points.value("gas.burn_time"), **_slab(points, pair, material))


def allowed_burn_time(points: Points, pair: str) -> FloatArray:
    """Time until the surface reaches its material's limit [s]."""
    material = _material(points, pair)
    if material is None:
        return _nothing(points)
    return warming.allowed_burn_time(material.service_limit, **_slab(points, pair, material))


def erosion_depth(points: Points, pair: str) -> FloatArray:
    """Depth that an arc takes off in a firing [m]; 0 without an arc."""
    material = _material(points, pair)
    if material is None or "gas.burn_time" not in points.values:
        return _nothing(points)
    arc = points.of_pair(pair, "contact") == ARC
    current = np.where(arc, points.of_pair(pair, "moved_current"), 0.0)
    depth = erosion.depth_per_firing(
        erosion=points.of_electrodes(pair, "erosion"),
        charge_moved=current * points.value("gas.burn_time"),
        density=material.density,
        area=erosion.root_area(
            share=points.of_electrodes(pair, "root_share"),
            length=points.of_electrodes(pair, "length"),
            width=points.at_middle(pair, "width"),
        ),
    )
    return points.where_numbered(depth)


def firings_lasted(points: Points, pair: str) -> FloatArray:
    """Firings until the allowed depth has come off [-]; NaN where no arc takes anything."""
    depth = erosion_depth(points, pair)
    lasted = erosion.firings_lasting(
        allowed_depth=points.of_electrodes(pair, "allowed_depth"), depth_per_firing=depth
    )
    return np.where(np.isfinite(lasted), lasted, np.nan)
