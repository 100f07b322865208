"""Outputs of the stage as a whole: streams, chamber, inlet, channel, exit, thrust, and by what stages compare.

`model_error` is the relative standard uncertainty that the model itself is assumed to have where a study says
nothing: 2 % for the flow (quasi-one-dimensional, equilibrium), 10 % for the gains, 15 % for what hangs on the
plasma. These are judgements of this project, without a source: a study should state its own. The Reynolds number's
is that of the viscosity (`physics/similarity.py`). What a study states of its gas carries none; the
chamber pressure that follows from stated flows has that of c* (`studyfile/sections/model_error.py`).
"""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity, named

FLOW_ERROR: Final = 0.02
GAIN_ERROR: Final = 0.10
PLASMA_ERROR: Final = 0.15
VISCOSITY_ERROR: Final = 0.15

_output = partial(Quantity, kind="output")
_flow = partial(_output, model_error=FLOW_ERROR)
_gain = partial(_output, model_error=GAIN_ERROR)
_plasma = partial(_output, model_error=PLASMA_ERROR)

_FLOWS: Final = {
    "mass_flow": _flow(
        "ṁ",
        "Everything injected per second: the gas and the seed compound that stays condensed.",
        "kg/s",
        "g/s",
    ),
    "gas_flow": _flow(
        "ṁ_g",
        "Gas through the throat: chamber pressure × discharge coefficient × throat area over c*.",
        "kg/s",
        "g/s",
    ),
    "channel_flow": _flow(
        "ṁ_h",
        "Gas flow with which the channel is solved: all of it as hot as the seeded gas (gas.heat_loss_share).",
        "kg/s",
        "g/s",
    ),
}

_MADE: Final = {
    "mixture_ratio": _output(
        "O/F", "Oxidiser mass flow over fuel mass flow; none in a gas that is only heated."
    ),
    "seed_fraction": _output(
        "y_s", "Mass of alkali metal injected over the mass of everything injected.", shown_unit="%"
    ),
    "chamber_pressure": _output(
        "p_c",
        "Absolute stagnation pressure in the chamber, stated or where the flows make it: c* is then the model's.",
        "Pa",
        "bar",
    ),
}

_STREAMS: Final = {
    "fuel_flow": _flow("ṁ_f", "Mass flow of fuel.", "kg/s", "g/s"),
    "oxidizer_flow": _flow("ṁ_ox", "Mass flow of oxidiser.", "kg/s", "g/s"),
    "seed_solution_flow": _flow(
        "ṁ_s", "Mass flow of the seed compound together with its carrier water.", "kg/s", "g/s"
    ),
    "condensed_flow": _flow(
        "ṁ_u",
        "Mass flow of the seed compound that does not vaporise and leaves as inert grains.",
        "kg/s",
        "g/s",
    ),
}

_CHAMBER_AND_INLET: Final = {
    "flame_temperature": _flow(
        "T_ad", "Adiabatic equilibrium flame temperature at the chamber pressure.", "K"
    ),
    "chamber_temperature": _flow(
        "T_c",
        "Chamber temperature at which the characteristic velocity is efficiency × that of the flame.",
        "K",
    ),
    "characteristic_velocity": _flow(
        "c*", "Chamber pressure over the largest mass flux ρu of the isentropic equilibrium expansion.", "m/s"
    ),
    "inlet_pressure": _flow("p_1", "Static pressure at the channel's inlet.", "Pa", "bar"),
    "inlet_temperature": _flow("T_1", "Static temperature at the channel's inlet.", "K"),
    "inlet_velocity": _flow("u_1", "Gas velocity at the channel's inlet.", "m/s"),
    "inlet_mach": _flow("M_1", "Mach number at the channel's inlet."),
}

_INLET_PLASMA: Final = {
    "inlet_conductivity": _plasma(
        "σ_1", "Electrical conductivity at the channel's inlet, its factors included.", "S/m"
    ),
    "inlet_electron_density": _plasma(
        "n_e1", "Electron number density at the channel's inlet, from the equilibrium composition.", "1/m^3"
    ),
}

_RELAXING: Final = {
    "freezing": _plasma(
        "n_e1/n_eq",
        "Electron density at the channel's inlet over that of equilibrium there, after a nozzle of stated length.",
    ),
    "preionizer_electron_density": _plasma("n_i", "Electron density at the pre-ioniser's exit.", "1/m^3"),
    "preionizer_unaided_density": _plasma(
        "n_i0", "Electron density that there would be at the pre-ioniser's exit without it.", "1/m^3"
    ),
    "preionizer_conductivity": _plasma("σ_i", "Conductivity at the pre-ioniser's exit.", "S/m"),
    "preionizer_unaided_conductivity": _plasma(
        "σ_i0", "Conductivity that there would be at the pre-ioniser's exit without it.", "S/m"
    ),
    "decay_length": _plasma(
        "u/(β(n_i + n_eq))",
        "Length behind the pre-ioniser in which its excess of electrons falls by e at first.",
        "m",
        "mm",
    ),
}

_MAGNET: Final = {
    "final_magnet_temperature": _flow(
        "T_m",
        "Temperature of the magnet blocks at the end of a firing, even throughout and cooled by nothing.",
        "K",
        "°C",
    ),
}

