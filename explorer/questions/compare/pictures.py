"""The picture of a comparison: for each outcome every design, and its difference from the first one, with intervals.

Told apart by place and by filled or open marks, so that nothing hangs on colour.
"""

import textwrap
from collections.abc import Mapping, Sequence, Set
from typing import Any, Final, SupportsFloat

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullLocator

from explorer import registry
from explorer.page.pictures.style import DARK, axis_label, blank, fitting, plain, style
from explorer.questions.compare.blocks import key_rows
from explorer.questions.compare.comparison import Comparison
from explorer.questions.compare.words import is_mixed
from explorer.study.contrasts import Difference, Figures
from explorer.units import Scale, from_si, number_text

#: Most outcomes drawn, the rest stands in the tables; characters of an axis label on one line.
MOST_ROWS: Final[int] = 8
_LABEL: Final[int] = 44

#: Characters of a design's name on one line.
_NAME: Final[int] = 24

#: Ratio of the largest to the smallest end from which on a scale of powers of ten reads better.
_WIDE: Final[float] = 30.0
_NARROW: Final[float] = 3e3  #: up to which there is room for a mark between powers of ten

_SQUARE: Final[dict[str, Any]] = {
    "marker": "s",
    "markersize": 5.0,
    "markerfacecolor": DARK,
    "markeredgecolor": DARK,
    "linestyle": "none",
}
_REAL: Final[dict[str, Any]] = {**_SQUARE, "marker": "o", "markersize": 6.5}

#: Verdicts on a difference that zero lies outside of.
_DIFFERENT: Final = frozenset({"larger", "smaller"})

_CLEAR: Final[dict[str, Any]] = {"facecolor": "white", "edgecolor": "none", "pad": 0.5}
_OPEN: Final[dict[str, Any]] = {**_REAL, "markerfacecolor": "white", "markeredgewidth": 1.4}

#: Outcomes drawn beside the studies' targets.
_DRAWN: Final = (
    "thrust_gain",
    "relative_thrust_gain",
    "thrust_per_power",
    "current",
    "electrical_power",
    "power_delivered",
    "stage_mass",
    "thrust_gain_per_mass",
)


def picture(found: Comparison, what: str | None = None) -> Figure:
    """Return the one picture that there is."""
    if what not in (None, "comparison"):
        raise ValueError(f'a comparison has one picture, "comparison"; got "{what}"')
    figure = comparison_picture(found)
    if figure is None:
        raise ValueError("no outcome differs between these designs, so there is nothing to draw")
    return figure


def comparison_picture(found: Comparison) -> Figure | None:
    """Return outcomes and masses that differ, of the firings that make contact where that is not sure."""
    mixed = is_mixed(*found.designs)
    designs = [own.figures_given_contact if mixed else own.figures for own in found.designs]
    others = [own.differences_given_contact if mixed else own.differences for own in found.others]
    asked = [study.target.quantity for study in found.studies]
    wanted = [row for row in dict.fromkeys((*asked, *_DRAWN)) if row in key_rows(found)]
    told = [row for row in wanted if any(own[row].is_told for own in designs)]
    differ = [row for row in told if any(own[row].verdict not in ("", "the same") for own in others)]
    if not differ:
        return None
    rows = [row for row in told if row in differ or row in asked]
    return comparison_figure(
        names_in_picture(found.names),
        {row: [own[row] for own in designs] for row in rows},
        {row: [own[row] for own in others] for row in rows},
    )


def names_in_picture(names: Sequence[str]) -> list[str]:
    """What designs are called beside their rows: in words, long ones on two lines."""
    words = [registry.words_of(name) for name in names]
    if len(set(map(_on_two_lines, words))) < len(words):
        words = [f"{place}: {own}" for place, own in enumerate(words, start=1)]
    return [_on_two_lines(own) for own in words]


def _on_two_lines(name: str) -> str:
    return textwrap.fill(name, _NAME, max_lines=2, placeholder="…")


