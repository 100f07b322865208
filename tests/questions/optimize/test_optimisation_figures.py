"""Pictures of a search: designs told apart by shape, chances against what was asked, the curve with its knee."""

from collections.abc import Sequence

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from explorer.page.style import images
from explorer.questions.optimize.design_pictures import (
    MET,
    NOT_MET,
    LimitHeld,
    WishTried,
    limits_figure,
    search_figure,
)
from explorer.questions.optimize.near_equal_picture import Placed, near_equal_figure
from explorer.questions.optimize.trade_off_picture import Wished, trade_off_figure
from explorer.units import Scale

NEWTON, MILLI, PRESSURE = Scale("N", "N"), Scale("N", "mN"), Scale("Pa", "bar")


def searched(values: Sequence[float] = (), **more: float) -> Figure:
    """Six designs, the last three of which met all limits."""
    wish = WishTried("thrust_gain", MILLI, np.array(values or [0.01, 0.02, 0.03, 0.04, 0.05, 0.06]), **more)
    margins = np.array([-10.0, -0.5, -0.1, 0.0, 0.1, 0.2])
    return search_figure([wish], margins, margins >= 0)


def marked(axes: Axes, marker: str) -> list[Line2D]:
    return [line for line in axes.lines if line.get_marker() == marker]


