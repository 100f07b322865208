"""Designs beside each other: what each is called, a column a design, figures to the digits that stand."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer.page.document import Table
from explorer.page.text import WIDTH
from explorer.page.words import (
    STATUS_WORDS,
    number_with_sampling,
)
from explorer.registry import Quantity

Figures = Mapping[str, Any]

#: Where a design has no such thing.
NONE: Final = "none"

#: The longest name of a column.
_LONGEST: Final = 24


def figures_of(table: pd.DataFrame, design: str) -> dict[str, Figures]:
    """Return a design's figures [SI] of each quantity as plain mappings."""
    if table.empty:
        return {}
    own = table[[column for column in table.columns if column[0] == design]].droplevel("design", axis=1)
    return {
        str(row): {str(key): value for key, value in cells.items()}
        for row, cells in own.to_dict("index").items()
    }


def short_names(names: Sequence[str]) -> dict[str, str]:
    """Return what designs are called at the head of a column: their names, long ones shortened."""
    half = _LONGEST // 2 - 1
    short = [name if len(name) <= _LONGEST else f"{name[:half]}…{name[-half:]}" for name in names]
    if len(set(short)) < len(short):
        short = [f"{place}: {name}" for place, name in enumerate(short, start=1)]
    return dict(zip(names, short, strict=True))


def label(address: str) -> str:
    """Return a row's name with the unit of its cells: "thrust_gain [N]"."""
    unit = registry.quantity(address).shown_unit
    return plain_name(address) if unit in ("", "1") else f"{plain_name(address)} [{unit}]"


def plain_name(address: str) -> str:
    """Return how an output is called where there is little room: "main: load_factor"."""
    return address.removeprefix("electrodes.").replace(".", ": ")


def bare(quantity: Quantity, text: str) -> str:
    """Return a text without the unit at its end, which stands elsewhere."""
    return text.removesuffix(f" {quantity.shown_unit}")


def columns(
    names: Sequence[str],
    rows: Iterable[str],
    head: Callable[[str], str],
    cell: Callable[[str, str], str],
) -> tuple[Table, ...]:
    """Return a table with a column for each design, in several where one would be too wide."""
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


def percent_cell(share: float, error: float) -> str:
    """Return a share as a table wants it, its sampling error in brackets: "65.8 (±0.3) %"."""
    return "" if math.isnan(share) else f"{number_with_sampling(100 * share, 100 * error)} %"


def event_words(name: str) -> str:
    """Return how a status or a warning is called in a sentence."""
    titles = {warning.code: warning.title for warning in registry.WARNINGS}
    return STATUS_WORDS.get(name) or titles.get(name) or name.replace("_", " ")
