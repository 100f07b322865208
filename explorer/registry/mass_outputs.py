"""Outputs that weigh the stage: magnet, electrodes, channel, supply and store; chamber and propellants are not there.

`model_error` is a judgement of this project without a source: 5 % for masses of simple shapes (screws, flanges and
holders are not drawn), the plasma's own for what hangs on the electrical power, 10 % for the sum. A magnet that was
put on a scale deserves a smaller one in the study.
"""

from functools import partial
from typing import Final

from explorer.registry.flow_outputs import GAIN_ERROR, PLASMA_ERROR
from explorer.registry.quantity import Quantity, named

SHAPE_ERROR: Final = 0.05

_output = partial(Quantity, kind="output")
_mass = partial(_output, unit="kg", formula="explorer.physics.mass", model_error=SHAPE_ERROR)

_MASSES: Final = {
    "magnet_mass": _mass(
        "m_m", "Mass of both magnet blocks, or of the magnet as stated; none where neither is known."
    ),
    "yoke_mass": _mass("m_y", "Mass of the iron frame around the magnet blocks; 0 without blocks."),
    "electrode_mass": _mass("m_e", "Mass of the electrode plates of all pairs."),
    "channel_mass": _mass(
        "m_w", "Mass of the channel's four walls over its whole length, nothing cut out for the electrodes."
    ),
    "supply_mass": _mass(
        "|V I|/(P/m)",
        "Mass of the supplies, or of the converters that take what the stage delivers: electrical power of each "
        "pair over mass.supply_specific_power.",
        model_error=PLASMA_ERROR,
    ),
    "store_mass": _mass(
        "V I t_p/(E/m)",
        "Mass of the store that feeds the stage for mass.powered_time; 0 where the stage delivers.",
        model_error=PLASMA_ERROR,
    ),
    "stage_mass": _mass(
        "Σ m",
        "Magnet, yoke, electrodes, channel walls, supply and store together; chamber, tanks and propellants are "
        "not counted.",
        model_error=GAIN_ERROR,
    ),
    "thrust_gain_per_mass": _output(
        "ΔF/Σ m",
        "Thrust gain over the mass of the stage.",
        "N/kg",
        formula="explorer.stage.outputs",
        model_error=PLASMA_ERROR,
    ),
}

MASS_OUTPUTS: Final[tuple[Quantity, ...]] = named(_MASSES)
