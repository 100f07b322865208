"""What a reviewer wants of a ranking: method, every figure, how repeats agree, sets of measurements, second opinion."""

from collections.abc import Iterable
from typing import Final

import numpy as np

from explorer import registry, units
from explorer.analysis.measurement_sets import Measured, MeasurementSet
from explorer.analysis.scrambles import Estimate, estimate
from explorer.page.document import Paragraph, Part, Section, Table
from explorer.page.words import (
    STATUS_WORDS,
    figure_with_sampling,
    fixed,
    percent,
    with_sampling,
    with_uncertainty,
)
from explorer.questions.rank.ranking import SHARE_DECIMALS, Ranking
from explorer.questions.rank.shares import row_words
from explorer.questions.rank.tables import running, spread_words

#: Rows whose repeats are shown one by one.
_MOST_ROWS: Final = 8

_METHOD: Final = {
    "design": "First-order indices after Saltelli et al. (2010), total indices after Jansen (1999), on independent"
    " scrambles of a Sobol' sequence.",
    "correlated": "Inputs depend on each other: given-data first-order indices, dependence included; no total indices.",
    "failures": "Too many points carry no number: given-data first-order indices among the points that run; no total"
    " indices.",
}
_COMMON: Final = (
    "Intervals are Student's t over the scrambles. Nothing is clipped: a small negative figure is a zero with its"
    " sampling error."
)
_KNOWN: Final = {
    True: "Left if known: what the first-order index leaves; for two, closed second-order index (Saltelli 2002).",
    False: "Left if known: regression on splines of ranks, cross-fitted, errors from the scrambles: it can only be too"
    " large.",
}


def review(ranking: Ranking) -> tuple[Section, ...]:
    """The sections for a reviewer."""
    return (_figures(ranking), _repeats(ranking), *_sets(ranking), _second_opinion(ranking))


def _reviewer(title: str, *parts: Part) -> Section:
    return Section(title, parts, audience="reviewer")


def _figures(ranking: Ranking) -> Section:
    quantity, spread = registry.quantity(ranking.target), ranking.standard_uncertainty
    figures = (
        f"Mean {figure_with_sampling(quantity, ranking.mean, None, float(spread), full=True)}, standard uncertainty"
        f" {with_sampling(quantity, spread, full=True)}, each error one standard error. Base {ranking.base}"
        f" over {ranking.scrambles} scrambles; {percent(ranking.lost)} lost."
    )
    points = tuple((STATUS_WORDS[name], str(count)) for name, count in ranking.points.items())
    null = (
        "Of inputs that tell nothing the luckiest would seem to make the variance fall by"
        f" {percent(ranking.learning.null_fall)} (95 % point of the largest,"
        f" {'by the design' if ranking.learning.by_design else 'all inputs permuted'}); a fall below that is none."
    )
    parts: list[Part] = [
        Paragraph(f"{_METHOD[ranking.shares.how]} {_COMMON} {_KNOWN[ranking.learning.by_design]}"),
        Paragraph(figures),
        Table(points, ("status", "points"), frozenset({1})),
        _every_row(ranking),
        Paragraph(null),
    ]
    if ranking.shares.runs is not None:
        rows = tuple((subject.words, *_share_cells(first)) for subject, first in running(ranking))
        head = ("input", "first-order", "95 % (sampling)")
        parts += [
            Paragraph('First-order indices of the yes/no "the stage runs":'),
            Table(rows, head, frozenset({1})),
        ]
    return _reviewer("For a reviewer", *parts)


def _share_cells(share: Estimate) -> tuple[str, str]:
    """A share, and an interval of its sampling error that no line break parts."""
    return fixed(share, 4), f"{fixed(share.low, 4)}\u00a0…\u00a0{fixed(share.high, 4)}"


def _every_row(ranking: Ranking) -> Table:
    quantity = registry.quantity(ranking.target)
    unit = "" if quantity.shown_unit in ("", "1") else f" {quantity.shown_unit}"
    cells = []
    for row in ranking.rows:
        shares = [
            cell for share in (row.first, row.total) if share is not None for cell in _share_cells(share)
        ]
        known = "" if row.left is None else with_uncertainty(quantity, row.left, row.left.error, full=True)
        cells.append((row.words, row.part, *shares, known.removesuffix(unit), spread_words(row)))
    names = ("first-order", "total") if ranking.has_totals else ("first-order",)
    heads = [text for name in names for text in (name, "95 % (sampling)")]
    known_head = f"left if known{f' [{unit.strip()}]' if unit else ''}"
    head = ("input", "part", *heads, known_head, "standard uncertainty")
    return Table(tuple(cells), head, frozenset(range(2, 2 + len(heads), 2)))


