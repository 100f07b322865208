"""Inputs of a study that say what the stage's parts weigh: densities, thicknesses, specific power and energy.

None of them reaches the gas or the circuit: they move masses and nothing else. All may be left out; the defaults
are assumed, and chosen so that the stage comes out heavy rather than light. Densities from handbooks are from memory.
"""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity, named, not_negative, positive

_assumed = partial(positive, default_origin="assumed")
_density = partial(_assumed, unit="kg/m^3")
_thickness = partial(_assumed, unit="m", shown_unit="mm", low_open=False)

_MASSES: Final = {
    "mass.magnet": not_negative(
        "m_m",
        "Mass of the magnet, yoke and all, where its field is stated or measured and not worked out from blocks; "
        "it doesn't follow the field. Without it magnet and stage have no mass.",
        "kg",
    ),
    "mass.magnet_density": _density(
        "ρ_m",
        "Density of the magnet blocks; assumed for sintered neodymium magnets (common practice, no source).",
        default=7500.0,
    ),
    "mass.yoke_thickness": _thickness(
        "t_y",
        "Thickness of the iron frame around both magnet blocks; 0 counts no yoke. The field knows a yoke by "
        "magnet.blocks.yoke_factor alone.",
        default=0.0,
    ),
    "mass.yoke_density": _density(
        "ρ_y",
        "Density of the yoke; assumed for iron (CRC Handbook, 7.87 g/cm³ at room temperature).",
        default=7870.0,
    ),
    "mass.electrode_thickness": _thickness(
        "t_e",
        "Thickness of each electrode plate (assumed; common practice for seconds of firing, no source).",
        default=0.005,
    ),
    "mass.electrode_density": _density(
        "ρ_e",
        "Density of the electrodes; assumed for copper (CRC Handbook, 8.96 g/cm³ at room temperature); molybdenum "
        "has 10.2, graphite 1.7 to 1.9 g/cm³.",
        default=8960.0,
    ),
    "mass.wall_thickness": _thickness(
        "t_w",
        "Thickness of the channel's walls on all four sides (assumed; common practice, no source).",
        default=0.01,
    ),
    "mass.wall_density": _density(
        "ρ_w",
        "Density of the channel's insulating walls; assumed for dense alumina (makers' data sheets, 3.8 to 3.95 "
        "g/cm³); boron nitride has about 2, phenolic 1.4 g/cm³.",
        default=3900.0,
    ),
    "mass.supply_specific_power": _assumed(
        "P/m",
        "Terminal power per mass of supply, converter and leads; assumed for power electronics built to be light "
        "(common practice, no source): laboratory supplies reach a fifth of it.",
        "W/kg",
        "kW/kg",
        default=1000.0,
    ),
    "mass.store_specific_energy": _assumed(
        "E/m",
        "Energy per mass that the store gives within the powered time. Assumed for cells emptied in ten seconds "
        "at 4 kW/kg (common practice, no source); in a time this short power is the limit, not the 100 to 200 "
        "Wh/kg that cells hold: half the time, half the figure.",
        "J/kg",
        "Wh/kg",
        default=36000.0,
    ),
    "mass.powered_time": not_negative(
        "t_p", "How long the store feeds the stage (assumed).", "s", default=10.0, default_origin="assumed"
    ),
}

MASS_INPUTS: Final[tuple[Quantity, ...]] = named(_MASSES, formula="explorer.physics.mass")
