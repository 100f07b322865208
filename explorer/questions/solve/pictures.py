"""The operating point along the channel: pressure, temperature, velocity, Mach number, conductivity, current."""

from collections.abc import Mapping
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from explorer import registry
from explorer.page.pictures.style import DARK, SHADE, axis_label, blank, style
from explorer.questions.solve.point import Point
from explorer.units import from_si

#: Values along the channel by name [SI].
Along = Mapping[str, NDArray[np.float64]]

#: Column of a profile: words on its axis, and the output whose unit it is shown in.
_PANELS: Final[dict[str, tuple[str, str]]] = {
    "pressure": ("pressure p", "outlet_pressure"),
    "temperature": ("temperature T", "outlet_temperature"),
    "velocity": ("velocity u", "outlet_velocity"),
    "mach": ("Mach number M", "outlet_mach"),
    "conductivity": ("conductivity σ", "inlet_conductivity"),
    "current_density": ("current density j", "max_current_density"),
}

#: Drawn as well where it isn't the same all along the channel.
_FIELD: Final = {"magnetic_field": ("magnetic field B", "magnet.field")}

#: Drawn as well where a pre-ioniser or a discharge upstream makes electrons; broken, what there would be without.
_ELECTRONS: Final = {"electron_density": ("electron density n_e", "inlet_electron_density")}
_UNAIDED: Final = "unaided_density"

#: Where the panels stand; to find it out by drawing takes as long as solving the point.
_MARGINS: Final = {
    "left": 0.09,
    "right": 0.975,
    "bottom": 0.075,
    "top": 0.96,
    "wspace": 0.27,
    "hspace": 0.1,
}


def picture(point: Point, what: str | None = None) -> Figure:
    """Return the picture of a point that carries numbers."""
    if point.along is None or what not in (None, "channel"):
        raise ValueError('only "channel" can be drawn, of a point that carries numbers')
    central = point.study.central()
    starts = {pair: central[f"electrodes.{pair}.start"] for pair in point.study.pairs}
    zones = {pair: (start, start + central[f"electrodes.{pair}.length"]) for pair, start in starts.items()}
    return channel_figure(point.along, zones)


def channel_figure(along: Along, electrodes: Mapping[str, tuple[float, float]]) -> Figure:
    """Return the profile along the channel, the electrodes' zones shaded."""
    with style():
        drawn = _PANELS | (_FIELD if np.ptp(along.get("magnetic_field", 0.0)) > 0 else {})
        if _UNAIDED in along and np.any(along[_UNAIDED] != along["electron_density"]):
            drawn |= _ELECTRONS
        rows = -(-len(drawn) // 2)
        figure = blank(8.0, 2.2 * rows, settles=False)
        panels = figure.subplots(rows, 2, sharex=True, gridspec_kw=_MARGINS)
        for axes in panels.ravel()[len(drawn) :]:
            axes.set_visible(False)
            panels[-2][1].tick_params(labelbottom=True)
        for axes, (column, (words, address)) in zip(panels.ravel(), drawn.items(), strict=False):
            _panel(axes, along, column, words, address)
            _zones(axes, electrodes)
        length = registry.quantity("channel.length").scale
        for axes in panels.ravel()[: len(drawn)][-2:]:
            axes.set_xlabel(axis_label("distance from the channel's inlet x", length))
        for axes in panels[0]:
            _names(axes, electrodes)
    return figure


def _panel(axes: Axes, along: Along, column: str, words: str, address: str) -> None:
    scale = registry.quantity(address).scale
    x = from_si(along["x"], "m", "mm")
    y = from_si(along[column], scale.unit, scale.shown_unit)
    axes.plot(x, y, color="black")
    axes.set_ylabel(axis_label(words, scale))
    axes.margins(x=0.0, y=0.08)
    if column in _ELECTRONS:
        axes.plot(x, from_si(along[_UNAIDED], scale.unit, scale.shown_unit), color="black", linestyle="--")
        axes.set_yscale("log")
        return
    axes.ticklabel_format(axis="y", useOffset=False)
    if column == "current_density":
        axes.axhline(0.0, color="black", linewidth=0.6)
        if not np.any(y):
            axes.set_ylim(-1.0, 1.0)
            axes.text(0.5, 0.75, "no current", transform=axes.transAxes, ha="center")


def _zones(axes: Axes, electrodes: Mapping[str, tuple[float, float]]) -> None:
    for start, end in electrodes.values():
        low, high = from_si(np.array([start, end]), "m", "mm")
        axes.axvspan(low, high, facecolor=SHADE, edgecolor=DARK, linewidth=0.6, zorder=0)


def _names(axes: Axes, electrodes: Mapping[str, tuple[float, float]]) -> None:
    for name, (start, end) in electrodes.items():
        middle = from_si(0.5 * (start + end), "m", "mm")
        axes.annotate(
            "electrodes" if len(electrodes) == 1 else f"{name} pair",
            (middle, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 3),
            textcoords="offset points",
            ha="center",
            va="bottom",
        )
