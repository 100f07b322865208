"""The picture of a propagation: the distribution, its interval, what is required, the parts of the doubt."""

import numpy as np
import pytest
from drawn import titles_of
from matplotlib.figure import Figure
from numpy.typing import NDArray

from explorer.page.pictures.style import images
from explorer.questions.propagate.pictures import propagation_figure
from explorer.questions.propagate.propagation import propagate

PARTS = (0.005, 0.004, 0.003)


def values() -> NDArray[np.float64]:
    return np.random.default_rng(0).normal(0.05, 0.005, 20_000)


def words(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.axes[0].texts]


def test_axes_say_what_they_show_and_its_unit() -> None:
    figure = propagation_figure(values(), (0.04, 0.06), PARTS, "thrust_gain")
    upper, lower = figure.axes
    assert upper.get_xlabel() == "thrust gain in one future firing [N]"
    assert upper.get_ylabel().endswith("[%]")
    assert lower.get_xlabel().startswith("standard uncertainty of thrust gain")
    assert lower.get_xlabel().endswith("[N]")
    assert "19 times in 20" in words(figure)


def test_values_are_drawn_in_their_shown_unit() -> None:
    figure = propagation_figure(values() * 1e6, (4e4, 6e4), (5e3, 4e3, 3e3), "exit_pressure")
    left, right = figure.axes[0].get_xlim()
    assert 0.2 < left < 0.4 < 0.6 < right < 0.8  # bar
    assert figure.axes[1].patches[0].get_width() == pytest.approx(0.05)


def test_parts_are_bars_from_zero_that_differ_by_hatch_not_by_colour_alone() -> None:
    bars = propagation_figure(values(), (0.04, 0.06), PARTS, "thrust_gain").axes[1].patches
    assert [bar.get_width() for bar in bars] == pytest.approx(list(PARTS))
    assert {bar.get_x() for bar in bars} == {0.0}
    assert [bool(bar.get_hatch()) for bar in bars] == [False, False, True]


@pytest.mark.parametrize(
    ("required", "label", "lines"),
    [
        ({"at_least": 0.045}, "required: at least 0.045 N", 1),
        ({"at_most": 0.055}, "required: at most 0.055 N", 1),
        ({"at_least": 4.0}, "required: at least 4 N, off this picture", 0),
    ],
)
def test_what_is_required_stands_in_the_picture_or_is_said_to_be_off_it(
    required: dict[str, float], label: str, lines: int
) -> None:
    figure = propagation_figure(values(), (0.04, 0.06), PARTS, "thrust_gain", **required)
    axes = figure.axes[0]
    assert label in words(figure)
    dashed = [line for line in axes.lines if line.get_linestyle() == "--"]
    assert len(dashed) == lines
    left, right = axes.get_xlim()
    assert all(left <= line.get_xdata()[0] <= right for line in dashed)
    assert right < 0.2  # the distribution is not squeezed by what lies far off


def test_firings_without_contact_are_a_bar_of_their_own() -> None:
    mixed = np.where(np.arange(20_000) % 8 == 0, 0.0, values())
    figure = propagation_figure(mixed, (0.0, 0.06), PARTS, "thrust_gain")
    assert "12.5 % at 0" in words(figure)


def test_each_bar_says_its_share_to_a_pointer_and_together_they_hold_what_is_drawn() -> None:
    """Of a uniform quantity all bars are equal, and together hold 99.8 %, for the ends are cut."""
    flat = (np.arange(20_000) + 0.5) / 20_000 * 0.01
    figure = propagation_figure(flat, (0.0, 0.01), PARTS, "thrust_gain")
    told = [title for title in titles_of(images(figure, ())[0]) if title.endswith("% of points")]
    shares = [float(title.rpartition(": ")[2].partition(" %")[0]) for title in told]
    assert len(told) > 40
    assert max(shares) - min(shares) < 0.15
    assert sum(shares) == pytest.approx(99.8, abs=0.3)  # each rounded to its third digit
    low, _, high = told[-1].partition(" N: ")[0].split()
    assert float(high) - float(low) == pytest.approx(0.998 * 0.01 / len(told), rel=0.02)
    assert float(high) == pytest.approx(0.01, rel=0.002)


def test_the_values_drawn_stand_for_the_whole_sample() -> None:
    """Every fourth point of a Sobol' sequence lies in one half of each coordinate: a step of four would show half."""

    def model(inputs: dict[str, NDArray[np.float64]]) -> dict[str, NDArray[np.float64]]:
        return {"y": inputs["a"]}

    drawn = propagate(model, {"a": "0 .. 1 m"}, rng=1, samples=2**20).histogram_values["y"]
    assert drawn.size <= 20_000
    # A uniform quantity: each quarter holds a quarter.
    shares = np.histogram(drawn, 4, (0.0, 1.0))[0] / drawn.size
    assert shares == pytest.approx(0.25, abs=0.01)
