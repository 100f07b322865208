"""Pictures of a ranking: its target, what carries it, the leading inputs, measurements; and of a first look."""

from collections.abc import Callable, Mapping
from typing import Any, Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from explorer import registry
from explorer.analysis.measurement_sets import MeasurementRanking
from explorer.analysis.scrambles import Estimate, estimate
from explorer.page.pictures.bars import Bar, ranking_figure
from explorer.page.pictures.distribution import draw_distribution
from explorer.page.pictures.style import CLEAR, DARK, LIGHT, axis_label, blank, printed, style
from explorer.questions.rank.first_look import FirstLook
from explorer.questions.rank.ranking import Ranking
from explorer.study.shown import scale_of
from explorer.units import Scale, from_si

FloatArray = NDArray[np.float64]

#: Most inputs against which a target is drawn, and slices of an input's range in which its middle is told.
MOST_INPUTS: Final[int] = 4
_SLICES: Final[int] = 12

#: Points drawn at most, and the share of them beyond each edge; the middle and the range come from all of them.
_POINTS: Final[int] = 1000
_BEYOND: Final[float] = 0.005

#: Most rows of a first look that are drawn; the rest stands in the table.
MOST_ROWS: Final[int] = 16

#: Lines on the bar of a measurement.
_TURNS_OUT: Final[dict[str, Any]] = {
    "color": "black",
    "linestyle": ":",
    "linewidth": 1.4,
    "label": "18 times in 20 as it turns out",
}
_SAMPLED: Final[dict[str, Any]] = {
    "color": "black",
    "linestyle": "-",
    "linewidth": 1.2,
    "label": "95 % of the sampling",
}


def picture(found: Ranking | FirstLook, what: str | None = None) -> Figure:
    """The picture of this name, or the main one."""
    if isinstance(found, FirstLook):
        return first_look_figure(found)
    drawn = _drawn(found)
    if what is not None and what not in drawn:
        raise ValueError(f"a ranking can be drawn as {', '.join(drawn)}; got {what}")
    return drawn[what or "ranking"]()


def ranking_pictures(ranking: Ranking) -> dict[str, Figure]:
    """The pictures: target, ranking, inputs, and measurements where there are any."""
    return {name: draw() for name, draw in _drawn(ranking).items()}


def _drawn(ranking: Ranking) -> dict[str, Callable[[], Figure]]:
    scale, points, found = scale_of(ranking.target), ranking.picture, ranking.distribution
    stated = ranking.study.target if ranking.study is not None and ranking.chance_met is not None else None
    required = {} if stated is None else {"at_least": stated.at_least, "at_most": stated.at_most}
    values, interval = points[ranking.target].to_numpy(), (float(found.low), float(found.high))
    figures: dict[str, Callable[[], Figure]] = {
        "target": lambda: target_figure(values, interval, ranking.name, scale, **required),
        "ranking": lambda: ranking_figure(_bars(ranking), ranking.name),
    }
    scales = {row.address: row.scale for row in ranking.rows if row.scale is not None}
    known = {name: scales[name] for name in points.columns[1 : 1 + MOST_INPUTS] if name in scales}
    if known:
        figures["inputs"] = lambda: inputs_figure(points, ranking.name, scale, known, **required)
    measured = ranking.learning.measurements
    if measured is not None:
        figures["measurements"] = lambda: measurements_figure(measured, ranking.name, scale)
    return figures


def _bars(ranking: Ranking) -> list[Bar]:
    return [Bar(row.called, row.part, row.first, row.total, row.level) for row in ranking.rows]


def target_figure(
    values: FloatArray,
    interval: tuple[float, float],
    words: str,
    scale: Scale,
    *,
    at_least: float | None = None,
    at_most: float | None = None,
) -> Figure:
    """The distribution of a target in one firing."""
    with style():
        figure = blank(6.4, 2.7)
        axes: Axes = figure.subplots()
        draw_distribution(axes, values, interval, scale, at_least=at_least, at_most=at_most)
        axes.set_xlabel(axis_label(f"{words} in one firing", scale))
    return figure


