"""Inputs of a study that concern nozzle, channel, magnet, exit, surroundings, electrodes and their circuits."""

from functools import partial
from typing import Any, Final

from explorer.registry.quantity import (
    INFINITY,
    Quantity,
    factor,
    length,
    named,
    not_negative,
    positive,
    share,
    uncertain_input,
)

_ELECTRONVOLT: Final[float] = 1.602176634e-19  # [J], exact in the SI

#: No electron costs less than cesium's ionisation energy.
_PAIR_ENERGY: Final[dict[str, Any]] = {
    "unit": "J",
    "shown_unit": "eV",
    "low": 3.894 * _ELECTRONVOLT,
    "low_open": False,
    "high": 1e7 * _ELECTRONVOLT,
    "high_open": False,
}

_parasitic = partial(not_negative, default=0.0, default_origin="assumed")

_NOZZLE: Final = {
    "nozzle.throat_diameter": length("d_t", "Diameter of the round throat, hot."),
    "nozzle.discharge_coefficient": share(
        "C_d", "Mass flow through the throat over that of ideal one-dimensional flow.", low_open=True
    ),
}

_NOZZLE_LENGTH: Final = {
    "nozzle.length": length(
        "L_n",
        "Length of the nozzle from throat to channel, its area growing evenly: whether ionisation freezes in it.",
    ),
}

_PREIONIZER: Final = {
    "preionizer.power": not_negative("P_i", "Power that the pre-ioniser draws; 0 switches it off.", "W"),
    "preionizer.coupling": share("η_i", "Share of the pre-ioniser's power that reaches the gas."),
    "preionizer.pair_energy": uncertain_input(
        "ε",
        "Energy into the gas for each electron that the pre-ioniser makes: beam 30 to 40 eV, nanosecond pulses 60 to"
        " 200 eV, radio frequency in wet gas 1 keV to 1 MeV (assumed).",
        **_PAIR_ENERGY,
    ),
    "preionizer.start": length(
        "x_i", "Where the pre-ioniser begins, counted from the channel's inlet.", low_open=False
    ),
    "preionizer.length": length("l_i", "Length of the pre-ioniser along the flow."),
}

_CHANNEL: Final = {
    "channel.length": length("L", "Length of the channel between its inlet and its outlet."),
    "channel.gap_in": length(
        "g_in", "Distance between the electrode walls at the inlet, along the electric field."
    ),
    "channel.gap_out": length("g_out", "Distance between the electrode walls at the outlet."),
    "channel.width_in": length(
        "w_in", "Distance between the insulating walls at the inlet, along the magnetic field."
    ),
    "channel.width_out": length("w_out", "Distance between the insulating walls at the outlet."),
}

_WALLS: Final = {
    "channel.wall_temperature": positive("T_w", "Temperature of the channel's walls on the gas side.", "K"),
    "channel.friction_coefficient": not_negative(
        "C_f", "Fanning friction coefficient: wall shear stress over ½ρu²."
    ),
    "channel.heat_transfer_factor": factor(
        "f_q", "Multiplies the wall heat flux of the Reynolds analogy (Prandtl number, entrance, catalysis)."
    ),
}

_MAGNET: Final = {
    "magnet.field": not_negative(
        "B",
        "Uniform magnetic flux density across the channel, along its width.",
        "T",
        sign="positive; the electrodes' polarity follows from it",
    ),
    "magnet.blocks.remanence": positive(
        "B_r", "Remanence of the magnet blocks at 20 °C, in place of a grade.", "T"
    ),
    "magnet.blocks.length": length("l_m", "Length of each magnet block along the flow."),
    "magnet.blocks.height": length("h_m", "Height of each magnet block, along the electrode gap."),
    "magnet.blocks.thickness": length("t_m", "Thickness of each magnet block along the field."),
    "magnet.blocks.spacing": length(
        "s_m", "Free distance between the two blocks' faces, channel walls and air included."
    ),
    "magnet.blocks.position": uncertain_input(
        "x_m",
        "Where the blocks' middle lies along the channel; the channel's middle if absent.",
        "m",
        "mm",
        sign="counted from the channel's inlet, with the flow",
    ),
    "magnet.blocks.temperature": positive(
        "T_m",
        "Temperature of the magnet blocks during the firing; before it where magnet.blocks.heat_leak is stated.",
        "K",
        "°C",
        default=293.15,
        default_origin="assumed",
    ),
    "magnet.blocks.heat_leak": not_negative(
        "Q_m",
        "Heat that flows into both blocks together during a firing of gas.burn_time: they lose field as they warm.",
        "W",
    ),
    "magnet.blocks.heat_capacity": positive(
        "c_m",
        "Specific heat capacity of the blocks (sintered neodymium magnets 350 to 500 J/(kg K), from memory).",
        "J/(kg K)",
        default=440.0,
        default_origin="assumed",
    ),
    "magnet.blocks.yoke_factor": factor(
        "f_y", "Multiplies the blocks' field in air for what an iron yoke adds; 1 without a yoke."
    ),
    "magnet.profile.scale": factor(
        "f_B", "Multiplies a measured field profile as a whole: the calibration error that its points share."
    ),
}

