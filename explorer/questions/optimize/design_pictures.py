"""A search for a design: the designs tried, and the limits at the proposal."""

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from explorer.page.style import DARK, LIGHT, axis_label, blank, style
from explorer.units import Scale, from_si

FloatArray = NDArray[np.float64]
Looks = Mapping[str, Any]  #: of a marker, as matplotlib names them

#: How a design that meets all limits is drawn, and one that doesn't: told apart by shape.
MET: Final[Looks] = {"marker": "o", "markersize": 4.0, "markerfacecolor": LIGHT, "markeredgecolor": DARK}
NOT_MET: Final[Looks] = {"marker": "x", "markersize": 3.5, "markeredgecolor": "0.55", "markeredgewidth": 0.8}

#: How far below zero margins are drawn, in scales of their limits, and the share of wishes on each side that may
#: lie off the picture, where they lie further off than the others are apart.
_LOWEST_MARGIN: Final = -1.0
_BEYOND: Final = 0.02

#: Marker of a limit by its verdict, and characters of a label on one line.
_VERDICTS: Final = {"met": "o", "not decided": "s", "not met": "X"}
_WIDEST: Final = 42


@dataclass(frozen=True)
class WishTried:
    """A wish over the designs tried: values [SI], NaN without a number, and what fresh points say of the proposal."""

    name: str
    scale: Scale
    values: FloatArray
    proposal: float | None = None  #: [SI]


@dataclass(frozen=True)
class LimitHeld:
    """A limit with the chance that it holds, its interval and what was asked, all of them chances to hold [-]."""

    label: str
    asked: float
    share: float
    low: float
    high: float
    verdict: str


def search_figure(wishes: Sequence[WishTried], worst_margin: FloatArray, met: NDArray[np.bool_]) -> Figure:
    """Return each wish against the number tried, and against the worst margin of the limits."""
    with style():
        figure = blank(8.0, 0.8 + 2.5 * len(wishes))
        panels = figure.subplots(len(wishes), 2, sharey="row", squeeze=False, width_ratios=(1.5, 1.0))
        number = np.arange(1, len(met) + 1, dtype=np.float64)
        for (left, right), wish in zip(panels, wishes, strict=True):
            shown = np.asarray(from_si(wish.values, wish.scale.unit, wish.scale.shown_unit))
            _tried(left, number, shown, met)
            _tried(right, worst_margin, shown, met)
            right.axvline(0.0, color="black", linewidth=0.8)
            left.set_ylim(*_reach(shown, wish))
            drawn = np.isfinite(shown)
            _note(left, int(np.count_nonzero(~drawn)), "without a number")
            _margins(right, worst_margin[drawn])
            left.set_ylabel(axis_label(wish.name, wish.scale))
            if wish.proposal is not None:
                at = float(from_si(wish.proposal, wish.scale.unit, wish.scale.shown_unit))
                for axes in (left, right):
                    axes.axhline(at, color="black", linestyle="--", linewidth=1.0)
        panels[-1][0].set_xlabel("design tried, in the order of the search")
        panels[-1][1].set_xlabel("worst margin of the limits, over the bound")
        panels[0][1].text(0.0, 1.0, "met → ", transform=panels[0][1].get_xaxis_transform(), va="bottom")
        proposed = any(wish.proposal is not None for wish in wishes)
        handles = _handles(met=bool(met.any()), not_met=not met.all(), proposed=proposed)
        figure.legend(handles=handles, loc="outside lower left", ncols=3, frameon=False)
    return figure


def _tried(axes: Axes, x: FloatArray, y: FloatArray, met: NDArray[np.bool_]) -> None:
    for which, looks in ((~met, NOT_MET), (met, MET)):
        axes.plot(x[which], y[which], linestyle="none", rasterized=True, **looks)


