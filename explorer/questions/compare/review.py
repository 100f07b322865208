"""What a reviewer wants of a comparison: method, what is drawn once, every figure with its sampling error, inputs."""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Final

import pandas as pd

from explorer import registry
from explorer.page.designs import NONE, Figures, columns, figures_of, percent_cell
from explorer.page.document import Paragraph, Part, Section, Table
from explorer.page.inputs import how_read, resolved_inputs
from explorer.page.shared import shared_part
from explorer.page.words import figure_with_sampling, percent
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.tables import block, inputs_tables, inputs_that_differ
from explorer.study.regimes import regimes_known

_METHOD: Final = (
    "Independent scrambles of a Sobol' sequence over one cube for all designs: a coordinate for each thing that is"
    " shared, then each design's own. Of an input that is shared the unknown part is drawn once; scatter falls anew at"
    " each firing and is each design's own. A difference is formed point by point and its interval read from these"
    " differences, quantiles exact. Each sampling error is one standard error, from the spread of the figure over the"
    " scrambles. A difference is real where the end of its 95 % interval that lies nearer to zero leaves zero out,"
    " beyond Student's t over the scrambles; not decided where sampling could bring it to zero."
)

_MODEL: Final = (
    "The model's own error is a lognormal factor of median 1 for each quantity by itself. Of the variance of its"
    " logarithm {share} of the smallest among the designs is common to all and drawn once; the rest is each design's"
    " own."
)

_USE: Final = "`compare` draws each from the whole of it. They were read so:"

_BLOCKS: Final = ("outcome", "mass", "similarity", "operation")


def review(found: Comparison) -> tuple[Section, ...]:
    """Return the sections for a reviewer."""
    return (
        _method(found),
        _reviewer("What is drawn once", *_shared(found)),
        _reviewer("Every figure", *_figures(found, found.quantities, found.names)),
        _reviewer("Every difference", *_differences(found)),
        *_given_contact(found),
        _borders(found),
        _reviewer("All inputs that differ", *inputs_tables(found, inputs_that_differ(found, main=False))),
        *_inputs(found),
    )


def _reviewer(title: str, *parts: Part) -> Section:
    return Section(title, parts, audience="reviewer")


def _method(found: Comparison) -> Section:
    parts: list[Part] = [Paragraph(_METHOD), Paragraph(_MODEL.format(share=percent(found.model_share)))]
    for name, chance in found.contact.items():
        apart = ", ".join(f"{share:.4f}" for share in chance.by_scramble)
        parts.append(Paragraph(f"Chance of contact of {name}, scramble by scramble: {apart}."))
    return _reviewer("For a reviewer", *parts)


def _shared(found: Comparison) -> Iterator[Part]:
    yield shared_part(found.shared, "No two studies name the same thing as shared.")
    errors = [
        (row, *(_model_error(found, place, row) for place in range(len(found.names))))
        for row in map(str, found.quantities.index)
    ]
    yield Paragraph("The model's own error, one standard uncertainty, and who says so:")
    yield Table(tuple(errors), ("", *found.names))
    if found.apart:
        words = ", ".join(found.apart)
        yield Paragraph(f"Stated alike by the first design and another, and yet drawn apart: {words}.")


def _model_error(found: Comparison, place: int, row: str) -> str:
    study = found.studies[place]
    if row not in registry.outputs_of(study.pairs):
        return ""
    own = study.model_error.of(row)
    return f"{percent(own.relative)} ({own.origin})" if own.relative else "none"


def _figures(found: Comparison, table: pd.DataFrame, names: tuple[str, ...]) -> Iterator[Part]:
    figures = {name: figures_of(table, name) for name in names}
    rows = [row for title in _BLOCKS for row in block(found, title, printed=False)]
    for figure, words in (("mean", "Mean"), ("low", "19 times in 20 from"), ("high", "19 times in 20 to")):
        yield Paragraph(f"{words}, with the sampling error:")
        yield from columns(names, rows, str, _precise(figures, figure))
    if "centre" in table.columns.unique("figure"):
        yield Paragraph("At central values of all inputs:")
        yield from columns(
            names, rows, str, lambda row, name: registry.quantity(row).shown(figures[name][row]["centre"])
        )
    missing = [row for row in rows if any(figures[name][row]["missing"] > 0 for name in names)]
    if missing:
        yield Paragraph("Share of points without a value:")
        yield from columns(names, missing, str, lambda row, name: percent(figures[name][row]["missing"]))


def _precise(figures: Mapping[str, Mapping[str, Figures]], key: str) -> Callable[[str, str], str]:
    """What makes the cell of a row and a design: a figure with its sampling error."""

    def cell(row: str, name: str) -> str:
        quantity, own = registry.quantity(row), figures[name][row]
        if math.isnan(own[key]):
            return NONE
        return figure_with_sampling(
            quantity, own[key], own[f"{key}_standard_error"], own["standard_uncertainty"]
        )

    return cell


def _differences(found: Comparison) -> Iterator[Part]:
    yield Paragraph(f"Each design less {found.names[0]}.")
    yield from _figures(found, found.differences, found.names[1:])


def _given_contact(found: Comparison) -> Iterator[Section]:
    if not found.given_contact.empty:
        yield _reviewer("Every figure, given contact", *_figures(found, found.given_contact, found.names))
        differences = _figures(found, found.differences_given_contact, found.names[1:])
        yield _reviewer("Every difference, contact in both", *differences)


def _borders(found: Comparison) -> Section:
    figures = {name: figures_of(found.regimes, name) for name in found.names}
    borders = {regime.name: regime for regime in regimes_known()}

    def head(name: str) -> str:
        return f"{name}: {borders[name].past}"

    def cell(row: str, name: str) -> str:
        return percent_cell(figures[name][row]["share"], figures[name][row]["standard_error"])

    words = "Share of points with numbers past each border, in the pair that lies furthest past it:"
    return _reviewer("All borders", Paragraph(words), *columns(found.names, list(borders), head, cell))


def _inputs(found: Comparison) -> Iterator[Section]:
    for name, study in zip(found.names, found.studies, strict=True):
        for section in (how_read(study, use=_USE), resolved_inputs(study)):
            yield replace(section, title=f"{section.title}: {name}", as_written=True, audience="reviewer")
