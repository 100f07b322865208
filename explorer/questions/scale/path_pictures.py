"""The designs on the way from one to another: the target of each, and how the similarity numbers change.

Told apart by place, mark and line, so that nothing hangs on colour.
"""

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullLocator
from numpy.typing import NDArray

from explorer import registry
from explorer.page.style import DARK, axis_label, blank, style
from explorer.units import from_si

FloatArray = NDArray[np.float64]
Figures = Mapping[str, Any]

#: Small panels in a row, characters of their titles and of a stage's words on one line.
_PANELS: Final[int] = 4
_TITLE: Final[int] = 24
_WORDS: Final[int] = 30

#: Ratio of the largest to the smallest value from which on a scale of powers of ten reads better.
_WIDE: Final[float] = 5.0

#: Difference of two sizes' logarithms below which they are the same.
_SAME: Final[float] = 1e-6

#: Room about what is drawn, as a factor.
_ROOM: Final[float] = 1.3

#: Where words switch along a path.
_HALF_WAY: Final[float] = 0.5

_CHANGE: Final[dict[str, Any]] = {"color": "black", "linestyle": "--", "linewidth": 0.8}
_SWITCH: Final[dict[str, Any]] = {"color": "black", "linestyle": ":", "linewidth": 1.3}


@dataclass(frozen=True)
class Along:
    """Designs along a path."""

    names: Sequence[str]
    places: FloatArray  #: [-] along the path, and over the first one's
    sizes: FloatArray  #: [-] along the path, and over the first one's
    points: Mapping[int, int]  #: By design, which point of the ladder it is
    changes: Sequence[tuple[float, str]]  #: Where [-] which regime changes
    switches: bool  #: Whether words switch half-way

    @property
    def by_size(self) -> bool:
        """Whether designs are told apart by their sizes; else they stand by their places."""
        steps = np.diff(np.log(self.sizes))
        return bool(np.all(steps > _SAME) or np.all(steps < -_SAME))

    @property
    def x(self) -> FloatArray:
        """Where the designs stand: their sizes [-], or their places [%]."""
        return self.sizes if self.by_size else 100.0 * self.places

    def at(self, place: float) -> float:
        """Where a place along the path stands."""
        if not self.by_size:
            return 100.0 * place
        return float(np.exp(np.interp(place, self.places, np.log(self.sizes))))


