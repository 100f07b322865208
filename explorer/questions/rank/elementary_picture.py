"""A first look at many inputs: bars from zero of how far each moves a target, and how evenly it does."""

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from explorer.page.style import DARK, LIGHT, axis_label, blank, style
from explorer.units import Scale, from_si

#: Most rows drawn; the rest stands in the table.
MOST_ROWS = 16


def elementary_figure(table: pd.DataFrame, target: str, scale: Scale) -> Figure:
    """Return bars of the mean size of each row's effect with its interval, and a mark at the spread of its effects."""
    shown = table.iloc[:MOST_ROWS]

    def length(column: str) -> np.ndarray:
        values = np.asarray(from_si(shown[column].to_numpy(dtype=float), scale.unit, scale.shown_unit))
        return np.asarray(values - from_si(0.0, scale.unit, scale.shown_unit))

    with style():
        figure = blank(6.4, 1.4 + 0.3 * len(shown))
        axes: Axes = figure.subplots()
        places = np.arange(len(shown))
        size, half = length("mean_size"), length("mean_size_interval")
        axes.barh(
            places,
            size,
            0.7,
            facecolor=LIGHT,
            edgecolor="black",
            linewidth=0.6,
            label="mean size, and its error",
        )
        axes.hlines(places, np.maximum(size - half, 0.0), size + half, color="black", linewidth=1.2)
        axes.plot(
            length("spread"),
            places,
            color=DARK,
            marker="D",
            markersize=5,
            linestyle="none",
            label="spread: it bends, or hangs on the others",
        )
        axes.set_yticks(places, list(shown["label"]))
        axes.invert_yaxis()
        axes.set_xlim(left=0.0)
        axes.set_xlabel(axis_label(f"move of {target} along the middle 95 % of the range", scale))
        figure.legend(loc="outside lower left", frameon=False)
    return figure
