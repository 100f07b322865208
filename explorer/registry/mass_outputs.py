"""Outputs that weigh the stage: magnet, electrodes, channel, supply and store; chamber and propellants are not there.

`model_error` is a judgement of this project without a source: 5 % for masses of simple shapes (screws, flanges and
holders are not drawn), the plasma's own for what hangs on the electrical power, 10 % for the sum. A magnet that was
put on a scale deserves a smaller one in the study.
"""

from functools import partial
from typing import Final

from explorer.registry.flow_outputs import GAIN_ERROR, PLASMA_ERROR
from explorer.registry.quantity import Quantity

SHAPE_ERROR: Final = 0.05

_mass = partial(
    Quantity,
    kind="output",
    unit="kg",
    shown_unit="kg",
    formula="explorer.physics.mass",
    model_error=SHAPE_ERROR,
)

MASS_OUTPUTS: Final[tuple[Quantity, ...]] = (
    _mass(
        address="magnet_mass",
        symbol="m_m",
        sentence="Mass of both magnet blocks, or of the magnet as stated; none where neither is known.",
    ),
    _mass(
        address="yoke_mass",
        symbol="m_y",
        sentence="Mass of the iron frame around the magnet blocks; 0 without blocks.",
    ),
    _mass(
        address="electrode_mass",
        symbol="m_e",
        sentence="Mass of the electrode plates of all pairs.",
    ),
    _mass(
        address="channel_mass",
        symbol="m_w",
        sentence="Mass of the channel's four walls over its whole length, nothing cut out for the electrodes.",
    ),
    _mass(
        address="supply_mass",
        symbol="|V I|/(P/m)",
        sentence="Mass of the supplies, or of the converters that take what the stage delivers: electrical power "
        "of each pair over mass.supply_specific_power.",
        model_error=PLASMA_ERROR,
    ),
    _mass(
        address="store_mass",
        symbol="V I t_p/(E/m)",
        sentence="Mass of the store that feeds the stage for mass.powered_time; 0 where the stage delivers.",
        model_error=PLASMA_ERROR,
    ),
    _mass(
        address="stage_mass",
        symbol="Σ m",
        sentence="Magnet, yoke, electrodes, channel walls, supply and store together; chamber, tanks and "
        "propellants are not counted.",
        model_error=GAIN_ERROR,
    ),
    _mass(
        address="thrust_gain_per_mass",
        unit="N/kg",
        shown_unit="N/kg",
        symbol="ΔF/Σ m",
        sentence="Thrust gain over the mass of the stage.",
        formula="explorer.stage.outputs",
        model_error=PLASMA_ERROR,
    ),
)
