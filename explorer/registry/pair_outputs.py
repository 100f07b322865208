"""Outputs of one pair of electrodes and its circuit; at top level those of the only pair, or sums."""

from functools import partial
from typing import Final

from explorer.registry.flow_outputs import FLOW_ERROR, PLASMA_ERROR
from explorer.registry.quantity import Quantity, named

#: What electrons lose in a collision is known to a factor 3 to 5 only.
LOSS_ERROR: Final = 1.0

_flow = partial(Quantity, kind="output", model_error=FLOW_ERROR)
_output = partial(Quantity, kind="output")
_plasma = partial(_output, model_error=PLASMA_ERROR)
_current = partial(_plasma, unit="A", adds=True)
_power = partial(_plasma, unit="W", adds=True)
_force = partial(_plasma, unit="N", adds=True)

_WITH_GAS: Final = "positive when it pushes the gas forward"

_FIELD: Final = {
    "field": _flow("B", "Magnetic flux density, mean along the pair.", "T"),
}

_CIRCUIT: Final = {
    "back_emf": _flow(
        "u B g",
        "Voltage that the moving gas induces at the pair's middle, circuit open.",
        "V",
        sign="positive against a supply that pushes the gas forward",
    ),
    "threshold_voltage": _flow(
        "V_th", "Terminal voltage at which the net plasma current becomes positive.", "V"
    ),
    "terminal_voltage": _plasma(
        "V",
        "Voltage at the pair's terminals.",
        "V",
        sign="positive in the sense of the back EMF, against which a supply drives its current",
    ),
    "load_factor": _plasma(
        "K",
        "Terminal voltage over the mean of u B g along the pair.",
        sign="above 1 the pair accelerates, between 0 and 1 it generates",
    ),
    "current": _current(
        "I", "Current at the terminals: plasma current and leak along the walls.", sign=_WITH_GAS
    ),
    "plasma_current": _current("I_p", "Current through the gas: ∫ j w dx along the pair.", sign=_WITH_GAS),
    "leak_current": _current(
        "G V",
        "Current along the seed film on the insulating walls: no force, its heat to the wall.",
        sign="that of the terminal voltage",
    ),
    "electrical_power": _power(
        "V I", "Terminal voltage × current.", sign="positive when the circuit feeds the stage"
    ),
    "power_delivered": _power(
        "−V I", "Power that the stage gives to its load.", sign="positive when the stage feeds the circuit"
    ),
    "gas_power": _power(
        "∫ j E A dx",
        "Power that the field gives to the gas, as work and as heat.",
        sign="positive into the gas",
    ),
    "joule_heating": _power("∫ j²/σ_e A dx", "Power that the current turns into heat of the gas."),
    "electrode_drop_power": _power(
        "∫ |j| V_d w dx", "Power of the voltage drop: it heats the electrodes, not the gas."
    ),
    "lorentz_force": _force("∫ j B A dx", "Force of the field on the gas inside the pair.", sign=_WITH_GAS),
}

_FINDINGS: Final = {
    "max_current_density": _plasma(
        "j_max", "Largest current density on the electrodes, without its sign.", "A/m^2", "A/cm^2"
    ),
    "max_hall_field": _plasma(
        "E_x",
        "Largest axial field |j|B/(e n_e) of segmented electrodes; 0 for continuous ones.",
        "V/m",
        "kV/m",
    ),
    "max_reduced_field": _plasma(
        "|E − uB|/n", "Largest field that the electrons see, over the gas number density.", "V m^2", "Td"
    ),
    "electron_excess": _output(
        "T_e − T",
        "Largest excess of the electrons' temperature over the gas's, estimated from their energy balance.",
        "K",
        model_error=LOSS_ERROR,
    ),
    "electron_excess_share": _output(
        "(T_e − T)/T",
        "Largest excess of the electrons' temperature over the gas temperature there.",
        "1",
        "%",
        model_error=LOSS_ERROR,
    ),
    "overheating_number": _plasma(
        "N_oh", "Largest (j²/σ)(∂ln σ/∂T) L/(ρ c_p u): above 0.5 the discharge tends to constrict."
    ),
    "interaction_parameter": _plasma("σB²L/ρu", "σB² × pair length over ρu, where its current begins."),
}

_CONTACT: Final = {
    "contact": _output(
        "form", "Form in which the pair conducts: 0 none, 1 spark, 2 diffuse, 3 arc or constricted."
    ),
    "contact_margin": _plasma(
        "V_p/V_n",
        "Voltage present with the circuit open (less the back EMF) over what the next form of contact needs.",
    ),
    "striking_voltage": _plasma(
        "V_strike", "Source voltage from which on an arc is struck through computed layers.", "V"
    ),
    "layer_resistance": _plasma(
        "r_d", "Computed resistance of both cool layers together, times area.", "ohm m^2"
    ),
    "layer_thickness": _plasma("s", "Computed thickness of one cool layer.", "m", "mm"),
}

