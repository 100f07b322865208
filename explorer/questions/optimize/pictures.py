"""The pictures of a search for a design, by name: the designs tried, the limits, and those of what to choose from."""

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from explorer import registry
from explorer.page.pictures.style import DARK, LIGHT, axis_label, blank, printed, style
from explorer.page.text import held
from explorer.questions.optimize.choice_pictures import near_equal_figure, scale_among, trade_off_figure
from explorer.questions.optimize.names import in_shown_unit, limit_words
from explorer.questions.optimize.search.proposal import JudgedLimit, Proposal
from explorer.study.limits import MET, NOT_DECIDED, NOT_MET, stated_level

FloatArray = NDArray[np.float64]
Looks = Mapping[str, Any]  #: of a marker, as matplotlib names them

#: How a design that meets all limits is drawn, and one that doesn't: told apart by shape.
_MET: Final[Looks] = {"marker": "o", "markersize": 4.0, "markerfacecolor": LIGHT, "markeredgecolor": DARK}
_MISSED: Final[Looks] = {"marker": "x", "markersize": 3.5, "markeredgecolor": "0.55", "markeredgewidth": 0.8}

#: How far below zero margins are drawn, in scales of their limits, and the share of wishes on each side that may
#: lie off the picture, where they lie further off than the others are apart.
_LOWEST_MARGIN: Final = -1.0
_BEYOND: Final = 0.02

#: How a limit is marked by its verdict, and characters of a label on one line.
_VERDICTS: Final[Mapping[str, Looks]] = {
    MET: {"marker": "o", "markerfacecolor": DARK},
    NOT_DECIDED: {"marker": "s", "markerfacecolor": "white"},
    NOT_MET: {"marker": "X", "markerfacecolor": DARK},
}
_WIDEST: Final = 42


def optimisation_pictures(found: Proposal) -> dict[str, Figure]:
    """Return the pictures: search, and where they tell something limits, near_equal, trade_off."""
    figures = {"search": _search(found)}
    if found.told.limits and found.search.robust:
        figures["limits"] = _limits(found)
    if found.near_equal:
        figures["near_equal"] = near_equal_figure(found)
    if found.trade_off:
        figures["trade_off"] = trade_off_figure(found)
    return figures


def picture(found: Proposal, what: str | None = None) -> Figure:
    """Return one picture by its name; the main one tells what there is to choose from, or what was tried."""
    figures = optimisation_pictures(found)
    if what is None:
        what = next(name for name in ("trade_off", "near_equal", "search") if name in figures)
    if what not in figures:
        raise ValueError(f"there is no picture {what!r} of this search: ask for one of {', '.join(figures)}")
    return figures[what]


def _search(found: Proposal) -> Figure:
    """Each wish against the number tried, and against the worst margin of the limits."""
    met, worst = found.designs.met, found.designs.margins.min(axis=1)
    with style():
        figure = blank(8.0, 0.8 + 2.5 * len(found.wishes))
        panels = figure.subplots(len(found.wishes), 2, sharey="row", squeeze=False, width_ratios=(1.5, 1.0))
        number = np.arange(1, len(met) + 1, dtype=np.float64)
        for place, (left, right) in enumerate(panels):
            name = found.wishes[place].quantity
            scale = scale_among(name, found.designs.wishes[:, place])
            shown = in_shown_unit(scale, found.designs.wishes[:, place])
            proposed = None
            if found.best is not None:
                proposed = float(in_shown_unit(scale, float(found.best.wishes[place].expected)))
            _tried(left, number, shown, met, proposed)
            _tried(right, worst, shown, met, proposed)
            right.axvline(0.0, color="black", linewidth=0.8)
            left.set_ylim(*_reach(shown, proposed))
            drawn = np.isfinite(shown)
            _note(left, int(np.count_nonzero(~drawn)), "without a number")
            _margins(right, worst[drawn])
            left.set_ylabel(axis_label(registry.words_of(name), scale))
        panels[-1][0].set_xlabel("design tried, in the order of the search")
        panels[-1][1].set_xlabel("worst margin of the limits, over the bound")
        panels[0][1].text(0.0, 1.0, "met → ", transform=panels[0][1].get_xaxis_transform(), va="bottom")
        figure.legend(handles=_handles(found), loc="outside lower left", ncols=3, frameon=False)
    return figure


def _tried(axes: Axes, x: FloatArray, y: FloatArray, met: NDArray[np.bool_], proposed: float | None) -> None:
    for which, looks in ((~met, _MISSED), (met, _MET)):
        axes.plot(x[which], y[which], linestyle="none", rasterized=True, **looks)
    if proposed is not None:
        axes.axhline(proposed, color="black", linestyle="--", linewidth=1.0)


