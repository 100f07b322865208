"""The tables of a comparison."""

from collections.abc import Callable, Mapping, Sequence

from explorer import registry
from explorer.page.designs import (
    NONE,
    columns,
    ends_cell,
    event_words,
    interval_cell,
    label,
    limit_words,
    mean_cell,
    percent_cell,
    short_names,
)
from explorer.page.document import Table
from explorer.page.words import percent, with_uncertainty
from explorer.questions.compare.comparison import Compared, Comparison
from explorer.study.contrasts import Difference, Figures
from explorer.study.regimes import REGIMES
from explorer.studyfile import Limit


def figure_tables(
    designs: Sequence[Compared],
    rows: Sequence[str],
    of: Callable[[Compared], Mapping[str, Figures]] = lambda design: design.figures,
) -> tuple[Table, ...]:
    """Return quantities with a column for each design: the mean and the 95 % interval."""

    def cell(row: str, design: Compared) -> str:
        own = of(design)[row]
        return interval_cell(registry.quantity(row), own) if own.is_told else NONE

    return columns(designs, rows, label, cell)


def difference_table(differences: Mapping[str, Difference], rows: Sequence[str]) -> Table:
    """Return how much a design has more than the first one, and whether that is real."""
    cells = [
        (label(row), *_difference_cells(row, differences[row])) for row in rows if differences[row].verdict
    ]
    return Table(tuple(cells), ("", "mean", "19 times in 20", "chance of more", "which is"))


def differences_beside(told: Mapping[str, Mapping[str, Difference]], rows: Sequence[str]) -> Table:
    """Return the same of several designs beside each other, a column each."""
    cells = []
    for row in rows:
        each = [_difference_cells(row, of[row]) if of[row].verdict else None for of in told.values()]
        shown = [NONE if own is None else "{0} ({1}), {3}, {2}".format(*own) for own in each]
        cells.append((label(row), *shown))
    return Table(tuple(row for row in cells if set(row[1:]) != {NONE}), ("", *told), standing=1)


def _difference_cells(row: str, own: Difference) -> tuple[str, str, str, str]:
    quantity = registry.quantity(row)
    return mean_cell(quantity, own), ends_cell(quantity, own), percent_cell(own.larger), own.verdict


def limit_table(found: Comparison) -> Table:
    """Return what each study requires, and whether it is met; without rows where nothing is required."""
    short = short_names(found.names)
    rows = [
        (short[own.name], judged.verdict, percent_cell(judged.chance), _required(judged.limit))
        for own in found.designs
        for judged in own.limits
    ]
    return Table(tuple(rows), ("", "verdict", "found", "required, in which share of firings"))


def _required(limit: Limit) -> str:
    """What one limit asks: "thrust gain at least 0.04 N in 80 %", "constricted in at most 5 %"."""
    return limit_words(limit) if limit.chance is None else f"{limit_words(limit)} in {percent(limit.chance)}"


def ended_tables(found: Comparison) -> tuple[Table, ...]:
    """Return how the points of each design ended, and the share of them that carries each warning."""
    warned = found.first.warnings

    def head(row: str) -> str:
        return f"warning: {event_words(row)}" if row in warned else event_words(row)

    def cell(row: str, design: Compared) -> str:
        return percent_cell({**design.statuses, **design.warnings}[row])

    return columns(found.designs, [*found.first.statuses, *warned], head, cell)


def border_tables(found: Comparison) -> tuple[Table, ...]:
    """Return how many points of each design lie past each regime boundary."""
    past = {regime.name: f"{regime.name}: {regime.past}" for regime in REGIMES}
    return columns(found.designs, past, past.__getitem__, lambda row, own: percent_cell(own.sides[row].share))


def inputs_tables(found: Comparison, rows: Sequence[str]) -> tuple[Table, ...]:
    """Return inputs and choices with a column for each design: the value and its standard uncertainty."""

    def cell(row: str, design: Compared) -> str:
        value, spread = design.inputs[row]
        if value is None:
            return NONE
        if isinstance(value, str):
            return value
        quantity = registry.quantity(row)
        return with_uncertainty(quantity, value, spread) if spread else quantity.spoken(value)

    return columns(found.designs, rows, registry.words_of, cell)