def path_figure(
    along: Along, target: str, figures: Sequence[Figures], similarity: Mapping[str, Sequence[float]]
) -> Figure:
    """Return the target of every design against its size, and below it how the similarity numbers change."""
    rows = -(-len(similarity) // _PANELS)
    with style():
        figure = blank(8.4, 3.4 + 1.75 * rows)
        grid = figure.add_gridspec(1 + rows, _PANELS, height_ratios=[2.0, *([1.0] * rows)])
        above = figure.add_subplot(grid[0, :])
        _target(above, along, target, figures)
        for number, (address, means) in enumerate(similarity.items()):
            axes = figure.add_subplot(grid[1 + number // _PANELS, number % _PANELS])
            _panel(axes, along, address, means)
        figure.legend(handles=_legend(along), loc="outside lower left", ncols=3, frameon=False)
    return figure


def _target(axes: Axes, along: Along, target: str, figures: Sequence[Figures]) -> None:
    quantity = registry.quantity(target)

    def shown(key: str) -> FloatArray:
        values = np.array([own[key] for own in figures], dtype=float)
        return np.asarray(from_si(values, quantity.unit, quantity.shown_unit))

    mean, low, high = shown("mean"), shown("low"), shown("high")
    axes.vlines(along.x, low, high, color=DARK, linewidth=1.6, zorder=2)
    for ends in (low, high):
        axes.plot(along.x, ends, color=DARK, marker="_", markersize=7, linestyle="none", zorder=2)
    for design, (x, y) in enumerate(zip(along.x, mean, strict=True)):
        axes.plot([x], [y], zorder=3, **_mark(design in along.points))
    for design, number in along.points.items():
        _name(axes, f"point {number}", (along.x[design], high[design]), above=True)
    _name(axes, along.names[0], (along.x[0], high[0]), above=True, side="left")
    _name(axes, along.names[-1], (along.x[-1], low[-1]), above=False, side="right")
    finite = [value for value in (*low, *high) if np.isfinite(value)]
    _scaled(axes, finite)
    _sizes(axes, along)
    axes.set_xlabel(f"size, over {along.names[0]}'s" if along.by_size else "way [%]")
    axes.set_ylabel(textwrap.fill(axis_label(target, quantity.scale), _WORDS))
    for number, (place, _) in enumerate(along.changes, start=1):
        axes.annotate(
            str(number),
            (along.at(place), 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 2),
            textcoords="offset points",
            ha="center",
            va="bottom",
        )


def _name(axes: Axes, words: str, at: tuple[float, float], *, above: bool, side: str = "center") -> None:
    """Words at the end of an interval; none where there is none."""
    if np.isfinite(at[1]):
        axes.annotate(
            words,
            at,
            xytext=(0, 5 if above else -5),
            textcoords="offset points",
            ha=side,
            va="bottom" if above else "top",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
            zorder=4,
        )


def _mark(filled: bool) -> dict[str, Any]:
    return {
        "marker": "o",
        "markersize": 7.0 if filled else 5.0,
        "markerfacecolor": DARK if filled else "white",
        "markeredgecolor": DARK,
        "linestyle": "none",
    }


def _panel(axes: Axes, along: Along, address: str, means: Sequence[float]) -> None:
    quantity = registry.quantity(address)
    values = np.asarray(from_si(np.asarray(means, dtype=float), quantity.unit, quantity.shown_unit))
    axes.plot(along.x, values, color=DARK, marker="o", markersize=3.0)
    _scaled(axes, [value for value in values if np.isfinite(value)])
    _sizes(axes, along)
    name = address.removeprefix("electrodes.").replace(".", ": ")
    axes.set_title(textwrap.fill(axis_label(name, quantity.scale), _TITLE), loc="left", fontsize=7.5)
    axes.tick_params(labelsize=7.5)


def _sizes(axes: Axes, along: Along) -> None:
    """The axis of sizes, and what changes along it."""
    if along.by_size:
        axes.set_xscale("log")
        low, high = float(along.sizes.min()), float(along.sizes.max())
        axes.set_xlim(low / (high / low) ** 0.05, high * (high / low) ** 0.05)
        axes.xaxis.set_major_locator(LogLocator(10.0, subs=(1.0, 2.0, 5.0), numticks=8))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axes.xaxis.set_minor_locator(NullLocator())
    for place, _ in along.changes:
        axes.axvline(along.at(place), zorder=1, **_CHANGE)
    if along.switches:
        axes.axvline(along.at(_HALF_WAY), zorder=1, **_SWITCH)


def _scaled(axes: Axes, values: Sequence[float]) -> None:
    """A scale of powers of ten for what spans much, from zero on for what doesn't."""
    if values and min(values) > 0 and max(values) > _WIDE * min(values):
        axes.set_yscale("log")
        axes.set_ylim(min(values) / _ROOM, max(values) * _ROOM)
        axes.yaxis.set_major_locator(LogLocator(10.0, subs=(1.0, 2.0, 5.0), numticks=6))
        axes.yaxis.set_minor_locator(NullLocator())
    else:
        if values and min(values) >= 0:
            axes.set_ylim(0.0, _ROOM * max(values) or 1.0)
        axes.yaxis.set_major_locator(MaxNLocator(4))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))


def _legend(along: Along) -> list[Line2D]:
    handles = [Line2D([], [], label="a design, 19 times in 20", **_mark(False))]
    if along.points:
        handles.append(Line2D([], [], label="a point of the ladder", **_mark(True)))
    if along.switches:
        handles.append(Line2D([], [], label="words switch", **_SWITCH))
    for number, (_, name) in enumerate(along.changes, start=1):
        handles.append(Line2D([], [], label=f"{number}: {name}", **_CHANGE))
    return handles
