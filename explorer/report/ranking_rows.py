"""A ranking's rows as tables: for the terminal and the page, for a picture, for a CSV file, for JSON."""

import math
from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from explorer import registry, units
from explorer.report.document import Table
from explorer.report.text import bar
from explorer.study import Ranking
from explorer.study.ranking import MODEL_ROW

#: Share in all below which a row is not printed on its own [-].
SMALLEST_SHOWN: Final = 0.005

_BAR: Final = 14  #: characters of a whole bar

Row = Mapping[str, Any]


def ranked(ranking: Ranking) -> list[dict[str, Any]]:
    """Return the rows as plain mappings, most important first.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    return [{str(key): value for key, value in row.items()} for row in ranking.inputs.to_dict("records")]


def kind(row: Row) -> str:
    """Return what a row is: "unknown", "scatter" or "model".

    Parameters
    ----------
    row : mapping
        One of `ranked`.
    """
    return "model" if row["address"] == MODEL_ROW else str(row["part"])


def left_if_known(ranking: Ranking, first: float) -> float:
    """Return what of the standard uncertainty is left, in root mean square, if one row were known exactly. [SI]

    Parameters
    ----------
    ranking : Ranking
        As computed.
    first : float
        [-] the row's first-order share.
    """
    return ranking.standard_uncertainty * math.sqrt(max(1.0 - max(first, 0.0), 0.0))


def printed_table(ranking: Ranking) -> tuple[Table, int]:
    """Return the ranked rows as printed with their bars, and how many small ones are left out.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    quantity = registry.quantity(ranking.target)
    rows = ranked(ranking)
    shown = [row for row in rows if row["total"] >= SMALLEST_SHOWN]
    cells = tuple(
        (
            row["address"],
            "model" if kind(row) == "model" else row["part"],
            _share(row, "first"),
            _share(row, "total"),
            quantity.shown(left_if_known(ranking, row["first"]), 3) if kind(row) == "unknown" else "",
            bar(row["total"], row["first"], _BAR),
        )
        for row in shown
    )
    head = ("", "", "alone %", "in all %", "left", "share from 0 to 100 %")
    return Table(cells, head, frozenset({2, 3, 4})), len(rows) - len(shown)


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
    cells = []
    for row in ranked(ranking):
        figures = [
            text
            for figure in ("first", "total")
            for text in (f"{row[figure]:.4f}", f"{row[f'{figure}_low']:.4f} … {row[f'{figure}_high']:.4f}")
        ]
        cells.append((row["address"], row["part"], *figures, _spread(row)))
    head = ("input", "part", "first-order", "95 % (sampling)", "total", "95 % (sampling)", "standard uncertainty")
    return Table(tuple(cells), head, frozenset({2, 4}))


def _spread(row: Row) -> str:
    if kind(row) == "model":
        return ""
    return str(registry.quantity(row["address"]).scale.difference(row["standard_uncertainty"]))


def picture_rows(ranking: Ranking) -> pd.DataFrame:
    """Return the rows as a picture wants them.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    table = ranking.inputs.reset_index(drop=True).copy()
    rows = ranked(ranking)
    table["kind"] = [kind(row) for row in rows]
    table["label"] = [
        f"{row['address']} (scatter)" if kind(row) == "scatter" else row["address"] for row in rows
    ]
    return table


def ranking_csv(ranking: Ranking) -> str:
    """Return all rows as CSV, the unit in each head or beside the value.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    table = pd.DataFrame(
        {
            "address": [row["address"] for row in ranked(ranking)],
            "part": [kind(row) for row in ranked(ranking)],
            **{
                f"{name} [1]": ranking.inputs[name].to_numpy()
                for figure in ("first", "total")
                for name in (figure, f"{figure}_low", f"{figure}_high")
            },
            "standard_uncertainty": ranking.inputs["standard_uncertainty"].to_numpy(),
            "unit of standard_uncertainty": [
                "" if kind(row) == "model" else registry.quantity(row["address"]).unit for row in ranked(ranking)
            ],
        }
    )
    return str(table.to_csv(index=False, float_format="%.10g", lineterminator="\n"))


def ranking_content(ranking: Ranking) -> dict[str, Any]:
    """Return what the JSON of a ranking holds behind its envelope.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    mean, error = ranking.mean
    return {
        "target": ranking.target,
        "unit": registry.quantity(ranking.target).unit,
        "mean": mean,
        "standard_uncertainty": ranking.standard_uncertainty,
        "standard_error": {"mean": error},
        "inputs": [
            {
                "address": row["address"],
                "part": row["part"],
                "first": row["first"],
                "first_interval": [row["first_low"], row["first_high"]],
                "total": row["total"],
                "total_interval": [row["total_low"], row["total_high"]],
            }
            for row in ranked(ranking)
        ],
        "points": dict(ranking.points),
        "rows_lost": ranking.lost,
        "base": ranking.base,
        "scrambles": ranking.scrambles,
    }


def sample_words(ranking: Ranking) -> str:
    """Return how large the sample was, in a sentence.

    Parameters
    ----------
    ranking : Ranking
        As computed.
    """
    points = sum(ranking.points.values())
    return (
        f"{points} operating points: {ranking.base} rows over {ranking.scrambles} independent repeats, whose spread"
        f" gives the sampling errors; {units.number_text(100 * ranking.lost, 2)} % of the rows were lost to points"
        " without a number."
    )
