"""Inputs of a study that say what the stage's parts weigh: densities, thicknesses, specific power and energy.

None of them reaches the gas or the circuit: they move masses and nothing else. All may be left out; the defaults
are assumed, and chosen so that the stage comes out heavy rather than light. Densities from handbooks are from memory.
"""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity

_input = partial(
    Quantity,
    kind="input",
    may_be_uncertain=True,
    low=0.0,
    default_origin="assumed",
    formula="explorer.physics.mass",
)
_thickness = partial(_input, unit="m", shown_unit="mm", low_open=False)
_density = partial(_input, unit="kg/m^3", shown_unit="kg/m^3")

MASS_INPUTS: Final[tuple[Quantity, ...]] = (
    _input(
        address="mass.magnet",
        unit="kg",
        shown_unit="kg",
        symbol="m_m",
        sentence="Mass of the magnet, yoke and all, where its field is stated or measured and not worked out "
        "from blocks; it doesn't follow the field. Without it magnet and stage have no mass.",
        low_open=False,
        default_origin=None,
    ),
    _density(
        address="mass.magnet_density",
        symbol="ρ_m",
        sentence="Density of the magnet blocks; assumed for sintered neodymium magnets (common practice, no "
        "source).",
        default=7500.0,
    ),
    _thickness(
        address="mass.yoke_thickness",
        symbol="t_y",
        sentence="Thickness of the iron frame around both magnet blocks; 0 counts no yoke. The field knows a "
        "yoke by magnet.blocks.yoke_factor alone.",
        default=0.0,
    ),
    _density(
        address="mass.yoke_density",
        symbol="ρ_y",
        sentence="Density of the yoke; assumed for iron (CRC Handbook, 7.87 g/cm³ at room temperature).",
        default=7870.0,
    ),
    _thickness(
        address="mass.electrode_thickness",
        symbol="t_e",
        sentence="Thickness of each electrode plate (assumed; common practice for seconds of firing, no "
        "source).",
        default=0.005,
    ),
    _density(
        address="mass.electrode_density",
        symbol="ρ_e",
        sentence="Density of the electrodes; assumed for copper (CRC Handbook, 8.96 g/cm³ at room temperature); "
        "molybdenum has 10.2, graphite 1.7 to 1.9 g/cm³.",
        default=8960.0,
    ),
    _thickness(
        address="mass.wall_thickness",
        symbol="t_w",
        sentence="Thickness of the channel's walls on all four sides (assumed; common practice, no source).",
        default=0.010,
    ),
    _density(
        address="mass.wall_density",
        symbol="ρ_w",
        sentence="Density of the channel's insulating walls; assumed for dense alumina (makers' data sheets, 3.8 "
        "to 3.95 g/cm³); boron nitride has about 2, phenolic 1.4 g/cm³.",
        default=3900.0,
    ),
    _input(
        address="mass.supply_specific_power",
        unit="W/kg",
        shown_unit="kW/kg",
        symbol="P/m",
        sentence="Terminal power per mass of supply, converter and leads; assumed for power electronics built to "
        "be light (common practice, no source): laboratory supplies reach a fifth of it.",
        default=1000.0,
    ),
    _input(
        address="mass.store_specific_energy",
        unit="J/kg",
        shown_unit="Wh/kg",
        symbol="E/m",
        sentence="Energy per mass that the store gives within the powered time. Assumed for cells emptied in ten "
        "seconds at 4 kW/kg (common practice, no source); in a time this short power is the limit, not the 100 "
        "to 200 Wh/kg that cells hold: half the time, half the figure.",
        default=36_000.0,
    ),
    _input(
        address="mass.powered_time",
        unit="s",
        shown_unit="s",
        symbol="t_p",
        sentence="How long the store feeds the stage (assumed).",
        low_open=False,
        default=10.0,
    ),
)
