"""How sure a prediction is, as tables: one future firing beside the mean over firings, statuses, the law, the model.

For a reviewer: every repeat by itself, how the figures settled as points came, what each row contributes by the law.
"""

import math
from collections.abc import Sequence
from typing import Final

from explorer import registry
from explorer.analysis.scrambles import Estimate
from explorer.page.document import Table
from explorer.page.words import (
    STATUS_WORDS,
    between,
    figure_with_sampling,
    percent_with_sampling,
    row_words,
    with_uncertainty,
)
from explorer.questions.propagate.figures import Figures, Piece
from explorer.questions.propagate.propagation import Propagation
from explorer.questions.propagate.words import drivers_words
from explorer.registry import Quantity

#: Figures that are told of a repeat and of a piece of the sample, with their heads.
_FIGURES: Final = {
    "mean": "mean",
    "standard_uncertainty": "standard uncertainty",
    "low": "95 % from",
    "high": "95 % to",
}


def firing_table(name: str, figures: Figures, *, shortest: bool) -> Table:
    """Return all figures of a quantity with their sampling errors, one firing beside the mean over firings."""
    quantity = registry.quantity(name)

    def cell(figure: Estimate) -> str:
        if math.isnan(float(figure)):  # an end of the mean's interval, of which little is left
            return "not told, scatter being most of it"
        return figure_with_sampling(quantity, figure, None, figures.spread, full=True)

    mean, unknown = cell(figures.mean), cell(figures.unknown)
    scatter = figure_with_sampling(quantity, figures.scatter, None, figures.scatter, 2, full=True)
    shortest_rows = [
        ("shortest 95 % from", cell(figures.shortest_low), ""),
        ("shortest 95 % to", cell(figures.shortest_high), ""),
    ]
    rows = [
        ("mean", mean, mean),
        ("median", cell(figures.median), ""),
        ("standard uncertainty", cell(figures.standard_uncertainty), unknown),
        ("19 times in 20 from", cell(figures.low), cell(figures.mean_low)),
        ("19 times in 20 to", cell(figures.high), cell(figures.mean_high)),
        *(shortest_rows if shortest else []),
        ("of it not known", unknown, "all of it"),
        ("of it scatter", scatter, "none"),
    ]
    if not figures.scatters:  # then the mean over firings is the same as one firing
        return Table(tuple((a, b) for a, b, _ in rows[:-2]), ("", "one future firing"))
    return Table(tuple(rows), ("", "one future firing", "mean over firings"))


def status_table(found: Propagation) -> Table:
    """Return how the points ended: share of each status, and the inputs that drive it."""
    rows = [
        (
            STATUS_WORDS[name],
            str(found.points[name]),
            percent_with_sampling(status.share),
            drivers_words(found, name),
        )
        for name, status in found.statuses.items()
    ]
    return Table(tuple(rows), ("", "points", "share", "depends most on"), frozenset({1}))


def law_table(found: Propagation) -> Table:
    """Return the first-order law against the sample, with the tolerance of its verdict."""
    rows = []
    for name, figures in found.figures.items():
        quantity, law = registry.quantity(name), found.first_order.laws[name]
        first = ("", "")
        if not math.isnan(law.value):
            own = law.standard_uncertainty
            first = (
                with_uncertainty(quantity, law.value, own),
                between(quantity, law.low, law.high, own, last=" … "),
            )
        sample = (
            with_uncertainty(quantity, figures.mean, figures.spread),
            between(quantity, figures.low, figures.high, figures.spread, last=" … "),
        )
        delta = "" if math.isnan(law.tolerance) else quantity.scale.difference(law.tolerance, 1)
        rows.append((registry.words_of(name), *first, *sample, delta, law.verdict))
    head = ("", "first-order law", "95 %", "sample", "95 %", "tolerance δ", "verdict")
    return Table(tuple(rows), head)


def contributions_table(found: Propagation) -> Table | None:
    """Return what each row contributes by the first-order law, largest first; None where it doesn't apply."""
    laws = {name: law for name, law in found.first_order.laws.items() if law.contributions}
    if not laws:
        return None
    leading = next(iter(laws.values())).contributions
    order = sorted(leading, key=lambda row: -abs(leading[row]))
    columns = (
        registry.quantity(name).scale.differences([law.contributions[row] for row in order])
        for name, law in laws.items()
    )
    rows = tuple(zip(map(row_words, order), *columns, strict=True))
    return Table(rows, ("", *map(registry.words_of, laws)), frozenset(range(1, len(laws) + 1)))


def repeats_table(name: str, whole: Piece) -> Table:
    """Return the figures of every repeat of a sample."""
    quantity = registry.quantity(name)
    columns = [getattr(whole.figures, figure).by_scramble for figure in _FIGURES]
    rows = tuple(
        (str(number), *(quantity.shown(float(value), 6) for value in repeat))
        for number, repeat in enumerate(zip(*columns, strict=True), start=1)
    )
    return Table(rows, (registry.words_of(name), *_FIGURES.values()), frozenset({0, 1, 2, 3, 4}))


def growth_table(name: str, pieces: Sequence[Piece]) -> Table:
    """Return how the figures settled as points came."""
    quantity = registry.quantity(name)
    rows = tuple((str(piece.points), *_settled(quantity, piece)) for piece in pieces)
    return Table(rows, (f"{registry.words_of(name)}: points", *_FIGURES.values()), frozenset({0}))


def _settled(quantity: Quantity, piece: Piece) -> list[str]:
    """The figures of a piece, to a digit more than elsewhere."""
    spread = float(piece.figures.standard_uncertainty) / 10
    return [
        figure_with_sampling(quantity, getattr(piece.figures, name), None, spread, full=True)
        for name in _FIGURES
    ]
