"""Which quantities and inputs of a comparison stand together, and which of them come first."""

import math
from typing import Final

from explorer.questions.compare.comparison import Comparison
from explorer.study.compared import MASS, OPERATION, OUTCOME, SIMILARITY

#: Blocks of quantities, by their bare names.
BLOCKS: Final[dict[str, tuple[str, ...]]] = {
    "outcome": OUTCOME,
    "mass": MASS,
    "similarity": SIMILARITY,
    "operation": OPERATION,
}

#: Masses of the whole; the others are those of its parts.
_WHOLE: Final = ("stage_mass", "thrust_gain_per_mass")

#: What stands in the second part only.
_SECOND: Final = frozenset(
    {
        *(name for name in MASS if name not in _WHOLE),
        "chamber_temperature",
        "inlet_pressure",
        "inlet_mach",
        "threshold_voltage",
        "max_hall_field",
        "overheating_number",
        "exit_pressure",
    }
)

#: Inputs that make up a design's size and setting.
_MAIN: Final = (
    "mode",
    "gas.fuel",
    "gas.oxidizer",
    "gas.seed",
    "gas.chamber_pressure",
    "gas.seed_fraction",
    "nozzle.throat_diameter",
    "channel.length",
    "channel.gap",
    "channel.width",
    "magnet.",
    "electrodes.",
    "exit.",
    "ambient.",
)
_NOT_MAIN: Final = ("voltage_drop", "drop_resistance", "arc_voltage", "leak_conductance", "start", "kind")

#: Most inputs that differ before only the main ones are printed.
_MOST_INPUTS: Final = 16


def block(found: Comparison, name: str) -> tuple[str, ...]:
    """Return the rows of one block; what a study aims at is an outcome."""
    asked = {study.target.quantity for study in found.studies}
    places = {bare: title for title, members in BLOCKS.items() for bare in members}

    def of(row: str) -> str:
        return "outcome" if row in asked else places.get(row.rpartition(".")[2], "outcome")

    return tuple(row for row in found.first.figures if of(row) == name)


def printed(found: Comparison, name: str) -> tuple[str, ...]:
    """Return the rows of one block that stand in the first part."""
    means = {row: [float(own.figures[row].mean) for own in found.designs] for row in block(found, name)}
    told = [
        row for row, own in means.items() if not all(map(math.isnan, own)) and (name != "mass" or any(own))
    ]
    parts = name == "mass" and any(map(math.isnan, means["stage_mass"]))  # then at least its parts
    return tuple(row for row in told if parts or row.rpartition(".")[2] not in _SECOND)


def key_rows(found: Comparison) -> tuple[str, ...]:
    """Return the quantities that a reader asks for first: outcomes, the stage's mass and what it buys."""
    return (*printed(found, "outcome"), *(row for row in printed(found, "mass") if row in _WHOLE))


def main_inputs(found: Comparison) -> tuple[str, ...]:
    """Return which of the inputs that differ stand in the first part: the main ones where they are many."""
    if len(found.unlike) <= _MOST_INPUTS:
        return found.unlike
    return tuple(a for a in found.unlike if a.startswith(_MAIN) and not a.endswith(_NOT_MAIN))