def comparison_figure(
    names: Sequence[str],
    designs: Mapping[str, Sequence[Figures]],
    differences: Mapping[str, Sequence[Difference]],
) -> Figure:
    """Return designs with their 95 % intervals, and beside them their differences from the first design."""
    rows = list(designs)[:MOST_ROWS]
    with style():
        each = 0.42 if any("\n" in name for name in names) else 0.3
        figure = blank(8.4, 0.5 + len(rows) * (0.55 + each * len(names)))
        panels = figure.subplots(len(rows), 2, squeeze=False, width_ratios=(1.0, 1.0))
        for (left, right), row in zip(panels, rows, strict=True):
            ends = [abs(float(end)) for own in designs[row] if own.is_told for end in (own.low, own.high)]
            scale = fitting(registry.quantity(row).scale, max(ends, default=0.0))
            _designs(left, designs[row], scale)
            _places(left, names)
            left.set_xlabel(_wrapped(axis_label(registry.words_of(row), scale)))
            _differences(right, differences[row], scale)
            _places(right, [""] * len(names))
            right.set_xlabel(_wrapped(axis_label(f"difference from {' '.join(names[0].split())}", scale)))
        verdicts = {own.verdict for row in rows for own in differences[row]}
        figure.legend(handles=_legend(verdicts), loc="outside lower right", ncols=3, frameon=False)
    return figure


def _wrapped(words: str) -> str:
    return textwrap.fill(words, _LABEL)


def _places(axes: Axes, labels: Sequence[str]) -> None:
    axes.set_yticks(range(len(labels)), labels)
    axes.set_ylim(len(labels) - 0.5, -0.75)  # room for the first one's number
    axes.tick_params(axis="y", length=0.0)
    axes.spines["left"].set_visible(False)


def _shown(scale: Scale, value: SupportsFloat) -> float:
    return float(from_si(float(value), scale.unit, scale.shown_unit))


def _designs(axes: Axes, figures: Sequence[Figures], scale: Scale) -> None:
    ends = []
    for place, own in enumerate(figures):
        if not own.is_told:
            _none(axes, place)
            continue
        mean, low, high = (_shown(scale, x) for x in (own.mean, own.low, own.high))
        _bar(axes, place, mean, low, high, _SQUARE)
        ends += [low, high]
    if ends and min(ends) > 0 and max(ends) > _WIDE * min(ends):
        _powers_of_ten(axes, min(ends), max(ends))
    else:
        axes.xaxis.set_major_locator(MaxNLocator(5))


def _powers_of_ten(axes: Axes, low: float, high: float) -> None:
    axes.set_xscale("log")
    axes.set_xlim(low / 1.6, high * 1.6)
    narrow = high < _NARROW * low
    axes.xaxis.set_major_locator(LogLocator(10.0, subs=(1.0, 3.0) if narrow else (1.0,), numticks=6))
    axes.xaxis.set_major_formatter(FuncFormatter(plain))
    axes.xaxis.set_minor_locator(NullLocator())


def _differences(axes: Axes, figures: Sequence[Difference], scale: Scale) -> None:
    axes.axvline(0.0, color="black", linestyle="--", linewidth=1.0, zorder=1)
    zero = _shown(scale, 0.0)
    for place, own in enumerate(figures, start=1):
        if not own.verdict:
            _none(axes, place)
            continue
        mean, low, high = (_shown(scale, x) - zero for x in (own.mean, own.low, own.high))
        _bar(axes, place, mean, low, high, _REAL if own.verdict in _DIFFERENT else _OPEN)
    axes.xaxis.set_major_locator(MaxNLocator(5))


def _none(axes: Axes, place: int) -> None:
    axes.annotate("none", (0.02, place), xycoords=("axes fraction", "data"), va="center", bbox=_CLEAR)


def _bar(axes: Axes, place: int, mean: float, low: float, high: float, mark: Mapping[str, Any]) -> None:
    axes.hlines(place, low, high, color=DARK, linewidth=2.0, zorder=2)
    axes.plot([low, high], [place, place], color=DARK, marker="|", markersize=8, linestyle="none", zorder=2)
    axes.plot([mean], [place], **mark, zorder=3)
    if mark is not _OPEN:  # a number that may as well be zero says nothing
        axes.annotate(
            number_text(mean, 2).replace("-", "−"),
            (mean, place),
            xytext=(0, 5),
            textcoords="offset points",
            ha="center",
            va="bottom",
            fontsize=8.0,
            bbox=_CLEAR,
        )


def _legend(verdicts: Set[str]) -> list[Line2D]:
    """The marks that are drawn."""
    words = {"mean, 19 times in 20": _SQUARE}
    if verdicts & _DIFFERENT:
        words["different"] = _REAL
    if verdicts - _DIFFERENT - {""}:
        words["may be the same"] = _OPEN
    return [Line2D([], [], label=label, **mark) for label, mark in words.items()]
