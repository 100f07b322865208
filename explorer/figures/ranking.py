"""Ranked bars from zero: what carries a target's uncertainty, and of what kind each row is."""

from typing import Final

import numpy as np
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from explorer.figures.style import DARK, LIGHT, blank, style

#: Most rows drawn; the rest stands in the table.
MOST_ROWS: Final[int] = 12

#: Kind of a row: hatch and words.
_KINDS: Final[dict[str, tuple[str, str]]] = {
    "unknown": ("", "unknown: a test can pin it down"),
    "scatter": ("////", "scatter: falls anew at each firing"),
    "model": ("xxxx", "the model itself"),
}


def ranking_figure(rows: pd.DataFrame, target: str) -> Figure:
    """Return ranked bars with the intervals of their sampling errors.

    Parameters
    ----------
    rows : DataFrame
        Most important first: label, kind ("unknown", "scatter", "model"), first, first_low, first_high, total,
        total_low, total_high [-].
    target : str
        Address of the output.
    """
    shown = rows.iloc[:MOST_ROWS]
    with style():
        figure = blank(8.0, 1.5 + 0.36 * len(shown))
        axes = figure.subplots()
        places = np.arange(len(shown))
        for place, (_, row) in zip(places, shown.iterrows(), strict=True):
            hatch = _KINDS[str(row["kind"])][0]
            axes.barh(place, 100 * row["total"], 0.72, facecolor=LIGHT, edgecolor="black", hatch=hatch, linewidth=0.6)
            axes.barh(place, 100 * max(row["first"], 0.0), 0.34, facecolor=DARK, edgecolor="black", linewidth=0.6)
        _intervals(axes, shown, places)
        axes.set_yticks(places, list(shown["label"]))
        axes.invert_yaxis()
        axes.set_xlim(left=0.0)
        axes.set_xlabel(f"share of the uncertainty of {target}, counted in its square [%]")
        axes.legend(handles=_legend(set(shown["kind"])), loc="lower right", frameon=False)
    return figure


def _intervals(axes: object, shown: pd.DataFrame, places: np.ndarray) -> None:
    low, high = 100 * shown["total_low"].to_numpy(), 100 * shown["total_high"].to_numpy()
    axes.hlines(places, np.maximum(low, 0.0), high, color="black", linewidth=1.2)  # type: ignore[attr-defined]
    ends = {"color": "black", "marker": "|", "markersize": 7, "linestyle": "none"}
    axes.plot(high, places, **ends)  # type: ignore[attr-defined]


def _legend(kinds: set[str]) -> list[Patch]:
    handles = [
        Patch(facecolor=DARK, edgecolor="black", label="alone: would go if this were known exactly"),
        Patch(facecolor=LIGHT, edgecolor="black", label="in all, with what it does together with others"),
    ]
    handles += [
        Patch(facecolor=LIGHT, edgecolor="black", hatch=hatch, label=words)
        for kind, (hatch, words) in _KINDS.items()
        if kind in kinds and kind != "unknown"
    ]
    return handles
