"""Rankings as data: the content of their JSON and their CSV, most important first."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from explorer.questions.rank.ranking import Ranking
from explorer.questions.rank.shares import Shares
from explorer.questions.rank.tables import against_name, has_totals, input_scale, label, ranked


def rankings_content(rankings: Sequence[Ranking], words: Sequence[Sequence[str]]) -> dict[str, Any]:
    """Return what the JSON holds behind its envelope: a ranking's own keys, or those of several under "targets"."""
    each = [ranking_content(ranking, said) for ranking, said in zip(rankings, words, strict=True)]
    return each[0] if len(each) == 1 else {"targets": each}


def ranking_content(ranking: Ranking, words: Sequence[str]) -> dict[str, Any]:
    """Return what the JSON of a ranking holds behind its envelope."""
    mean, mean_error = ranking.mean
    spread, spread_error = ranking.standard_uncertainty
    found, chance, against = ranking.distribution, ranking.chance_met, ranking.against
    return {
        "target": ranking.target,
        "unit": ranking.unit,
        "against": None
        if against is None
        else {"study": against_name(ranking), "study_hash": against.study_hash},
        "mean": mean,
        "standard_uncertainty": spread,
        "interval_95": [float(found.low.value), float(found.high.value)],
        "chance_met": None if chance is None else float(chance.value),
        "standard_error": {
            "mean": mean_error,
            "standard_uncertainty": spread_error,
            "interval_95": [float(found.low.standard_error), float(found.high.standard_error)],
            "chance_met": None if chance is None else float(chance.standard_error),
        },
        "inputs": [_input(row, totals=has_totals(ranking)) for row in ranked(ranking)],
        "shares_from": ranking.shares.how,
        "runs": _runs(ranking, ranking.shares),
        "together": _together(ranking),
        "measurements": _measurements(ranking),
        "best_set": [] if ranking.best_set is None else _records(ranking.best_set, ("name", "left", "hours")),
        "instruments": _records(ranking.instruments.rename_axis("name").reset_index(), None),
        "first_choice_stands": None if ranking.guesses is None else bool(ranking.guesses.table["same"].all()),
        "second_opinion": _second_opinion(ranking),
        "points": dict(ranking.points),
        "rows_lost": ranking.lost,
        "base": ranking.base,
        "scrambles": ranking.scrambles,
        "words": " ".join(words),
    }


def _second_opinion(ranking: Ranking) -> str | None:
    leading = ranking.learning.second_opinion.leading
    names = {row["name"]: label(row) for row in ranked(ranking)}
    return None if leading is None else names.get(leading, leading.removesuffix(" (unknown)"))


def _input(row: dict[str, Any], *, totals: bool) -> dict[str, Any]:
    return {
        "address": label(row),
        "part": row["part"],
        "first": row["first"],
        "first_interval": [row["first_low"], row["first_high"]],
        "total": row["total"] if totals else None,
        "total_interval": [row["total_low"], row["total_high"]] if totals else None,
        "level_with_the_one_above": row["level"],
        "left_if_known": row["left_if_known"],
        "standard_error": {"left_if_known": row["left_if_known_standard_error"]},
    }


def _runs(ranking: Ranking, shares: Shares) -> list[dict[str, Any]]:
    """Shares of the yes/no "the stage runs", largest first; empty where that is no question."""
    if shares.runs is None:
        return []
    rows = {row["name"]: row for row in ranked(ranking)}
    table = shares.runs.table.sort_values("first", ascending=False)
    return [
        {
            "address": label(rows[str(name)]),
            "part": rows[str(name)]["part"],
            "first": row["first"],
            "first_interval": [row["first_low"], row["first_high"]],
        }
        for name, row in zip(table.index, table.to_dict("records"), strict=True)
    ]


def _together(ranking: Ranking) -> dict[str, Any] | None:
    pair = ranking.learning.pair
    if pair is None:
        return None
    return {
        "addresses": [name.removesuffix(" (unknown)") for name in pair.names],
        "left_if_known": float(pair.left.value),
        "standard_error": {"left_if_known": float(pair.left.standard_error)},
    }


def _measurements(ranking: Ranking) -> list[dict[str, Any]]:
    table = ranking.measurements
    if table is None:
        return []
    decision = None if ranking.study is None else ranking.study.decision
    valued = "value" in table.columns
    found = []
    for row in table.reset_index().to_dict("records"):
        item: dict[str, Any] = {
            "name": row["name"],
            "hours": row["hours"],
            "left": row["left"],
            "left_range": [row["left_range_low"], row["left_range_high"]],
            "fall_per_hour": row["fall_per_hour"],
            "verdicts_avoided": None,
            "value": None,
            "verdict_changes": row.get("change"),
        }
        errors = {"left": row["left_standard_error"]}
        if valued and decision is None:
            item["verdicts_avoided"] = 100 * row["value"]
            errors["verdicts_avoided"] = 100 * row["value_standard_error"]
        elif valued and decision is not None:  # with pay-offs the value is in their unit
            item["value"] = row["value"]
            item["value_less_hours"] = row["value"] - decision.cost_per_hour * row["hours"]
            item["value_unit"] = decision.unit
            errors["value"] = row["value_standard_error"]
        found.append({**item, "standard_error": errors})
    return found


def _records(table: pd.DataFrame, columns: Sequence[str] | None) -> list[dict[str, Any]]:
    wanted = table if columns is None else table[list(columns)]
    return [{str(key): value for key, value in row.items()} for row in wanted.to_dict("records")]


def ranking_rows(ranking: Ranking) -> pd.DataFrame:
    """Return all rows as a table, the unit in each head or beside the value."""
    rows = ranked(ranking)
    unit = ranking.unit
    return pd.DataFrame(
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
            "unit of standard_uncertainty": [_unit(ranking, row) for row in rows],
        }
    )


def _unit(ranking: Ranking, row: dict[str, Any]) -> str:
    """The unit in which a row's spread is given: the model's own error is a share of the target."""
    if row["part"] == "model":
        return "1"
    scale = input_scale(ranking, row["address"]) if row["part"] in ("unknown", "scatter") else None
    return "" if scale is None else scale.unit
