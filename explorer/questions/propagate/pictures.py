"""The distribution of a quantity in one future firing, and of which parts its doubt is made."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from explorer import registry
from explorer.page.distribution import draw_distribution
from explorer.page.style import DARK, LIGHT, axis_label, blank, style
from explorer.questions.propagate.propagation import Propagation
from explorer.questions.propagate.words import rows_of
from explorer.registry import Quantity
from explorer.studyfile import Target
from explorer.units import from_si

FloatArray = NDArray[np.float64]


def propagation_figure(
    values: FloatArray,
    interval: tuple[float, float],
    parts: tuple[float, float, float],
    address: str,
    *,
    at_least: float | None = None,
    at_most: float | None = None,
) -> Figure:
    """Return the distribution with its 95 % interval and what is required, and bars from zero of its parts below."""
    quantity = registry.quantity(address)
    with style():
        figure = blank(8.0, 4.6)
        upper, lower = figure.subplots(2, 1, height_ratios=(3.2, 1.0))
        draw_distribution(upper, values, interval, quantity.scale, at_least=at_least, at_most=at_most)
        upper.set_xlabel(axis_label(f"{address} in one future firing", quantity.scale))
        _parts(lower, parts, quantity)
        lower.set_xlabel(
            axis_label(f"standard uncertainty of {address}; parts add in squares", quantity.scale)
        )
    return figure


def _shown(quantity: Quantity, value: float) -> float:
    return float(from_si(value, quantity.unit, quantity.shown_unit))


def _difference(quantity: Quantity, value: float) -> float:
    return _shown(quantity, value) - _shown(quantity, 0.0)


def _parts(axes: Axes, parts: tuple[float, float, float], quantity: Quantity) -> None:
    names = ("one firing", "not known: tests can pin it down", "scatter: stays, whatever is tested")
    for place, (size, color, hatch) in enumerate(
        zip(parts, (LIGHT, DARK, "white"), ("", "", "////"), strict=True)
    ):
        axes.barh(
            place,
            _difference(quantity, size),
            0.7,
            facecolor=color,
            hatch=hatch,
            edgecolor="black",
            linewidth=0.6,
        )
    axes.set_yticks(range(3), names)
    axes.invert_yaxis()
    axes.set_xlim(left=0.0)


def propagation_pictures(found: Propagation, target: Target) -> dict[str, Figure]:
    """Return the picture of each quantity that isn't the same in every firing."""
    figures = {}
    for name, row in rows_of(found).items():
        if row["standard_uncertainty"] > 0:
            required = target if name == target.quantity else None
            figures[name] = propagation_figure(
                found.histogram_values[name],
                (row["low"], row["high"]),
                (row["standard_uncertainty"], row["unknown"], row["scatter"]),
                name,
                at_least=required.at_least if required else None,
                at_most=required.at_most if required else None,
            )
    return figures
