"""The distribution of a quantity in one future firing, and of which parts its doubt is made."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from explorer import registry
from explorer.page.pictures.distribution import draw_distribution
from explorer.page.pictures.style import DARK, LIGHT, axis_label, blank, style
from explorer.questions.propagate.propagation import Propagation
from explorer.study.shown import scale_of
from explorer.units import Scale, from_si

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
    scale, words = scale_of(address), registry.words_of(address)
    with style():
        figure = blank(8.0, 4.9)
        upper, lower = figure.subplots(2, 1, height_ratios=(3.0, 1.2))
        draw_distribution(upper, values, interval, scale, at_least=at_least, at_most=at_most)
        upper.set_xlabel(axis_label(f"{words} in one future firing", scale))
        _parts(lower, parts, scale)
        lower.set_xlabel(axis_label(f"standard uncertainty of {words}; parts add in squares", scale))
    return figure


def _parts(axes: Axes, parts: tuple[float, float, float], scale: Scale) -> None:
    names = ("one firing", "not known: tests\ncan pin it down", "scatter: stays,\nwhatever is tested")
    zero, *sizes = from_si(np.array([0.0, *parts]), scale.unit, scale.shown_unit)  # °C have an offset
    looks = zip(sizes, (LIGHT, DARK, "white"), ("", "", "////"), strict=True)
    for place, (size, color, hatch) in enumerate(looks):
        axes.barh(place, size - zero, 0.7, facecolor=color, hatch=hatch, edgecolor="black", linewidth=0.6)
    axes.set_yticks(range(3), names)
    axes.invert_yaxis()
    axes.set_xlim(left=0.0)
    axes.xaxis.set_major_locator(MaxNLocator(6))


def picture(found: Propagation, what: str | None = None) -> Figure:
    """Return the picture of a quantity, the first one if none is named."""
    name = what or next(iter(found.figures))
    figures, target = found.figures[name], found.study.target if found.study else None
    required = target if target and name == target.quantity else None
    return propagation_figure(
        found.histogram_values[name],
        (float(figures.low), float(figures.high)),
        (figures.spread, float(figures.unknown), float(figures.scatter)),
        name,
        at_least=required.at_least if required else None,
        at_most=required.at_most if required else None,
    )
