"""Pictures of a path: intervals that narrow, points told apart by their marks, what changes where."""

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from explorer.page.style import images
from explorer.questions.scale.ladder_picture import Stage, ladder_figure
from explorer.questions.scale.path_pictures import Along, path_figure
from explorer.units import Scale

MILLI = Scale("N", "mN")


def ladder(**required: float) -> Figure:
    widths = (0.4, 0.3, 0.25, 0.1)
    words = ("now", "after firings of bench, however many", "and after point 1, step 5", "if all were known")
    stages = [Stage(text, w / 2, 1.0 - w, 1.0 + w) for text, w in zip(words, widths, strict=True)]
    return ladder_figure(stages, mean=1.0, target="thrust_gain of flight", scale=MILLI, **required)


def texts(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def spans(axes: Axes) -> np.ndarray:
    found = [segment[:, 0] for c in axes.collections for segment in c.get_segments()]
    return np.array(found)


def test_intervals_narrow_from_now_on_and_the_last_one_is_shaded() -> None:
    axes = ladder().axes[0]
    np.testing.assert_allclose(spans(axes), [[600, 1400], [700, 1300], [750, 1250], [900, 1100]])
    assert texts(axes) == ["± 200 mN", "± 150 mN", "± 125 mN", "± 50 mN"]
    (shade,) = axes.patches
    ends = shade.get_extents().transformed(axes.transData.inverted())
    assert (ends.x0, ends.x1) == pytest.approx((900, 1100))
    assert axes.get_xlabel() == "thrust_gain of flight in one firing, 19 times in 20 [mN]"
    assert axes.get_ylim()[0] > axes.get_ylim()[1]  # from now on downwards
    labels = [label.get_text() for label in axes.get_yticklabels()]
    assert labels[1].replace("\n", " ") == "after firings of bench, however many"
    assert max(len(line) for label in labels for line in label.split("\n")) <= 30


def test_a_requirement_is_drawn_where_it_is_within_reach() -> None:
    assert "required: at least 800 mN" in texts(ladder(at_least=0.8).axes[0])
    far = ladder(at_least=50.0).axes[0]
    assert not any("required" in text for text in texts(far))
    assert far.get_xlim()[1] < 2000.0


def along(**changed: object) -> Along:
    given: dict[str, object] = {
        "names": ("bench", "step 1", "step 2", "flight"),
        "places": np.array([0.0, 1 / 3, 2 / 3, 1.0]),
        "sizes": np.array([1.0, 2.0, 4.0, 8.0]),
        "points": {2: 1},
        "changes": [(0.5, "wall heat")],
        "switches": True,
    }
    return Along(**{**given, **changed})


def drawn(path: Along) -> Figure:
    figures = [{"mean": m, "low": 0.5 * m, "high": 2.0 * m} for m in (0.05, 0.2, 0.8, 3.0)]
    numbers = {
        "interaction_parameter": [1e-4, 2e-4, 4e-4, 8e-4],
        "pressure_gap": [1e2, 2e2, 4e2, 8e2],
        "load_factor": [5.0, 4.5, 4.0, 3.5],
        "reynolds_number": [1e4, 2e4, 4e4, 8e4],
        "wall_heat_share": [0.2, 0.1, 0.05, 0.02],
    }
    return path_figure(path, "thrust_gain", figures, numbers)


def test_the_target_stands_against_the_size_and_points_are_filled() -> None:
    figure = drawn(along())
    above = figure.axes[0]
    marks = [line for line in above.lines if line.get_marker() == "o"]
    assert [line.get_xdata()[0] for line in marks] == [1.0, 2.0, 4.0, 8.0]
    assert [line.get_markerfacecolor() == "white" for line in marks] == [True, True, False, True]
    assert {"bench", "flight", "point 1", "1"} == set(texts(above))
    assert (above.get_xlabel(), above.get_ylabel()) == ("size, over bench's", "thrust_gain [N]")
    assert above.get_yscale() == "log"


def test_changes_and_switches_are_lines_of_their_own_in_every_panel() -> None:
    figure = drawn(along())
    assert len(figure.axes) == 6
    half_way = np.sqrt(8.0)  # in size, of equal ratios
    for axes in figure.axes:
        dashed, dotted = (
            [line for line in axes.lines if line.get_linestyle() == style] for style in ("--", ":")
        )
        assert [line.get_xdata()[0] for line in dashed] == pytest.approx([half_way])
        assert [line.get_xdata()[0] for line in dotted] == pytest.approx([half_way])
    legend = [text.get_text() for text in figure.legends[0].get_texts()]
    assert legend == ["a design, 19 times in 20", "a point of the ladder", "words switch", "1: wall heat"]
    plain = drawn(along(switches=False, changes=[], points={}))
    assert len(plain.legends[0].get_texts()) == 1


def test_similarity_numbers_have_panels_in_their_own_units() -> None:
    panels = drawn(along()).axes[1:]
    titles = [axes.get_title(loc="left") for axes in panels]
    assert titles[:3] == ["interaction_parameter", "pressure_gap [bar mm]", "load_factor"]
    np.testing.assert_allclose(panels[1].lines[0].get_ydata(), [1.0, 2.0, 4.0, 8.0])  # bar mm
    assert panels[2].get_ylim()[0] == 0.0


def test_designs_of_one_size_stand_by_their_places() -> None:
    figure = drawn(along(sizes=np.ones(4)))
    above = figure.axes[0]
    assert above.get_xlabel() == "way [%]"
    marks = [line.get_xdata()[0] for line in above.lines if line.get_marker() == "o"]
    assert marks == pytest.approx([0.0, 100 / 3, 200 / 3, 100.0])
    assert [line.get_xdata()[0] for line in above.lines if line.get_linestyle() == "--"] == [50.0]


def test_designs_without_a_number_are_left_out_of_the_picture() -> None:
    missing = {"mean": np.nan, "low": np.nan, "high": np.nan}
    figures = [missing, {"mean": -1.0, "low": -2.0, "high": 1.0}, missing, missing]
    figure = path_figure(along(), "thrust_gain", figures, {"load_factor": [np.nan] * 4})
    assert images(figure, ("png",))[1]["png"].startswith(b"\x89PNG")
