"""The picture of a card: each instrument's range in each step, and what was read where it was."""

from typing import Final

import numpy as np
from matplotlib.figure import Figure

from explorer import registry
from explorer.page.pictures.style import DARK, LIGHT, axis_label, blank, style, tell_points
from explorer.questions.card.against import Against, Held
from explorer.questions.card.card import Card
from explorer.questions.card.tables import step_name
from explorer.units import from_si

#: Height of a row and of what stands around rows [inches].
_ROW, _AROUND = 0.32, 0.75

_WIDTH: Final[float] = 8.0


def picture(found: Card | Against, what: str | None = None) -> Figure:
    """Return the picture of a card, or of a firing held against it."""
    if what not in (None, "readings"):
        raise ValueError('only "readings" can be drawn')
    if isinstance(found, Card):
        rows = [
            (step_name(step), band.quantity, band.low, band.high, band.lowest, band.highest, np.nan)
            for step in found.steps
            for band in step.bands
        ]
    else:
        rows = [_held(own) for own in found.held]
    return _drawn(rows)


def _held(own: Held) -> tuple[str, str, float, float, float, float, float]:
    return own.step or "burn", own.quantity, own.low, own.high, np.nan, np.nan, own.value


def _drawn(rows: list[tuple[str, str, float, float, float, float, float]]) -> Figure:
    quantities = list(dict.fromkeys(row[1] for row in rows))
    counts = [sum(row[1] == quantity for row in rows) for quantity in quantities]
    with style():
        figure = blank(_WIDTH, sum(counts) * _ROW + len(quantities) * _AROUND)
        panels = figure.subplots(len(quantities), 1, squeeze=False, gridspec_kw={"height_ratios": counts})
        for axes, quantity in zip(panels.ravel(), quantities, strict=True):
            own = [row for row in rows if row[1] == quantity]
            largest = max(abs(value) for row in own for value in row[2:] if value == value)
            scale = registry.quantity(quantity).scale.readable(largest)
            told = []
            for place, (step, _, low, high, lowest, highest, read) in enumerate(own):
                ends = [from_si(v, scale.unit, scale.shown_unit) for v in (low, high, lowest, highest, read)]
                if ends[2] == ends[2]:
                    axes.plot(ends[2:4], [place, place], color=DARK, linewidth=1.0)
                axes.barh(place, ends[1] - ends[0], left=ends[0], height=0.5, color=LIGHT, edgecolor=DARK)
                if read == read:
                    axes.plot(ends[4], place, "D", color="black", markersize=5)
                    told.append((ends[4], float(place), f"{step}: {scale.text(read, 3)}"))
            axes.set_yticks(range(len(own)), [row[0] for row in own])
            axes.set_ylim(len(own) - 0.4, -0.6)
            axes.axvline(0.0, color="0.6", linewidth=0.8, zorder=0)
            axes.set_xlabel(axis_label(registry.words_of(quantity), scale))
            tell_points(axes, told)
    return figure
