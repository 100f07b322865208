"""The order of numbers at the kernel's boundary: one row a point in, one row a point out. All SI."""

from typing import Final

#: Inputs of a point.
INPUTS: Final[tuple[str, ...]] = (
    "mixture_ratio",
    "ln_alkali",
    "carrier_water",
    "reactant_enthalpy",
    "condensed_fraction",
    "chamber_pressure",
    "combustion_efficiency",
    "conductivity_factor",
    "throat_flow_area",
    "length",
    "gap_in",
    "gap_out",
    "width_in",
    "width_out",
    "wall_temperature",
    "friction_coefficient",
    "heat_transfer_factor",
    "area_ratio",
    "ambient_pressure",
)

#: Inputs of one electrode pair.
PAIR_INPUTS: Final[tuple[str, ...]] = (
    "start",
    "length",
    "voltage_drop",
    "drop_resistance",
    "arc_voltage",
    "leak_conductance",
    "source_voltage",
    "source_current_limit",
    "source_resistance",
)

#: Outputs of a point.
OUTPUTS: Final[tuple[str, ...]] = (
    "mass_flow",
    "gas_flow",
    "flame_temperature",
    "chamber_temperature",
    "characteristic_velocity",
    "inlet_pressure",
    "inlet_temperature",
    "inlet_velocity",
    "inlet_mach",
    "inlet_conductivity",
    "inlet_mobility",
    "outlet_pressure",
    "outlet_temperature",
    "outlet_velocity",
    "outlet_mach",
    "exit_pressure",
    "exit_temperature",
    "exit_velocity",
    "exit_mach",
    "exit_pressure_open_circuit",
    "thrust_open_circuit",
    "thrust",
    "thrust_heating",
    "wall_heat",
    "friction_force",
    "wall_pressure_force",
    "coldest_gas",
    "inlet_electron_density",
)

#: Outputs of one electrode pair.
PAIR_OUTPUTS: Final[tuple[str, ...]] = (
    "plasma_current",
    "terminal_voltage",
    "back_emf",
    "threshold_voltage",
    "emf_integral",
    "field",
    "lorentz_force",
    "joule_heating",
    "electrode_drop_power",
    "gas_power",
    "max_current_density",
    "max_hall_field",
    "interaction_parameter",
    "overheating_number",
    "max_reduced_field",
    "constricted",
)

#: Places of the inputs in a row.
(
    MIXTURE_RATIO,
    LN_ALKALI,
    CARRIER_WATER,
    REACTANT_ENTHALPY,
    CONDENSED_FRACTION,
    CHAMBER_PRESSURE,
    COMBUSTION_EFFICIENCY,
    CONDUCTIVITY_FACTOR,
    THROAT_FLOW_AREA,
    LENGTH,
    GAP_IN,
    GAP_OUT,
    WIDTH_IN,
    WIDTH_OUT,
    WALL_TEMPERATURE,
    FRICTION_COEFFICIENT,
    HEAT_TRANSFER_FACTOR,
    AREA_RATIO,
    AMBIENT_PRESSURE,
) = range(len(INPUTS))

#: Places of a pair's inputs in its row.
(
    PAIR_START,
    PAIR_LENGTH,
    VOLTAGE_DROP,
    DROP_RESISTANCE,
    ARC_VOLTAGE,
    LEAK_CONDUCTANCE,
    SOURCE_VOLTAGE,
    SOURCE_CURRENT_LIMIT,
    SOURCE_RESISTANCE,
) = range(len(PAIR_INPUTS))
