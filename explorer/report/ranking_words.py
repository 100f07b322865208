"""A ranking in plain words: what makes the answer unsure, and what the next test should pin down first.

Only what is unknown can be pinned down. What scatters from firing to firing no test removes, and against the
model's own error no measurement of an input helps.
"""

from collections.abc import Iterator
from typing import Any, Final

from explorer import registry
from explorer.report.ranking_rows import kind, left_if_known, ranked
from explorer.report.words import counted, listed, percent, with_uncertainty
from explorer.study import Ranking
from explorer.study.ranking import MODEL_ROW

#: Share alone below which an input is not worth a test [-].
NOT_WORTH: Final = 0.01

#: Most inputs named.
_NAMED: Final = 3


def ranking_words(ranking: Ranking) -> tuple[str, ...]:
    """Return the ranking in plain words, one sentence or two an item.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    return tuple(_words(ranking))


def _words(ranking: Ranking) -> Iterator[str]:
    yield _spread(ranking)
    rows = sorted(ranked(ranking), key=lambda row: -row["first"])
    unknown = [row for row in rows if kind(row) == "unknown"]
    leader = rows[0]
    if kind(leader) == "model":
        yield _model_leads(ranking)
    elif kind(leader) == "scatter":
        yield (
            f"Most of that is {leader['address']}, which falls anew at each firing: no test removes it, only the mean"
            " over several firings."
        )
    if not unknown:
        yield "No input is unknown: there is nothing that a test could pin down."
        return
    yield _pin_down(ranking, unknown, leads=kind(leader) == "unknown")
    small = len([row for row in unknown if row["first_high"] < NOT_WORTH])
    if small:
        each = " each" if small > 1 else ""
        yield f"{counted(small, 'other unknown carries', 'other unknowns carry')} less than 1 %{each}: leave them."
    yield from _outcomes(ranking)


def _spread(ranking: Ranking) -> str:
    quantity = registry.quantity(ranking.target)
    amount = with_uncertainty(quantity, ranking.mean[0], ranking.standard_uncertainty)
    return f"One firing's {ranking.target} is expected at {amount} (one standard uncertainty)."


def _model_leads(ranking: Ranking) -> str:
    error = ranking.study.model_error.of(ranking.target)
    return (
        f"Most of that is the model's own error ({percent(error.relative)}, {error.origin}): no measurement of an input"
        " helps much against it, only a powered firing held against the prediction."
    )


def _pin_down(ranking: Ranking, unknown: list[dict[str, Any]], *, leads: bool) -> str:
    """The sentence that names what to pin down first."""
    first = unknown[0]
    if first["first_low"] <= 0.0:
        return "No single input stands out of the sampling error: a larger --base would tell."
    quantity = registry.quantity(ranking.target)

    def left(row: dict[str, Any]) -> str:
        return f"± {quantity.scale.difference(left_if_known(ranking, row['first']), 2)}"

    claims = ranking.indices.first_order_of
    label = {(row["address"], row["part"]): name for name, row in ranking.inputs.iterrows()}

    def name(row: dict[str, Any]) -> Any:
        return label[row["address"], row["part"]]

    level = [row for row in unknown[1:_NAMED] if claims.loc[name(first), name(row)] == "level"]
    now = f"± {quantity.scale.difference(ranking.standard_uncertainty, 2)}"
    start = "Pin down" if leads else "Among the inputs pin down"
    text = (
        f"{start} {first['address']} first: if it were known exactly, {now} would fall to about {left(first)} on"
        " average"
    )
    if level:
        others = listed([row["address"] for row in level])
        return f"{text}; {others} cannot be told from it in this sample."
    following = [row for row in unknown[1:_NAMED] if row["first_low"] > NOT_WORTH]
    if following:
        others = listed([f"{row['address']} ({left(row)})" for row in following])
        return f"{text}. Next {'comes' if len(following) == 1 else 'come'} {others}."
    return f"{text}. No other input comes near it."


def _outcomes(ranking: Ranking) -> Iterator[str]:
    """Sentences on points that make no contact or carry no number."""
    points = sum(ranking.points.values())
    idle = ranking.points.get("no_contact", 0) / points
    if idle >= 0.01:
        yield f"In {percent(idle)} of the cases no current flows at all; that is part of this spread."
    if ranking.lost > 0.0:
        yield (
            f"{percent(ranking.lost)} of the sample's rows had a point without a number and were left out as a whole."
        )


def model_error_words(ranking: Ranking) -> str:
    """Return how far the model itself was taken to be off, and who says so.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    error = ranking.study.model_error.of(ranking.target)
    if not error.relative:
        return f"No error of the model itself is counted for {ranking.target}."
    return (
        f'"{MODEL_ROW[0].upper()}{MODEL_ROW[1:]}" stands for how far the calculation may be off though every input were'
        f" right: {percent(error.relative)} of {ranking.target} ({error.origin})."
    )
