"""The tables of a comparison."""

import math
from collections.abc import Sequence
from typing import Final

import pandas as pd

from explorer import registry
from explorer.page.designs import (
    NONE,
    Figures,
    bare,
    columns,
    event_words,
    figures_of,
    label,
    percent_cell,
    short_names,
)
from explorer.page.document import Table
from explorer.page.words import (
    between,
    figure_with_sampling,
    number_with_sampling,
    percent,
    requirement,
    with_uncertainty,
)
from explorer.questions.compare.comparison import Comparison
from explorer.study.compared import MASS, OPERATION, OUTCOME, SIMILARITY
from explorer.studyfile import CHANCE

#: Blocks of quantities, by their bare names.
BLOCKS: Final[dict[str, tuple[str, ...]]] = {
    "outcome": OUTCOME,
    "mass": MASS,
    "similarity": SIMILARITY,
    "operation": OPERATION,
}

#: Masses of the whole; the others are those of its parts.
WHOLE: Final = ("stage_mass", "thrust_gain_per_mass")

#: What stands in the second part only.
_SECOND: Final = frozenset(
    {
        *(name for name in MASS if name not in WHOLE),
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


def block(found: Comparison, name: str, *, printed: bool = True) -> tuple[str, ...]:
    """Return the rows of one block."""
    asked = {study.target.quantity for study in found.studies}
    places = {bare: title for title, members in BLOCKS.items() for bare in members}

    def of(row: str) -> str:
        return "outcome" if row in asked else places.get(row.rpartition(".")[2], "outcome")

    rows = [str(row) for row in found.quantities.index if of(str(row)) == name]
    if not printed:
        return tuple(rows)
    means = found.quantities.xs("mean", axis=1, level="figure")
    told = [row for row in rows if means.loc[row].notna().any() and (name != "mass" or means.loc[row].any())]
    parts = name == "mass" and means.loc["stage_mass"].isna().any()  # then at least its parts
    return tuple(row for row in told if parts or row.rpartition(".")[2] not in _SECOND)


def side_by_side(
    found: Comparison,
    rows: Sequence[str],
    table: pd.DataFrame | None = None,
    names: Sequence[str] | None = None,
) -> tuple[Table, ...]:
    """Return quantities with a column for each design: the mean and the 95 % interval."""
    figures = {name: figures_of(found.quantities if table is None else table, name) for name in found.names}
    return columns(names or found.names, rows, label, lambda row, name: _cell(row, figures[name][row]))


def difference_table(found: Comparison, other: str, rows: Sequence[str], table: pd.DataFrame) -> Table:
    """Return how much a design has more than the first one, and whether that is real."""
    figures = figures_of(table, other)
    cells = []
    for row in rows:
        own, quantity = figures[row], registry.quantity(row)
        if not own["verdict"]:
            continue
        spread = own["standard_uncertainty"]
        mean = bare(quantity, figure_with_sampling(quantity, own["mean"], 0.0, spread, 2))
        ends = bare(quantity, between(quantity, own["low"], own["high"], spread, last=" … "))
        chance = number_with_sampling(own["larger"], own["larger_standard_error"])
        cells.append((label(row), mean, ends if spread > 0 else "", chance, own["verdict"]))
    return Table(tuple(cells), ("", "mean", "19 times in 20", "chance of more", "which is"))


def limit_table(found: Comparison) -> Table | None:
    """Return what each study requires, and whether it is met; None where nothing is required."""
    short = short_names(found.names)
    rows = [
        (
            short[str(row["design"])],
            str(row["verdict"]),
            percent_cell(row["chance"], row["standard_error"]),
            required(row),
        )
        for row in _records(found.limits)
    ]
    return (
        Table(tuple(rows), ("", "which is", "found", "required, in which share of firings")) if rows else None
    )


def _records(table: pd.DataFrame) -> list[Figures]:
    return [{str(key): value for key, value in row.items()} for row in table.to_dict("records")]


def required(row: Figures) -> str:
    """Return what one limit asks: "thrust_gain at least 0.04 N in 80 %", "constricted in at most 5 %"."""
    name = str(row["quantity"])
    least, most = (
        None if row[key] is None or math.isnan(row[key]) else row[key] for key in ("at_least", "at_most")
    )
    if not name.startswith(CHANCE):
        asked = requirement(registry.quantity(name), at_least=least, at_most=most)
        return f"{name} {asked} in {percent(row['wanted'])}"
    shares = [
        f"at {word} {percent(share)}"
        for word, share in (("least", least), ("most", most))
        if share is not None
    ]
    return f"{event_words(name.removeprefix(CHANCE))} in {' and '.join(shares)}"


def ended_tables(found: Comparison) -> tuple[Table, ...]:
    """Return how the points of each design ended, and the share of them that carries each warning."""
    shares = {
        name: {**figures_of(found.statuses, name), **figures_of(found.warnings, name)} for name in found.names
    }
    warned = set(map(str, found.warnings.index))
    rows = [*map(str, found.statuses.index), *map(str, found.warnings.index)]

    def head(row: str) -> str:
        return f"warning: {event_words(row)}" if row in warned else event_words(row)

    def cell(row: str, name: str) -> str:
        return percent_cell(shares[name][row]["share"], shares[name][row]["standard_error"])

    return columns(found.names, rows, head, cell)


def inputs_that_differ(found: Comparison, *, main: bool) -> tuple[str, ...]:
    """Return the inputs and choices that the designs don't state alike."""
    alike = found.inputs["", "alike"]
    differ = tuple(str(address) for address in found.inputs.index[~alike.astype(bool)])
    if not main or len(differ) <= _MOST_INPUTS:
        return differ
    return tuple(a for a in differ if a.startswith(_MAIN) and not a.endswith(_NOT_MAIN))


def inputs_tables(found: Comparison, rows: Sequence[str]) -> tuple[Table, ...]:
    """Return inputs and choices with a column for each design: the value and its standard uncertainty."""
    stated = {name: figures_of(found.inputs, name) for name in found.names}

    def cell(row: str, name: str) -> str:
        value, spread = (stated[name][row][key] for key in ("value", "standard_uncertainty"))
        if value is None:
            return NONE
        if isinstance(value, str):
            return value
        quantity = registry.quantity(row)
        return with_uncertainty(quantity, value, spread) if spread else quantity.shown(value)

    return columns(found.names, rows, str, cell)


def _cell(row: str, own: Figures) -> str:
    """A mean and its interval to the second digit of the standard uncertainty, without the unit."""
    quantity, spread = registry.quantity(row), own["standard_uncertainty"]
    if math.isnan(own["mean"]):
        return NONE
    mean = bare(quantity, figure_with_sampling(quantity, own["mean"], 0.0, spread, 2))
    if not spread > 0:
        return mean
    return f"{mean} ({bare(quantity, between(quantity, own['low'], own['high'], spread, last=' … '))})"
