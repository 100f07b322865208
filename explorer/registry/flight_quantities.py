"""What the table [flight] of a study states, and what a flight gives.

The inputs belong to the vehicle and not to the stage: nothing but a flight reads them, and only a study with a table
[flight] has them. The outputs stand for a whole flight, from the first burn to the apogee.
"""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity, named, not_negative, positive, uncertain_input

_ASCENT: Final = "explorer.physics.flight.ascent"

_result = partial(Quantity, kind="output", formula=_ASCENT)
_mass = partial(Quantity, kind="output", unit="kg", formula="explorer.physics.mass")

_VEHICLE: Final = {
    "flight.vehicle_mass": positive(
        "m_0",
        "Mass at the start without the stage's hardware (magnet, electrodes, channel, supply, store), propellant "
        "included.",
        "kg",
    ),
    "flight.drag_area": not_negative(
        "C_d A",
        "Drag coefficient times reference area, one number for all speeds, with and without the stage.",
        "m^2",
        "cm^2",
    ),
    "flight.engine_thrust": positive(
        "F_e",
        "Thrust in vacuum of the plain engine, without the stage, at the study's chamber and throat.",
        "N",
        "kN",
    ),
    "flight.engine_flow": positive(
        "ṁ_e", "Propellant that the plain engine burns per second at the study's chamber and throat.", "kg/s"
    ),
    "flight.engine_exit_area": not_negative(
        "A_e", "Exit area of the plain engine's nozzle, on which the air presses.", "m^2", "cm^2"
    ),
    "flight.launch_altitude": uncertain_input(
        "z_0",
        "Geometric altitude at the start.",
        "m",
        "km",
        low=-5000.0,
        low_open=False,
        high=80000.0,
        high_open=False,
        default=0.0,
        default_origin="default",
    ),
    "flight.launch_velocity": not_negative(
        "v_0",
        "Velocity at the start: 0 from a pad, which holds a vehicle until its thrust lifts it; above 0 after a "
        "booster.",
        "m/s",
        sign="positive upwards",
        default=0.0,
        default_origin="default",
    ),
    "flight.power_wanted": positive(
        "P_w", "Electrical power wanted while power is taken out, to lower the drag or for the payload.", "W"
    ),
}

_FLIGHT: Final = {
    "apogee": _result("z_a", "Geometric altitude at which the velocity falls to zero.", "m", "km"),
    "burnout_velocity": _result(
        "v_b", "Velocity at the end of the last phase.", "m/s", sign="positive upwards"
    ),
    "burnout_altitude": _result("z_b", "Geometric altitude at the end of the last phase.", "m", "km"),
    "impulse": _result(
        "∫F dt", "Thrust over the time of all phases, what the air presses on the exit taken off.", "N s"
    ),
    "start_mass": _mass("m", "Mass at the start, the stage's hardware included."),
    "propellant": _mass("∫ṁ dt", "Propellant burnt in all phases."),
    "hardware_mass": _mass(
        "m_h", "Magnet, yoke, electrodes and channel walls: what weighs the same whatever power flows."
    ),
    "flight_supply_mass": _mass(
        "|P|/(P/m)",
        "Supply and converters for the largest power of any phase: over mass.supply_specific_power.",
    ),
    "flight_store_mass": _mass(
        "E/(E/m)", "Store for the energy put in over all phases: over mass.store_specific_energy."
    ),
    "carried_mass": _mass("Σ m", "Everything that the stage adds to the vehicle."),
    "energy_in": _result(
        "E_in",
        "Electrical energy put into the gas circuit over the phases of acceleration, at the terminals.",
        "J",
        "kJ",
        sign="positive into the stage",
    ),
    "energy_out": _result(
        "E_out",
        "Electrical energy taken out over the phases of extraction, at the terminals.",
        "J",
        "kJ",
        sign="positive out of the stage",
    ),
    "power_in": _result(
        "P_in", "Largest electrical power of the phases of acceleration, at the terminals.", "W", "kW"
    ),
    "power_out": _result(
        "P_out", "Smallest electrical power of the phases of extraction, at the terminals.", "W"
    ),
    "equal_store_mass": _mass(
        "E_out/(E/m) + P_out/(P/m)",
        "Store and supply that would give the energy taken out, at the same power, without any stage.",
    ),
    "payable_mass": _mass(
        "m_p",
        "Mass that acceleration pays for: with it the apogee is that of the same engine and channel without "
        "current and without the mass.",
    ),
    "break_even_specific_power": _result(
        "P/m",
        "Specific power of the supply at which acceleration just pays for its own mass, all else as stated.",
        "W/kg",
        "kW/kg",
    ),
    "break_even_specific_energy": _result(
        "E/m",
        "Specific energy of the store at which acceleration just pays for its own mass, all else as stated.",
        "J/kg",
        "Wh/kg",
    ),
    "break_even_gain": _result(
        "k", "Factor on the thrust gain, at the same power and mass, at which acceleration just pays."
    ),
}

FLIGHT_INPUTS: Final[tuple[Quantity, ...]] = named(_VEHICLE, formula=_ASCENT)

FLIGHT_OUTPUTS: Final[tuple[Quantity, ...]] = named(_FLIGHT)
