"""Designs beside each other: what each is called, a column a design, figures to the digits that stand."""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final, Protocol, TypeVar

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.document import Paragraph, Part, Section, Table
from explorer.page.inputs import how_read, resolved_inputs
from explorer.page.text import WIDTH, raised
from explorer.page.words import (
    STATUS_WORDS,
    between,
    bounds,
    figure_with_sampling,
    number_with_sampling,
    percent,
    requirement,
)
from explorer.registry import Quantity
from explorer.study.contrasts import Figures
from explorer.study.together import Together
from explorer.studyfile import Limit, Study


class Named(Protocol):
    """A design, as far as a table's head goes."""

    @property
    def name(self) -> str:
        """What it is called."""


Design = TypeVar("Design", bound=Named)

#: Where a design has no such thing.
NONE: Final = "none"

#: The longest name of a column.
_LONGEST: Final = 24


def short_names(names: Sequence[str]) -> dict[str, str]:
    """Return what designs are called at the head of a column: their names, long ones shortened."""
    half = _LONGEST // 2 - 1
    short = [name if len(name) <= _LONGEST else f"{name[:half]}…{name[-half:]}" for name in names]
    if len(set(short)) < len(short):
        short = [f"{place}: {name}" for place, name in enumerate(short, start=1)]
    return dict(zip(names, short, strict=True))


def label(address: str) -> str:
    """Return a row's name with the unit of its cells: "thrust_gain [N]"."""
    return f"{plain_name(address)}{unit_label(registry.quantity(address))}"


def unit_label(quantity: Quantity) -> str:
    """Return the unit in which a quantity is shown, as the head of a column wants it: " [N]"."""
    return "" if quantity.shown_unit in ("", "1") else f" [{quantity.shown_unit}]"


def plain_name(address: str) -> str:
    """Return how an output is called where there is little room: "main: load_factor"."""
    return address.removeprefix("electrodes.").replace(".", ": ")


def bare(quantity: Quantity, text: str) -> str:
    """Return a text without the unit at its end, which stands elsewhere."""
    return text.removesuffix(f" {quantity.shown_unit}")


def columns(
    designs: Sequence[Design],
    rows: Iterable[str],
    head: Callable[[str], str],
    cell: Callable[[str, Design], str],
) -> tuple[Table, ...]:
    """Return a table with a column for each design, in several where one would be too wide."""
    rows = list(rows)
    if not rows:
        return ()
    labels = [head(row) for row in rows]
    first = max(map(len, labels)) + 2
    short = short_names([design.name for design in designs])
    tables: list[list[list[str]]] = []
    room = 0
    for design in designs:
        column = [short[design.name], *(raised(cell(row, design)) for row in rows)]
        width = max(map(len, column)) + 2
        if width > room or not tables:
            tables.append([["", *labels]])
            room = WIDTH - first
        tables[-1].append(column)
        room -= width
    return tuple(_table(columns) for columns in tables)


def _table(columns: Sequence[Sequence[str]]) -> Table:
    head, *rows = zip(*columns, strict=True)
    told = tuple(row for row in rows if any(cell != NONE for cell in row[1:]))
    return Table(told, head)


def percent_cell(share: Estimate) -> str:
    """Return a share as a table wants it, half of its 95 % sampling interval in brackets: "65.8 (±0.3) %"."""
    return (
        ""
        if math.isnan(float(share))
        else f"{number_with_sampling(100 * float(share), 100 * share.half_width)} %"
    )


def mean_cell(quantity: Quantity, own: Figures) -> str:
    """Return a mean to the second digit of the standard uncertainty, without the unit."""
    return bare(quantity, figure_with_sampling(quantity, float(own.mean), 0.0, own.standard_uncertainty, 2))


def ends_cell(quantity: Quantity, own: Figures) -> str:
    """Return the 95 % interval to the second digit of the standard uncertainty, without the unit; empty without one."""
    if not float(own.standard_uncertainty) > 0:
        return ""
    return bare(quantity, between(quantity, own.low, own.high, own.standard_uncertainty, last=" … "))


def interval_cell(quantity: Quantity, own: Figures) -> str:
    """Return a mean and in brackets its interval, without the unit."""
    ends = ends_cell(quantity, own)
    return f"{mean_cell(quantity, own)} ({ends})" if ends else mean_cell(quantity, own)


def every_figure(
    designs: Sequence[Design],
    rows: Sequence[str],
    of: Callable[[Design], Mapping[str, Figures]],
) -> Iterator[Part]:
    """Return means and intervals for a reviewer, each with its sampling error, a column a design."""
    for figure, words in (("mean", "Mean"), ("low", "19 times in 20 from"), ("high", "19 times in 20 to")):

        def cell(row: str, design: Design, figure: str = figure) -> str:
            own = of(design)[row]
            value: Estimate = getattr(own, figure)
            if not own.is_told:
                return NONE
            return figure_with_sampling(registry.quantity(row), value, None, own.standard_uncertainty)

        yield Paragraph(f"{words}, with the sampling error:")
        yield from columns(designs, rows, str, cell)


def event_words(name: str) -> str:
    """Return how a status or a warning is called in a sentence."""
    titles = {warning.code: warning.title for warning in registry.WARNINGS}
    return STATUS_WORDS.get(name) or titles.get(name) or name.replace("_", " ")


def limit_words(limit: Limit) -> str:
    """Return what a limit asks, its chance left out: "current at most 50 A", "no contact in at most 5 %"."""
    if limit.event is None:
        asked = requirement(registry.quantity(limit.quantity), at_least=limit.at_least, at_most=limit.at_most)
        return f"{registry.quantity(limit.quantity).words} {asked}"
    shares = bounds(percent, at_least=limit.at_least, at_most=limit.at_most)
    return f"{event_words(limit.event)} in {shares}"


def sampled_words(found: Together, asked: int | None) -> str:
    """Return how many points there were."""
    rounded = "" if asked in (None, found.samples) else f" (rounded up from {asked})"
    return f"From {found.samples} points{rounded}, the same for all designs, in {found.scrambles} independent repeats."


def inputs_read(name: str, study: Study, *, use: str) -> Iterator[Section]:
    """Return how a design's inputs were read, for a reviewer."""
    for section in (how_read(study, use=use), resolved_inputs(study)):
        yield replace(section, title=f"{section.title}: {name}", as_written=True, audience="reviewer")


def shared_part(shared: Mapping[str, Sequence[tuple[str, str]]], nothing: str) -> Table | Paragraph:
    """Return which input of which design carries each shared name."""
    rows = [
        (name if place == 0 else "", by, address)
        for name, who in shared.items()
        for place, (by, address) in enumerate(who)
    ]
    return Table(tuple(rows), ("shared", "by", "as")) if rows else Paragraph(nothing)


def shared_data(shared: Mapping[str, Sequence[tuple[str, str]]]) -> dict[str, list[dict[str, str]]]:
    """Return the same for a JSON."""
    return {
        name: [{"design": design, "input": address} for design, address in who]
        for name, who in shared.items()
    }
