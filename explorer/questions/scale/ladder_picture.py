"""A ladder of firings: how the interval of a target narrows, from now on to what no firing narrows."""

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from explorer.page.style import DARK, SHADE, axis_label, blank, style
from explorer.units import Scale, from_si

#: Characters of a stage's words on one line.
_WORDS: Final[int] = 30

#: Share of the picture's width by which a requirement may lie beyond the intervals and is drawn all the same.
_REACH: Final[float] = 0.25


@dataclass(frozen=True)
class Stage:
    """What is known, and what the target's standard uncertainty and interval are then [SI]."""

    words: str
    left: float
    low: float
    high: float


def ladder_figure(
    stages: Sequence[Stage],
    *,
    mean: float,
    target: str,
    scale: Scale,
    at_least: float | None = None,
    at_most: float | None = None,
) -> Figure:
    """Return the target's 95 % intervals from now on, one below the other; shaded is the last one."""

    def shown(value: float) -> float:
        return float(from_si(value, scale.unit, scale.shown_unit))

    with style():
        figure = blank(7.2, 1.2 + 0.5 * len(stages))
        axes: Axes = figure.subplots()
        axes.axvspan(shown(stages[-1].low), shown(stages[-1].high), color=SHADE, zorder=0)
        for place, stage in enumerate(stages):
            low, high = shown(stage.low), shown(stage.high)
            axes.hlines(place, low, high, color=DARK, linewidth=5.0, zorder=2)
            axes.plot(
                [shown(mean)], [place], marker="|", color="white", markersize=9, markeredgewidth=1.6, zorder=3
            )
            axes.annotate(
                f"± {scale.difference(stage.left)}",
                (1.01, place),
                xycoords=("axes fraction", "data"),
                va="center",
            )
        _required(axes, {"at least": at_least, "at most": at_most}, scale)
        axes.set_yticks(range(len(stages)), [textwrap.fill(stage.words, _WORDS) for stage in stages])
        axes.set_ylim(len(stages) - 0.5, -0.5)
        axes.tick_params(axis="y", length=0.0)
        axes.spines["left"].set_visible(False)
        axes.xaxis.set_major_locator(MaxNLocator(6))
        axes.set_xlabel(axis_label(f"{target} in one firing, 19 times in 20", scale))
    return figure


def _required(axes: Axes, bounds: Mapping[str, float | None], scale: Scale) -> None:
    """The requirement, where it lies within reach of the intervals."""
    low, high = axes.get_xlim()
    for words, bound in bounds.items():
        if bound is None:
            continue
        at = float(from_si(bound, scale.unit, scale.shown_unit))
        if low - _REACH * (high - low) < at < high + _REACH * (high - low):
            axes.axvline(at, color="black", linestyle="--", linewidth=1.0, zorder=1)
            axes.annotate(
                f"required: {words} {scale.text(bound)}",
                (at, 1.0),
                xycoords=("data", "axes fraction"),
                xytext=(0, 2),
                textcoords="offset points",
                ha="center",
                va="bottom",
            )
