"""Designs beside each other as tables: their figures and their differences."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer.registry import Quantity
from explorer.report.document import Table
from explorer.report.text import WIDTH
from explorer.report.words import (
    between,
    figure_with_sampling,
    number_with_sampling,
)
from explorer.study import Comparison
from explorer.study.compared import MASS, OPERATION, OUTCOME, SIMILARITY

Figures = Mapping[str, Any]

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

#: Where a design has no such thing.
NONE: Final = "none"

#: The longest name of a column.
_LONGEST: Final = 24


def figures_of(table: pd.DataFrame, design: str) -> dict[str, Figures]:
    """Return a design's figures [SI] of each quantity as plain mappings.

    Parameters
    ----------
    table : DataFrame
        With columns (design, figure).
    design : str
        Its name.
    """
    if table.empty:
        return {}
    own = table[[column for column in table.columns if column[0] == design]].droplevel("design", axis=1)
    return {
        str(row): {str(key): value for key, value in cells.items()}
        for row, cells in own.to_dict("index").items()
    }


def block(found: Comparison, name: str, *, printed: bool = True) -> tuple[str, ...]:
    """Return the rows of one block.

    Parameters
    ----------
    found : Comparison
        As computed.
    name : str
        Of the block; what belongs to none is an outcome.
    printed : bool
        [-] leave out what no design has, and what stands in the second part only.
    """
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


def short_names(names: Sequence[str]) -> dict[str, str]:
    """Return what designs are called at the head of a column: their names, long ones shortened.

    Parameters
    ----------
    names : sequence of str
        Of the designs.
    """
    half = _LONGEST // 2 - 1
    short = [name if len(name) <= _LONGEST else f"{name[:half]}…{name[-half:]}" for name in names]
    if len(set(short)) < len(short):
        short = [f"{place}: {name}" for place, name in enumerate(short, start=1)]
    return dict(zip(names, short, strict=True))


def label(address: str) -> str:
    """Return a row's name with the unit of its cells: "thrust_gain [N]".

    Parameters
    ----------
    address : str
        Of the quantity.
    """
    unit = registry.quantity(address).shown_unit
    return plain_name(address) if unit in ("", "1") else f"{plain_name(address)} [{unit}]"


def plain_name(address: str) -> str:
    """Return how an output is called where there is little room: "main: load_factor".

    Parameters
    ----------
    address : str
        Of the output.
    """
    return address.removeprefix("electrodes.").replace(".", ": ")


def side_by_side(
    found: Comparison,
    rows: Sequence[str],
    table: pd.DataFrame | None = None,
    names: Sequence[str] | None = None,
) -> tuple[Table, ...]:
    """Return quantities with a column for each design: the mean and the 95 % interval.

    Parameters
    ----------
    found : Comparison
        As computed.
    rows : sequence of str
        Quantities.
    table : DataFrame, optional
        Of which firings; all of them if left out.
    names : sequence of str, optional
        Of the designs wanted; all of them if left out.
    """
    figures = {name: figures_of(found.quantities if table is None else table, name) for name in found.names}
    return columns(names or found.names, rows, label, lambda row, name: _cell(row, figures[name][row]))


def _cell(row: str, own: Figures) -> str:
    """A mean and its interval to the second digit of the standard uncertainty, without the unit."""
    quantity, spread = registry.quantity(row), own["standard_uncertainty"]
    if math.isnan(own["mean"]):
        return NONE
    mean = bare(quantity, figure_with_sampling(quantity, own["mean"], 0.0, spread, 2))
    if not spread > 0:
        return mean
    return f"{mean} ({bare(quantity, between(quantity, own['low'], own['high'], spread, last=' … '))})"


def bare(quantity: Quantity, text: str) -> str:
    """Return a text without the unit at its end, which stands elsewhere.

    Parameters
    ----------
    quantity : Quantity
        What it is of.
    text : str
        A number with its unit.
    """
    return text.removesuffix(f" {quantity.shown_unit}")


def columns(
    names: Sequence[str],
    rows: Iterable[str],
    head: Callable[[str], str],
    cell: Callable[[str, str], str],
) -> tuple[Table, ...]:
    """Return a table with a column for each design, in several where one would be too wide.

    Parameters
    ----------
    names : sequence of str
        Of the designs.
    rows : iterable of str
        What the rows are.
    head : callable
        A row in, its label out.
    cell : callable
        A row and a design in, the cell out.
    """
    short, listed = short_names(names), list(rows)
    if not listed:
        return ()
    labels = [head(row) for row in listed]
    first = max(map(len, labels)) + 2
    tables: list[Table] = []
    waiting: list[str] = []
    room = WIDTH - first
    cells = {name: [cell(row, name) for row in listed] for name in names}
    widths = {name: max(len(short[name]), *map(len, cells[name])) + 2 for name in names}
    for name in names:
        if waiting and widths[name] > room:
            tables.append(_columns(labels, waiting, short, cells))
            waiting, room = [], WIDTH - first
        waiting.append(name)
        room -= widths[name]
    return (*tables, _columns(labels, waiting, short, cells))


def _columns(
    labels: Sequence[str], names: Sequence[str], short: Mapping[str, str], cells: Mapping[str, Sequence[str]]
) -> Table:
    rows = zip(labels, *(cells[name] for name in names), strict=True)
    told = tuple(row for row in rows if any(cell != NONE for cell in row[1:]))
    return Table(told, ("", *(short[name] for name in names)))


def difference_table(found: Comparison, other: str, rows: Sequence[str], table: pd.DataFrame) -> Table:
    """Return how much a design has more than the first one, and whether that is real.

    Parameters
    ----------
    found : Comparison
        As computed.
    other : str
        The design.
    rows : sequence of str
        Quantities.
    table : DataFrame
        Differences, of which firings.
    """
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


def percent_cell(share: float, error: float) -> str:
    """Return a share as a table wants it, its sampling error in brackets: "65.8 (±0.3) %".

    Parameters
    ----------
    share, error : float
        [-] the error one standard error.
    """
    return "" if math.isnan(share) else f"{number_with_sampling(100 * share, 100 * error)} %"
