"""A ranking as data: the content of its JSON and its CSV, most important first."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from explorer import registry
from explorer.report.ranking_rows import label, ranked
from explorer.study import Ranking


def ranking_content(ranking: Ranking, words: Sequence[str]) -> dict[str, Any]:
    """Return what the JSON of a ranking holds behind its envelope.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    words : sequence of str
        The plain words.
    """
    mean, mean_error = ranking.mean
    spread, spread_error = ranking.standard_uncertainty
    return {
        "target": ranking.target,
        "unit": ranking.unit,
        "mean": mean,
        "standard_uncertainty": spread,
        "standard_error": {"mean": mean_error, "standard_uncertainty": spread_error},
        "inputs": [_input(row) for row in ranked(ranking)],
        "shares_from": ranking.shares.how,
        "measurements": _measurements(ranking),
        "best_set": [] if ranking.best_set is None else _records(ranking.best_set, ("name", "left", "hours")),
        "instruments": _records(ranking.instruments.rename_axis("name").reset_index(), None),
        "first_choice_stands": None if ranking.guesses is None else bool(ranking.guesses.table["same"].all()),
        "second_opinion": _labels(ranking).get(ranking.learning.second_opinion.leading or ""),
        "points": dict(ranking.points),
        "rows_lost": ranking.lost,
        "base": ranking.base,
        "scrambles": ranking.scrambles,
        "words": " ".join(words),
    }


def _labels(ranking: Ranking) -> dict[str, str]:
    return {row["name"]: label(row) for row in ranked(ranking)}


def _input(row: dict[str, Any]) -> dict[str, Any]:
    return {
        "address": label(row),
        "part": row["part"],
        "first": row["first"],
        "first_interval": [row["first_low"], row["first_high"]],
        "total": row["total"],
        "total_interval": [row["total_low"], row["total_high"]],
        "left_if_known": row["left_if_known"],
        "standard_error": {"left_if_known": row["left_if_known_standard_error"]},
    }


def _measurements(ranking: Ranking) -> list[dict[str, Any]]:
    table = ranking.measurements
    if table is None:
        return []
    decides = ranking.study is not None and ranking.study.decision is not None
    per_hundred = "value" in table.columns and not decides  # with pay-offs the value is in their unit
    found = []
    for row in table.reset_index().to_dict("records"):
        errors = {"left": row["left_standard_error"]}
        if per_hundred:
            errors["verdicts_avoided"] = 100 * row["value_standard_error"]
        elif decides and "value" in row:
            errors["value"] = row["value_standard_error"]
        found.append(
            {
                "name": row["name"],
                "hours": row["hours"],
                "left": row["left"],
                "left_range": [row["left_range_low"], row["left_range_high"]],
                "fall_per_hour": row["fall_per_hour"],
                "verdicts_avoided": 100 * row["value"] if per_hundred else None,
                "value": row["value"] if decides and "value" in row else None,
                "verdict_changes": row.get("change"),
                "standard_error": errors,
            }
        )
    return found


def _records(table: pd.DataFrame, columns: Sequence[str] | None) -> list[dict[str, Any]]:
    wanted = table if columns is None else table[list(columns)]
    return [{str(key): value for key, value in row.items()} for row in wanted.to_dict("records")]


def ranking_csv(ranking: Ranking) -> str:
    """Return all rows as CSV, the unit in each head or beside the value.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    rows = ranked(ranking)
    unit = ranking.unit
    table = pd.DataFrame(
        {
            "address": [label(row) for row in rows],
            "part": [row["part"] for row in rows],
            **{
                f"{name} [1]": [row[name] for row in rows]
                for figure in ("first", "total")
                for name in (figure, f"{figure}_low", f"{figure}_high")
            },
            f"left_if_known [{unit}]": [row["left_if_known"] for row in rows],
            f"left_if_known_standard_error [{unit}]": [row["left_if_known_standard_error"] for row in rows],
            "standard_uncertainty": [row["standard_uncertainty"] for row in rows],
            "unit of standard_uncertainty": [_unit(row) for row in rows],
        }
    )
    return str(table.to_csv(index=False, float_format="%.10g", lineterminator="\n"))


def _unit(row: dict[str, Any]) -> str:
    """The unit in which a row's spread is given: the model's own error is a share of the target."""
    if row["part"] in ("unknown", "scatter"):
        return str(registry.quantity(row["address"]).unit)
    return "1" if row["part"] == "model" else ""
