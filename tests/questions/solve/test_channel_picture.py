"""The picture of a channel carries labels and units, and says where the electrodes stand and where nothing flows."""

import numpy as np
from numpy.typing import NDArray

from explorer.questions.solve.pictures import channel_figure


def profile(current: float = 1e4) -> dict[str, NDArray[np.float64]]:
    x = np.array([0.0, 0.02, 0.02, 0.08, 0.08, 0.1])
    flat = {name: np.full(6, 2.0) for name in ("pressure", "temperature", "velocity", "mach", "conductivity")}
    return {"x": x, **flat, "current_density": np.array([0.0, 0.0, current, current, 0.0, 0.0])}


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


def test_the_field_is_drawn_where_it_is_not_uniform() -> None:
    field = np.array([0.1, 0.3, 0.3, 0.3, 0.3, 0.1])
    zones = {"main": (0.02, 0.08)}
    axes = channel_figure(profile() | {"magnetic_field": field}, zones).axes[6]
    assert axes.get_ylabel() == "magnetic field B [T]"
    np.testing.assert_allclose(axes.lines[0].get_ydata(), field)
    assert len(axes.patches) == 1  # the electrodes' edges
    uniform = channel_figure(profile() | {"magnetic_field": np.full(6, 0.3)}, zones)
    assert len(uniform.axes) == 6
