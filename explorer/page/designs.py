"""Designs beside each other: what each is called, a column a design, figures to the digits that stand."""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Final, Protocol, TypeVar

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.document import Paragraph, Part, Section, Table, for_reviewers
from explorer.page.inputs import resolved_rows
from explorer.page.words import (
    STATUS_WORDS,
    between,
    bounds,
    figure_with_sampling,
    listed,
    number_with_sampling,
    percent,
    requirement,
    shown_with_sampling,
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

#: Figures of a design, and how many designs they stand beside each other for.
_FIGURES: Final = {"mean": "Mean", "low": "19 times in 20 from", "high": "19 times in 20 to"}
_FEW: Final = 3

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
    """Return a row's name with the unit of its cells: "thrust gain [N]"."""
    return f"{registry.words_of(address)}{unit_label(registry.quantity(address))}"


def unit_label(quantity: Quantity) -> str:
    """Return the unit in which a quantity is shown, as the head of a column wants it: " [N]"."""
    return "" if quantity.shown_unit in ("", "1") else f" [{quantity.shown_unit}]"


def plain_name(address: str) -> str:
    """Return how an output is called where there is little room: "main: load_factor"."""
    return address.removeprefix("electrodes.").replace(".", ": ")


def columns(
    designs: Sequence[Design],
    rows: Iterable[str],
    head: Callable[[str], str],
    cell: Callable[[str, Design], str],
) -> tuple[Table, ...]:
    """Return a table with a column for each design; none without rows."""
    short = short_names([design.name for design in designs])
    every = [(head(row), *(cell(row, design) for design in designs)) for row in rows]
    told = tuple(cells for cells in every if any(cell != NONE for cell in cells[1:]))
    return (Table(told, ("", *short.values()), standing=1),) if every else ()


def percent_cell(share: Estimate) -> str:
    """Return a share as a table wants it, half of its 95 % sampling interval in brackets: "65.8 (±0.3) %"."""
    return (
        ""
        if math.isnan(float(share))
        else f"{number_with_sampling(100 * float(share), 100 * share.half_width)} %"
    )


def mean_cell(quantity: Quantity, own: Figures) -> str:
    """Return a mean to the second digit of the standard uncertainty, without the unit."""
    return figure_with_sampling(quantity, float(own.mean), 0.0, own.standard_uncertainty, 2, bare=True)


def ends_cell(quantity: Quantity, own: Figures) -> str:
    """Return the 95 % interval to the second digit of the standard uncertainty, without the unit; empty without one."""
    if not float(own.standard_uncertainty) > 0:
        return ""
    return between(quantity, own.low, own.high, own.standard_uncertainty, last=" … ", bare=True)


def interval_cell(quantity: Quantity, own: Figures) -> str:
    """Return a mean and in brackets its interval, without the unit."""
    ends = ends_cell(quantity, own)
    return f"{mean_cell(quantity, own)} ({ends})" if ends else mean_cell(quantity, own)


def every_figure(
    designs: Sequence[Design],
    rows: Sequence[str],
    of: Callable[[Design], Mapping[str, Figures]],
) -> Iterator[Part]:
    """Return means and intervals for a reviewer, each with its sampling error, a column a design.

    Of a few designs all stand in one table.
    """
    if len(designs) <= _FEW:
        yield Paragraph("Mean and 19 times in 20; in brackets the sampling error (95 %):")
        yield _figures_beside(designs, rows, of)
        return
    for figure, words in _FIGURES.items():

        def cell(row: str, design: Design, figure: str = figure) -> str:
            return _figure_cell(row, of(design)[row], figure)

        yield Paragraph(f"{words}; in brackets the sampling error (95 %):")
        yield from columns(designs, rows, registry.words_of, cell)


def _figures_beside(
    designs: Sequence[Design], rows: Sequence[str], of: Callable[[Design], Mapping[str, Figures]]
) -> Table:
    heads = (
        head for name in short_names([own.name for own in designs]).values() for head in (name, "from", "to")
    )
    cells = tuple(
        (
            registry.words_of(row),
            *(_figure_cell(row, of(own)[row], figure) for own in designs for figure in _FIGURES),
        )
        for row in rows
        if any(of(own)[row].is_told for own in designs)
    )
    return Table(cells, ("", *heads), standing=1)


def _figure_cell(row: str, own: Figures, figure: str) -> str:
    return shown_with_sampling(registry.quantity(row), getattr(own, figure)) if own.is_told else NONE


def event_words(name: str) -> str:
    """Return how a status, a warning or a form of contact is called in a sentence."""
    return STATUS_WORDS.get(name) or registry.event_words(name)


def limit_words(limit: Limit) -> str:
    """Return what a limit asks, its chance left out: "current at most 50 A", "no contact in at most 5 %"."""
    if limit.event is None:
        asked = requirement(registry.quantity(limit.quantity), at_least=limit.at_least, at_most=limit.at_most)
        return f"{registry.words_of(limit.quantity)} {asked}"
    shares = bounds(percent, at_least=limit.at_least, at_most=limit.at_most)
    return f"{event_words(limit.event)} in {shares}"


def sampled_words(found: Together, asked: int | None) -> str:
    """Return how many points there were."""
    rounded = "" if asked in (None, found.samples) else f" (rounded up from {asked})"
    return f"From {found.samples} points{rounded}, the same for all designs, in {found.scrambles} independent repeats."


def inputs_read(studies: Mapping[str, Study], *, use: str) -> Iterator[Section]:
    """Return how the designs' inputs were read, beside each other, for a reviewer."""
    short = short_names(list(studies)).values()
    each = [{address: rest for address, *rest in resolved_rows(study)} for study in studies.values()]
    addresses = list(dict.fromkeys(address for rows in each for address in rows))
    uncertain = dict.fromkeys(address for study in studies.values() for address in study.words())
    counts = listed(
        [f"{len(study.words())} of {name}" for name, study in zip(short, studies.values(), strict=True)]
    )
    read = [(a, *(rows[a][2] if a in rows else NONE for rows in each)) for a in addresses if a in uncertain]
    resolved = [(a, *(cell for rows in each for cell in rows.get(a, (NONE, ""))[:2])) for a in addresses]
    yield for_reviewers(
        "How uncertain values were read",
        (f"Uncertain: {counts}. {use}", Table(tuple(read), ("key in the study", *short), standing=1)),
    )
    heads = (word for name in short for word in (name, "origin"))
    yield for_reviewers(
        "The study as resolved", (Table(tuple(resolved), ("key in the study", *heads), standing=1),)
    )


def shared_part(shared: Mapping[str, Sequence[tuple[str, str]]], nothing: str) -> Table | Paragraph:
    """Return which input of which design carries each shared name."""
    rows = [
        (name if place == 0 else "", by, address)
        for name, who in shared.items()
        for place, (by, address) in enumerate(who)
    ]
    return Table(tuple(rows), ("shared", "by", "key in the study")) if rows else Paragraph(nothing)


def shared_data(shared: Mapping[str, Sequence[tuple[str, str]]]) -> dict[str, list[dict[str, str]]]:
    """Return the same for a JSON."""
    return {
        name: [{"design": design, "input": address} for design, address in who]
        for name, who in shared.items()
    }
