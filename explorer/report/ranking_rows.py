"""A ranking's rows as tables: for the terminal and the page, for a reviewer, for a picture."""

import math
from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer.report.document import Table
from explorer.report.text import bar
from explorer.study import Ranking

#: Share below which a row is not printed on its own [-].
SMALLEST_SHOWN: Final = 0.005

_BAR: Final = 14  #: characters of a whole bar

Row = Mapping[str, Any]


def ranked(ranking: Ranking) -> list[dict[str, Any]]:
    """Return the rows as plain mappings with their names, most important first.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    return [
        {"name": str(name), **{str(key): value for key, value in row.items()}}
        for name, row in zip(ranking.inputs.index, ranking.inputs.to_dict("records"), strict=True)
    ]


def label(row: Row) -> str:
    """Return what a table calls a row: its address, or what it is that has none.

    Parameters
    ----------
    row : mapping
        One of `ranked`.
    """
    return str(row["name"] if row["part"] in ("model", "group") else row["address"])


def has_totals(ranking: Ranking) -> bool:
    """Return whether the ranking knows what rows carry together with others.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    return bool(ranking.inputs["total"].notna().any())


def printed_table(ranking: Ranking) -> tuple[Table, int]:
    """Return the ranked rows as printed with their bars, and how many small ones are left out.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    totals = has_totals(ranking)
    leading = "total" if totals else "first"
    rows = ranked(ranking)
    shown = [row for row in rows if row[leading] >= SMALLEST_SHOWN]
    scale = registry.quantity(ranking.target).scale
    whole = _whole(max((row[leading] for row in shown), default=1.0))
    cells = []
    for row in shown:
        shares = [_share(row, "first"), *([_share(row, "total")] if totals else [])]
        left = row["left_if_known"]
        left_words = "" if math.isnan(left) or row["part"] == "model" else scale.difference(left)
        bars = bar(row[leading] / whole, row["first"] / whole, _BAR)
        cells.append((label(row), str(row["part"]), *shares, left_words, bars))
    head = ("", "", "alone %", *(["in all %"] if totals else []), "left", f"0 to {100 * whole:g} %")
    return Table(tuple(cells), head, frozenset(range(2, len(head) - 1))), len(rows) - len(shown)


def _whole(largest: float) -> float:
    """The share at which a whole bar ends: the largest one rounded up to 5 %. [-]"""
    return 0.05 * max(math.ceil(20 * largest - 1e-9), 1)


def _share(row: Row, figure: str) -> str:
    value, high = 100 * row[figure], 100 * row[f"{figure}_high"]
    return f"{value:.1f} (±{high - value:.1f})"


def reviewer_table(ranking: Ranking) -> Table:
    """Return every row with its figures and the intervals of their sampling errors.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    scale = registry.quantity(ranking.target).scale
    figures = ("first", "total") if has_totals(ranking) else ("first",)
    cells = []
    for row in ranked(ranking):
        shares = [
            text
            for figure in figures
            for text in (f"{row[figure]:.4f}", f"{row[f'{figure}_low']:.4f} … {row[f'{figure}_high']:.4f}")
        ]
        left, error = row["left_if_known"], row["left_if_known_standard_error"]
        known = "" if math.isnan(left) else f"{scale.difference(left, 4)} ± {scale.difference(error, 2)}"
        cells.append((label(row), str(row["part"]), *shares, known, _spread(row)))
    names = {"first": "first-order", "total": "total"}
    heads = [text for figure in figures for text in (names[figure], "95 % (sampling)")]
    head = ("input", "part", *heads, "left if known exactly (± sampling)", "standard uncertainty")
    return Table(tuple(cells), head, frozenset(range(2, 2 + len(heads), 2)))


def _spread(row: Row) -> str:
    spread = row["standard_uncertainty"]
    if row["part"] == "group" or math.isnan(spread):
        return ""
    if row["part"] == "model":
        return f"{100 * spread:.3g} %"
    return str(registry.quantity(row["address"]).scale.difference(spread))


def picture_rows(ranking: Ranking) -> pd.DataFrame:
    """Return the rows as a picture wants them: label and kind beside their shares.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    table = ranking.inputs.reset_index(drop=True).copy()
    rows = ranked(ranking)
    table["kind"] = [row["part"] for row in rows]
    table["label"] = [f"{label(row)} (scatter)" if row["part"] == "scatter" else label(row) for row in rows]
    return table
