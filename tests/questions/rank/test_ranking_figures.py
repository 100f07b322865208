"""Pictures of a target as it stands and of what it hangs on, and what measurements would leave of it."""

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from scipy import stats

from explorer.analysis.measurement_sets import Measured, MeasurementRanking, MeasurementSet
from explorer.analysis.scrambles import estimate
from explorer.analysis.set_search import Searched
from explorer.page.pictures.distribution import draw_distribution
from explorer.page.pictures.style import blank, images, style
from explorer.questions.rank.pictures import inputs_figure, measurements_figure, target_figure
from explorer.units import Scale

NEWTON, KELVIN = Scale("N", "N"), Scale("K", "°C")


def points() -> pd.DataFrame:
    rng = np.random.default_rng(0)
    x, y = rng.random(1801), rng.random(1801)
    return pd.DataFrame({"thrust": x + 0.1 * y, "a.b": x, "c": 300 + 10 * y})


def distribution(values: np.ndarray, **required: float) -> Axes:
    with style():
        axes: Axes = blank(4.0, 3.0).subplots()
        draw_distribution(axes, values, (0.1, 0.9), NEWTON, **required)
    return axes


def texts(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def test_what_is_not_met_is_hatched_on_its_side() -> None:
    values = points()["thrust"].to_numpy()
    for required, words in (({"at_least": 0.3}, "at least 0.3 N"), ({"at_most": 0.6}, "at most 0.6 N")):
        axes = distribution(values, **required)
        assert f"required: {words}" in texts(axes)
        hatched = [patch for patch in axes.patches if patch.get_hatch()]
        assert len(hatched) == 1
        ends = hatched[0].get_extents().transformed(axes.transData.inverted())
        bound = next(iter(required.values()))
        assert (ends.x1 if "at_least" in required else ends.x0) == pytest.approx(bound)


def test_a_requirement_far_off_does_not_squeeze_the_distribution() -> None:
    axes = distribution(points()["thrust"].to_numpy(), at_least=50.0)
    assert axes.get_xlim()[1] < 2.0
    assert "required: at least 50 N, off this picture" in texts(axes)
    assert [patch.get_hatch() for patch in axes.patches if patch.get_hatch()] == ["////"]  # nowhere met
    met = distribution(points()["thrust"].to_numpy(), at_most=50.0)
    assert [patch for patch in met.patches if patch.get_hatch()] == []


def test_firings_that_all_give_the_same_stand_apart() -> None:
    values = np.concatenate([np.full(900, -0.0), points()["thrust"].to_numpy()[:900]])
    axes = distribution(values)
    assert "50 % at 0" in texts(axes)
    heap = next(line for line in axes.collections if line.get_segments()[0][0][0] == 0.0)
    assert heap.get_segments()[0][:, 1] == pytest.approx([0.0, 100 * 900 / 1800])  # as high as it says


def test_the_target_is_drawn_against_each_input_in_its_own_unit() -> None:
    figure = inputs_figure(points(), "thrust", NEWTON, {"a.b": Scale("1", "%"), "c": KELVIN}, at_least=0.5)
    assert [axes.get_xlabel() for axes in figure.axes] == ["a.b [%]", "c [°C]"]
    middle = figure.axes[0].lines[1]
    x, y = np.asarray(middle.get_xdata()), np.asarray(middle.get_ydata())
    np.testing.assert_allclose(y, x / 100 + 0.05, atol=0.02)  # the median of x + 0.1·y at x
    flat = np.asarray(figure.axes[1].lines[1].get_ydata())
    assert np.ptp(flat) < 0.3
    assert np.allclose(figure.axes[1].get_xlim(), (26.45, 37.25), atol=0.2)  # 300 K is 26.85 °C
    assert all(0.5 in np.asarray(axes.lines[-1].get_ydata()) for axes in figure.axes)


@pytest.mark.parametrize("inputs", [1, 2, 3])
def test_no_panel_is_left_empty(inputs: int) -> None:
    data = points().assign(d=1.0)  # one that doesn't vary
    names = ["a.b", "c", "d"][:inputs]
    figure = inputs_figure(data, "thrust", NEWTON, dict.fromkeys(names, NEWTON))
    assert len([axes for axes in figure.axes if axes.get_visible()]) == inputs
    assert images(figure, ("png",))[1]["png"].startswith(b"\x89PNG")


def test_the_target_wears_its_unit() -> None:
    figure = target_figure(points()["thrust"].to_numpy(), (0.1, 0.9), "thrust", NEWTON)
    assert figure.axes[0].get_xlabel() == "thrust in one firing [N]"


def test_measurements_are_drawn_by_what_they_take_away() -> None:
    left, now = estimate([0.009, 0.011] * 4), estimate([0.021, 0.019] * 4)
    sweep = Measured("sweep", 2.0, left, left, (0.008, 0.012), 0.005, None)
    furthest = MeasurementSet(("sweep",), 2.0, left, left)
    found = MeasurementRanking((sweep,), (), furthest, None, now, 0.02, Searched((0,), 1e-4, 0.0, True, 1))
    axes = measurements_figure(found, "thrust_gain", Scale("N", "mN")).axes[0]
    assert axes.get_yticklabels()[0].get_text() == "sweep (2 h)"
    assert axes.get_xlabel().split("\n")[0].endswith("[mN]")
    assert axes.patches[0].get_width() == pytest.approx(10.0)  # 20 mN now less 10 mN left
    ends = [float(np.asarray(line.get_xdata())[0]) for line in axes.lines[:2]]
    assert ends == pytest.approx([8.0, 12.0])  # 20 less 8, 20 less 12
    assert "20 mN now" in axes.get_xlabel().replace("\n", " ")
    # The fall's own sampling error: falls of 12 and 8 mN, four each, and Student's t of 7 degrees of freedom.
    half = stats.t.ppf(0.975, 7) * np.std([12.0, 8.0] * 4, ddof=1) / np.sqrt(8)
    ends = [float(np.asarray(line.get_xdata())[0]) for line in axes.lines[2:4]]
    assert ends == pytest.approx([10.0 - half, 10.0 + half])
    told = [text.get_text() for text in axes.figure.legends[0].get_texts()]
    assert told == ["18 times in 20 as it turns out", "95 % of the sampling"]