def inputs_figure(
    points: pd.DataFrame,
    words: str,
    scale: Scale,
    inputs: Mapping[str, Scale],
    *,
    at_least: float | None = None,
    at_most: float | None = None,
) -> Figure:
    """A target against each of its leading inputs, with its middle and its range along the input."""
    chosen = list(inputs)[:MOST_INPUTS]
    rows = -(-len(chosen) // 2)
    with style():
        figure = blank(8.0, 0.7 + 2.3 * rows)
        panels = np.atleast_1d(figure.subplots(rows, min(len(chosen), 2), sharey=True)).ravel()
        y = np.asarray(from_si(points.iloc[:, 0].to_numpy(), scale.unit, scale.shown_unit))
        for axes, address in zip(panels, chosen, strict=False):
            shown = inputs[address]
            x = np.asarray(from_si(points[address].to_numpy(), shown.unit, shown.shown_unit))
            _panel(axes, x, y)
            for bound in (at_least, at_most):
                if bound is not None:
                    at = float(from_si(bound, scale.unit, scale.shown_unit))
                    axes.axhline(at, color="black", linestyle="--", linewidth=1.0)
            axes.set_xlabel(axis_label(registry.words_of(address), shown))
        panels[0].set_ylim(*_reach(y))
        for axes in panels[len(chosen) :]:
            axes.set_visible(False)
        figure.supylabel(axis_label(words, scale), fontsize=9.0)
        handles, labels = panels[0].get_legend_handles_labels()
        figure.legend(handles, labels, loc="outside lower center", ncols=2, frameon=False)
    return figure


def shows_required(figure: Figure) -> bool:
    """Return whether what is required lies within the panels of the inputs."""
    low, high = figure.axes[0].get_ylim()
    dashed = [line for line in figure.axes[0].lines if line.get_linestyle() == "--"]
    return any(low <= float(np.asarray(line.get_ydata())[0]) <= high for line in dashed)


def _panel(axes: Axes, x: FloatArray, y: FloatArray) -> None:
    step = -(-x.size // _POINTS) | 1  # odd: an even step leaves out parts of a Sobol' sequence's range
    axes.plot(
        x[::step],
        y[::step],
        color=DARK,
        alpha=0.45,
        marker=".",
        markersize=3.5,
        markeredgewidth=0.0,
        linestyle="none",
        rasterized=True,
        zorder=1,
    )
    slices = np.array_split(np.argsort(x, kind="stable"), _SLICES)
    middles = [float(np.median(x[rows])) for rows in slices]
    low, middle, high = (np.array([np.quantile(y[rows], q) for rows in slices]) for q in (0.05, 0.5, 0.95))
    axes.plot(middles, middle, color="black", linewidth=2.0, label="middle at this value of the input")
    for edge, label in ((low, "18 times in 20 between"), (high, None)):
        axes.plot(middles, edge, color="black", linestyle=":", linewidth=1.2, label=label)
    axes.set_xlim(*_reach(x))
    axes.xaxis.set_major_locator(MaxNLocator(5))


def _reach(values: FloatArray) -> tuple[float, float]:
    """Ends of an axis that leave out a few points in long tails."""
    low, high = (float(end) for end in np.quantile(values, [_BEYOND, 1 - _BEYOND]))
    room = 0.04 * (high - low) or 0.5
    return low - room, high + room


def measurements_figure(found: MeasurementRanking, target: str, scale: Scale) -> Figure:
    """Bars from zero of what each measurement would take off, with its sampling error and what it may turn out."""
    now = float(found.now)

    def shown(differences: list[float]) -> FloatArray:
        zero = from_si(0.0, scale.unit, scale.shown_unit)  # °C have an offset
        return np.asarray(from_si(np.array(differences), scale.unit, scale.shown_unit) - zero)

    with style():
        figure = blank(6.4, 1.7 + 0.4 * len(found.each))
        axes: Axes = figure.subplots()
        places = np.arange(len(found.each), dtype=np.float64)
        fall = shown([now - float(own.left) for own in found.each])
        axes.barh(places, fall, 0.66, facecolor=LIGHT, edgecolor="black", linewidth=0.6)
        most, least = (shown([now - own.left_range[end] for own in found.each]) for end in (0, 1))
        _whiskers(axes, places - 0.12, least, most, **_TURNS_OUT)
        half = shown([_half_width_of_fall(found.now, own.left) for own in found.each])
        _whiskers(axes, places + 0.2, fall - half, fall + half, **_SAMPLED)
        axes.axvline(0.0, color="black", linewidth=0.8)
        axes.set_yticks(places, [f"{own.name} ({own.hours:g} h)" for own in found.each])
        axes.invert_yaxis()
        axes.xaxis.set_major_locator(MaxNLocator(6))
        words = axis_label(f"taken off the standard uncertainty of {target}", scale)
        axes.set_xlabel(f"{words}\nof {printed(scale.difference(now))} now", x=1.0, ha="right")
        handles = [Line2D([], [], marker="|", **looks) for looks in (_TURNS_OUT, _SAMPLED)]
        figure.legend(handles=handles, loc="outside lower left", ncols=2, frameon=False)
    return figure


def _whiskers(
    axes: Axes, places: NDArray[np.floating], low: FloatArray, high: FloatArray, **looks: Any
) -> None:
    axes.hlines(places, low, high, path_effects=CLEAR, zorder=3, **looks)
    for ends in (low, high):
        axes.plot(ends, places, color="black", marker="|", markersize=6, linestyle="none", zorder=3)


def _half_width_of_fall(now: Estimate, left: Estimate) -> float:
    """Half of the 95 % interval of a fall: within each scramble, much of both errors is common."""
    if now.by_scramble.shape == left.by_scramble.shape:
        return estimate(now.by_scramble - left.by_scramble).half_width
    return float(np.hypot(now.half_width, left.half_width))


def first_look_figure(found: FirstLook) -> Figure:
    """Bars of the mean size of each row's effect with its interval, and a mark at the spread of its effects."""
    drawn, scale = found.effects[:MOST_ROWS], scale_of(found.target)

    def shown(values: list[float]) -> FloatArray:
        lengths = from_si(np.array(values), scale.unit, scale.shown_unit)
        return np.asarray(lengths - from_si(0.0, scale.unit, scale.shown_unit))

    with style():
        figure = blank(6.4, 1.4 + 0.3 * len(drawn))
        axes: Axes = figure.subplots()
        places = np.arange(len(drawn))
        size, half = shown([e.mean_size for e in drawn]), shown([e.half_width for e in drawn])
        label = "mean size, and its error"
        axes.barh(places, size, 0.7, facecolor=LIGHT, edgecolor="black", linewidth=0.6, label=label)
        axes.hlines(places, np.maximum(size - half, 0.0), size + half, color="black", linewidth=1.2)
        axes.plot(
            shown([e.spread for e in drawn]),
            places,
            color=DARK,
            marker="D",
            markersize=5,
            linestyle="none",
            label="spread: it bends, or depends on the others",
        )
        axes.set_yticks(places, [effect.words for effect in drawn])
        axes.invert_yaxis()
        axes.set_xlim(left=0.0)
        axes.set_xlabel(axis_label(f"move of {found.name} along the middle 95 % of the range", scale))
        figure.legend(loc="outside lower left", frameon=False)
    return figure
