"""A distribution on an axis: bars, what all firings without contact share, the 95 % interval, what is required."""

from itertools import pairwise
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from explorer.page.pictures.style import DARK, LIGHT, SHADE, printed, tell
from explorer.units import Scale, from_si, number_text

FloatArray = NDArray[np.float64]

#: Most bars of a distribution, values to a bar at least, and the share of values on each side outside the picture.
_BARS: Final[int] = 56
_FEWEST_IN_BAR: Final[int] = 60
_OUTSIDE: Final[float] = 0.001

#: How far off what is required may lie and still be drawn, in widths of the distribution.
_NEAR: Final[float] = 2.0

#: Share of values that are all the same from which on they are drawn as a bar of their own.
_HEAP: Final[float] = 0.005


def shows_unmet(figure: Figure) -> bool:
    """Return whether a picture's distribution has a part hatched, where what is required is not met."""
    return any(patch.get_hatch() for patch in figure.axes[0].patches)


def draw_distribution(
    axes: Axes,
    values: FloatArray,
    interval: tuple[float, float],
    scale: Scale,
    *,
    at_least: float | None = None,
    at_most: float | None = None,
) -> None:
    """Draw a distribution with its 95 % interval and what is required."""
    _bars(axes, values, scale)
    _interval(axes, interval, scale)
    _required(axes, scale, at_least, at_most)
    axes.set_ylabel("points in a bar [%]")


def _shown(scale: Scale, value: float) -> float:
    return float(from_si(value, scale.unit, scale.shown_unit))


def _bars(axes: Axes, values: FloatArray, scale: Scale) -> None:
    shown = np.asarray(from_si(values, scale.unit, scale.shown_unit))
    single, heap = _heap(shown)
    rest = shown if single is None else shown[shown != single]
    if rest.size:
        low, high = np.quantile(rest, [_OUTSIDE, 1 - _OUTSIDE])
        if not high > low:
            low, high = low - 0.5, high + 0.5
        bars = max(min(_BARS, rest.size // _FEWEST_IN_BAR), 8)
        counts, edges = np.histogram(rest, bars, (low, high))
        shares = 100 * counts / shown.size
        _told_bars(axes, shares, edges, printed(scale.text(0.0)).partition(" ")[2])
        axes.stairs(shares, edges, color="black", linewidth=0.6)
        tallest = float(shares.max())
    else:
        tallest = 100.0
    tallest = max(tallest, 100 * heap)  # drawn as high as it is, on the axis of the others
    axes.set_ylim(0.0, 1.32 * tallest)
    if single is not None:
        axes.vlines(single, 0.0, 100 * heap, color=DARK, linewidth=4.0)
        axes.annotate(
            f"{100 * heap:.3g} % at {single + 0.0:g}",  # no minus before a zero
            (single, 100 * heap),
            xytext=(4, 0),
            textcoords="offset points",
            ha="left",
            va="top",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
            zorder=5,
        )


def _told_bars(axes: Axes, shares: FloatArray, edges: FloatArray, unit: str) -> None:
    """Bars that each say to a pointer what share of the points lies where."""
    bars = axes.bar(
        edges[:-1], shares, np.diff(edges), align="edge", color=LIGHT, edgecolor=LIGHT, linewidth=0.6
    )
    for bar, share, (low, high) in zip(bars, shares, pairwise(edges), strict=True):
        between = f"{number_text(low)} … {number_text(high)} {unit}".rstrip()
        tell(bar, f"{between}: {number_text(share, 3)} % of points")


def _heap(shown: FloatArray) -> tuple[float | None, float]:
    """The one value that many points share (no contact: no gain), and their share; None where there is none."""
    found, counts = np.unique(shown, return_counts=True)
    most = int(np.argmax(counts))
    share = float(counts[most] / shown.size)
    return (float(found[most]), share) if share >= _HEAP and counts[most] > 1 else (None, 0.0)


def _interval(axes: Axes, interval: tuple[float, float], scale: Scale) -> None:
    low, high = (_shown(scale, end) for end in interval)
    top = 0.88 * axes.get_ylim()[1]
    axes.hlines(top, low, high, color="black", linewidth=1.2)
    axes.plot([low, high], [top, top], color="black", marker="|", markersize=9, linestyle="none")
    axes.vlines([low, high], 0.0, top, color="black", linewidth=0.8, linestyle=":")
    axes.annotate(
        "19 times in 20",
        (0.5 * (low + high), top),
        xytext=(0, 3),
        textcoords="offset points",
        ha="center",
        va="bottom",
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
        zorder=5,
    )


def _required(axes: Axes, scale: Scale, at_least: float | None, at_most: float | None) -> None:
    """Lines at what is required, and hatching where it is not met; words alone where it lies far off."""
    left, right = axes.get_xlim()
    reach = _NEAR * (right - left)
    for bound, below, words in ((at_least, True, "at least"), (at_most, False, "at most")):
        if bound is None:
            continue
        at = _shown(scale, bound)
        text = printed(f"required: {words} {scale.text(bound)}")
        if not left - reach <= at <= right + reach:
            _far(axes, text, to_the_left=at < left)
            unmet = (at > right) if below else (at < left)
            edges = (left, right) if unmet else None
        else:
            left, right = min(left, at), max(right, at)
            axes.axvline(at, color="black", linewidth=1.8, linestyle="--")
            _at(axes, text, at)
            edge = left - 0.1 * (right - left) if below else right + 0.1 * (right - left)
            edges = (edge, at)
        if edges is not None:
            axes.axvspan(*edges, facecolor="none", edgecolor=SHADE, hatch="////", linewidth=0.0, zorder=0)
    room = 0.02 * (right - left)
    axes.set_xlim(left - room, right + room)


def _at(axes: Axes, text: str, at: float) -> None:
    axes.annotate(
        text,
        (at, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(0, 2),
        textcoords="offset points",
        ha="center",
        va="bottom",
    )


def _far(axes: Axes, text: str, *, to_the_left: bool) -> None:
    """What is required, at the edge of the picture beyond which it lies."""
    axes.text(
        0.0 if to_the_left else 1.0,
        1.0,
        f"{text}, off this picture",
        transform=axes.transAxes,
        ha="left" if to_the_left else "right",
        va="bottom",
    )
