"""The pictures of a flight: altitude and velocity over time, what the stage adds to the apogee, and what drives it.

Told apart by line and hatch: a solid line and a filled band with the stage, a broken line and a hatched band without.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from explorer import registry
from explorer.page.pictures.bars import Bar, ranking_figure
from explorer.page.pictures.distribution import draw_distribution
from explorer.page.pictures.style import DARK, LIGHT, SHADE, axis_label, blank, style
from explorer.questions.flight.figures import Driver
from explorer.questions.flight.flight import Flight, quantity_of
from explorer.questions.flight.names import DRIVEN, MODE_WORDS
from explorer.units import Scale, from_si

FloatArray = NDArray[np.float64]

#: Words of a case, its line, and its band.
_CASES: Final[dict[str, tuple[str, dict[str, Any], dict[str, Any]]]] = {
    "without": (
        "without the stage",
        {"color": "black", "linestyle": "--"},
        {"facecolor": "none", "edgecolor": "0.55", "hatch": "////"},
    ),
    "with": (
        "with the stage",
        {"color": DARK, "linestyle": "-", "linewidth": 2.0},
        {"facecolor": LIGHT, "edgecolor": DARK},
    ),
}

#: Room beyond the outermost of distribution and zero [of the whole].
_ROOM: Final = 0.05


def bars_of(driven: str) -> str:
    """Return what the picture of what drives a result is called."""
    return f"drivers-{driven}"


def picture(found: Flight, what: str | None = None) -> Figure:
    """Return a picture by its name, that of the ascent if none is given."""
    height = quantity_of("apogee").scale
    for driven, drivers in found.driven.items():
        if what == bars_of(driven):
            bars = [Bar(_words(each), each.row.part, each.share, None, each.level) for each in drivers]
            return ranking_figure(bars, DRIVEN[driven])
    if what == "difference":
        less = found.figures["apogee"].difference
        return difference_figure(found.differences_of_apogee, (float(less.low), float(less.high)), height)
    if what not in (None, "ascent"):
        raise ValueError(f"a flight has no picture {what}")
    phases = [
        PhaseShown(f"{phase.name}: {MODE_WORDS[phase.mode]}", phase.start, phase.end)
        for phase in found.plan.phases
    ]
    return ascent_figure(found.curves, phases, height, quantity_of("burnout_velocity").scale)


def _words(driver: Driver) -> str:
    words = registry.words_of(driver.row.called or driver.row.address)
    return f"{words} (scatter)" if driver.row.part == "scatter" else words


@dataclass(frozen=True)
class PhaseShown:
    """A phase as a picture marks it."""

    label: str
    start: float  #: [s]
    end: float


def ascent_figure(
    curves: Mapping[str, pd.DataFrame], phases: Sequence[PhaseShown], altitude: Scale, velocity: Scale
) -> Figure:
    """Return altitude and velocity over time, phases marked."""
    with style():
        figure = blank(8.0, 5.6)
        upper, lower = figure.subplots(2, 1, sharex=True)
        for axes, name, scale in ((upper, "altitude", altitude), (lower, "velocity", velocity)):
            _phases(axes, phases)
            for case, table in curves.items():
                _curve(axes, case, table, name, scale)
            axes.set_ylabel(axis_label(name, scale))
        upper.set_ylim(bottom=min(upper.get_ylim()[0], 0.0))
        lower.set_ylim(bottom=0.0)
        lower.set_xlim(
            min(phase.start for phase in phases),
            max(table["time"].iloc[-1] for table in curves.values()) * 1.02,
        )
        lower.set_xlabel("time t [s]")
        _names(upper, phases)
        figure.legend(handles=_legend(curves), loc="outside lower left", ncols=2, frameon=False)
    return figure


def _curve(axes: Axes, case: str, table: pd.DataFrame, name: str, scale: Scale) -> None:
    _, line, band = _CASES[case]
    time = table["time"].to_numpy()
    middle, low, high = (
        from_si(table[f"{name}{end}"].to_numpy(), scale.unit, scale.shown_unit)
        for end in ("", "_low", "_high")
    )
    axes.fill_between(time, low, high, linewidth=0.4, zorder=1, **band)
    axes.plot(time, middle, zorder=3, **line)
    axes.plot(time[-1], middle[-1], marker="o", markersize=4.5, color=line["color"], zorder=3, clip_on=False)


def _phases(axes: Axes, phases: Sequence[PhaseShown]) -> None:
    for number, phase in enumerate(phases):
        if number % 2 == 0:
            axes.axvspan(phase.start, phase.end, facecolor=SHADE, edgecolor="none", zorder=0)
        for edge in (phase.start, phase.end):
            axes.axvline(edge, color="0.4", linewidth=0.7, linestyle=":", zorder=0)


def _names(axes: Axes, phases: Sequence[PhaseShown]) -> None:
    """Names of the phases above the picture, one below the other where they stand close."""
    for number, phase in enumerate(phases):
        axes.annotate(
            phase.label,
            (phase.start, 1.0),
            xycoords=axes.get_xaxis_transform(),
            xytext=(1, 3 + 11 * (len(phases) - 1 - number)),
            textcoords="offset points",
            ha="left",
            va="bottom",
        )


def _legend(curves: Mapping[str, pd.DataFrame]) -> list[Line2D | Patch]:
    handles: list[Line2D | Patch] = []
    for case in curves:
        words, line, band = _CASES[case]
        handles.append(Line2D([], [], label=f"{words}, central values", **line))
        handles.append(Patch(linewidth=0.4, label=f"{words}, 19 times in 20", **band))
    return handles


def difference_figure(values: FloatArray, interval: tuple[float, float], scale: Scale) -> Figure:
    """Return the distribution of what the stage adds to the apogee, with the line at which it adds nothing."""
    with style():
        figure = blank(8.0, 3.4)
        axes: Axes = figure.subplots()
        draw_distribution(axes, values, interval, scale)
        left, right = axes.get_xlim()
        left, right = min(left, 0.0), max(right, 0.0)
        room = _ROOM * (right - left)
        axes.set_xlim(left - room, right + room)
        axes.axvline(0.0, color="black", linewidth=1.8, linestyle="--")
        axes.annotate(
            "as high as without it",
            (0.0, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 2),
            textcoords="offset points",
            ha="center" if left < -room and right > room else "right" if right <= room else "left",
            va="bottom",
        )
        axes.set_xlabel(axis_label("apogee with the stage less apogee without it", scale))
    return figure