def _reach(shown: FloatArray, proposed: float | None) -> tuple[float, float]:
    """Ends of an axis that leave out a few designs far off, but not the proposal."""
    finite = shown[np.isfinite(shown)]
    if not finite.size:
        return 0.0, 1.0
    low, high = (float(end) for end in np.quantile(finite, (_BEYOND, 1 - _BEYOND)))
    width, least, most = high - low, float(finite.min()), float(finite.max())
    low, high = max(least, low - width), min(most, high + width)
    if proposed is not None:
        low, high = min(low, proposed), max(high, proposed)
    room = 0.06 * (high - low) or 0.5 * abs(high) or 0.5
    return low - room, high + room


def _margins(axes: Axes, margins: FloatArray) -> None:
    low = max(float(margins.min()), _LOWEST_MARGIN) if margins.size else _LOWEST_MARGIN
    high = max(float(margins.max()), 0.0) if margins.size else 1.0
    room = 0.06 * (high - low) or 0.1
    axes.set_xlim(low - room, high + room)
    _note(axes, int(np.count_nonzero(margins < low - room)), "further left")


def _note(axes: Axes, designs: int, words: str) -> None:
    """Say how many designs are not drawn, and why."""
    if designs:
        box = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}
        axes.text(0.02, 0.02, f"{designs} {words}", transform=axes.transAxes, bbox=box, zorder=5)


def _handles(found: Proposal) -> list[Line2D]:
    met, handles = found.designs.met, []
    if met.any():
        handles.append(Line2D([], [], linestyle="none", label="all limits met", **_MET))
    if not met.all():
        handles.append(Line2D([], [], linestyle="none", label="a limit not met", **_MISSED))
    if found.best is not None:
        handles.append(Line2D([], [], color="black", linestyle="--", label="proposal"))
    return handles


def _limits(found: Proposal) -> Figure:
    """The chance that each limit holds, with its exact interval, against what was asked."""
    limits = found.told.limits
    asked = [_stated(judged, stated_level(judged.limit)) for judged in limits]
    spans = [sorted(_stated(j, end) for end in (j.holds.low, j.holds.high)) for j in limits]
    with style():
        figure = blank(8.0, 1.2 + 0.42 * len(limits))
        axes: Axes = figure.subplots()
        for place, judged in enumerate(limits):
            low, high = spans[place]
            axes.hlines(place, low, high, color="black", linewidth=1.6, zorder=2)
            axes.plot(asked[place], place, marker="|", markersize=20, color="black", markeredgewidth=1.6)
            axes.plot(_stated(judged, judged.holds.share), place, **_marker(judged.verdict), zorder=3)
            axes.annotate(
                judged.verdict,
                (1.0, place),
                xycoords=axes.get_yaxis_transform(),
                xytext=(6, 0),
                textcoords="offset points",
                va="center",
            )
        axes.set_yticks(range(len(limits)), [textwrap.fill(_label(judged), _WIDEST) for judged in limits])
        axes.set_ylim(len(limits) - 0.4, -0.6)
        least = min(*asked, *(low for low, _ in spans))
        axes.set_xlim(least - 0.06 * (100 - least) - 0.05, 100.0 + 0.03 * (100 - least) + 0.05)
        axes.set_xlabel(f"chance of what each line states, at the {found.called} [%]")
        axes.grid(axis="y", color="0.88", linewidth=0.6)
        axes.set_axisbelow(True)
        figure.legend(handles=_limit_handles(limits), loc="outside lower left", ncols=4, frameon=False)
    return figure


def _stated(judged: JudgedLimit, holds: float) -> float:
    """A chance [%] in the sense in which its limit is stated: "constricted in at most 20 %" counts the constricted."""
    limit = judged.limit
    counts_the_event = limit.event is not None and limit.at_least is None
    return 100 * (1.0 - holds if counts_the_event else holds)


def _label(judged: JudgedLimit) -> str:
    """What a limit asks; of a limit on a chance its words say the chance asked."""
    limit = judged.limit
    asked = "" if limit.event is not None else f", asked {100 * stated_level(limit):g} %"
    return held(printed(limit_words(limit)) + asked)


def _marker(verdict: str) -> Looks:
    return {"markersize": 7, "markeredgecolor": "black", **_VERDICTS[verdict]}


def _limit_handles(limits: Sequence[JudgedLimit]) -> list[Line2D]:
    handles = [Line2D([], [], linestyle="none", marker="|", markersize=12, color="black", label="asked")]
    there = {judged.verdict for judged in limits}
    for verdict in (verdict for verdict in _VERDICTS if verdict in there):
        label = f"{verdict}, with its 95 % interval"
        handles.append(Line2D([], [], linestyle="none", label=label, **_marker(verdict)))
    return handles
