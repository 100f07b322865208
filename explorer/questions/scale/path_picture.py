"""The designs on the way from one to another: the target of each, and how the similarity numbers change.

Told apart by place, mark and line, so that nothing hangs on colour.
"""

import textwrap
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullLocator
from numpy.typing import NDArray

from explorer import registry
from explorer.page.pictures.style import DARK, axis_label, blank, plain, style, tell_points
from explorer.page.words import between
from explorer.questions.scale.path.crossings import Change
from explorer.questions.scale.path.designs import Waypoint
from explorer.questions.scale.path.path import SWITCH
from explorer.questions.scale.scaling import Scaling
from explorer.questions.scale.words import border_name
from explorer.study.compared import SIMILARITY
from explorer.units import from_si

FloatArray = NDArray[np.float64]

#: Small panels in a row, characters of their titles and of a stage's words on one line.
_PANELS: Final[int] = 4
_TITLE: Final[int] = 22
_WORDS: Final[int] = 30

#: Ratio of the largest to the smallest value from which on a scale of powers of ten reads better.
_WIDE: Final[float] = 5.0

#: Difference of two sizes' logarithms below which they are the same.
_SAME: Final[float] = 1e-6

#: Share of the way within which two changes have one label [-].
_CLOSE: Final[float] = 0.025

#: Room about what is drawn, as a factor.
_ROOM: Final[float] = 1.3

#: The same above the targets, where a name stands.
_ROOM_ABOVE: Final[float] = 2.5

_CHANGE: Final[dict[str, Any]] = {"color": "black", "linestyle": "--", "linewidth": 0.8}
_SWITCH: Final[dict[str, Any]] = {"color": "black", "linestyle": ":", "linewidth": 1.3}


