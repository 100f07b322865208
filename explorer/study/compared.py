"""Which quantities designs are compared by, and under which addresses: pairs are matched by their names."""

from collections.abc import Iterable, Sequence
from typing import Final

from explorer import registry
from explorer.registry import Quantity
from explorer.studyfile import Study, StudyError

#: What a design is built for.
OUTCOME: Final[tuple[str, ...]] = (
    "thrust_gain",
    "relative_thrust_gain",
    "thrust_per_power",
    "exit_pressure_change",
    "thrust",
    "current",
    "electrical_power",
    "power_delivered",
)

#: What it weighs, and what that buys.
MASS: Final[tuple[str, ...]] = (
    "stage_mass",
    "thrust_gain_per_mass",
    "magnet_mass",
    "yoke_mass",
    "electrode_mass",
    "channel_mass",
    "supply_mass",
    "store_mass",
)

#: Numbers by which stages of different size resemble each other.
SIMILARITY: Final[tuple[str, ...]] = (
    "interaction_parameter",
    "inlet_hall_parameter",
    "load_factor",
    "voltage_drop_share",
    "reynolds_number",
    "wall_heat_share",
    "pressure_gap",
    "magnetic_reynolds_number",
)

#: Where it works.
OPERATION: Final[tuple[str, ...]] = (
    "mass_flow",
    "chamber_temperature",
    "inlet_pressure",
    "inlet_temperature",
    "inlet_velocity",
    "inlet_mach",
    "inlet_conductivity",
    "field",
    "back_emf",
    "threshold_voltage",
    "terminal_voltage",
    "max_current_density",
    "max_hall_field",
    "overheating_number",
    "exit_pressure",
)

#: Outcomes that mean something in one mode only.
_OF_MODE: Final = {
    "thrust_per_power": "acceleration",
    "thrust_gain_per_mass": "acceleration",
    "electrical_power": "acceleration",
    "power_delivered": "extraction",
}


def compared_quantities(studies: Sequence[Study], wanted: Iterable[str] = ()) -> tuple[str, ...]:
    """The rows of a comparison: targets first, then what is asked for, then the usual."""
    modes = {study.mode for study in studies}
    every = (*OUTCOME, *MASS, *SIMILARITY, *OPERATION)
    usual = [address for address in every if _OF_MODE.get(address) in (None, *modes)]
    targets = [study.target.quantity for study in studies]
    outputs = [set(registry.outputs_of(study.pairs)) for study in studies]
    rows: dict[str, None] = {}
    for address in (*targets, *wanted, *usual):
        quantity = registry.quantity(address)
        if quantity.kind != "output":
            raise StudyError(f'"{address}" is an input, not an output: inputs that differ are listed anyway')
        there = [
            row for row in addresses_of(quantity, address, studies) if any(row in own for own in outputs)
        ]
        if not there:
            raise StudyError(f'"{address}" is not an output of any of these studies')
        rows |= dict.fromkeys(there)
    return tuple(rows)


def addresses_of(quantity: Quantity, address: str, studies: Sequence[Study]) -> tuple[str, ...]:
    """Under which addresses a quantity of several designs stands."""
    several = any(len(study.pairs) > 1 for study in studies)
    if "." in address or not quantity.per_pair or quantity.adds or not several:
        return (address,)
    pairs = dict.fromkeys(pair for study in studies for pair in study.pairs)
    return tuple(f"electrodes.{pair}.{address}" for pair in pairs)


def of_study(study: Study, rows: Iterable[str], wanted: Iterable[str] = ()) -> tuple[str, ...]:
    """The rows that a study has a value for; what means nothing in its mode only where it is asked for."""
    own, asked = set(registry.outputs_of(study.pairs)), {study.target.quantity, *wanted}
    return tuple(
        row
        for row in rows
        if row in own and (row in asked or _OF_MODE.get(row.rpartition(".")[2]) in (None, study.mode))
    )