_EXIT_AND_SURROUNDINGS: Final = {
    "exit.area_ratio": uncertain_input(
        "ε_e",
        "Exit area over the channel's outlet area, of the expansion behind the channel.",
        low=1.0,
        low_open=False,
        default=1.0,
        default_origin="default",
        formula="explorer.stage.gas.expansion",
    ),
    "ambient.pressure": not_negative(
        "p_a", "Absolute pressure around the stage.", "Pa", "bar", formula="explorer.stage.kernel"
    ),
    "ambient.altitude": uncertain_input(
        "z",
        "Geometric altitude in place of a pressure, by the U.S. Standard Atmosphere 1976.",
        "m",
        "km",
        low=-5000.0,
        low_open=False,
        high=80000.0,
        high_open=False,
        formula="explorer.physics.atmosphere",
    ),
}

_ELECTRODES: Final = {
    "electrodes.*.start": length(
        "x_0", "Where the pair's upstream edge lies, counted from the channel's inlet.", low_open=False
    ),
    "electrodes.*.length": length("l_e", "Length of the pair along the flow."),
    "electrodes.*.voltage_drop": not_negative(
        "V_0",
        "Voltage lost at both electrodes together before any current flows (sheaths, work functions).",
        "V",
    ),
    "electrodes.*.drop_resistance": _parasitic(
        "r_d", "Resistance of the cool gas layers at both electrodes together, times area.", "ohm m^2"
    ),
    "electrodes.*.arc_voltage": not_negative(
        "V_arc",
        "Plateau of the voltage drop once the discharge constricts; no plateau if absent.",
        "V",
        high_open=False,
        default=INFINITY,
        default_origin="assumed",
    ),
    "electrodes.*.wall_temperature": positive(
        "T_we",
        "Temperature of the pair's electrodes on the gas side; the channel walls' if absent.",
        "K",
        high=3700.0,  # tungsten melts
    ),
    "electrodes.*.work_function": uncertain_input(
        "φ",
        "Work function of the cathode as it is seeded: bare copper and graphite 4.6, seeded 1.8 to 2.6 eV.",
        "J",
        "eV",
        low=_ELECTRONVOLT,
        low_open=False,
        high=6.0 * _ELECTRONVOLT,
        high_open=False,
        default=4.6 * _ELECTRONVOLT,
        default_origin="assumed",
    ),
    "electrodes.*.layer_factor": factor(
        "f_s",
        "Multiplies the cool layers' thickness: reacting gas conducts up to twice as well as frozen gas.",
        low_open=True,
        default=1.4,
        default_origin="assumed",
    ),
    "electrodes.*.electron_lag": factor(
        "f_ℓ", "Multiplies the depth to which electrons outlive the cooling in a layer; 0 for equilibrium."
    ),
    "electrodes.*.ion_factor": factor("f_i", "Multiplies the ion current that the cathode's sheath draws."),
    "electrodes.*.cathode_share": share(
        "f_c",
        "The cathode's share of the drop, which draws its current.",
        low_open=True,
        default=0.5,
        default_origin="assumed",
    ),
    "electrodes.*.contact_current": positive(
        "I_c",
        "Least plasma current that counts as contact.",
        "A",
        "mA",
        default=0.01,
        default_origin="assumed",
    ),
    "electrodes.*.strike_voltage": positive(
        "V_st",
        "Drop across one layer that strikes an arc, where it is known; only breakdown and heating strike if absent.",
        "V",
        high_open=False,
        default=INFINITY,
        default_origin="assumed",
    ),
    "electrodes.*.strike_share": positive(
        "f_st",
        "Power of one layer, over the wall's heat flux, from which on the layer heats itself and an arc strikes.",
        default=0.3,
        default_origin="assumed",
    ),
    "electrodes.*.dielectric_factor": factor(
        "f_b", "Multiplies the breakdown voltage of air for the gas between the electrodes."
    ),
    "electrodes.*.shape_factor": factor(
        "f_sh",
        "Multiplies the gap's breakdown voltage for the electrodes' shape: plates 1, points 0.3 to 0.5; by the stated "
        "shape if absent.",
    ),
    "electrodes.*.erosion": not_negative(
        "e", "Mass that an arc takes off an electrode per charge; by its material if absent.", "kg/C", "µg/C"
    ),
    "electrodes.*.root_share": share(
        "f_root",
        "Share of an electrode's downstream half over which an arc's root wanders.",
        low_open=True,
        default=0.5,
        default_origin="assumed",
    ),
    "electrodes.*.allowed_depth": length(
        "d_max", "Depth that may come off an electrode.", default=5e-4, default_origin="assumed"
    ),
    "electrodes.*.arc_fall": positive(
        "V_f", "Voltage at both roots of an arc together.", "V", default=30.0, default_origin="assumed"
    ),
    "electrodes.*.arc_field": positive(
        "E_a",
        "Field along an arc's column.",
        "V/m",
        "kV/m",
        default=2e3,
        default_origin="assumed",
    ),
    "electrodes.*.glow_fall": positive(
        "V_fg",
        "Voltage at both electrodes of a pulse's discharge up to 0.1 A, a glow (250 to 450 V, from memory).",
        "V",
        default=350.0,
        default_origin="assumed",
    ),
    "electrodes.*.glow_field": positive(
        "E_g",
        "Field along a pulse's column up to 0.1 A (10 to 100 kV/m, from memory).",
        "V/m",
        "kV/m",
        default=3e4,
        default_origin="assumed",
    ),
    "electrodes.*.discharge_carried": share(
        "f_c",
        "How far a pulse's discharge goes with the flow, over the way of the gas in that time.",
        default=0.5,
        default_origin="assumed",
    ),
    "electrodes.*.pair_energy": uncertain_input(
        "ε_d",
        "Energy of the pair's discharge for each electron that it makes, felt by the pairs behind it: an arc or spark"
        " some 100 eV, a diffuse current in wet gas 1 keV to 1 MeV (assumed). Without it the discharge makes none.",
        **_PAIR_ENERGY,
    ),
    "electrodes.*.leak_conductance": _parasitic(
        "G", "Conductance of the seed film on the insulating walls, from electrode to electrode.", "S"
    ),
    "electrodes.*.end_spread": share(
        "f_end",
        "How far current spreads beyond the electrodes' ends, over what plane electrodes in insulating walls give.",
        default=0.0,
        default_origin="assumed",
    ),
    "electrodes.*.source.voltage": not_negative(
        "V_s",
        "Open-circuit voltage of the supply that feeds the pair, or the voltage to which a capacitor is charged.",
        "V",
        sign="positive drives the current that pushes the gas forward",
    ),
    "electrodes.*.source.current_limit": positive(
        "I_max",
        "Largest current that the supply lets through; no limit if absent.",
        "A",
        high_open=False,
        default=INFINITY,
        default_origin="assumed",
    ),
    "electrodes.*.source.resistance": _parasitic(
        "R",
        "Resistance in series with a supply (its own and the leads'; 0 if absent), of the load, of a coil's winding or "
        "of all of a capacitor's circuit.",
        "ohm",
    ),
    "electrodes.*.source.inductance": positive(
        "L_s",
        "Inductance of a coil's secondary winding (20 to 60 H for automotive sizes, from memory) or of a capacitor's "
        "circuit.",
        "H",
        high=1e4,
    ),
    "electrodes.*.source.peak_voltage": positive(
        "V_peak", "Voltage that an unloaded coil reaches: measure it with a spark gap.", "V", "kV", high=1e6
    ),
    "electrodes.*.source.energy": positive(
        "E_p", "Energy that a coil stores for each pulse.", "J", "mJ", high=10.0
    ),
    "electrodes.*.source.capacitance": positive("C", "Capacitance of the capacitor.", "F", "mF", high=100.0),
    "electrodes.*.source.rate": positive(
        "f",
        "Pulses a second of a coil or a capacitor; without one a capacitor discharges once, as long as the firing.",
        "Hz",
        high=1e5,
    ),
    "electrodes.*.source.pulse_length": positive(
        "t_p",
        "Longest time for which a capacitor is connected in each pulse; until the next pulse, or the firing's end, if "
        "absent.",
        "s",
        "ms",
        high_open=False,
        default=INFINITY,
        default_origin="assumed",
    ),
    "electrodes.*.source.charger_power": positive(
        "P_ch", "Power with which a capacitor is charged again between pulses.", "W"
    ),
}

HARDWARE_INPUTS: Final[tuple[Quantity, ...]] = (
    *named(_NOZZLE, formula="explorer.stage.gas.expansion"),
    *named(_NOZZLE_LENGTH, formula="explorer.stage.gas.freezing"),
    *named(_PREIONIZER, formula="explorer.stage.gas.relaxation"),
    *named(_CHANNEL, formula="explorer.stage.channel"),
    *named(_WALLS, formula="explorer.physics.walls"),
    *named(_MAGNET, formula="explorer.physics.magnet"),
    *named(_EXIT_AND_SURROUNDINGS),
    *named(_ELECTRODES, formula="explorer.physics.electrodes", per_pair=True),
)
