"""Outputs of the stage as a whole: streams, chamber, inlet, channel, exit, thrust.

`model_error` is the relative standard uncertainty that the model itself is assumed to have where a study says
nothing: 2 % for the flow (quasi-one-dimensional, equilibrium), 10 % for the gains, 15 % for what hangs on the
plasma. These are judgements of this project, without a source: a study should state its own.
"""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity

FLOW_ERROR: Final = 0.02
GAIN_ERROR: Final = 0.10
PLASMA_ERROR: Final = 0.15

_output = partial(Quantity, kind="output")
_flow = partial(_output, formula="explorer.stage.expansion", model_error=FLOW_ERROR)
_loss = partial(_output, formula="explorer.stage.march", model_error=PLASMA_ERROR)
_plasma = partial(_output, formula="explorer.physics.conductivity", model_error=PLASMA_ERROR)
_stream = partial(
    _output, unit="kg/s", shown_unit="g/s", formula="explorer.physics.streams", model_error=FLOW_ERROR
)
_thrust = partial(_output, unit="N", shown_unit="N", formula="explorer.stage.kernel")

INLET_OUTPUTS: Final[tuple[Quantity, ...]] = (
    # streams and chamber
    _flow(
        address="mass_flow",
        unit="kg/s",
        shown_unit="g/s",
        symbol="ṁ",
        sentence="Everything injected per second: the gas and the seed compound that stays condensed.",
    ),
    _flow(
        address="gas_flow",
        unit="kg/s",
        shown_unit="g/s",
        symbol="ṁ_g",
        sentence="Gas through the throat: discharge coefficient × max(ρu) × throat area.",
    ),
    _stream(
        address="fuel_flow",
        symbol="ṁ_f",
        sentence="Mass flow of fuel.",
    ),
    _stream(
        address="oxidizer_flow",
        symbol="ṁ_ox",
        sentence="Mass flow of oxidizer.",
    ),
    _stream(
        address="seed_solution_flow",
        symbol="ṁ_s",
        sentence="Mass flow of the seed compound together with its carrier water.",
    ),
    _stream(
        address="condensed_flow",
        symbol="ṁ_u",
        sentence="Mass flow of the seed compound that does not vaporise and leaves as inert grains.",
    ),
    _flow(
        address="flame_temperature",
        unit="K",
        shown_unit="K",
        symbol="T_ad",
        sentence="Adiabatic equilibrium flame temperature at the chamber pressure.",
    ),
    _flow(
        address="chamber_temperature",
        unit="K",
        shown_unit="K",
        symbol="T_c",
        sentence="Chamber temperature at which the characteristic velocity is efficiency × that of the "
        "flame.",
    ),
    _flow(
        address="characteristic_velocity",
        unit="m/s",
        shown_unit="m/s",
        symbol="c*",
        sentence="Chamber pressure over the largest mass flux ρu of the isentropic equilibrium expansion.",
    ),
    # channel inlet
    _flow(
        address="inlet_pressure",
        unit="Pa",
        shown_unit="bar",
        symbol="p_1",
        sentence="Static pressure at the channel's inlet.",
    ),
    _flow(
        address="inlet_temperature",
        unit="K",
        shown_unit="K",
        symbol="T_1",
        sentence="Static temperature at the channel's inlet.",
    ),
    _flow(
        address="inlet_velocity",
        unit="m/s",
        shown_unit="m/s",
        symbol="u_1",
        sentence="Gas velocity at the channel's inlet.",
    ),
    _flow(
        address="inlet_mach",
        unit="1",
        shown_unit="1",
        symbol="M_1",
        sentence="Mach number at the channel's inlet.",
    ),
    _plasma(
        address="inlet_conductivity",
        unit="S/m",
        shown_unit="S/m",
        symbol="σ_1",
        sentence="Electrical conductivity at the channel's inlet, its factors included.",
    ),
    _plasma(
        address="inlet_electron_density",
        unit="1/m^3",
        shown_unit="1/m^3",
        symbol="n_e1",
        sentence="Electron number density at the channel's inlet, from the equilibrium composition.",
    ),
)

