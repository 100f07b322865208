"""A comparison as data: the content of its JSON and its CSV files, everything in SI."""

import math
from collections.abc import Iterator, Sequence
from typing import Any

import pandas as pd

from explorer import registry
from explorer.page.designs import Figures, figures_of
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.regime_sides import changing


def comparison_content(found: Comparison, words: Sequence[str]) -> dict[str, Any]:
    """Return what the JSON of a comparison holds behind its envelope."""
    return {
        "designs": [_design(found, place) for place in range(len(found.names))],
        "differences": [
            {
                "design": name,
                "less": found.names[0],
                "quantities": _quantities(found.differences, name),
                "contact_in_both": _quantities(found.differences_given_contact, name),
            }
            for name in found.names[1:]
        ],
        "changes_of_regime": [regime.name for regime in changing(found.regimes)],
        "shared": {
            name: [{"design": design, "input": address} for design, address in who]
            for name, who in found.shared.items()
        },
        "alike_but_drawn_apart": list(found.apart),
        "model_error_in_common": found.model_share,
        "samples": found.samples,
        "scrambles": found.scrambles,
        "words": " ".join(words),
    }


def _design(found: Comparison, place: int) -> dict[str, Any]:
    name, study = found.names[place], found.studies[place]
    contact = found.contact[name]
    limits = found.limits[found.limits["design"] == name].drop(columns="design")
    return {
        "name": name,
        "title": study.title,
        "mode": study.mode,
        "contact": {"chance": float(contact.value), "standard_error": float(contact.standard_error)},
        "quantities": _quantities(found.quantities, name),
        "given_contact": _quantities(found.given_contact, name),
        "limits": [_known(row) for row in limits.to_dict("records")],
        "statuses": figures_of(found.statuses, name),
        "warnings": figures_of(found.warnings, name),
        "regimes": figures_of(found.regimes, name),
        "inputs": {
            row: {**own, "unit": _unit_of_input(row)} for row, own in figures_of(found.inputs, name).items()
        },
    }


def _known(row: dict[Any, Any]) -> dict[str, Any]:
    return {str(key): value for key, value in row.items()}


def _unit_of_input(address: str) -> str | None:
    entry = registry.entry(address)
    return entry.unit if isinstance(entry, registry.Quantity) else None


def _quantities(table: pd.DataFrame, name: str) -> dict[str, Any]:
    return {row: _figures(row, own) for row, own in figures_of(table, name).items()}


def _figures(row: str, own: Figures) -> dict[str, Any]:
    plain = [key for key in ("mean", "median", "standard_uncertainty", "larger") if key in own]
    errors: dict[str, Any] = {key: own[f"{key}_standard_error"] for key in plain}
    errors["interval_95"] = [own["low_standard_error"], own["high_standard_error"]]
    return {
        "unit": registry.quantity(row).unit,
        **{key: own[key] for key in ("centre", "verdict") if key in own},
        **{key: own[key] for key in plain},
        "interval_95": [own["low"], own["high"]],
        "standard_error": errors,
        "missing": own["missing"],
    }


def comparison_rows(found: Comparison) -> pd.DataFrame:
    """Return all figures of all designs as CSV, a row a quantity and design, SI with the unit beside.

    Where contact is not sure a second set of rows holds the firings that make contact.
    """
    return pd.DataFrame(list(_rows(found.quantities, found.given_contact)))


def differences_rows(found: Comparison) -> pd.DataFrame:
    """Return all differences as CSV, a row a quantity and design less the first, SI with the unit beside.

    Where contact is not sure a second set of rows holds the firings in which both make contact.
    """
    return pd.DataFrame(
        {"quantity": row.pop("quantity"), "design": row.pop("design"), "less": found.names[0], **row}
        for row in _rows(found.differences, found.differences_given_contact)
    )


def _rows(every: pd.DataFrame, given: pd.DataFrame) -> Iterator[dict[str, Any]]:
    for firings, table in (("all", every), ("with contact", given)):
        names = [] if table.empty else list(table.columns.unique("design"))
        figures = {name: figures_of(table, name) for name in names}
        for row in map(str, table.index):
            for name in names:
                own = figures[name][row]
                if not math.isnan(own["mean"]):
                    unit = registry.quantity(row).unit
                    yield {"quantity": row, "design": name, "firings": firings, "unit": unit, **own}