def texts(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def legend_of(figure: Figure) -> list[str]:
    return [text.get_text() for legend in figure.legends for text in legend.get_texts()]


def test_designs_that_met_all_limits_differ_by_shape_from_those_that_did_not() -> None:
    left, right = searched().axes
    assert MET["marker"] != NOT_MET["marker"]
    for axes in (left, right):
        (met,), (missed,) = marked(axes, str(MET["marker"])), marked(axes, str(NOT_MET["marker"]))
        np.testing.assert_allclose(met.get_ydata(), [40.0, 50.0, 60.0])  # mN
        np.testing.assert_allclose(missed.get_ydata(), [10.0, 20.0, 30.0])
    assert list(marked(left, "o")[0].get_xdata()) == [4, 5, 6]
    assert (left.get_ylabel(), left.get_xlabel()[:12]) == ("thrust_gain [mN]", "design tried")


def test_designs_that_are_not_drawn_are_counted() -> None:
    left, right = searched().axes
    assert right.get_xlim()[0] > -1.2
    assert "1 further left" in texts(right)
    assert texts(left) == []
    left, right = searched([np.nan, 0.02, 0.03, 0.04, 0.05, 0.06]).axes
    assert "1 without a number" in texts(left)
    assert "1 further left" not in texts(right)  # the same one is not counted twice


def test_the_proposal_is_a_line_within_the_picture() -> None:
    figure = searched(proposal=0.09)
    for axes in figure.axes:
        (line,) = [line for line in axes.lines if line.get_linestyle() == "--"]
        assert set(line.get_ydata()) == {90.0}
    assert figure.axes[0].get_ylim()[1] > 90.0
    assert legend_of(figure) == ["all limits met", "a limit not met", "proposal"]
    assert legend_of(searched())[-1] == "a limit not met"


def test_a_few_designs_far_off_do_not_squeeze_the_others() -> None:
    values = np.linspace(0.05, 0.06, 200)
    values[[50, 120]] = -3.0, 4.0
    wish = WishTried("thrust_gain", NEWTON, values, proposal=0.061)
    low, high = search_figure([wish], np.zeros(200), np.ones(200, dtype=bool)).axes[0].get_ylim()
    assert 0.03 < low < 0.05
    assert 0.061 < high < 0.08


def test_two_wishes_have_a_row_each_in_their_own_units() -> None:
    wishes = [
        WishTried("thrust_gain", NEWTON, np.array([0.1, 0.2])),
        WishTried("exit_pressure", PRESSURE, np.array([1e5, 2e5])),
    ]
    figure = search_figure(wishes, np.array([0.1, 0.2]), np.array([True, True]))
    assert [axes.get_ylabel() for axes in figure.axes[::2]] == ["thrust_gain [N]", "exit_pressure [bar]"]
    assert legend_of(figure) == ["all limits met"]


def test_a_search_without_any_number_can_be_drawn() -> None:
    nothing = np.full(3, np.nan)
    figure = search_figure([WishTried("thrust_gain", NEWTON, nothing)], nothing, np.zeros(3, dtype=bool))
    assert "3 without a number" in texts(figure.axes[0])
    assert images(figure, ("png",))[1]["png"].startswith(b"\x89PNG")


def limits() -> list[LimitHeld]:
    return [
        LimitHeld("current at most 50 A, asked 90 %", 0.9, 0.93, 0.92, 0.94, "met"),
        LimitHeld("thrust at least 90 N, asked 90 %", 0.9, 0.901, 0.895, 0.907, "not decided"),
        LimitHeld("chance.constricted at most 10 %", 0.9, 0.62, 0.61, 0.63, "not met"),
    ]


def test_limits_stand_against_what_was_asked_with_their_verdicts_in_words() -> None:
    figure = limits_figure(limits(), "proposal")
    axes = figure.axes[0]
    assert texts(axes) == ["met", "not decided", "not met"]
    assert [label.get_text() for label in axes.get_yticklabels()] == [held.label for held in limits()]
    assert axes.get_xlabel() == "chance that it holds at the proposal [%]"
    asked = marked(axes, "|")
    assert [line.get_xdata()[0] for line in asked] == [90.0, 90.0, 90.0]
    shares = [line for line in axes.lines if line.get_marker() in ("o", "s", "X")]
    assert [line.get_xdata()[0] for line in shares] == pytest.approx([93.0, 90.1, 62.0])
    assert len({line.get_marker() for line in shares}) == 3
    spans = [segment[:, 0] for collection in axes.collections for segment in collection.get_segments()]
    np.testing.assert_allclose(spans, [[92, 94], [89.5, 90.7], [61, 63]])
    low, high = axes.get_xlim()
    assert low < 61
    assert high > 100


def test_long_names_of_limits_are_broken_not_cut() -> None:
    long = "electrodes.downstream.max_current_density at most 1.25 A/cm^2, asked 99.5 %"
    figure = limits_figure([LimitHeld(long, 0.995, 0.996, 0.995, 0.997, "met")], "proposal")
    label = figure.axes[0].get_yticklabels()[0].get_text()
    assert label.replace("\n", " ") == long
    assert max(map(len, label.split("\n"))) <= 45


def rows() -> list[Placed]:
    return [
        Placed("channel.gap_in", "9 mm", "14 mm", (0.5, 0.51, 0.9)),
        Placed("magnet.blocks.grade", "N35", "N52", (0.0, 0.5, 1.0), ("N42",)),
    ]


def test_designs_stand_where_they_are_in_each_range_and_none_hides_another() -> None:
    axes = near_equal_figure(rows(), ["proposal", "1", "2"]).axes[0]
    assert [label.get_text() for label in axes.get_yticklabels()] == ["channel.gap_in", "magnet.blocks.grade"]
    assert {"9 mm", "14 mm", "N35", "N52", "N42"} == set(texts(axes))
    drawn = {line.get_label(): line for line in axes.lines if not str(line.get_label()).startswith("_")}
    assert set(drawn) == {"proposal", "1", "2"}
    assert list(drawn["1"].get_xdata()) == [0.51, 0.5]
    assert (
        drawn["proposal"].get_ydata()[0] - drawn["1"].get_ydata()[0] > 0.1
    )  # moved up, for they are on one place
    assert drawn["2"].get_ydata()[0] == drawn["proposal"].get_ydata()[0] == 0
    assert len({line.get_marker() for line in drawn.values()}) == 3


def test_marks_that_overlap_in_a_chain_never_share_a_height() -> None:
    places = (0.5, 0.49, 0.48, 0.47, 0.46)
    axes = near_equal_figure([Placed("a", "0", "1", places)], list("abcde")).axes[0]
    marks = {(x, round(y, 6)) for line in axes.lines[1:] for x, y in zip(*line.get_data(), strict=True)}
    assert len(marks) == len(places)
    near = [(x, y, u, v) for x, y in marks for u, v in marks if 0 < x - u < 0.02]
    assert near
    assert all(y != v for _, y, _, v in near)


def test_words_at_the_ends_keep_clear_of_the_names() -> None:
    long = [Placed("electrodes.downstream.source.current_limit", "potassium hydroxide", "x", (0.0, 1.0))]
    figure = near_equal_figure(long, ["proposal", "1"])
    images(figure, ())  # settles the layout
    axes = figure.axes[0]
    name = axes.get_yticklabels()[0].get_window_extent()
    end = next(text for text in axes.texts if text.get_text() == "potassium hydroxide").get_window_extent()
    assert name.x1 < end.x0
    assert name.x0 >= 0


def test_entries_between_the_ends_are_left_out_where_they_do_not_fit() -> None:
    long = tuple(f"potassium carbonate {number}" for number in range(5))
    axes = near_equal_figure([Placed("gas.seed", "a", "b", (0.0, 1.0), long)], ["proposal", "1"]).axes[0]
    assert set(texts(axes)) == {"a", "b"}


def wished(name: str, scale: Scale, make: str, expected: Sequence[float]) -> Wished:
    values = np.array(expected)
    return Wished(name, scale, make, values, 0.01 * values, np.array([values.mean()]))


def test_the_curve_has_its_errors_its_numbers_and_its_knee() -> None:
    first = wished("thrust_gain", MILLI, "largest", [0.03, 0.06, 0.09])
    second = wished("electrical_power", Scale("W", "kW"), "smallest", [1000.0, 2000.0, 6000.0])
    figure = trade_off_figure(first, second, (True, True, False), 1)
    axes = figure.axes[0]
    assert axes.get_xlabel() == "thrust_gain, more is wanted [mN]"
    assert axes.get_ylabel() == "electrical_power, less is wanted [kW]"
    assert texts(axes) == ["1", "2", "3"]
    (knee,) = marked(axes, "D")
    assert (knee.get_xdata()[0], knee.get_ydata()[0]) == (60.0, 2.0)
    assert list(marked(axes, "o")[0].get_xdata()) == [30.0, 60.0]
    assert list(marked(axes, "s")[0].get_xdata()) == [90.0]
    # 1.96 standard errors either side hold 95 % of a normal quantity.
    bars = [segment for c in axes.collections for segment in c.get_segments()]
    widths = sorted(np.ptp(segment[:, 0]) for segment in bars)[-3:]
    np.testing.assert_allclose(widths, 2 * 1.96 * 0.01 * np.array([30, 60, 90]), rtol=1e-3)


def test_a_curve_without_a_knee_marks_none() -> None:
    one, other = wished("a", NEWTON, "largest", [1.0, 2.0]), wished("b", NEWTON, "largest", [2.0, 1.0])
    figure = trade_off_figure(one, other, (True, True), None)
    assert marked(figure.axes[0], "D") == []
    assert "the knee: proposed" not in legend_of(figure)


def test_marks_stay_apart_in_grey() -> None:
    def grey(color: object) -> float:
        """Return the luma of Rec. ITU-R BT.601."""
        red, green, blue = to_rgb(str(color))
        return 0.299 * red + 0.587 * green + 0.114 * blue

    assert grey(MET["markerfacecolor"]) - grey(MET["markeredgecolor"]) > 0.4  # a ring, not a blot
    assert grey(NOT_MET["markeredgecolor"]) - grey(MET["markeredgecolor"]) > 0.2
