"""Designs beside each other as tables: what is required, how the points ended, what the studies state."""

import math
from collections.abc import Sequence
from typing import Final

import pandas as pd

from explorer import registry
from explorer.report.comparison_rows import NONE, Figures, columns, figures_of, percent_cell, short_names
from explorer.report.document import Table
from explorer.report.words import STATUS_WORDS, percent, requirement, with_uncertainty
from explorer.study import Comparison
from explorer.studyfile import CHANCE

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


def limit_table(found: Comparison) -> Table | None:
    """Return what each study requires, and whether it is met; None where nothing is required.

    Parameters
    ----------
    found : Comparison
        As computed.
    """
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
    """Return what one limit asks: "thrust_gain at least 0.04 N in 80 %", "constricted in at most 5 %".

    Parameters
    ----------
    row : mapping
        Of `Comparison.limits`.
    """
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


def event_words(name: str) -> str:
    """Return how a status or a warning is called in a sentence.

    Parameters
    ----------
    name : str
        A status, or a warning's code.
    """
    titles = {warning.code: warning.title for warning in registry.WARNINGS}
    return STATUS_WORDS.get(name) or titles.get(name) or name.replace("_", " ")


def ended_tables(found: Comparison) -> tuple[Table, ...]:
    """Return how the points of each design ended, and the share of them that carries each warning.

    Parameters
    ----------
    found : Comparison
        As computed.
    """
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
    """Return the inputs and choices that the designs don't state alike.

    Parameters
    ----------
    found : Comparison
        As computed.
    main : bool
        [-] only those that make up size and setting, where there are many.
    """
    alike = found.inputs["", "alike"]
    differ = tuple(str(address) for address in found.inputs.index[~alike.astype(bool)])
    if not main or len(differ) <= _MOST_INPUTS:
        return differ
    return tuple(a for a in differ if a.startswith(_MAIN) and not a.endswith(_NOT_MAIN))


def inputs_tables(found: Comparison, rows: Sequence[str]) -> tuple[Table, ...]:
    """Return inputs and choices with a column for each design: the value and its standard uncertainty.

    Parameters
    ----------
    found : Comparison
        As computed.
    rows : sequence of str
        Addresses.
    """
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