def path_figure(found: Scaling) -> Figure:
    """Return the target of every design against its size, and below it how the similarity numbers change."""
    similarity = found.told_rows(SIMILARITY)
    rows = -(-len(similarity) // _PANELS)
    with style():
        figure = blank(8.4, 3.4 + 1.75 * rows)
        grid = figure.add_gridspec(1 + rows, _PANELS, height_ratios=[2.0, *([1.0] * rows)])
        _target(figure.add_subplot(grid[0, :]), found)
        for number, address in enumerate(similarity):
            axes = figure.add_subplot(grid[1 + number // _PANELS, number % _PANELS])
            _panel(axes, found, address)
        figure.legend(handles=_legend(found), loc="outside lower left", ncols=3, frameon=False)
    return figure


def _by_size(found: Scaling) -> bool:
    """Whether designs are told apart by their sizes; else they stand by their places."""
    steps = np.diff(np.log(found.sizes))
    return bool(np.all(steps > _SAME) or np.all(steps < -_SAME))


def _at(found: Scaling, place: float) -> float:
    """Where a place along the path stands: at its size [-], or as it is [%]."""
    if not _by_size(found):
        return 100.0 * place
    return float(np.exp(np.interp(place, found.places, np.log(found.sizes))))


def _crossed(found: Scaling) -> list[Change]:
    """The changes of regime."""
    return [change for change in found.changes if change.counts]


def _shown(found: Scaling, address: str, figure: str) -> FloatArray:
    """A figure of each design in the shown unit."""
    quantity = registry.quantity(address)
    values = np.array([float(getattr(own.figures[address], figure)) for own in found.designs])
    return np.asarray(from_si(values, quantity.unit, quantity.shown_unit))


def _target(axes: Axes, found: Scaling) -> None:
    mean, low, high = (_shown(found, found.target, figure) for figure in ("mean", "low", "high"))
    taken = () if found.ladder is None else [rung.design for rung in found.ladder.rungs]
    fired = {design.number: design.name for design in taken}
    x = found.sizes if _by_size(found) else 100.0 * found.places
    axes.vlines(x, low, high, color=DARK, linewidth=1.6, zorder=2)
    for ends in (low, high):
        axes.plot(x, ends, color=DARK, marker="_", markersize=7, linestyle="none", zorder=2)
    for design in found.designs:
        number = design.number
        axes.plot([x[number]], [mean[number]], zorder=3, **_mark(number in fired))
    told = [_told(design, found.target, ends=True) for design in found.designs]
    tell_points(axes, zip(x, mean, told, strict=True))
    for number, name in fired.items():
        _name(axes, name, (x[number], high[number]), above=True)
    first, last = found.first.name, found.last.name
    _name(axes, first, (x[0], high[0]), above=True, side="left")
    _name(axes, last, (x[-1], high[-1]), above=True, side="right")
    _scaled(axes, [value for value in (*low, *high) if np.isfinite(value)])
    if axes.get_yscale() == "log":
        axes.set_ylim(top=_ROOM_ABOVE * float(np.nanmax(high)))
    _sizes(axes, found)
    axes.set_xlabel(f"size, over {first}'s" if _by_size(found) else "way [%]")
    words = axis_label(registry.words_of(found.target), registry.quantity(found.target).scale)
    axes.set_ylabel(textwrap.fill(words, _WORDS))
    for place, numbers in _numbers(found).items():
        axes.annotate(
            numbers,
            (_at(found, place), 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 2),
            textcoords="offset points",
            ha="center",
            va="bottom",
        )


def _told(design: Waypoint, address: str, *, ends: bool = False) -> str:
    """What a design says to a pointer: "step 2: thrust gain 0.8 N, 19 times in 20 between 0.4 and 1.6 N"."""
    own, quantity = design.figures[address], registry.quantity(address)
    words = f"{design.name}: {registry.words_of(address)} {quantity.spoken(float(own.mean))}"
    if not ends or not np.isfinite(float(own.low)):
        return words
    return f"{words}, 19 times in 20 between {between(quantity, own.low, own.high, own.standard_uncertainty)}"


def _numbers(found: Scaling) -> dict[float, str]:
    """By place, the numbers of the changes there; neighbours too close for two numbers have one label."""
    labels: dict[float, list[str]] = {}
    for number, change in enumerate(_crossed(found), start=1):
        beside = next((place for place in labels if change.place - place < _CLOSE), change.place)
        labels.setdefault(beside, []).append(str(number))
    return {place: ", ".join(numbers) for place, numbers in labels.items()}


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


def _panel(axes: Axes, found: Scaling, address: str) -> None:
    values = _shown(found, address, "mean")
    x = found.sizes if _by_size(found) else 100.0 * found.places
    axes.plot(x, values, color=DARK, marker="o", markersize=3.0)
    tell_points(axes, zip(x, values, [_told(design, address) for design in found.designs], strict=True))
    _scaled(axes, [value for value in values if np.isfinite(value)])
    _sizes(axes, found)
    words = axis_label(registry.words_of(address), registry.quantity(address).scale)
    axes.set_title(textwrap.fill(words, _TITLE), loc="left", fontsize=7.5)
    axes.tick_params(labelsize=7.5)


def _sizes(axes: Axes, found: Scaling) -> None:
    """The axis of sizes, and what changes along it."""
    if _by_size(found):
        axes.set_xscale("log")
        low, high = float(found.sizes.min()), float(found.sizes.max())
        axes.set_xlim(low / (high / low) ** 0.05, high * (high / low) ** 0.05)
        axes.xaxis.set_major_locator(LogLocator(10.0, subs=(1.0, 2.0, 5.0), numticks=8))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axes.xaxis.set_minor_locator(NullLocator())
    for change in _crossed(found):
        axes.axvline(_at(found, change.place), zorder=1, **_CHANGE)
    if found.path.switches:
        axes.axvline(_at(found, SWITCH), zorder=1, **_SWITCH)


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
    axes.yaxis.set_major_formatter(FuncFormatter(plain))


def _border(change: Change) -> str:
    """What a regime's border is called, a limit by the words of its quantity."""
    limit, on, quantity = border_name(change.border).partition(" on ")
    return f"{limit} on {registry.words_of(quantity)}" if on else limit


def _legend(found: Scaling) -> list[Line2D]:
    handles = [Line2D([], [], label="a design, 19 times in 20", **_mark(False))]
    if found.ladder is not None and found.ladder.rungs:
        handles.append(Line2D([], [], label="a step to fire", **_mark(True)))
    if found.path.switches:
        handles.append(Line2D([], [], label="words switch", **_SWITCH))
    numbers: dict[str, list[str]] = {}
    for number, change in enumerate(_crossed(found), start=1):  # one that is crossed twice has one key
        numbers.setdefault(_border(change), []).append(str(number))
    crossed = [f"{', '.join(several)}: {border}" for border, several in numbers.items()]
    return [*handles, *(Line2D([], [], label=words, **_CHANGE) for words in crossed)]
