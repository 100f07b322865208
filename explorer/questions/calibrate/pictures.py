"""The picture of a calibration: what each unknown was and is, on the scale of what it was."""

import numpy as np
from matplotlib.figure import Figure

from explorer.page.pictures.style import DARK, LIGHT, blank, style, tell_points
from explorer.questions.calibrate.posterior import Posterior
from explorer.questions.calibrate.tables import quantity_of, with_spread

#: Most unknowns that are drawn, and the height of each [inches].
_MOST, _ROW = 16, 0.3


def picture(found: Posterior, what: str | None = None) -> Figure:
    """Return the picture of what was learnt."""
    if what not in (None, "learnt"):
        raise ValueError('only "learnt" can be drawn')
    rows = found.inputs.sort_values("left").head(_MOST)
    with style():
        figure = blank(8.0, 1.0 + _ROW * len(rows))
        axes = figure.subplots()
        told = []
        for place, (address, row) in enumerate(rows.iterrows()):
            centre, spread = row["mean_before"], row["standard_uncertainty_before"]
            low, high = ((row[end] - centre) / spread for end in ("low_before", "high_before"))
            axes.barh(
                place,
                high - low,
                left=low,
                height=0.66,
                color="white",
                edgecolor="0.45",
                hatch="////",
                zorder=1,
            )
            low, high = ((row[end] - centre) / spread for end in ("low_after", "high_after"))
            axes.barh(place, high - low, left=low, height=0.36, color=LIGHT, edgecolor=DARK, zorder=2)
            now = (row["mean_after"] - centre) / spread
            axes.plot([now, now], [place - 0.18, place + 0.18], color=DARK, linewidth=2.0, zorder=3)
            told.append((now, float(place), f"{with_spread(quantity_of(str(address)), row, 'after')}"))
        axes.set_yticks(range(len(rows)), [quantity_of(str(address)).words for address in rows.index])
        axes.set_ylim(len(rows) - 0.4, -0.6)
        axes.axvline(0.0, color="0.6", linewidth=0.8, zorder=0)
        ends = np.abs(axes.get_xlim()).max()
        axes.set_xlim(-ends, ends)
        axes.set_xlabel("from what the study states [its standard uncertainties]")
        tell_points(axes, told)
    return figure
