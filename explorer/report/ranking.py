"""The report of a ranking, as sections: plain words first, what a reviewer wants last."""

from collections.abc import Mapping
from typing import Any

from explorer import registry
from explorer.report.cautions import cautions
from explorer.report.document import Paragraph, Part, Picture, Section, Table
from explorer.report.inputs import how_read, notes, resolved_inputs
from explorer.report.measurements import instruments_section, measurements_section
from explorer.report.provenance import provenance
from explorer.report.ranking_rows import has_totals, printed_table, reviewer_table
from explorer.report.ranking_words import (
    guesses_words,
    how_shares_were_told,
    plain_words,
    scatter_words,
)
from explorer.report.words import STATUS_WORDS, counted, percent
from explorer.study import Ranking
from explorer.study.problem import MODEL_ROW
from explorer.studyfile import Study

_ALONE = "Alone: what would go if this row were known exactly."
_IN_ALL = " In all: what it carries together with the others too."
_UNITS = (
    " Shares are of the squared standard uncertainty, in per cent; in brackets the sampling error (95 %). Left: the"
    " standard uncertainty if known exactly, for what a test can pin down."
)
_USE = "`rank` tries the whole of each. They were read so:"


def ranking_report(
    ranking: Ranking, study: Study, envelope: Mapping[str, Any], pictures: Mapping[str, str] | None = None
) -> tuple[Section, ...]:
    """Return the report of a ranking.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    study : Study
        That was ranked.
    envelope : mapping
        What its JSON begins with.
    pictures : mapping, optional
        SVG elements: "ranking", "measurements".
    """
    drawn = pictures or {}
    optional = (measurements_section(ranking, study, drawn.get("measurements")), instruments_section(ranking))
    return (
        _heading(ranking, study),
        Section("In plain words", tuple(Paragraph(words) for words in plain_words(ranking, study))),
        _carries(ranking, study, drawn.get("ranking")),
        *(section for section in optional if section is not None),
        how_read(study, use=_USE),
        cautions(),
        _for_reviewer(ranking),
        _second_opinion(ranking),
        resolved_inputs(study),
        provenance(envelope),
    )


def _heading(ranking: Ranking, study: Study) -> Section:
    quantity = registry.quantity(ranking.target)
    line = f"What makes {ranking.target} unsure: {quantity.sentence[0].lower()}{quantity.sentence[1:]}"
    return Section(study.title, (Paragraph(line), *notes(study)))


def _carries(ranking: Ranking, study: Study, picture: str | None) -> Section:
    table, small = printed_table(ranking)
    parts: list[Part] = []
    if picture is not None:
        parts.append(Picture(picture, f"What carries the uncertainty of {ranking.target}, largest first."))
    parts.append(table)
    if small:
        parts.append(Paragraph(f"{counted(small, 'row')} of less than 0.5 % each: see ranking.csv."))
    parts.append(Paragraph(_ALONE + (_IN_ALL if has_totals(ranking) else "") + _UNITS))
    own = study.model_error.of(ranking.target)
    if own.relative:
        parts.append(
            Paragraph(
                f'"{MODEL_ROW}" stands for how far the calculation may be off though every input were right:'
                f" {percent(own.relative)} ({own.origin})."
            )
        )
    told = (
        how_shares_were_told(ranking),
        scatter_words(ranking),
        guesses_words(ranking),
    )
    parts += [Paragraph(words) for words in told if words is not None]
    points = sum(ranking.points.values())
    parts.append(Paragraph(f"From {points} operating points in {ranking.scrambles} independent repeats."))
    return Section("What carries the uncertainty", tuple(parts))


def _for_reviewer(ranking: Ranking) -> Section:
    scale = registry.quantity(ranking.target).scale
    (mean, mean_error), (spread, spread_error) = ranking.mean, ranking.standard_uncertainty
    method = {
        "design": "First-order indices after Saltelli et al. (2010), total indices after Jansen (1999), on"
        " independent scrambles of a Sobol' sequence.",
        "correlated": "Given-data first-order indices of dependent inputs; no total indices.",
        "failures": "Given-data first-order indices among the points that carry a number; no total indices.",
    }[ranking.shares.how]
    figures = (
        f"Mean {scale.text(mean, 6)} (sampling ± {scale.difference(mean_error, 2)}), standard uncertainty"
        f" {scale.difference(spread, 4)} (sampling ± {scale.difference(spread_error, 2)}), each error one standard"
        f" error. {ranking.base} base rows over {ranking.scrambles} scrambles; {percent(ranking.lost)} lost."
    )
    common = (
        "Intervals are Student's t over the scrambles. Nothing is clipped: a small negative figure is a zero with its"
        " sampling error."
    )
    points = tuple((STATUS_WORDS[name], str(count)) for name, count in ranking.points.items())
    parts: list[Part] = [
        Paragraph(f"{method} {common}"),
        Paragraph(figures),
        Table(points, ("status", "points"), frozenset({1})),
        reviewer_table(ranking),
    ]
    if ranking.shares.runs is not None:
        runs = ranking.shares.runs.table.sort_values("first", ascending=False)
        rows = tuple(
            (str(name), f"{row['first']:.4f}", f"{row['first_low']:.4f} … {row['first_high']:.4f}")
            for name, row in runs.iterrows()
        )
        parts += [Paragraph('First-order indices of the yes/no "the stage runs":'), Table(rows)]
    return Section("For a reviewer", tuple(parts), audience="reviewer")


def _second_opinion(ranking: Ranking) -> Section:
    opinion = ranking.learning.second_opinion
    rows = tuple(
        (str(name), f"{row['distance']:.3f}", f"{row['largest']:.3f}")
        for name, row in opinion.table.iterrows()
    )
    words = (
        "How far, on average and at most, the target's distribution moves (Kolmogorov-Smirnov distance) when a row is"
        f" held in a slice of its range; computed by SALib. A dummy that tells nothing has {opinion.dummy:.3f}."
    )
    table = Table(rows, ("input", "mean", "largest"), frozenset({1, 2}))
    return Section("Second opinion", (Paragraph(words), table), audience="reviewer")
