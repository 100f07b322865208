"""The measure of drawn pictures finds what it is for: words cut off, and words over each other."""

import pytest
from drawn import faults
from matplotlib.figure import Figure

from explorer.page.pictures.style import blank, style


def picture(*, settles: bool = True) -> Figure:
    with style():
        figure = blank(4.0, 3.0, settles=settles)
        axes = figure.subplots()
        axes.plot([0.0, 1.0], [0.0, 1.0], label="a line")
        axes.set_xlabel("distance [mm]")
        axes.text(0.2, 0.8, "here")
        figure.legend(loc="outside lower left")
    return figure


def test_nothing_is_found_in_a_picture_as_it_should_be() -> None:
    assert faults(picture()) == []


def test_labels_that_collide_are_found() -> None:
    figure = picture()
    figure.axes[0].text(0.21, 0.81, "there")
    assert faults(figure) == ["here lies over there"]


def test_tick_labels_that_collide_are_found() -> None:
    figure = picture()
    figure.axes[0].set_xticks([0.4, 0.45], ["four tenths", "a little more"])
    assert faults(figure) == ["four tenths lies over a little more"]


def test_ticks_outside_of_the_axis_are_not_drawn_and_not_found() -> None:
    figure = picture()
    figure.axes[0].set_xticks([0.5, 9.0], ["half", "a word far off the picture"])
    figure.axes[0].set_xlim(0.0, 1.0)
    assert faults(figure) == []


def test_a_legend_that_is_cut_off_is_found() -> None:
    figure = picture()
    long = (
        "a legend so long that no picture of this width could ever hold the whole of it, and no page either"
    )
    figure.axes[0].lines[0].set_label(long)
    figure.legends.clear()
    figure.legend(loc="outside lower left")
    assert set(faults(figure)) == {"cut off: the legend", f"cut off: {long}"}


@pytest.mark.parametrize("place", [(0.5, -0.01), (0.5, 0.999), (-0.01, 0.5), (0.97, 0.5)])
def test_words_that_reach_over_each_edge_are_found(place: tuple[float, float]) -> None:
    figure = picture()
    figure.text(*place, "words")
    assert "cut off: words" in faults(figure)


def test_a_legend_over_an_axis_label_is_found() -> None:
    figure = picture(settles=False)  # margins as they come
    figure.legends.clear()
    figure.legend(loc="center", bbox_to_anchor=(0.5, 0.05))
    assert "distance [mm] lies over the legend" in faults(figure)
