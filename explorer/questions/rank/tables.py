"""A ranking's rows: what each is called and measured in, the printed table, what a picture of them wants."""

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Any, Final

import pandas as pd

from explorer import registry
from explorer.page.bars import LEVEL
from explorer.page.document import Table
from explorer.page.text import bar
from explorer.page.words import figure_with_sampling
from explorer.questions.rank.elementary import FirstLook
from explorer.questions.rank.ranking import Ranking
from explorer.study.joint import study_names
from explorer.units import Scale

#: Share below which a row is not printed on its own [-].
SMALLEST_SHOWN: Final = 0.005

_BAR: Final = 10  #: characters of a whole bar

Row = Mapping[str, Any]


def target_words(found: Ranking | FirstLook) -> str:
    """Return what was ranked: an output, or the difference of one between two studies."""
    if found.study is None or found.against is None:
        return found.target
    first, second = study_names(found.study, found.against)
    return f"{found.target} of {first} less that of {second}"


def against_name(found: Ranking | FirstLook) -> str | None:
    """Return what the study is called whose quantity was taken off; None where there is none."""
    return (
        None if found.study is None or found.against is None else study_names(found.study, found.against)[1]
    )


def input_scale(ranking: Ranking, address: str) -> Scale | None:
    """Return how an input is shown, also under the name that it has in a difference of studies; None if unknown."""
    if address.startswith("shared "):
        own = ranking.study.space.inputs if ranking.study is not None else ()
        address = next((i.address for i in own if f"shared {i.shared}" == address), address)
    try:
        return registry.quantity(address.rpartition(": ")[2]).scale
    except registry.UnknownAddressError:
        return None


def ranked(ranking: Ranking) -> list[dict[str, Any]]:
    """Return the rows as plain mappings with their names, most important first."""
    names = [str(name) for name in ranking.inputs.index]
    indices = ranking.shares.indices
    claims = indices.first_order_of if indices.total_order_of is None else indices.total_order_of
    level = [False, *(claims.loc[above, name] == "level" for above, name in pairwise(names))]
    return [
        {"name": name, "level": bool(open_), **{str(key): value for key, value in row.items()}}
        for name, open_, row in zip(names, level, ranking.inputs.to_dict("records"), strict=True)
    ]


def label(row: Row) -> str:
    """Return what a table calls a row: its address, or what it is that has none."""
    return str(row["name"] if row["part"] in ("model", "group") else row["address"])


def has_totals(ranking: Ranking) -> bool:
    """Return whether the ranking knows what rows carry together with others."""
    return bool(ranking.inputs["total"].notna().any())


def printed_table(ranking: Ranking) -> tuple[Table, int]:
    """Return the ranked rows as printed with their bars, and how many small ones are left out."""
    totals = has_totals(ranking)
    leading = "total" if totals else "first"
    rows = ranked(ranking)
    shown = [row for row in rows if row[leading] >= SMALLEST_SHOWN]
    quantity, spread = registry.quantity(ranking.target), ranking.standard_uncertainty[0]
    whole = _whole(max((row[leading] for row in shown), default=1.0))
    cells = []
    for place, row in enumerate(shown, start=1):
        shares = [_share(row, "first"), *([_share(row, "total")] if totals else [])]
        left = row["left_if_known"]
        idle = math.isnan(left) or row["part"] == "model"
        left_words = "" if idle else figure_with_sampling(quantity, left, 0.0, spread)
        bars = bar(row[leading] / whole, row["first"] / whole, _BAR)
        order = LEVEL if row["level"] else str(place)
        cells.append((order, label(row), str(row["part"]), *shares, left_words, bars))
    head = ("", "", "", "alone %", *(["in all %"] if totals else []), "left", f"0 to {100 * whole:g} %")
    return Table(tuple(cells), head, frozenset({0, *range(3, len(head) - 1)})), len(rows) - len(shown)


def _whole(largest: float) -> float:
    """The share at which a whole bar ends: the largest one rounded up to 5 %. [-]"""
    return 0.05 * max(math.ceil(20 * largest - 1e-9), 1)


def _share(row: Row, figure: str) -> str:
    value, high = 100 * row[figure], 100 * row[f"{figure}_high"]
    return f"{value:.1f} (±{high - value:.1f})"


def spread_words(ranking: Ranking, row: Row) -> str:
    """Return the standard uncertainty of a row's own quantity; empty where it has none."""
    spread = row["standard_uncertainty"]
    if row["part"] == "group" or math.isnan(spread):
        return ""
    if row["part"] == "model":
        return f"{100 * spread:.3g} %"
    scale = input_scale(ranking, row["address"])
    return f"{spread:.3g}" if scale is None else str(scale.difference(spread))


def picture_rows(ranking: Ranking) -> pd.DataFrame:
    """Return the rows as a picture wants them: label and kind beside their shares."""
    table = ranking.inputs.reset_index(drop=True).copy()
    rows = ranked(ranking)
    table["kind"] = [row["part"] for row in rows]
    table["label"] = [
        f"{f'{LEVEL} ' if row['level'] else ''}{label(row)}{' (scatter)' if row['part'] == 'scatter' else ''}"
        for row in rows
    ]
    return table
