"""The report of a ranking, as sections."""

from collections.abc import Mapping
from typing import Any

from explorer import registry
from explorer.report.cautions import cautions
from explorer.report.document import Paragraph, Part, Picture, Section, Table
from explorer.report.inputs import how_read, notes, resolved_inputs
from explorer.report.provenance import provenance
from explorer.report.ranking_rows import printed_table, reviewer_table, sample_words
from explorer.report.ranking_words import model_error_words, ranking_words
from explorer.report.words import STATUS_WORDS, counted
from explorer.study import Ranking

_EXPLANATION = (
    "Alone: what would go if this row were known exactly. In all: what it carries together with the others too."
    " Both in per cent of the squared standard uncertainty; in brackets the sampling error of the figure (95 %). Left:"
    " the standard uncertainty that would be left, for what a test can pin down."
)
_USE = "`rank` tries the whole of each. They were read so:"


def ranking_report(
    ranking: Ranking, envelope: Mapping[str, Any], *, picture: str | None = None
) -> tuple[Section, ...]:
    """Return the report of a ranking: plain words first, what a reviewer wants last.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    envelope : mapping
        What its JSON begins with.
    picture : str, optional
        The ranked bars as an SVG element.
    """
    return (
        _heading(ranking),
        Section("In plain words", tuple(Paragraph(words) for words in ranking_words(ranking))),
        _ranked(ranking, picture),
        how_read(ranking.study, use=_USE),
        cautions(),
        _for_reviewer(ranking),
        resolved_inputs(ranking.study),
        provenance(envelope),
    )


def _heading(ranking: Ranking) -> Section:
    quantity = registry.quantity(ranking.target)
    line = f"What makes {ranking.target} unsure: {quantity.sentence[0].lower()}{quantity.sentence[1:]}"
    return Section(ranking.study.title, (Paragraph(line), *notes(ranking.study)))


def _ranked(ranking: Ranking, picture: str | None) -> Section:
    table, small = printed_table(ranking)
    parts: list[Part] = []
    if picture is not None:
        parts.append(Picture(picture, f"What carries the uncertainty of {ranking.target}, largest first."))
    parts.append(table)
    if small:
        rows = counted(small, "row carries", "rows carry")
        parts.append(Paragraph(f"{rows} less than 0.5 % each and stand in ranking.csv alone."))
    parts += [Paragraph(_EXPLANATION), Paragraph(model_error_words(ranking)), Paragraph(sample_words(ranking))]
    return Section("What carries the uncertainty", tuple(parts))


def _for_reviewer(ranking: Ranking) -> Section:
    mean, error = ranking.mean
    quantity = registry.quantity(ranking.target)
    points = tuple((STATUS_WORDS[name], str(count)) for name, count in ranking.points.items())
    method = (
        "First-order indices after Saltelli et al. (2010), total indices after Jansen (1999), on independent"
        " scrambles of a Sobol' sequence; intervals are Student's t over the scrambles. Nothing is clipped: a small"
        " negative figure is a zero with its sampling error."
    )
    figures = (
        f"Mean {quantity.shown(mean, 6)} (sampling ± {quantity.scale.difference(error, 2)} standard error); standard"
        f" uncertainty {quantity.shown(ranking.standard_uncertainty)}."
    )
    return Section(
        "For a reviewer",
        (Paragraph(method), Paragraph(figures), Table(points, ("status", "points")), reviewer_table(ranking)),
        "reviewer",
    )
