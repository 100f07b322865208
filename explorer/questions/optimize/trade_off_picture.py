"""The trade-off curve of two wishes: its designs with their sampling errors, the knee, the designs tried behind it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from explorer.page.style import DARK, axis_label, blank, style
from explorer.units import Scale, from_si

FloatArray = NDArray[np.float64]

#: Standard errors of a 95 % interval.
_INTERVAL: Final = 1.96


@dataclass(frozen=True)
class Wished:
    """One of two wishes: along the curve with its standard errors, and over the designs tried that met all limits."""

    name: str
    scale: Scale
    make: str
    expected: FloatArray  #: [SI]
    standard_error: FloatArray  #: [SI]
    tried: FloatArray  #: [SI]


def trade_off_figure(first: Wished, second: Wished, met: Sequence[bool], knee: int | None) -> Figure:
    """Return one wish against the other."""
    with style():
        figure = blank(6.8, 4.8)
        axes: Axes = figure.subplots()
        x, y = (_shown(wish, wish.expected) for wish in (first, second))
        axes.plot(
            _shown(first, first.tried),
            _shown(second, second.tried),
            linestyle="none",
            marker=".",
            markersize=4.0,
            markeredgewidth=0.0,
            color="0.7",
            rasterized=True,
            zorder=1,
            label="designs tried that met all limits, as the search saw them",
        )
        axes.plot(x, y, color=DARK, linewidth=1.0, zorder=2)
        axes.errorbar(
            x,
            y,
            xerr=_INTERVAL * _difference(first, first.standard_error),
            yerr=_INTERVAL * _difference(second, second.standard_error),
            linestyle="none",
            color="black",
            elinewidth=1.0,
            capsize=2.5,
            zorder=3,
            label="95 % of the sampling",
        )
        _designs(axes, x, y, np.asarray(met, dtype=bool), knee)
        _reach(axes, x, y)
        axes.set_xlabel(_label(first))
        axes.set_ylabel(_label(second))
        figure.legend(loc="outside lower left", ncols=2, frameon=False)
    return figure


def _designs(axes: Axes, x: FloatArray, y: FloatArray, met: NDArray[np.bool_], knee: int | None) -> None:
    kinds: tuple[tuple[NDArray[np.bool_], Mapping[str, Any], str], ...] = (
        (met, {"marker": "o", "markerfacecolor": DARK}, "on the curve, all limits met on fresh points"),
        (~met, {"marker": "s", "markerfacecolor": "white"}, "on the curve, a limit not met or not decided"),
    )
    for which, looks, label in kinds:
        if which.any():
            axes.plot(
                x[which],
                y[which],
                linestyle="none",
                markersize=6.5,
                markeredgecolor="black",
                zorder=4,
                label=label,
                **looks,
            )
    rises = y[-1] > y[0]
    for number, (at_x, at_y) in enumerate(zip(x, y, strict=True), start=1):
        axes.annotate(
            str(number),
            (at_x, at_y),
            xytext=(-6 if rises else 6, 6),
            textcoords="offset points",
            ha="right" if rises else "left",
            zorder=5,
        )
    if knee is not None:
        axes.plot(
            x[knee],
            y[knee],
            linestyle="none",
            marker="D",
            markersize=13,
            markerfacecolor="none",
            markeredgecolor="black",
            markeredgewidth=1.4,
            zorder=4,
            label="the knee: proposed",
        )


def _reach(axes: Axes, x: FloatArray, y: FloatArray) -> None:
    """Room about the curve; designs tried that lie far off it are left out."""
    for values, limits in ((x, axes.set_xlim), (y, axes.set_ylim)):
        finite = values[np.isfinite(values)]
        if not finite.size:
            continue
        low, high = float(finite.min()), float(finite.max())
        room = 0.25 * (high - low) or 0.1 * abs(high) or 0.5
        limits(low - room, high + room)


def _label(wish: Wished) -> str:
    arrow = "more" if wish.make == "largest" else "less"
    return axis_label(f"{wish.name}, {arrow} is wanted", wish.scale)


def _shown(wish: Wished, values: FloatArray) -> FloatArray:
    return np.asarray(from_si(values, wish.scale.unit, wish.scale.shown_unit))


def _difference(wish: Wished, values: FloatArray) -> FloatArray:
    return np.asarray(_shown(wish, values) - from_si(0.0, wish.scale.unit, wish.scale.shown_unit))
