"""Ranked bars begin at zero, are valid files, and survive grey."""

from xml.etree import ElementTree

import matplotlib.colors
import numpy as np
import pytest
from drawn import titles_of

from explorer.analysis.scrambles import Estimate
from explorer.page.pictures.bars import Bar, ranking_figure
from explorer.page.pictures.style import DARK, LIGHT, SHADE, images


def share(low: float, high: float) -> Estimate:
    middle = np.asarray(0.5 * (low + high))
    return Estimate(middle, np.asarray((high - low) / 4), np.asarray(low), np.asarray(high), middle[None])


def bars(totals: bool = True) -> list[Bar]:
    first = [share(0.45, 0.55), share(0.15, 0.25), share(-0.011, 0.009)]
    total = [share(0.55, 0.65), share(0.2, 0.4), share(0.0, 0.02)] if totals else [None] * 3
    kinds = {"a": "unknown", "b (scatter)": "scatter", "the model itself": "model"}
    return [
        Bar(label, kind, *shares, level=label == "b (scatter)")
        for (label, kind), *shares in zip(kinds.items(), first, total, strict=True)
    ]


@pytest.mark.parametrize("totals", [True, False])
def test_ranked_bars_begin_at_zero_and_kinds_differ_by_hatch(totals: bool) -> None:
    figure = ranking_figure(bars(totals), "thrust_gain")
    axes = figure.axes[0]
    assert axes.get_xlim()[0] == 0.0
    assert "thrust_gain" in axes.get_xlabel()
    assert "[%]" in axes.get_xlabel()
    hatches = [patch.get_hatch() for patch in axes.patches[:: 2 if totals else 1]]
    assert len(set(hatches)) == 3
    assert all(patch.get_x() == 0.0 and patch.get_width() >= 0.0 for patch in axes.patches)
    assert [text.get_text() for text in axes.get_yticklabels()] == ["a", "= b (scatter)", "the model itself"]
    told = [text.get_text() for text in figure.legends[0].get_texts()]
    assert told[-1] == "= level with the row above"


def test_files_are_what_they_say_and_the_same_every_time() -> None:
    figures = [ranking_figure(bars(), "thrust_gain") for _ in range(2)]
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


def test_a_bar_says_its_share_to_a_pointer_that_rests_on_it() -> None:
    element, _ = images(ranking_figure(bars(), "thrust_gain"), ())
    titles = titles_of(element)
    assert "a, alone: 50 % (95 % sampling: 45 … 55 %)" in titles
    assert "a, in all: 60 % (95 % sampling: 55 … 65 %)" in titles
    assert len(titles) == 6