def _repeats(ranking: Ranking) -> Section:
    """The leading rows' figures repeat by repeat, and what half of the repeats would have said."""
    count = ranking.scrambles
    cells = []
    for row in ranking.rows[:_MOST_ROWS]:
        apart = row.leading.by_scramble
        half = estimate(apart[: max(count // 2, 1)])
        cells.append(
            (row.words, *(fixed(value, 3) for value in apart), _plus_minus(half), _plus_minus(row.leading))
        )
    head = ("input", *(str(n) for n in range(1, count + 1)), f"first {count // 2}", f"all {count}")
    kind = "its jackknife pseudo-values" if ranking.shares.how != "design" else "each scramble's own"
    words = (
        f"{'Total' if ranking.has_totals else 'First-order'} indices scramble by scramble ({kind}), then from half of"
        " them and from all with the interval of the sampling error (95 %): an interval that doesn't shrink, or a half"
        " that lies off, would speak against them."
    )
    table = Table(tuple(cells), head, frozenset(range(1, count + 3)))
    return _reviewer("How the repeats agree", Paragraph(words), table)


def _plus_minus(figure: Estimate) -> str:
    half_width = float(figure.high) - float(figure)
    return f"{fixed(figure, 3)}{f' ± {half_width:.3f}' if np.isfinite(half_width) else ''}"


def _sets(ranking: Ranking) -> Iterable[Section]:
    """The best sets of measurements that were computed; nothing without measurements."""
    found = ranking.learning.measurements
    if found is None:
        return
    quantity = registry.quantity(ranking.target)
    told: list[tuple[str, Measured | MeasurementSet]] = [(own.name, own) for own in found.each]
    told += [(" + ".join(step.names), step) for step in found.best[1:]]
    if set(found.furthest.names) != set(found.best[-1].names if found.best else ()):
        told.append((f"{' + '.join(found.furthest.names) or 'nothing'} (leaves least)", found.furthest))
    rows = tuple(
        (
            name,
            f"{units.number_text(own.hours, 3)} h",
            *(with_sampling(quantity, e, full=True) for e in (own.left, own.at_least)),
        )
        for name, own in told
    )
    search = "Sets of any size were searched by branch and bound on one half of the sample"
    gap = found.search.gap / float(ranking.standard_uncertainty) ** 2
    search += (
        f" ({found.search.looked_at} looked at; none within the hours leaves a variance less by more than"
        f" {percent(gap)} of it now) and judged on the other; hours of a set-up counted once."
    )
    words = (
        f"{search} A measurement is bought only if it takes {percent(found.worth)} or more off the standard uncertainty"
        " as it stands, and more than its sampling error. What is left at most comes from weighing the sample's points"
        " by how well they explain each reading, or from a regression where too few points lie near; at least, from"
        " the former and from what exact knowledge leaves."
        f" {percent(ranking.learning.lost)} of the sample's points are left out, for the target has no number there."
    )
    head = ("measurements", "hours", "left at most", "left at least")
    yield _reviewer("Sets of measurements", Paragraph(words), Table(rows, head, frozenset({1})))


def _second_opinion(ranking: Ranking) -> Section:
    """Both opinions side by side: shares, and how far the distribution moves."""
    opinion = ranking.learning.second_opinion
    by_share = sorted(ranking.rows, key=lambda row: -round(float(row.first), SHARE_DECIMALS))
    places = {(row.address, row.part): place for place, row in enumerate(by_share)}
    cells = []
    for number, moved in enumerate(opinion.moved, start=1):
        place = places.get((moved.row.address, moved.row.part))  # none where it stands in a group
        share = ("", "") if place is None else (fixed(by_share[place].first, 4), str(place + 1))
        cells.append(
            (
                row_words(moved.row),
                f"{moved.distance:.3f}",
                f"{moved.largest:.3f}",
                str(number),
                *share,
            )
        )
    words = (
        "How far, on average and at most, the target's distribution moves (Kolmogorov-Smirnov distance) when an"
        " input is"
        f" held in a slice of its range (Pianosi and Wagener 2018). A dummy that tells nothing has {opinion.dummy:.3f}."
    )
    head = ("input", "moves it by", "at most", "place", "first-order", "place by that")
    first = by_share[0]
    if opinion.leading is None:
        agreement = "No input stands out of the dummy, so this method has no opinion."
    elif (opinion.leading.address, opinion.leading.part) == (first.address, first.part):
        agreement = f"Both put {first.called} first."
    else:
        agreement = (
            f"The two disagree: by its share of the variance {first.called} comes first, by this method"
            f" {row_words(opinion.leading)}."
        )
    table = Table(tuple(cells), head, frozenset(range(1, 6)))
    return _reviewer("Second opinion", Paragraph(words), Paragraph(agreement), table)
