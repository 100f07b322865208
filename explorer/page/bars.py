"""Ranked bars from zero: what carries a target's uncertainty, and of what kind each row is."""

import textwrap
from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from explorer.page.style import DARK, LIGHT, blank, style

#: Most rows drawn, the rest stands in the table; characters of an axis label on one line.
MOST_ROWS: Final[int] = 12
_WIDEST: Final[int] = 60

#: What a label begins with whose order against the row above does not stand out of the sampling error.
LEVEL: Final[str] = "="

#: Kind of a row: hatch and words; no hatch for what a test can pin down.
_KINDS: Final[dict[str, tuple[str, str]]] = {
    "unknown": ("", ""),
    "group": ("", ""),
    "scatter": ("////", "scatter: falls anew at each firing"),
    "model": ("xxxx", "the model itself: only a firing tells"),
}


def ranking_figure(rows: pd.DataFrame, target: str) -> Figure:
    """Return ranked bars with the intervals of their sampling errors."""
    shown = rows.iloc[:MOST_ROWS]
    leading = "total" if shown["total"].notna().any() else "first"
    layers = [(leading, 0.72, LIGHT)] + ([("first", 0.34, DARK)] if leading == "total" else [])
    with style():
        figure = blank(6.4, 1.4 + 0.32 * len(shown))
        axes: Axes = figure.subplots()
        places = np.arange(len(shown))
        for place, (_, row) in zip(places, shown.iterrows(), strict=True):
            hatch = _KINDS[str(row["kind"])][0]
            for share, height, color in layers:
                length = 100 * max(float(row[share]), 0.0)
                pattern = hatch if color == LIGHT else ""
                axes.barh(
                    place, length, height, facecolor=color, hatch=pattern, edgecolor="black", linewidth=0.6
                )
        _intervals(axes, shown, places, leading)
        axes.set_yticks(places, list(shown["label"]))
        axes.invert_yaxis()
        axes.set_xlim(left=0.0)
        words = textwrap.fill(f"share of the squared standard uncertainty of {target} [%]", _WIDEST)
        axes.set_xlabel(words, x=1.0, ha="right")
        handles = _legend(set(shown["kind"]), totals=leading == "total")
        if any(str(name).startswith(f"{LEVEL} ") for name in shown["label"]):
            handles.append(
                Patch(facecolor="none", edgecolor="none", label=f"{LEVEL} level with the row above")
            )
        figure.legend(handles=handles, loc="outside lower left", ncols=1, frameon=False)
    return figure


def _intervals(axes: Axes, shown: pd.DataFrame, places: NDArray[np.int_], leading: str) -> None:
    low, high = (100 * np.maximum(shown[f"{leading}_{end}"].to_numpy(), 0.0) for end in ("low", "high"))
    below = places + (0.265 if leading == "total" else 0.0)  # clear of the dark bar
    axes.hlines(below, low, high, color="black", linewidth=1.2)
    for ends in (low, high):
        axes.plot(ends, below, color="black", marker="|", markersize=6, linestyle="none")


def _legend(kinds: set[str], *, totals: bool) -> list[Patch]:
    handles = [_patch(DARK if totals else LIGHT, "alone: would go if this were known exactly")]
    if totals:
        handles.append(_patch(LIGHT, "in all: what it does together with others too"))
    handles += [
        _patch(LIGHT, words, hatch) for kind, (hatch, words) in _KINDS.items() if kind in kinds and words
    ]
    return handles


def _patch(color: str, label: str, hatch: str | None = None) -> Patch:
    return Patch(facecolor=color, edgecolor="black", linewidth=0.6, hatch=hatch, label=label)
