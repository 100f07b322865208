"""Nearly equal designs: where each stands within the ranges and lists of what is varied."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from explorer.page.style import DARK, LIGHT, blank, style

#: How the proposal is drawn.
_PROPOSED: Final[Mapping[str, Any]] = {
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


@dataclass(frozen=True)
class Placed:
    """Where designs stand in a range: 0 at its lower end, 1 at its upper end [-]."""

    label: str
    lower: str  #: what stands at the ends
    upper: str
    places: tuple[float, ...]  #: of the proposal first
    between: tuple[str, ...] = ()  #: of a list what stands between, evenly


def near_equal_figure(rows: Sequence[Placed], names: Sequence[str]) -> Figure:
    """Return where each design stands within the range of each varied address."""
    lifts = [_lifts(row) for row in rows]
    high = 0.42 + _LIFT * max(max(lifted) for lifted in lifts)  # of a row [inch]
    left, right = (_GAP + _LETTER * max(map(len, ends)) for ends in _ends(rows))
    rest = left + right + _LETTER * max(len(row.label) for row in rows) + 3 * _GAP
    line = max(8.0 - rest, _SHORTEST)
    with style():
        figure = blank(line + rest, 0.9 + high * len(rows))
        axes: Axes = figure.subplots()
        for place, row in enumerate(rows):
            _range(axes, place, row, line)
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


def _ends(rows: Sequence[Placed]) -> tuple[list[str], list[str]]:
    return [row.lower for row in rows], [row.upper for row in rows]


def _range(axes: Axes, place: int, row: Placed, line: float) -> None:
    """A range or a list as a line [inch], with what stands at its ends and, where it fits, between."""
    axes.hlines(place, 0.0, 1.0, color="0.6", linewidth=0.8, zorder=1)
    marks = np.linspace(0.0, 1.0, len(row.between) + 2)
    axes.plot(
        marks, np.full(len(marks), place), marker="|", markersize=9, color="0.6", linestyle="none", zorder=1
    )
    for end, words, side, away in ((0.0, row.lower, "right", -10), (1.0, row.upper, "left", 10)):
        axes.annotate(words, (end, place), xytext=(away, 0), textcoords="offset points", ha=side, va="center")
    if _LETTER * max(map(len, row.between), default=0) > line / (len(row.between) + 1):
        return
    for mark, words in zip(marks[1:-1], row.between, strict=True):
        axes.annotate(
            words,
            (mark, place),
            xytext=(0, -5),
            textcoords="offset points",
            ha="center",
            va="top",
            color="0.35",
        )


def _look(number: int) -> Mapping[str, Any]:
    face = LIGHT if number % 2 else "white"
    shape = _SHAPES[(number - 1) % len(_SHAPES)]
    return {"marker": shape, "markersize": 7.0, "markerfacecolor": face, "markeredgecolor": DARK}


def _lifts(row: Placed) -> list[int]:
    """How often each design's mark is moved up so that it hides none of those before it."""
    lifts: list[int] = []
    for place in row.places:
        taken = {
            lift for lift, other in zip(lifts, row.places, strict=False) if abs(other - place) < _SAME_PLACE
        }
        lifts.append(next(lift for lift in range(len(lifts) + 1) if lift not in taken))
    return lifts