def _reach(shown: FloatArray, wish: WishTried) -> tuple[float, float]:
    """Ends of an axis that leave out a few designs far off, but not the proposal."""
    finite = shown[np.isfinite(shown)]
    if not finite.size:
        return 0.0, 1.0
    low, high = (float(end) for end in np.quantile(finite, (_BEYOND, 1 - _BEYOND)))
    width, least, most = high - low, float(finite.min()), float(finite.max())
    low, high = max(least, low - width), min(most, high + width)
    if wish.proposal is not None:
        at = float(from_si(wish.proposal, wish.scale.unit, wish.scale.shown_unit))
        low, high = min(low, at), max(high, at)
    room = 0.06 * (high - low) or 0.5 * abs(high) or 0.5
    return low - room, high + room


def _margins(axes: Axes, margins: FloatArray) -> None:
    finite = margins[np.isfinite(margins)]
    low = max(float(finite.min()), _LOWEST_MARGIN) if finite.size else _LOWEST_MARGIN
    high = max(float(finite.max()), 0.0) if finite.size else 1.0
    room = 0.06 * (high - low) or 0.1
    axes.set_xlim(low - room, high + room)
    _note(axes, int(np.count_nonzero(finite < low - room)), "further left")


def _note(axes: Axes, designs: int, words: str) -> None:
    """Say how many designs are not drawn, and why."""
    if designs:
        axes.text(
            0.02,
            0.02,
            f"{designs} {words}",
            transform=axes.transAxes,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
            zorder=5,
        )


def _handles(*, met: bool, not_met: bool, proposed: bool) -> list[Line2D]:
    handles = []
    if met:
        handles.append(Line2D([], [], linestyle="none", label="all limits met", **MET))
    if not_met:
        handles.append(Line2D([], [], linestyle="none", label="a limit not met", **NOT_MET))
    if proposed:
        handles.append(Line2D([], [], color="black", linestyle="--", label="proposal"))
    return handles


def limits_figure(limits: Sequence[LimitHeld], design: str) -> Figure:
    """Return the chance that each limit holds, with its exact interval, against what was asked."""
    with style():
        figure = blank(8.0, 1.2 + 0.42 * len(limits))
        axes: Axes = figure.subplots()
        for place, held in enumerate(limits):
            axes.hlines(place, 100 * held.low, 100 * held.high, color="black", linewidth=1.6, zorder=2)
            axes.plot(100 * held.asked, place, marker="|", markersize=20, color="black", markeredgewidth=1.6)
            marker = _VERDICTS[held.verdict]
            face = "white" if held.verdict == "not decided" else DARK
            axes.plot(
                100 * held.share,
                place,
                marker=marker,
                markersize=7,
                markerfacecolor=face,
                markeredgecolor="black",
                zorder=3,
            )
            axes.annotate(
                held.verdict,
                (1.0, place),
                xycoords=axes.get_yaxis_transform(),
                xytext=(6, 0),
                textcoords="offset points",
                va="center",
            )
        axes.set_yticks(range(len(limits)), [textwrap.fill(held.label, _WIDEST) for held in limits])
        axes.set_ylim(len(limits) - 0.4, -0.6)
        least = 100 * min(min(held.low, held.asked) for held in limits)
        axes.set_xlim(least - 0.06 * (100 - least) - 0.05, 100.0 + 0.03 * (100 - least) + 0.05)
        axes.set_xlabel(f"chance that it holds at the {design} [%]")
        axes.grid(axis="y", color="0.88", linewidth=0.6)
        axes.set_axisbelow(True)
        figure.legend(handles=_limit_handles(limits), loc="outside lower left", ncols=4, frameon=False)
    return figure


def _limit_handles(limits: Sequence[LimitHeld]) -> list[Line2D]:
    handles = [Line2D([], [], linestyle="none", marker="|", markersize=12, color="black", label="asked")]
    for verdict, marker in _VERDICTS.items():
        if any(held.verdict == verdict for held in limits):
            face = "white" if verdict == "not decided" else DARK
            handles.append(
                Line2D(
                    [],
                    [],
                    linestyle="none",
                    marker=marker,
                    markersize=7,
                    markerfacecolor=face,
                    markeredgecolor="black",
                    label=f"{verdict}, with its 95 % interval",
                )
            )
    return handles
