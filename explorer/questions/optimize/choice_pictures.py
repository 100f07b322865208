"""The designs to choose from as pictures: where nearly equal ones stand in their ranges, and the trade-off curve."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import ArrayLike, NDArray

from explorer import registry
from explorer.page.pictures.style import DARK, LIGHT, axis_label, blank, fitting, printed, style, tell_points
from explorer.questions.optimize.names import bends, in_shown_unit, setting_text, wanted_words
from explorer.questions.optimize.search.proposal import JudgedDesign, Proposal
from explorer.study.limits import MET
from explorer.study.shown import scale_of
from explorer.studyfile import Varied, Wish
from explorer.units import Scale

FloatArray = NDArray[np.float64]
Looks = Mapping[str, Any]  #: of a marker, as matplotlib names them

#: How the proposal is drawn among nearly equal designs.
_PROPOSED: Final[Looks] = {
    "marker": "D",
    "markersize": 8.0,
    "markerfacecolor": "black",
    "markeredgecolor": "white",
}

#: Markers of nearly equal designs; how far one is moved up above another [inch], and how near that is [of a range].
_SHAPES: Final = ("o", "s", "^", "v", "P", "X", "<", ">")
_LIFT: Final = 0.12
_SAME_PLACE: Final = 0.025

#: Width of a letter, of a gap beside words, and of the shortest line that a range is drawn as [inch].
_LETTER: Final = 0.078
_GAP: Final = 0.18
_SHORTEST: Final = 2.5

#: How near two designs of a curve may stand and still have a number each [of the curve's width and height].
_NEAR: Final = 0.05

#: Standard errors of a 95 % interval.
_INTERVAL: Final = 1.96


class _Row(NamedTuple):
    """A range or a list: what stands at it, and where designs stand, from 0 at its lower end to 1 at its upper [-]."""

    label: str
    marks: list[str]  #: evenly from one end to the other
    places: list[float]


def _row(item: Varied, designs: Sequence[JudgedDesign]) -> _Row:
    values = [design.setting[item.address] for design in designs]
    marks: list[float | str]
    if item.low is not None and item.high is not None:
        marks = [item.low, item.high]
        places = [(float(value) - item.low) / (item.high - item.low) for value in values]
    else:
        marks = list(item.values if item.is_word else sorted(map(float, item.values)))
        places = [marks.index(value) / max(len(marks) - 1, 1) for value in values]
    return _Row(
        registry.words_of(item.address), [printed(setting_text(item.address, mark)) for mark in marks], places
    )


def near_equal_figure(found: Proposal) -> Figure:
    """Return where the proposal and each design like it stands within the range of each varied address."""
    names = list(found.beside)
    rows = [_row(item, list(found.beside.values())) for item in found.varied]
    lifts = [_lifts(row.places) for row in rows]
    high = 0.42 + _LIFT * max(max(lifted) for lifted in lifts)  # of a row [inch]
    left, right = (_GAP + _LETTER * max(len(row.marks[end]) for row in rows) for end in (0, -1))
    rest = left + right + _LETTER * max(len(row.label) for row in rows) + 3 * _GAP
    line = max(8.0 - rest, _SHORTEST)
    with style():
        figure = blank(line + rest, 0.9 + high * len(rows))
        axes: Axes = figure.subplots()
        for place, row in enumerate(rows):
            _range(axes, place, row.marks, line)
        for number in range(len(names) - 1, -1, -1):  # the proposal on top
            looks = _PROPOSED if number == 0 else _look(number)
            heights = [place - _LIFT / high * lifted[number] for place, lifted in enumerate(lifts)]
            places = [row.places[number] for row in rows]
            axes.plot(places, heights, linestyle="none", label=names[number], zorder=3, **looks)
        axes.set_yticks(range(len(rows)), [row.label for row in rows])
        axes.set_ylim(len(rows) - 0.5, -0.3 - _LIFT / high * (max(lifts[0]) + 0.5))
        axes.set_xlim(-left / line, 1.0 + right / line)
        axes.set_xticks([])
        for side in ("bottom", "left"):
            axes.spines[side].set_visible(False)
        axes.tick_params(axis="y", length=0)
        handles, labels = axes.get_legend_handles_labels()
        figure.legend(handles[::-1], labels[::-1], loc="outside lower left", ncols=len(names), frameon=False)
    return figure


def _range(axes: Axes, place: int, marks: Sequence[str], line: float) -> None:
    """A range or a list as a line [inch], with what stands at its ends and, where it fits, between."""
    first, between, last = marks[0], marks[1:-1], marks[-1] if len(marks) > 1 else ""
    axes.hlines(place, 0.0, 1.0, color="0.6", linewidth=0.8, zorder=1)
    at = np.linspace(0.0, 1.0, len(between) + 2)
    axes.plot(at, np.full(len(at), place), marker="|", markersize=9, color="0.6", linestyle="none", zorder=1)
    for end, words, side, away in ((0.0, first, "right", -10), (1.0, last, "left", 10)):
        axes.annotate(words, (end, place), xytext=(away, 0), textcoords="offset points", ha=side, va="center")
    if _LETTER * max(map(len, between), default=0) > line / (len(between) + 1):
        return
    below: dict[str, Any] = {"textcoords": "offset points", "ha": "center", "va": "top", "color": "0.35"}
    for mark, words in zip(at[1:-1], between, strict=True):
        axes.annotate(words, (mark, place), xytext=(0, -8), **below)


def _look(number: int) -> Looks:
    face = LIGHT if number % 2 else "white"
    shape = _SHAPES[(number - 1) % len(_SHAPES)]
    return {"marker": shape, "markersize": 7.0, "markerfacecolor": face, "markeredgecolor": DARK}


def _lifts(places: Sequence[float]) -> list[int]:
    """How often each design's mark is moved up so that it hides none of those before it."""
    lifts: list[int] = []
    for place in places:
        taken = {lift for lift, other in zip(lifts, places, strict=False) if abs(other - place) < _SAME_PLACE}
        lifts.append(next(lift for lift in range(len(lifts) + 1) if lift not in taken))
    return lifts


