"""A propagation as data: the content of its JSON and its CSV, everything in SI."""

from collections.abc import Sequence
from typing import Any, Final

import pandas as pd

from explorer.questions.propagate.propagation import Propagation
from explorer.questions.propagate.words import Figures, figures_of, rows_of
from explorer.studyfile import Study

_PLAIN: Final = ("mean", "median", "standard_uncertainty", "unknown", "scatter")

#: Column heads of the CSV, in their order; each with its sampling error.
_COLUMNS: Final = (
    "mean",
    "median",
    "standard_uncertainty",
    "low",
    "high",
    "shortest_low",
    "shortest_high",
    "unknown",
    "scatter",
    "mean_low",
    "mean_high",
)


def propagation_content(
    found: Propagation, study: Study, words: Sequence[str], *, shortest: bool
) -> dict[str, Any]:
    """Return what the JSON of a propagation holds behind its envelope."""
    chance, target = found.chance_met, study.target
    return {
        "quantities": {name: _figures(row, shortest) for name, row in rows_of(found).items()},
        "points": dict(found.points),
        "target": {
            "quantity": target.quantity,
            "at_least": target.at_least,
            "at_most": target.at_most,
            "chance_wanted": target.chance if target.has_requirement else None,
            "chance_met": None if chance is None else float(chance.value),
            "standard_error": None if chance is None else float(chance.standard_error),
        },
        "first_order": _first_order(found),
        "statuses": found.status_shares.to_dict("index"),
        "mixture": _mixture(found, shortest),
        "model_error": {
            name: {"relative": own.relative, "origin": own.origin}
            for name in rows_of(found)
            for own in (study.model_error.of(name),)
        },
        "digits": _digits(found),
        "samples": found.samples,
        "scrambles": found.scrambles,
        "words": " ".join(words),
    }


def _figures(row: Figures, shortest: bool) -> dict[str, Any]:
    def ends(low: str, high: str, what: str = "") -> list[float]:
        return [row[f"{low}{what}"], row[f"{high}{what}"]]

    intervals = {"interval_95": ("low", "high")}
    if shortest:
        intervals["shortest_interval_95"] = ("shortest_low", "shortest_high")
    intervals["mean_over_firings_interval_95"] = ("mean_low", "mean_high")
    errors: dict[str, Any] = {name: row[f"{name}_standard_error"] for name in _PLAIN}
    errors |= {name: ends(*pair, "_standard_error") for name, pair in intervals.items()}
    return {
        "unit": row["unit"],
        **{name: row[name] for name in _PLAIN},
        **{name: ends(*pair) for name, pair in intervals.items()},
        "standard_error": errors,
    }


def _first_order(found: Propagation) -> dict[str, Any]:
    laws = figures_of(found.first_order.table)
    contributions = found.first_order.contributions
    return {
        str(name): {
            "value": law["value"],
            "standard_uncertainty": law["standard_uncertainty"],
            "interval_95": [law["low"], law["high"]],
            "verdict": law["verdict"],
            "tolerance": law["tolerance"],
            "contributions": contributions[name].to_dict() if name in contributions else {},
        }
        for name, law in laws.items()
    }


def _mixture(found: Propagation, shortest: bool) -> dict[str, Any] | None:
    mixture = found.mixture
    if mixture is None:
        return None
    return {
        "contact": float(mixture.contact.value),
        "standard_error": float(mixture.contact.standard_error),
        "given_contact": {
            str(name): _figures(row, shortest) for name, row in figures_of(mixture.given_contact).items()
        },
    }


def _digits(found: Propagation) -> dict[str, Any] | None:
    digits = found.digits
    if digits is None:
        return None
    return {
        "wanted": digits.wanted,
        "reached": digits.reached,
        "tolerances": dict(digits.tolerances),
        "blocks": digits.blocks,
    }


def propagation_rows(found: Propagation) -> pd.DataFrame:
    """Return all figures as CSV, a row a quantity, SI with the unit beside.

    Where contact is not sure a second set of rows holds the firings that make contact.
    """
    tables = [("all", found.quantities)]
    if found.mixture is not None:
        tables.append(("with contact", found.mixture.given_contact))
    rows = [
        {
            "quantity": name,
            "firings": which,
            "unit": row["unit"],
            **{key: row[key] for figure in _COLUMNS for key in (figure, f"{figure}_standard_error")},
        }
        for which, table in tables
        for name, row in figures_of(table).items()
    ]
    return pd.DataFrame(rows)
