"""The pictures of a path: how the interval of its target narrows from firing to firing, and the designs along it."""

import textwrap
from collections.abc import Mapping
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from explorer import registry
from explorer.page.pictures.style import DARK, SHADE, axis_label, blank, printed, style
from explorer.questions.scale.path_picture import path_figure
from explorer.questions.scale.scaling import Scaling
from explorer.units import Scale, from_si

#: Characters of a stage's words on one line.
_WORDS: Final[int] = 30

#: Share of the picture's width by which a requirement may lie beyond the intervals and is drawn all the same.
_REACH: Final[float] = 0.25


def picture(found: Scaling, what: str | None = None) -> Figure:
    """Return the ladder, or the path."""
    drawn = {None: ladder_figure, "ladder": ladder_figure, "path": path_figure}
    if what not in drawn:
        raise ValueError(f'the pictures of a scaling are "ladder" and "path"; got "{what}"')
    return drawn[what](found)


def ladder_figure(found: Scaling) -> Figure:
    """Return the target's 95 % intervals from now on, one below the other; shaded is the second design's own part."""
    scale, stages = registry.quantity(found.target).scale, found.stages
    target = found.path.second.target

    def shown(value: float) -> float:
        return float(from_si(value, scale.unit, scale.shown_unit))

    with style():
        figure = blank(7.2, 1.2 + 0.5 * len(stages))
        axes: Axes = figure.subplots()
        axes.axvspan(*map(shown, found.narrowed(found.trust.never)), color=SHADE, zorder=0)
        mean = [shown(float(found.trust.now.mean))]
        for place, stage in enumerate(stages):
            low, high = map(shown, found.narrowed(stage.left))
            axes.hlines(place, low, high, color=DARK, linewidth=5.0, zorder=2)
            axes.plot(mean, [place], marker="|", color="white", markersize=9, markeredgewidth=1.6, zorder=3)
            axes.annotate(
                printed(f"± {scale.difference(float(stage.left))}"),
                (1.01, place),
                xycoords=("axes fraction", "data"),
                va="center",
            )
        _required(axes, {"at least": target.at_least, "at most": target.at_most}, scale)
        axes.set_yticks(range(len(stages)), [textwrap.fill(stage.words, _WORDS) for stage in stages])
        axes.set_ylim(len(stages) - 0.5, -0.5)
        axes.tick_params(axis="y", length=0.0)
        axes.spines["left"].set_visible(False)
        axes.xaxis.set_major_locator(MaxNLocator(6))
        words = f"{registry.words_of(found.target)} of {found.last.name} in one firing, 19 times in 20"
        axes.set_xlabel(axis_label(words, scale))
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
                printed(f"required: {words} {scale.text(bound)}"),
                (at, 1.0),
                xycoords=("data", "axes fraction"),
                xytext=(0, 2),
                textcoords="offset points",
                ha="center",
                va="bottom",
            )
