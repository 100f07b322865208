"""What each measurement would leave of a target's uncertainty, against what it is now."""

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from explorer.page.style import LIGHT, axis_label, blank, style
from explorer.units import Scale, from_si


def measurements_figure(table: pd.DataFrame, now: float, target: str, scale: Scale) -> Figure:
    """Return bars from zero of what is left after each measurement, with the range of what it may turn out to be."""

    def shown(values: pd.Series) -> np.ndarray:
        return np.asarray(from_si(values.to_numpy(dtype=float), scale.unit, scale.shown_unit))

    with style():
        figure = blank(6.4, 1.1 + 0.36 * len(table))
        axes: Axes = figure.subplots()
        places = np.arange(len(table))
        axes.barh(places, shown(table["left"]), 0.6, facecolor=LIGHT, edgecolor="black", linewidth=0.6)
        low, high = shown(table["left_range_low"]), shown(table["left_range_high"])
        axes.hlines(places, low, high, color="black", linewidth=1.2)
        for ends in (low, high):
            axes.plot(ends, places, color="black", marker="|", markersize=7, linestyle="none")
        at = float(from_si(now, scale.unit, scale.shown_unit))
        axes.axvline(at, color="black", linestyle="--", linewidth=1.0)
        axes.annotate(
            "now",
            (at, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 2),
            textcoords="offset points",
            ha="center",
            va="bottom",
        )
        labels = [f"{name} ({hours:g} h)" for name, hours in table["hours"].items()]
        axes.set_yticks(places, labels)
        axes.invert_yaxis()
        axes.set_xlim(left=0.0)
        axes.xaxis.set_major_locator(MaxNLocator(6))
        axes.set_xlabel(axis_label(f"standard uncertainty of {target} left", scale))
    return figure
