"""Outputs by which stages of different size compare; interaction parameter, Hall parameter and load factor are others.

`model_error` as for the other outputs; the Reynolds number's is that of the viscosity (`physics/similarity.py`).
"""

from functools import partial
from typing import Final

from explorer.registry.flow_outputs import FLOW_ERROR, GAIN_ERROR, PLASMA_ERROR
from explorer.registry.quantity import Quantity

VISCOSITY_ERROR: Final = 0.15

_number = partial(Quantity, kind="output", unit="1", shown_unit="1", formula="explorer.physics.similarity")
_ratio = partial(_number, shown_unit="%", formula="explorer.stage.outputs")

SIMILARITY_OUTPUTS: Final[tuple[Quantity, ...]] = (
    _number(
        address="reynolds_number",
        symbol="Re_1",
        sentence="ρu × hydraulic diameter over viscosity at the channel's inlet, with the viscosity of air by "
        "Sutherland's law: burnt gas is 4 % (1500 K) to 20 % (3000 K) more viscous, and the number as much too high.",
        model_error=VISCOSITY_ERROR,
    ),
    _ratio(
        address="wall_heat_share",
        symbol="∫ q P dx/(½ ṁ u_e²)",
        sentence="Heat into the channel's walls over the jet's kinetic power.",
        sign="positive out of the gas",
        model_error=PLASMA_ERROR,
    ),
    _number(
        address="pressure_gap",
        unit="Pa m",
        shown_unit="bar mm",
        symbol="p_1 g_in",
        sentence="Static pressure × gap at the channel's inlet, by which discharges of different size compare.",
        model_error=FLOW_ERROR,
    ),
    _ratio(
        address="relative_thrust_gain",
        symbol="ΔF/F_0",
        sentence="Thrust gain over the thrust with all pairs open.",
        model_error=GAIN_ERROR,
    ),
    _ratio(
        address="voltage_drop_share",
        shown_unit="1",
        symbol="V_d/(u B g)",
        sentence="Mean voltage drop at the electrodes over the back EMF; none where no current flows.",
        per_pair=True,
        model_error=PLASMA_ERROR,
    ),
    _number(
        address="magnetic_reynolds_number",
        symbol="µ_0σuL",
        sentence="µ_0 σ u × pair length, with conductivity and velocity at the channel's inlet: far below 1 the "
        "current leaves the field as it is.",
        per_pair=True,
        model_error=PLASMA_ERROR,
    ),
)
