"""How sure a prediction is, as tables: one future firing beside the mean over firings, statuses, the law, the model."""

import math
from typing import Final

from explorer import registry
from explorer.page.document import Table
from explorer.page.words import (
    STATUS_WORDS,
    between,
    figure_with_sampling,
    percent,
    share_with_sampling,
    with_uncertainty,
)
from explorer.questions.propagate.propagation import Propagation
from explorer.questions.propagate.words import Figures, drivers_words, figures_of, rows_of
from explorer.registry import Quantity
from explorer.studyfile import Study

ONE_FIRING: Final = "one future firing"
MEAN: Final = "mean over firings"


def firing_table(quantity: Quantity, row: Figures, *, shortest: bool) -> Table:
    """Return all figures of a quantity with their sampling errors, one firing beside the mean over firings."""

    def cell(name: str) -> str:
        error = row[f"{name}_standard_error"]
        return figure_with_sampling(quantity, row[name], error, row["standard_uncertainty"])

    scatter = figure_with_sampling(quantity, row["scatter"], row["scatter_standard_error"], row["scatter"], 2)
    shortest_rows = [
        ("shortest 95 % from", cell("shortest_low"), ""),
        ("shortest 95 % to", cell("shortest_high"), ""),
    ]
    rows = [
        ("mean", cell("mean"), cell("mean")),
        ("median", cell("median"), ""),
        ("standard uncertainty", cell("standard_uncertainty"), cell("unknown")),
        ("19 times in 20 from", cell("low"), _mean_end(quantity, row, "mean_low")),
        ("19 times in 20 to", cell("high"), _mean_end(quantity, row, "mean_high")),
        *(shortest_rows if shortest else []),
        ("of it not known", cell("unknown"), "all of it"),
        ("of it scatter", scatter, "none"),
    ]
    if not row["scatter"] > 0:  # then the mean over firings is the same as one firing
        return Table(tuple((a, b) for a, b, _ in rows[:-2]), ("", ONE_FIRING))
    return Table(tuple(rows), ("", ONE_FIRING, MEAN))


def _mean_end(quantity: Quantity, row: Figures, name: str) -> str:
    """An end of the mean's interval; it can't be told where scatter is by far the larger part."""
    if math.isnan(row[name]):
        return "can't be told, scatter being most of it"
    return figure_with_sampling(
        quantity, row[name], row[f"{name}_standard_error"], row["standard_uncertainty"]
    )


def status_table(found: Propagation) -> Table:
    """Return how the points ended: share of each status, and the inputs that drive it."""
    rows = [
        (
            STATUS_WORDS[str(name)],
            str(found.points[str(name)]),
            share_with_sampling(float(row["share"]), float(row["standard_error"])),
            drivers_words(found, str(name)),
        )
        for name, row in found.status_shares.iterrows()
    ]
    return Table(tuple(rows), ("", "points", "share", "hangs most on"), frozenset({1}))


def model_error_table(found: Propagation, study: Study) -> Table | None:
    """Return how far the model itself may be off for each quantity, and who says so; None where it is nowhere
    stated.
    """
    rows = []
    for name in rows_of(found):
        own = study.model_error.of(name)
        rows.append((name, percent(own.relative) if own.relative else "none stated", own.origin))
    if not any(study.model_error.of(name).relative for name in rows_of(found)):
        return None
    return Table(tuple(rows), ("", "standard uncertainty", "whose"))


def law_table(found: Propagation) -> Table:
    """Return the first-order law against the sample, with the tolerance of its verdict."""
    rows = []
    laws = figures_of(found.first_order.table)
    for name, row in rows_of(found).items():
        quantity, law = registry.quantity(name), laws[name]
        spread = row["standard_uncertainty"]
        sample = (
            with_uncertainty(quantity, row["mean"], spread),
            between(quantity, row["low"], row["high"], spread, last=" … "),
        )
        if not math.isnan(law["value"]):
            own = law["standard_uncertainty"]
            first = (
                with_uncertainty(quantity, law["value"], own),
                between(quantity, law["low"], law["high"], own, last=" … "),
            )
        else:
            first = ("", "")
        delta = "" if math.isnan(law["tolerance"]) else quantity.scale.difference(law["tolerance"], 1)
        rows.append((name, *first, *sample, delta, str(law["verdict"])))
    head = ("", "first-order law", "95 %", "sample", "95 %", "tolerance δ", "verdict")
    return Table(tuple(rows), head)
