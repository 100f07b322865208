"""Pictures carry labels and units, are valid files, and survive grey."""

from xml.etree import ElementTree

import matplotlib.colors
import numpy as np
import pandas as pd
import pytest

from explorer.page.bars import ranking_figure
from explorer.page.style import DARK, LIGHT, SHADE, images
from explorer.questions.solve.pictures import channel_figure


def profile(current: float = 1e4) -> pd.DataFrame:
    x = np.array([0.0, 0.02, 0.02, 0.08, 0.08, 0.1])
    flat = {name: np.full(6, 2.0) for name in ("pressure", "temperature", "velocity", "mach", "conductivity")}
    return pd.DataFrame({"x": x, **flat, "current_density": [0, 0, current, current, 0, 0]})


def ranking_rows(totals: bool = True) -> pd.DataFrame:
    rows = {
        "label": ["a", "b (scatter)", "the model itself"],
        "kind": ["unknown", "scatter", "model"],
        "first": [0.5, 0.2, -0.001],
        "first_low": [0.45, 0.15, -0.01],
        "first_high": [0.55, 0.25, 0.01],
    }
    shares = {"total": [0.6, 0.3, 0.01], "total_low": [0.55, 0.2, 0.0], "total_high": [0.65, 0.4, 0.02]}
    if not totals:
        shares = {name: [np.nan] * 3 for name in shares}
    return pd.DataFrame({**rows, **shares})


def test_every_axis_of_the_channel_says_what_it_is_and_its_unit() -> None:
    figure = channel_figure(profile(), {"main": (0.02, 0.08)})
    labels = [axes.get_ylabel() for axes in figure.axes]
    assert labels == [
        "pressure p [bar]",
        "temperature T [K]",
        "velocity u [m/s]",
        "Mach number M",
        "conductivity σ [S/m]",
        "current density j [A/cm²]",
    ]
    assert figure.axes[-1].get_xlabel() == "distance from the channel's inlet x [mm]"


def test_the_electrodes_are_shaded_where_they_stand() -> None:
    figure = channel_figure(profile(), {"front": (0.01, 0.03), "rear": (0.05, 0.08)})
    spans = [
        patch.get_extents().transformed(axes.transData.inverted())
        for axes in figure.axes[:1]
        for patch in axes.patches
    ]
    assert [(round(span.x0), round(span.x1)) for span in spans] == [(10, 30), (50, 80)]


def test_a_channel_without_current_says_so() -> None:
    figure = channel_figure(profile(0.0), {"main": (0.02, 0.08)})
    assert "no current" in [text.get_text() for text in figure.axes[-1].texts]


@pytest.mark.parametrize("totals", [True, False])
def test_ranked_bars_begin_at_zero_and_kinds_differ_by_hatch(totals: bool) -> None:
    figure = ranking_figure(ranking_rows(totals), "thrust_gain")
    axes = figure.axes[0]
    assert axes.get_xlim()[0] == 0.0
    assert "thrust_gain" in axes.get_xlabel()
    assert "[%]" in axes.get_xlabel()
    hatches = [patch.get_hatch() for patch in axes.patches[:: 2 if totals else 1]]
    assert len(set(hatches)) == 3
    assert all(patch.get_x() == 0.0 and patch.get_width() >= 0.0 for patch in axes.patches)


def test_files_are_what_they_say_and_the_same_every_time() -> None:
    figures = [ranking_figure(ranking_rows(), "thrust_gain") for _ in range(2)]
    (element, found), (again, _) = (images(figure, ("svg", "png", "pdf")) for figure in figures)
    assert element == again
    assert found["png"].startswith(b"\x89PNG")
    assert found["pdf"].startswith(b"%PDF")
    assert ElementTree.fromstring(found["svg"]).tag.endswith("svg")
    assert ElementTree.fromstring(element).tag.endswith("svg")


def test_colours_stay_apart_in_grey() -> None:
    def grey(color: str) -> float:
        """Return the luma of Rec. ITU-R BT.601."""
        red, green, blue = matplotlib.colors.to_rgb(color)
        return 0.299 * red + 0.587 * green + 0.114 * blue

    assert grey(LIGHT) - grey(DARK) > 0.4
    assert 1.0 - grey(SHADE) < 0.15
