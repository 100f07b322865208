"""A target as it stands: its distribution with the requirement, and how it goes with each of the leading inputs."""

from collections.abc import Mapping
from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from explorer.page.distribution import draw_distribution
from explorer.page.style import DARK, axis_label, blank, style
from explorer.units import Scale, from_si

FloatArray = NDArray[np.float64]

#: Most inputs against which a target is drawn, and slices of an input's range in which its middle is told.
MOST_INPUTS: Final[int] = 4
_SLICES: Final[int] = 12

#: Points drawn at most, and the share of them beyond each edge; the middle and the range come from all of them.
_POINTS: Final[int] = 1000
_BEYOND: Final[float] = 0.005


def target_figure(
    values: FloatArray,
    interval: tuple[float, float],
    words: str,
    scale: Scale,
    *,
    at_least: float | None = None,
    at_most: float | None = None,
) -> Figure:
    """Return the distribution of a target in one firing."""
    with style():
        figure = blank(6.4, 2.7)
        axes: Axes = figure.subplots()
        draw_distribution(axes, values, interval, scale, at_least=at_least, at_most=at_most)
        axes.set_xlabel(axis_label(f"{words} in one firing", scale))
    return figure


def inputs_figure(
    points: pd.DataFrame,
    words: str,
    scale: Scale,
    inputs: Mapping[str, Scale],
    *,
    at_least: float | None = None,
    at_most: float | None = None,
) -> Figure:
    """Return a target against each of its leading inputs, with its middle and its range along the input."""
    chosen = list(inputs)[:MOST_INPUTS]
    rows = -(-len(chosen) // 2)
    with style():
        figure = blank(8.0, 0.7 + 2.3 * rows)
        panels = np.atleast_1d(figure.subplots(rows, min(len(chosen), 2), sharey=True)).ravel()
        y = np.asarray(from_si(points.iloc[:, 0].to_numpy(), scale.unit, scale.shown_unit))
        for axes, address in zip(panels, chosen, strict=False):
            shown = inputs[address]
            x = np.asarray(from_si(points[address].to_numpy(), shown.unit, shown.shown_unit))
            _panel(axes, x, y)
            for bound in (at_least, at_most):
                if bound is not None:
                    at = float(from_si(bound, scale.unit, scale.shown_unit))
                    axes.axhline(at, color="black", linestyle="--", linewidth=1.0)
            axes.set_xlabel(axis_label(address, shown))
        panels[0].set_ylim(*_reach(y))
        for axes in panels[len(chosen) :]:
            axes.set_visible(False)
        figure.supylabel(axis_label(words, scale), fontsize=9.0)
        handles, labels = panels[0].get_legend_handles_labels()
        figure.legend(handles, labels, loc="outside lower center", ncols=2, frameon=False)
    return figure


def _panel(axes: Axes, x: FloatArray, y: FloatArray) -> None:
    step = -(-x.size // _POINTS) | 1  # odd: an even step leaves out parts of a Sobol' sequence's range
    axes.plot(
        x[::step],
        y[::step],
        color=DARK,
        alpha=0.45,
        marker=".",
        markersize=3.5,
        markeredgewidth=0.0,
        linestyle="none",
        rasterized=True,
        zorder=1,
    )
    slices = np.array_split(np.argsort(x, kind="stable"), _SLICES)
    middles = [float(np.median(x[rows])) for rows in slices]
    low, middle, high = (np.array([np.quantile(y[rows], q) for rows in slices]) for q in (0.05, 0.5, 0.95))
    axes.plot(middles, middle, color="black", linewidth=2.0, label="middle at this value of the input")
    for edge, label in ((low, "18 times in 20 between"), (high, None)):
        axes.plot(middles, edge, color="black", linestyle=":", linewidth=1.2, label=label)
    axes.set_xlim(*_reach(x))
    axes.xaxis.set_major_locator(MaxNLocator(5))


def _reach(values: FloatArray) -> tuple[float, float]:
    """Ends of an axis that leave out a few points in long tails."""
    low, high = (float(end) for end in np.quantile(values, [_BEYOND, 1 - _BEYOND]))
    room = 0.04 * (high - low) or 0.5
    return low - room, high + room