_ELECTRONS: Final = {
    "start_electron_density": _plasma(
        "n_0", "Electron density where the pair's current begins, where electrons relax.", "1/m^3"
    ),
    "start_unaided_density": _plasma(
        "n_00",
        "Electron density where the pair's current begins, if there were neither pre-ioniser nor discharge"
        " upstream.",
        "1/m^3",
    ),
    "start_conductivity": _plasma(
        "σ_0", "Conductivity where the pair's current begins, where electrons relax.", "S/m"
    ),
    "start_unaided_conductivity": _plasma(
        "σ_00",
        "Conductivity where the pair's current begins, if there were neither pre-ioniser nor discharge upstream.",
        "S/m",
    ),
}

_ELECTRODES: Final = {
    "electrode_temperature": _plasma(
        "T_s",
        "Temperature of the electrodes' surface at the end of a firing, from 20 °C; half of the drop's power each.",
        "K",
    ),
    "allowed_burn_time": _plasma(
        "t_max", "How long a firing may last until the electrodes' surface reaches its material's limit.", "s"
    ),
    "erosion_depth": _plasma(
        "d_er", "Depth that an arc takes off an electrode in a firing, where its root wanders.", "m", "µm"
    ),
    "firings_lasted": _plasma(
        "n", "How many firings an electrode lasts under the arc; no number without an arc."
    ),
}

_PULSES: Final = {
    "pulse_charge": _plasma(
        "Q",
        "Charge that a pulse of a coil or a capacitor drives through the gas, net.",
        "C",
        "µC",
        sign=_WITH_GAS,
    ),
    "pulse_impulse": _plasma(
        "Q B g", "Impulse that a pulse gives to the gas.", "N s", "µN s", sign=_WITH_GAS
    ),
    "pulse_duration": _plasma("t_1", "How long a pulse's current flows.", "s", "ms"),
    "pulse_peak_current": _plasma("i_max", "Highest current through the gas in a pulse.", "A", "mA"),
    "pulse_gas_heat": _plasma("V_c ∫|i| dt", "Energy of a pulse that heats the gas.", "J", "mJ"),
    "pulse_electrode_energy": _plasma(
        "V_f ∫|i| dt", "Energy of a pulse that goes into the electrodes.", "J", "mJ"
    ),
    "pulses_in_passage": _flow(
        "f L/u", "Pulses in the time that the gas takes to pass the pair: far below 1, most gas meets none."
    ),
    "discharge_voltage": _plasma(
        "V_a",
        "Voltage of a pulse's discharge, at the electrodes and along its column, without the back EMF.",
        "V",
    ),
    "end_voltage": _plasma("V_end", "Voltage of a capacitor at the end of a pulse.", "V"),
    "source_power": _power(
        "P_s",
        "Mean power that a coil or a capacitor takes to be charged again, its circuit's losses included.",
    ),
    "charger_use": _plasma("P_s/P_ch", "Power that the pulses take over the charger's.", "1", "%"),
    "force_per_source_power": _plasma(
        "F/P_s", "Mean force of the pulses over the power that they take.", "N/W", "N/kW"
    ),
    "pulsed_force_per_power": _plasma(
        "B g/(V_a + u B g)", "Force per power that a pulse's discharge allows at most.", "N/W", "N/kW"
    ),
}

_HAND_BOUNDS: Final = {
    "force_from_current": _force(
        "I B g",
        "The most force that the plasma current can give: current × the largest field × gap along the pair.",
        sign=_WITH_GAS,
    ),
    "force_from_diffuse_limit": _force(
        "j_d B V",
        "Force at the diffuse limit of current density (1 A/cm²) over the volume between the electrodes.",
    ),
    "force_per_power": _plasma(
        "B g/V", "Force per electrical power that the terminal voltage allows at most.", "N/W", "N/kW"
    ),
}

_HALL: Final = {
    "inlet_hall_parameter": _plasma("β_1", "Electron mobility at the channel's inlet × field at the pair."),
}

PAIR_OUTPUTS: Final[tuple[Quantity, ...]] = (
    *named(_FIELD, formula="explorer.physics.magnet", per_pair=True),
    *named(_CIRCUIT, formula="explorer.stage.circuit", per_pair=True),
    *named(_FINDINGS, formula="explorer.stage.findings", per_pair=True),
    *named(_CONTACT, formula="explorer.stage.contact", per_pair=True),
    *named(_ELECTRONS, formula="explorer.stage.gas.relaxation", per_pair=True),
    *named(_ELECTRODES, formula="explorer.stage.outputs.electrodes", per_pair=True),
    *named(_PULSES, formula="explorer.stage.pulsed", per_pair=True),
    *named(_HAND_BOUNDS, formula="explorer.physics.hand_bounds", per_pair=True),
    *named(_HALL, formula="explorer.physics.conductivity", per_pair=True),
)