_WALLS: Final = {
    "wall_heat": _plasma(
        "∫ q P dx", "Heat from the gas into the channel's walls.", "W", "kW", sign="positive out of the gas"
    ),
    "friction_force": _plasma(
        "∫ τ P dx", "Drag of the channel's walls on the gas.", "N", sign="positive when it slows the gas"
    ),
}

_OUTLET_AND_EXIT: Final = {
    "wall_pressure_force": _flow(
        "∫ p dA",
        "Forward push of the gas pressure on the widening walls of the channel.",
        "N",
        sign="positive in a widening channel",
    ),
    "outlet_pressure": _flow(
        "p_2", "Static pressure at the channel's outlet, before the exit expansion.", "Pa", "bar"
    ),
    "outlet_temperature": _flow(
        "T_2", "Static temperature at the channel's outlet, before the exit expansion.", "K"
    ),
    "outlet_velocity": _flow(
        "u_2", "Gas velocity at the channel's outlet, before the exit expansion.", "m/s"
    ),
    "outlet_mach": _flow("M_2", "Mach number at the channel's outlet, before the exit expansion."),
    "exit_pressure": _flow("p_e", "Static pressure at the exit, power on.", "Pa", "bar"),
    "exit_temperature": _flow("T_e", "Static temperature at the exit, power on.", "K"),
    "exit_velocity": _flow("u_e", "Gas velocity at the exit, power on.", "m/s"),
    "exit_mach": _flow("M_e", "Mach number at the exit, power on."),
    "exit_pressure_change": _gain("Δp_e", "Exit pressure, on minus all pairs open.", "Pa", "mbar"),
}

_THRUST: Final = {
    "thrust_open_circuit": _flow("F_0", "Thrust with all pairs open: gas flow × u_e + (p_e − p_a) A_e.", "N"),
    "thrust": _flow("F", "Thrust with the circuit on: gas flow × u_e + (p_e − p_a) A_e.", "N"),
    "thrust_gain": _gain("ΔF", "Thrust on minus thrust with all pairs open.", "N"),
    "thrust_gain_heating": _gain(
        "ΔF_h", "What a plain heater of the same gas-side power would add to the open-circuit thrust.", "N"
    ),
    "thrust_per_power": _gain("ΔF/P", "Thrust gain over electrical power.", "N/W", "N/kW"),
    "jet_power": _flow("½ ṁ u_e²", "Kinetic power of the exhaust at the exit.", "W", "kW"),
}

_SIMILARITY: Final = {
    "reynolds_number": _output(
        "Re_1",
        "ρu × hydraulic diameter over viscosity at the channel's inlet, with the viscosity of air by Sutherland's "
        "law: burnt gas is 4 % (1500 K) to 20 % (3000 K) more viscous, and the number as much too high.",
        formula="explorer.physics.similarity",
        model_error=VISCOSITY_ERROR,
    ),
    "wall_heat_share": _plasma(
        "∫ q P dx/(½ ṁ u_e²)",
        "Heat into the channel's walls over the jet's kinetic power.",
        shown_unit="%",
        sign="positive out of the gas",
        formula="explorer.stage.outputs",
    ),
    "pressure_gap": _flow(
        "p_1 g_in",
        "Static pressure × gap at the channel's inlet, by which discharges of different size compare.",
        "Pa m",
        "bar mm",
        formula="explorer.physics.similarity",
    ),
    "relative_thrust_gain": _gain(
        "ΔF/F_0",
        "Thrust gain over the thrust with all pairs open.",
        shown_unit="%",
        formula="explorer.stage.outputs",
    ),
    "voltage_drop_share": _plasma(
        "V_d/(u B g)",
        "Mean voltage drop at the electrodes over the back EMF; none where no current flows.",
        per_pair=True,
        formula="explorer.stage.outputs",
    ),
    "magnetic_reynolds_number": _plasma(
        "µ_0σuL",
        "µ_0 σ u × pair length, with conductivity and velocity at the channel's inlet: far below 1 the current "
        "leaves the field as it is.",
        per_pair=True,
        formula="explorer.physics.similarity",
    ),
}

INLET_OUTPUTS: Final[tuple[Quantity, ...]] = (
    *named(_FLOWS, formula="explorer.stage.gas.expansion"),
    *named(_MADE, formula="explorer.stage.gas.feeding"),
    *named(_STREAMS, formula="explorer.physics.streams"),
    *named(_CHAMBER_AND_INLET, formula="explorer.stage.gas.expansion"),
    *named(_INLET_PLASMA, formula="explorer.physics.conductivity"),
    *named(_RELAXING, formula="explorer.stage.gas.relaxation"),
)

EXIT_OUTPUTS: Final[tuple[Quantity, ...]] = (
    *named(_MAGNET, formula="explorer.physics.contact.warming"),
    *named(_WALLS, formula="explorer.stage.equations"),
    *named(_OUTLET_AND_EXIT, formula="explorer.stage.gas.expansion"),
    *named(_THRUST, formula="explorer.stage.kernel"),
)

SIMILARITY_OUTPUTS: Final[tuple[Quantity, ...]] = named(_SIMILARITY)
