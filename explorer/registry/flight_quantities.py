"""What the table [flight] of a study states, and what a flight gives.

The inputs belong to the vehicle and not to the stage: nothing but a flight reads them, and only a study with a table
[flight] has them. The outputs stand for a whole flight, from the first burn to the apogee.
"""

from functools import partial
from typing import Final

from explorer.registry.quantity import Quantity

_ASCENT: Final = "explorer.physics.ascent"

_input = partial(Quantity, kind="input", may_be_uncertain=True, low=0.0, formula=_ASCENT)
_result = partial(Quantity, kind="output", formula=_ASCENT)
_mass = partial(_result, unit="kg", shown_unit="kg", formula="explorer.physics.mass")
_energy = partial(_result, unit="J", shown_unit="kJ")

FLIGHT_INPUTS: Final[tuple[Quantity, ...]] = (
    _input(
        address="flight.vehicle_mass",
        unit="kg",
        shown_unit="kg",
        symbol="m_0",
        sentence="Mass at the start without the stage's hardware (magnet, electrodes, channel, supply, store), "
        "propellant included.",
    ),
    _input(
        address="flight.drag_area",
        unit="m^2",
        shown_unit="cm^2",
        symbol="C_d A",
        sentence="Drag coefficient times reference area, one number for all speeds, with and without the stage.",
        low_open=False,
    ),
    _input(
        address="flight.engine_thrust",
        unit="N",
        shown_unit="kN",
        symbol="F_e",
        sentence="Thrust in vacuum of the plain engine, without the stage, at the study's chamber and throat.",
    ),
    _input(
        address="flight.engine_flow",
        unit="kg/s",
        shown_unit="kg/s",
        symbol="ṁ_e",
        sentence="Propellant that the plain engine burns per second at the study's chamber and throat.",
    ),
    _input(
        address="flight.engine_exit_area",
        unit="m^2",
        shown_unit="cm^2",
        symbol="A_e",
        sentence="Exit area of the plain engine's nozzle, on which the air presses.",
        low_open=False,
    ),
    _input(
        address="flight.launch_altitude",
        unit="m",
        shown_unit="km",
        symbol="z_0",
        sentence="Geometric altitude at the start.",
        low=-5000.0,
        low_open=False,
        high=80000.0,
        high_open=False,
        default=0.0,
        default_origin="default",
    ),
    _input(
        address="flight.launch_velocity",
        unit="m/s",
        shown_unit="m/s",
        symbol="v_0",
        sentence="Velocity at the start: 0 from a pad, which holds a vehicle until its thrust lifts it; above 0 "
        "after a booster.",
        sign="positive upwards",
        low_open=False,
        default=0.0,
        default_origin="default",
    ),
    _input(
        address="flight.power_wanted",
        unit="W",
        shown_unit="W",
        symbol="P_w",
        sentence="Electrical power wanted while power is taken out, to lower the drag or for the payload.",
    ),
)

FLIGHT_OUTPUTS: Final[tuple[Quantity, ...]] = (
    _result(
        address="apogee",
        unit="m",
        shown_unit="km",
        symbol="z_a",
        sentence="Geometric altitude at which the velocity falls to zero.",
    ),
    _result(
        address="burnout_velocity",
        unit="m/s",
        shown_unit="m/s",
        symbol="v_b",
        sentence="Velocity at the end of the last phase.",
        sign="positive upwards",
    ),
    _result(
        address="burnout_altitude",
        unit="m",
        shown_unit="km",
        symbol="z_b",
        sentence="Geometric altitude at the end of the last phase.",
    ),
    _result(
        address="impulse",
        unit="N s",
        shown_unit="N s",
        symbol="∫F dt",
        sentence="Thrust over the time of all phases, what the air presses on the exit taken off.",
    ),
    _mass(address="start_mass", symbol="m", sentence="Mass at the start, the stage's hardware included."),
    _mass(address="propellant", symbol="∫ṁ dt", sentence="Propellant burnt in all phases."),
    _mass(
        address="hardware_mass",
        symbol="m_h",
        sentence="Magnet, yoke, electrodes and channel walls: what weighs the same whatever power flows.",
    ),
    _mass(
        address="flight_supply_mass",
        symbol="|P|/(P/m)",
        sentence="Supply and converters for the largest power of any phase: over mass.supply_specific_power.",
    ),
    _mass(
        address="flight_store_mass",
        symbol="E/(E/m)",
        sentence="Store for the energy put in over all phases: over mass.store_specific_energy.",
    ),
    _mass(address="carried_mass", symbol="Σ m", sentence="Everything that the stage adds to the vehicle."),
    _energy(
        address="energy_in",
        symbol="E_in",
        sentence="Electrical energy put into the gas circuit over the phases of acceleration, at the terminals.",
        sign="positive into the stage",
    ),
    _energy(
        address="energy_out",
        symbol="E_out",
        sentence="Electrical energy taken out over the phases of extraction, at the terminals.",
        sign="positive out of the stage",
    ),
    _result(
        address="power_in",
        unit="W",
        shown_unit="kW",
        symbol="P_in",
        sentence="Largest electrical power of the phases of acceleration, at the terminals.",
    ),
    _result(
        address="power_out",
        unit="W",
        shown_unit="W",
        symbol="P_out",
        sentence="Smallest electrical power of the phases of extraction, at the terminals.",
    ),
    _mass(
        address="equal_store_mass",
        symbol="E_out/(E/m) + P_out/(P/m)",
        sentence="Store and supply that would give the energy taken out, at the same power, without any stage.",
    ),
    _mass(
        address="payable_mass",
        symbol="m_p",
        sentence="Mass that acceleration pays for: with it the apogee is that of the same engine and channel "
        "without current and without the mass.",
    ),
    _result(
        address="break_even_specific_power",
        unit="W/kg",
        shown_unit="kW/kg",
        symbol="P/m",
        sentence="Specific power of the supply at which acceleration just pays for its own mass, all else as stated.",
    ),
    _result(
        address="break_even_specific_energy",
        unit="J/kg",
        shown_unit="Wh/kg",
        symbol="E/m",
        sentence="Specific energy of the store at which acceleration just pays for its own mass, all else as stated.",
    ),
    _result(
        address="break_even_gain",
        unit="1",
        shown_unit="1",
        symbol="k",
        sentence="Factor on the thrust gain, at the same power and mass, at which acceleration just pays.",
    ),
)