EXIT_OUTPUTS: Final[tuple[Quantity, ...]] = (
    # the channel as a whole
    _loss(
        address="wall_heat",
        unit="W",
        shown_unit="kW",
        symbol="∫ q P dx",
        sentence="Heat from the gas into the channel's walls.",
        sign="positive out of the gas",
    ),
    _loss(
        address="friction_force",
        unit="N",
        shown_unit="N",
        symbol="∫ τ P dx",
        sentence="Drag of the channel's walls on the gas.",
        sign="positive when it slows the gas",
    ),
    _flow(
        address="wall_pressure_force",
        unit="N",
        shown_unit="N",
        symbol="∫ p dA",
        sentence="Forward push of the gas pressure on the widening walls of the channel.",
        sign="positive in a widening channel",
    ),
    _flow(
        address="outlet_pressure",
        unit="Pa",
        shown_unit="bar",
        symbol="p_2",
        sentence="Static pressure at the channel's outlet, before the exit expansion.",
    ),
    _flow(
        address="outlet_temperature",
        unit="K",
        shown_unit="K",
        symbol="T_2",
        sentence="Static temperature at the channel's outlet, before the exit expansion.",
    ),
    _flow(
        address="outlet_velocity",
        unit="m/s",
        shown_unit="m/s",
        symbol="u_2",
        sentence="Gas velocity at the channel's outlet, before the exit expansion.",
    ),
    _flow(
        address="outlet_mach",
        unit="1",
        shown_unit="1",
        symbol="M_2",
        sentence="Mach number at the channel's outlet, before the exit expansion.",
    ),
    _flow(
        address="exit_pressure",
        unit="Pa",
        shown_unit="bar",
        symbol="p_e",
        sentence="Static pressure at the exit, power on.",
    ),
    _flow(
        address="exit_temperature",
        unit="K",
        shown_unit="K",
        symbol="T_e",
        sentence="Static temperature at the exit, power on.",
    ),
    _flow(
        address="exit_velocity",
        unit="m/s",
        shown_unit="m/s",
        symbol="u_e",
        sentence="Gas velocity at the exit, power on.",
    ),
    _flow(
        address="exit_mach",
        unit="1",
        shown_unit="1",
        symbol="M_e",
        sentence="Mach number at the exit, power on.",
    ),
    _flow(
        address="exit_pressure_change",
        unit="Pa",
        shown_unit="mbar",
        symbol="Δp_e",
        sentence="Exit pressure, on minus all pairs open.",
        model_error=GAIN_ERROR,
    ),
    # thrust
    _thrust(
        address="thrust_open_circuit",
        symbol="F_0",
        sentence="Thrust with all pairs open: gas flow × u_e + (p_e − p_a) A_e.",
        model_error=FLOW_ERROR,
    ),
    _thrust(
        address="thrust",
        symbol="F",
        sentence="Thrust with the circuit on: gas flow × u_e + (p_e − p_a) A_e.",
        model_error=FLOW_ERROR,
    ),
    _thrust(
        address="thrust_gain",
        symbol="ΔF",
        sentence="Thrust on minus thrust with all pairs open.",
        model_error=GAIN_ERROR,
    ),
    _thrust(
        address="thrust_gain_heating",
        symbol="ΔF_h",
        sentence="What a plain heater of the same gas-side power would add to the open-circuit thrust.",
        model_error=GAIN_ERROR,
    ),
    _thrust(
        address="thrust_per_power",
        unit="N/W",
        shown_unit="N/kW",
        symbol="ΔF/P",
        sentence="Thrust gain over electrical power.",
        model_error=GAIN_ERROR,
    ),
    _thrust(
        address="jet_power",
        unit="W",
        shown_unit="kW",
        symbol="½ ṁ u_e²",
        sentence="Kinetic power of the exhaust at the exit.",
        model_error=FLOW_ERROR,
    ),
)
