"""The picture of a comparison: every design and its difference, in the shown unit, told apart without colour."""

from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

from explorer.analysis.scrambles import Estimate
from explorer.page.pictures.style import blank, image
from explorer.questions.compare.pictures import MOST_ROWS, _powers_of_ten, comparison_figure
from explorer.study.contrasts import NOTHING, Difference, difference_of

NAMES = ["bench", "sounding", "1: a-very-long…-electrodes", "two-pair"]


def figures(mean: float, half: float, verdict: str = "larger") -> Difference:
    ends = (mean, mean, 0.5 * half, mean - half, mean + half, mean - half, mean + half)
    exact = [Estimate(*[np.asarray(x)] * 4, np.full(8, x)) for x in ends]
    return Difference(*exact, missing=0.0, larger=NOTHING, verdict=verdict)


NONE = difference_of(None, None)


def drawn(
    means: dict[str, list[float]],
    *,
    half: float = 0.1,
    verdicts: str = "larger",
    names: list[str] | None = None,
) -> Figure:
    """A figure of these means, each with an interval of this half width."""
    designs = {row: [figures(x, half) for x in values] for row, values in means.items()}
    others = {
        row: [figures(x - values[0], half, verdicts) for x in values[1:]] for row, values in means.items()
    }
    count = len(next(iter(means.values())))
    return comparison_figure((names or NAMES)[:count], designs, others)


def marks(axes: Axes) -> list[tuple[float, str, Any]]:
    """Mean, shape and filling of each mark, from top to bottom."""
    found = [line for line in axes.lines if line.get_marker() in ("s", "o")]
    return [(float(x.get_xdata()[0]), x.get_marker(), x.get_markerfacecolor()) for x in found]


def words(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def test_each_outcome_has_its_designs_on_the_left_and_their_differences_on_the_right() -> None:
    figure = drawn({"thrust_gain": [1.0, 3.0, 2.0], "current": [10.0, 12.0, 11.0]})
    assert len(figure.axes) == 4
    left, right = figure.axes[:2]
    assert left.get_xlabel() == "thrust gain [N]"
    assert right.get_xlabel() == "difference from bench [N]"
    assert [tick.get_text() for tick in left.get_yticklabels()] == NAMES[:3]
    assert [x for x, *_ in marks(left)] == [1.0, 3.0, 2.0]
    assert [x for x, *_ in marks(right)] == [2.0, 1.0]
    zero = [line for line in right.lines if line.get_linestyle() == "--"]
    assert [list(line.get_xdata()) for line in zero] == [[0.0, 0.0]]


def test_values_are_drawn_in_their_shown_unit() -> None:
    (left, right) = drawn({"exit_pressure": [1e5, 1.2e5]}, half=1e3).axes
    assert [x for x, *_ in marks(left)] == pytest.approx([1.0, 1.2])  # bar
    assert [x for x, *_ in marks(right)] == pytest.approx([0.2])
    assert left.get_xlabel() == "exit pressure [bar]"


@pytest.mark.parametrize(
    ("verdict", "filled"),
    [
        ("larger", True),
        ("smaller", True),
        ("not told apart", False),
        ("not decided", False),
        ("the same", False),
    ],
)
def test_a_real_difference_is_filled_and_one_that_may_be_zero_is_open(verdict: str, filled: bool) -> None:
    figure = drawn({"thrust_gain": [1.0, 3.0]}, verdicts=verdict)
    ((_, shape, face),) = marks(figure.axes[1])
    assert shape == "o"
    assert (face != "white") is filled
    assert ("2" in words(figure.axes[1])) is filled  # its size is told where it is real
    assert {shape for _, shape, _ in marks(figure.axes[0])} == {"s"}


def test_what_a_design_has_not_is_said_in_words() -> None:
    designs = {"thrust_per_power": [figures(1e-4, 1e-5), NONE]}
    figure = comparison_figure(NAMES[:2], designs, {"thrust_per_power": [NONE]})
    assert all("none" in words(axes) for axes in figure.axes)


def test_designs_far_apart_stand_on_powers_of_ten_and_those_below_zero_never() -> None:
    assert drawn({"thrust": [90.0, 4300.0]}, half=5.0).axes[0].get_xscale() == "log"
    assert drawn({"thrust": [90.0, 900.0]}, half=5.0).axes[0].get_xscale() == "linear"
    assert drawn({"thrust_gain": [-1.0, 400.0]}).axes[0].get_xscale() == "linear"
    assert drawn({"thrust": [90.0, 4300.0]}, half=5.0).axes[1].get_xscale() == "linear"


def test_no_more_rows_are_drawn_than_can_be_read() -> None:
    many = {name: [1.0, 2.0] for name in ("thrust", "current", "gas_power", "wall_heat", "jet_power")}
    more = {name: [1.0, 2.0] for name in ("gas_flow", "mass_flow", "load_factor", "back_emf", "field")}
    assert len(drawn({**many, **more}).axes) == 2 * MOST_ROWS


@pytest.mark.parametrize("count", [2, 4])
def test_nothing_that_is_written_overlaps(count: int) -> None:
    values = {
        "thrust_gain": [0.049, 4.5, 0.05, 0.045],
        "current": [9.8, 143.0, 9.9, 10.3],
        "electrical_power": [1460.0, 47300.0, 1470.0, 1540.0],
    }
    figure = drawn({row: means[:count] for row, means in values.items()}, half=0.01)
    figure.draw_without_rendering()  # lays it out
    renderer = figure.canvas.get_renderer()
    for axes in figure.axes:
        low, high = axes.get_xlim()
        ticks = [label for label in axes.get_xticklabels() if low <= label.get_position()[0] <= high]
        assert_apart([*ticks, axes.xaxis.label, *axes.texts], renderer)
        assert_apart(axes.get_yticklabels(), renderer)
    # Names are wholly inside the picture.
    assert min(label.get_window_extent(renderer).x0 for label in figure.axes[0].get_yticklabels()) >= 0.0


def assert_apart(texts: list[Text], renderer: Any) -> None:
    boxes = [text.get_window_extent(renderer) for text in texts if text.get_text() and text.get_visible()]
    for place, one in enumerate(boxes):
        assert not any(one.overlaps(other) for other in boxes[place + 1 :])


def test_the_same_picture_is_the_same_file() -> None:
    means = {"thrust_gain": [1.0, 3.0]}
    assert image(drawn(means), "svg") == image(drawn(means), "svg")


def test_powers_of_ten_stand_as_plain_numbers() -> None:
    axes = blank(4.0, 2.0).subplots()
    _powers_of_ten(axes, 1e-5, 2.0)
    shown = axes.xaxis.get_major_formatter()
    assert [shown(value) for value in (1e-5, 0.01, 0.1, 1.0, 10.0)] == ["0.00001", "0.01", "0.1", "1", "10"]


def test_two_ways_to_one_number_are_the_same() -> None:
    values = np.random.default_rng(1).normal(0.48, 0.01, (8, 256))
    there = np.ones(values.shape, dtype=bool)
    again = np.nextafter(values, 1.0)
    assert difference_of((again, there), (values, there)).verdict == "the same"
    assert difference_of((again + 1e-9, there), (values, there)).verdict == "larger"