def scale_among(quantity: str, values: ArrayLike) -> Scale:
    """Return the scale on which values [SI] of a quantity are drawn: watts, or kilowatts where they are many."""
    finite = np.abs(np.asarray(values, dtype=np.float64))
    return fitting(scale_of(quantity), float(finite[np.isfinite(finite)].max(initial=0.0)))


def trade_off_figure(found: Proposal) -> Figure:
    """Return one wish against the other: the curve with its sampling errors, the knee, the designs tried behind it."""
    names = [wish.quantity for wish in found.wishes]
    expected = [[design.wishes[k].expected for design in found.trade_off] for k in (0, 1)]
    scales = [scale_among(names[k], [float(figure) for figure in expected[k]]) for k in (0, 1)]
    x, y = (in_shown_unit(scales[k], [float(figure) for figure in expected[k]]) for k in (0, 1))
    errors = [
        in_shown_unit(scales[k], [figure.error for figure in expected[k]], difference=True) for k in (0, 1)
    ]
    tried = found.designs.wishes[found.designs.met]
    with style():
        figure = blank(6.8, 4.8)
        axes: Axes = figure.subplots()
        axes.plot(
            in_shown_unit(scales[0], tried[:, 0]),
            in_shown_unit(scales[1], tried[:, 1]),
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
            xerr=_INTERVAL * errors[0],
            yerr=_INTERVAL * errors[1],
            linestyle="none",
            color="black",
            elinewidth=1.0,
            capsize=2.5,
            zorder=3,
            label="95 % of the sampling",
        )
        _designs(axes, x, y, found)
        tell_points(axes, zip(x, y, _told(found), strict=True))
        axes.set_xlim(*_reach(x))
        axes.set_ylim(*_reach(y))
        axes.set_xlabel(_label(found.wishes[0], scales[0]))
        axes.set_ylabel(_label(found.wishes[1], scales[1]))
        figure.legend(loc="outside lower left", ncols=2, frameon=False, labelspacing=0.9)  # room for the ring
    return figure


def _designs(axes: Axes, x: FloatArray, y: FloatArray, found: Proposal) -> None:
    """The curve's designs with their numbers, the knee among them."""
    met = np.array([design.verdict == MET for design in found.trade_off])
    kinds: tuple[tuple[NDArray[np.bool_], Looks, str], ...] = (
        (met, {"marker": "o", "markerfacecolor": DARK}, "on the curve, all limits met on fresh points"),
        (~met, {"marker": "s", "markerfacecolor": "white"}, "on the curve, a limit not met or not decided"),
    )
    common: dict[str, Any] = {"linestyle": "none", "markeredgecolor": "black", "zorder": 4}
    for which, looks, label in kinds:
        if which.any():
            axes.plot(x[which], y[which], markersize=6.5, label=label, **common, **looks)
    side, away = ("right", -6) if y[-1] > y[0] else ("left", 6)
    for number, at in _numbers(x, y).items():
        axes.annotate(number, at, xytext=(away, 6), textcoords="offset points", ha=side, zorder=5)
    if found.knee is not None:
        ring: dict[str, Any] = {"marker": "D", "markersize": 13, "markerfacecolor": "none"}
        label = "the knee: proposed" if bends(found) else "proposed"
        axes.plot(x[found.knee], y[found.knee], label=label, markeredgewidth=1.4, **common, **ring)


def _told(found: Proposal) -> Iterator[str]:
    """What each design of the curve says to a pointer: "2: thrust gain 0.55 N, electrical power 55.6 kW; met"."""
    for number, design in enumerate(found.trade_off, start=1):
        figures = [
            f"{wanted_words(own.wish.quantity)} {registry.quantity(own.wish.quantity).spoken(float(own.expected))}"
            for own in design.wishes
        ]
        yield f"{number}: {', '.join(figures)}; limits {design.verdict}"


def _numbers(x: FloatArray, y: FloatArray) -> dict[str, tuple[float, float]]:
    """Numbers of designs and where they stand; those of neighbours too close for two have one label."""
    widths = [float(np.ptp(values)) or 1.0 for values in (x, y)]
    found: list[tuple[list[str], tuple[float, float]]] = []
    for number, at in enumerate(zip(map(float, x), map(float, y), strict=True), start=1):
        near = found and all(abs(at[k] - found[-1][1][k]) < _NEAR * widths[k] for k in (0, 1))
        if near:
            found[-1][0].append(str(number))
        else:
            found.append(([str(number)], at))
    return {", ".join(numbers): at for numbers, at in found}


def _reach(values: FloatArray) -> tuple[float, float]:
    """Ends of an axis with room about the curve; designs tried that lie far off it are left out."""
    low, high = float(values.min()), float(values.max())
    room = 0.25 * (high - low) or 0.1 * abs(high) or 0.5
    return low - room, high + room


def _label(wish: Wish, scale: Scale) -> str:
    arrow = "more" if wish.make == "largest" else "less"
    return axis_label(f"{wanted_words(wish.quantity)}, {arrow} is wanted", scale)
