"""What a reviewer wants of a propagation: method, repeats, how figures settled, the first-order law input by input."""

from typing import Any

import pandas as pd

from explorer import registry
from explorer.page.document import Paragraph, Part, Section, Table
from explorer.page.words import figure_with_sampling
from explorer.questions.propagate.first_order import DIGITS
from explorer.questions.propagate.propagation import Propagation
from explorer.questions.propagate.repeats import Repeats
from explorer.questions.propagate.tables import law_table, status_table
from explorer.questions.propagate.words import rows_of
from explorer.registry import Quantity

_METHOD = (
    "Independent scrambles of a Sobol' sequence; where inputs scatter, every point has a twin that shares the unknowns"
    " and draws the scatter anew. V = Var(E[Y|unknowns]) + E[Var(Y|unknowns)]: the second part is half the mean square"
    " difference of the twins (Jansen 1999), the first their covariance. Figures are those of all values together,"
    " quantiles exact; each sampling error is one standard error, from the spread of the figure over the scrambles."
    " The interval of the mean over firings is carried on from one firing over the mean of two; exact for Gaussian"
    " outputs, an approximation elsewhere."
)

_LAW = (  # δ as JCGM 101, 7.9.2 makes it of a number of digits
    "Central differences of plus and minus one standard uncertainty about the expectation, product-moment correlations"
    " out of the copula (JCGM 100, 5.1.3 and 5.2.2). Verdict after JCGM 101, clause 8: both ends of the 95 % interval"
    f" within δ of the sample's, δ half a unit of significant digit {DIGITS} of the standard uncertainty; not decided"
    " where twice the sampling error of an end exceeds δ/5."
)


def review(found: Propagation, pieces: Repeats | None) -> tuple[Section, ...]:
    """Return the sections for a reviewer."""
    sections = [_method(found)]
    if pieces is not None:
        sections += [_repeats(pieces), _growth(pieces)]
    return (*sections, _first_order(found))


def _reviewer(title: str, *parts: Part) -> Section:
    return Section(title, parts, audience="reviewer")


def _method(found: Propagation) -> Section:
    parts: list[Part] = [Paragraph(_METHOD), status_table(found)]
    if found.chance_met is not None:
        apart = ", ".join(f"{share:.4f}" for share in found.chance_met.by_scramble)
        parts.append(Paragraph(f"Chance that the requirement is met, scramble by scramble: {apart}."))
    if found.mixture is not None:
        apart = ", ".join(f"{share:.4f}" for share in found.mixture.contact.by_scramble)
        parts.append(Paragraph(f"Chance of contact, scramble by scramble: {apart}."))
    return _reviewer("For a reviewer", *parts)


def _repeats(pieces: Repeats) -> Section:
    parts: list[Part] = []
    for name, table in pieces.apart.groupby(level="quantity", sort=False):
        quantity = registry.quantity(str(name))
        rows = tuple(
            (str(number), *(_precise(quantity, value) for value in row))
            for (_, number), row in zip(table.index, table.to_numpy(), strict=True)
        )
        head = (str(name), "mean", "standard uncertainty", "95 % from", "95 % to")
        parts.append(Table(rows, head, frozenset({0, 1, 2, 3, 4})))
    return _reviewer("Scramble by scramble", *parts)


def _growth(pieces: Repeats) -> Section:
    parts: list[Part] = [
        Paragraph(
            "The first rows of each scramble are a balanced design themselves. With more of them figures move by no"
            " more than their sampling errors, and these fall."
        )
    ]
    for name, table in pieces.growth.groupby(level="quantity", sort=False):
        quantity = registry.quantity(str(name))
        rows = tuple(_grown(quantity, table, place) for place in range(len(table)))
        head = (f"{name}: points", "mean", "standard uncertainty", "95 % from", "95 % to")
        parts.append(Table(rows, head, frozenset({0})))
    return _reviewer("How the figures settled", *parts)


def _grown(quantity: Quantity, table: pd.DataFrame, place: int) -> tuple[str, ...]:
    row: dict[str, Any] = {str(key): value for key, value in table.iloc[place].to_dict().items()}
    spread = row["standard_uncertainty"] / 10
    cells = [
        figure_with_sampling(quantity, row[name], row[f"{name}_standard_error"], spread)
        for name in ("mean", "standard_uncertainty", "low", "high")
    ]
    return (str(table.index[place][1]), *cells)


def _precise(quantity: Quantity, value: float) -> str:
    return quantity.shown(value, 6)


def _first_order(found: Propagation) -> Section:
    parts: list[Part] = [Paragraph(_LAW), law_table(found)]
    contributions = found.first_order.contributions
    names = [name for name in rows_of(found) if name in contributions]
    if names:
        order = contributions[names[0]].abs().sort_values(ascending=False).index
        rows = tuple(
            (
                str(row),
                *(
                    registry.quantity(name).scale.difference(float(contributions[name].loc[row]), 3)
                    for name in names
                ),
            )
            for row in order
        )
        parts.append(
            Paragraph("What each row contributes, signed; they add in squares unless rows are correlated:")
        )
        parts.append(Table(rows, ("", *names), frozenset(range(1, len(names) + 1))))
    return _reviewer("The first-order law, input by input", *parts)
