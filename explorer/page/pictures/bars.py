"""Ranked bars from zero: what carries a target's uncertainty, and of what kind each row is."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from explorer.analysis.scrambles import Estimate
from explorer.page.pictures.style import CLEAR, DARK, LIGHT, blank, style, tell

#: Most rows drawn, the rest stands in the table; characters of an axis label on one line.
MOST_ROWS: Final[int] = 12
_WIDEST: Final[int] = 60

#: What a label begins with whose order against the row above does not stand out of the sampling error.
LEVEL: Final[str] = "="

#: Kind of a row: hatch and words; no hatch for what a test can pin down.
_KINDS: Final[dict[str, tuple[str, str]]] = {
    "unknown": ("", ""),
    "group": ("", ""),
    "scatter": ("////", "scatter: falls anew at each firing"),
    "model": ("xxxx", "the model itself: only a firing tells"),
}


@dataclass(frozen=True)
class Bar:
    """A row that carries a share of a squared standard uncertainty."""

    label: str
    kind: str  #: "unknown", "scatter", "model" or "group"
    first: Estimate  #: share that it carries by itself [-]
    total: Estimate | None  #: with the others too [-]; None where there are no totals
    level: bool  #: whether its order against the bar above does not stand out of the sampling error

    @property
    def longest(self) -> Estimate:
        """The share that its length shows."""
        return self.first if self.total is None else self.total


def ranking_figure(bars: Sequence[Bar], target: str) -> Figure:
    """Return ranked bars with the intervals of their sampling errors."""
    shown = bars[:MOST_ROWS]
    totals = any(bar.total is not None for bar in shown)
    with style():
        figure = blank(6.4, 1.6 + 0.32 * len(shown))
        axes: Axes = figure.subplots()
        for place, bar in enumerate(shown):
            how = "alone" if bar.total is None else "in all"
            tell(
                _bar(axes, place, bar.longest, 0.72, LIGHT, _KINDS[bar.kind][0]), _told(bar, how, bar.longest)
            )
            if bar.total is not None:
                tell(_bar(axes, place, bar.first, 0.34, DARK, ""), _told(bar, "alone", bar.first))
        _intervals(axes, [bar.longest for bar in shown], clear=0.265 if totals else 0.0)
        axes.set_yticks(range(len(shown)), [f"{LEVEL} {b.label}" if b.level else b.label for b in shown])
        axes.invert_yaxis()
        axes.set_xlim(left=0.0)
        words = textwrap.fill(f"share of the squared standard uncertainty of {target} [%]", _WIDEST)
        axes.set_xlabel(words, x=1.0, ha="right")
        handles = _legend({bar.kind for bar in shown}, totals=totals)
        if any(bar.level for bar in shown):
            handles.append(
                Patch(facecolor="none", edgecolor="none", label=f"{LEVEL} level with the row above")
            )
        figure.legend(handles=handles, loc="outside lower left", ncols=1, frameon=False)
    return figure


def _told(bar: Bar, how: str, share: Estimate) -> str:
    """What a bar says to a pointer: "magnetic field, alone: 25 % (95 % sampling: 23 … 27 %)"."""
    low, high = (100 * end for end in share.interval)
    return f"{bar.label}, {how}: {100 * float(share):.3g} % (95 % sampling: {low:.3g} … {high:.3g} %)"


def _bar(axes: Axes, place: int, share: Estimate, height: float, color: str, hatch: str) -> Rectangle:
    length = 100 * max(float(share), 0.0)
    (bar,) = axes.barh(place, length, height, facecolor=color, hatch=hatch, edgecolor="black", linewidth=0.6)
    assert isinstance(bar, Rectangle)
    return bar


def _intervals(axes: Axes, shares: Sequence[Estimate], *, clear: float) -> None:
    """Intervals of the sampling errors, so far below the middles of the bars."""
    low, high = 100 * np.maximum(np.transpose([share.interval for share in shares]), 0.0)
    below = np.arange(len(shares)) + clear
    axes.hlines(below, low, high, color="black", linewidth=1.2, path_effects=CLEAR)
    for ends in (low, high):
        axes.plot(ends, below, color="black", marker="|", markersize=6, linestyle="none")


def _legend(kinds: set[str], *, totals: bool) -> list[Patch | Line2D]:
    handles: list[Patch | Line2D] = [
        _patch(DARK if totals else LIGHT, "alone: would go if this were known exactly")
    ]
    if totals:
        handles.append(_patch(LIGHT, "in all: what it does together with others too"))
    handles += [
        _patch(LIGHT, words, hatch) for kind, (hatch, words) in _KINDS.items() if kind in kinds and words
    ]
    sampled = Line2D([], [], color="black", marker="|", linewidth=1.2, label="95 % of the sampling")
    return [*handles, sampled]


def _patch(color: str, label: str, hatch: str | None = None) -> Patch:
    return Patch(facecolor=color, edgecolor="black", linewidth=0.6, hatch=hatch, label=label)
