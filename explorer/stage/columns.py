"""One row a point in, one row a point out: the named numbers at the kernel's boundary, all SI, and the outcomes."""

from typing import Any, Final

import numpy as np

#: Outcome of a point; the order is that of `registry.STATUSES`.
OK, NO_CONTACT, CHOKED, OUTSIDE_TABLE, NOT_CONVERGED, NOT_FED = range(6)

#: What feeds a pair: a supply or a load that is always on, a coil, a capacitor.
STEADY, COIL, CAPACITOR = range(3)

#: Form in which a pair conducts.
NONE, SPARK, DIFFUSE, ARC = range(4)

#: Inputs of a point.
INPUTS: Final[tuple[str, ...]] = (
    "mixture_ratio",
    "ln_alkali",
    "carrier_water",
    "reactant_enthalpy",
    "condensed_fraction",
    "chamber_pressure",
    "combustion_efficiency",
    "heat_loss_share",
    "stagnation_temperature",
    "conductivity_factor",
    "nozzle_lag",
    "recombination_factor",
    "nozzle_length",
    "preionizer_power",
    "preionizer_pair_energy",
    "preionizer_start",
    "preionizer_length",
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
    "burn_time",
)

#: Inputs of one electrode pair.
PAIR_INPUTS: Final[tuple[str, ...]] = (
    "start",
    "length",
    "voltage_drop",
    "drop_resistance",
    "arc_voltage",
    "leak_conductance",
    "end_spread",
    "wall_temperature",
    "work_function",
    "layer_factor",
    "electron_lag",
    "ion_factor",
    "cathode_share",
    "contact_current",
    "strike_voltage",
    "strike_share",
    "dielectric_factor",
    "shape_factor",
    "arc_fall",
    "arc_field",
    "glow_fall",
    "glow_field",
    "discharge_carried",
    "pair_energy",
    "source_voltage",
    "source_current_limit",
    "source_resistance",
    "source_inductance",
    "source_peak_voltage",
    "source_energy",
    "source_capacitance",
    "source_rate",
    "source_pulse_length",
)

#: Outputs of a point.
OUTPUTS: Final[tuple[str, ...]] = (
    "mass_flow",
    "gas_flow",
    "channel_flow",
    "flame_temperature",
    "chamber_temperature",
    "characteristic_velocity",
    "inlet_pressure",
    "inlet_temperature",
    "inlet_velocity",
    "inlet_mach",
    "inlet_conductivity",
    "inlet_mobility",
    "inlet_electron_density",
    "freezing",
    "preionizer_electron_density",
    "preionizer_unaided_density",
    "preionizer_conductivity",
    "preionizer_unaided_conductivity",
    "decay_length",
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
    "heater_outcome",
    "wall_heat",
    "friction_force",
    "wall_pressure_force",
    "coldest_gas",
)

#: Outputs of one electrode pair.
PAIR_OUTPUTS: Final[tuple[str, ...]] = (
    "plasma_current",
    "terminal_voltage",
    "back_emf",
    "threshold_voltage",
    "mean_back_emf",
    "field",
    "largest_field_gap",
    "lorentz_force",
    "joule_heating",
    "electrode_drop_power",
    "gas_power",
    "max_current_density",
    "max_hall_field",
    "interaction_per_length",
    "overheating_number",
    "max_reduced_field",
    "electron_excess",
    "electron_excess_share",
    "constricted",
    "contact",
    "contact_margin",
    "striking_voltage",
    "cathode_limited",
    "layer_resistance",
    "layer_thickness",
    "heat_transfer",
    "recovery_temperature",
    "leak_current",
    "moved_current",
    "pulse_rate",
    "pulse_charge",
    "pulse_duration",
    "pulse_peak_current",
    "pulse_gas_heat",
    "pulse_electrode_energy",
    "pulses_in_passage",
    "discharge_voltage",
    "end_voltage",
    "source_power",
    "start_electron_density",
    "start_unaided_density",
    "start_conductivity",
    "start_unaided_conductivity",
)

#: A row of such numbers, read and written by name: NumPy's record, for which there is no closer type.
Row = Any
Rows = Any


def row_type(names: tuple[str, ...]) -> np.dtype[np.void]:
    """The type of a row with these names."""
    return np.dtype([(name, np.float64) for name in names])


def rows(numbers: np.ndarray[Any, np.dtype[np.float64]], names: tuple[str, ...]) -> Rows:
    """The same numbers as rows by name, one axis less; nothing is copied."""
    return numbers.view(row_type(names))[..., 0]
